//! What a wheel power asks of the engine at each speed.

use super::result::DemandPoint;
use super::trials::PartTrials;
use crate::engine::Figure;
use crate::estimate::point::Shifts;
use crate::estimate::search::root;
use crate::estimate::sweep::in_order;
use crate::estimate::tuned::Tuned;
use crate::estimate::{Band, EstimateError};
use crate::units::{power_of_torque_kw, torque_of_power_nm};

/// Lowest speed shown, over the speed of peak power [-].
const FROM: f64 = 0.6;
/// Highest speed shown, over the highest speed of the job [-]; the band end of piston speed ends it earlier.
const TO: f64 = 1.3;
/// Most speeds shown.
const MOST_ROWS: usize = 14;
/// Volumetric efficiency over that of the build within which the cycle is run [-].
const VE_FACTOR: [f64; 2] = [0.3, 1.8];
/// How closely it is searched [-].
const TOLERANCE: f64 = 2e-4;

/// What the goal asks at the build's own peak-power speed and at others.
pub(super) struct Points {
    pub(super) own_peak: DemandPoint,
    pub(super) others: Vec<DemandPoint>,
}

/// A wanted wheel power on its trials.
pub(super) struct Demand<'a> {
    trials: &'a PartTrials<'a>,
    wheel_power_kw: f64,
}

impl<'a> Demand<'a> {
    pub(super) fn new(trials: &'a PartTrials<'a>, wheel_power_kw: f64) -> Self {
        Self { trials, wheel_power_kw }
    }

    /// # Errors
    /// As [`Tuned::new`], but for no torque at speeds beyond those of the job.
    pub(super) fn points(&self) -> Result<Points, EstimateError> {
        let own = self.trials.estimate.fuels[0].peak_power.speed_rpm;
        let own_peak = self.point(own)?;
        let others = in_order(&self.speeds(own), |speed| match self.point(*speed) {
            Err(EstimateError::NoTorque { .. }) => Ok(None),
            row => row.map(Some),
        })?;
        Ok(Points { own_peak, others: others.into_iter().flatten().collect() })
    }

    /// Speeds of the job from part of its peak, then on in its own steps [rpm].
    fn speeds(&self, own_peak_rpm: f64) -> Vec<f64> {
        let job = self.trials.job;
        let all = &job.speeds_rpm;
        let last = all.last().copied().unwrap_or(own_peak_rpm);
        let step = all.first().map_or(0.0, |first| (last - first) / (all.len().max(2) - 1) as f64);
        let step = step.max(0.05 * last);
        let piston = job.build.geometry.mean_piston_speed_m_per_s(1.0);
        let end = (TO * last).min(Figure::MeanPistonSpeed.credible_end() / piston);
        let mut speeds: Vec<f64> = all.iter().copied().filter(|s| *s >= FROM * own_peak_rpm).collect();
        let mut next = last + step;
        while next < end - 0.2 * step {
            speeds.push(next);
            next += step;
        }
        if end > last {
            speeds.push(end.floor());
        }
        // Every second, third.. row where there are too many, the last kept.
        let every = speeds.len().div_ceil(MOST_ROWS).max(1);
        let count = speeds.len();
        speeds
            .into_iter()
            .enumerate()
            .filter(|(i, _)| (count - 1 - i).is_multiple_of(every))
            .map(|(_, s)| s)
            .collect()
    }

