//! A choice of compression as aligned text, the answer first.

use super::answer::{no_order_lines, order_lines};
use super::conditions;
use super::words::{cell, contents_words, head, ignition_words, limits, loosened, maximised, over, ratio};
use crate::choose::LimitKind;
use crate::choose::result::{Choice, RatioRow, Regret};
use crate::estimate::Band;
use crate::report::Units;
use crate::report::quantity::{fixed, percent, signed};
use crate::report::table::{Column, Table, WIDTH, band_columns, plain, shorten, wrap};
use crate::report::text::list;

/// Most characters of a fuel name at the head of a column and in a row.
const HEAD_LIMIT: usize = 12;
const NAME_LIMIT: usize = 24;

/// The whole text report.
pub(super) fn render(choice: &Choice, units: Units) -> String {
    let mut out = answer(choice, units);
    out += &header(choice, units);
    out += &conditions::service(choice, units);
    out += &conditions::sensitivity(choice, units);
    out += &conditions::ignitions(choice, units);
    out += &over_ratio(choice, units);
    out += &by_fuel(choice, units);
    out += &half_steps(choice);
    out += &pistons(choice, units);
    out += &regret(choice, units);
    out += &out_of_limits(choice, units);
    out += &margin_map(choice);
    out += &list("Notes", choice.notices.iter().map(String::as_str));
    out += &list("Cautions", choice.cautions.iter().copied());
    out
}

fn answer(choice: &Choice, units: Units) -> String {
    let lines = match &choice.order {
        Some(order) => order_lines(choice, order, units),
        None => no_order_lines(choice),
    };
    let mut out = "Answer\n".to_owned();
    out.extend(lines.iter().map(|line| wrap("  ", line)));
    out + "\n"
}

fn header(choice: &Choice, units: Units) -> String {
    let stood = &choice.stood;
    let weights: Vec<String> = choice
        .fuels
        .iter()
        .map(|fuel| format!("{} {} %", shorten(&fuel.name, NAME_LIMIT), percent(fuel.share, 0)))
        .collect();
    let blends = format!("{} with {}", plain(&stood.base), contents_words(stood));
    let range = format!(
        "{} to {}; the scenario's own is {}",
        ratio(choice.lowest_ratio),
        ratio(choice.highest_ratio),
        fixed(choice.scenario_compression_ratio, 2)
    );
    let rows = [
        ("Scenario", choice.scenario.clone()),
        ("Note", choice.note.clone()),
        ("Power", format!("{}, weighted {}", maximised(choice), weights.join(", "))),
        ("Ratios", range),
        ("Ignition", ignition_words(choice.ignition.ignition).to_owned()),
        ("Runs on", blends),
        ("Limits", limits(stood, units)),
        ("Samples", format!("{}, seed {}", choice.samples, choice.seed)),
    ];
    rows.into_iter()
        .filter(|(_, text)| !plain(text).is_empty())
        .map(|(name, text)| wrap(&format!("{name:<11}"), &text))
        .collect()
}

fn show(band: Band, text: impl Fn(f64) -> String) -> [String; 3] {
    [text(band.low), text(band.likely), text(band.high)]
}

/// A ratio with a mark at the ordered one.
fn marked(choice: &Choice, row: &RatioRow) -> String {
    let is_order = choice.order.as_ref().is_some_and(|o| o.compression_ratio == row.compression_ratio);
    ratio(row.compression_ratio) + if is_order { "*" } else { " " }
}

/// Whether a limit is shown: the reserve at the latest timing tells nothing while it is kept everywhere.
fn is_shown(choice: &Choice, kind: LimitKind) -> bool {
    let states = choice.curve.iter().flat_map(|row| &row.limits);
    kind != LimitKind::Reserve || states.into_iter().any(|l| l.kind == LimitKind::Reserve && !l.kept())
}

fn over_ratio(choice: &Choice, units: Units) -> String {
    let title = "Power as fitted and limits over compression ratio (*: order, !: over the limit)";
    let mut columns = vec![Column::number("ratio ", "")];
    let power = format!("weighted power, {}", units.power_unit());
    columns.extend(["low", "likely", "high"].map(|end| Column::number(end, "").under(&power)));
    let first = choice.curve.first().into_iter().flat_map(|row| &row.limits);
    columns.extend(first.filter(|l| is_shown(choice, l.kind)).map(|l| {
        let (name, unit) = head(l.kind, units);
        Column::number(name, unit).under("worst tank, service conditions")
    }));
    columns.push(Column::number("limits", "within"));
    let mut table = Table::new(columns);
    for row in &choice.curve {
        let mut cells = vec![marked(choice, row)];
        cells.extend(show(row.fitted_weighted_power_kw, |kw| fixed(units.power(kw), 1)));
        let states = row.limits.iter().filter(|state| is_shown(choice, state.kind));
        cells.extend(states.map(|state| cell(state, units) + if state.kept() { " " } else { "!" }));
        cells.push(if row.within_limits { "yes" } else { "no" }.to_owned());
        table.row(cells);
    }
    format!("\n{}{}", wrap("", title), table.render())
}

