//! Knock-margin index against speed, with the autoignition limit and the wanted safety margin.

use super::axis::Axis;
use super::figure::{Entry, Figure, Mark, Panel, STEPS, Series, fuel_entries, runs, title};
use super::style::{BEST_TORQUE, INK, LIMIT, Look, look};
use crate::estimate::{CurvePoint, Estimate};
use crate::report::quantity::fixed;

/// The chart.
pub(super) fn figure(estimate: &Estimate) -> Figure {
    let mut legend = fuel_entries(estimate);
    let mut series = Vec::new();
    let speeds: Vec<f64> = estimate.fuels.iter().flat_map(|f| &f.curve).map(|p| p.speed_rpm).collect();
    let ends = Axis::enclosing(speeds, STEPS);
    let (first, last) = (ends.low(), ends.high());
    let reserve = reserve_index(estimate);
    if reserve > 1.0 {
        let points = vec![(first, 1.0), (last, 1.0), (last, reserve), (first, reserve)];
        series.push(Series { mark: Mark::Area, colour: INK, points });
    }
    series.push(Series { mark: Mark::Line(None), colour: INK, points: vec![(first, 1.0), (last, 1.0)] });
    for (i, fuel) in estimate.fuels.iter().enumerate() {
        let Look { colour, shape, .. } = look(i);
        let marks = [Mark::Line(None), Mark::Dots(shape, true)];
        let best = fuel.curve.iter().map(|p| (p.speed_rpm, best_torque_index(p))).collect();
        let limit: Vec<_> = fuel.curve.iter().map(|p| (p.speed_rpm, p.knock_margin_index)).collect();
        series.push(Series { mark: Mark::Line(BEST_TORQUE), colour, points: best });
        series.push(Series { mark: Mark::Line(LIMIT), colour, points: limit.clone() });
        series.push(Series { mark: Mark::Dots(shape, false), colour, points: limit });
        for points in runs(&fuel.curve, start_index) {
            series.extend(marks.map(|mark| Series { mark, colour, points: points.clone() }));
        }
    }
    legend.push(Entry::new("at the timing to start from", INK, &[Mark::Line(None)]));
    legend.push(Entry::new("at the likely limit", INK, &[Mark::Line(LIMIT)]));
    legend.push(Entry::new("at MBT timing", INK, &[Mark::Line(BEST_TORQUE)]));
    if reserve > 1.0 {
        let label = format!("safety margin wanted, {} octane numbers", fixed(estimate.reserve_octane, 1));
        legend.push(Entry::new(label, INK, &[Mark::Area]));
    }
    let name = "knock-margin index (octane index / requirement)".to_owned();
    let mut panel = Panel::over_speed(name, series, &[0.98]);
    panel.right_note = Some((1.0, "autoignition limit"));
    Figure { title: title(estimate, "knock margin"), legend, panels: vec![panel] }
}

/// Knock-margin index at MBT timing [-].
fn best_torque_index(point: &CurvePoint) -> f64 {
    point.octane_index / (point.octane_index - point.best_torque_octane_margin)
}

/// Knock-margin index at the timing to start from, at the median of the samples [-].
fn start_index(point: &CurvePoint) -> Option<f64> {
    Some(point.octane_index / (point.octane_index - point.start_octane_margin_band?.likely))
}

/// Highest knock-margin index at which a point just holds the wanted reserve [-]; 1 without reserve.
fn reserve_index(estimate: &Estimate) -> f64 {
    let reserve = estimate.reserve_octane;
    let points = estimate.fuels.iter().flat_map(|f| &f.curve);
    points
        .filter(|p| p.octane_index > reserve)
        .map(|p| p.octane_index / (p.octane_index - reserve))
        .fold(1.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    #[test]
    fn the_reserve_is_that_of_the_weakest_fuel() {
        // HAND: index 95, reserve 1: 95 / 94.
        assert!((reserve_index(&fixture::estimate()) - 95.0 / 94.0).abs() < 1e-12);
        let mut estimate = fixture::estimate();
        estimate.reserve_octane = 0.0;
        assert_eq!(reserve_index(&estimate), 1.0);
    }
}
