//! One thing of a job made different: the same engine on the same day but for it.

use super::job::Job;
use crate::air::Weather;
use crate::engine::{Breathing, PeakSpeeds};
use crate::units::{CompressionRatio, OutOfRange};
use std::sync::Arc;

/// What is made different.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum JobChange {
    /// Another compression ratio.
    CompressionRatio(CompressionRatio),
    /// Speeds of the powerband times a factor [-]; a peak that was not stated moves as far as the one that was.
    Powerband(f64),
    /// Burn speed times a factor [-].
    BurnSpeed(f64),
    /// Coolant or head hotter by so much [K], the walls following.
    HotterHead(f64),
    /// Chamber walls and exhaust valve hotter by so much [K].
    HotterWalls(f64),
    /// Driveline loss at peak power as if measured [-].
    DrivelineLoss(f64),
    /// Another day; the relative humidity is that of the new temperature.
    Weather(Weather),
}

impl JobChange {
    /// Makes the change.
    pub fn apply(self, job: &mut Job) {
        let build = &mut job.build;
        match self {
            Self::CompressionRatio(ratio) => build.geometry.compression_ratio = ratio,
            Self::Powerband(factor) => {
                let piston_speed_per_rpm = build.geometry.mean_piston_speed_m_per_s(1.0);
                match &mut build.breathing {
                    Breathing::Table { speed_rpm, .. } => speed_rpm.iter_mut().for_each(|s| *s *= factor),
                    Breathing::Band { kind, peaks, .. } => {
                        let figures = kind.figures(build.injection);
                        let (torque_rpm, power_rpm) = peaks.resolved(figures, piston_speed_per_rpm, 0.0);
                        *peaks = PeakSpeeds::Both { torque_rpm, power_rpm }.scaled(factor);
                    }
                    Breathing::PortFlow(flow) => flow.best_mach_index *= factor,
                    Breathing::Computed(computed) => {
                        Arc::make_mut(computed).points.iter_mut().for_each(|p| p.speed_rpm *= factor);
                    }
                }
            }
            Self::BurnSpeed(factor) => build.combustion.burn_speed *= factor,
            Self::HotterHead(by_k) => build.combustion = build.combustion.hotter_by(by_k),
            Self::HotterWalls(by_k) => build.combustion.wall_temperature_k += by_k,
            Self::DrivelineLoss(loss) => build.driveline.measured_loss = Some(loss),
            Self::Weather(weather) => job.weather = weather,
        }
    }
}

impl Job {
    /// This job but for a change.
    #[must_use]
    pub fn with(&self, change: JobChange) -> Self {
        let mut changed = self.clone();
        change.apply(&mut changed);
        changed
    }

    /// This job with its build at another ratio [-].
    ///
    /// # Errors
    /// [`OutOfRange`] when the ratio is outside the model.
    pub fn at_ratio(&self, ratio: f64) -> Result<Self, OutOfRange> {
        Ok(self.with(JobChange::CompressionRatio(CompressionRatio::new(ratio)?)))
    }
}
