//! What can be wrong with a fuel.

use crate::input::{Diagnostics, counted};
use crate::printable::{printable, printable_path};
use std::path::PathBuf;

/// A fuel could not be made, found or read.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum FuelError {
    /// A blend was asked for without any part in it.
    #[error("fuel '{blend}' has no parts")]
    Empty {
        /// Name of the blend.
        blend: String,
    },
    /// A share by volume is negative or not a number.
    #[error("fuel '{blend}': share {value} of '{part}' is not a number from 0 to 1")]
    Share {
        /// Name of the blend.
        blend: String,
        /// Name of the part.
        part: String,
        /// The share as given [-].
        value: f64,
    },
    /// The shares by volume do not add to one.
    #[error("fuel '{blend}': shares add to {sum} instead of 1")]
    Sum {
        /// Name of the blend.
        blend: String,
        /// What they add to [-].
        sum: f64,
    },
    /// Nothing in the blend has an octane number (pure water).
    #[error("fuel '{blend}' has no part with an octane number")]
    NoOctane {
        /// Name of the blend.
        blend: String,
    },
    /// A computed property has no physical meaning.
    #[error("fuel '{blend}': {what} = {value} is not a positive number")]
    NotPositive {
        /// Name of the blend.
        blend: String,
        /// The property, in words.
        what: &'static str,
        /// Its value.
        value: f64,
    },
    /// An ethanol content outside 0 to 1, or below 1 where the fuel holds nothing else.
    #[error("fuel '{fuel}': ethanol content {value} by volume is not possible; allowed are {low} to {high}")]
    EthanolContent {
        /// Name of the fuel.
        fuel: String,
        /// The content asked for [-].
        value: f64,
        /// Lowest possible [-].
        low: f64,
        /// Highest possible [-].
        high: f64,
    },
    /// A name that no fuel has.
    #[error("no fuel is called '{}'{}", printable(name), hint(nearest))]
    Unknown {
        /// The name asked for.
        name: String,
        /// Known names that look like it, best first.
        nearest: Vec<String>,
    },
    /// A recipe that cannot be read.
    #[error(
        "cannot read '{}' in the fuel recipe '{}': write it as 'premium-91 70 % + e85 30 %'",
        printable(term),
        printable(recipe)
    )]
    Recipe {
        /// The whole recipe.
        recipe: String,
        /// The term that is wrong.
        term: String,
    },
    /// The percentages of a recipe do not add to 100.
    #[error("the fuel recipe '{}' adds to {sum_percent} % instead of 100 %", printable(recipe))]
    RecipeSum {
        /// The whole recipe.
        recipe: String,
        /// What it adds to [%].
        sum_percent: f64,
    },
    /// A volume of fuel that cannot be read.
    #[error(
        "cannot read '{}': write a volume above 0 in L or gal, a fuel, and the content if it was measured, as \
         '20 L e85' or '5 gal e85 at 71 %'",
        printable(text)
    )]
    Fill {
        /// The text.
        text: String,
    },
    /// A fuel on which no sweep of ethanol content can be made.
    #[error("fuel '{fuel}' holds nothing that burns but ethanol, so there is no base to sweep ethanol on")]
    NoSweep {
        /// Name of the fuel.
        fuel: String,
    },
    /// A content that cannot be reached by adding a fuel to a tank.
    #[error(
        "{wanted_percent:.1} % ethanol cannot be reached: adding '{added}' to the {tank_percent:.1} % in the tank \
         reaches {low_percent:.1} to {high_percent:.1} %{}", if *full { ", when the tank is full" } else { ", and never quite that of the added fuel" }
    )]
    Unreachable {
        /// Content wanted by volume [%].
        wanted_percent: f64,
        /// The fuel to add.
        added: String,
        /// Content in the tank by volume [%].
        tank_percent: f64,
        /// Lowest content that can be reached [%].
        low_percent: f64,
        /// Highest content that can be reached [%].
        high_percent: f64,
        /// Whether the size of the tank sets the limit.
        full: bool,
    },
    /// More fuel than the tank holds.
    #[error("{volume_l:.1} L are in a tank of {tank_l:.1} L")]
    Overfull {
        /// Volume in the tank [L].
        volume_l: f64,
        /// Size of the tank [L].
        tank_l: f64,
    },
    /// Fuel files hold mistakes.
    #[error("{} in the fuel files\n{problems}", counted(problems.0.len()))]
    Files {
        /// All of them.
        problems: Diagnostics,
    },
    /// A fuel file or the folder with fuel files cannot be read.
    #[error("cannot read {}: {source}", printable_path(path))]
    Read {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
}

fn hint(nearest: &[String]) -> String {
    if nearest.is_empty() { String::new() } else { format!("; did you mean {}?", nearest.join(" or ")) }
}
