//! How far the curve of an honest pull may lie from the estimate, as a normal distribution.
//!
//! The logarithm of measured over likely torque varies with everything that the estimate does not know: the level, the
//! rpm of the powerband, a straight tilt, a fall beyond peak power, waves of intake and exhaust, and scatter.

use crate::dyno::evidence::Evidence;
use crate::dyno::log::LogCorrection;
use crate::estimate::uncertainty::Z_90;
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};
use std::f64::consts::TAU;

/// Half width of the 10-90 % band of a straight tilt of torque over the compared rpm, at either end [-]: VE at peak power
/// is 0.85 to 0.97 of its peak (common practice, no source).
const TILT: f64 = 0.04;
/// The same of torque at the highest compared rpm, growing with the square of the way from peak power (common practice,
/// no source: how hard an engine falls off is known from no catalogue).
const FALL: f64 = 0.05;
/// Standard deviation of waves in intake and exhaust that no band or sheet knows of [-], and how far they reach [rpm]
/// (common practice, no source).
const WAVES: f64 = 0.015;
const WAVES_RPM: f64 = 600.0;
/// Standard deviation of the mean of the pulls at one rpm [-] (common practice, no source).
const SCATTER: f64 = 0.005;
/// Standard deviation of what all rows of a dyno share from day to day [-] (common practice, no source).
const DAY: f64 = 0.01;

/// The distribution of honest curves.
pub(super) struct Honest {
    root: Cholesky<f64, Dyn>,
    /// Logarithm of the density at the mean.
    at_mean: f64,
}

impl Honest {
    /// Of a log beside an estimate.
    ///
    /// # Arguments
    /// - `more`: variance that single points have besides
    pub(super) fn new(e: &Evidence<'_>, more: Option<&[f64]>) -> Option<Self> {
        let mut covariance = covariance(e);
        for (i, variance) in more.into_iter().flatten().enumerate() {
            covariance[(i, i)] += variance;
        }
        let count = covariance.nrows() as f64;
        let root = covariance.cholesky()?;
        let half_ln_det: f64 = root.l_dirty().diagonal().iter().map(|d| d.ln()).sum();
        Some(Self { root, at_mean: -half_ln_det - 0.5 * count * TAU.ln() })
    }

    /// Logarithm of the density of a curve, as the logarithm of its ratio to the likely estimate.
    pub(super) fn ln_density(&self, off: &DVector<f64>) -> f64 {
        self.at_mean - 0.5 * self.distance_squared(off)
    }

    /// Square of the distance from the mean in standard deviations: chi-squared with as many degrees of freedom as points.
    fn distance_squared(&self, off: &DVector<f64>) -> f64 {
        off.dot(&self.root.solve(off))
    }
}

fn covariance(e: &Evidence<'_>) -> DMatrix<f64> {
    let speeds: Vec<f64> = e.points.iter().map(|p| p.speed_rpm).collect();
    let (first, last) = (speeds[0], speeds[speeds.len() - 1]);
    let at_peak = speeds[e.estimated_peak_power];
    let beyond = (last - at_peak).max(f64::EPSILON);
    let level = (0.5 * (e.half_widths[0] + e.half_widths[1])).hypot(DAY * Z_90);
    let tilt = |n: f64| TILT * (2.0 * (n - first) / (last - first) - 1.0);
    let fall = |n: f64| FALL * ((n - at_peak).max(0.0) / beyond).powi(2);
    let shared: [Vec<f64>; 3] = [
        vec![level; speeds.len()],
        speeds.iter().map(|n| tilt(*n)).collect(),
        speeds.iter().map(|n| fall(*n)).collect(),
    ];
    DMatrix::from_fn(speeds.len(), speeds.len(), |i, j| {
        let together: f64 = shared.iter().map(|half| half[i] * half[j]).sum::<f64>() / (Z_90 * Z_90);
        let near = (-0.5 * ((speeds[i] - speeds[j]) / WAVES_RPM).powi(2)).exp();
        together + WAVES * WAVES * near + if i == j { SCATTER * SCATTER } else { 0.0 }
    })
}

/// A number beside the curve, as the logarithm of a ratio that is 1 where nothing is wrong.
#[derive(Clone, Copy, Debug)]
pub(super) struct Beside {
    found: f64,
    deviation: f64,
}

/// Density that any value of such a number has, whatever the cause: loggers have faults of their own.
const OUTLIER: f64 = 0.01;

impl Beside {
    /// Power over torque times rpm: rounding.
    pub(super) fn power_ratio(ratio: f64) -> Self {
        Self { found: ratio.ln(), deviation: 0.004 }
    }

    /// Air by fuel flow over air by torque: meters and model (a tenth of the band of the check).
    pub(super) fn air(ratio: f64) -> Self {
        Self { found: ratio.ln(), deviation: 0.055 }
    }

    /// Logged over computed correction factor: sensors.
    pub(super) fn factor(ratio: f64) -> Self {
        Self { found: ratio.ln(), deviation: 0.004 }
    }

    /// The logarithm found.
    pub(super) fn found(self) -> f64 {
        self.found
    }

    /// Logarithm of the density where a cause makes the logarithm so much.
    pub(super) fn ln_density(self, expected: f64) -> f64 {
        let z = (self.found - expected) / self.deviation;
        ((-0.5 * z * z).exp() / (self.deviation * TAU.sqrt()) + OUTLIER).ln()
    }
}

/// Whether the log is stated to be corrected.
pub(super) fn is_corrected(e: &Evidence<'_>) -> bool {
    e.log.correction != LogCorrection::None
}
