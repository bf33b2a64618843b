//! A choice of compression as aligned text, the answer first.

use super::words::{bound, cell, head, limit, loosened, maximised, passed};
use crate::choose::result::{BestRatio, Choice, RatioRow, Regret};
use crate::choose::{LimitKind, LimitState};
use crate::estimate::Band;
use crate::report::Units;
use crate::report::quantity::{fixed, output_decimals, percent, signed};
use crate::report::table::{Column, Table, WIDTH, band_columns, plain, shorten, wrap};
use crate::report::text::{list, maybe, maybe_band_cells};

/// Most characters of a fuel name at the head of a column and in a row.
const HEAD_LIMIT: usize = 12;
const NAME_LIMIT: usize = 24;

/// The whole text report.
pub(super) fn render(choice: &Choice, units: Units) -> String {
    let mut out = header(choice, units);
    out += &answer(choice, units);
    out += &over_ratio(choice, units);
    out += &by_fuel(choice, units);
    out += &half_steps(choice);
    out += &pistons(choice, units);
    out += &regret(choice, units);
    out += &out_of_limits(choice, units);
    out += &margin_map(choice);
    out += &list("Notices", choice.notices.iter().map(String::as_str));
    out += &list("Cautions", choice.cautions.iter().copied());
    out
}

fn header(choice: &Choice, units: Units) -> String {
    let stood = &choice.stood;
    let weights: Vec<String> = choice
        .fuels
        .iter()
        .map(|fuel| format!("{} {} %", shorten(&fuel.name, NAME_LIMIT), percent(fuel.share, 0)))
        .collect();
    let maximised = format!("{}, weighted {}", maximised(choice), weights.join(", "));
    let weather = if stood.worst_weather_stated { "worst weather" } else { "weather of the scenario" };
    let blends = format!(
        "{} with {} to {} % ethanol, any content between; {weather}: {}, {}, {} % humidity",
        plain(&stood.base),
        percent(stood.lowest_ethanol_vol_frac, 0),
        percent(stood.highest_ethanol_vol_frac, 0),
        units.temperature_words(stood.air_temperature_k),
        units.air_pressure_words(stood.air_pressure_pa),
        percent(stood.relative_humidity, 0)
    );
    let limits: Vec<String> =
        stood.limits.iter().map(|l| limit(l.kind, l.allowed, stood.confidence, units)).collect();
    let range = format!(
        "{} to {}; the scenario's own is {}",
        fixed(choice.lowest_ratio, 2),
        fixed(choice.highest_ratio, 2),
        fixed(choice.scenario_compression_ratio, 2)
    );
    let samples = format!("{}, seed {}; the mean over them is maximised", choice.samples, choice.seed);
    let rows = [
        ("Scenario", choice.scenario.clone()),
        ("Note", choice.note.clone()),
        ("Maximised", maximised),
        ("Ratios", range),
        ("Must stand", blends),
        (
            "Limits",
            format!("{}; spark keeps {} octane in hand", limits.join("; "), fixed(stood.reserve_octane, 1)),
        ),
        ("Samples", samples),
    ];
    rows.into_iter()
        .filter(|(_, text)| !plain(text).is_empty())
        .map(|(name, text)| wrap(&format!("{name:<11}"), &text))
        .collect()
}

fn answer(choice: &Choice, units: Units) -> String {
    let mut out = "\nAnswer\n".to_owned();
    match &choice.best {
        Some(best) => out.extend(best_lines(choice, best, units).iter().map(|line| wrap("  ", line))),
        None => {
            out += &wrap(
                "  ",
                "No compression ratio of the range keeps every limit. What fails, and what would mend it, stands below.",
            );
        }
    }
    out
}

/// What there is to say of the best ratio, a sentence each.
pub(in crate::report) fn best_lines(choice: &Choice, best: &BestRatio, units: Units) -> Vec<String> {
    let row = choice.curve.iter().find(|row| row.compression_ratio == best.compression_ratio);
    let power = row.map_or_else(String::new, |row| power_words(choice, row, units));
    let ratio = |value: f64| fixed(value, 1);
    let mut lines = vec![
        format!("Best compression ratio {}:1{power}.", ratio(best.compression_ratio)),
        format!(
            "Anything between {} and {} is the same to within what can be known: its mean power is lower by less than the 0.5 % that a chassis dynamometer repeats.",
            ratio(best.same_from),
            ratio(best.same_to)
        ),
        bound(&best.below, "Towards lower ratios", units),
        bound(&best.above, "Towards higher ratios", units),
    ];
    lines.extend(best_at_start(choice));
    if best.of_samples.high - best.of_samples.low > 0.1 {
        lines.push(format!(
            "Were the unknowns of this engine known, its own best within the same limits would lie between {} and {} (10th and 90th percentile).",
            ratio(best.of_samples.low),
            ratio(best.of_samples.high)
        ));
    }
    if let Some(share) = row.and_then(|row| row.limits_kept_share) {
        lines.push(format!(
            "{} % of the samples keep the limits of retard and torque on the weakest blend there{}.",
            percent(share, 0),
            safer(choice)
        ));
    }
    lines.push(format!(
        "Each 0.1 of ratio more changes the weighted power by {} %.",
        signed(100.0 * best.change_per_tenth_frac, 2)
    ));
    if let (Some(dome_m3), Some(tolerance)) = (best.dome_m3, best.measured_ratio_tolerance) {
        lines.push(format!(
            "With the other measured volumes it takes {} of {} cc; the measurements give a ratio to {} either way (see `endgas volumes`).",
            if dome_m3 < 0.0 { "a dish" } else { "a dome" },
            fixed(dome_m3.abs() * 1e6, 1),
            fixed(tolerance, 2)
        ));
    }
    lines
}

