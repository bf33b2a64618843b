//! What each check looks at, in words: title, number, source of the limits, where to look.

use super::super::super::Units;
use super::super::super::quantity::fixed;
use crate::dyno::{
    Check, CheckName as N, CurveFinding, Finding, Implied, RICH_E85, RICH_GASOLINE, STOICHIOMETRIC_GASOLINE,
};
use crate::report::quantity::Dimension::{Bsfc, Pressure};

/// A check as it is said: name, title, unit and decimals; what its number is; where its limits come from; what to look at.
struct CheckRow((N, &'static str, &'static str, usize), &'static str, &'static str, &'static str);

const SHAPE: &str = "VE at peak power is 0.85 to 0.97 of its peak (common engine data, no source): 8 %; a VE peak 12 % off the scenario's rpm: up to 29 % (computed)";
const BAND: &str = "1.5 times the 10-90 band of the estimate, mean over rpm (beyond by chance in about 1 of 18), and 2.5 times (1 of 700)";
const SCALE: &str = "measured over expected torque, mean over rpm";

/// What to look at by the side on which the mixture lies.
const LEAN: &str = "Fix a lean mixture before the next pull: fuel pressure, injector duty, clogged filter; then air leaks before the probe, fuel in the tank, mixture of the scenario.";
const RICH: &str = "Too rich costs power and washes oil off the bores: fuel pressure too high, injector scaling, air temperature or flow sensor, ethanol content set too high; then mixture of the scenario.";
const OTHER_SCALE: &str = "Scale of the meter: gasoline 14.7 or the fuel's own at lambda 1; state it with --afr-stoich, or log lambda. No mixture is changed on this reading.";

/// In the order of [`CheckName`](N).
const ROWS: [CheckRow; 21] = [
    CheckRow(
        (N::TorqueTimesSpeed, "torque x rpm = power", "-", 3),
        "power over torque times rpm, median of the rows",
        "power is torque times rpm; limits for rounding and smoothing (common practice, no source)",
        "Units of the torque and power columns, and whether both belong to one channel; torque is used in all other checks.",
    ),
    CheckRow(
        (N::CorrectionRange, "correction range", "-", 3),
        "factor of the stated standard in this weather",
        "0.93 to 1.07: ISO 1585 (from memory); beyond 0.85 to 1.30 common practice, no source",
        "Figures as measured, with the weather of the pull; corrected figures of such a day are not comparable.",
    ),
    CheckRow(
        (N::CorrectionLogged, "logged factor", "-", 3),
        "logged over computed correction factor",
        "",
        "Weather station and standard of the dyno, a factor typed in by hand, air temperature read in a hot engine bay.",
    ),
    CheckRow(
        (N::OverCorrection, "corrected twice", "-", 2),
        SCALE,
        BAND,
        "Whether the dyno corrects before it shows and again when it exports; compare with figures as measured.",
    ),
    CheckRow(
        (N::MeanEffectivePressure, "implied BMEP", "", 0),
        "peak BMEP, corrected to SAE J1349",
        "at peak torque, nine of ten real engines of the kind, or what the estimate expects of this build (ratings, tests/data/engines; race common practice, no source)",
        "Displacement of the scenario, units of torque, where the figures were taken, and whether a loss was added to them.",
    ),
    CheckRow(
        (N::VolumetricEfficiency, "implied VE", "-", 2),
        "implied over estimated VE, mean over rpm",
        "1.5 and 2.5 times the 10-90 band of the estimate; at most 1.28 in race engines (common engine data, no source)",
        "VE that the head, cam and intake can reach; if they cannot, the torque is wrong by the same share.",
    ),
    CheckRow(
        (N::AirFromFuel, "air by fuel flow", "-", 2),
        "VE by fuel flow and mixture over that by torque, mean over rpm",
        "meters 2 % each, model 6 %, and twice their sum (common practice, no source)",
        "Below 1: more torque than the air explains. Above 1: unit of fuel flow, probe, torque too low.",
    ),
    CheckRow(
        (N::FuelConsumption, "BSFC", "", 0),
        "BSFC from fuel flow and implied crank power, mean over rpm",
        "",
        "Unit and range of the fuel meter, fuel density, return flow; then torque.",
    ),
    CheckRow(
        (N::Mixture, "mixture", "-", 3),
        "logged lambda less planned lambda, mean over rpm",
        "0.02 lambda held on a dynamometer, times 1.5; 0.15 beyond full-load practice (common practice, no source)",
        LEAN,
    ),
    CheckRow(
        (N::DrivelineLoss, "driveline loss", "%", 1),
        "loss from the likely crank torque of the estimate to the measured wheel torque, mean over rpm",
        "loss band of the layout (common practice, no source), with 1.5 and 2.5 times the estimate's 10-90 band of crank torque",
        "Whether the figures are crank figures, tyre slip and pressure, roller inertia; a negative loss is impossible.",
    ),
    CheckRow(
        (N::CurveBand, "curve in band", "%", 0),
        "points within 1.5 times the 10-90 band of the estimate",
        "half of the points within 1.5 times the band, and half of them within 2.5 times (common practice, no source)",
        "The other checks, which say how the curve differs: everywhere alike, progressively with rpm, or along the rpm axis.",
    ),
    CheckRow(
        (N::UniformScale, "reads high everywhere", "-", 2),
        SCALE,
        BAND,
        "Units, inertia of the rollers and of what turns with them, load-cell calibration, where the figures were taken; then VE and loss in the scenario.",
    ),
    CheckRow(
        (N::Tilt, "progressively high with rpm", "%", 0),
        "change of measured over expected torque from lowest to highest rpm",
        SHAPE,
        "Coast-down loss added to the figures, windage of the rollers, zero of the load cell, VE of the scenario over rpm.",
    ),
    CheckRow(
        (N::PeakSpeed, "peak power rpm", "%", 0),
        "rpm of peak power against that of the estimate",
        "10 % of rpm, and twice as far; 15 % and no end where the scenario states peaks for a kind of build (common practice, no source)",
        "Rpm pick-up and gear, cam timing, where the scenario puts the VE peak.",
    ),
    CheckRow(
        (N::TorqueFall, "torque at the top", "%", 0),
        "fall of torque from its peak to the highest compared rpm, less that expected",
        SHAPE,
        "Less fall: rpm axis, a loss that was added and grows with rpm. More fall: valve float, exhaust, timing pulled, wheel slip.",
    ),
    CheckRow(
        (N::GearRatio, "gear ratio", "-", 2),
        "logged over true engine rpm, where that explains the curve better than all other causes",
        "8 % and 15 % of rpm; it counts with half of the probability of all causes, and is not credible from 95 % (common practice, no source)",
        "Gear that was driven, rpm set in that gear before the pull, tyre growth and slip, ignition pick-up.",
    ),
    CheckRow(
        (N::Smoothing, "smoothing", "%", 3),
        "scatter of a row about its neighbours, least of the pulls",
        "0.2 to 2 % as measured, 0.05 % after usual smoothing (common practice, no source)",
        "Export with the least smoothing; peaks of the smoothed curve may be lower and wider than the true ones.",
    ),
    CheckRow(
        (N::Spikes, "spikes", "%", 1),
        "torque of the row farthest off its neighbours",
        "4 % and 15 % of torque (common practice, no source)",
        "Wheel slip, misfire, rpm pick-up; read no peak off a spike.",
    ),
    CheckRow(
        (N::Dips, "dips and humps", "%", 1),
        "torque farthest off the smooth curve of its own pull, over some 200 rpm",
        "4 % that waves of intake and exhaust make, or 4.5 times the scatter of the pull about its own curve; a fall at the top that stays: 10 % below the estimate's (common practice, no source)",
        "Knock and timing logged there, tyre and clutch slip, fuel pressure, valve springs.",
    ),
    CheckRow(
        (N::Repeatability, "repeatability", "%", 2),
        "highest less lowest pull, mean over rpm",
        "1 to 2.5 % between pulls of a warm engine (common practice, no source)",
        "Oil and intake temperature before each pull, tyre slip, timing pulled for heat; average only pulls that agree.",
    ),
    CheckRow(
        (N::PullOrder, "pulls in order", "%", 1),
        "mean fall of torque from pull to pull where each is lower than the one before, else 0",
        "0.8 % a pull, two standard deviations of three pulls that repeat within 0.6 % (common practice, no source)",
        "Heat soak: intake and oil temperature before each pull, fan, minutes between pulls, timing pulled for intake heat. The first pull is the cool engine.",
    ),
];

const _: () = {
    let mut place = 0;
    while place < ROWS.len() {
        assert!(ROWS[place].0.0 as usize == place, "a row out of order");
        place += 1;
    }
};

fn row(name: N) -> &'static CheckRow {
    &ROWS[name as usize]
}

