//! The estimate with its powerband where the pull has it.
//!
//! Where VE is that of a kind of build, the rpm at which the engine breathes best is known from a catalogue or a cam
//! card, and its curve from engines of the kind. A pull shows both better. What it shows is fitted out before the
//! shape of the curve is judged.

use super::yardstick::Yardstick;
use crate::engine::Breathing;

/// Change of torque per change of VE, both relative: friction does not grow with VE [-].
pub(super) const TORQUE_PER_VE: f64 = 1.15;
/// Factors on the rpm of the powerband that are tried [-], and their step in the logarithm.
const MOST: f64 = 1.3;
const STEP: f64 = 0.01;

/// A powerband elsewhere: factor on its rpm, and how the logarithm of torque changes at each rpm of the estimate.
#[derive(Clone, Debug)]
pub(super) struct Moved {
    /// Factor on the rpm of peak torque and peak power [-].
    pub(super) factor: f64,
    /// Logarithm of torque over that of the estimate at given rpm.
    pub(super) ln_torque: Vec<f64>,
}

/// Every powerband that is tried, lowest first; none where VE is measured or computed.
pub(super) fn all(yardstick: &Yardstick, speeds_rpm: &[f64]) -> Vec<Moved> {
    let steps = (MOST.ln() / STEP) as i32;
    let at = |i: i32| (f64::from(i) * STEP).exp();
    (-steps..=steps).filter_map(|i| moved(yardstick, speeds_rpm, at(i))).collect()
}

/// The powerband at so many times its rpm; none where VE is measured or computed.
fn moved(yardstick: &Yardstick, speeds_rpm: &[f64], factor: f64) -> Option<Moved> {
    let job = yardstick.job();
    let stated = &job.build.breathing;
    let Breathing::Band { kind, peaks, closes_deg_abdc } = *stated else { return None };
    let other = Breathing::Band { kind, peaks: peaks.scaled(factor), closes_deg_abdc };
    let intake = job.build.intake(job.weather.temperature_k);
    let ln = |speed: &f64| (other.at(*speed, &intake).likely / stated.at(*speed, &intake).likely).ln();
    let ln_torque: Vec<f64> = speeds_rpm.iter().map(|speed| TORQUE_PER_VE * ln(speed)).collect();
    ln_torque.iter().all(|ln| ln.is_finite()).then_some(Moved { factor, ln_torque })
}
