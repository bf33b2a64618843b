//! The choice of compression: the ratio to order, what would move it, power over ratio, the margin map, pistons.

use super::chart::{Chart, legend};
use super::parts::fold;
use super::{Report, name_of};
use crate::choose::result::Choice;
use crate::report::choose::answer::{no_order_lines, order_lines};
use crate::report::choose::plot::{margin_map, power_over_ratio};
use crate::report::choose::tables;
use crate::report::choose::words::{contents_words, ignition_words, limits, maximised, over, ratio};
use crate::report::quantity::Dimension::Power;
use crate::report::quantity::{fixed, percent};
use crate::report::table::plain;
use crate::report::words::Say;
use crate::report::{ReportError, Units};
use maud::{Markup, html};

pub(super) fn section(report: &Report<'_>) -> Result<Markup, ReportError> {
    let (choice, units) = (report.choice, report.units);
    let over_ratio = power_over_ratio(choice, units);
    let mut drawn = Vec::new();
    for (i, panel) in over_ratio.panels.iter().enumerate() {
        let (id, says) = (format!("ratio-{i}"), says_of_power(choice));
        let caption = format!("Wheel power on {}", panel.y_name);
        drawn.push(Chart { id, caption, says, panel, large: false }.render()?);
    }
    Ok(html! {
        (answer(choice, units))
        (stood(choice, units))
        (moved(choice, units))
        h3 { "Power over compression ratio" }
        p {
            "Wheel power (" (maximised(choice)) ") on each fuel, uncorrected: with " (ignition_words(choice.ignition.ignition))
            ", and at each fuel's own knock limit."
        }
        (legend(&over_ratio.legend)?)
        div .charts { @for chart in &drawn { (chart) } }
        (fold("Numbers of these drawings", false, &by_ratio(choice, units)))
        (map(choice, units)?)
        (pistons(choice, units))
        @if !choice.notices.is_empty() {
            h3 { "Notes on this choice" }
            ul { @for notice in &choice.notices { li { (plain(&notice.say(units))) } } }
        }
    })
}

fn answer(choice: &Choice, units: Units) -> Markup {
    let lines = match &choice.order {
        Some(order) => order_lines(choice, order, units),
        None => no_order_lines(choice),
    };
    let failing = choice.out_of_limits.iter().flat_map(|part| &part.failing);
    html! {
        @if let Some((first, others)) = lines.split_first() {
            p { b { (first) } }
            ul {
                @for line in others { li { (line) } }
                @if choice.order.is_none() { @for failing in failing { li { (over(&failing.state, units)) "." } } }
            }
        }
        p {
            "The build as stated has " (fixed(choice.scenario_compression_ratio, 1)) ":1."
        }
    }
}

/// What the ratio was chosen for and what the engine has to run on.
fn stood(choice: &Choice, units: Units) -> Markup {
    let stood = &choice.stood;
    let fuels: Vec<String> = choice
        .fuels
        .iter()
        .map(|fuel| format!("{} {} %", name_of(&fuel.name), percent(fuel.share_frac, 0)))
        .collect();
    html! {
        p .quiet {
            "Weighted " (fuels.join(", ")) ". Has to run on " (plain(&stood.base)) " with " (contents_words(stood)) ", ignition: "
            (ignition_words(choice.ignition.ignition)) ". Limits: " (limits(stood, units)) "."
        }
    }
}

/// What each service condition costs and what would move the order; nothing without an order.
fn moved(choice: &Choice, units: Units) -> Markup {
    let Some(order) = &choice.order else { return html! {} };
    let (conditions, changes) = tables::variants(choice);
    html! {
        h3 { "What would move the order" }
        @if !conditions.is_empty() {
            (tables::service(choice, order, units).page("What each service condition costs", conditions))
        }
        (tables::sensitivity(choice, order, units).page("The order were one thing different", changes))
    }
}

fn says_of_power(choice: &Choice) -> String {
    let (low, high) = (fixed(choice.lowest_ratio, 1), fixed(choice.highest_ratio, 1));
    let order = choice.order.as_ref().map_or_else(
        || "no ratio is within every limit".to_owned(),
        |order| format!("the order is {}", ratio(order.compression_ratio)),
    );
    format!(
        "Likely power and its range as fitted, and likely power at the knock limit, from ratio {low} to {high}; {order}. The table \
         below has the numbers."
    )
}

/// The numbers of the drawings of power.
fn by_ratio(choice: &Choice, units: Units) -> Markup {
    let weighted = format!(
        "{} and limits over compression ratio, as fitted (* order, ! over the limit)",
        maximised(choice)
    );
    let each = format!(
        "Likely wheel power by fuel, {}, as fitted and at its knock limit (* order, k knock retards the limit)",
        units.symbol(Power)
    );
    html! {
        (tables::over_ratio(choice, units).page(weighted, &choice.curve))
        (tables::by_fuel(choice, units).page(each, &choice.curve))
    }
}

/// The margin map with its numbers; nothing for a range of one blend.
fn map(choice: &Choice, units: Units) -> Result<Markup, ReportError> {
    let Some(figure) = margin_map(choice)? else { return Ok(html! {}) };
    let says = "Lines of equal knock margin over compression ratio and ethanol content: more ratio lowers it, more ethanol raises it. \
                The table below has the numbers."
        .to_owned();
    let numbers = "Knock margin at MBT timing by ethanol content and compression ratio";
    let mut drawn = Vec::new();
    for panel in &figure.panels {
        let (id, says) = ("margin-map".to_owned(), says.clone());
        let caption = "Knock margin at MBT timing".to_owned();
        drawn.push(Chart { id, caption, says, panel, large: true }.render()?);
    }
    Ok(html! {
        h3 { "Margin map" }
        div .pair {
            div {
                p {
                    "How far from knock each ratio and blend would be at MBT timing, in octane numbers, under the service conditions \
                     and at the worst rpm. Left of and above the line of margin 0 no timing is lost to knock; the margin asked for \
                     comes on top."
                }
                (legend(&figure.legend)?)
            }
            @for chart in &drawn { (chart) }
        }
        (fold("Numbers of this drawing", false, &tables::margin_map(choice, units).page(numbers, tables::margins(choice))))
    })
}

fn pistons(choice: &Choice, units: Units) -> Markup {
    if choice.pistons.is_empty() {
        return html! {};
    }
    html! {
        h3 { "Off-the-shelf pistons" }
        (tables::pistons(choice, units).page("Best first; weighted power as fitted", &choice.pistons))
        @for (ratio, fault) in tables::piston_faults(choice, units) { p .quiet { (ratio) ": " (fault) "." } }
    }
}
