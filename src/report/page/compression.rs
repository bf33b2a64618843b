//! The choice of compression: the ratio to order, what would move it, power over ratio, the margin map, pistons.

use super::chart::{Chart, legend};
use super::parts::{DataTable, fold};
use super::{Report, name_of};
use crate::choose::result::{Choice, RatioRow};
use crate::report::choose::answer::{no_order_lines, order_lines};
use crate::report::choose::plot::{margin_map, power_over_ratio};
use crate::report::choose::words::{
    condition_words, contents_words, ignition_words, limits, maximised, over, ratio, variant_ratio,
    variant_words,
};
use crate::report::quantity::{fixed, output_decimals, percent, signed};
use crate::report::table::plain;
use crate::report::text::largest;
use crate::report::{ReportError, Units};
use maud::{Markup, html};

/// Ratios across the table of the margin map, at most.
const MAP_COLUMNS: usize = 8;

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
        (fold("Numbers of these drawings", false, &by_ratio(choice, units).render()))
        (map(choice)?)
        (pistons(choice, units))
        @if !choice.notices.is_empty() {
            h3 { "Notes on this choice" }
            ul { @for notice in &choice.notices { li { (plain(notice)) } } }
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
            p .lead .alert[choice.order.is_none()] { (first) }
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
        .map(|fuel| format!("{} {} %", name_of(&fuel.name), percent(fuel.share, 0)))
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
    let mut table =
        DataTable::new("The order were one thing different".to_owned(), &["if", "order", "change"]);
    for variant in &choice.variants {
        let words = match condition_words(&variant.kind, choice, units) {
            Some((name, taken)) => format!("without {name} ({taken})"),
            None => variant_words(&variant.kind, choice, units),
        };
        let there = variant.compression_ratio;
        table.row(vec![
            words,
            variant_ratio(variant, choice),
            there.map_or_else(|| "-".to_owned(), |there| signed(there - order.compression_ratio, 1)),
        ]);
    }
    html! { h3 { "What would move the order" } (table.render()) }
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

/// A ratio with a mark at the ordered one.
fn marked(choice: &Choice, row: &RatioRow) -> String {
    let is_order =
        choice.order.as_ref().is_some_and(|order| order.compression_ratio == row.compression_ratio);
    ratio(row.compression_ratio) + if is_order { "*" } else { "" }
}

fn by_ratio(choice: &Choice, units: Units) -> DataTable {
    let caption = format!(
        "{} by compression ratio, {}, as fitted and at each fuel's knock limit (* order, k knock retards the limit)",
        maximised(choice),
        units.power_unit()
    );
    let fuels = choice.fuels.iter().flat_map(|fuel| {
        let name = name_of(&fuel.name);
        ["as fitted", "at the limit"].map(|timing| format!("{name} {timing}"))
    });
    let mut table =
        DataTable::new(caption, &["ratio", "weighted, low", "weighted, likely", "weighted, high"])
            .more_heads(fuels)
            .more_heads(["limits".to_owned()]);
    let power = choice.curve.iter().map(|row| units.power(row.weighted_power_kw.high));
    let decimals = output_decimals(largest(power)).max(1);
    for row in &choice.curve {
        let mut cells = vec![marked(choice, row)];
        let weighted = row.fitted_weighted_power_kw;
        cells.extend(
            [weighted.low, weighted.likely, weighted.high].map(|kw| fixed(units.power(kw), decimals)),
        );
        for ((limit, fitted), state) in row.power_kw.iter().zip(&row.fitted_power_kw).zip(&row.fuels) {
            cells.push(fixed(units.power(fitted.likely), decimals));
            let mark = if state.knock_limited() { "k" } else { "" };
            cells.push(fixed(units.power(limit.likely), decimals) + mark);
        }
        cells.push(if row.within_limits { "within" } else { "over" }.to_owned());
        table.row(cells);
    }
    table
}

/// The margin map with its numbers; nothing for a range of one blend.
fn map(choice: &Choice) -> Result<Markup, ReportError> {
    let Some(figure) = margin_map(choice)? else { return Ok(html! {}) };
    let says = "Lines of equal knock margin over compression ratio and ethanol content: more ratio lowers it, more ethanol raises it. \
                The table below has the numbers."
        .to_owned();
    let mut drawn = Vec::new();
    for panel in &figure.panels {
        let (id, says) = ("margin-map".to_owned(), says.clone());
        let caption = "Knock margin at MBT timing".to_owned();
        drawn.push(Chart { id, caption, says, panel, large: true }.render()?);
    }
    Ok(html! {
        div .keep {
            h3 { "Margin map" }
            p {
                "How far from knock each ratio and blend would be at MBT timing, in octane numbers, under the service conditions and at \
                 the worst rpm. Left of and above the line of margin 0 no timing is lost to knock; the margin asked for comes on top."
            }
            (legend(&figure.legend)?)
            @for chart in &drawn { (chart) }
        }
        (fold("Numbers of this drawing", false, &map_numbers(choice).render()))
    })
}

fn map_numbers(choice: &Choice) -> DataTable {
    let map = &choice.margin_map;
    let step = map.compression_ratio.len().div_ceil(MAP_COLUMNS).max(1);
    let columns: Vec<usize> = (0..map.compression_ratio.len()).step_by(step).collect();
    let caption = "Knock margin at MBT timing by ethanol content, % by volume, and compression ratio";
    let heads = columns.iter().map(|i| format!("{}:1", fixed(map.compression_ratio[*i], 1)));
    let mut table = DataTable::new(caption, &["ethanol, %"]).more_heads(heads);
    for (content, margins) in map.ethanol_vol_frac.iter().zip(&map.best_torque_octane_margin) {
        let mut cells = vec![percent(*content, 0)];
        cells.extend(columns.iter().map(|i| signed(margins[*i], 1)));
        table.row(cells);
    }
    table
}

fn pistons(choice: &Choice, units: Units) -> Markup {
    if choice.pistons.is_empty() {
        return html! {};
    }
    let caption =
        format!("Off-the-shelf pistons, best first; weighted power as fitted, {}", units.power_unit());
    let heads = ["rank", "ratio", "low", "likely", "high", "against the order, %", "limits"];
    let mut table = DataTable::new(caption, &heads);
    for piston in &choice.pistons {
        let power = piston.row.fitted_weighted_power_kw;
        let mut cells = vec![piston.place.to_string(), marked(choice, &piston.row)];
        cells.extend([power.low, power.likely, power.high].map(|kw| fixed(units.power(kw), 0)));
        let against = piston.against_order_frac;
        cells.push(against.map_or_else(|| "-".to_owned(), |band| signed(100.0 * band.likely, 1)));
        let states = piston.row.limits.iter().filter(|state| !state.kept());
        let broken: Vec<String> = states.map(|state| over(state, units)).collect();
        cells.push(if broken.is_empty() {
            "within".to_owned()
        } else {
            format!("OVER THE LIMIT: {}", broken.join("; "))
        });
        table.row(cells);
    }
    html! { h3 { "Off-the-shelf pistons" } (table.render()) }
}
