//! Builds side by side as aligned text, the answer first.

use super::tables::{self, NAME_LIMIT};
use super::words;
use crate::estimate::compare::{BuildOnFuel, ComparedBuild, ComparedFuel, ComparedPoint};
use crate::estimate::{Comparison, Notice};
use crate::report::Units;
use crate::report::quantity::Dimension::{AirPressure, Temperature};
use crate::report::quantity::{fixed, percent};
use crate::report::screen::{Part, Text};
use crate::report::table::{head, heading, list, shorten, wrap};
use crate::report::words::{Say, cautions, said};

/// Most characters of the name of a scenario on its line.
const SCENARIO_LIMIT: usize = 50;

const CURVES: &str = "curves";
const UNCERTAINTY: &str = "uncertainty";

/// The parts of the text; a build by itself has more.
pub(super) const PARTS: &[Part] = &[
    Part { name: CURVES, shows: "peak torque, and wheel power over rpm" },
    Part { name: UNCERTAINTY, shows: "what the differences rest on" },
];

/// The whole text.
pub(super) fn render(c: &Comparison, units: Units) -> Text {
    let mut out = Text::limited_by(&c.limiting_fuel);
    out.screen(&header(c, units));
    out.screen(&missed(c, units));
    out.screen(&answer(c, units));
    for (i, build) in c.builds.iter().enumerate().skip(1) {
        let title = format!("{} against {}", short(&build.name), short(&c.builds[0].name));
        let findings = words::findings(c, i, units);
        out.screen(&list(&title, findings.iter().map(String::as_str)));
        out.screen(&list("What differs", what_differs(build, units).iter().map(String::as_str)));
    }
    out.screen(&list("Keep in mind", notices(c, units, false).iter().map(String::as_str)));
    out.cautions(cautions::ESTIMATE);
    out.part(CURVES, "Peak torque at the wheels", &tables::torque(units).text(tables::rows(c)));
    for fuel in &c.fuels {
        out.part_of_fuel(CURVES, &fuel.name, &curves(fuel, units));
    }
    out.part(UNCERTAINTY, "What the differences rest on", &basis(c, units));
    out
}

fn short(name: &str) -> String {
    shorten(name, NAME_LIMIT)
}

/// A line for each build, then what is the same for all.
fn header(c: &Comparison, units: Units) -> String {
    let first = short(&c.builds[0].name);
    let lines = c.builds.iter().map(|build| {
        let text = format!(
            "{}, {}, {}:1",
            shorten(&build.scenario, SCENARIO_LIMIT),
            units.displacement_words(build.displacement_m3),
            fixed(build.compression_ratio, 2)
        );
        wrap(&format!("{}: ", short(&build.name)), &text)
    });
    let others: Vec<String> =
        c.builds.iter().filter(|b| b.is_weather_replaced).map(|b| short(&b.name)).collect();
    let replaced = match others.len() {
        0 => String::new(),
        _ => format!(" (stated otherwise in {})", others.join(", ")),
    };
    let fuels = if c.has_fuels_of_first { format!("; fuels and mixtures of {first}") } else { String::new() };
    let all = format!(
        "{}, {}, {} % humidity{replaced}{fuels}",
        units.words(Temperature, c.air_temperature_k),
        units.words(AirPressure, c.air_pressure_pa),
        percent(c.relative_humidity, 0)
    );
    lines.collect::<String>() + &wrap("All builds: ", &all)
}

/// Limits of the scenarios that are not met.
fn missed(c: &Comparison, units: Units) -> String {
    let over = c.builds.iter().flat_map(|build| {
        build.notices.iter().filter(|notice| notice.is_limit()).map(move |notice| (build, notice))
    });
    over.map(|(build, notice)| wrap(&format!("WARNING: {}: ", short(&build.name)), &notice.say(units)))
        .collect()
}

fn answer(c: &Comparison, units: Units) -> String {
    let mut out = "\n".to_owned() + &tables::power(units).text(tables::rows(c)) + "\n";
    out += &tables::timing(units).text(tables::rows(c));
    out + &wrap(
        "  ",
        "Differences are from the first build, case by case: their range is not that of the figures. More in: cases in which \
         it makes more. * Knock sets the limit, not MBT. Power is uncorrected.",
    )
}

/// In what a build differs, a line each.
fn what_differs(build: &ComparedBuild, units: Units) -> Vec<String> {
    match build.differences.is_empty() {
        true => vec!["nothing that the estimate uses".to_owned()],
        false => said(&build.differences, units),
    }
}

/// Findings on the builds by name, the same one of several builds once.
fn notices(c: &Comparison, units: Units, of_the_range: bool) -> Vec<String> {
    let mut found: Vec<(String, Vec<String>)> = Vec::new();
    for build in &c.builds {
        let is_asked = |notice: &&Notice| !notice.is_limit() && notice.is_of_the_range() == of_the_range;
        for notice in build.notices.iter().filter(is_asked) {
            let words = notice.say(units);
            match found.iter_mut().find(|(said, _)| *said == words) {
                Some((_, builds)) => builds.push(short(&build.name)),
                None => found.push((words, vec![short(&build.name)])),
            }
        }
    }
    let line = |(words, builds): (String, Vec<String>)| match builds.len() == c.builds.len() {
        true => words,
        false => format!("{}: {words}", builds.join(", ")),
    };
    found.into_iter().map(line).collect()
}

/// Wheel power of each build beside the first.
fn curves(fuel: &ComparedFuel, units: Units) -> String {
    let [first, others @ ..] = &fuel.builds[..] else { return String::new() };
    let table = |build: &BuildOnFuel| {
        let title = format!("{}: {} against {}", fuel.name, short(&build.build), short(&first.build));
        let of_first = |point: &ComparedPoint| first.curve.iter().find(|p| p.speed_rpm == point.speed_rpm);
        let rows = build.curve.iter().map(|point| (of_first(point), point));
        heading(&title) + &tables::beside(&first.build, &build.build, units).text(rows)
    };
    others.iter().map(table).collect()
}

/// What cancels in the differences, and what the figures rest on.
fn basis(c: &Comparison, units: Units) -> String {
    let samples = format!(
        "{}, seed {}; low and high are the 10th and 90th percentile, likely the 50th",
        c.samples, c.seed
    );
    let shared = c.builds.iter().skip(1).map(|build| wrap("  - ", &words::shared(c, build)));
    let notes = c
        .builds
        .iter()
        .filter(|build| !build.note.is_empty())
        .map(|build| wrap("  - ", &format!("{}: {}", short(&build.name), build.note)));
    let range = notices(c, units, true);
    let range = range.iter().map(|line| wrap("  - ", line));
    head(&[("Samples", samples.as_str())]) + &shared.chain(notes).chain(range).collect::<String>()
}
