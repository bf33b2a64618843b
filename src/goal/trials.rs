//! The build and its variants in the likely case, timing tuned anew.

use super::change::{Changed, LEVERS, TriedChange, changes};
use super::result::{BuildReading, ChangeWorth};
use crate::engine::{Driveline, Figure, LimitPassed};
use crate::estimate::point::{AtSpark, FuelInUse, Shifts};
use crate::estimate::sweep::in_order;
use crate::estimate::tuned::Tuned;
use crate::estimate::{Estimate, EstimateError, Job};
use crate::units::{PA_PER_BAR, power_of_torque_kw};

/// Lowest speed run in a search, over the speed of peak power [-].
const WINDOW: f64 = 0.8;

/// Which change of each lever is made, from 1; 0 is none.
pub(super) type ChangeSet = [usize; LEVERS];
/// The levers that need the cycle run again: all but driveline and friction.
pub(super) const CYCLE_LEVERS: usize = 4;

/// One speed of a variant, before friction and driveline.
#[derive(Clone, Copy, Debug)]
pub(super) struct Run {
    speed_rpm: f64,
    used: AtSpark,
    volumetric_efficiency: f64,
    fuel_flow_kg_per_s: f64,
    best_torque_octane_margin: f64,
    has_safe_spark: bool,
}

/// Which speeds of a variant are run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Scope {
    /// Those about peak power.
    Top,
    /// All of them.
    Whole,
}

/// A job on which changes are tried.
pub(super) struct ChangeTrials<'a> {
    pub(super) job: &'a Job,
    pub(super) estimate: &'a Estimate,
    pub(super) fuels: Vec<FuelInUse>,
    changes: [Vec<TriedChange>; LEVERS],
    /// Likely wheel power of the samples over that of the likely case, per fuel [-].
    anchors: Vec<f64>,
    /// The engine as built on the judged fuel.
    pub(super) as_it_is: BuildReading,
}

impl<'a> ChangeTrials<'a> {
    pub(super) fn new(job: &'a Job, estimate: &'a Estimate) -> Result<Self, EstimateError> {
        let fuels =
            job.fuels.iter().map(|choice| choice.in_use(&job.weather)).collect::<Result<Vec<_>, _>>()?;
        let likely: Vec<_> = job.speeds_rpm.iter().map(|speed| breathing_at(job, *speed)).collect();
        let peak_ve = likely.iter().map(|ve| ve.likely).fold(0.0, f64::max);
        let high_ratio = likely.first().map_or(1.0, |ve| ve.high_ratio);
        let mut trials = Self {
            changes: changes(job, peak_ve, high_ratio),
            anchors: vec![1.0; fuels.len()],
            job,
            estimate,
            fuels,
            as_it_is: BuildReading::default(),
        };
        for fuel in 0..trials.fuels.len() {
            let variant = Changed { fuel, ..Changed::as_it_is(job) };
            let reading = trials.run(&variant, Scope::Whole)?;
            trials.anchors[fuel] = estimate.fuels[fuel].peak_power.wheel.likely / reading.wheel_power_kw;
            if fuel == 0 {
                let wheel_power_kw = reading.wheel_power_kw * trials.anchors[0];
                trials.as_it_is = BuildReading { wheel_power_kw, ..reading };
            }
        }
        Ok(trials)
    }

    /// Number of changes of each lever.
    pub(super) fn sizes(&self) -> [usize; LEVERS] {
        std::array::from_fn(|lever| self.changes[lever].len())
    }

    /// The changes of a combination.
    pub(super) fn chosen<'b>(&'b self, combination: &'b ChangeSet) -> impl Iterator<Item = &'b TriedChange> {
        let chosen = combination.iter().zip(&self.changes);
        chosen.filter_map(|(nth, changes)| Some(&changes[nth.checked_sub(1)?]))
    }

    /// The build with a combination of changes.
    pub(super) fn variant(&self, combination: &ChangeSet) -> Changed {
        self.chosen(combination).fold(Changed::as_it_is(self.job), Changed::with)
    }

