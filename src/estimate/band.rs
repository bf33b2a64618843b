//! A quantity with its 10-90 % band.

use schemars::JsonSchema;
use serde::Serialize;
use statrs::statistics::{Data, OrderStatistics};

/// A quantity as the 10th, 50th and 90th percentile of its samples.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct Band {
    /// 10th percentile.
    pub low: f64,
    /// 50th percentile.
    pub likely: f64,
    /// 90th percentile.
    pub high: f64,
}

impl Band {
    /// Every percentile times a positive factor.
    pub fn times(self, factor: f64) -> Self {
        Self { low: self.low * factor, likely: self.likely * factor, high: self.high * factor }
    }
}

/// 10th, 50th and 90th percentile of some values.
pub fn band(values: impl Iterator<Item = f64>) -> Band {
    let mut data = Data::new(values.collect::<Vec<f64>>());
    Band { low: data.percentile(10), likely: data.percentile(50), high: data.percentile(90) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// HAND: of 0 to 1000 one in ten lies below 100, half below 500 and one in ten above 900, in whatever order.
    #[test]
    fn a_band_leaves_one_in_ten_on_either_side() {
        let values = (0..=1000).map(|i| f64::from(i * 379 % 1001));
        let Band { low, likely, high } = band(values);
        for (found, hand) in [(low, 100.0), (likely, 500.0), (high, 900.0)] {
            assert!((found - hand).abs() < 1.0, "{found} {hand}");
        }
        assert_eq!(
            Band { low: 1.0, likely: 2.0, high: 4.0 }.times(3.0),
            Band { low: 3.0, likely: 6.0, high: 12.0 }
        );
    }
}