/// Title of a check.
pub fn check_title(name: N) -> &'static str {
    row(name).0.1
}

/// The unit of the number of a check, its decimals, and the factor to it from the unit inside.
pub(in crate::report::dyno) fn unit(name: N, units: Units) -> (&'static str, usize, f64) {
    match name {
        N::MeanEffectivePressure => {
            (units.symbol(Pressure), Pressure.unit(units).digits, units.of(Pressure, 1.0))
        }
        N::FuelConsumption => (units.symbol(Bsfc), Bsfc.unit(units).digits, units.of(Bsfc, 1.0)),
        _ => {
            let CheckRow((_, _, unit, decimals), ..) = row(name);
            (unit, *decimals, 1.0)
        }
    }
}

/// What the number of a check is.
pub(in crate::report::dyno) fn what(check: &Check) -> &'static str {
    match check.finding {
        Finding::Curve(CurveFinding::Band { counts_near: true, .. }) => {
            "points within 2.5 times the 10-90 band of the estimate"
        }
        _ => row(check.name).1,
    }
}

/// Where the limits of a check come from.
pub(in crate::report::dyno) fn source(name: N, units: Units) -> String {
    match name {
        N::CorrectionLogged => {
            let step = if units == Units::Us { "5 F or 0.3 inHg" } else { "3 K or 1 kPa" };
            format!("1 % is {step} of sensor error (common practice, no source)")
        }
        N::FuelConsumption => {
            let [rich, lean, e85] = [RICH_GASOLINE, STOICHIOMETRIC_GASOLINE, RICH_E85]
                .map(|band| band.map(|g| fixed(units.of(Bsfc, g), Bsfc.unit(units).digits)).join(" to "));
            format!(
                "gasoline {rich} at lambda 0.87, {lean} at 1; E85 {e85} {} (common engine data, no source)",
                units.symbol(Bsfc)
            )
        }
        _ => row(name).2.to_owned(),
    }
}

/// What to look at; empty for a check that is consistent.
pub(in crate::report::dyno) fn look_at(check: &Check) -> &'static str {
    match check.finding {
        _ if check.measure.is_consistent() => "",
        Finding::Implied(Implied::Mixture { scale: Some(_), .. }) => OTHER_SCALE,
        Finding::Implied(Implied::Mixture { .. }) if check.measure.value < 0.0 => RICH,
        Finding::Implied(Implied::Mixture { .. }) => LEAN,
        _ => row(check.name).3,
    }
}