    /// Speeds of a variant [rpm], rising.
    fn speeds(&self, variant: &Changed, scope: Scope) -> Vec<f64> {
        let from = WINDOW * self.estimate.fuels[0].peak_power.speed_rpm;
        let speeds = &self.job.speeds_rpm;
        let top = speeds.iter().filter(|s| **s >= from).map(|s| s * variant.speed);
        let below = speeds.iter().filter(|s| scope == Scope::Whole && **s < from * variant.speed).copied();
        let mut all: Vec<f64> = below.chain(top).collect();
        all.sort_by(f64::total_cmp);
        all.dedup();
        all
    }

    /// Runs a variant. A speed at which it makes no torque is left out.
    ///
    /// # Errors
    /// As [`Tuned::new`], but for no torque.
    pub(super) fn runs(&self, variant: &Changed, scope: Scope) -> Result<Vec<Run>, EstimateError> {
        let fuel = (self.job.fuels[variant.fuel].fuel.name.as_str(), &self.fuels[variant.fuel]);
        let shifts = Shifts { breathing: variant.ve_factor, ..Shifts::NONE };
        let mut runs = Vec::new();
        for speed in self.speeds(variant, scope) {
            match Tuned::new(self.job, variant.job.setting(), fuel, speed, shifts) {
                Ok(point) => runs.push(Run::of(&point)),
                Err(EstimateError::NoTorque { .. }) => {}
                Err(error) => return Err(error),
            }
        }
        Ok(runs)
    }

    /// What a variant makes at the speeds of a scope.
    ///
    /// # Errors
    /// As [`Self::runs`].
    pub(super) fn run(&self, variant: &Changed, scope: Scope) -> Result<BuildReading, EstimateError> {
        Ok(self.reading(variant, &self.runs(variant, scope)?))
    }

    /// What a variant makes, from its runs.
    pub(super) fn reading(&self, variant: &Changed, runs: &[Run]) -> BuildReading {
        let build = &variant.job.build;
        let (geometry, loss) = (&build.geometry, build.driveline.loss_band().likely);
        let most = |of: &dyn Fn(&Run) -> f64| runs.iter().map(of).fold(0.0, f64::max);
        let bmep = |run: &Run| run.used.imep_net_bar - variant.friction * run.used.fmep_bar;
        // The loss is stated at peak power, as in the estimate: the drag torque is that of this variant.
        let power = |run: &Run| bmep(run) * run.speed_rpm;
        let peak = runs.iter().max_by(|a, b| power(a).total_cmp(&power(b)));
        let reference = peak.map_or(0.0, |run| geometry.torque_nm(bmep(run)));
        let mut reading = BuildReading {
            top_mean_piston_speed_m_per_s: geometry.mean_piston_speed_m_per_s(most(&|r| r.speed_rpm)),
            peak_bmep_bar: most(&bmep),
            peak_pressure_bar: most(&|r| r.used.peak_pressure_bar),
            best_torque_octane_margin: runs
                .iter()
                .map(|r| r.best_torque_octane_margin)
                .fold(f64::INFINITY, f64::min),
            has_safe_spark: runs.iter().all(|r| r.has_safe_spark),
            ..BuildReading::default()
        };
        for run in runs {
            let torque = geometry.torque_nm(bmep(run));
            let wheel_torque = Driveline::wheel_torque_nm(torque, loss, reference);
            let power = self.anchors[variant.fuel] * power_of_torque_kw(wheel_torque, run.speed_rpm);
            if power > reading.wheel_power_kw {
                reading.wheel_power_kw = power;
                reading.speed_rpm = run.speed_rpm;
                reading.mean_piston_speed_m_per_s = geometry.mean_piston_speed_m_per_s(run.speed_rpm);
                reading.bmep_bar = bmep(run);
                reading.volumetric_efficiency = run.volumetric_efficiency;
                reading.fuel_flow_kg_per_s = run.fuel_flow_kg_per_s;
            }
        }
        reading
    }