    fn point(&self, speed_rpm: f64) -> Result<DemandPoint, EstimateError> {
        let job = self.trials.job;
        let geometry = &job.build.geometry;
        let wheel = torque_of_power_nm(self.wheel_power_kw, speed_rpm);
        // Each speed is taken as that of peak power, at which the loss is stated.
        let crank = |loss: f64| wheel / (1.0 - loss);
        let loss = job.build.driveline.loss_band();
        let torque = Band { low: crank(loss.low), likely: crank(loss.likely), high: crank(loss.high) };
        let of = |f: &dyn Fn(f64) -> f64| Band {
            low: f(torque.low),
            likely: f(torque.likely),
            high: f(torque.high),
        };
        let crank_power_kw = of(&|t| power_of_torque_kw(t, speed_rpm));
        let bmep_bar = of(&|t| geometry.bmep_bar(t));
        let first = self.run(speed_rpm, 1.0)?;
        let (ve_factor, fuel_allows_it) = self.ve_factor(&first, bmep_bar.likely)?;
        let volumetric_efficiency = ve_factor * first.point.trapped.volumetric_efficiency;
        let piston = geometry.mean_piston_speed_m_per_s(speed_rpm);
        let specific = crank_power_kw.likely / (1e3 * geometry.displacement_m3());
        let several = job.build.valves.has_several_inlets();
        Ok(DemandPoint {
            speed_rpm,
            crank_power_kw,
            bmep_bar,
            build_bmep_bar: first.used.bmep_bar(),
            fuel_allows_it,
            volumetric_efficiency,
            air_flow_kg_per_s: ve_factor * first.point.air_flow_kg_per_s(),
            fuel_flow_kg_per_s: ve_factor * first.point.fuel_flow_kg_per_s(),
            mean_piston_speed_m_per_s: piston,
            specific_power_kw_per_l: specific,
            bmep_standing: Figure::Bmep.standing(bmep_bar.likely, several),
            volumetric_efficiency_standing: Figure::VolumetricEfficiency
                .standing(volumetric_efficiency, several),
            mean_piston_speed_standing: Figure::MeanPistonSpeed.standing(piston, several),
            specific_power_standing: Figure::SpecificPower.standing(specific, several),
        })
    }

    /// Volumetric efficiency, over that of the build, that gives a mean effective pressure on the judged fuel, timing tuned
    /// anew, and whether the fuel allows it: Brent's root finder up to the most for which knock leaves a timing. Where that is
    /// not enough, it is in proportion to the net work of the engine as built.
    ///
    /// # Arguments
    /// - `first`: the engine as built
    fn ve_factor(&self, first: &Tuned<'_>, wanted_bar: f64) -> Result<(f64, bool), EstimateError> {
        let speed_rpm = first.speed_rpm();
        let miss = |ve_factor: f64| match self.run(speed_rpm, ve_factor) {
            Ok(point) => Ok(point.used.bmep_bar() - wanted_bar),
            Err(EstimateError::NoTorque { bmep_bar, .. }) => Ok(bmep_bar - wanted_bar),
            Err(error) => Err(error),
        };
        let (low, high) = (VE_FACTOR[0], self.most_ve_factor(speed_rpm)?);
        let is_bracketed = low < high && miss(low)? < 0.0 && miss(high)? > 0.0;
        let ve_factor = if is_bracketed {
            let name = &self.trials.job.fuels[0].fuel.name;
            root(|ve_factor| Ok(miss(ve_factor)?), (low, high), TOLERANCE)
                .map_err(EstimateError::search(name, speed_rpm))?
        } else {
            (wanted_bar + first.used.fmep_bar) / first.used.imep_net_bar
        };
        // Less than the search covers knocks less than the engine as built.
        Ok((ve_factor, is_bracketed || ve_factor < low && first.keeps_reserve()))
    }

    /// Most of [`VE_FACTOR`] at which some timing keeps the safety margin; knock grows with it.
    fn most_ve_factor(&self, speed_rpm: f64) -> Result<f64, EstimateError> {
        let is_safe = |ve_factor: f64| match self.run(speed_rpm, ve_factor) {
            Ok(point) => Ok(point.keeps_reserve()),
            Err(EstimateError::NoTorque { .. }) => Ok(true),
            Err(error) => Err(error),
        };
        let [mut low, mut high] = VE_FACTOR;
        if is_safe(high)? {
            return Ok(high);
        }
        while high - low > 0.01 {
            let middle = 0.5 * (low + high);
            if is_safe(middle)? { low = middle } else { high = middle }
        }
        Ok(low)
    }

    fn run(&self, speed_rpm: f64, ve_factor: f64) -> Result<Tuned<'_>, EstimateError> {
        let job = self.trials.job;
        let fuel = (job.fuels[0].fuel.name.as_str(), &self.trials.fuels[0]);
        Tuned::new(job, job.setting(), fuel, speed_rpm, Shifts { breathing: ve_factor, ..Shifts::NONE })
    }
}
