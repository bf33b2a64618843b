//! What fuel flow and mixture say.

use super::{Outcome, mean, skip};
use crate::dyno::check::{Check, CheckName, Interval, Measure};
use crate::dyno::evidence::Evidence;

/// Brake specific fuel consumption at full load [g/kWh]: rich on gasoline, at stoichiometric mixture on gasoline,
/// rich on E85 (common engine data, no source).
const RICH_GASOLINE: [f64; 2] = [265.0, 330.0];
const STOICHIOMETRIC_GASOLINE: [f64; 2] = [240.0, 275.0];
const RICH_E85: [f64; 2] = [370.0, 450.0];
/// Mixtures of the rich and the stoichiometric figures [-]; between them consumption is taken on a straight line.
const RICH_LAMBDA: f64 = 0.87;
const STOICHIOMETRIC_LAMBDA: f64 = 1.0;
/// Beyond the band by as much is not credible [-] (common practice, no source).
const BEYOND: f64 = 0.15;
/// Air by fuel flow over air by torque: meters and model together, and twice that [-] (common practice, no source).
const AIR_AGREES: f64 = 0.08;
/// Mixture off the planned one: 1.5 times what is held on a dynamometer, and beyond what full load is run at [-]
/// (common practice, no source).
const MIXTURE_HELD: f64 = 0.03;
const MIXTURE_CREDIBLE: f64 = 0.15;

/// Mean logged lambda over the compared speeds.
fn logged_lambda(e: &Evidence<'_>) -> Option<f64> {
    mean(e.points.iter().filter_map(|p| p.lambda))
}

/// Logged mixture against that of the estimate.
pub(super) fn mixture(e: &Evidence<'_>) -> Outcome {
    let name = CheckName::Mixture;
    let Some(logged) = logged_lambda(e) else { return skip(name, "no mixture is logged") };
    let planned = e.yardstick.fuel().lambda;
    let measure = Measure {
        what: "logged lambda less planned lambda, mean over speed",
        value: logged - planned,
        unit: "-",
        decimals: 3,
        consistent: Interval::between(-MIXTURE_HELD, MIXTURE_HELD),
        credible: Interval::between(-MIXTURE_CREDIBLE, MIXTURE_CREDIBLE),
        source: "0.02 lambda held on a dynamometer, times 1.5; 0.15 beyond full-load practice (common practice, no source)",
    };
    let reason = format!("The log has lambda {logged:.2}, the estimate runs at {planned:.2}.");
    let look = "Mixture of the scenario, scale of the meter, air leaks before the probe, fuel in the tank. Mend a lean mixture before the next pull.";
    Ok(Check::new(name, measure, reason, look))
}

/// Brake specific fuel consumption against published full-load figures.
pub(super) fn consumption(e: &Evidence<'_>) -> Outcome {
    let name = CheckName::FuelConsumption;
    let Some(value) = mean(e.points.iter().filter_map(|p| p.bsfc_g_per_kwh)) else {
        return skip(name, "no fuel flow is logged");
    };
    let lambda = logged_lambda(e).unwrap_or(e.yardstick.fuel().lambda);
    let lean = ((lambda - RICH_LAMBDA) / (STOICHIOMETRIC_LAMBDA - RICH_LAMBDA)).clamp(0.0, 1.0);
    // Between gasoline and E85 by ethanol content; consumption follows heating value.
    let share = (e.yardstick.fuel().blend.ethanol_vol_frac / 0.85).clamp(0.0, 1.2);
    let at = |i: usize| {
        let more = 1.0 + share * (RICH_E85[i] / RICH_GASOLINE[i] - 1.0);
        more * (RICH_GASOLINE[i] + lean * (STOICHIOMETRIC_GASOLINE[i] - RICH_GASOLINE[i]))
    };
    let (low, high) = (at(0), at(1));
    let measure = Measure {
        what: "BSFC from fuel flow and implied crank power, mean over speed",
        value,
        unit: "g/kWh",
        decimals: 0,
        consistent: Interval::between(low, high),
        credible: Interval::between(low * (1.0 - BEYOND), high * (1.0 + BEYOND)),
        source: "gasoline 265 to 330 at lambda 0.87, 240 to 275 at 1; E85 370 to 450 g/kWh (common engine data, no source)",
    };
    let verdict = if value < low {
        "too little fuel for the power, or too much power for the fuel"
    } else if value > high {
        "too much fuel for the power, or too little power for the fuel"
    } else {
        "the fuel explains the power"
    };
    let reason = format!(
        "Fuel flow over implied crank power against full-load figures for this fuel at lambda {lambda:.2}: {verdict}."
    );
    let look = "Unit and range of the fuel meter, fuel density, return flow; then torque.";
    Ok(Check::new(name, measure, reason, look))
}

/// Volumetric efficiency by fuel flow and mixture against that by torque.
pub(super) fn air_from_fuel(e: &Evidence<'_>) -> Outcome {
    let name = CheckName::AirFromFuel;
    let planned = e.yardstick.fuel().lambda;
    let job = e.yardstick.job();
    let full = job.weather.dry_air_density_kg_per_m3() * job.build.geometry.displacement_m3();
    let afr = e.yardstick.fuel().blend.afr_stoich;
    let ratios: Vec<f64> = e
        .points
        .iter()
        .filter_map(|p| {
            let power_kw = p.implied_crank_torque_nm * crate::units::rpm_to_rad_per_s(p.speed_rpm) / 1e3;
            let fuel_kg_per_s = p.bsfc_g_per_kwh? * power_kw / 3.6e6;
            let by_fuel = fuel_kg_per_s * p.lambda.unwrap_or(planned) * afr / (full * p.speed_rpm / 120.0);
            Some(by_fuel / p.implied_volumetric_efficiency?)
        })
        .collect();
    let Some(value) = mean(ratios.into_iter()) else { return skip(name, "no fuel flow is logged") };
    let measure = Measure {
        what: "volumetric efficiency by fuel flow and mixture over that by torque, mean over speed",
        value,
        unit: "-",
        decimals: 2,
        consistent: Interval::between(1.0 - AIR_AGREES, 1.0 + AIR_AGREES),
        credible: Interval::between(1.0 - 2.0 * AIR_AGREES, 1.0 + 2.0 * AIR_AGREES),
        source: "meters 2 % each, model 6 %, and twice their sum (common practice, no source)",
    };
    let whose = if logged_lambda(e).is_some() { "logged" } else { "planned" };
    let reason = format!(
        "Fuel flow and {whose} lambda give {value:.2} times the air that the torque asks for; this does not depend on the filling of the scenario."
    );
    let look =
        "Below 1: more torque than the air explains. Above 1: unit of fuel flow, probe, torque too low.";
    Ok(Check::new(name, measure, reason, look))
}
