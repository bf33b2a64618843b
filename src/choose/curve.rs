//! Power of every fuel over compression ratio, sample by sample.

use super::ignition::Ignition;
use super::job::{ChooseError, ChooseJob, Objective};
use super::progress::{Progress, ProgressPart};
use super::result::FuelAtRatio;
use super::slopes::SlopedFuel;
use crate::estimate::analysis::{PointAnalysis, PreparedFuel};
use crate::estimate::interpolate::NearestCubic;
use crate::estimate::sampling::{SampleOutcome, outcomes};
use crate::estimate::start::{StartCurve, StartPoint, knock_free_spark};
use crate::estimate::sweep::in_order;
use crate::estimate::tuned::{Tuned, torque_at_peak_power_nm};
use crate::estimate::uncertainty::Sample;
use crate::estimate::{EstimateError, Job};
use rayon::prelude::*;

/// Widest step between the first nodes [ratio].
const STEP: f64 = 1.0;
/// Fewest first nodes.
const LEAST_NODES: usize = 5;
/// Nodes that the search may add.
pub(super) const MOST_ADDED: usize = 3;

/// Octane numbers more that the timing of a map is set for than on the day [-]: nodes of what a change of engine or service
/// conditions asks.
const SHIFTS: [f64; 5] = [-8.0, -4.0, 0.0, 4.0, 8.0];
/// Share of the whole work that ends with the curve.
const DONE: f64 = 0.45;

/// One fuel at one ratio.
struct FuelNode {
    /// Power that the objective counts, of each sample tuned to its own limit [kW].
    limit_kw: Vec<f64>,
    /// The same at the timing of its own map and of the one map for all fuels, for each of [`SHIFTS`]; the latest timing of the
    /// range stands for one to start from where there is none.
    maps_kw: [[Vec<f64>; 2]; SHIFTS.len()],
    state: FuelAtRatio,
}

impl FuelNode {
    /// Power of one sample under an ignition [kW].
    ///
    /// # Arguments
    /// - `shift`: weights of the nodes of [`SHIFTS`]
    fn power_kw(&self, ignition: Ignition, shift: &NearestCubic, sample: usize) -> f64 {
        match ignition {
            Ignition::KnockControl => self.limit_kw[sample],
            Ignition::MapPerFuel => shift.of(|i| self.maps_kw[i][0][sample]),
            Ignition::OneMap => shift.of(|i| self.maps_kw[i][1][sample]),
        }
    }
}

/// The samples of one fuel at every speed.
struct FuelSamples<'a> {
    points: &'a [PointAnalysis<'a>],
    rows: Vec<Vec<SampleOutcome>>,
    start: StartCurve<'a>,
}

impl FuelSamples<'_> {
    /// Timing of a map at each speed [deg before top dead centre], at which a share of the samples may knock, for an engine that
    /// needs some octane numbers more; the latest of the range where there is none.
    fn map(&self, job: &Job, share: f64, shift_octane: f64) -> Vec<f64> {
        let at = |(i, a): (usize, &PointAnalysis<'_>)| {
            let margins: Vec<_> =
                self.rows.iter().map(|row| row[i].node_margins.map(|margin| margin - shift_octane)).collect();
            let start = knock_free_spark(job, a, share, &margins);
            start.unwrap_or(job.spark_range.latest_deg_btdc)
        };
        self.points.iter().enumerate().map(at).collect()
    }

    /// Torque at the wheels of every sample at one speed and timing [N m].
    fn wheel_torque_nm(&self, speed: usize, spark_deg_btdc: f64) -> Vec<f64> {
        let outcomes = self.rows.iter().map(|row| &row[speed]);
        StartPoint::at(&self.points[speed], outcomes, spark_deg_btdc).wheel_torque_nm().to_vec()
    }

    /// The power that an objective counts of every sample [kW], from their torque at each speed [N m].
    fn counted_kw(&self, objective: Objective, torque_nm: &[Vec<f64>]) -> Vec<f64> {
        let of = |sample: usize| {
            let powers: Vec<(f64, f64)> = self
                .points
                .iter()
                .zip(torque_nm)
                .map(|(a, torques)| (a.likely.speed_rpm(), a.power_kw(torques[sample])))
                .collect();
            objective.power(&powers)
        };
        (0..self.rows.len()).map(of).collect()
    }
}

