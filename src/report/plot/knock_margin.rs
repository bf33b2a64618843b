//! Knock margin in octane numbers against speed, with the autoignition limit and the wanted safety margin.

use super::axis::Axis;
use super::figure::{Entry, Figure, Mark, Panel, STEPS, Series, fuel_entries, runs, title};
use super::style::{BEST_TORQUE, INK, LIMIT, Look, look};
use crate::estimate::Estimate;
use crate::report::quantity::fixed;

/// The chart.
pub(super) fn figure(estimate: &Estimate) -> Figure {
    let mut legend = fuel_entries(estimate);
    let mut series = Vec::new();
    let speeds: Vec<f64> = estimate.fuels.iter().flat_map(|f| &f.curve).map(|p| p.speed_rpm).collect();
    let ends = Axis::enclosing(speeds, STEPS);
    let (first, last) = (ends.low(), ends.high());
    let reserve = estimate.reserve_octane;
    if reserve > 0.0 {
        let points = vec![(first, 0.0), (last, 0.0), (last, reserve), (first, reserve)];
        series.push(Series { mark: Mark::Area, colour: INK, points });
    }
    series.push(Series { mark: Mark::Line(None), colour: INK, points: vec![(first, 0.0), (last, 0.0)] });
    for (i, fuel) in estimate.fuels.iter().enumerate() {
        let Look { colour, shape, .. } = look(i);
        let marks = [Mark::Line(None), Mark::Dots(shape, true)];
        let best = fuel.curve.iter().map(|p| (p.speed_rpm, p.best_torque_octane_margin)).collect();
        let limit: Vec<_> = fuel.curve.iter().map(|p| (p.speed_rpm, p.octane_margin)).collect();
        series.push(Series { mark: Mark::Line(BEST_TORQUE), colour, points: best });
        series.push(Series { mark: Mark::Line(LIMIT), colour, points: limit.clone() });
        series.push(Series { mark: Mark::Dots(shape, false), colour, points: limit });
        for points in runs(&fuel.curve, |p| Some(p.start_octane_margin_band?.likely)) {
            series.extend(marks.map(|mark| Series { mark, colour, points: points.clone() }));
        }
    }
    legend.push(Entry::new("at the timing to start from", INK, &[Mark::Line(None)]));
    legend.push(Entry::new("at the likely limit", INK, &[Mark::Line(LIMIT)]));
    legend.push(Entry::new("at MBT timing", INK, &[Mark::Line(BEST_TORQUE)]));
    if reserve > 0.0 {
        let label = format!("safety margin, {} octane numbers", fixed(reserve, 1));
        legend.push(Entry::new(label, INK, &[Mark::Area]));
    }
    let mut panel = Panel::over_speed("knock margin, octane numbers".to_owned(), series, &[-1.0]);
    panel.right_note = Some((0.0, "autoignition limit"));
    Figure { title: title(estimate, "knock margin"), legend, panels: vec![panel] }
}
