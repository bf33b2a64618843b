//! The choice of compression: the best ratio, power over ratio, the margin map, pistons.

use super::chart::{Chart, legend};
use super::parts::{DataTable, fold};
use super::{Report, name_of};
use crate::choose::result::{Choice, RatioRow};
use crate::report::choose::plot::{margin_map, power_over_ratio};
use crate::report::choose::text::best_lines;
use crate::report::choose::words::{limit, maximised, passed};
use crate::report::quantity::{fixed, output_decimals, percent, signed};
use crate::report::table::plain;
use crate::report::text::{largest, maybe, maybe_band_cells};
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
        h3 { "Power over compression ratio" }
        p {
            "Wheel power (" (maximised(choice)) ") on each fuel, uncorrected: at the timing to start from, knock-free in 9 cases of 10, \
             and at the likely limit."
        }
        (legend(&over_ratio.legend)?)
        div .charts { @for chart in &drawn { (chart) } }
        (fold("Numbers of these drawings", false, &by_ratio(choice, units).render()))
        (map(choice)?)
        (pistons(choice, units))
        @if !choice.notices.is_empty() {
            h3 { "To know about this choice" }
            ul { @for notice in &choice.notices { li { (plain(notice)) } } }
        }
    })
}

fn answer(choice: &Choice, units: Units) -> Markup {
    let Some(best) = &choice.best else {
        return html! {
            p .alert { "No compression ratio of the range keeps every limit:" }
            ul {
                @for failing in choice.out_of_limits.iter().flat_map(|part| &part.failing) {
                    li { (passed(&failing.state, units)) "." }
                }
            }
        };
    };
    let lines = best_lines(choice, best, units);
    html! {
        @if let Some((first, others)) = lines.split_first() {
            p .lead { (first) }
            ul { @for line in others { li { (line) } } }
        }
        p {
            "The build as stated has " (fixed(choice.scenario_compression_ratio, 1)) ":1."
        }
    }
}

/// What the ratio was chosen for and what it must stand.
fn stood(choice: &Choice, units: Units) -> Markup {
    let stood = &choice.stood;
    let fuels: Vec<String> = choice
        .fuels
        .iter()
        .map(|fuel| format!("{} {} %", name_of(&fuel.name), percent(fuel.share, 0)))
        .collect();
    let limits: Vec<String> =
        stood.limits.iter().map(|l| limit(l.kind, l.allowed, stood.confidence, units)).collect();
    let weather = if stood.worst_weather_stated { "worst weather" } else { "the weather of the scenario" };
    html! {
        p .quiet {
            "Weighted " (fuels.join(", ")) ". Must stand " (plain(&stood.base)) " with any ethanol content from "
            (percent(stood.lowest_ethanol_vol_frac, 0)) " to " (percent(stood.highest_ethanol_vol_frac, 0)) " % in "
            (weather) " (" (units.temperature_words(stood.air_temperature_k)) ", "
            (units.air_pressure_words(stood.air_pressure_pa)) ", " (percent(stood.relative_humidity, 0))
            " % humidity). Limits: " (limits.join("; ")) "."
        }
    }
}

fn says_of_power(choice: &Choice) -> String {
    let (low, high) = (fixed(choice.lowest_ratio, 1), fixed(choice.highest_ratio, 1));
    let best = choice.best.as_ref().map_or_else(
        || "no ratio keeps every limit".to_owned(),
        |best| format!("the best as weighted is {}", fixed(best.compression_ratio, 1)),
    );
    format!(
        "Likely power and its range at the timing to start from, and likely power at the limit, from ratio {low} to {high}; {best}. \
         The table below has the numbers."
    )
}

/// A ratio with a mark at the best.
fn marked(choice: &Choice, row: &RatioRow) -> String {
    let is_best = choice.best.as_ref().is_some_and(|best| best.compression_ratio == row.compression_ratio);
    fixed(row.compression_ratio, 1) + if is_best { "*" } else { "" }
}

