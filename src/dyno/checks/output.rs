//! What the torque implies: mean effective pressure, volumetric efficiency, driveline loss.

use super::{CheckOutcome, measure};
use crate::air::CorrectionStandard;
use crate::dyno::check::{Finding, Implied, Interval, Lack};
use crate::dyno::evidence::{Evidence, mean, top};

use crate::dyno::log::Place;
use crate::dyno::result::ComparedPoint;
use crate::engine::{Breathing, Build, Figure};
use crate::estimate::Band;

/// Peak brake mean effective pressure of a kind of build [bar]: low and high; where no kind is stated, from carburetted
/// production to race engines.
fn bmep_band(build: &Build) -> (f64, f64) {
    match build.breathing {
        Breathing::Band { kind, .. } => kind.figures(build.injection).bmep_bar,
        Breathing::Table { .. } | Breathing::PortFlow(_) => {
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
    let consistent = Interval::between(low * (1.0 - BELOW_BAND), high);
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
    let over = |p: &ComparedPoint| Some(p.implied_volumetric_efficiency? / p.estimate_volumetric_efficiency);
    let ratio = mean(e.points.iter().filter_map(over)).ok_or(Lack::VolumetricEfficiency)?;
    let ([low, high], [far_low, far_high]) = (e.limits(1.0), e.limits(2.0));
    let credible = Interval::between(far_low, far_high.min(HIGHEST_VE * ratio / highest));
    let source = e.yardstick.job().build.breathing_source();
    let finding = Finding::Implied(Implied::VolumetricEfficiency { highest, speed_rpm, source });
    measure(ratio, Interval::between(low, high), credible, finding)
}

/// Loss between the crank of the estimate and the measured wheels [%].
pub(super) fn driveline_loss(e: &Evidence<'_>) -> CheckOutcome {
    if e.log.place == Place::Crank {
        return Err(Lack::Driveline);
    }
    let over_likely = |of: &dyn Fn(usize, Band) -> f64| {
        let bands = e.estimated.iter().map(|p| p.crank_torque_nm).enumerate();
        mean(bands.map(|(i, band)| of(i, band) / band.likely)).ok_or(Lack::FiniteNumber)
    };
    let (low, high) = (over_likely(&|_, band| band.low)?, over_likely(&|_, band| band.high)?);
    let kept = over_likely(&|i, _| e.points[i].torque_nm)?;
    let layout = e.yardstick.loss_band();
    let percent = |kept: f64| 100.0 * (1.0 - kept);
    let within = |high: f64, low: f64| {
        Interval::between(percent(high * (1.0 - layout.low)), percent(low * (1.0 - layout.high)))
    };
    let credible = within(2.0 * high - 1.0, 2.0 * low - 1.0);
    measure(percent(kept), within(high, low), credible, Finding::Implied(Implied::DrivelineLoss { layout }))
}
