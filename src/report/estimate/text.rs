//! The estimate as aligned text, the answer first.

use super::curve;
use super::peaks::{self, peaks};
use crate::estimate::{Estimate, FuelEstimate};
use crate::report::Units;
use crate::report::quantity::Dimension::{AirPressure, Temperature};
use crate::report::quantity::{fixed, percent, signed};
use crate::report::screen::{Part, Text};
use crate::report::table::{head, heading, list, points, shorten, wrap};
use crate::report::words::{Say, cautions, said, tightest_as_used, verdict};

/// Inputs shown of what a range comes from.
const DRIVERS_SHOWN: usize = 6;
/// Most characters of the name of a scenario on its line.
const SCENARIO_LIMIT: usize = 60;

const CURVES: &str = "curves";
const LOSSES: &str = "losses";
const CHANGES: &str = "changes";
const UNCERTAINTY: &str = "uncertainty";

/// The parts of the text.
pub(super) const PARTS: &[Part] = &[
    Part { name: CURVES, shows: "timing, knock, torque and power over rpm; power at the flywheel" },
    Part { name: LOSSES, shows: "where the fuel energy goes" },
    Part { name: CHANGES, shows: "what a change is worth" },
    Part { name: UNCERTAINTY, shows: "what the range comes from, and what the estimate rests on" },
];

/// The whole text.
pub(super) fn render(e: &Estimate, units: Units) -> Text {
    let limiting = e.limiting().map_or("", |fuel| fuel.name.as_str());
    let mut out = Text::limited_by(limiting);
    out.screen(&build(e, units));
    out.screen(&missed(e, units));
    out.screen(&answer(e, units));
    let matters = said(&e.matters(), units);
    out.screen(&list("What matters most", matters.iter().map(String::as_str)));
    out.screen(&assumed(e, units));
    let notices: Vec<String> =
        e.notices.iter().filter(|n| !n.is_of_the_range() && !n.is_limit()).map(|n| n.say(units)).collect();
    out.screen(&list("Keep in mind", notices.iter().map(String::as_str)));
    out.cautions(cautions::ESTIMATE);
    for fuel in &e.fuels {
        out.part_of_fuel(CURVES, &fuel.name, &by_speed(fuel, e.reserve_octane, units));
    }
    out.part(CURVES, "At the flywheel, before the driveline", &corrected(e, units));
    for fuel in &e.fuels {
        out.part_of_fuel(LOSSES, &fuel.name, &ladder(fuel, units));
    }
    for fuel in &e.fuels {
        out.part_of_fuel(CHANGES, &fuel.name, &levers(fuel, units));
    }
    for fuel in &e.fuels {
        out.part_of_fuel(UNCERTAINTY, &fuel.name, &drivers(fuel, units));
    }
    let taken: Vec<String> =
        e.assumed.iter().map(|what| format!("{}: {}", what.title(), what.say(units))).collect();
    out.part(UNCERTAINTY, "Assumed, for it is not stated", &points(taken.iter().map(String::as_str)));
    out.part(UNCERTAINTY, "What the estimate rests on", &basis(e, units));
    out
}

/// The engine and its day in a line.
fn build(e: &Estimate, units: Units) -> String {
    let text = format!(
        "{}: {}, {}:1, {}, {}, {} % humidity",
        shorten(&e.scenario, SCENARIO_LIMIT),
        units.displacement_words(e.displacement_m3),
        fixed(e.compression_ratio, 2),
        units.words(Temperature, e.air_temperature_k),
        units.words(AirPressure, e.air_pressure_pa),
        percent(e.relative_humidity, 0)
    );
    wrap("", &text)
}

/// Limits of the scenario that are not met.
fn missed(e: &Estimate, units: Units) -> String {
    let over = e.notices.iter().filter(|notice| notice.is_limit());
    over.map(|notice| wrap("WARNING: ", &notice.say(units))).collect()
}

/// What is not stated, and what of it to measure first.
fn assumed(e: &Estimate, units: Units) -> String {
    if e.assumed.is_empty() {
        return String::new();
    }
    let names: Vec<&str> = e.assumed.iter().map(|what| what.title()).collect();
    let mut lines = vec![format!("Not stated, so taken as usual for the kind: {}.", names.join(", "))];
    let first = e.worth_measuring();
    lines.extend(said(&first, units));
    list("Assumed", lines.iter().map(String::as_str))
}

