//! The page for the customer.

use super::choose::is_choice;
use super::goal::is_goal;
use super::run::{Run, taken};
use super::{LIBRARY, shown};
use endgas::estimate::estimate;
use endgas::report::{Report, Units, render_page};
use endgas::scenario::typed::POWER;

/// What `report` makes of a scenario; its first line may hold a target power, as "# 300 hp".
pub fn report(bytes: &[u8]) {
    let Some(Run { typed, scenario, job }) = Run::of(bytes) else { return };
    let Some(ask) = taken(scenario.choose_job(job.clone(), &LIBRARY)) else { return };
    let Some(found) = taken(estimate(&job)) else { return };
    let Some(choice) = taken(endgas::choose::choose(&ask, &|_| ())) else { return };
    is_choice(&choice, (ask.lowest.get(), ask.highest.get()));
    let wanted_kw = if typed.is_empty() { None } else { taken(POWER.read(&typed)) };
    let goal = wanted_kw.and_then(|kw| taken(endgas::goal::goal(&job, &found, &scenario.costs, kw)));
    goal.iter().for_each(is_goal);
    for units in [Units::Metric, Units::Us] {
        let report =
            Report { build: &job.build, estimate: &found, choice: &choice, goal: goal.as_ref(), units };
        let page = render_page(&report).unwrap();
        is_page(&page);
        assert_eq!(page, render_page(&report).unwrap());
    }
}

/// A whole page in which every word of the scenario is escaped and no number is missing.
fn is_page(page: &str) {
    shown(page);
    assert!(page.starts_with("<!DOCTYPE html>") && page.trim_end().ends_with("</html>"));
    for tag in ["main", "section", "table", "svg", "figure", "p", "ul"] {
        let opened = page.matches(&format!("<{tag}>")).count() + page.matches(&format!("<{tag} ")).count();
        assert_eq!(opened, page.matches(&format!("</{tag}>")).count(), "<{tag}>");
    }
    assert!(!page.contains("<script"));
    let is_word = |c: char| c.is_alphanumeric();
    assert!(!page.split(|c| !is_word(c)).any(|word| matches!(word, "NaN" | "inf")), "a number is missing");
}
