//! One fuel at one speed: timings, margins and the response to uncertain inputs.

use super::band::band;
use super::error::EstimateError;
use super::interpolate::NearestCubic;
use super::job::{Job, fuel_in_use};
use super::point::{AtSpark, FuelInUse, PointSetting, Shifts};
use super::response::{CycleInputs, FuelVariants, Response};
use super::slopes::{SlopeTable, Slopes, slope_speeds};
use super::sweep::{in_order, over_speeds};
use super::tuned::Tuned;
use super::uncertainty::{INPUTS, Input, Sample};
use crate::engine::breathing::VolumetricEfficiency;
use crate::fuel::PumpFuel;
use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

/// Half of the step of timing over which the slope of the margin is taken [deg].
const SLOPE_STEP_DEG: f64 = 0.5;

/// A fuel ready to run: its blends and tables, as likely and at the ends of what is uncertain.
#[derive(Clone, Debug)]
pub struct PreparedFuel {
    /// The fuel as asked for.
    pub pump: PumpFuel,
    /// Likely case and variants.
    pub variants: FuelVariants,
}

impl PreparedFuel {
    /// Makes the blends and tabulates their burned gas.
    ///
    /// # Errors
    /// [`EstimateError::Fuel`] or [`EstimateError::Gas`] when blend or mixture is outside the model.
    pub fn new(job: &Job, pump: &PumpFuel, lambda: Option<f64>) -> Result<Self, EstimateError> {
        let lambda = lambda.unwrap_or(pump.best_power_lambda);
        let in_use = |content: f64, lambda: f64| fuel_in_use(pump, content, lambda, &job.weather);
        let content = pump.ethanol;
        let spread = 1.5 * Input::Mixture.half_width();
        let variants = FuelVariants {
            likely: in_use(content.likely, lambda)?,
            mixture: [in_use(content.likely, lambda - spread)?, in_use(content.likely, lambda + spread)?],
            content: if content.low < content.likely && content.likely < content.high {
                Some([in_use(content.low, lambda)?, in_use(content.high, lambda)?])
            } else {
                None
            },
        };
        Ok(Self { pump: pump.clone(), variants })
    }

    /// Every fuel of a job.
    ///
    /// # Errors
    /// As [`Self::new`], the first in the order of the fuels.
    pub fn of_job(job: &Job) -> Result<Vec<Self>, EstimateError> {
        in_order(&job.fuels, |choice| Self::new(job, &choice.fuel, choice.lambda.map(|l| l.get())))
    }

    /// Name and likely fuel.
    pub fn named(&self) -> (&str, &FuelInUse) {
        (self.pump.name.as_str(), self.likely())
    }

    /// The likely fuel.
    pub fn likely(&self) -> &FuelInUse {
        &self.variants.likely
    }
}

/// Everything found about one fuel at one speed before sampling.
#[derive(Clone, Debug)]
pub struct PointAnalysis<'a> {
    /// The likely case with its timings.
    pub likely: Tuned<'a>,
    /// Volumetric efficiency of the build, with its band.
    pub breathing: VolumetricEfficiency,
    /// Degrees from the timing used to the timing at which the margin is zero.
    pub spark_margin_deg: f64,
    /// Response to uncertain inputs.
    pub response: Response,
    /// Between the timings of its grid at MBT timing and at the one used.
    pub(super) mbt_cubic: NearestCubic,
    pub(super) used_cubic: NearestCubic,
}

impl<'a> PointAnalysis<'a> {
    /// Searches both timings and runs the response grid.
    ///
    /// # Errors
    /// As [`Tuned::new`].
    pub fn new(
        job: &Job,
        setting: PointSetting<'a>,
        fuel: &'a PreparedFuel,
        speed_rpm: f64,
    ) -> Result<Self, EstimateError> {
        let likely = Tuned::new(job, setting, fuel.named(), speed_rpm, Shifts::NONE)?;
        let slopes = Slopes::new(&likely, fuel, -likely.retard_deg());
        Ok(Self::with_slopes(likely, fuel, &slopes))
    }

