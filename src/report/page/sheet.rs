//! The first sheet: all that the customer has to know, on one side of paper.

use super::answer::{ordered, target};
use super::chart::{Chart, legend};
use super::fuel_charts::{Banded, band_legend};
use super::power::power_words;
use super::ranges::{ranges, some_cannot_start};
use super::timing::{knock, timing};
use super::{Report, short_name};
use crate::report::ReportError;
use crate::report::quantity::fixed;
use crate::report::words::cautions;
use maud::{Markup, html};

/// The answer in words, power as a picture, timing and knock in two sentences, and the cautions.
///
/// # Errors
/// [`ReportError::Plot`].
pub(super) fn section(report: &Report<'_>) -> Result<Markup, ReportError> {
    let e = report.estimate;
    Ok(html! {
        @if let Some(goal) = report.goal { (target(goal, report.units)) }
        (ordered(report.choice, report.units))
        @if e.limit_missed {
            p .alert role="note" {
                strong { "A limit stated for this build is not met: " }
                "see " a href="#notes" { "Notes on this build" } "."
            }
        }
        h3 { "Power as built, with " (fixed(e.compression_ratio, 1)) ":1" }
        (power(report)?)
        h3 { "Timing and knock" }
        p { (timing(&e.fuels)) }
        p { (knock(&e.fuels)) }
        h3 { "Cautions" }
        ul .cautions { @for caution in cautions::ESTIMATE { li { (caution) } } }
    })
}

/// Power over rpm on the first fuel beside the peak of every fuel.
fn power(report: &Report<'_>) -> Result<Markup, ReportError> {
    let (e, units) = (report.estimate, report.units);
    let mut drawn = Vec::new();
    for fuel in e.fuels.iter().take(1) {
        let (id, caption) =
            ("sheet".to_owned(), format!("Wheel power over rpm on {}", short_name(&fuel.name)));
        let panel = Banded::power(e, units).with(report.goal.map(|goal| goal.wheel_power_kw), units).panel(0);
        drawn.push(
            Chart { id, caption, says: power_words(fuel, units), panel: &panel, large: false }.render()?,
        );
    }
    Ok(html! {
        div .pair .power {
            @for chart in &drawn { (chart) }
            (ranges(report))
        }
        (legend(&band_legend())?)
        p .quiet {
            "At the wheels, uncorrected, at the timing to start from. Eight of ten engines built as described should fall from low to \
             high, one below and one above."
            @if report.goal.is_some() {
                " The line across and the dashed strokes are the target; it is judged with each engine tuned to its own knock limit."
            }
            @if some_cannot_start(&e.fuels) {
                " *: at the likely knock limit; no timing is safe to start from at some rpm, so not for full throttle as built."
            }
        }
    })
}
