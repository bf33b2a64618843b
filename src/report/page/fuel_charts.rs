//! The drawings of one fuel against speed, on scales that all fuels share.

use crate::estimate::{Band, CurvePoint, Estimate};
use crate::report::Units;
use crate::report::plot::figure::{Entry, Mark, Panel, Series};
use crate::report::plot::style::{BEST_TORQUE, Dash, INK, Look, look};

/// Line of the cautious spark.
const CAUTIOUS: Dash = Some((2, 4));

/// A likely curve in its band.
pub(super) struct Banded<'a> {
    estimate: &'a Estimate,
    y_name: String,
    value: Box<dyn Fn(&CurvePoint) -> Band + 'a>,
    also: Vec<f64>,
}

impl<'a> Banded<'a> {
    /// Torque at the crank.
    pub(super) fn torque(estimate: &'a Estimate, units: Units) -> Self {
        let value = move |p: &CurvePoint| converted(p.crank_torque_nm, |nm| units.torque(nm));
        let y_name = format!("crank torque, {}", units.torque_unit());
        Self { estimate, y_name, value: Box::new(value), also: Vec::new() }
    }

    /// Power at the wheels.
    pub(super) fn power(estimate: &'a Estimate, units: Units) -> Self {
        let value = move |p: &CurvePoint| converted(p.wheel_power_kw, |kw| units.power(kw));
        let y_name = format!("wheel power, {}", units.power_unit());
        Self { estimate, y_name, value: Box::new(value), also: Vec::new() }
    }

    /// Octane numbers in hand at the spark used.
    pub(super) fn margin(estimate: &'a Estimate) -> Self {
        let y_name = "octane numbers in hand".to_owned();
        Self { estimate, y_name, value: Box::new(|p| p.octane_margin_band), also: vec![0.0] }
    }

    /// The panel of the fuel at a place in the list.
    pub(super) fn panel(&self, fuel: usize) -> Panel {
        let Look { colour, shape, .. } = look(fuel);
        let curve = &self.estimate.fuels[fuel].curve;
        let line = |pick: fn(Band) -> f64| -> Vec<(f64, f64)> {
            curve.iter().map(|p| (p.speed_rpm, pick((self.value)(p)))).collect()
        };
        let (low, likely, high) = (line(|b| b.low), line(|b| b.likely), line(|b| b.high));
        let outline = low.into_iter().chain(high.into_iter().rev()).collect();
        let mut series = vec![Series { mark: Mark::Area, colour, points: outline }];
        for end in &self.also {
            let points = likely.iter().map(|(speed, _)| (*speed, *end)).collect();
            series.push(Series { mark: Mark::Line(None), colour: INK, points });
        }
        series.push(Series { mark: Mark::Line(None), colour, points: likely.clone() });
        series.push(Series { mark: Mark::Dots(shape, true), colour, points: likely });
        Panel::over_speed(self.y_name.clone(), series, &self.ends())
    }

    /// Ends of the bands of all fuels.
    fn ends(&self) -> Vec<f64> {
        let points = self.estimate.fuels.iter().flat_map(|fuel| &fuel.curve);
        let bands = points.map(|p| (self.value)(p)).flat_map(|band| [band.low, band.high]);
        bands.chain(self.also.iter().copied()).collect()
    }
}

/// Legend of a likely curve in its band.
pub(super) fn band_legend() -> Vec<Entry> {
    vec![
        Entry::new("likely", INK, &[Mark::Line(None), Mark::Dots(look(0).shape, true)]),
        Entry::new("low to high: eight of ten fall inside", INK, &[Mark::Area]),
    ]
}

/// Spark used, of best torque and cautious, of the fuel at a place in the list.
pub(super) fn spark_panel(estimate: &Estimate, fuel: usize) -> Panel {
    let Look { colour, shape, .. } = look(fuel);
    let curve = &estimate.fuels[fuel].curve;
    let line = |value: fn(&CurvePoint) -> Option<f64>| -> Vec<(f64, f64)> {
        curve.iter().filter_map(|p| Some((p.speed_rpm, value(p)?))).collect()
    };
    let best = line(|p| Some(p.best_torque_spark_deg_btdc));
    let used = line(|p| Some(p.spark_deg_btdc));
    let cautious = line(|p| p.cautious_spark_deg_btdc);
    let mut series = vec![
        Series { mark: Mark::Line(BEST_TORQUE), colour: INK, points: best },
        Series { mark: Mark::Line(CAUTIOUS), colour, points: cautious },
        Series { mark: Mark::Line(None), colour, points: used.clone() },
        Series { mark: Mark::Dots(shape, true), colour, points: used },
    ];
    series.retain(|s| !s.points.is_empty());
    let points = estimate.fuels.iter().flat_map(|fuel| &fuel.curve);
    let ends: Vec<f64> = points
        .flat_map(|p| {
            let cautious = p.cautious_spark_deg_btdc.unwrap_or(p.spark_deg_btdc);
            [p.best_torque_spark_deg_btdc, p.spark_deg_btdc, cautious]
        })
        .collect();
    Panel::over_speed("spark, deg before TDC".to_owned(), series, &ends)
}

/// Legend of [`spark_panel`].
pub(super) fn spark_legend() -> Vec<Entry> {
    vec![
        Entry::new("best torque, knock left out of account", INK, &[Mark::Line(BEST_TORQUE)]),
        Entry::new("likely limit, as used", INK, &[Mark::Line(None), Mark::Dots(look(0).shape, true)]),
        Entry::new("cautious: the place to start from", INK, &[Mark::Line(CAUTIOUS)]),
    ]
}

fn converted(band: Band, convert: impl Fn(f64) -> f64) -> Band {
    Band { low: convert(band.low), likely: convert(band.likely), high: convert(band.high) }
}
