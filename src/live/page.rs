//! The page: its files as they are, and what it must know before anything is moved.

use super::base::Base;
use super::control::Control;
use super::curves::Curves;
use super::refusal::Refusal;
use super::setting::Setting;
use crate::report::Units;
use crate::units::{NM_PER_LBF_FT, PA_PER_INCH_OF_MERCURY, W_PER_HP};
use schemars::JsonSchema;
use serde::Serialize;

/// The page.
pub const HTML: &str = include_str!("page/index.html");
/// Its look.
pub const STYLE: &str = include_str!("page/style.css");
/// Its doings.
pub const SCRIPT: &str = include_str!("page/page.js");
/// How it draws.
pub const PLOT_SCRIPT: &str = include_str!("page/plot.js");
/// Its mark in a tab of the browser.
pub const ICON: &str = include_str!("page/icon.svg");

/// Stands under the numbers, wherever they go.
const CAUTION: &str = "An estimate, not a calibration. Start retarded and add timing, listen for knock with proper \
     equipment and pull timing; never cure knock with a leaner mixture. Measure the ethanol content of every \
     fill. Fuel vapour burns. Local emissions and road law, and the judgement of the qualified practitioner on the \
     spot, come first.";

/// One slider.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Slider {
    /// Its key.
    pub key: &'static str,
    /// Its name.
    pub label: &'static str,
    /// Unit of its key, for a person.
    pub unit: &'static str,
    /// What it stands with.
    pub group: &'static str,
    /// Lowest allowed value.
    pub low: f64,
    /// Highest allowed value.
    pub high: f64,
    /// What one press of an arrow key moves.
    pub step: f64,
}

/// A fuel that can be chosen.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FuelName {
    /// What to send.
    pub fuel: String,
    /// Whether the scenario, or an option, asks for it.
    pub of_scenario: bool,
}

/// A unit that the page may show a number in.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct UnitOnPage {
    /// Unit of the data.
    pub from: &'static str,
    /// Unit shown.
    pub to: &'static str,
    /// Shown = data times this ...
    pub factor: f64,
    /// ... plus this.
    pub offset: f64,
}

/// What the page knows from the beginning.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PageData {
    /// Name of the scenario.
    pub scenario: String,
    /// Its note, which says when it is invented.
    pub note: String,
    /// The caution to show.
    pub caution: &'static str,
    /// Whether US units are shown until others are chosen.
    pub us_units: bool,
    /// The US units.
    pub us: Vec<UnitOnPage>,
    /// The fuels.
    pub fuels: Vec<FuelName>,
    /// The sliders in order.
    pub sliders: Vec<Slider>,
    /// The scenario as loaded.
    pub base: Curves,
}

/// What the page must know of a scenario; its whole estimate is made for it.
///
/// # Errors
/// [`Refusal`] when the scenario as loaded cannot be run.
pub fn page_data(base: &Base, units: Units) -> Result<PageData, Refusal> {
    let slider = |control: Control| {
        let (facts, limits) = (control.facts(), base.limits(control));
        Slider {
            key: facts.key,
            label: facts.label,
            unit: facts.unit,
            group: facts.group,
            low: *limits.start(),
            high: *limits.end(),
            step: facts.step,
        }
    };
    let unit = |from, to, factor, offset| UnitOnPage { from, to, factor, offset };
    Ok(PageData {
        scenario: base.scenario.name.clone(),
        note: base.scenario.note.clone(),
        caution: CAUTION,
        us_units: units == Units::Us,
        us: vec![
            unit("kW", "hp", 1000.0 / W_PER_HP, 0.0),
            unit("N m", "lb-ft", 1.0 / NM_PER_LBF_FT, 0.0),
            unit("C", "F", 1.8, 32.0),
            unit("kPa", "inHg", 1000.0 / PA_PER_INCH_OF_MERCURY, 0.0),
        ],
        fuels: base
            .fuels
            .iter()
            .map(|f| FuelName { fuel: f.spec.clone(), of_scenario: !f.place.is_empty() })
            .collect(),
        sliders: Control::ALL.into_iter().map(slider).collect(),
        base: base.sampled(&Setting::default())?,
    })
}
