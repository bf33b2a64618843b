//! Slopes of a fuel over compression ratio: how its samples differ from the likely case is run at three ratios, not at each.

use crate::estimate::analysis::{PointAnalysis, PreparedFuel};
use crate::estimate::point::Shifts;
use crate::estimate::slopes::{Slopes, SlopesOverRatio};
use crate::estimate::tuned::Tuned;
use crate::estimate::{EstimateError, Job};
use crate::units::CompressionRatio;
use std::sync::OnceLock;

/// A fuel with its slopes at each rpm, run when first asked for.
pub(super) struct SlopedFuel {
    pub(super) fuel: PreparedFuel,
    /// The lowest, a middle and the highest ratio asked.
    ratios: [f64; 3],
    speeds_rpm: Vec<f64>,
    /// By rpm; none within where the engine does not run at one of the ratios.
    slopes: Vec<OnceLock<Option<SlopesOverRatio>>>,
}

impl SlopedFuel {
    /// Nothing run as yet.
    ///
    /// # Arguments
    /// - `ends`: the lowest and the highest ratio asked
    /// - `speeds_rpm`: at which it will be run [rpm]
    pub(super) fn new(
        fuel: PreparedFuel,
        (lowest, highest): (CompressionRatio, CompressionRatio),
        speeds_rpm: &[f64],
    ) -> Self {
        let (lowest, highest) = (lowest.get(), highest.get());
        Self {
            fuel,
            ratios: [lowest, 0.5 * (lowest + highest), highest],
            speeds_rpm: speeds_rpm.to_vec(),
            slopes: speeds_rpm.iter().map(|_| OnceLock::new()).collect(),
        }
    }

    /// The fuel at an rpm of a job at some ratio.
    ///
    /// # Errors
    /// As [`Tuned::new`].
    pub(super) fn analysis<'a>(
        &'a self,
        job: &'a Job,
        speed_rpm: f64,
    ) -> Result<PointAnalysis<'a>, EstimateError> {
        let likely = Tuned::new(job, job.setting(), self.fuel.named(), speed_rpm, Shifts::NONE)?;
        let slopes = match self.over_ratio(job, speed_rpm) {
            Some(slopes) => slopes.at(job.build.geometry.compression_ratio.get()),
            None => Slopes::new(&likely, &self.fuel, -likely.retard_deg()),
        };
        Ok(PointAnalysis::with_slopes(likely, &self.fuel, &slopes))
    }

    /// The slopes at an rpm over ratio; none outside the ratios and the speeds asked.
    fn over_ratio(&self, job: &Job, speed_rpm: f64) -> Option<&SlopesOverRatio> {
        let ratio = job.build.geometry.compression_ratio.get();
        let at = self.speeds_rpm.iter().position(|speed| *speed == speed_rpm)?;
        if !(self.ratios[0]..=self.ratios[2]).contains(&ratio) {
            return None;
        }
        self.slopes[at].get_or_init(|| self.run(job, speed_rpm)).as_ref()
    }

    fn run(&self, job: &Job, speed_rpm: f64) -> Option<SlopesOverRatio> {
        let jobs = self.ratios.map(|ratio| job.at_ratio(ratio));
        let [Ok(low), Ok(middle), Ok(high)] = &jobs else { return None };
        let points =
            (self.tuned(low, speed_rpm)?, self.tuned(middle, speed_rpm)?, self.tuned(high, speed_rpm)?);
        let at = [(self.ratios[0], &points.0), (self.ratios[1], &points.1), (self.ratios[2], &points.2)];
        Some(SlopesOverRatio::new(at, &self.fuel))
    }

    fn tuned<'a>(&'a self, job: &'a Job, speed_rpm: f64) -> Option<Tuned<'a>> {
        Tuned::new(job, job.setting(), self.fuel.named(), speed_rpm, Shifts::NONE).ok()
    }
}
