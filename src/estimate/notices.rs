//! What the builder should know beside the numbers.

use super::analysis::PointAnalysis;
use super::curve_point::CurvePoint;
use super::job::Job;
use super::result::FuelEstimate;
use super::uncertainty::Input;
use crate::fuel::OctaneConcern;
use crate::knock::delay::DAMPING_SPEED_RPM;
use crate::knock::{Deposits, ln_speed};
use crate::units::PA_PER_BAR;

/// Standing cautions of every estimate.
pub const CAUTIONS: [&str; 6] = [
    "This is an estimate, not a calibration. Start from less spark, listen for knock with proper equipment, and back the spark off when in doubt.",
    "Knock is never cured by a leaner mixture: hold the spark back, add octane, cool the charge or lower the ratio.",
    "Ethanol content varies from pump to pump and fill to fill; measure it before relying on it.",
    "Fuel vapour burns and explodes; ethanol and methanol flames are hard to see. Ventilate, earth, keep ignition sources away.",
    "Check local emissions and road law before building or changing an engine for the road.",
    "The judgement of the licensed or qualified practitioner on the spot comes before these numbers.",
];

/// Brake mean effective pressure beyond which even a race engine is in doubt [bar]
/// (race engines on gasoline 14.0 to 15.8; common practice, no source).
const HIGHEST_BMEP_BAR: f64 = 15.8;
/// Distance from the speed at which the knock model is surest, in logarithm, beyond which a margin that rests on it is worth a
/// notice: 2000 and 4500 rpm.
const FAR_IN_SPEED: f64 = 0.405;
/// Octane beyond which the knock model extrapolates: the primary reference scale ends at 100
/// (ASTM D2699 scale, `from memory`).
const SCALE_END: f64 = 100.0;

