//! The sliders of a build as HTML, and where each stands and ends.

use super::base::Base;
use super::control::Control;
use super::setting::{FUEL, Setting};
use crate::report::Units;
use crate::units::{PA_PER_INCH_OF_MERCURY, Unit};
use maud::{Markup, html};
use serde::Serialize;
use std::collections::BTreeMap;

/// Where a slider stands and ends, in the unit of its key.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SliderState {
    /// Lowest value that runs.
    pub low: f64,
    /// Highest value that runs.
    pub high: f64,
    /// The value.
    pub value: f64,
}

/// Places after the point beyond which a value is rounding.
const PLACES: f64 = 1.0e6;
/// Halvings by which the end of a slider is found.
const HALVINGS: usize = 8;

impl Base {
    /// Where every slider stands and ends for a setting that runs.
    pub(super) fn slider_states(
        &self,
        setting: &Setting,
        values: &BTreeMap<&'static str, f64>,
    ) -> BTreeMap<&'static str, SliderState> {
        let state = |control: Control| {
            let value = values.get(control.key()).copied().unwrap_or_default();
            let limits = self.limits(control);
            let low = self.end(setting, control, value, *limits.start());
            let high = self.end(setting, control, value, *limits.end());
            (control.key(), SliderState { low, high, value })
        };
        Control::ALL.into_iter().map(state).collect()
    }

    /// The value nearest to a limit at which the engine runs, from one at which it does.
    fn end(&self, setting: &Setting, control: Control, runs: f64, limit: f64) -> f64 {
        let is_fine =
            |value: f64| setting.clone().with(control, value).is_ok_and(|moved| self.job(&moved).is_ok());
        if is_fine(limit) {
            return limit;
        }
        let (mut runs, mut fails) = (runs, limit);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (runs + fails);
            if is_fine(middle) { runs = middle } else { fails = middle }
        }
        let step = control.facts().step;
        let whole = if runs > limit { (runs / step).ceil() } else { (runs / step).floor() } * step;
        (whole * PLACES).round() / PLACES
    }
}

/// What a page shows for a unit of the keys: symbol, factor, offset.
fn shown_unit(unit: &'static str, units: Units) -> (&'static str, f64, f64) {
    match (unit, units) {
        ("C", Units::Us) => ("F", 1.8, 32.0),
        ("kPa", Units::Us) => ("inHg", Unit::Kilopascal.to_si(1.0) / PA_PER_INCH_OF_MERCURY, 0.0),
        _ => (unit, 1.0, 0.0),
    }
}

/// The sliders by group, and the fuel.
pub(super) fn sliders(base: &Base, units: Units) -> String {
    let mut groups: Vec<&str> = Vec::new();
    for control in Control::ALL {
        if !groups.contains(&control.facts().group) {
            groups.push(control.facts().group);
        }
    }
    html! {
        @for group in groups {
            fieldset {
                legend { (group) }
                @if group == super::control::FUEL { (fuel(base)) }
                @for control in Control::ALL.into_iter().filter(|control| control.facts().group == group) {
                    (slider(control, units))
                }
            }
        }
    }
    .into_string()
}

fn fuel(base: &Base) -> Markup {
    let own = |is_own: bool| base.fuels.iter().filter(move |fuel| fuel.place.is_empty() != is_own);
    html! {
        div .control data-key=(FUEL) {
            label for="fuel" { "Fuel" }
            select id="fuel" {
                @for (name, is_own) in [("Of the build", true), ("Others", false)] {
                    @if own(is_own).next().is_some() {
                        optgroup label=(name) { @for fuel in own(is_own) { option value=(fuel.spec) { (fuel.spec) } } }
                    }
                }
            }
        }
    }
}

fn slider(control: Control, units: Units) -> Markup {
    let facts = control.facts();
    let (symbol, factor, offset) = shown_unit(facts.unit, units);
    html! {
        div .control data-key=(facts.key) data-factor=(factor) data-offset=(offset) data-unit=(symbol) {
            label for=(facts.key) { (facts.label) }
            span .typed {
                input type="text" inputmode="decimal" aria-label={ (facts.label) ", typed" } autocomplete="off"
                    aria-describedby={ (facts.key) "-wrong" };
                " " span { (symbol) }
            }
            input type="range" id=(facts.key) step=(facts.step);
            p .was {}
            p .wrong id={ (facts.key) "-wrong" } hidden {}
        }
    }
}