/// Every fuel at one ratio.
struct Node {
    ratio: f64,
    fuels: Vec<FuelNode>,
}

/// The curve: computed nodes, and what is between them.
pub(super) struct PowerCurve<'a> {
    ask: &'a ChooseJob,
    fuels: Vec<SlopedFuel>,
    samples: &'a [Sample],
    /// Torque at which the drag of the driveline is set on each fuel, as `estimate` does at the scenario's own
    /// ratio [N m].
    peak_power_torques_nm: Vec<f64>,
    nodes: Vec<Node>,
    part: ProgressPart<'a>,
}

impl<'a> PowerCurve<'a> {
    /// Computes the first nodes, evenly from the lowest ratio to the highest.
    ///
    /// # Errors
    /// [`ChooseError`] when a fuel or a point lies outside the model.
    pub(super) fn new(
        ask: &'a ChooseJob,
        samples: &'a [Sample],
        progress: &Progress<'a>,
    ) -> Result<Self, ChooseError> {
        let job = &ask.job;
        let sloped = |fuel| SlopedFuel::new(fuel, (ask.lowest, ask.highest));
        let fuels: Vec<SlopedFuel> = PreparedFuel::of_job(job)?.into_iter().map(sloped).collect();
        let (lowest, highest) = (ask.lowest.get(), ask.highest.get());
        let cells = (((highest - lowest) / STEP).ceil() as usize).max(LEAST_NODES - 1);
        let total = (cells + 1 + MOST_ADDED) * fuels.len() * job.speeds_rpm.len();
        let part = progress.part((0.0, DONE), total);
        let at_peak_power = |sloped: &SlopedFuel| {
            Tuned::over_speeds(job, job.setting(), sloped.fuel.named())
                .map(|points| torque_at_peak_power_nm(&points))
        };
        let peak_power_torques_nm = fuels.iter().map(at_peak_power).collect::<Result<_, _>>()?;
        let mut curve = Self { ask, fuels, samples, peak_power_torques_nm, nodes: Vec::new(), part };
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
        let speeds = &job.speeds_rpm;
        let points = in_order(&self.fuels, |sloped| {
            let found = sloped.analyses(job, &sloped.read(job, speeds)?);
            speeds.iter().for_each(|_| self.part.step());
            Ok::<_, EstimateError>(found)
        })?;
        let curves = self.fuels.iter().zip(&self.peak_power_torques_nm).zip(&points);
        let rows = curves.map(|((sloped, torque_nm), points)| {
            let rows = outcomes(job, &sloped.fuel, points, self.samples, *torque_nm, |row| row)?;
            Ok(FuelSamples { points, start: StartCurve::new(job, points, &rows), rows })
        });
        let fuels = rows.collect::<Result<Vec<_>, EstimateError>>()?;
        let run = |(fuel, maps_kw): (&FuelSamples<'_>, [[Vec<f64>; 2]; SHIFTS.len()])| {
            let limit =
                (0..speeds.len()).map(|i| fuel.rows.iter().map(|row| row[i].wheel_torque_nm).collect());
            let knocking = fuel.rows.iter().filter(|row| row.iter().any(|o| o.margin < 0.0)).count();
            FuelNode {
                limit_kw: fuel.counted_kw(self.ask.objective, &limit.collect::<Vec<_>>()),
                maps_kw,
                state: FuelAtRatio::of(&fuel.start, knocking as f64 / fuel.rows.len() as f64),
            }
        };
        let maps = self.maps(job, &fuels);
        Ok(Node { ratio, fuels: fuels.iter().zip(maps).map(run).collect() })
    }