/// Notices on a finished estimate, and whether a stated limit is missed.
pub fn notices(job: &Job, analyses: &[PointAnalysis<'_>], fuels: &[FuelEstimate]) -> (Vec<String>, bool) {
    let mut notices = Vec::new();
    let missed = unsafe_sparks(job, fuels, &mut notices) | mechanical(job, fuels, &mut notices);
    let window = job.spark_range;
    if analyses.iter().any(|a| a.likely.mbt.spark_deg_btdc > window.earliest_deg_btdc - 0.1) {
        notices.push(format!(
            "The spark range of the scenario ends at {:.0} deg before top dead centre and best torque lies at that end: more spark may give more torque.",
            window.earliest_deg_btdc
        ));
    }
    if analyses.iter().any(|a| a.likely.mbt.spark_deg_btdc < window.latest_deg_btdc + 0.1) {
        notices.push(format!(
            "The spark range of the scenario begins at {:.0} deg before top dead centre, earlier than best torque at some speed: widen it.",
            window.latest_deg_btdc
        ));
    }
    if let Some(top) = analyses.iter().map(|a| a.likely.used.bmep_bar()).max_by(f64::total_cmp)
        && top > HIGHEST_BMEP_BAR
    {
        notices.push(format!(
            "Brake mean effective pressure reaches {top:.1} bar; above {HIGHEST_BMEP_BAR} bar even race engines on gasoline are in doubt. Check volumetric efficiency."
        ));
    }
    for choice in &job.fuels {
        let content = choice.fuel.ethanol;
        if content.low < content.high {
            notices.push(format!(
                "{}: ethanol content is taken as {:.0} % and may be {:.0} to {:.0} %; the ranges include this.",
                choice.fuel.name,
                100.0 * content.likely,
                100.0 * content.low,
                100.0 * content.high
            ));
        }
    }
    octane_out_of_range(job, &mut notices);
    let beyond: Vec<&str> = fuels.iter().filter(|f| f.ron > SCALE_END).map(|f| f.name.as_str()).collect();
    if !beyond.is_empty() {
        notices.push(format!(
            "Octane above 100 lies beyond the scale on which the knock law was measured; the margins of {} are extrapolated.",
            beyond.join(", ")
        ));
    }
    notices.extend(of_own_knock(job));
    notices.extend(of_knock_speed(fuels));
    if let Some(last) = job.speeds_rpm.last()
        && job.speeds_rpm.len() > 1
        && fuels.iter().any(|f| f.peak_power.speed_rpm == *last)
    {
        notices.push(format!(
            "Power still rises at {last:.0} rpm, the highest speed asked: the engine's own peak may lie beyond."
        ));
    }
    if let crate::engine::Breathing::Table { speed_rpm, .. } = &job.build.breathing {
        let (low, high) =
            (speed_rpm.first().copied().unwrap_or(0.0), speed_rpm.last().copied().unwrap_or(0.0));
        if job.speeds_rpm.iter().any(|s| *s < low || *s > high) {
            notices.push(format!(
                "The table of volumetric efficiency covers {low:.0} to {high:.0} rpm; its end values are held outside."
            ));
        }
    }
    (notices, missed)
}

/// Fuels whose octane rests on no published blend; octane above 100 has a notice of its own.
fn octane_out_of_range(job: &Job, notices: &mut Vec<String>) {
    for fuel in job.fuels.iter().map(|choice| &choice.fuel) {
        let concerns = fuel.blend().map(|blend| blend.octane_concerns()).unwrap_or_default();
        for concern in concerns {
            if !matches!(concern, OctaneConcern::AboveScale { .. }) {
                notices.push(format!("{}: {concern}.", fuel.name));
            }
        }
    }
}

/// What the knock margins of a job rest on besides the model: deposits and known points.
pub(crate) fn of_own_knock(job: &Job) -> Vec<String> {
    let deposits = job.knock.deposits;
    let said = (deposits != Deposits::Clean).then(|| {
        format!(
            "Deposits are taken as {}: the engine needs {:.1} octane numbers more than when it was clean.",
            deposits.key(),
            deposits.octane()
        )
    });
    let learned = job.knock.learned.iter().flat_map(|learned| learned.remarks.iter().cloned());
    said.into_iter().chain(learned).collect()
}

/// Where a knock limit rests on the law over speed: at the limited point farthest from where that is surest.
fn of_knock_speed(fuels: &[FuelEstimate]) -> Option<String> {
    let limited = fuels.iter().flat_map(|f| &f.curve).filter(|p| p.knock_limited);
    let far = |p: &CurvePoint| ln_speed(p.speed_rpm).abs();
    let point = limited.max_by(|a, b| far(a).total_cmp(&far(b))).filter(|p| far(p) > FAR_IN_SPEED)?;
    Some(format!(
        "At {:.0} rpm the knock limit also rests on how knock changes with rpm, which has no published figure: +/-{:.1} octane numbers beside those at {DAMPING_SPEED_RPM:.0} rpm. The ranges include this.",
        point.speed_rpm,
        Input::KnockSpeed.half_width() * far(point)
    ))
}

/// Fuels and speeds at which no spark in range keeps the reserve.
fn unsafe_sparks(job: &Job, fuels: &[FuelEstimate], notices: &mut Vec<String>) -> bool {
    let mut missed = false;
    for fuel in fuels {
        let speeds: Vec<String> = fuel
            .curve
            .iter()
            .filter(|p| p.knock_limited_spark_deg_btdc.is_none())
            .map(|p| format!("{:.0}", p.speed_rpm))
            .collect();
        if !speeds.is_empty() {
            missed = true;
            notices.push(format!(
                "{}: no spark down to {:.0} deg before top dead centre keeps {:.1} octane numbers in hand at {} rpm. Do not run this fuel at full throttle there: less ratio or more octane is needed.",
                fuel.name,
                job.spark_range.latest_deg_btdc,
                job.reserve_octane,
                speeds.join(", ")
            ));
        }
    }
    missed
}

/// Mechanical limits that the scenario states.
fn mechanical(job: &Job, fuels: &[FuelEstimate], notices: &mut Vec<String>) -> bool {
    let mut missed = false;
    let points = || fuels.iter().flat_map(|f| f.curve.iter().map(move |p| (f, p)));
    if let Some(limit) = job.build.limits.peak_pressure_pa.map(|p| p / PA_PER_BAR)
        && let Some((fuel, point)) =
            points().max_by(|a, b| a.1.peak_pressure_bar.total_cmp(&b.1.peak_pressure_bar))
        && point.peak_pressure_bar > limit
    {
        missed = true;
        notices.push(format!(
            "Peak cylinder pressure reaches {:.0} bar on {} at {:.0} rpm; the stated limit is {limit:.0} bar.",
            point.peak_pressure_bar, fuel.name, point.speed_rpm
        ));
    }
    if let Some(limit) = job.build.limits.mean_piston_speed_m_per_s
        && let Some((_, point)) =
            points().max_by(|a, b| a.1.mean_piston_speed_m_per_s.total_cmp(&b.1.mean_piston_speed_m_per_s))
        && point.mean_piston_speed_m_per_s > limit
    {
        missed = true;
        notices.push(format!(
            "Mean piston speed reaches {:.1} m/s at {:.0} rpm; the stated limit is {limit:.1} m/s.",
            point.mean_piston_speed_m_per_s, point.speed_rpm
        ));
    }
    missed
}
