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
