//! Power of every fuel over compression ratio, sample by sample.

use super::job::{ChooseError, ChooseJob};
use super::result::FuelState;
use crate::estimate::analysis::{PointAnalysis, PreparedFuel};
use crate::estimate::interpolate::NearestCubic;
use crate::estimate::job::{EstimateError, Job};
use crate::estimate::likely::{LikelyPoint, torque_at_peak_power_nm};
use crate::estimate::sampling::{Outcome, outcomes};
use crate::estimate::start::{SampleCurve, StartCurve};
use crate::estimate::uncertainty::Sample;
use rayon::prelude::*;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Widest step between the first nodes [ratio].
const STEP: f64 = 0.75;
/// Fewest first nodes.
const LEAST_NODES: usize = 5;
/// Nodes that the search may add.
pub(super) const MOST_ADDED: usize = 3;

/// How far a choice is, told after every point.
pub(super) struct Progress<'a> {
    done: AtomicUsize,
    total: usize,
    tell: &'a (dyn Fn(f64) + Sync),
}

impl Progress<'_> {
    fn step(&self) {
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        (self.tell)((done as f64 / self.total as f64).min(1.0));
    }
}

/// One fuel at one ratio.
struct FuelRun {
    /// Power that the objective counts, of each sample [kW].
    power_kw: Vec<f64>,
    /// The same with every sample run at the timing to start from [kW]; none when some speed has no such timing.
    start_power_kw: Option<Vec<f64>>,
    state: FuelState,
}

/// Every fuel at one ratio.
struct Node {
    ratio: f64,
    fuels: Vec<FuelRun>,
}

/// The curve: computed nodes, and what is between them.
pub(super) struct Curve<'a> {
    ask: &'a ChooseJob,
    fuels: Vec<PreparedFuel>,
    samples: &'a [Sample],
    /// Torque at which the drag of the driveline is set on each fuel, as `estimate` does at the scenario's own
    /// ratio [N m].
    peak_power_torques_nm: Vec<f64>,
    nodes: Vec<Node>,
    progress: Progress<'a>,
}

impl<'a> Curve<'a> {
    /// Computes the first nodes, evenly from the lowest ratio to the highest.
    ///
    /// # Errors
    /// [`ChooseError`] when a fuel or a point lies outside the model.
    pub(super) fn new(
        ask: &'a ChooseJob,
        samples: &'a [Sample],
        tell: &'a (dyn Fn(f64) + Sync),
    ) -> Result<Self, ChooseError> {
        let job = &ask.job;
        let prepared: Vec<_> = job
            .fuels
            .par_iter()
            .map(|choice| PreparedFuel::new(job, &choice.fuel, choice.lambda.map(|l| l.get())))
            .collect();
        let fuels = prepared.into_iter().collect::<Result<Vec<_>, _>>()?;
        let (lowest, highest) = (ask.lowest.get(), ask.highest.get());
        let cells = (((highest - lowest) / STEP).ceil() as usize).max(LEAST_NODES - 1);
        let total = (cells + 1 + MOST_ADDED) * fuels.len() * job.speeds_rpm.len();
        let progress = Progress { done: AtomicUsize::new(0), total, tell };
        let at_peak_power = |fuel: &PreparedFuel| {
            let named = (fuel.pump.name.as_str(), fuel.likely());
            LikelyPoint::over_speeds(job, job.setting(), named).map(|points| torque_at_peak_power_nm(&points))
        };
        let peak_power_torques_nm = fuels.iter().map(at_peak_power).collect::<Result<_, _>>()?;
        let mut curve = Self { ask, fuels, samples, peak_power_torques_nm, nodes: Vec::new(), progress };
        for i in 0..=cells {
            curve.add(lowest + (highest - lowest) * i as f64 / cells as f64)?;
        }
        Ok(curve)
    }

