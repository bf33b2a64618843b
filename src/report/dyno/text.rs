//! The judgement for a person.

use super::super::Units;
use super::super::quantity::{fixed, output_decimals, percent, signed};
use super::super::table::{Column, Table, band_columns, plain, shorten, wrap};
use super::{Fitting, words};
use crate::dyno::{Interval, Judgement, Said, SplitBy, Verdict};
use crate::report::words::Say as _;

/// Most characters of a name.
const NAME_LIMIT: usize = 60;

/// The whole report.
pub(super) fn render(j: &Judgement, fitting: &Fitting<'_>, units: Units) -> String {
    let mut out = wrap("", &words::summary(j));
    out.push('\n');
    out += &head(j, units);
    out += &super::fit::render(j, fitting, units);
    out += "\nPulls, of the day\n";
    out += &pulls(j, units);
    out += &format!(
        "\nMeasured against the estimate (low, likely, high), at the {}, of the day\n",
        j.place.word()
    );
    out += &curve(j, units);
    out += "\nWhat it implies\n";
    out += &implied(j, units);
    out += "\nChecks\n";
    out += &checks(j, units);
    out += &reasons(j, units);
    if !j.not_checked.is_empty() {
        out += "\nNot checked\n";
        for skipped in &j.not_checked {
            out += &wrap("  - ", &format!("{}: {}.", words::check_title(skipped.name), words::lack(skipped)));
        }
    }
    out += &super::knock::render(j);
    out += "\nNotes\n";
    let used: Vec<String> = j
        .columns
        .iter()
        .map(|c| format!("{:?} as {} in {}", c.heading, c.quantity.key(), c.unit).replace(" in -", ""))
        .collect();
    out += &wrap("  - ", &format!("Columns: {}.", used.join("; ")));
    if !j.ignored_columns.is_empty() {
        let ignored: Vec<String> = j.ignored_columns.iter().map(|c| format!("{c:?}")).collect();
        out += &wrap("  - ", &format!("Not used: {}.", ignored.join(", ")));
    }
    out.extend(j.notes.iter().map(|note| wrap("  - ", &words::note(note, units))));
    out += "\nCautions\n";
    out.extend(words::CAUTIONS.map(|line| wrap("  - ", line)));
    out
}

fn said(by: Said) -> &'static str {
    match by {
        Said::Option => "by option",
        Said::Comment => "by a comment of the log",
        Said::Header => "by a heading of the log",
        Said::Nobody => "not stated",
    }
}

fn head(j: &Judgement, units: Units) -> String {
    let split = match j.split_by {
        SplitBy::OnePull => "one pull".to_owned(),
        SplitBy::Column => format!("{} pulls, told apart by a column", j.pulls.len()),
        SplitBy::BlankLine => format!("{} pulls, told apart by blank lines", j.pulls.len()),
        SplitBy::File => format!("{} pulls of several files", j.pulls.len()),
        SplitBy::SpeedFalls => format!("{} pulls, told apart where speed falls back", j.pulls.len()),
    };
    let corrected = match j.corrected_by {
        None => format!("as measured ({})", said(j.corrected_said)),
        Some(standard) => format!(
            "corrected to {standard} ({}) and divided by {} to be those of the day",
            said(j.corrected_said),
            fixed(j.divided_by, 3)
        ),
    };
    let outside = j.standard_outside.as_ref().map(|why| format!("; outside its range: {}", why.say(units)));
    let day = format!(
        "{}, {}, {} % relative humidity; {} factor {}{}",
        units.temperature_words(j.air_temperature_k),
        units.air_pressure_words(j.air_pressure_pa),
        percent(j.relative_humidity, 0),
        j.standard,
        fixed(j.standard_factor, 3),
        outside.unwrap_or_default()
    );
    let figures = format!("at the {} ({}), {corrected}", j.place.word(), said(j.place_said));
    [
        ("Scenario   ", shorten(&j.scenario, NAME_LIMIT)),
        ("Log        ", format!("{}: {split}", shorten(&j.log, NAME_LIMIT))),
        ("Figures    ", figures),
        ("Fuel       ", plain(&j.fuel)),
        ("Day        ", day),
    ]
    .map(|(lead, text)| wrap(lead, &text))
    .concat()
}

fn pulls(j: &Judgement, units: Units) -> String {
    let mut table = Table::new(vec![
        Column::words("pull"),
        Column::number("rows", ""),
        Column::number("lines", ""),
        Column::number("speed", "rpm"),
        Column::number("peak torque", units.torque_unit()),
        Column::number("peak power", units.power_unit()),
    ]);
    for pull in &j.pulls {
        table.row(vec![
            shorten(&pull.name, 20),
            format!("{}", pull.rows),
            format!("{} to {}", pull.first_line, pull.last_line),
            format!("{} to {}", fixed(pull.from_rpm, 0), fixed(pull.to_rpm, 0)),
            fixed(units.torque(pull.peak_torque_nm), 0),
            fixed(units.power(pull.peak_power_kw), 0),
        ]);
    }
    table.render()
}

