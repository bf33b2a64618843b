//! What a builder can change, and what each change is worth at the tightest point.

use super::analysis::{PointAnalysis, PreparedFuel, fuel_in_use};
use super::job::{EstimateError, Job};
use super::point::{AtSpark, FuelInUse, Point, Setting, Shifts};
use super::result::Lever;
use crate::air::Weather;
use crate::engine::{Build, Cooling};
use crate::fuel::Blend;
use crate::units::CompressionRatio;

/// Steps of the levers, each small enough to be read as a slope.
const RATIO_STEP: f64 = 0.1;
const SPARK_STEP_DEG: f64 = 1.0;
const TEMPERATURE_STEP_K: f64 = 10.0;
const ETHANOL_STEP: f64 = 0.10;
const BURN_STEP: f64 = 0.10;
const WALL_STEP_K: f64 = 20.0;
const OCTANE_STEP: f64 = 1.0;

/// One operating point that levers are pulled at.
struct Bench<'a> {
    job: &'a Job,
    setting: Setting<'a>,
    fuel: &'a PreparedFuel,
    analysis: &'a PointAnalysis<'a>,
}

/// Octane margin and brake mean effective pressure.
struct Reading {
    margin: f64,
    bmep_bar: f64,
}

impl Bench<'_> {
    fn reading(&self, at: &AtSpark, blend: &Blend) -> Reading {
        let index = blend.octane_index(self.analysis.sensitivity_weight);
        let need = self.analysis.likely.point.octane_requirement(at.integral_at_100);
        Reading { margin: index - need, bmep_bar: at.bmep_bar() }
    }

    fn now(&self) -> Reading {
        self.reading(&self.analysis.likely.used, &self.fuel.likely().blend)
    }

    /// The point at its own spark with the build, the day or the fuel changed.
    fn with(&self, build: &Build, weather: &Weather, fuel: &FuelInUse, spark: f64) -> Reading {
        let setting = Setting { build, weather, ..self.setting };
        let point = Point::new(setting, fuel, self.analysis.likely.point.speed_rpm(), Shifts::NONE);
        self.reading(&point.at_spark(spark), &fuel.blend)
    }

    fn with_build(&self, change: impl Fn(&mut Build)) -> Reading {
        let mut build = self.job.build.clone();
        change(&mut build);
        self.with(&build, &self.job.weather, self.fuel.likely(), self.spark())
    }

    /// The fuel at an ethanol content on a day, at its own mixture.
    fn in_use(&self, ethanol_vol_frac: f64, weather: &Weather) -> Result<FuelInUse, EstimateError> {
        fuel_in_use(&self.fuel.pump, ethanol_vol_frac, self.fuel.likely().lambda, weather)
    }

    fn spark(&self) -> f64 {
        self.analysis.likely.used.spark_deg_btdc
    }

    /// Ten points of ethanol more, or less where the fuel has no room for more; none where it has
    /// room for neither.
    fn with_ethanol(&self) -> Result<Option<(&'static str, Reading)>, EstimateError> {
        let content = self.fuel.likely().blend.ethanol_vol_frac;
        let (name, content) = if content + ETHANOL_STEP <= 0.99 {
            ("ethanol content +10 points", content + ETHANOL_STEP)
        } else {
            ("ethanol content -10 points", content - ETHANOL_STEP)
        };
        let fuel = match self.in_use(content, &self.job.weather) {
            Ok(fuel) => fuel,
            Err(EstimateError::Fuel { .. }) => return Ok(None),
            Err(error) => return Err(error),
        };
        Ok(Some((name, self.with(&self.job.build, &self.job.weather, &fuel, self.spark()))))
    }

    fn readings(&self) -> Result<Vec<(&'static str, Reading)>, EstimateError> {
        let ratio = self.job.build.geometry.compression_ratio.get();
        let mut readings = Vec::new();
        if let Ok(lower) = CompressionRatio::new(ratio - RATIO_STEP) {
            readings
                .push(("compression ratio -0.1", self.with_build(|b| b.geometry.compression_ratio = lower)));
        }
        let later = self.analysis.likely.point.at_spark(self.spark() - SPARK_STEP_DEG);
        readings.push(("spark 1 deg later", self.reading(&later, &self.fuel.likely().blend)));
        let cooler = Weather::new(
            self.job.weather.temperature_k - TEMPERATURE_STEP_K,
            self.job.weather.pressure_pa,
            self.job.weather.relative_humidity,
        );
        if let Ok(weather) = cooler {
            // Cooler air of the same relative humidity holds less water: the burned gas is another.
            let fuel = self.in_use(self.fuel.pump.ethanol.likely, &weather)?;
            readings
                .push(("intake air 10 K cooler", self.with(&self.job.build, &weather, &fuel, self.spark())));
        }
        readings.push((
            match self.job.build.combustion.cooling {
                Cooling::Liquid { .. } => "coolant 10 K cooler, walls following",
                Cooling::Air { .. } => "head 10 K cooler, walls following",
            },
            self.with_build(|b| {
                b.combustion = b.combustion.hotter_by(-TEMPERATURE_STEP_K);
            }),
        ));
        readings.push((
            "chamber walls and exhaust valve 20 K cooler",
            self.with_build(|b| b.combustion.wall_temperature_k -= WALL_STEP_K),
        ));
        readings.push(("burn speed +10 %", self.with_build(|b| b.combustion.burn_speed *= 1.0 + BURN_STEP)));
        readings.extend(self.with_ethanol()?);
        let now = self.now();
        readings.push(("fuel octane (RON and MON) +1", Reading { margin: now.margin + OCTANE_STEP, ..now }));
        Ok(readings)
    }
}

/// Worth of every lever at one point, the spark held but for the spark lever.
///
/// # Errors
/// [`EstimateError::Gas`] when a changed fuel leaves the solver's range.
pub fn levers(
    job: &Job,
    setting: Setting<'_>,
    fuel: &PreparedFuel,
    analysis: &PointAnalysis<'_>,
) -> Result<Vec<Lever>, EstimateError> {
    let bench = Bench { job, setting, fuel, analysis };
    let now = bench.now();
    let worth = |(name, reading): (&'static str, Reading)| Lever {
        name,
        octane_margin_change: reading.margin - now.margin,
        torque_change_frac: reading.bmep_bar / now.bmep_bar - 1.0,
    };
    Ok(bench.readings()?.into_iter().map(worth).collect())
}
