//! What a comparison says of a build: what it makes more or less, where over rpm, and how well that is known.

use super::tables::NAME_LIMIT;
use crate::estimate::Comparison;
use crate::estimate::compare::{
    BuildOnFuel, ComparedBuild, ComparedFuel, ComparedPoint, Difference, Finding,
};
use crate::estimate::uncertainty::Input;
use crate::report::Units;
use crate::report::quantity::Dimension::Power;
use crate::report::quantity::{fixed, signed};
use crate::report::table::shorten;

/// The findings on one build against the first: power on every fuel, knock margin and rpm on the fuel that limits, and how well
/// the difference is known.
///
/// # Arguments
/// - `index`: place of the build, not the first
pub(super) fn findings(c: &Comparison, index: usize, units: Units) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for finding in [Finding::More, Finding::Less, Finding::NotMeasurable, Finding::TooCloseToCall] {
        let of = |fuel: &'_ ComparedFuel| {
            let difference = fuel.builds[index].power_difference_kw.filter(|d| d.finding == finding)?;
            Some((fuel.name.clone(), difference))
        };
        let on: Vec<(String, Difference)> = c.fuels.iter().filter_map(of).collect();
        if !on.is_empty() {
            let who = match on.len() {
                n if n == c.fuels.len() && n > 1 => "every fuel".to_owned(),
                _ => on.iter().map(|(fuel, _)| shorten(fuel, NAME_LIMIT)).collect::<Vec<_>>().join(", "),
            };
            found.push(format!("Peak wheel power on {who}: {}.", power(finding, &on, units)));
        }
    }
    if let Some(fuel) = c.fuels.iter().find(|fuel| fuel.name == c.limiting_fuel) {
        let b = &fuel.builds[index];
        let name = shorten(&fuel.name, NAME_LIMIT);
        found.extend(over_rpm(b).map(|words| format!("Over rpm on {name}: {words}.")));
        found.extend(b.margin_difference_octane.map(|d| format!("Knock on {name}: {}.", margin(&d))));
    }
    found.push(known(c, &c.builds[index]));
    found
}

/// The differences of peak wheel power on some fuels, all of one finding.
fn power(finding: Finding, on: &[(String, Difference)], units: Units) -> String {
    let unit = Power.unit(units);
    let ends = |of: fn(&Difference) -> f64| {
        let values = || on.iter().map(|(_, d)| unit.of(of(d)));
        (values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max))
    };
    let (least, most) = ends(|d| d.band.likely.abs());
    let [least, most] = [least, most].map(|value| fixed(value, 1));
    let amount = if least == most { most } else { format!("{least} to {most}") };
    let (low, high) = (signed(ends(|d| d.band.low).0, 1), signed(ends(|d| d.band.high).1, 1));
    let range = format!("{low} to {high} {}", unit.symbol);
    match finding {
        Finding::More => format!("{amount} {} more (range {range})", unit.symbol),
        Finding::Less => format!("{amount} {} less (range {range})", unit.symbol),
        Finding::NotMeasurable => "no measurable difference".to_owned(),
        Finding::TooCloseToCall => format!("too close to call, {range}"),
    }
}

/// A difference of knock margin at MBT timing.
fn margin(d: &Difference) -> String {
    let range = format!("{} to {}", signed(d.band.low, 1), signed(d.band.high, 1));
    let amount = fixed(d.band.likely.abs(), 1);
    match d.finding {
        Finding::More => format!("{amount} octane numbers more margin at MBT at the worst rpm ({range})"),
        Finding::Less => format!("{amount} octane numbers less margin at MBT at the worst rpm ({range})"),
        Finding::NotMeasurable => "no measurable difference in margin".to_owned(),
        Finding::TooCloseToCall => format!("margin too close to call, {range} octane numbers"),
    }
}

/// Where over rpm the build makes more and where less; none where no rpm is common to both.
fn over_rpm(build: &BuildOnFuel) -> Option<String> {
    let points = || build.curve.iter().filter(|point| point.power_difference_kw.is_some());
    points().next()?;
    let of = |finding: Finding, word: &str| {
        let is_so = |p: &&ComparedPoint| p.power_difference_kw.is_some_and(|d| d.finding == finding);
        let common: Vec<&ComparedPoint> = points().collect();
        let runs = common.split(|p| !is_so(p)).filter_map(|run| {
            let (from, to) = (run.first()?.speed_rpm, run.last()?.speed_rpm);
            Some(if from == to {
                format!("at {}", fixed(from, 0))
            } else {
                format!("from {} to {}", fixed(from, 0), fixed(to, 0))
            })
        });
        let runs: Vec<String> = runs.collect();
        (!runs.is_empty()).then(|| format!("{word} {} rpm", runs.join(" and ")))
    };
    let said: Vec<String> =
        [of(Finding::More, "more"), of(Finding::Less, "less")].into_iter().flatten().collect();
    Some(match said.len() {
        0 => "no rpm at which a difference is sure".to_owned(),
        _ => said.join(", "),
    })
}

/// How well the difference is known, in a line.
fn known(c: &Comparison, build: &ComparedBuild) -> String {
    let first = shorten(&c.builds[0].name, NAME_LIMIT);
    if !build.shares_cases {
        return "Known knock points leave one of them cases of its own: nothing cancels, so the difference is known no better than \
                the figures themselves."
            .to_owned();
    }
    if build.own_inputs.contains(&Input::KnockEngine) {
        return "Taken as another engine: its VE, friction and knock may be off the other way, so the difference is known little \
                better than the figures."
            .to_owned();
    }
    let own: Vec<&str> = build.own_inputs.iter().map(|input| input.title()).collect();
    let but = if own.is_empty() { String::new() } else { format!(", but for {}", own.join(" and ")) };
    format!(
        "Taken as {first} with parts changed: what is uncertain is off alike in both{but}, so it cancels in the difference. What \
         the model itself gets wrong of a change, most of all of a cam, does not: allow for it."
    )
}

/// What is uncertain alike in a build and the first, and what is not.
pub(super) fn shared(c: &Comparison, build: &ComparedBuild) -> String {
    let (name, first) = (shorten(&build.name, NAME_LIMIT), shorten(&c.builds[0].name, NAME_LIMIT));
    if !build.shares_cases {
        return format!(
            "{name} and {first}: known knock points leave one of them cases of its own; nothing is shared."
        );
    }
    let own: Vec<&str> = build.own_inputs.iter().map(|input| input.title()).collect();
    match own.is_empty() {
        true => format!("{name} and {first}: every uncertain input is off alike in both."),
        false => format!("{name} and {first}: off on their own {}; all else is off alike.", own.join(", ")),
    }
}
