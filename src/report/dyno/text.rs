//! The judgement for a person.

use super::super::Units;
use super::super::columns::Columns;
use super::super::quantity::{fixed, percent};
use super::super::screen::{Part, Text};
use super::super::table::{heading, list, plain, shorten, wrap};
use super::{Fitting, curve, words};
use crate::dyno::{
    Bump, Check, Interval, Judgement, Measure, PullSummary, Said, SplitBy, Subject, SubjectVerdict,
};
use crate::report::quantity::Dimension::{AirPressure, Power, Pure, Temperature, Torque};
use crate::report::words::Say as _;

/// Most characters of a name.
const NAME_LIMIT: usize = 60;

const FIT: &str = "fit";
const CURVES: &str = "curves";
const CHECKS: &str = "checks";
const KNOCK: &str = "knock";
const LOG: &str = "log";

/// The parts of the text.
pub(super) const PARTS: &[Part] = &[
    Part { name: CURVES, shows: "measured against the estimate, and what it implies, over rpm" },
    Part { name: CHECKS, shows: "every check with its number and limits, and what was not checked" },
    Part { name: FIT, shows: "what the fit found, with --fit" },
    Part { name: KNOCK, shows: "knock points of the log, to paste into the scenario" },
    Part { name: LOG, shows: "how the log was read" },
];

/// The whole report.
pub(super) fn render(j: &Judgement, fitting: &Fitting<'_>, units: Units) -> Text {
    let mut out = Text::default();
    out.screen(&wrap("", &words::summary(j)));
    out.screen(&("\n".to_owned() + &head(j, units)));
    let why: Vec<String> = words::failing(j).into_iter().map(|found| finding(j, found, units)).collect();
    out.screen(&list("Why", why.iter().map(String::as_str)));
    let dips: Vec<String> = j.dips.iter().map(dip).collect();
    out.screen(&list("Dips and humps, what may make them", dips.iter().map(String::as_str)));
    if words::failing(j).iter().any(|found| found.subject == Subject::Curve) {
        out.screen(&list("What may be wrong, most likely first", causes(j).iter().map(String::as_str)));
    }
    out.screen(&(heading("Pulls, uncorrected") + &pulls(j, units)));
    super::fit::render(j, fitting, units, FIT, &mut out);
    let mut notes: Vec<String> = j.notes.iter().map(|note| words::note(note, units)).collect();
    notes.extend(j.knock.as_ref().map(|_| format!("The log holds timing and knock: see part \"{KNOCK}\".")));
    out.screen(&list("Notes", notes.iter().map(String::as_str)));
    out.cautions(&words::CAUTIONS);
    let title = format!("Measured against the estimate (low, likely, high), {}, uncorrected", j.place.at());
    out.part(CURVES, &title, &curve::measured(j, units));
    out.part(CURVES, "What it implies", &curve::implied(j, units));
    out.part(CHECKS, "Checks", &checks(j, units));
    out.part(CHECKS, "Why, and from what limits", &limits(j, units));
    let skipped = j.not_checked.iter().map(|skipped| {
        wrap("  - ", &format!("{}: {}.", words::check_title(skipped.name), words::lack(skipped)))
    });
    out.part(CHECKS, "Not checked", &skipped.collect::<String>());
    super::knock::render(j, KNOCK, &mut out);
    out.part(LOG, "How the log was read", &read(j));
    out
}

/// Columns that are used, and those that are not.
fn read(j: &Judgement) -> String {
    let used: Vec<String> = j
        .columns
        .iter()
        .map(|c| format!("{:?} as {} in {}", c.heading, c.quantity.key(), c.unit).replace(" in -", ""))
        .collect();
    let mut out = wrap("  - ", &format!("Columns: {}.", used.join("; ")));
    if !j.ignored_columns.is_empty() {
        let ignored: Vec<String> = j.ignored_columns.iter().map(|c| format!("{c:?}")).collect();
        out += &wrap("  - ", &format!("Not used: {}.", ignored.join(", ")));
    }
    out
}

fn said(by: Said) -> &'static str {
    match by {
        Said::Option => "by option",
        Said::Comment => "by a comment of the log",
        Said::Line => "by a line above the table",
        Said::Header => "by a heading of the log",
        Said::Nobody => "not stated",
    }
}

