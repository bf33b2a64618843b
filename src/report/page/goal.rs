//! What the target power takes.

use super::Report;
use super::parts::fold;
use crate::report::goal::text::{chance_columns, rows, way_columns, way_note};
use crate::report::goal::words::{answer, power_words};
use crate::report::table::plain;
use crate::report::words::cautions;
use maud::{Markup, html};

/// The section; nothing when no power was wanted.
pub(super) fn section(report: &Report<'_>) -> Option<Markup> {
    let (goal, units) = (report.goal?, report.units);
    let ways = html! {
        (way_columns(goal, units).page(format!("What a shop would do, and what it takes, on {}", plain(&goal.fuel)), rows(goal)))
        p .quiet { (way_note(goal)) }
    };
    Some(html! {
        p { b { (power_words(goal.wheel_power_kw, units)) " at the wheels. " } @for line in answer(goal, units) { (plain(&line)) " " } }
        (chance_columns(goal, units).page("By fuel", &goal.chances))
        (fold("Ways, and what each takes", true, &ways))
        h3 { "Keep in mind" }
        ul { @for caution in cautions::GOAL { li { (caution) } } }
    })
}
