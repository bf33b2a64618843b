//! What parts make of the samples of the engine as built.

use super::parts::GAIN_RANGE;
use super::share_at_or_above;
use crate::estimate::Band;

/// Deviates of a gain over its likely value: the middles of nine equal shares of a normal distribution, as deviations over
/// that of its 90th percentile (a table of the normal distribution; 1.2816 at 90 %).
const DEVIATES: [f64; 9] = [-1.2430, -0.7549, -0.4599, -0.2202, 0.0, 0.2202, 0.4599, 0.7549, 1.2430];

/// Power with parts, and the chance that it reaches a goal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Outcome {
    /// 10th, 50th and 90th percentile [kW].
    pub(super) wheel_power_kw: Band,
    /// Share that reaches the goal [-].
    pub(super) chance_frac: f64,
}

impl Outcome {
    /// # Arguments
    /// - `samples_kw`: peak wheel power of each sample as built [kW]
    /// - `gain_frac`: likely gain over as built [-]; it may come out as [`GAIN_RANGE`] says
    /// - `goal_kw`: wanted wheel power [kW]
    pub(super) fn new(samples_kw: &[f64], gain_frac: f64, goal_kw: f64) -> Self {
        let half = 0.5 * (GAIN_RANGE[1] - GAIN_RANGE[0]);
        let with = |kw: &f64| DEVIATES.map(|z| kw * (1.0 + gain_frac * (1.0 + half * z)));
        let mut all: Vec<f64> = samples_kw.iter().flat_map(with).collect();
        all.sort_by(f64::total_cmp);
        let at = |share: f64| all.get((share * (all.len().max(1) - 1) as f64).round() as usize).copied();
        let [low, likely, high] = [0.1, 0.5, 0.9].map(|share| at(share).unwrap_or(0.0));
        Self { wheel_power_kw: Band { low, likely, high }, chance_frac: share_at_or_above(&all, goal_kw) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    // HAND: one engine of 100 kW and a gain of 20 %: nine outcomes 120 + 10 z; 122.2 and more are four of nine (z from 0.2202 up).
    #[test]
    fn one_sample_by_hand() {
        let outcome = Outcome::new(&[100.0], 0.2, 122.2);
        assert_relative_eq!(outcome.wheel_power_kw.likely, 120.0);
        assert_relative_eq!(outcome.wheel_power_kw.high, 127.549, epsilon = 1e-9);
        assert_relative_eq!(outcome.chance_frac, 4.0 / 9.0);
    }

    #[test]
    fn without_a_gain_the_samples_stay() {
        let samples = [90.0, 100.0, 110.0];
        assert_relative_eq!(Outcome::new(&samples, 0.0, 100.0).chance_frac, 2.0 / 3.0);
    }
}