    /// Computes a node and puts it in its place.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub(super) fn add(&mut self, ratio: f64) -> Result<(), ChooseError> {
        let job = self.ask.job.at_ratio(ratio)?;
        let node = self.node(&job, ratio).map_err(ChooseError::at(ratio))?;
        let at = self.nodes.partition_point(|n| n.ratio < ratio);
        self.nodes.insert(at, node);
        Ok(())
    }

    fn node(&self, job: &Job, ratio: f64) -> Result<Node, EstimateError> {
        let setting = job.setting();
        let speeds = &job.speeds_rpm;
        let pairs: Vec<(&PreparedFuel, f64)> =
            self.fuels.iter().flat_map(|fuel| speeds.iter().map(move |speed| (fuel, *speed))).collect();
        let analysed: Vec<_> = pairs
            .par_iter()
            .map(|(fuel, speed)| {
                let analysis = PointAnalysis::new(job, setting, fuel, *speed);
                self.progress.step();
                analysis
            })
            .collect();
        let points = analysed.into_iter().collect::<Result<Vec<_>, _>>()?;
        let curves = self.fuels.iter().zip(&self.peak_power_torques_nm).zip(points.chunks(speeds.len()));
        let fuels = curves
            .map(|((fuel, torque_nm), points)| self.run(job, fuel, points, *torque_nm))
            .collect::<Result<_, _>>()?;
        Ok(Node { ratio, fuels })
    }

    /// The samples of one fuel.
    fn run(
        &self,
        job: &Job,
        fuel: &PreparedFuel,
        points: &[PointAnalysis<'_>],
        peak_power_torque_nm: f64,
    ) -> Result<FuelRun, EstimateError> {
        let rows = outcomes(job, fuel, points, self.samples, peak_power_torque_nm, |row| row)?;
        let knocking = rows.iter().filter(|row| row.iter().any(|o| o.margin < 0.0)).count();
        let start = StartCurve::new(job, points, &rows);
        let start_power = |sample: &SampleCurve| {
            let speeds = points.iter().map(|a| a.likely.point.speed_rpm());
            self.ask.objective.power(&speeds.zip(sample.wheel_power_kw.iter().copied()).collect::<Vec<_>>())
        };
        Ok(FuelRun {
            state: FuelState::of(&start, knocking as f64 / rows.len() as f64),
            power_kw: rows.iter().map(|row| self.counted_power(points, row)).collect(),
            start_power_kw: start.powers_kw().map(|samples| samples.iter().map(start_power).collect()),
        })
    }

    /// The power of one sample that the objective counts [kW].
    fn counted_power(&self, points: &[PointAnalysis<'_>], row: &[Outcome]) -> f64 {
        let powers = points
            .iter()
            .zip(row)
            .map(|(a, o)| (a.likely.point.speed_rpm(), a.power_kw(o.wheel_torque_nm)))
            .collect::<Vec<_>>();
        self.ask.objective.power(&powers)
    }

    /// Ratios of the nodes, rising.
    pub(super) fn ratios(&self) -> Vec<f64> {
        self.nodes.iter().map(|node| node.ratio).collect()
    }

    /// Whether a ratio is as good as on a node.
    pub(super) fn is_near_node(&self, ratio: f64, distance: f64) -> bool {
        self.nodes.iter().any(|node| (node.ratio - ratio).abs() < distance)
    }

    /// State of one fuel at a ratio.
    pub(super) fn state(&self, fuel: usize, ratio: f64) -> FuelState {
        let cubic = NearestCubic::new(&self.ratios(), ratio);
        let of =
            |quantity: fn(&FuelState) -> f64| cubic.of(|node| quantity(&self.nodes[node].fuels[fuel].state));
        let best_torque_octane_margin = of(|s| s.best_torque_octane_margin);
        // Between nodes a cubic rounds the corner at which knock begins to hold the spark back.
        let held = if best_torque_octane_margin < self.ask.job.reserve_octane { 1.0 } else { 0.0 };
        FuelState {
            retard_deg: held * of(|s| s.retard_deg).max(0.0),
            torque_lost_frac: held * of(|s| s.torque_lost_frac).max(0.0),
            best_torque_octane_margin,
            peak_pressure_bar: of(|s| s.peak_pressure_bar),
            knock_probability: of(|s| s.knock_probability).clamp(0.0, 1.0),
            start_retard_deg: finite(of(|s| s.start_retard_deg.unwrap_or(f64::NAN))).map(|deg| deg.max(0.0)),
            start_knock_probability: finite(of(|s| s.start_knock_probability.unwrap_or(f64::NAN)))
                .map(|share| share.clamp(0.0, 1.0)),
        }
    }

    /// Power of one fuel at a ratio, of each sample [kW].
    pub(super) fn power_kw(&self, fuel: usize, ratio: f64) -> Vec<f64> {
        let cubic = NearestCubic::new(&self.ratios(), ratio);
        (0..self.samples.len()).map(|s| cubic.of(|node| self.nodes[node].fuels[fuel].power_kw[s])).collect()
    }

    /// Power of one fuel at a ratio, of each sample at the timing to start from [kW]; none where a computed node near
    /// the ratio has no such timing at some speed.
    pub(super) fn start_power_kw(&self, fuel: usize, ratio: f64) -> Option<Vec<f64>> {
        let cubic = NearestCubic::new(&self.ratios(), ratio);
        let at = |node: usize, s: usize| {
            self.nodes[node].fuels[fuel].start_power_kw.as_ref().map_or(f64::NAN, |powers| powers[s])
        };
        (0..self.samples.len()).map(|s| finite(cubic.of(|node| at(node, s)))).collect()
    }

    /// Power weighted over the fuels at a ratio, of each sample at the timing to start from [kW]; none where that of a
    /// fuel is none.
    pub(super) fn start_weighted_kw(&self, shares: &[f64], ratio: f64) -> Option<Vec<f64>> {
        let mut weighted = vec![0.0; self.samples.len()];
        for (fuel, share) in shares.iter().enumerate() {
            let powers = self.start_power_kw(fuel, ratio)?;
            weighted.iter_mut().zip(powers).for_each(|(sum, kw)| *sum += share * kw);
        }
        Some(weighted)
    }

    /// Power weighted over the fuels at a ratio, of each sample [kW].
    pub(super) fn weighted_kw(&self, shares: &[f64], ratio: f64) -> Vec<f64> {
        let cubic = NearestCubic::new(&self.ratios(), ratio);
        let weighted = |node: usize, s: usize| -> f64 {
            self.nodes[node].fuels.iter().zip(shares).map(|(run, share)| share * run.power_kw[s]).sum()
        };
        (0..self.samples.len()).map(|s| cubic.of(|node| weighted(node, s))).collect()
    }

    /// Mean over the samples of the weighted power [kW]: what is maximised.
    pub(super) fn objective_kw(&self, shares: &[f64], ratio: f64) -> f64 {
        let powers = self.weighted_kw(shares, ratio);
        powers.iter().sum::<f64>() / powers.len() as f64
    }
}

/// A number; none stands for one that is not finite, as the cubic makes of a node without a number.
fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}
