//! The checks, one function each.

mod axis;
mod correction;
mod figures;
mod fuel;
mod local;
mod output;
mod scale;
mod scatter;
mod shape;

pub(super) use correction::factor_ratio;
pub(super) use figures::{MIX_UPS, power_ratio};
pub(crate) use fuel::{RICH_E85, RICH_GASOLINE, STOICHIOMETRIC_GASOLINE};
pub(super) use local::{Scan, scan};
pub(crate) use scatter::{COPY_PERCENT, SPIKE_PERCENT};

use super::check::{CheckName, Interval, Lack, Measure};
use super::evidence::Evidence;
use super::finding::Finding;

/// What a check comes to.
type CheckOutcome = Result<(Measure, Finding), Lack>;

/// One check.
type CheckOf = fn(&Evidence<'_>) -> CheckOutcome;

/// Every check, in the order shown.
pub(super) const ALL: [(CheckName, CheckOf); 21] = [
    (CheckName::TorqueTimesSpeed, figures::torque_times_speed),
    (CheckName::CorrectionRange, correction::range),
    (CheckName::CorrectionLogged, correction::logged),
    (CheckName::OverCorrection, scale::over_correction),
    (CheckName::MeanEffectivePressure, output::mean_effective_pressure),
    (CheckName::VolumetricEfficiency, output::volumetric_efficiency),
    (CheckName::AirFromFuel, fuel::air_from_fuel),
    (CheckName::FuelConsumption, fuel::consumption),
    (CheckName::Mixture, fuel::mixture),
    (CheckName::DrivelineLoss, output::driveline_loss),
    (CheckName::CurveBand, scale::curve_band),
    (CheckName::UniformScale, scale::uniform),
    (CheckName::Tilt, shape::tilt),
    (CheckName::PeakSpeed, shape::peak_speed),
    (CheckName::TorqueFall, shape::torque_fall),
    (CheckName::GearRatio, axis::gear_ratio),
    (CheckName::Smoothing, scatter::smoothing),
    (CheckName::Spikes, scatter::spikes),
    (CheckName::Dips, local::dips),
    (CheckName::Repeatability, scatter::repeatability),
    (CheckName::PullOrder, scatter::order),
];

/// Air by fuel flow over air by torque [-]; none without a fuel flow.
pub(super) fn air_ratio(e: &Evidence<'_>) -> Option<f64> {
    fuel::air_from_fuel(e).ok().map(|(measure, _)| measure.value)
}

/// A number with its limits, and what was found besides.
fn measure(value: f64, consistent: Interval, credible: Interval, finding: Finding) -> CheckOutcome {
    if !value.is_finite() {
        return Err(Lack::FiniteNumber);
    }
    Ok((Measure { value, consistent, credible }, finding))
}
