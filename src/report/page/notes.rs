//! Notices of this estimate.

use super::Report;
use crate::report::table::plain;
use crate::report::words::Say;
use maud::{Markup, html};

pub(super) fn section(report: &Report<'_>) -> Markup {
    let e = report.estimate;
    html! {
        @if e.notices.is_empty() { p { "None." } }
        @else { ul { @for notice in &e.notices { li { (plain(&notice.say(report.units))) } } } }
    }
}
