//! What a wanted wheel power needs.

use super::Report;
use super::parts::fold;
use crate::report::goal::text::{chance_columns, reading_columns, readings};
use crate::report::goal::words::{answer, power_words};
use crate::report::table::plain;
use crate::report::words::cautions;
use maud::{Markup, html};

/// The section; nothing when no power was wanted.
pub(super) fn section(report: &Report<'_>) -> Option<Markup> {
    let (goal, units) = (report.goal?, report.units);
    let lines = answer(goal, units);
    let changes = reading_columns("change", &goal.as_it_is, units).page(
        "Likely case with one change, timing tuned anew (K: no timing keeps the safety margin; B: past the end of a race band)",
        readings(goal, units),
    );
    Some(html! {
        p { "Target: " (power_words(goal.wheel_power_kw, units)) " at the wheels." }
        @if let Some((first, others)) = lines.split_first() {
            p .lead { (plain(first)) }
            ul { @for line in others { li { (plain(line)) } } }
        }
        (chance_columns(goal, units).page("Chance of the engine as built", goal.chances.iter().enumerate()))
        (fold("What each change is worth alone", false, &changes))
        h3 { "Mind" }
        ul { @for caution in cautions::GOAL { li { (caution) } } }
    })
}