    /// Power of every fuel at the timing of its own map and of one map for all, for each of [`SHIFTS`].
    fn maps(&self, job: &Job, fuels: &[FuelSamples<'_>]) -> Vec<[[Vec<f64>; 2]; SHIFTS.len()]> {
        let speeds = 0..job.speeds_rpm.len();
        let share = self.ask.limits.knock_probability;
        let timings: Vec<[Vec<f64>; SHIFTS.len()]> =
            fuels.par_iter().map(|fuel| SHIFTS.map(|shift| fuel.map(job, share, shift))).collect();
        let one = |shift: usize, speed: usize| {
            timings.iter().map(|fuel| fuel[shift][speed]).fold(f64::INFINITY, f64::min)
        };
        let of = |(fuel, own): (&FuelSamples<'_>, &[Vec<f64>; SHIFTS.len()])| {
            let counted = |timing: &dyn Fn(usize) -> f64| {
                let torques: Vec<_> = speeds.clone().map(|i| fuel.wheel_torque_nm(i, timing(i))).collect();
                fuel.counted_kw(self.ask.objective, &torques)
            };
            std::array::from_fn(|shift| [counted(&|i| own[shift][i]), counted(&|i| one(shift, i))])
        };
        fuels.par_iter().zip(&timings).map(of).collect()
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
    pub(super) fn state(&self, fuel: usize, ratio: f64) -> FuelAtRatio {
        let cubic = NearestCubic::new(&self.ratios(), ratio);
        let of = |quantity: fn(&FuelAtRatio) -> f64| {
            cubic.of(|node| quantity(&self.nodes[node].fuels[fuel].state))
        };
        let best_torque_octane_margin = of(|s| s.best_torque_octane_margin);
        // Between nodes a cubic rounds the corner at which knock begins to hold the timing back.
        let held = if best_torque_octane_margin < self.ask.job.reserve_octane { 1.0 } else { 0.0 };
        FuelAtRatio {
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
    pub(super) fn power_kw(&self, timed: Timed, fuel: usize, ratio: f64) -> Vec<f64> {
        let cubic = NearestCubic::new(&self.ratios(), ratio);
        let shift = timed.shift();
        let at = |node: usize, s: usize| self.nodes[node].fuels[fuel].power_kw(timed.ignition, &shift, s);
        (0..self.samples.len()).map(|s| cubic.of(|node| at(node, s))).collect()
    }

    /// Power weighted over the fuels at a ratio, of each sample [kW].
    pub(super) fn weighted_kw(&self, timed: Timed, shares: &[f64], ratio: f64) -> Vec<f64> {
        let cubic = NearestCubic::new(&self.ratios(), ratio);
        let shift = timed.shift();
        let weighted = |node: usize, s: usize| -> f64 {
            let runs = self.nodes[node].fuels.iter().zip(shares);
            runs.map(|(run, share)| share * run.power_kw(timed.ignition, &shift, s)).sum()
        };
        (0..self.samples.len()).map(|s| cubic.of(|node| weighted(node, s))).collect()
    }

    /// Mean over the samples of the weighted power [kW]: what is maximised.
    pub(super) fn objective_kw(&self, timed: Timed, shares: &[f64], ratio: f64) -> f64 {
        let powers = self.weighted_kw(timed, shares, ratio);
        powers.iter().sum::<f64>() / powers.len() as f64
    }
}

/// How a curve is timed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Timed {
    pub(super) ignition: Ignition,
    /// Octane numbers more than on the day that a map is set for [-]; of no effect with knock control.
    pub(super) shift_octane: f64,
}

impl Timed {
    /// As an ignition times it on the day.
    pub(super) fn on_the_day(ignition: Ignition) -> Self {
        Self { ignition, shift_octane: 0.0 }
    }

    fn shift(self) -> NearestCubic {
        NearestCubic::new(&SHIFTS, self.shift_octane.clamp(SHIFTS[0], SHIFTS[SHIFTS.len() - 1]))
    }
}

/// A number; none stands for one that is not finite, as the cubic makes of a node without a number.
fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}
