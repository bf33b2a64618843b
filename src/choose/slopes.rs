//! A fuel over compression ratio: its likely case is run at a few ratios, and how its samples differ from it at some speeds and three
//! ratios, not at each ratio that is asked.

use crate::estimate::analysis::{PointAnalysis, PreparedFuel};
use crate::estimate::point::{AtSpark, Shifts};
use crate::estimate::ratio_grid::{RATIOS, RatioGrid, ReadRuns, grid_ratios};
use crate::estimate::response::Response;
use crate::estimate::slopes::{SlopeTable, Slopes, slope_speeds};
use crate::estimate::sweep::{in_order, over_speeds};
use crate::estimate::tuned::Tuned;
use crate::estimate::{EstimateError, Job};
use crate::units::CompressionRatio;
use rayon::prelude::*;
use std::sync::{Arc, OnceLock};

/// A fuel with its likely case and its slopes over rpm and ratio, each run when first asked for.
pub(super) struct SlopedFuel {
    pub(super) fuel: PreparedFuel,
    /// The lowest and the highest ratio asked.
    ends: (f64, f64),
    /// By rpm of the job.
    grids: OnceLock<Vec<RatioGrid>>,
    /// None within where the engine does not run at one of the speeds and ratios.
    table: OnceLock<Option<Arc<SlopeTable<3>>>>,
}

/// The likely case at one rpm and ratio, and what it was read from; nothing where it was run.
pub(super) struct LikelyPoint<'a> {
    pub(super) tuned: Tuned<'a>,
    read: Option<ReadRuns>,
}

impl LikelyPoint<'_> {
    /// The point at a timing [deg before top dead centre].
    pub(super) fn at_spark(&self, spark_deg_btdc: f64) -> AtSpark {
        match &self.read {
            Some(read) => read.at_spark(spark_deg_btdc),
            None => self.tuned.point.at_spark(spark_deg_btdc),
        }
    }

    fn response(&self, slopes: &Slopes) -> Response {
        match &self.read {
            Some(read) => Response::read(&self.tuned, slopes, |sparks| read.at_sparks(sparks)),
            None => Response::new(&self.tuned, slopes),
        }
    }
}

impl SlopedFuel {
    /// Likely ethanol content by volume [-].
    pub(super) fn content(&self) -> f64 {
        self.fuel.likely().blend.ethanol_vol_frac
    }

    /// Nothing run as yet.
    ///
    /// # Arguments
    /// - `ends`: the lowest and the highest ratio asked
    pub(super) fn new(fuel: PreparedFuel, (lowest, highest): (CompressionRatio, CompressionRatio)) -> Self {
        let ends = (lowest.get(), highest.get());
        Self { fuel, ends, grids: OnceLock::new(), table: OnceLock::new() }
    }

    /// The same with the slopes of another fuel where those have been run: slopes hardly change with the day and little with what is
    /// changed of an engine.
    ///
    /// # Arguments
    /// - `other`: of the same content and mixture, over the same ratios and at least the same rpm
    pub(super) fn with_slopes_of(self, other: &Self) -> Self {
        if let Some(Some(table)) = other.table.get() {
            self.table.get_or_init(|| Some(table.clone()));
        }
        self
    }

