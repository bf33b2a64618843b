//! How many of the samples keep the limits of retard and torque loss on the weakest blend.

use super::curve::Curve;
use super::feasible::Checked;
use super::job::{ChoiceLimits, ChooseError, ChooseJob};
use super::watch::Watch;
use crate::estimate::interpolate::NearestCubic;

/// Spark held back [deg] and torque lost [-] of each sample on the weakest blend of the worst weather, by node of ratio.
pub(super) struct KeptShare {
    ratios: Vec<f64>,
    rows: Vec<Vec<(f64, f64)>>,
}

impl KeptShare {
    /// Samples the weakest blend at every node of the curve; nothing when neither limit is asked.
    ///
    /// # Errors
    /// As [`Watch::readings`].
    pub(super) fn new(ask: &ChooseJob, watch: &Watch<'_>, curve: &Curve<'_>) -> Result<Self, ChooseError> {
        let limits = &ask.limits;
        if limits.retard_deg.is_none() && limits.torque_lost_frac.is_none() {
            return Ok(Self { ratios: Vec::new(), rows: Vec::new() });
        }
        let ratios = curve.ratios();
        let weakest = Checked::new(watch, 0.5 * (ask.lowest.get() + ask.highest.get()))?.readings.weakest();
        let rows =
            ratios.iter().map(|ratio| watch.sampled_blend(*ratio, weakest)).collect::<Result<_, _>>()?;
        Ok(Self { ratios, rows })
    }

    /// Share of samples that keep the limits at a ratio [-]; none when neither is asked.
    pub(super) fn at(&self, limits: &ChoiceLimits, ratio: f64) -> Option<f64> {
        let samples = self.rows.first()?.len();
        let cubic = NearestCubic::new(&self.ratios, ratio);
        let kept = (0..samples).filter(|s| {
            let retard = cubic.of(|node| self.rows[node][*s].0);
            let lost = cubic.of(|node| self.rows[node][*s].1);
            limits.retard_deg.is_none_or(|most| retard <= most)
                && limits.torque_lost_frac.is_none_or(|most| lost <= most)
        });
        Some(kept.count() as f64 / samples as f64)
    }
}