/// The ratio of those shown with most power at the timing to start from, as a sentence; none without such timings.
fn best_at_start(choice: &Choice) -> Option<String> {
    let rows = choice.curve.iter().filter_map(|row| Some((row, row.start_weighted_power_kw?.likely)));
    let (top, _) = rows.max_by(|a, b| a.1.total_cmp(&b.1))?;
    Some(format!(
        "The best is that of engines tuned to their limit. At the timing to start from power is highest at {}:1, of the ratios shown \
         and whatever the limits.",
        fixed(top.compression_ratio, 1)
    ))
}

/// Power at a ratio at the timing to start from and at the likely limit, to follow the ratio.
fn power_words(choice: &Choice, row: &RatioRow, units: Units) -> String {
    let decimals = output_decimals(units.power(row.weighted_power_kw.high));
    let words = |band: Band| show(band, |kw| fixed(units.power(kw), decimals)).join(" / ");
    let unit = units.power_unit();
    let start = row.start_weighted_power_kw.map_or_else(
        || "no timing to start from at some rpm".to_owned(),
        |band| format!("{} {unit} at the timing to start from, knock-free in 9 cases of 10", words(band)),
    );
    format!(
        ", {}: {start}; {} {unit} at the likely limit (low / likely / high, weighted over the fuels)",
        maximised(choice),
        words(row.weighted_power_kw)
    )
}

/// The highest ratio shown at which nine samples of ten keep the limits.
fn safer(choice: &Choice) -> String {
    let best = choice.best.as_ref().map_or(f64::INFINITY, |best| best.compression_ratio);
    let below = choice.curve.iter().rev().filter(|row| row.within_limits && row.compression_ratio < best);
    let safe = below.into_iter().find(|row| row.limits_kept_share.is_some_and(|share| share >= 0.9));
    safe.map_or_else(String::new, |row| format!("; 90 % or more do at {}:1", fixed(row.compression_ratio, 1)))
}

fn show(band: Band, text: impl Fn(f64) -> String) -> [String; 3] {
    [text(band.low), text(band.likely), text(band.high)]
}

/// A ratio with a mark at the best.
fn marked(choice: &Choice, row: &RatioRow) -> String {
    let is_best = choice.best.as_ref().is_some_and(|b| b.compression_ratio == row.compression_ratio);
    let decimals = if (row.compression_ratio * 10.0).fract().abs() < 1e-6 { 1 } else { 2 };
    format!("{}{}", fixed(row.compression_ratio, decimals), if is_best { "*" } else { " " })
}

fn over_ratio(choice: &Choice, units: Units) -> String {
    let mut out = "\nPower and limits over compression ratio (*: best, !: passes the limit)\n".to_owned();
    let mut columns = vec![Column::number("ratio ", "")];
    columns.extend(weighted_columns(units));
    let has_retard = choice.stood.limits.iter().any(|l| l.kind == LimitKind::Retard);
    // The reserve at the latest spark tells nothing while it is kept everywhere.
    let shown = |state: &LimitState| {
        state.kind != LimitKind::Reserve
            || choice
                .curve
                .iter()
                .flat_map(|row| &row.limits)
                .any(|l| l.kind == LimitKind::Reserve && !l.kept())
    };
    let first = choice.curve.first().into_iter().flat_map(|row| &row.limits);
    columns.extend(first.filter(|l| shown(l)).map(|l| {
        let (name, unit) = head(l.kind, units);
        Column::number(name, unit).under("worst blend, worst weather")
    }));
    if !has_retard {
        columns.push(Column::number("held back", "deg").under("worst blend, worst weather"));
    }
    columns.push(Column::number("limits", "kept").under("all"));
    if choice.curve.iter().any(|row| row.limits_kept_share.is_some()) {
        columns.push(Column::number("samples", "%").under("kept by"));
    }
    let mut table = Table::new(columns);
    for row in &choice.curve {
        let mut cells = vec![marked(choice, row)];
        cells.extend(weighted_cells(row, units));
        cells.extend(
            row.limits
                .iter()
                .filter(|state| shown(state))
                .map(|state| cell(state, units) + if state.kept() { " " } else { "!" }),
        );
        if !has_retard {
            cells.push(fixed(row.worst_retard_deg, 1));
        }
        cells.push(if row.within_limits { "yes" } else { "no" }.to_owned());
        cells.extend(row.limits_kept_share.map(|share| percent(share, 0)));
        table.row(cells);
    }
    out += &table.render();
    if choice.curve.iter().any(|row| row.limits_kept_share.is_some()) {
        let words = format!(
            "Limits of spark held back and torque given up: what {} % of the samples stay below{}. Kept by: share of samples that keep them.",
            percent(choice.stood.confidence, 0),
            if has_retard { "" } else { "; the degrees are those of the likely case" }
        );
        out += &wrap("  ", &words);
    }
    out
}

