//! Torque of the build with its parameters moved, and its least-squares problem.

use super::super::evidence::top;
use super::super::log::Place;
use super::parameters::{COUNT, READING, SCALE, SIGMA, Smooth, Span, place_of};
use super::pipes::About;
use crate::engine::{Driveline, PipeInput};
use crate::estimate::analysis::{PointAnalysis, PreparedFuel};
use crate::estimate::sampling::{crank_torque_nm, input_of_pipes};
use crate::estimate::uncertainty::{INPUTS, Input, Sample};
use crate::estimate::{EstimateError, Job};
use argmin::core::{Error, Executor, Jacobian, Operator, State, TerminationReason};
use argmin::solver::gaussnewton::GaussNewton;
use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

/// Step of a deviate for slopes.
const STEP: f64 = 0.05;
const MOST_ITERATIONS: u64 = 25;
/// Change of the norm of the residuals at which the fit ends.
const TOLERANCE: f64 = 1e-4;
/// Sum of squares by which the last step may lie above the best, where torque has a kink that steps go to and fro
/// over: one standard deviation of one parameter is 1.
const AT_REST: f64 = 1.0;

/// Inputs of the estimate, besides its level, that move VE by themselves.
pub(super) const MOVES_VE: [Input; 1 + PipeInput::ALL.len()] =
    [Input::Powerband, Input::RunnerLength, Input::PrimaryLength, Input::ValveFlow, Input::WaveDamping];
/// Deviates beyond which no powerband goes, and no size of pipes is written.
pub(super) const MOST_DEVIATE: f64 = 2.0;

/// A build on the fuel and day of the pulls, every point of it analysed.
pub(super) struct Model<'a> {
    job: &'a Job,
    fuel: &'a PreparedFuel,
    analyses: Vec<PointAnalysis<'a>>,
    place: Place,
    loss: Smooth,
    peak: usize,
    about: &'a About,
    pub(super) span: Span,
}

impl<'a> Model<'a> {
    /// Analyses every speed of the job.
    ///
    /// # Arguments
    /// - `about`: where the pipes of the job stand against those of the scenario
    ///
    /// # Errors
    /// [`EstimateError`] when the job lies outside the model.
    pub(super) fn new(
        job: &'a Job,
        fuel: &'a PreparedFuel,
        place: Place,
        about: &'a About,
    ) -> Result<Self, EstimateError> {
        let setting = job.setting();
        let analyses: Vec<PointAnalysis<'a>> = job
            .speeds_rpm
            .par_iter()
            .map(|speed| PointAnalysis::new(job, setting, fuel, *speed))
            .collect::<Vec<_>>()
            .into_iter()
            .collect::<Result<_, _>>()?;
        let power: Vec<f64> = analyses
            .iter()
            .map(|a| a.torque_nm(a.likely.used.bmep_bar()) * a.likely.point.speed_rpm())
            .collect();
        let band = job.build.driveline.loss_band();
        let ends = (job.speeds_rpm.first(), job.speeds_rpm.last());
        let (from_rpm, to_rpm) = (ends.0.copied().unwrap_or(0.0), ends.1.copied().unwrap_or(1.0));
        Ok(Self {
            job,
            fuel,
            analyses,
            place,
            loss: Smooth::through(band.low, band.likely, band.high),
            peak: top(&power),
            about,
            span: Span { from_rpm, to_rpm, freedom: about.freedom },
        })
    }

    /// Speeds that are modelled [rpm].
    pub(super) fn speeds_rpm(&self) -> &[f64] {
        &self.job.speeds_rpm
    }

    /// Volumetric efficiency of the scenario at a modelled speed, as it states it [-].
    pub(super) fn stated_filling(&self, index: usize) -> f64 {
        self.analyses[index].breathing.likely / self.about.ln_filling(index).exp()
    }

    /// Driveline loss of a deviate [-].
    pub(super) fn loss(&self, deviate: f64) -> f64 {
        self.loss.at(deviate).clamp(0.0, 0.6)
    }

    /// Logarithm of VE over that of the scenario at a modelled speed.
    pub(super) fn ln_filling(&self, parameters: &DVector<f64>, index: usize) -> f64 {
        let band = &self.analyses[index].breathing;
        let scale = Smooth::through(band.low_ratio, 1.0, band.high_ratio).at(parameters[SCALE]);
        let moved = self.powerband_factor(parameters[place_of(Input::Powerband)], index);
        scale.max(0.3).ln()
            + moved.ln()
            + self.about.ln_filling(index)
            + self.ln_by_pipes(parameters, index)
            + self.span.ln_shape(parameters, self.speeds_rpm()[index])
    }

    /// Factor on VE of a powerband that lies elsewhere, at a modelled speed [-].
    pub(super) fn powerband_factor(&self, deviate: f64, index: usize) -> f64 {
        self.analyses[index].likely.point.powerband_factor(deviate.clamp(-MOST_DEVIATE, MOST_DEVIATE))
    }

    /// Logarithm of VE over that of the modelled build by sizes of pipes that are not those it has.
    fn ln_by_pipes(&self, parameters: &DVector<f64>, index: usize) -> f64 {
        let changes = PipeInput::ALL.iter().zip(self.analyses[index].breathing.pipes);
        let off =
            |size: PipeInput| parameters[place_of(input_of_pipes(size))] - self.about.deviates[size as usize];
        changes.map(|(size, change)| change * off(*size)).sum()
    }

