//! Whether a wanted wheel power can be had, and what it takes.

use super::Report;
use super::parts::fold;
use crate::report::goal::text::{chance_columns, rows, way_columns, way_note};
use crate::report::goal::words::{answer, power_words};
use crate::report::table::plain;
use crate::report::words::cautions;
use maud::{Markup, html};

/// Heading of the section: the question.
pub(super) fn title(report: &Report<'_>) -> String {
    let wanted = report.goal.map(|goal| power_words(goal.wheel_power_kw, report.units));
    format!("Can it make {} at the wheels?", wanted.unwrap_or_default())
}

/// The section; nothing when no power was wanted.
pub(super) fn section(report: &Report<'_>) -> Option<Markup> {
    let (goal, units) = (report.goal?, report.units);
    let lines = answer(goal, units);
    let ways = html! {
        (way_columns(goal, units).page(format!("What a shop would do, and what it takes, on {}", plain(&goal.fuel)), rows(goal)))
        p .quiet { (way_note(goal)) }
    };
    Some(html! {
        @if let Some((first, others)) = lines.split_first() {
            p .verdict { (plain(first)) }
            @for line in others { p { (plain(line)) } }
        }
        (chance_columns(goal, units).page("By fuel", &goal.chances))
        (fold("Ways, and what each takes", true, &ways))
        h3 { "Keep in mind" }
        ul { @for caution in cautions::GOAL { li { (caution) } } }
    })
}
