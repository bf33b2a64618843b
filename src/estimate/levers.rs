//! What a builder can change, and what each change is worth at the worst point.

use super::analysis::{PointAnalysis, PreparedFuel};
use super::change::JobChange;
use super::error::EstimateError;
use super::job::{Job, fuel_in_use};
use super::point::{FuelInUse, Point, Shifts};
use super::result::{LeverChange, LeverWorth};
use crate::air::Weather;
use crate::engine::Cooling;
use crate::units::CompressionRatio;

/// Steps of the levers, each small enough to be read as a slope.
const RATIO_STEP: f64 = 0.1;
const SPARK_STEP_DEG: f64 = 1.0;
const TEMPERATURE_STEP_K: f64 = 10.0;
const ETHANOL_STEP: f64 = 0.10;
const BURN_STEP: f64 = 0.10;
const WALL_STEP_K: f64 = 20.0;
const OCTANE_STEP: f64 = 1.0;

/// The operating point that levers are pulled at, and what they are worth there.
struct LeverPoint<'a> {
    job: &'a Job,
    fuel: &'a PreparedFuel,
    analysis: &'a PointAnalysis<'a>,
    /// Octane margin [-] and brake mean effective pressure [bar] as it is.
    now: (f64, f64),
    found: Vec<LeverWorth>,
}

impl LeverPoint<'_> {
    fn add(&mut self, change: LeverChange, (margin, bmep_bar): (f64, f64)) {
        self.found.push(LeverWorth {
            change,
            octane_margin_change: margin - self.now.0,
            torque_change_frac: bmep_bar / self.now.1 - 1.0,
        });
    }

    /// The lever of a changed job on a fuel, the timing held.
    fn run(&mut self, change: LeverChange, job: &Job, fuel: &FuelInUse) {
        let likely = &self.analysis.likely;
        let point = Point::new(job.setting(), fuel, likely.speed_rpm(), Shifts::NONE);
        let at = point.at_spark(likely.used.spark_deg_btdc);
        self.add(change, (point.octane_index() - likely.requirement(&at), at.bmep_bar()));
    }

    fn change(&mut self, change: LeverChange, of_job: JobChange) {
        self.run(change, &self.job.with(of_job), self.fuel.likely());
    }

    /// The fuel at an ethanol content on a day, at its own mixture.
    fn in_use(&self, ethanol_vol_frac: f64, weather: &Weather) -> Result<FuelInUse, EstimateError> {
        fuel_in_use(&self.fuel.pump, ethanol_vol_frac, self.fuel.likely().lambda, weather)
    }

    /// Ten points of ethanol more, or less where the fuel has no room for more; nothing where it has room for neither.
    fn ethanol(&mut self) -> Result<(), EstimateError> {
        let content = self.fuel.likely().blend.ethanol_vol_frac;
        let step_frac = if content + ETHANOL_STEP <= 0.99 { ETHANOL_STEP } else { -ETHANOL_STEP };
        match self.in_use(content + step_frac, &self.job.weather) {
            Ok(fuel) => self.run(LeverChange::EthanolContent { step_frac }, self.job, &fuel),
            Err(EstimateError::Fuel { .. }) => {}
            Err(error) => return Err(error),
        }
        Ok(())
    }
}

/// Worth of every lever at one point, the timing held but for the timing lever.
///
/// # Errors
/// [`EstimateError::Gas`] when a changed fuel leaves the solver's range.
pub fn levers(
    job: &Job,
    fuel: &PreparedFuel,
    analysis: &PointAnalysis<'_>,
) -> Result<Vec<LeverWorth>, EstimateError> {
    let likely = &analysis.likely;
    let now = (likely.octane_margin(&likely.used), likely.used.bmep_bar());
    let mut at = LeverPoint { job, fuel, analysis, now, found: Vec::new() };
    if let Ok(lower) = CompressionRatio::new(job.build.geometry.compression_ratio.get() - RATIO_STEP) {
        at.change(LeverChange::RatioLower { step: RATIO_STEP }, JobChange::CompressionRatio(lower));
    }
    let later = likely.point.at_spark(likely.used.spark_deg_btdc - SPARK_STEP_DEG);
    at.add(
        LeverChange::TimingLater { deg: SPARK_STEP_DEG },
        (likely.octane_margin(&later), later.bmep_bar()),
    );
    let day = &job.weather;
    if let Ok(weather) =
        Weather::new(day.temperature_k - TEMPERATURE_STEP_K, day.pressure_pa, day.relative_humidity)
    {
        // Cooler air of the same relative humidity holds less water: the burned gas is another.
        let cooled = at.in_use(fuel.pump.ethanol.likely, &weather)?;
        at.run(
            LeverChange::AirCooler { by_k: TEMPERATURE_STEP_K },
            &job.with(JobChange::Weather(weather)),
            &cooled,
        );
    }
    let head = match job.build.combustion.cooling {
        Cooling::Liquid { .. } => LeverChange::CoolantCooler { by_k: TEMPERATURE_STEP_K },
        Cooling::Air { .. } => LeverChange::HeadCooler { by_k: TEMPERATURE_STEP_K },
    };
    at.change(head, JobChange::HotterHead(-TEMPERATURE_STEP_K));
    at.change(LeverChange::WallsCooler { by_k: WALL_STEP_K }, JobChange::HotterWalls(-WALL_STEP_K));
    at.change(LeverChange::BurnFaster { by_frac: BURN_STEP }, JobChange::BurnSpeed(1.0 + BURN_STEP));
    at.ethanol()?;
    at.add(LeverChange::OctaneHigher { by: OCTANE_STEP }, (now.0 + OCTANE_STEP, now.1));
    Ok(at.found)
}