    /// The likely case at some speeds [rpm] of a job at some ratio, read from a few ratios of it.
    ///
    /// # Errors
    /// As [`Tuned::new`].
    pub(super) fn read<'a>(
        &'a self,
        job: &'a Job,
        speeds_rpm: &[f64],
    ) -> Result<Vec<LikelyPoint<'a>>, EstimateError> {
        let grids = self.grids(job);
        in_order(speeds_rpm, |speed_rpm| match grids.iter().find(|grid| grid.holds(*speed_rpm, job)) {
            Some(grid) => {
                let (tuned, read) = grid.tuned(job, self.fuel.named())?;
                Ok(LikelyPoint { tuned, read: Some(read) })
            }
            None => self.run(job, *speed_rpm),
        })
    }

    /// The likely case at an rpm, run at the ratio of a job itself.
    ///
    /// # Errors
    /// As [`Tuned::new`].
    pub(super) fn run<'a>(&'a self, job: &'a Job, speed_rpm: f64) -> Result<LikelyPoint<'a>, EstimateError> {
        let tuned = Tuned::new(job, job.setting(), self.fuel.named(), speed_rpm, Shifts::NONE)?;
        Ok(LikelyPoint { tuned, read: None })
    }

    /// Points of the likely case with their response to uncertain inputs.
    ///
    /// # Arguments
    /// - `likely`: at the speeds at which slopes are run, rising
    pub(super) fn analyses<'a>(&self, job: &Job, likely: &[LikelyPoint<'a>]) -> Vec<PointAnalysis<'a>> {
        // Not within the lock: a thread that waits for its part of the run might take up another that asks for it.
        if self.table.get().is_none() {
            let run = self.run_slopes(job, likely).map(Arc::new);
            self.table.get_or_init(|| run);
        }
        likely.par_iter().map(|at| self.analysis(job, at)).collect()
    }

    /// One of them, with slopes of its own where none have been run over ratio.
    pub(super) fn analysis<'a>(&self, job: &Job, at: &LikelyPoint<'a>) -> PointAnalysis<'a> {
        let ratio = job.build.geometry.compression_ratio.get();
        let is_within = (self.ends.0..=self.ends.1).contains(&ratio);
        let slopes = match self.table.get() {
            Some(Some(table)) if is_within => table.at(at.tuned.speed_rpm(), ratio),
            _ => Slopes::new(&at.tuned, &self.fuel, -at.tuned.retard_deg()),
        };
        PointAnalysis::with_response(at.tuned, &self.fuel, at.response(&slopes))
    }

    /// Run at every speed of a job; nothing where a ratio is outside the model.
    fn grids(&self, job: &Job) -> &[RatioGrid] {
        if let Some(grids) = self.grids.get() {
            return grids;
        }
        let ratios = grid_ratios(self.ends.0, self.ends.1);
        let jobs: Option<Vec<Job>> = ratios.iter().map(|ratio| job.at_ratio(*ratio).ok()).collect();
        let run = |jobs: &[Job; RATIOS]| {
            let grid = |speed: &f64| Ok::<_, EstimateError>(RatioGrid::new(jobs, self.fuel.likely(), *speed));
            in_order(&job.speeds_rpm, grid).unwrap_or_default()
        };
        let found = jobs.and_then(|jobs| jobs.try_into().ok()).map(|jobs| run(&jobs)).unwrap_or_default();
        self.grids.get_or_init(|| found)
    }

    fn run_slopes(&self, job: &Job, likely: &[LikelyPoint<'_>]) -> Option<SlopeTable<3>> {
        let all: Vec<f64> = likely.iter().map(|at| at.tuned.speed_rpm()).collect();
        let speeds: Vec<f64> = slope_speeds(&all).into_iter().map(|i| all[i]).collect();
        let ratios = [self.ends.0, 0.5 * (self.ends.0 + self.ends.1), self.ends.1];
        let jobs = ratios.iter().map(|ratio| job.at_ratio(*ratio).ok()).collect::<Option<Vec<_>>>()?;
        let points = jobs.iter().map(|job| self.read(job, &speeds)).collect::<Result<Vec<_>, _>>().ok()?;
        let nodes: Vec<_> =
            (0..speeds.len()).map(|i| std::array::from_fn(|ratio| &points[ratio][i].tuned)).collect();
        Some(SlopeTable::new(ratios, &nodes, &self.fuel))
    }
}

/// The likely case of some fuels at every speed of a job, read: one row per fuel.
///
/// # Errors
/// As [`Tuned::new`].
pub(super) fn read_rows<'a>(
    job: &'a Job,
    fuels: &'a [SlopedFuel],
) -> Result<Vec<Vec<LikelyPoint<'a>>>, EstimateError> {
    in_order(fuels, |fuel| fuel.read(job, &job.speeds_rpm))
}

/// The likely case of a fuel at every speed of a job, run.
///
/// # Errors
/// As [`Tuned::new`].
pub(super) fn run_row<'a>(job: &'a Job, fuel: &'a SlopedFuel) -> Result<Vec<LikelyPoint<'a>>, EstimateError> {
    over_speeds(&[()], &job.speeds_rpm, |(), speed| fuel.run(job, speed))
}