/// Likely power of each fuel as fitted and at the knock limit, split where the fuels do not fit the width.
fn by_fuel(choice: &Choice, units: Units) -> String {
    let title = format!(
        "Likely wheel power by fuel, {}, as fitted and at each fuel's own knock limit (k: knock retards the limit somewhere)",
        units.power_unit()
    );
    let mut out = format!("\n{}", wrap("", &title));
    let at_once = (WIDTH - 10) / (HEAD_LIMIT + 8);
    for from in (0..choice.fuels.len()).step_by(at_once) {
        let to = (from + at_once).min(choice.fuels.len());
        let mut columns = vec![Column::number("ratio ", "")];
        for fuel in &choice.fuels[from..to] {
            let name = shorten(&fuel.name, HEAD_LIMIT);
            columns.extend(["fitted", "limit "].map(|timing| Column::number(timing, "").under(&name)));
        }
        let mut table = Table::new(columns);
        for row in &choice.curve {
            let mut cells = vec![marked(choice, row)];
            for i in from..to {
                let mark = if row.fuels[i].knock_limited() { "k" } else { " " };
                cells.push(fixed(units.power(row.fitted_power_kw[i].likely), 1));
                cells.push(fixed(units.power(row.power_kw[i].likely), 1) + mark);
            }
            table.row(cells);
        }
        out += &table.render();
    }
    out
}

/// The three ends of a change in per cent; dashes without one.
fn change_cells(band: Option<Band>) -> [String; 3] {
    match band {
        Some(band) => show(band, |change| signed(100.0 * change, 1)),
        None => ["-", "-", "-"].map(str::to_owned),
    }
}

fn half_steps(choice: &Choice) -> String {
    if choice.half_steps.is_empty() {
        return String::new();
    }
    let mut columns = vec![Column::words("fuel")];
    columns.extend(band_columns("0.5 less ratio, %"));
    columns.extend(band_columns("0.5 more ratio, %"));
    let mut table = Table::new(columns);
    for step in &choice.half_steps {
        let mut row = vec![shorten(&step.fuel, NAME_LIMIT)];
        row.extend(change_cells(step.less_frac));
        row.extend(change_cells(step.more_frac));
        table.row(row);
    }
    format!(
        "\nWhat half a ratio from the order changes, power by fuel as fitted, limits ignored\n{}",
        table.render()
    )
}

fn pistons(choice: &Choice, units: Units) -> String {
    if choice.pistons.is_empty() {
        return String::new();
    }
    let mut columns = vec![Column::number("rank", ""), Column::number("ratio ", "")];
    let power = format!("weighted power, {}", units.power_unit());
    columns.extend(["low", "likely", "high"].map(|end| Column::number(end, "").under(&power)));
    columns.extend(band_columns("against the order, %"));
    columns.push(Column::words("limits"));
    let mut table = Table::new(columns);
    let mut notes = String::new();
    for piston in &choice.pistons {
        let mut cells = vec![piston.place.to_string(), marked(choice, &piston.row)];
        cells.extend(show(piston.row.fitted_weighted_power_kw, |kw| fixed(units.power(kw), 1)));
        cells.extend(change_cells(piston.against_order_frac));
        cells.push(if piston.row.within_limits { "within" } else { "OVER THE LIMIT" }.to_owned());
        table.row(cells);
        for state in piston.row.limits.iter().filter(|state| !state.kept()) {
            let lead = format!("  {}:1 ", fixed(piston.row.compression_ratio, 2));
            notes += &wrap(&lead, &format!("{}.", over(state, units)));
        }
    }
    format!("\nOff-the-shelf pistons\n{}{notes}", table.render())
}

/// What choosing for one fuel costs on the others, split where the fuels do not fit the width.
fn regret(choice: &Choice, units: Units) -> String {
    if choice.fuels.len() < 2 {
        return String::new();
    }
    let title = "Power lost by choosing for one fuel and running another, % (!: over a limit on that fuel)";
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
            out += &wrap("  ", &format!("Chosen for {}: {}.", plain(fuel), over(&worst, units)));
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
    let mut out = "\nRatios over a limit, and what would fix it\n".to_owned();
    for part in &choice.out_of_limits {
        let span = format!("{} to {}", fixed(part.from_ratio, 2), fixed(part.to_ratio, 2));
        out += &wrap("  ", &format!("From {span}, taken at {}:1:", fixed(part.at_ratio, 2)));
        for failing in &part.failing {
            let state = &failing.state;
            let mut ways = Vec::new();
            if let Some(content) = failing.least_ethanol_vol_frac {
                ways.push(format!("fill no less than {} % ethanol", fixed((100.0 * content).ceil(), 0)));
            }
            ways.push(loosened(state, units));
            out +=
                &wrap("  - ", &format!("{}. To fix it there: {}.", over(state, units), ways.join(", or ")));
        }
        out += &match part.nearest_ratio {
            Some(found) => wrap("  - ", &format!("All limits are met at {}:1.", fixed(found, 2))),
            None => wrap("  - ", "No ratio down to 6:1 is within all limits."),
        };
    }
    out
}

/// Knock margin at MBT timing, over ratio and content, at whole ratios where they suffice.
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
    let title = "Knock margin at MBT timing over ratio and ethanol content, octane numbers, service conditions, worst rpm (below 0 timing has to be pulled)";
    format!("\n{}{}", wrap("", title), table.render())
}
