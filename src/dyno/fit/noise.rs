//! How well the pulls are measured, from how well they repeat.

use super::super::evidence::Evidence;
use crate::estimate::Band;
use crate::estimate::known::DYNO_REPEATS;
use schemars::JsonSchema;
use serde::Serialize;

/// Least standard deviations of the mean of the pulls that are believed: of all rpm, and of one [-]. Two or three
/// pulls agree by chance, and all share the errors of one gauge and one day (common practice, no source).
const LEAST_WHOLE: f64 = DYNO_REPEATS;
const LEAST_ROW: f64 = 0.003;
/// Standard deviations of a single pull, whose repeatability is not known [-] (common practice, no source).
const SINGLE_WHOLE: f64 = 0.010;
const SINGLE_ROW: f64 = 0.008;

/// Half width of the 10-90 % band of the reading of any one dyno about that of all of them [-]: chassis dynos differ by 5 to
/// 8 % among themselves (common practice, no source).
const BETWEEN_DYNOS: f64 = 0.065;

/// A power that one dyno read, as any dyno may read it: the spread between dynos stands beside the band, independent of it.
pub(super) fn on_any_dyno(power: Band) -> Band {
    let widened = |end: f64| (end - power.likely).hypot(BETWEEN_DYNOS * power.likely);
    Band {
        low: power.likely - widened(power.low),
        likely: power.likely,
        high: power.likely + widened(power.high),
    }
}

/// Measuring errors that the fit reckons with, as standard deviations of the mean of the pulls.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Noise {
    /// Of all rpm together [-].
    pub whole_frac: f64,
    /// Of each rpm on its own [-].
    pub row_frac: f64,
    /// Pulls that were averaged.
    pub pulls: usize,
    /// Whether it comes from how the pulls repeat; else it is usual practice for a single pull.
    pub from_repeats: bool,
}

impl Noise {
    /// From the differences between the pulls, with a floor.
    pub(super) fn of(e: &Evidence<'_>) -> Self {
        let pulls = e.log.pulls.len();
        if pulls < 2 {
            return Self { whole_frac: SINGLE_WHOLE, row_frac: SINGLE_ROW, pulls, from_repeats: false };
        }
        // Each pull against the mean of the pulls, and about its own offset from it.
        let (mut whole, mut row, mut rows) = (0.0, 0.0, 0.0);
        for pull in 0..pulls {
            let off: Vec<f64> = e
                .points
                .iter()
                .filter_map(|p| Some((e.pull_torque_at(pull, p.speed_rpm)? / p.torque_nm).ln()))
                .filter(|off| off.is_finite())
                .collect();
            let count = off.len().max(1) as f64;
            let mean = off.iter().sum::<f64>() / count;
            whole += mean * mean;
            row += off.iter().map(|x| (x - mean).powi(2)).sum::<f64>();
            rows += count - 1.0;
        }
        // Variance of the mean of n pulls: sum of squares about the mean over n (n - 1).
        let free = (pulls - 1) as f64;
        let of_mean = |square: f64| (square / free / pulls as f64).sqrt();
        Self {
            whole_frac: of_mean(whole).max(LEAST_WHOLE),
            row_frac: of_mean(row * pulls as f64 / f64::max(rows, 1.0)).max(LEAST_ROW),
            pulls,
            from_repeats: true,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// HAND: 3 kW and 6.5 kW at right angles are 7.159 kW.
    #[test]
    fn the_spread_between_dynos_stands_beside_the_band() {
        let any = on_any_dyno(Band { low: 97.0, likely: 100.0, high: 103.0 });
        assert_relative_eq!(any.high, 107.159, epsilon = 1e-3);
        assert_relative_eq!(any.low, 92.841, epsilon = 1e-3);
    }
}
