//! What to order, and whether the target can be had: the answer in words.

use crate::choose::Choice;
use crate::choose::result::{Order, Piston};
use crate::goal::Goal;
use crate::report::Units;
use crate::report::choose::answer::{no_order_lines, not_stated, order_line, power_line, practice_line};
use crate::report::choose::words::{over, ratio};
use crate::report::goal::words::{as_built, power_words, what_it_takes, yes_or_no};
use crate::report::quantity::fixed;
use crate::report::table::plain;
use maud::{Markup, html};

/// Limits that are named where nothing can be ordered.
const FAILING: usize = 2;

/// The question, yes or no, what the engine makes as built and what it takes.
pub(super) fn target(goal: &Goal, units: Units) -> Markup {
    let Some(own) = goal.chances.first() else { return html! {} };
    html! {
        p .question { "Can it make " (power_words(goal.wheel_power_kw, units)) " at the wheels?" }
        p .verdict { (yes_or_no(goal.verdict)) }
        p { (plain(&as_built(own, goal, units))) }
        @if let Some(way) = what_it_takes(own, goal, units).first() { p { (plain(way)) } }
    }
}

/// The ratio and the piston to order with what it makes, or why there is none.
pub(super) fn ordered(choice: &Choice, units: Units) -> Markup {
    let failing = choice.out_of_limits.iter().flat_map(|part| &part.failing);
    html! {
        p .question { "Which compression ratio?" }
        @match &choice.order {
            Some(order) => { (order_words(choice, order, units)) }
            None => {
                p .verdict { "Order nothing yet." }
                @for line in no_order_lines(choice) { p .alert { (line) } }
                ul { @for failing in failing.take(FAILING) { li { (over(&failing.state, units)) "." } } }
            }
        }
    }
}

fn order_words(choice: &Choice, order: &Order, units: Units) -> Markup {
    let practice = practice_line(&order.piston, order.compression_ratio);
    html! {
        p .verdict { (order_line(choice, order)) }
        p .alert[practice.starts_with("WARNING")] { (practice) }
        p {
            @if let Some(piston) = choice.pistons.first() { (off_the_shelf(piston)) " " }
            @if let Some(line) = power_line(choice, order, units) { (line) " " }
            "The build as stated has " (fixed(choice.scenario_compression_ratio, 1)) ":1. "
            @if let Some(line) = not_stated(choice) { (line) }
        }
    }
}

/// The off-the-shelf piston that comes first.
fn off_the_shelf(piston: &Piston) -> String {
    let here = ratio(piston.row.compression_ratio);
    if piston.row.within_limits {
        format!("Of the off-the-shelf pistons {here}:1 comes first.")
    } else {
        format!("No off-the-shelf piston is within the limits; {here}:1 comes nearest.")
    }
}
