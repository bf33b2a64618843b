//! What the torque implies: mean effective pressure, volumetric efficiency, driveline loss.

use super::{CheckOutcome, measure};
use crate::air::CorrectionStandard;
use crate::dyno::check::{Interval, Lack};
use crate::dyno::evidence::{CONSISTENT, CREDIBLE, Evidence, mean, top};
use crate::dyno::finding::{Finding, Implied};
use crate::dyno::powerband::TORQUE_PER_VE;

use crate::dyno::log::Place;
use crate::dyno::result::ComparedPoint;
use crate::engine::{Build, Figure};
use crate::estimate::Band;

/// Peak brake mean effective pressure of a kind of build [bar]: low and high; where no kind is stated, from carburetted
/// production to race engines.
fn bmep_band(build: &Build) -> (f64, f64) {
    match build.breathing.kind() {
        Some(kind) => kind.figures(build.injection).bmep_bar,
        None => {
            let [production, _, race] = Figure::Bmep.bands(false);
            (production.low, race.high)
        }
    }
}

/// Highest of race engines on gasoline [bar] (common engine data, no source).
const HIGHEST_BMEP_BAR: f64 = 15.8;
/// Tired engines and low octane fall below the band: as much is still consistent [-] (common practice, no source).
const BELOW_BAND: f64 = 0.10;
/// Highest volumetric efficiency of race engines with tuned intake and exhaust [-] (common engine data, no source).
const HIGHEST_VE: f64 = 1.28;

/// Peak BMEP [bar], brought to the reference day of SAE J1349, at the likely driveline loss.
pub(super) fn mean_effective_pressure(e: &Evidence<'_>) -> CheckOutcome {
    let build = &e.yardstick.job().build;
    let factor = CorrectionStandard::SaeJ1349.factor(&e.yardstick.job().weather).factor;
    let bmep: Vec<f64> = e.points.iter().map(|p| p.implied_bmep_bar * factor).collect();
    let at = top(&bmep);
    let (point, value) = (&e.points[at], bmep[at]);
    let least_loss = e.yardstick.loss_band().low;
    let least_nm =
        e.yardstick.crank_torque_nm(e.log.place, point.torque_nm, least_loss, e.peak_power_torque_nm);
    let least = e.yardstick.bmep_bar(least_nm) * factor;
    let (low, high) = bmep_band(build);
    // What the estimate expects of this build is consistent, too.
    let [expected, _] = e.limits();
    let of_build = |limit: Option<f64>| value / e.scale() * limit.unwrap_or(1.0);
    let consistent = Interval::between(
        f64::min(low * (1.0 - BELOW_BAND), of_build(expected.low)),
        f64::max(high, of_build(expected.high)),
    );
    // Judged with the least driveline loss of the band.
    let credible = Interval::up_to(HIGHEST_BMEP_BAR * value / least);
    let finding = Finding::Implied(Implied::MeanEffectivePressure {
        speed_rpm: point.speed_rpm,
        least_ratio: least / value,
    });
    measure(value, consistent, credible, finding)
}

/// Volumetric efficiency with which the model gives the torque, over that of the estimate.
pub(super) fn volumetric_efficiency(e: &Evidence<'_>) -> CheckOutcome {
    let implied = |p: &ComparedPoint| Some((p.speed_rpm, p.implied_volumetric_efficiency?));
    let found: Vec<(f64, f64)> = e.points.iter().filter_map(implied).collect();
    let (speed_rpm, highest) =
        found.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1)).ok_or(Lack::VolumetricEfficiency)?;
    if 2 * found.len() <= e.points.len() {
        return Err(Lack::VolumetricEfficiency);
    }
    let over = |(p, expected_nm): (&ComparedPoint, f64)| {
        let moved = (expected_nm / p.estimate_likely_torque_nm).powf(1.0 / TORQUE_PER_VE);
        Some(p.implied_volumetric_efficiency? / p.estimate_volumetric_efficiency / moved)
    };
    let ratio = mean(e.expected().filter_map(over)).ok_or(Lack::VolumetricEfficiency)?;
    let [consistent, far] = e.limits();
    let most = HIGHEST_VE * ratio / highest;
    let credible = Interval { high: far.high.map(|high| high.min(most)), ..far };
    let source = e.yardstick.job().build.breathing_source();
    let finding = Finding::Implied(Implied::VolumetricEfficiency { highest, speed_rpm, source });
    measure(ratio, consistent, credible, finding)
}

/// Loss between the crank of the estimate and the measured wheels [%].
pub(super) fn driveline_loss(e: &Evidence<'_>) -> CheckOutcome {
    if e.log.place == Place::Crank {
        return Err(Lack::Driveline);
    }
    let over_likely = |of: &dyn Fn(Band) -> f64| {
        let bands = e.estimated.iter().map(|p| p.crank_torque_nm);
        mean(bands.map(|band| of(band) / band.likely)).ok_or(Lack::FiniteNumber)
    };
    let (low, high) = (over_likely(&|band| band.low)?, over_likely(&|band| band.high)?);
    let kept = e.expected().zip(&e.estimated).map(|((p, expected_nm), estimated)| {
        p.torque_nm / (estimated.crank_torque_nm.likely * expected_nm / p.estimate_likely_torque_nm)
    });
    let kept = mean(kept).ok_or(Lack::FiniteNumber)?;
    let layout = e.yardstick.loss_band();
    let percent = |kept: f64| 100.0 * (1.0 - kept);
    let within = |half_widths: f64| {
        let to = |end: f64| 1.0 + half_widths * (end - 1.0);
        Interval::between(percent(to(high) * (1.0 - layout.low)), percent(to(low) * (1.0 - layout.high)))
    };
    let finding = Finding::Implied(Implied::DrivelineLoss { layout });
    measure(percent(kept), within(CONSISTENT), within(CREDIBLE), finding)
}