fn answer(e: &Estimate, units: Units) -> String {
    let mut out = "\n".to_owned() + &peaks(e, units).text(&e.fuels) + "\n";
    out += &curve::columns(units, &[]).text_of(&curve::SCREEN, curve::worst(e));
    out + &wrap(
        "  ",
        "Start: timing knock-free in 9 cases of 10. Limit: likely knock limit (*) or MBT timing; torque lost: to retard there. \
         Worst rpm: least margin at MBT. Power is uncorrected.",
    )
}

/// Peak power at the flywheel, on the day and brought to reference days.
fn corrected(e: &Estimate, units: Units) -> String {
    let mut out = peaks::corrected(e, units).text(&e.fuels);
    for c in &e.corrections {
        out += &wrap("  ", &format!("{}: factor {} for this weather.", c.standard, fixed(c.factor, 3)));
        out += &c
            .outside
            .as_ref()
            .map_or_else(String::new, |why| wrap("  Outside its range: ", &why.say(units)));
    }
    out
}

fn by_speed(fuel: &FuelEstimate, reserve_octane: f64, units: Units) -> String {
    let title = format!(
        "{}: {} (RON {}, MON {}, {} % ethanol by volume)",
        fuel.name,
        fuel.title,
        fixed(fuel.ron, 1),
        fixed(fuel.mon, 1),
        percent(fuel.ethanol_vol_frac, 0)
    );
    let mut out = heading(&title) + &wrap("  ", &verdict(fuel, reserve_octane));
    let columns = curve::columns(units, &fuel.curve);
    let rows = || fuel.curve.iter().map(|point| (fuel, point));
    out += &columns.text_of(&curve::TIMING, rows());
    if let Some(point) = tightest_as_used(fuel) {
        let band = point.octane_margin_band;
        let is_limited = fuel.curve.iter().any(|p| p.knock_limited);
        let text = format!(
            "{}CA50 and octane are those at the limit. Octane margin of the cases at the limit at {} rpm: {} to {}.",
            if is_limited { "* Knock sets this limit, not MBT. " } else { "" },
            fixed(point.speed_rpm, 0),
            signed(band.low, 1),
            signed(band.high, 1)
        );
        out += &wrap("  ", &text);
    }
    out += &format!("\n{}", columns.text_of(&[&curve::OUTPUT[..], &curve::AT_LIMIT].concat(), rows()));
    out + &wrap("  ", "BMEP, mechanical efficiency, peak pressure and BSFC are those at the limit.")
}

fn ladder(fuel: &FuelEstimate, units: Units) -> String {
    if fuel.ladder.is_empty() {
        return String::new();
    }
    let speed = fixed(fuel.peak_power.speed_rpm, 0);
    heading(&format!("Where the fuel energy goes at peak power, {}, {speed} rpm", fuel.name))
        + &peaks::ladder(units).text(peaks::steps(fuel))
}

/// What each change is worth at the worst rpm.
fn levers(fuel: &FuelEstimate, units: Units) -> String {
    let point = fuel.tightest();
    let title = format!(
        "What a change is worth on {} at {} rpm, timing held at the likely limit of {} deg",
        fuel.name,
        fixed(point.speed_rpm, 0),
        fixed(point.spark_deg_btdc, 1)
    );
    heading(&title) + &peaks::levers(units).text(&fuel.levers)
}

fn drivers(fuel: &FuelEstimate, units: Units) -> String {
    if fuel.drivers.is_empty() {
        return String::new();
    }
    let by_power = fuel.strongest(|d| d.power_swing_kw);
    let by_margin = fuel.strongest(|d| d.margin_swing_octane);
    let table = peaks::drivers(units).text(by_power.into_iter().zip(by_margin).take(DRIVERS_SHOWN));
    heading(&format!("What the range comes from on {}", fuel.name))
        + &table
        + &wrap(
            "  ",
            "From the low end of an input (1 case in 10 is below it) to its high end (1 in 10 is above), all others held.",
        )
}

/// Where the figures come from, and what else the range includes.
fn basis(e: &Estimate, units: Units) -> String {
    let ratio = format!("{}:1 from intake valve closing (IVC)", fixed(e.effective_compression_ratio, 2));
    let samples = format!(
        "{}, seed {}; low and high are the 10th and 90th percentile, likely the 50th",
        e.samples, e.seed
    );
    let (breathing, driveline) = (e.breathing_source.say(units), e.driveline_source.say(units));
    let rows = [
        ("Note", e.note.as_str()),
        ("Ratio", ratio.as_str()),
        ("Breathing", breathing.as_str()),
        ("Driveline", driveline.as_str()),
        ("Samples", samples.as_str()),
    ];
    let notices: Vec<String> =
        e.notices.iter().filter(|n| n.is_of_the_range()).map(|n| n.say(units)).collect();
    head(&rows) + &points(notices.iter().map(String::as_str))
}