fn head(j: &Judgement, units: Units) -> String {
    let split = match j.split_by {
        SplitBy::OnePull => "one pull".to_owned(),
        SplitBy::Column => format!("{} pulls, told apart by a column", j.pulls.len()),
        SplitBy::SideBySide => format!("{} pulls, from columns side by side", j.pulls.len()),
        SplitBy::BlankLine => format!("{} pulls, told apart by blank lines", j.pulls.len()),
        SplitBy::File => format!("{} pulls of several files", j.pulls.len()),
        SplitBy::SpeedFalls => format!("{} pulls, told apart where rpm falls back", j.pulls.len()),
    };
    let corrected = match j.corrected_by {
        None => format!("as measured ({})", said(j.corrected_said)),
        Some(standard) => format!(
            "corrected to {standard} ({}), corrected back to observed by {}",
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
    let figures = format!("{} ({}), {corrected}", j.place.at(), said(j.place_said));
    [
        ("Scenario   ", shorten(&j.scenario, NAME_LIMIT)),
        ("Log        ", format!("{}: {split}", shorten(&j.log, NAME_LIMIT))),
        ("Figures    ", figures),
        ("Fuel       ", plain(&j.fuel)),
        ("Weather    ", day),
    ]
    .map(|(lead, text)| wrap(lead, &text))
    .concat()
}

fn pulls(j: &Judgement, units: Units) -> String {
    let mut c = Columns::<&PullSummary>::new(units);
    c.words("pull", |pull| pull.name.clone()).at_most(20);
    c.number("rows", Pure, |pull| pull.rows as f64);
    c.cells("lines", |pull| format!("{} to {}", pull.first_line, pull.last_line));
    c.cells("from to", |pull| format!("{} to {}", fixed(pull.from_rpm, 0), fixed(pull.to_rpm, 0)))
        .below("rpm");
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

/// A finding: the reason of its worst check, and the other checks that say the same.
fn finding(j: &Judgement, found: &SubjectVerdict, units: Units) -> String {
    let verdict = words::verdict(found.verdict).to_lowercase();
    let lead = format!("{} ({verdict})", words::subject(found.subject));
    let mut checks = words::checks_of(j, found);
    let Some(worst) = checks.next() else { return lead };
    let others: Vec<&str> = checks.map(|check| words::check_title(check.name)).collect();
    let also = match others.join(", ") {
        others if others.is_empty() => String::new(),
        others => format!(" The same by {others}: see part \"{CHECKS}\"."),
    };
    let look_at = match found.subject {
        Subject::Curve | Subject::Dips => String::new(),
        _ => format!(" Look at: {}", words::look_at(worst)),
    };
    let title = match found.subject {
        Subject::Dips => String::new(),
        _ => format!(", {}", words::check_title(worst.name)),
    };
    format!("{lead}{title}: {}{look_at}{also}", words::reason(worst, units))
}

/// A dip or hump with what may make it.
fn dip(bump: &Bump) -> String {
    let what = if bump.is_dip() { "Dip" } else { "Hump" };
    format!("{what} at {:.0} rpm: {}.", bump.at_rpm, words::local_causes(bump))
}

/// The likeliest causes, and how likely it is that there is none.
fn causes(j: &Judgement) -> Vec<String> {
    let mut lines = words::ranked_causes(j);
    lines.push(format!(
        "The shares weigh the numbers and how often such things go wrong in shops (a judgement). That nothing is wrong but chance: {}.",
        percent(j.nothing_wrong_share, 0) + " %"
    ));
    lines
}

/// Every check that is not consistent, worst first, with its reason and what to look at.
fn reasons(j: &Judgement, units: Units) -> Vec<String> {
    failing(j)
        .map(|check| {
            format!(
                "{} ({}): {} Look at: {}",
                words::check_title(check.name),
                words::verdict(check.verdict).to_lowercase(),
                words::reason(check, units),
                words::look_at(check)
            )
        })
        .collect()
}

/// The checks that are not consistent, subject by subject.
fn failing(j: &Judgement) -> impl Iterator<Item = &Check> {
    words::failing(j).into_iter().flat_map(|found| words::checks_of(j, found))
}

/// The same with what the number is, and where its limits come from.
fn limits(j: &Judgement, units: Units) -> String {
    let lines = reasons(j, units).into_iter().zip(failing(j)).map(|(reason, check)| {
        let (number, source) = (words::what(check), words::source(check.name, units));
        wrap("  - ", &format!("{reason} Number: {number}. Limits: {source}."))
    });
    lines.collect::<String>() + &wrap("  ", "Reason, limits and source of every check stand in the JSON.")
}
