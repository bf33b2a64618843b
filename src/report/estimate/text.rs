//! The estimate as aligned text, the answer first.

use super::curve;
use super::peaks::{self, peaks, strongest};
use crate::estimate::{Estimate, FuelEstimate};
use crate::report::Units;
use crate::report::quantity::Dimension::{AirPressure, Temperature};
use crate::report::quantity::{fixed, percent, signed};
use crate::report::table::{head, heading, list, wrap};
use crate::report::words::{Say, cautions, said, tightest_as_used, verdict};

/// Inputs shown per cause of spread.
const DRIVERS_SHOWN: usize = 5;
/// The whole text report.
pub(super) fn render(estimate: &Estimate, units: Units) -> String {
    let mut out = header(estimate, units);
    out += &answer(estimate, units);
    out += &corrected(estimate, units);
    for fuel in &estimate.fuels {
        out += &by_speed(fuel, units);
    }
    for fuel in &estimate.fuels {
        out += &ladder(fuel, units);
    }
    for fuel in &estimate.fuels {
        out += &levers(fuel, units);
    }
    for fuel in &estimate.fuels {
        out += &drivers(fuel, units);
    }
    out += &list("Notices", said(&estimate.notices, units).iter().map(String::as_str));
    out += &list("Cautions", cautions::ESTIMATE.iter().copied());
    out
}

fn header(e: &Estimate, units: Units) -> String {
    let ratio = format!(
        "{}, compression ratio {}:1 (effective {}:1 from inlet valve closing)",
        units.displacement_words(e.displacement_m3),
        fixed(e.compression_ratio, 2),
        fixed(e.effective_compression_ratio, 2)
    );
    let weather = format!(
        "{}, {}, {} % relative humidity",
        units.words(Temperature, e.air_temperature_k),
        units.words(AirPressure, e.air_pressure_pa),
        percent(e.relative_humidity, 0)
    );
    let samples = format!(
        "{}, seed {}; low and high are the 10th and 90th percentile, likely the 50th",
        e.samples, e.seed
    );
    let (breathing, driveline) = (e.breathing_source.say(units), e.driveline_source.say(units));
    head(&[
        ("Scenario", e.scenario.as_str()),
        ("Note", e.note.as_str()),
        ("Engine", ratio.as_str()),
        ("Breathing", breathing.as_str()),
        ("Driveline", driveline.as_str()),
        ("Weather", weather.as_str()),
        ("Samples", samples.as_str()),
    ])
}

fn answer(e: &Estimate, units: Units) -> String {
    let mut out = heading("Answer") + &peaks(e, units).text(&e.fuels) + "\n";
    out += &curve::columns(units, &[]).text_of(&curve::WORST, curve::worst(e));
    out += &wrap(
        "  ",
        "Start: the timing to start from, knock-free in 9 cases of 10; its power is that of every case at this one \
         timing. Limit: the likely knock limit, MBT timing at most (*: knock sets it); its power is that of every case tuned to its \
         own limit. Knock: share of cases that knock at that timing. Worst rpm: least octane margin at MBT timing. Lost to \
         retard: share of peak power, at the limit.",
    );
    out.push('\n');
    for fuel in &e.fuels {
        out += &wrap("  ", &verdict(fuel, e.reserve_octane));
    }
    if e.limit_missed {
        out += &wrap("  ", "A limit stated in the scenario is not met; the notices say which.");
    }
    out
}

/// Peak power at the crank, on the day and brought to reference days.
fn corrected(e: &Estimate, units: Units) -> String {
    let table = peaks::corrected(e, units).text(&e.fuels);
    let mut out = heading("At the crank, driveline not taken off") + &table;
    for c in &e.corrections {
        out += &wrap("  ", &format!("{}: factor {} for this day.", c.standard, fixed(c.factor, 3)));
        out += &c
            .outside
            .as_ref()
            .map_or_else(String::new, |why| wrap("  Outside its range: ", &why.say(units)));
    }
    out
}

fn by_speed(fuel: &FuelEstimate, units: Units) -> String {
    let title = format!(
        "{}: {} (RON {}, MON {}, {} % ethanol by volume)",
        fuel.name,
        fuel.title,
        fixed(fuel.ron, 1),
        fixed(fuel.mon, 1),
        percent(fuel.ethanol_vol_frac, 0)
    );
    let mut out = heading(&title);
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

/// What each change is worth at the tightest point.
fn levers(fuel: &FuelEstimate, units: Units) -> String {
    let point = &fuel.curve[fuel.tightest_index];
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
    let by_power = strongest(&fuel.drivers, |d| d.power_rank_correlation);
    let by_margin = strongest(&fuel.drivers, |d| d.margin_rank_correlation);
    let table = peaks::drivers(units).text(by_power.into_iter().zip(by_margin).take(DRIVERS_SHOWN));
    heading(&format!("What drives the spread on {}", fuel.name)) + &table
}
