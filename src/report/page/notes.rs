//! Notices of this estimate and standing cautions.

use super::Report;
use crate::report::table::plain;
use crate::report::words::{Say, cautions};
use maud::{Markup, html};

pub(super) fn section(report: &Report<'_>) -> Markup {
    let e = report.estimate;
    html! {
        @if !e.notices.is_empty() {
            h3 { "Of this build" }
            ul { @for notice in &e.notices { li { (plain(&notice.say(report.units))) } } }
        }
        h3 { "Always" }
        ul {
            @for caution in cautions::ESTIMATE { li { (caution) } }
        }
    }
}
