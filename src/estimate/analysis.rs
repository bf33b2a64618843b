//! One fuel at one speed: sparks, margins and the response to uncertain inputs.

use super::error::EstimateError;
use super::job::{Job, fuel_in_use};
use super::point::{FuelInUse, PointSetting, Shifts};
use super::response::{CycleInputs, FuelVariants, Response};
use super::sweep::{in_order, over_speeds};
use super::tuned::Tuned;
use super::uncertainty::Input;
use crate::engine::breathing::VolumetricEfficiency;
use crate::fuel::PumpFuel;

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
    /// The likely case with its sparks.
    pub likely: Tuned<'a>,
    /// Volumetric efficiency of the build, with its band.
    pub breathing: VolumetricEfficiency,
    /// Degrees from the spark used to the spark at which the margin is zero.
    pub spark_margin_deg: f64,
    /// Response to uncertain inputs.
    pub response: Response,
}

impl<'a> PointAnalysis<'a> {
    /// Searches both sparks and runs the response grid.
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
        let breathing = likely.point.breathing();
        let ratios = breathing.whole_ratios();
        let sparks = (likely.mbt.spark_deg_btdc, likely.used.spark_deg_btdc);
        let response = Response::new(setting, &fuel.variants, speed_rpm, sparks, ratios);
        let inputs = CycleInputs {
            shifts: Shifts::NONE,
            lambda: fuel.likely().lambda,
            ethanol_vol_frac: fuel.likely().blend.ethanol_vol_frac,
            unmeasured: [0.0; 2],
        };
        let limit = likely.point.ln_integral_allowed(likely.octane_index);
        let spark_margin_deg = response.at(&inputs).spark_at_limit(limit) - likely.used.spark_deg_btdc;
        Ok(Self { likely, breathing, spark_margin_deg, response })
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
        over_speeds(fuels, &job.speeds_rpm, |fuel, speed| {
            let found = Self::new(job, setting, fuel, speed);
            done();
            found
        })
    }

    /// Ignition integral of the fuel at the spark used [-].
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