/// Columns of weighted power: its band at the timing to start from, and likely at the limit.
fn weighted_columns(units: Units) -> [Column; 4] {
    [("", "low"), ("start", "likely"), ("", "high"), ("limit", "likely")].map(|(timing, end)| {
        Column::number(timing, end).under(&format!("weighted power, {}", units.power_unit()))
    })
}

fn weighted_cells(row: &RatioRow, units: Units) -> Vec<String> {
    let mut cells = maybe_band_cells(row.start_weighted_power_kw, |kw| units.power(kw), 1).to_vec();
    cells.push(fixed(units.power(row.weighted_power_kw.likely), 1));
    cells
}

/// Likely power of each fuel at the timing to start from and at the limit, split where the fuels do not fit the width.
fn by_fuel(choice: &Choice, units: Units) -> String {
    let title = format!(
        "Likely wheel power by fuel, {}, at the timing to start from and at the likely limit (k: knock retards the limit somewhere)",
        units.power_unit()
    );
    let mut out = format!("\n{}", wrap("", &title));
    let at_once = (WIDTH - 10) / (HEAD_LIMIT + 8);
    for from in (0..choice.fuels.len()).step_by(at_once) {
        let to = (from + at_once).min(choice.fuels.len());
        let mut columns = vec![Column::number("ratio ", "")];
        for fuel in &choice.fuels[from..to] {
            let name = shorten(&fuel.name, HEAD_LIMIT);
            columns.extend(["start", "limit "].map(|timing| Column::number(timing, "").under(&name)));
        }
        let mut table = Table::new(columns);
        for row in &choice.curve {
            let mut cells = vec![marked(choice, row)];
            for i in from..to {
                let mark = if row.fuels[i].knock_limited() { "k" } else { " " };
                cells.push(maybe(row.start_power_kw[i].map(|band| units.power(band.likely)), 1));
                cells.push(fixed(units.power(row.power_kw[i].likely), 1) + mark);
            }
            table.row(cells);
        }
        out += &table.render();
    }
    out
}

fn half_steps(choice: &Choice) -> String {
    if choice.half_steps.is_empty() {
        return String::new();
    }
    let mut columns = vec![Column::words("fuel")];
    columns.extend(band_columns("0.5 less ratio, %"));
    columns.extend(band_columns("0.5 more ratio, %"));
    let mut table = Table::new(columns);
    let cells = |band: Option<Band>| match band {
        Some(band) => show(band, |change| signed(100.0 * change, 1)),
        None => ["-", "-", "-"].map(str::to_owned),
    };
    for step in &choice.half_steps {
        let mut row = vec![shorten(&step.fuel, NAME_LIMIT)];
        row.extend(cells(step.less_frac));
        row.extend(cells(step.more_frac));
        table.row(row);
    }
    format!(
        "\nWhat half a ratio from the best changes, power by fuel at the likely limit, limits ignored\n{}",
        table.render()
    )
}

fn pistons(choice: &Choice, units: Units) -> String {
    if choice.pistons.is_empty() {
        return String::new();
    }
    let mut columns = vec![Column::number("place", ""), Column::number("ratio ", "")];
    columns.extend(weighted_columns(units));
    columns.extend(band_columns("limit against the best, %"));
    columns.push(Column::words("limits"));
    let mut table = Table::new(columns);
    let mut notes = String::new();
    for piston in &choice.pistons {
        let mut cells = vec![piston.place.to_string(), marked(choice, &piston.row)];
        cells.extend(weighted_cells(&piston.row, units));
        cells.extend(match piston.against_best_frac {
            Some(band) => show(band, |change| signed(100.0 * change, 1)),
            None => ["-", "-", "-"].map(str::to_owned),
        });
        cells.push(if piston.row.within_limits { "kept" } else { "passed" }.to_owned());
        table.row(cells);
        for state in piston.row.limits.iter().filter(|state| !state.kept()) {
            let lead = format!("  {}:1 ", fixed(piston.row.compression_ratio, 2));
            notes += &wrap(&lead, &format!("{}.", passed(state, units)));
        }
    }
    format!("\nPistons that can be bought\n{}{notes}", table.render())
}

