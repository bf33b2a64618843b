//! What is known after the fit: the most probable parameters and their covariance.

use super::model::{FitProblem, MOVES_VE, MeasuredTorque, Model};
use super::noise::Noise;
use super::parameters::{COUNT, SCALE, SIGMA, TILTED, place_of};
use super::result::FitFault;
use nalgebra::{DMatrix, DVector};

/// A quantity that is linear in the parameters, near the fit: mean and standard deviation, before and after.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct BeforeAfter {
    pub(super) before: (f64, f64),
    pub(super) after: (f64, f64),
}

/// Parameters and covariance after the fit, in deviates.
pub(super) struct Posterior {
    pub(super) mean: DVector<f64>,
    /// Whether the search came to rest.
    pub(super) settled: bool,
    pub(super) covariance: DMatrix<f64>,
    /// Inverse of the covariance.
    pub(super) information: DMatrix<f64>,
    /// What the readings add to the information.
    measured: DMatrix<f64>,
}

impl Posterior {
    /// Fits the readings.
    ///
    /// # Errors
    /// [`FitFault`] when the solver or the model fails.
    pub(super) fn new(
        model: &Model<'_>,
        readings: &[MeasuredTorque],
        noise: &Noise,
    ) -> Result<Self, FitFault> {
        let (row, whole) = (noise.row_frac, noise.whole_frac);
        let problem = || FitProblem { model, readings, row, whole };
        let (mean, settled) = problem().solve().map_err(|error| FitFault::Solver(error.to_string()))?;
        let slopes = problem().slopes(&mean).map_err(FitFault::Estimate)?;
        let measured = slopes.transpose() * &slopes;
        let information = &measured + DMatrix::identity(COUNT, COUNT) / (SIGMA * SIGMA);
        let covariance = information
            .clone()
            .cholesky()
            .ok_or_else(|| FitFault::Solver("the information of the fit has no inverse".to_owned()))?
            .inverse();
        Ok(Self { mean, settled, covariance, information, measured })
    }

    /// Whether the readings hold anything of a parameter: they alone would set it within ten of its own bands.
    pub(super) fn is_touched(&self, place: usize) -> bool {
        self.measured[(place, place)] > 0.01 / (SIGMA * SIGMA)
    }

    /// Correlation of two parameters, all others free.
    pub(super) fn correlation(&self, a: usize, b: usize) -> f64 {
        self.covariance[(a, b)] / (self.covariance[(a, a)] * self.covariance[(b, b)]).sqrt()
    }

    /// Correlation of two parameters, all others held.
    pub(super) fn correlation_held(&self, a: usize, b: usize) -> f64 {
        -self.information[(a, b)] / (self.information[(a, a)] * self.information[(b, b)]).sqrt()
    }

    /// A quantity by its value and slopes before and after.
    pub(super) fn known(&self, before: (f64, &DVector<f64>), after: (f64, &DVector<f64>)) -> BeforeAfter {
        BeforeAfter { before: (before.0, SIGMA * before.1.norm()), after: (after.0, self.spread(after.1)) }
    }

    /// Standard deviation, after the fit, of a quantity by its slopes.
    pub(super) fn spread(&self, slopes: &DVector<f64>) -> f64 {
        slopes.dot(&(&self.covariance * slopes)).max(0.0).sqrt()
    }
}

/// Slopes of the logarithm of VE at every modelled speed: one row per speed.
pub(super) fn filling_slopes(model: &Model<'_>, at: &DVector<f64>) -> DMatrix<f64> {
    const STEP: f64 = 1e-3;
    let speeds = model.speeds_rpm();
    let mut slopes = DMatrix::zeros(speeds.len(), COUNT);
    for (i, speed) in speeds.iter().enumerate() {
        for place in [SCALE].into_iter().chain(MOVES_VE.map(place_of)) {
            let moved = |step: f64| {
                let mut p = at.clone();
                p[place] += step;
                model.ln_filling(&p, i)
            };
            slopes[(i, place)] = (moved(STEP) - moved(-STEP)) / (2.0 * STEP);
        }
        for (k, slope) in model.span.shape(*speed).into_iter().enumerate() {
            slopes[(i, TILTED + k)] = slope;
        }
    }
    slopes
}