    /// Runs the response grid of a point whose slopes are known.
    pub fn with_slopes(likely: Tuned<'a>, fuel: &PreparedFuel, slopes: &Slopes) -> Self {
        let response = Response::new(&likely, slopes);
        Self::with_response(likely, fuel, response)
    }

    /// A point whose response grid is known.
    pub fn with_response(likely: Tuned<'a>, fuel: &PreparedFuel, response: Response) -> Self {
        let breathing = likely.point.breathing();
        let inputs = CycleInputs {
            shifts: Shifts::NONE,
            lambda: fuel.likely().lambda,
            ethanol_vol_frac: fuel.likely().blend.ethanol_vol_frac,
            unmeasured: [0.0; 2],
        };
        let limit = likely.point.ln_integral_allowed(likely.octane_index);
        let spark_margin_deg = response.at(&inputs).spark_at_limit(limit) - likely.used.spark_deg_btdc;
        let cubic = |at: &AtSpark| NearestCubic::new(&response.sparks_deg_btdc, at.spark_deg_btdc);
        let (mbt_cubic, used_cubic) = (cubic(&likely.mbt), cubic(&likely.used));
        Self { likely, breathing, spark_margin_deg, response, mbt_cubic, used_cubic }
    }

    /// Every fuel at every speed of a job: the speeds of the first fuel, then of the next.
    ///
    /// # Arguments
    /// - `done`: called after each point, from any thread
    ///
    /// # Errors
    /// As [`Self::new`], the first in order.
    pub fn over_speeds(
        job: &'a Job,
        fuels: &'a [PreparedFuel],
        done: impl Fn() + Sync + Send,
    ) -> Result<Vec<Self>, EstimateError> {
        let setting = job.setting();
        let tuned = over_speeds(fuels, &job.speeds_rpm, |fuel, speed| {
            Tuned::new(job, setting, fuel.named(), speed, Shifts::NONE)
        })?;
        let speeds = job.speeds_rpm.len();
        let at = slope_speeds(&job.speeds_rpm);
        let ratio = job.build.geometry.compression_ratio.get();
        let curves: Vec<_> = fuels.iter().zip(tuned.chunks(speeds)).collect();
        let tables: Vec<_> = curves
            .par_iter()
            .map(|(fuel, curve)| {
                let nodes: Vec<_> = at.iter().map(|i| [&curve[*i]]).collect();
                SlopeTable::new([ratio], &nodes, fuel)
            })
            .collect();
        let points: Vec<_> = (0..tuned.len()).collect();
        let found = points.par_iter().map(|i| {
            let likely = tuned[*i];
            let slopes = tables[i / speeds].at(likely.speed_rpm(), ratio);
            done();
            Self::with_slopes(likely, &fuels[i / speeds], &slopes)
        });
        Ok(found.collect())
    }

    /// Octane numbers of margin that 1 deg of retard from the timing used gives [-/deg], by a central difference.
    pub fn octane_per_deg(&self) -> f64 {
        let spark_deg_btdc = self.likely.used.spark_deg_btdc;
        let margin = |spark: f64| self.likely.octane_margin(&self.likely.point.at_spark(spark));
        (margin(spark_deg_btdc - SLOPE_STEP_DEG) - margin(spark_deg_btdc + SLOPE_STEP_DEG))
            / (2.0 * SLOPE_STEP_DEG)
    }

    /// Ignition integral of the fuel at the timing used [-].
    pub fn integral(&self) -> f64 {
        let allowed = self.likely.point.ln_integral_allowed(self.likely.octane_index).exp();
        self.likely.used.integral_at_100 / allowed
    }

    /// Torque of a brake mean effective pressure [N m].
    pub fn torque_nm(&self, bmep_bar: f64) -> f64 {
        self.likely.point.setting().build.geometry.torque_nm(bmep_bar)
    }

