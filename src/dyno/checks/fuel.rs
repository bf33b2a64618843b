//! What fuel flow and mixture say.

use super::{CheckOutcome, measure};
use crate::dyno::check::{Interval, Lack};
use crate::dyno::evidence::{Evidence, mean};
use crate::dyno::finding::{Finding, Implied};
use crate::dyno::log::Note;
use crate::units::{GAUGE_AFR_STOICH, rpm_to_rad_per_s};

/// Brake specific fuel consumption at full load [g/kWh]: rich on gasoline, at stoichiometric mixture on gasoline,
/// rich on E85 (common engine data, no source).
pub(crate) const RICH_GASOLINE: [f64; 2] = [265.0, 330.0];
pub(crate) const STOICHIOMETRIC_GASOLINE: [f64; 2] = [240.0, 275.0];
pub(crate) const RICH_E85: [f64; 2] = [370.0, 450.0];
/// Mixtures of the rich and the stoichiometric figures [-]; between them consumption is taken on a straight line.
const RICH_LAMBDA: f64 = 0.87;
const STOICHIOMETRIC_LAMBDA: f64 = 1.0;
/// Consumption of the estimate that its own unknowns leave open: driveline, friction, burn, meter [-] (common practice, no
/// source).
const EXPECTED_WITHIN: f64 = 0.10;
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

/// Logged mixture less that of the estimate.
pub(super) fn mixture(e: &Evidence<'_>) -> CheckOutcome {
    let logged = logged_lambda(e).ok_or(Lack::Mixture)?;
    let planned = e.yardstick.fuel().lambda;
    let (held, credible) = (Interval::about(0.0, MIXTURE_HELD), Interval::about(0.0, MIXTURE_CREDIBLE));
    let scale = other_scale(e, logged, planned);
    measure(logged - planned, held, credible, Finding::Implied(Implied::Mixture { logged, planned, scale }))
}

/// The scale of an air-fuel ratio that was read on another: that of most meters, or that of the fuel in the tank.
fn other_scale(e: &Evidence<'_>, logged: f64, planned: f64) -> Option<f64> {
    /// How far off the planned mixture a reading on the right scale lies at most, and one on the wrong scale at least [-]
    /// (common practice, no source).
    const NEAR: f64 = 0.06;
    let read_with = e.log.notes.iter().find_map(afr_stoich)?;
    let off = |scale: f64| (logged * read_with / scale - planned).abs();
    let of_fuel = (10.0 * e.yardstick.fuel().blend.afr_stoich).round() / 10.0;
    let others = [GAUGE_AFR_STOICH, of_fuel].into_iter().filter(|scale| off(*scale) < NEAR);
    others.min_by(|a, b| off(*a).total_cmp(&off(*b))).filter(|_| (logged - planned).abs() > NEAR)
}

/// The air-fuel ratio at lambda 1 with which a log was read.
fn afr_stoich(note: &Note) -> Option<f64> {
    match note {
        Note::LambdaOfAfr { afr_stoich, .. } => Some(*afr_stoich),
        Note::OfLog(_, of) => self::afr_stoich(of),
        _ => None,
    }
}

/// Brake specific fuel consumption against published full-load figures [g/kWh].
pub(super) fn consumption(e: &Evidence<'_>) -> CheckOutcome {
    let value = mean(e.points.iter().filter_map(|p| p.bsfc_g_per_kwh)).ok_or(Lack::FuelFlow)?;
    let lambda = logged_lambda(e).unwrap_or(e.yardstick.fuel().lambda);
    let lean = ((lambda - RICH_LAMBDA) / (STOICHIOMETRIC_LAMBDA - RICH_LAMBDA)).clamp(0.0, 1.0);
    // Between gasoline and E85 by ethanol content; consumption follows heating value.
    let share = (e.yardstick.fuel().blend.ethanol_vol_frac / 0.85).clamp(0.0, 1.2);
    let at = |i: usize| {
        let more = 1.0 + share * (RICH_E85[i] / RICH_GASOLINE[i] - 1.0);
        more * (RICH_GASOLINE[i] + lean * (STOICHIOMETRIC_GASOLINE[i] - RICH_GASOLINE[i]))
    };
    // What the estimate expects of this build is consistent, too.
    let expected = mean(e.estimated.iter().map(|p| p.bsfc_g_per_kwh)).unwrap_or(value);
    let low = f64::min(at(0), expected * (1.0 - EXPECTED_WITHIN));
    let high = f64::max(at(1), expected * (1.0 + EXPECTED_WITHIN));
    let credible = Interval::between(low * (1.0 - BEYOND), high * (1.0 + BEYOND));
    measure(
        value,
        Interval::between(low, high),
        credible,
        Finding::Implied(Implied::FuelConsumption { lambda }),
    )
}

/// Volumetric efficiency by fuel flow and mixture over that by torque.
pub(super) fn air_from_fuel(e: &Evidence<'_>) -> CheckOutcome {
    let planned = e.yardstick.fuel().lambda;
    let job = e.yardstick.job();
    let full = job.weather.dry_air_density_kg_per_m3() * job.build.geometry.displacement_m3();
    let afr = e.yardstick.fuel().blend.afr_stoich;
    let ratios = e.points.iter().filter_map(|p| {
        let power_kw = p.implied_crank_torque_nm * rpm_to_rad_per_s(p.speed_rpm) / 1e3;
        let fuel_kg_per_s = p.bsfc_g_per_kwh? * power_kw / 3.6e6;
        let by_fuel = fuel_kg_per_s * p.lambda.unwrap_or(planned) * afr / (full * p.speed_rpm / 120.0);
        Some(by_fuel / p.implied_volumetric_efficiency?)
    });
    let value = mean(ratios).ok_or(Lack::FuelFlow)?;
    let finding = Finding::Implied(Implied::AirFromFuel { lambda_logged: logged_lambda(e).is_some() });
    measure(value, Interval::about(1.0, AIR_AGREES), Interval::about(1.0, 2.0 * AIR_AGREES), finding)
}
