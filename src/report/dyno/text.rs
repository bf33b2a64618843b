//! The judgement for a person.

use super::super::Units;
use super::super::columns::Columns;
use super::super::quantity::{fixed, percent};
use super::super::table::{plain, shorten, wrap};
use super::{Fitting, curve, words};
use crate::dyno::{Check, Interval, Judgement, Measure, PullSummary, Said, SplitBy, Verdict};
use crate::report::quantity::Dimension::{AirPressure, Power, Pure, Temperature, Torque};
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
    out += &curve::measured(j, units);
    out += "\nWhat it implies\n";
    out += &curve::implied(j, units);
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
        units.words(Temperature, j.air_temperature_k),
        units.words(AirPressure, j.air_pressure_pa),
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
    let mut c = Columns::<&PullSummary>::new(units);
    c.words("pull", |pull| pull.name.clone()).at_most(20);
    c.number("rows", Pure, |pull| pull.rows as f64);
    c.cells("lines", |pull| format!("{} to {}", pull.first_line, pull.last_line));
    c.cells("speed", |pull| format!("{} to {}", fixed(pull.from_rpm, 0), fixed(pull.to_rpm, 0))).below("rpm");
    c.number("peak torque", Torque, |pull| pull.peak_torque_nm);
    c.number("peak power", Power, |pull| pull.peak_power_kw);
    c.text(&j.pulls)
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
    let mut c = Columns::<&Check>::new(units);
    let unit = move |check: &Check| words::unit(check.name, units);
    c.words("check", |check| words::check_title(check.name).to_owned());
    c.words("verdict", |check| words::verdict(check.verdict).to_lowercase());
    c.cells("number", move |check| {
        let (_, decimals, factor) = unit(check);
        fixed(check.measure.value * factor, decimals)
    });
    c.words("unit", move |check| unit(check).0.to_owned());
    for (head, limits) in
        [("consistent", (|m| m.consistent) as fn(&Measure) -> Interval), ("credible", |m| m.credible)]
    {
        c.cells(head, move |check| {
            let (_, decimals, factor) = unit(check);
            interval(limits(&check.measure), factor, decimals)
        });
    }
    c.text(&j.checks)
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