    /// Whether a reading stays within the race bands, or no further out than the build is already.
    pub(super) fn is_credible(&self, reading: &BuildReading) -> bool {
        let litres = 1e3 * self.job.build.geometry.displacement_m3();
        let crank_kw = |r: &BuildReading| {
            power_of_torque_kw(self.job.build.geometry.torque_nm(r.bmep_bar), r.speed_rpm) / litres
        };
        let within = |figure: Figure, of: &dyn Fn(&BuildReading) -> f64| {
            of(reading) <= figure.credible_end().max(of(&self.as_it_is)) * (1.0 + 1e-9)
        };
        reading.wheel_power_kw > 0.0
            && within(Figure::Bmep, &|r| r.peak_bmep_bar)
            && within(Figure::MeanPistonSpeed, &|r| r.mean_piston_speed_m_per_s)
            && within(Figure::SpecificPower, &crank_kw)
    }

    /// What every change is worth alone.
    ///
    /// # Errors
    /// As [`Self::runs`].
    pub(super) fn worths(&self) -> Result<Vec<ChangeWorth>, EstimateError> {
        let all: Vec<&TriedChange> = self.changes.iter().flatten().collect();
        in_order(&all, |change| {
            let variant = Changed::as_it_is(self.job).with(change);
            let reading = self.run(&variant, Scope::Whole)?;
            Ok(ChangeWorth {
                lever: change.lever,
                change: change.what.clone(),
                wheel_power_gain_kw: reading.wheel_power_kw - self.as_it_is.wheel_power_kw,
                is_credible: self.is_credible(&reading),
                reading,
            })
        })
    }

    /// What a combination costs [-]: how far each of its changes goes towards the end of its lever, the
    /// relative rise of peak pressure and fuel flow, and a tenth of each octane number of margin given up.
    pub(super) fn cost(&self, combination: &ChangeSet, reading: &BuildReading, base: &BuildReading) -> f64 {
        let rise = |now: f64, then: f64| (now / then - 1.0).max(0.0);
        self.chosen(combination).map(|change| change.share).sum::<f64>()
            + rise(reading.peak_pressure_bar, base.peak_pressure_bar)
            + rise(reading.fuel_flow_kg_per_s, base.fuel_flow_kg_per_s)
            + 0.1 * (base.best_torque_octane_margin - reading.best_torque_octane_margin).max(0.0)
    }

    /// Limits stated in the scenario that a reading passes and the engine as built does not.
    pub(super) fn limits_passed(&self, reading: &BuildReading) -> Vec<LimitPassed> {
        let (limits, now) = (self.job.build.limits, &self.as_it_is);
        let bar = Some(reading.peak_pressure_bar).filter(|bar| *bar > now.peak_pressure_bar);
        let speed = Some(reading.top_mean_piston_speed_m_per_s);
        let speed = speed.filter(|speed| *speed > now.top_mean_piston_speed_m_per_s);
        let pressure = bar.and_then(|bar| limits.passed_by_pressure(bar * PA_PER_BAR));
        pressure.into_iter().chain(speed.and_then(|speed| limits.passed_by_piston_speed(speed))).collect()
    }
}

impl Run {
    fn of(p: &Tuned<'_>) -> Self {
        Self {
            speed_rpm: p.speed_rpm(),
            used: p.used,
            volumetric_efficiency: p.point.trapped.volumetric_efficiency,
            fuel_flow_kg_per_s: p.point.fuel_flow_kg_per_s(),
            best_torque_octane_margin: p.mbt_octane_margin(),
            has_safe_spark: p.keeps_reserve(),
        }
    }
}

/// Volumetric efficiency of the build at a speed.
fn breathing_at(job: &Job, speed_rpm: f64) -> crate::engine::breathing::VolumetricEfficiency {
    job.build.breathing.at(speed_rpm, &job.build.intake(job.weather.temperature_k))
}
