//! Spark held back and torque lost over the samples, on the weakest blend of the worst weather.

use super::job::{ChoiceLimits, ChooseError};
use super::limit::LimitKind;
use super::watch::Watch;
use crate::estimate::interpolate::NearestCubic;
use statrs::statistics::{Data, OrderStatistics};

/// The most over speed of each sample: spark held back [deg] and torque lost [-].
pub(super) type Worst = (f64, f64);

/// The samples of one blend at some nodes of ratio.
pub(super) struct Sampled {
    blend: usize,
    ratios: Vec<f64>,
    rows: Vec<Vec<Worst>>,
}

impl Sampled {
    /// Samples one blend of a watch at every node.
    ///
    /// # Errors
    /// As [`Watch::readings`].
    pub(super) fn new(watch: &Watch<'_>, blend: usize, ratios: Vec<f64>) -> Result<Self, ChooseError> {
        let rows = ratios.iter().map(|ratio| watch.sampled_blend(*ratio, blend)).collect::<Result<_, _>>()?;
        Ok(Self { blend, ratios, rows })
    }

    /// The samples at a ratio: between the nodes by a cubic, beyond them computed.
    ///
    /// # Errors
    /// As [`Watch::readings`].
    pub(super) fn at(&self, watch: &Watch<'_>, ratio: f64) -> Result<Vec<Worst>, ChooseError> {
        let is_between = self.ratios.first() <= Some(&ratio) && Some(&ratio) <= self.ratios.last();
        if is_between { Ok(self.between(ratio)) } else { watch.sampled_blend(ratio, self.blend) }
    }

    fn between(&self, ratio: f64) -> Vec<Worst> {
        let cubic = NearestCubic::new(&self.ratios, ratio);
        let samples = self.rows.first().map_or(0, Vec::len);
        (0..samples)
            .map(|s| {
                let of = |pick: fn(&Worst) -> f64| cubic.of(|node| pick(&self.rows[node][s])).max(0.0);
                (of(|worst| worst.0), of(|worst| worst.1))
            })
            .collect()
    }
}

/// What a share of the samples stays below: spark held back or torque lost; none for another kind.
pub(super) fn quantile(samples: &[Worst], kind: LimitKind, share: f64) -> Option<f64> {
    let values: Vec<f64> = match kind {
        LimitKind::Retard => samples.iter().map(|worst| worst.0).collect(),
        LimitKind::TorqueLoss => samples.iter().map(|worst| worst.1).collect(),
        _ => return None,
    };
    Some(Data::new(values).quantile(share))
}

/// Share of samples that keep the limits of retard and torque [-].
pub(super) fn kept_share(samples: &[Worst], limits: &ChoiceLimits) -> f64 {
    let kept = samples.iter().filter(|(retard, lost)| {
        limits.retard_deg.is_none_or(|most| *retard <= most)
            && limits.torque_lost_frac.is_none_or(|most| *lost <= most)
    });
    kept.count() as f64 / samples.len() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    // HAND: of losses 1 to 10 %, 6 keep 6 %; with retard twice the number, 4 keep 8 deg as well.
    #[test]
    fn shares_and_quantiles_by_hand() {
        let samples: Vec<Worst> = (1..=10).map(|i| (2.0 * f64::from(i), 0.01 * f64::from(i))).collect();
        let mut limits = ChoiceLimits { torque_lost_frac: Some(0.0601), ..ChoiceLimits::default() };
        assert!((kept_share(&samples, &limits) - 0.6).abs() < 1e-12);
        limits.retard_deg = Some(8.0);
        assert!((kept_share(&samples, &limits) - 0.4).abs() < 1e-12);
        let half = quantile(&samples, LimitKind::TorqueLoss, 0.5).unwrap();
        assert!((half - 0.055).abs() < 1e-12, "{half}");
        assert!(quantile(&samples, LimitKind::Retard, 0.9).unwrap() > 17.0);
        assert_eq!(quantile(&samples, LimitKind::PeakPressure, 0.5), None);
    }
}
