//! Predicted peaks beside the catalogue's.

use super::rows::Engine;
use super::rules::{Told, job};
use endgas::estimate::{Band, estimate};
use statrs::statistics::{Data, OrderStatistics as _};

/// A predicted quantity beside the catalogue's.
#[derive(Clone)]
pub struct Compared {
    pub engine: Engine,
    pub what: &'static str,
    pub stated: f64,
    pub found: Band,
}

impl Compared {
    /// Error of the prediction, in logarithm.
    pub fn log(&self) -> f64 {
        (self.found.likely / self.stated).ln()
    }

    pub fn percent(&self) -> f64 {
        100.0 * (self.found.likely / self.stated - 1.0)
    }

    pub fn is_covered(&self) -> bool {
        (self.found.low..=self.found.high).contains(&self.stated)
    }

    /// Half of the band, in logarithm.
    pub fn half_width(&self) -> f64 {
        0.5 * (self.found.high / self.found.low).ln()
    }
}

/// Speeds at which a row is run [rpm]: from well below its torque peak to beyond its power peak, wherever that may lie.
fn speeds(engine: &Engine, told: Told) -> Vec<f64> {
    const STEPS: u32 = 13;
    let peaks = engine.peaks(told).unwrap();
    let figures = engine.kind.figures(engine.injection);
    let at = |deviate: f64| peaks.resolved(figures, engine.stroke_m / 30.0, deviate);
    let (low, high) = (at(-1.0).0, at(1.3).1);
    (0..=STEPS).map(|i| 0.75 * low + (1.15 * high - 0.75 * low) * f64::from(i) / f64::from(STEPS)).collect()
}

/// Peak power and peak torque of the predicted curve at the crank beside the catalogue's.
pub fn compare(engine: &Engine, told: Told) -> Vec<Compared> {
    let Some(peaks) = engine.peaks(told) else { return Vec::new() };
    let found = estimate(&job(engine, peaks, speeds(engine, told))).unwrap();
    let fuel = &found.fuels[0];
    let of = |what, stated, found| Compared { engine: engine.clone(), what, stated, found };
    let torque = engine.torque_nm.map(|nm| of("torque", nm, fuel.peak_torque.crank));
    std::iter::once(of("power", engine.power_kw, fuel.peak_power.crank)).chain(torque).collect()
}

pub fn percentile(values: impl Iterator<Item = f64>, percent: usize) -> f64 {
    Data::new(values.collect::<Vec<f64>>()).percentile(percent)
}

/// A line of the table of errors.
pub fn summary(what: &str, rows: &[&Compared]) -> String {
    let covered = rows.iter().filter(|r| r.is_covered()).count();
    let worst = rows.iter().max_by(|a, b| a.percent().abs().total_cmp(&b.percent().abs())).unwrap();
    format!(
        "| {what} | {} | {:.1} | {:.1} | {:+.1} | {:+.1} ({}) | {:.0} |\n",
        rows.len(),
        percentile(rows.iter().map(|r| r.percent().abs()), 50),
        percentile(rows.iter().map(|r| r.percent().abs()), 90),
        percentile(rows.iter().map(|r| r.percent()), 50),
        worst.percent(),
        worst.engine.row,
        100.0 * covered as f64 / rows.len() as f64
    )
}

/// Head of the table of errors.
pub const HEAD: &str = "| rows | n | median error, % | 90th percentile, % | median, signed, % | worst, % | in the 10-90 band, % |\n\
     |---|---|---|---|---|---|---|\n";