fn curve(j: &Judgement, units: Units) -> String {
    let torque = format!("torque, {}", units.torque_unit());
    let power = format!("measured power, {}", units.power_unit());
    let mut columns = vec![Column::number("speed", "rpm"), Column::number("measured", "").under(&torque)];
    columns.extend(band_columns(&torque));
    columns.extend([
        Column::number("off likely", "%"),
        Column::number("of the day", "").under(&power),
        Column::number(&format!("by {}", short(j.standard)), "").under(&power),
    ]);
    if j.pulls.len() > 1 {
        columns.push(Column::number("differ", "%"));
    }
    let mut table = Table::new(columns);
    let largest = j.curve.iter().map(|p| p.torque_nm).fold(0.0, f64::max);
    let decimals = output_decimals(units.torque(largest));
    for p in &j.curve {
        let mut cells = vec![
            fixed(p.speed_rpm, 0),
            fixed(units.torque(p.torque_nm), decimals),
            fixed(units.torque(p.estimate_low_torque_nm), decimals),
            fixed(units.torque(p.estimate_likely_torque_nm), decimals),
            fixed(units.torque(p.estimate_high_torque_nm), decimals),
            signed(100.0 * p.deviation_frac, 0),
            fixed(units.power(p.power_kw), 0),
            fixed(units.power(p.corrected_power_kw), 0),
        ];
        if j.pulls.len() > 1 {
            cells.push(percent(p.pull_spread_frac, 1));
        }
        table.row(cells);
    }
    table.render()
}

/// Name of a standard without what stands in brackets.
fn short(standard: &str) -> &str {
    standard.split(" (").next().unwrap_or(standard)
}

fn implied(j: &Judgement, units: Units) -> String {
    let filling = "volumetric efficiency";
    let mut columns = vec![
        Column::number("speed", "rpm"),
        Column::number("crank torque", units.torque_unit()),
        Column::number("BMEP", units.pressure_unit()),
        Column::number("implied", "").under(filling),
        Column::number("estimated", "").under(filling),
    ];
    let has_lambda = j.curve.iter().any(|p| p.lambda.is_some());
    let has_flow = j.curve.iter().any(|p| p.bsfc_g_per_kwh.is_some());
    if has_lambda {
        columns.push(Column::number("logged lambda", "-"));
    }
    if has_flow {
        columns.push(Column::number("BSFC", units.bsfc_unit()));
    }
    let mut table = Table::new(columns);
    for p in &j.curve {
        let mut cells = vec![
            fixed(p.speed_rpm, 0),
            fixed(units.torque(p.implied_crank_torque_nm), 0),
            fixed(units.pressure(p.implied_bmep_bar), units.mep_decimals()),
            p.implied_volumetric_efficiency.map_or("none".to_owned(), |ve| fixed(ve, 2)),
            fixed(p.estimate_volumetric_efficiency, 2),
        ];
        if has_lambda {
            cells.push(p.lambda.map_or(String::new(), |lambda| fixed(lambda, 2)));
        }
        if has_flow {
            let shown = |g: f64| fixed(units.bsfc(g), units.bsfc_decimals());
            cells.push(p.bsfc_g_per_kwh.map_or(String::new(), shown));
        }
        table.row(cells);
    }
    table.render()
}

fn interval(interval: Interval, factor: f64, decimals: usize) -> String {
    let end = |value: f64| fixed(value * factor, decimals);
    match (interval.low, interval.high) {
        (Some(low), Some(high)) => format!("{} to {}", end(low), end(high)),
        (Some(low), None) => format!("{} or more", end(low)),
        (None, Some(high)) => format!("up to {}", end(high)),
        (None, None) => "any".to_owned(),
    }
}

fn checks(j: &Judgement, units: Units) -> String {
    let mut table = Table::new(vec![
        Column::words("check"),
        Column::words("verdict"),
        Column::number("number", ""),
        Column::words("unit"),
        Column::number("consistent", ""),
        Column::number("credible", ""),
    ]);
    for check in &j.checks {
        let m = &check.measure;
        let (unit, decimals, factor) = words::unit(check.name, units);
        table.row(vec![
            words::check_title(check.name).to_owned(),
            words::verdict(check.verdict).to_lowercase(),
            fixed(m.value * factor, decimals),
            unit.to_owned(),
            interval(m.consistent, factor, decimals),
            interval(m.credible, factor, decimals),
        ]);
    }
    table.render()
}

/// Every check that is not consistent, worst first, with its reason, its limits and what to look at.
fn reasons(j: &Judgement, units: Units) -> String {
    let mut out = String::new();
    for verdict in [Verdict::NotCredible, Verdict::Doubtful] {
        let found = words::of_verdict(j, verdict);
        if !found.is_empty() {
            out += &format!("\n{}\n", words::verdict(verdict));
        }
        for check in found {
            let text = format!(
                "{}: {} Look at: {} Number: {}. Limits: {}.",
                words::check_title(check.name),
                words::reason(check, units),
                words::look_at(check),
                words::what(check),
                words::source(check.name, units)
            );
            out += &wrap("  - ", &text);
        }
    }
    out += "\n";
    out + &wrap("", "Reason, limits and their source of every check: --format json.")
}
