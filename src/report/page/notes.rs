//! Notices of this estimate and standing cautions.

use super::Report;
use crate::report::table::plain;
use maud::{Markup, html};

pub(super) fn section(report: &Report<'_>) -> Markup {
    let e = report.estimate;
    html! {
        @if !e.notices.is_empty() {
            h3 { "Of this build" }
            ul { @for notice in &e.notices { li { (plain(notice)) } } }
        }
        h3 { "Always" }
        ul {
            @for caution in &e.cautions { li { (caution) } }
            @for caution in report.choice.cautions.iter().filter(|caution| !e.cautions.contains(caution)) {
                li { (caution) }
            }
        }
    }
}
