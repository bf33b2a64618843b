//! Axis ranges and ticks on round numbers.

/// Round ticks that enclose all values; the first and the last tick are the ends of the axis.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::report) struct Axis {
    /// Tick positions, rising, at least two.
    pub(in crate::report) ticks: Vec<f64>,
    /// Decimals that tell the ticks apart.
    pub(in crate::report) decimals: usize,
}

impl Axis {
    /// An axis over finite values with about `wanted` steps.
    pub(in crate::report) fn enclosing(values: impl IntoIterator<Item = f64>, wanted: usize) -> Self {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for value in values {
            low = low.min(value);
            high = high.max(value);
        }
        if low > high {
            (low, high) = (0.0, 1.0);
        }
        if high - low < 1.0e-9 * high.abs().max(1.0) {
            let pad = (0.05 * high.abs()).max(0.5);
            (low, high) = (low - pad, high + pad);
        }
        let step = round_step((high - low) / wanted.max(1) as f64);
        let first = (low / step + 1.0e-9).floor();
        let count = ((high / step - 1.0e-9).ceil() - first).max(1.0) as usize;
        let ticks = (0..=count).map(|i| (first + i as f64) * step).collect();
        Self { ticks, decimals: decimals(step) }
    }

    /// Lower end.
    pub(in crate::report) fn low(&self) -> f64 {
        self.ticks.first().copied().unwrap_or(0.0)
    }

    /// Upper end.
    pub(in crate::report) fn high(&self) -> f64 {
        self.ticks.last().copied().unwrap_or(1.0)
    }
}

/// The least of 1, 2, 5 and 10 times a power of ten, or 2.5 times one from 10 up, that is not below
/// the raw step; smaller steps of 2.5 would need a digit more.
fn round_step(raw: f64) -> f64 {
    let power = 10f64.powf(raw.log10().floor());
    let factors: &[f64] = if power > 5.0 { &[1.0, 2.0, 2.5, 5.0] } else { &[1.0, 2.0, 5.0] };
    let fits = |factor: &&f64| **factor * power >= raw * (1.0 - 1.0e-9);
    factors.iter().find(fits).unwrap_or(&10.0) * power
}

fn decimals(step: f64) -> usize {
    (0..9)
        .find(|&d| {
            let scaled = step * 10f64.powi(d);
            (scaled - scaled.round()).abs() < 1.0e-6 * scaled
        })
        .map_or(9, |d| d as usize)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_are_round_and_enclose() {
        let axis = Axis::enclosing([197.0, 282.0], 6);
        // HAND: 85 / 6 = 14.2, next round step 20.
        assert_eq!(axis.ticks, [180.0, 200.0, 220.0, 240.0, 260.0, 280.0, 300.0]);
        assert_eq!(axis.decimals, 0);
        let axis = Axis::enclosing([2000.0, 7000.0], 6);
        assert_eq!(axis.ticks, [2000.0, 3000.0, 4000.0, 5000.0, 6000.0, 7000.0]);
        let axis = Axis::enclosing([0.93, 1.12], 6);
        assert_eq!(axis.decimals, 2);
        assert!(axis.low() <= 0.93 && axis.high() >= 1.12);
    }

    #[test]
    fn one_value_and_none_still_give_a_range() {
        for values in [vec![3000.0], vec![0.0], vec![], vec![-2.0, -2.0]] {
            let axis = Axis::enclosing(values, 6);
            assert!(axis.high() > axis.low());
            assert!(axis.ticks.len() >= 2 && axis.ticks.len() < 12);
        }
    }
}
