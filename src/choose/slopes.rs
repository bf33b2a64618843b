//! Slopes of a fuel over compression ratio: how its samples differ from the likely case is run at some speeds
//! and three ratios, not at each.

use crate::estimate::analysis::{PointAnalysis, PreparedFuel};
use crate::estimate::point::Shifts;
use crate::estimate::slopes::{SlopeTable, Slopes, slope_speeds};
use crate::estimate::sweep::{in_order, over_speeds};
use crate::estimate::tuned::Tuned;
use crate::estimate::{EstimateError, Job};
use crate::units::CompressionRatio;
use std::sync::OnceLock;

/// A fuel with its slopes over rpm and ratio, run when first asked for.
pub(super) struct SlopedFuel {
    pub(super) fuel: PreparedFuel,
    /// The lowest, a middle and the highest ratio asked.
    ratios: [f64; 3],
    /// None within where the engine does not run at one of the speeds and ratios.
    table: OnceLock<Option<SlopeTable<3>>>,
}

impl SlopedFuel {
    /// Nothing run as yet.
    ///
    /// # Arguments
    /// - `ends`: the lowest and the highest ratio asked
    pub(super) fn new(fuel: PreparedFuel, (lowest, highest): (CompressionRatio, CompressionRatio)) -> Self {
        let (lowest, highest) = (lowest.get(), highest.get());
        Self { fuel, ratios: [lowest, 0.5 * (lowest + highest), highest], table: OnceLock::new() }
    }

    /// The fuel at some speeds [rpm] of a job at some ratio, those at which its slopes are run.
    ///
    /// # Errors
    /// As [`Tuned::new`].
    pub(super) fn analyses<'a>(
        &'a self,
        job: &'a Job,
        speeds_rpm: &[f64],
    ) -> Result<Vec<PointAnalysis<'a>>, EstimateError> {
        let ratio = job.build.geometry.compression_ratio.get();
        let table =
            self.table(job, speeds_rpm).filter(|_| (self.ratios[0]..=self.ratios[2]).contains(&ratio));
        in_order(speeds_rpm, |speed_rpm| {
            let likely = self.tuned(job, *speed_rpm)?;
            let slopes = match table {
                Some(table) => table.at(*speed_rpm, ratio),
                None => Slopes::new(&likely, &self.fuel, -likely.retard_deg()),
            };
            Ok(PointAnalysis::with_slopes(likely, &self.fuel, &slopes))
        })
    }

    /// The slopes over the speeds first asked.
    fn table(&self, job: &Job, speeds_rpm: &[f64]) -> Option<&SlopeTable<3>> {
        // Not within the lock: a thread that waits for its part of the run might take up another that asks for it.
        if self.table.get().is_none() {
            let run = self.run(job, speeds_rpm);
            return self.table.get_or_init(|| run).as_ref();
        }
        self.table.get()?.as_ref()
    }

    fn run(&self, job: &Job, speeds_rpm: &[f64]) -> Option<SlopeTable<3>> {
        let jobs = self.ratios.iter().map(|ratio| job.at_ratio(*ratio).ok()).collect::<Option<Vec<_>>>()?;
        let speeds: Vec<f64> = slope_speeds(speeds_rpm).into_iter().map(|i| speeds_rpm[i]).collect();
        let tuned = over_speeds(&jobs, &speeds, |job, speed| self.tuned(job, speed)).ok()?;
        let nodes: Vec<_> = (0..speeds.len())
            .map(|i| std::array::from_fn(|ratio| &tuned[ratio * speeds.len() + i]))
            .collect();
        Some(SlopeTable::new(self.ratios, &nodes, &self.fuel))
    }

    fn tuned<'a>(&'a self, job: &'a Job, speed_rpm: f64) -> Result<Tuned<'a>, EstimateError> {
        Tuned::new(job, job.setting(), self.fuel.named(), speed_rpm, Shifts::NONE)
    }
}