    /// Power of a torque at this speed [kW].
    pub fn power_kw(&self, torque_nm: f64) -> f64 {
        self.likely.point.power_kw(torque_nm)
    }
}

/// What each uncertain input moves a result of the samples by: from the middle of the input to its 90th percentile, all
/// others held. Least squares, linear in all inputs at once, so that no input takes the credit of another.
///
/// # Arguments
/// - `samples`: what was drawn
/// - `results`: one of each sample, in its unit
///
/// # Returns
/// The change for each of [`Input::ALL`], in the unit of the results; half of the way from its 10th to its 90th percentile
/// where that is narrower than drawn.
pub fn swings(samples: &[Sample], results: &[f64]) -> [f64; INPUTS] {
    let deviates = |input: usize| samples.iter().map(move |sample| sample.deviates()[input]);
    let drawn: [_; INPUTS] = std::array::from_fn(|input| band(deviates(input)));
    let mean = |values: &mut dyn Iterator<Item = f64>| values.sum::<f64>() / samples.len() as f64;
    let means: [f64; INPUTS] = std::array::from_fn(|input| mean(&mut deviates(input)));
    let middle = mean(&mut results.iter().copied());
    let design =
        DMatrix::from_fn(samples.len(), INPUTS, |row, input| samples[row].deviates()[input] - means[input]);
    let found = DVector::from_iterator(results.len(), results.iter().map(|result| result - middle));
    let normal = design.tr_mul(&design);
    // Inputs that do not vary apart share what they move.
    let slopes = normal.svd(true, true).solve(&design.tr_mul(&found), LEAST_SINGULAR * samples.len() as f64);
    slopes.map_or([0.0; INPUTS], |slopes| {
        std::array::from_fn(|input| slopes[input] * 0.5 * (drawn[input].high - drawn[input].low))
    })
}

/// Mean square of a combination of deviates below which it counts as not varying.
const LEAST_SINGULAR: f64 = 1e-9;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::estimate::uncertainty::latin_hypercube;
    use approx::assert_relative_eq;

    /// HAND: a result that is 3 times one deviate less 2 times another moves by them to their 90th percentiles.
    #[test]
    fn a_swing_is_the_slope_on_its_own_input() {
        let samples = latin_hypercube(400, 5);
        let result = |s: &Sample| 90.0 + 3.0 * s.deviate(Input::Breathing) - 2.0 * s.deviate(Input::Friction);
        let results: Vec<f64> = samples.iter().map(result).collect();
        let swings = swings(&samples, &results);
        // A percentile of 400 strata is good to half a stratum: 1 % of the deviate.
        assert_relative_eq!(swings[Input::Breathing as usize], 3.0, max_relative = 0.02);
        assert_relative_eq!(swings[Input::Friction as usize], -2.0, max_relative = 0.02);
        for other in [Input::Heat, Input::KnockModel, Input::KnockSpeed] {
            assert!(swings[other as usize].abs() < 1e-9, "{other:?}");
        }
    }

    /// HAND: an input that does not vary moves nothing, and one drawn half as wide moves half as much.
    #[test]
    fn a_swing_is_as_wide_as_its_input_was_drawn() {
        let halved = |s: Sample| {
            let half = 0.5 * s.deviate(Input::Breathing);
            s.with_deviate(Input::Breathing, half).with_deviate(Input::EthanolContent, 0.0)
        };
        let samples: Vec<Sample> = latin_hypercube(400, 6).into_iter().map(halved).collect();
        let results: Vec<f64> = samples.iter().map(|s| 3.0 * s.deviate(Input::Breathing)).collect();
        let swings = swings(&samples, &results);
        assert_relative_eq!(swings[Input::Breathing as usize], 1.5, max_relative = 0.02);
        assert_eq!(swings[Input::EthanolContent as usize], 0.0);
    }
}
