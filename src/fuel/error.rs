//! What can be wrong with a fuel.

use crate::printable::{printable, printable_lines, printable_path};
use std::fmt;
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
         reaches {low_percent:.1} to {high_percent:.1} %{}", if *full { ", when the tank is full" } else { ", the end at the added fuel left out" }
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
    /// A fuel file is not TOML, or has keys or types that do not belong in it.
    #[error("fuel file {}: {}", printable(file), printable_lines(&source.to_string()))]
    Syntax {
        /// Name of the file.
        file: String,
        /// What the reader found, with line and column.
        source: Box<toml::de::Error>,
    },
    /// A fuel file is readable but holds values that cannot be used; all of them are listed.
    #[error("fuel file {}: {}", printable(file), list(problems))]
    Invalid {
        /// Name of the file.
        file: String,
        /// Every problem found in it.
        problems: Vec<Problem>,
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

/// One thing that is wrong in a fuel file.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Problem {
    /// A value outside its range.
    Range {
        /// The key.
        key: String,
        /// The value given, in the unit of the key.
        value: f64,
        /// Lowest allowed.
        low: f64,
        /// Highest allowed.
        high: f64,
    },
    /// Neither or both of two sets of keys that exclude each other are given.
    Choice {
        /// The sets of which exactly one must be given.
        keys: &'static str,
    },
    /// A key that this kind of component needs, or must not have.
    Octane {
        /// Whether octane numbers are missing (or else out of place).
        missing: bool,
    },
    /// Shares that do not add to one.
    Sum {
        /// The table of shares.
        key: String,
        /// What they add to [-].
        sum: f64,
    },
    /// A range whose ends are not in order.
    Order {
        /// The key.
        key: String,
    },
    /// A component that is not known.
    UnknownComponent {
        /// The key under which it was named.
        key: String,
        /// The name given.
        name: String,
        /// Known names that look like it.
        nearest: Vec<String>,
    },
    /// A component that cannot be used here.
    NotAllowedHere {
        /// The key under which it was named.
        key: String,
        /// The name given.
        name: String,
        /// Why not.
        why: &'static str,
    },
    /// A name that another fuel or component has already.
    NameTaken {
        /// The name.
        name: String,
    },
    /// A name that a shipped pump fuel has, without a word that it is to be replaced.
    ShippedPump {
        /// The name.
        name: String,
    },
    /// A file says that it replaces a fuel of another name than its own.
    ReplacesOther {
        /// Name of the fuel in the file.
        name: String,
        /// The name under `replaces`.
        replaces: String,
    },
    /// A file says that it replaces a fuel that is not there.
    ReplacesNothing {
        /// The name under `replaces`.
        name: String,
    },
    /// Words with a character that acts on the screen and cannot be seen.
    Hidden {
        /// The key.
        key: &'static str,
    },
    /// A name with characters that a recipe could not hold.
    BadName {
        /// The name.
        name: String,
    },
}

impl Problem {
    /// The message, with the words of the file as they stand there.
    fn write_message(&self, f: &mut impl fmt::Write) -> fmt::Result {
        match self {
            Self::Range { key, value, low, high } => write!(f, "{key} = {value} is outside {low} to {high}"),
            Self::Choice { keys } => write!(f, "give exactly one of: {keys}"),
            Self::Octane { missing: true } => write!(f, "a component with carbon needs [octane] ron and mon"),
            Self::Octane { missing: false } => write!(f, "a component without carbon cannot have [octane]"),
            Self::Sum { key, sum } => write!(f, "the shares in [{key}] add to {sum} instead of 1"),
            Self::Order { key } => write!(f, "{key}: low, likely and high are not in rising order"),
            Self::UnknownComponent { key, name, nearest } => {
                write!(f, "{key}: no component is called '{name}'{}", hint(nearest))
            }
            Self::NotAllowedHere { key, name, why } => {
                write!(f, "{key}: '{name}' cannot be used here: {why}")
            }
            Self::NameTaken { name } => write!(f, "the name '{name}' is taken; choose another"),
            Self::ShippedPump { name } => write!(
                f,
                "the name '{name}' is that of a shipped fuel; choose another, or write replaces = \"{name}\" to \
                 stand in for it"
            ),
            Self::ReplacesOther { name, replaces } => {
                write!(f, "replaces = \"{replaces}\" must be the name of the fuel itself, '{name}'")
            }
            Self::ReplacesNothing { name } => write!(f, "replaces = \"{name}\": no pump fuel has that name"),
            Self::Hidden { key } => {
                write!(
                    f,
                    "{key} holds a control or direction character; write it with characters that can be seen"
                )
            }
            Self::BadName { name } => {
                write!(f, "the name '{name}' may hold lower-case letters, digits, '-' and '.' only")
            }
        }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut message = String::new();
        self.write_message(&mut message)?;
        f.write_str(&printable(&message))
    }
}

fn hint(nearest: &[String]) -> String {
    if nearest.is_empty() { String::new() } else { format!("; did you mean {}?", nearest.join(" or ")) }
}

fn list(problems: &[Problem]) -> String {
    problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}
