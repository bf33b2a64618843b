//! One fuel at one speed: sparks, margins and the response to uncertain inputs.

use super::job::{EstimateError, Job};
use super::likely::LikelyPoint;
use super::point::{AtSpark, FuelInUse, Point, Setting, Shifts};
use super::response::{CycleInputs, FuelVariants, Response};
use super::uncertainty::Input;
use crate::air::Weather;
use crate::fuel::PumpFuel;
use crate::knock::{integral_at, ln_integral_allowed, octane_requirement, sensitivity_weight};
use crate::units::power_of_torque_kw;

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

    /// The likely fuel.
    pub fn likely(&self) -> &FuelInUse {
        &self.variants.likely
    }
}

/// A pump fuel at an ethanol content and a mixture, with its burned gas on a day.
///
/// # Errors
/// [`EstimateError::Fuel`] when the content makes no blend, [`EstimateError::Gas`] when the mixture is outside
/// the solver's range.
pub(crate) fn fuel_in_use(
    pump: &PumpFuel,
    ethanol_vol_frac: f64,
    lambda: f64,
    weather: &Weather,
) -> Result<FuelInUse, EstimateError> {
    let fuel = || pump.name.clone();
    let blend =
        pump.blend_at(ethanol_vol_frac).map_err(|source| EstimateError::Fuel { fuel: fuel(), source })?;
    FuelInUse::new(blend, lambda, weather).map_err(|source| EstimateError::Gas {
        fuel: fuel(),
        lambda,
        source,
    })
}

/// Everything found about one fuel at one speed before sampling.
#[derive(Clone, Debug)]
pub struct PointAnalysis<'a> {
    /// The point itself.
    pub point: Point<'a>,
    /// At best-torque spark.
    pub best: AtSpark,
    /// At the spark used.
    pub used: AtSpark,
    /// Most advanced spark that keeps the reserve, at most best torque [deg before top dead centre].
    pub knock_limited_spark: Option<f64>,
    /// Octane index of the fuel [-].
    pub octane_index: f64,
    /// Weight K of sensitivity [-].
    pub sensitivity_weight: f64,
    /// Degrees from the spark used to the spark at which the margin is zero.
    pub spark_margin_deg: f64,
    /// Response to uncertain inputs.
    pub response: Response,
}

impl<'a> PointAnalysis<'a> {
    /// Searches both sparks and runs the response grid.
    ///
    /// # Errors
    /// As [`LikelyPoint::new`].
    pub fn new(
        job: &Job,
        setting: Setting<'a>,
        fuel: &'a PreparedFuel,
        speed_rpm: f64,
    ) -> Result<Self, EstimateError> {
        let named = (fuel.pump.name.as_str(), fuel.likely());
        let LikelyPoint { point, best, used, knock_limited_spark, octane_index } =
            LikelyPoint::new(job, setting, named, speed_rpm, Shifts::NONE)?;
        let breathing = point.breathing();
        let response =
            Response::new(setting, &fuel.variants, speed_rpm, best.spark_deg_btdc, breathing.whole_ratios());
        let blend = &fuel.likely().blend;
        let likely = CycleInputs {
            shifts: Shifts::NONE,
            lambda: fuel.likely().lambda,
            ethanol_vol_frac: blend.ethanol_vol_frac,
        };
        let limit = ln_integral_allowed(octane_index, setting.fit.octane_exponent);
        let spark_margin_deg = response.at(&likely).spark_at_limit(limit) - used.spark_deg_btdc;
        Ok(Self {
            point,
            best,
            used,
            knock_limited_spark,
            octane_index,
            sensitivity_weight: sensitivity_weight(setting.build.injection),
            spark_margin_deg,
            response,
        })
    }

    /// The point without its response.
    pub fn as_likely(&self) -> LikelyPoint<'a> {
        let Self { point, best, used, knock_limited_spark, octane_index, .. } = *self;
        LikelyPoint { point, best, used, knock_limited_spark, octane_index }
    }

    /// Octane requirement at a run of this point [-].
    pub fn requirement(&self, at: &AtSpark) -> f64 {
        octane_requirement(at.integral_at_100, self.point.setting().fit.octane_exponent)
    }

    /// Ignition integral of the fuel at the spark used [-].
    pub fn integral(&self) -> f64 {
        integral_at(self.octane_index, self.used.integral_at_100, self.point.setting().fit.octane_exponent)
    }

    /// Torque of a brake mean effective pressure [N m].
    pub fn torque_nm(&self, bmep_bar: f64) -> f64 {
        self.point.setting().build.geometry.torque_nm(bmep_bar)
    }

    /// Power of a torque at this speed [kW].
    pub fn power_kw(&self, torque_nm: f64) -> f64 {
        power_of_torque_kw(torque_nm, self.point.speed_rpm())
    }
}
