//! The drawings of one fuel against speed, on scales that all fuels share.

use crate::estimate::{Band, CurvePoint, Estimate};
use crate::report::Units;
use crate::report::plot::figure::{Entry, Mark, Panel, Series, runs};
use crate::report::plot::style::{BEST_TORQUE, INK, LIMIT, Look, look};
use crate::report::quantity::Dimension::{Power, Torque};

/// A quantity of a point at the timing to start from; none without such a timing.
type Start<'a> = Box<dyn Fn(&CurvePoint) -> Option<Band> + 'a>;

/// A curve at the timing to start from in its band, and at the likely limit beside it.
pub(super) struct Banded<'a> {
    estimate: &'a Estimate,
    y_name: String,
    start: Start<'a>,
    limit: Box<dyn Fn(&CurvePoint) -> f64 + 'a>,
    also: Vec<f64>,
}

impl<'a> Banded<'a> {
    /// Torque at the flywheel.
    pub(super) fn torque(estimate: &'a Estimate, units: Units) -> Self {
        let start =
            move |p: &CurvePoint| Some(converted(p.start_crank_torque_nm?, |nm| units.of(Torque, nm)));
        let limit = move |p: &CurvePoint| units.of(Torque, p.crank_torque_nm.likely);
        let y_name = format!("flywheel torque, {}", units.symbol(Torque));
        Self { estimate, y_name, start: Box::new(start), limit: Box::new(limit), also: Vec::new() }
    }

    /// Power at the wheels.
    pub(super) fn power(estimate: &'a Estimate, units: Units) -> Self {
        let start = move |p: &CurvePoint| Some(converted(p.start_wheel_power_kw?, |kw| units.of(Power, kw)));
        let limit = move |p: &CurvePoint| units.of(Power, p.wheel_power_kw.likely);
        let y_name = format!("wheel power, {}", units.symbol(Power));
        Self { estimate, y_name, start: Box::new(start), limit: Box::new(limit), also: Vec::new() }
    }

    /// The same with a line at a wheel power.
    pub(super) fn with(mut self, wheel_power_kw: Option<f64>, units: Units) -> Self {
        self.also.extend(wheel_power_kw.map(|kw| units.of(Power, kw)));
        self
    }

    /// Knock margin in octane numbers.
    pub(super) fn margin(estimate: &'a Estimate) -> Self {
        Self {
            estimate,
            y_name: "margin, octane numbers".to_owned(),
            start: Box::new(|p| p.start_octane_margin_band),
            limit: Box::new(|p| p.octane_margin_band.likely),
            also: vec![0.0],
        }
    }

    /// The panel of the fuel at a place in the list.
    pub(super) fn panel(&self, fuel: usize) -> Panel {
        let Look { colour, shape, .. } = look(fuel);
        let curve = &self.estimate.fuels[fuel].curve;
        let lines = |pick: fn(Band) -> f64| runs(curve, |p| (self.start)(p).map(pick));
        let mut series = Vec::new();
        for (mut outline, high) in lines(|b| b.low).into_iter().zip(lines(|b| b.high)) {
            outline.extend(high.into_iter().rev());
            series.push(Series { mark: Mark::Area, colour, points: outline });
        }
        for end in &self.also {
            let points = curve.iter().map(|p| (p.speed_rpm, *end)).collect();
            series.push(Series { mark: Mark::Line(None), colour: INK, points });
        }
        let limit = curve.iter().map(|p| (p.speed_rpm, (self.limit)(p))).collect();
        series.push(Series { mark: Mark::Line(LIMIT), colour, points: limit });
        for points in lines(|b| b.likely) {
            series.push(Series { mark: Mark::Line(None), colour, points: points.clone() });
            series.push(Series { mark: Mark::Dots(shape, true), colour, points });
        }
        Panel::over_speed(self.y_name.clone(), series, &self.ends())
    }

    /// Ends of the curves and bands of all fuels.
    fn ends(&self) -> Vec<f64> {
        let points = || self.estimate.fuels.iter().flat_map(|fuel| &fuel.curve);
        let bands = points().filter_map(|p| (self.start)(p)).flat_map(|band| [band.low, band.high]);
        bands.chain(points().map(|p| (self.limit)(p))).chain(self.also.iter().copied()).collect()
    }
}

/// Legend of [`Banded`].
pub(super) fn band_legend() -> Vec<Entry> {
    vec![
        Entry::new(
            "likely, at the timing to start from",
            INK,
            &[Mark::Line(None), Mark::Dots(look(0).shape, true)],
        ),
        Entry::new("low to high there: 8 cases of 10 fall inside", INK, &[Mark::Area]),
        Entry::new("likely, at the likely limit", INK, &[Mark::Line(LIMIT)]),
    ]
}

/// The timing to start from, the likely limit and MBT timing of the fuel at a place in the list.
pub(super) fn timing_panel(estimate: &Estimate, fuel: usize) -> Panel {
    let Look { colour, shape, .. } = look(fuel);
    let curve = &estimate.fuels[fuel].curve;
    let line = |value: fn(&CurvePoint) -> f64| curve.iter().map(|p| (p.speed_rpm, value(p))).collect();
    let mut series = vec![
        Series { mark: Mark::Line(BEST_TORQUE), colour: INK, points: line(|p| p.best_torque_spark_deg_btdc) },
        Series { mark: Mark::Line(LIMIT), colour, points: line(|p| p.spark_deg_btdc) },
    ];
    for points in runs(curve, |p| p.cautious_spark_deg_btdc) {
        series.push(Series { mark: Mark::Line(None), colour, points: points.clone() });
        series.push(Series { mark: Mark::Dots(shape, true), colour, points });
    }
    let points = estimate.fuels.iter().flat_map(|fuel| &fuel.curve);
    let ends: Vec<f64> = points
        .flat_map(|p| {
            let start = p.cautious_spark_deg_btdc.unwrap_or(p.spark_deg_btdc);
            [p.best_torque_spark_deg_btdc, p.spark_deg_btdc, start]
        })
        .collect();
    Panel::over_speed("timing, deg BTDC".to_owned(), series, &ends)
}

/// Legend of [`timing_panel`].
pub(super) fn timing_legend() -> Vec<Entry> {
    vec![
        Entry::new(
            "timing to start from, knock-free in 9 cases of 10",
            INK,
            &[Mark::Line(None), Mark::Dots(look(0).shape, true)],
        ),
        Entry::new("likely limit", INK, &[Mark::Line(LIMIT)]),
        Entry::new("MBT timing, knock ignored", INK, &[Mark::Line(BEST_TORQUE)]),
    ]
}

fn converted(band: Band, convert: impl Fn(f64) -> f64) -> Band {
    Band { low: convert(band.low), likely: convert(band.likely), high: convert(band.high) }
}