fn by_ratio(choice: &Choice, units: Units) -> DataTable {
    let caption = format!(
        "Likely {} by compression ratio, {}, at the timing to start from and at the likely limit (* best as weighted, k knock \
         retards the limit)",
        maximised(choice),
        units.power_unit()
    );
    let fuels = choice.fuels.iter().flat_map(|fuel| {
        let name = name_of(&fuel.name);
        ["start", "limit"].map(|timing| format!("{name} at {timing}"))
    });
    let weighted = ["low at start", "likely at start", "high at start", "likely at limit"];
    let mut table = DataTable::new(caption, &["ratio"])
        .more_heads(weighted.map(|head| format!("weighted {head}")))
        .more_heads(fuels)
        .more_heads(["limits".to_owned()]);
    let power = choice.curve.iter().map(|row| units.power(row.weighted_power_kw.high));
    let decimals = output_decimals(largest(power)).max(1);
    for row in &choice.curve {
        let mut cells = vec![marked(choice, row)];
        cells.extend(maybe_band_cells(row.start_weighted_power_kw, |kw| units.power(kw), decimals));
        cells.push(fixed(units.power(row.weighted_power_kw.likely), decimals));
        for ((limit, start), state) in row.power_kw.iter().zip(&row.start_power_kw).zip(&row.fuels) {
            cells.push(maybe(start.map(|band| units.power(band.likely)), decimals));
            let mark = if state.knock_limited() { "k" } else { "" };
            cells.push(fixed(units.power(limit.likely), decimals) + mark);
        }
        cells.push(if row.within_limits { "kept" } else { "passed" }.to_owned());
        table.row(cells);
    }
    table
}

/// The margin map with its numbers; nothing for a range of one blend.
fn map(choice: &Choice) -> Result<Markup, ReportError> {
    let Some(figure) = margin_map(choice)? else { return Ok(html! {}) };
    let says = "Lines of equal octane margin over compression ratio and ethanol content: more ratio lowers it, more ethanol raises it. \
                The table below has the numbers."
        .to_owned();
    let mut drawn = Vec::new();
    for panel in &figure.panels {
        let (id, says) = ("margin-map".to_owned(), says.clone());
        let caption = "Octane margin at best-torque spark".to_owned();
        drawn.push(Chart { id, caption, says, panel, large: true }.render()?);
    }
    Ok(html! {
        div .keep {
            h3 { "Margin map" }
            p {
                "How far from knock each ratio and blend would be at best-torque spark, in the worst weather and at the tightest \
                 speed. Left of and above the line of margin 0 no spark is given up to knock; the reserve asked for comes on top."
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
    let caption = "Octane margin at best-torque spark by ethanol content, % by volume, and compression ratio";
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
    let caption = format!("Pistons that can be bought, best first; weighted power, {}", units.power_unit());
    let mut table = DataTable::new(
        caption,
        &[
            "place",
            "ratio",
            "low at start",
            "likely at start",
            "high at start",
            "likely at limit",
            "limit against the best, %",
            "limits",
        ],
    );
    for piston in &choice.pistons {
        let mut cells = vec![piston.place.to_string(), marked(choice, &piston.row)];
        cells.extend(maybe_band_cells(piston.row.start_weighted_power_kw, |kw| units.power(kw), 0));
        cells.push(fixed(units.power(piston.row.weighted_power_kw.likely), 0));
        cells.push(
            piston.against_best_frac.map_or_else(|| "-".to_owned(), |band| signed(100.0 * band.likely, 1)),
        );
        let broken: Vec<String> = piston
            .row
            .limits
            .iter()
            .filter(|state| !state.kept())
            .map(|state| passed(state, units))
            .collect();
        cells.push(if broken.is_empty() { "kept".to_owned() } else { broken.join("; ") });
        table.row(cells);
    }
    html! { h3 { "Pistons" } (table.render()) }
}
