//! The timing to start from, the likely limit and MBT timing, against speed.

use super::figure::{Entry, Figure, Mark, Panel, Series, fuel_entries, runs, title};
use super::style::{BEST_TORQUE, INK, LIMIT, Look, look};
use crate::estimate::Estimate;

/// The chart.
pub(super) fn figure(estimate: &Estimate) -> Figure {
    let mut legend = fuel_entries(estimate);
    let mut lines = Vec::new();
    let mut start = Vec::new();
    for (i, fuel) in estimate.fuels.iter().enumerate() {
        let Look { colour, shape, .. } = look(i);
        let marks = [Mark::Line(None), Mark::Dots(shape, true)];
        let best = fuel.curve.iter().map(|p| (p.speed_rpm, p.best_torque_spark_deg_btdc)).collect();
        lines.push(Series { mark: Mark::Line(BEST_TORQUE), colour, points: best });
        for points in runs(&fuel.curve, |p| p.knock_limited_spark_deg_btdc.map(|_| p.spark_deg_btdc)) {
            lines.push(Series { mark: Mark::Line(LIMIT), colour, points: points.clone() });
            lines.push(Series { mark: Mark::Dots(shape, false), colour, points });
        }
        for points in runs(&fuel.curve, |p| p.cautious_spark_deg_btdc) {
            start.extend(marks.map(|mark| Series { mark, colour, points: points.clone() }));
        }
    }
    legend.push(Entry::new("to start from: knock-free in 9 cases of 10", INK, &[Mark::Line(None)]));
    legend.push(Entry::new("likely limit", INK, &[Mark::Line(LIMIT)]));
    legend.push(Entry::new("MBT timing", INK, &[Mark::Line(BEST_TORQUE)]));
    lines.extend(start);
    Figure {
        title: title(estimate, "ignition timing"),
        legend,
        panels: vec![Panel::over_speed("timing, deg BTDC".to_owned(), lines, &[])],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    #[test]
    fn lines_are_broken_where_there_is_no_such_timing() {
        let mut estimate = fixture::estimate();
        estimate.fuels.truncate(1);
        let lines = |estimate: &Estimate, dash| {
            let of = |s: &&Series| matches!(s.mark, Mark::Line(found) if found == dash);
            figure(estimate).panels[0].series.iter().filter(of).count()
        };
        assert_eq!((lines(&estimate, None), lines(&estimate, LIMIT)), (1, 1));
        estimate.fuels[0].curve[2].cautious_spark_deg_btdc = None;
        assert_eq!((lines(&estimate, None), lines(&estimate, LIMIT)), (2, 1));
        estimate.fuels[0].curve[2].knock_limited_spark_deg_btdc = None;
        assert_eq!((lines(&estimate, None), lines(&estimate, LIMIT)), (2, 2));
    }
}