/// What choosing for one fuel costs on the others, split where the fuels do not fit the width.
fn regret(choice: &Choice, units: Units) -> String {
    if choice.fuels.len() < 2 {
        return String::new();
    }
    let title = "Power given up by choosing for one fuel and running another, % (!: passes a limit on that fuel in the likely case)";
    let mut out = format!("\n{}", wrap("", title));
    let at_once = (WIDTH - NAME_LIMIT - 14) / (HEAD_LIMIT + 3);
    for from in (0..choice.fuels.len()).step_by(at_once) {
        let to = (from + at_once).min(choice.fuels.len());
        let mut columns = vec![Column::words("chosen for"), Column::number("ratio", "")];
        columns.extend(choice.fuels[from..to].iter().map(|fuel| {
            Column::number(&format!("{} ", shorten(&fuel.name, HEAD_LIMIT)), "").under("run on")
        }));
        let mut table = Table::new(columns);
        choice.regret.iter().for_each(|row| table.row(regret_cells(row, from..to)));
        out += &table.render();
    }
    for row in &choice.regret {
        let worst = row.on.iter().filter_map(|on| on.passed).max_by(|a, b| a.excess.total_cmp(&b.excess));
        if let (Some(worst), Some(fuel)) = (worst, &row.chosen_for) {
            out += &wrap("  ", &format!("Chosen for {}: {}.", plain(fuel), passed(&worst, units)));
        }
    }
    out
}

fn regret_cells(row: &Regret, fuels: std::ops::Range<usize>) -> Vec<String> {
    let name = row.chosen_for.as_deref().unwrap_or("all, as weighted");
    let ratio = row.compression_ratio.map_or_else(|| "none".to_owned(), |ratio| fixed(ratio, 1));
    let mut cells = vec![shorten(name, NAME_LIMIT), ratio];
    for i in fuels {
        let on = row.on.get(i);
        let lost = on.and_then(|on| on.power_lost_frac).map(|lost| fixed(100.0 * lost, 1));
        let mark = if on.is_some_and(|on| on.passed.is_some()) { "!" } else { " " };
        cells.push(lost.unwrap_or_else(|| "-".to_owned()) + mark);
    }
    cells
}

fn out_of_limits(choice: &Choice, units: Units) -> String {
    if choice.out_of_limits.is_empty() {
        return String::new();
    }
    let mut out = "\nRatios that pass a limit, and what would mend it\n".to_owned();
    for part in &choice.out_of_limits {
        let span = format!("{} to {}", fixed(part.from_ratio, 2), fixed(part.to_ratio, 2));
        out += &wrap("  ", &format!("From {span}, at {}:1:", fixed(part.at_ratio, 2)));
        for failing in &part.failing {
            let state = &failing.state;
            let mut ways = Vec::new();
            if let Some(content) = failing.least_ethanol_vol_frac {
                ways.push(format!("fill no less than {} % ethanol", fixed((100.0 * content).ceil(), 0)));
            }
            ways.push(loosened(state, units));
            let ways = ways.join(", or ");
            out += &wrap("  - ", &format!("{}. To mend it there: {ways}.", passed(state, units)));
        }
        out += &match part.nearest_ratio {
            Some(ratio) => wrap("  - ", &format!("All limits are kept at {}:1.", fixed(ratio, 2))),
            None => wrap("  - ", "No ratio down to 6:1 keeps all limits."),
        };
    }
    out
}

/// Octane margin at best-torque spark, over ratio and content, at whole ratios where they suffice.
fn margin_map(choice: &Choice) -> String {
    let map = &choice.margin_map;
    let at_once = (WIDTH - 12) / 7;
    let step = map.compression_ratio.len().div_ceil(at_once).max(1);
    let columns: Vec<usize> = (0..map.compression_ratio.len()).step_by(step).collect();
    let heads = columns.iter().map(|i| Column::number(&fixed(map.compression_ratio[*i], 1), ""));
    let mut table = Table::new(std::iter::once(Column::number("ethanol, %", "")).chain(heads).collect());
    for (content, margins) in map.ethanol_vol_frac.iter().zip(&map.best_torque_octane_margin) {
        let mut cells = vec![percent(*content, 0)];
        cells.extend(columns.iter().map(|i| signed(margins[*i], 1)));
        table.row(cells);
    }
    let title = "Octane margin at best-torque spark over ratio and ethanol content, worst weather, tightest speed (below 0 the spark must be held back)";
    format!("\n{}{}", wrap("", title), table.render())
}