    fn crank_torque_nm(&self, parameters: &DVector<f64>, index: usize) -> Result<f64, EstimateError> {
        let band = &self.analyses[index].breathing;
        let mut deviates = [0.0; INPUTS];
        for input in Input::ALL {
            deviates[input as usize] = parameters[place_of(input)];
        }
        let off = (self.ln_filling(parameters, index) - self.about.ln_filling(index)).exp() - 1.0;
        let half = if off < 0.0 { 1.0 - band.low_ratio } else { band.high_ratio - 1.0 };
        deviates[Input::Breathing as usize] = off / half;
        // They are in the VE.
        for input in MOVES_VE {
            deviates[input as usize] = 0.0;
        }
        crank_torque_nm(self.job, self.fuel, &self.analyses[index], &Sample::of(deviates))
    }

    /// Torque at the place of the log at every modelled speed, the reading without error [N m].
    ///
    /// # Errors
    /// [`EstimateError::Fuel`] when an ethanol content makes no blend.
    pub(super) fn torque_nm(&self, parameters: &DVector<f64>) -> Result<Vec<f64>, EstimateError> {
        let crank: Vec<f64> = (0..self.analyses.len())
            .map(|i| self.crank_torque_nm(parameters, i))
            .collect::<Result<_, _>>()?;
        Ok(match self.place {
            Place::Crank => crank,
            Place::Wheel => {
                let loss = self.loss(parameters[place_of(Input::Driveline)]);
                let at_peak = crank[self.peak];
                crank.iter().map(|torque| Driveline::wheel_torque_nm(*torque, loss, at_peak)).collect()
            }
        })
    }
}

/// A measured torque at a modelled speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct MeasuredTorque {
    /// Place in the modelled speeds.
    pub(super) index: usize,
    /// Mean of the pulls, uncorrected [N m].
    pub(super) torque_nm: f64,
}

/// Least squares: measured against modelled, and every parameter against what was known before.
pub(super) struct FitProblem<'a> {
    pub(super) model: &'a Model<'a>,
    pub(super) readings: &'a [MeasuredTorque],
    /// Standard deviation of each reading on its own [-].
    pub(super) row: f64,
    /// Standard deviation that all readings share [-].
    pub(super) whole: f64,
}

impl FitProblem<'_> {
    /// Differences of the logarithms over their standard deviation.
    fn differences(&self, parameters: &DVector<f64>) -> Result<Vec<f64>, EstimateError> {
        let torque = self.model.torque_nm(parameters)?;
        // One deviate is the 90th percentile, for the reading as for all else.
        let reading = parameters[READING] * self.whole / SIGMA;
        Ok(self
            .readings
            .iter()
            .map(|r| ((torque[r.index].max(1e-3) / r.torque_nm).ln() + reading) / self.row)
            .collect())
    }

    /// Slopes of the differences: one row per reading, one column per parameter.
    ///
    /// # Errors
    /// As [`Model::torque_nm`].
    pub(super) fn slopes(&self, parameters: &DVector<f64>) -> Result<DMatrix<f64>, EstimateError> {
        let columns: Vec<DVector<f64>> = (0..COUNT)
            .into_par_iter()
            .map(|k| {
                let moved = |step: f64| {
                    let mut p = parameters.clone();
                    p[k] += step;
                    self.differences(&p).map(DVector::from_vec)
                };
                Ok((moved(STEP)? - moved(-STEP)?) / (2.0 * STEP))
            })
            .collect::<Result<_, EstimateError>>()?;
        Ok(DMatrix::from_columns(&columns))
    }

    /// The most probable parameters, and whether the search came to rest there: Gauss-Newton from what was known before.
    ///
    /// # Errors
    /// The solver's own error, or the model's.
    pub(super) fn solve(self) -> Result<(DVector<f64>, bool), Error> {
        let solver = GaussNewton::new().with_tolerance(TOLERANCE)?;
        let run = Executor::new(self, solver)
            .configure(|state| state.param(DVector::zeros(COUNT)).max_iters(MOST_ITERATIONS))
            .run()?;
        let (last, best) = (run.state().get_cost(), run.state().get_best_cost());
        let settled = run.state().get_termination_reason() == Some(&TerminationReason::SolverConverged)
            || last * last - best * best < AT_REST;
        let found = run.state().get_best_param().cloned();
        found
            .filter(|p| p.iter().all(|x| x.is_finite()))
            .map(|p| (p, settled))
            .ok_or_else(|| Error::msg("no finite parameters were found"))
    }
}

impl Operator for FitProblem<'_> {
    type Param = DVector<f64>;
    type Output = DVector<f64>;

    fn apply(&self, parameters: &DVector<f64>) -> Result<DVector<f64>, Error> {
        let mut all = self.differences(parameters)?;
        all.extend(parameters.iter().map(|x| x / SIGMA));
        Ok(DVector::from_vec(all))
    }
}

impl Jacobian for FitProblem<'_> {
    type Param = DVector<f64>;
    type Jacobian = DMatrix<f64>;

    fn jacobian(&self, parameters: &DVector<f64>) -> Result<DMatrix<f64>, Error> {
        let slopes = self.slopes(parameters)?;
        let rows = slopes.nrows();
        let mut all = slopes.resize_vertically(rows + COUNT, 0.0);
        for k in 0..COUNT {
            all[(rows + k, k)] = 1.0 / SIGMA;
        }
        Ok(all)
    }
}
