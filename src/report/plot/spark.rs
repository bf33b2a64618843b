//! The timing to start from, the likely limit and MBT timing, against speed.

use super::figure::{Entry, Figure, Mark, Panel, Series, fuel_entries, runs, title};
use super::style::{BEST_TORQUE, INK, LIMIT, Look, look};
use crate::estimate::Estimate;

/// The chart.
pub(super) fn figure(estimate: &Estimate) -> Figure {
    let mut legend = fuel_entries(estimate);
    let mbt: Vec<Vec<(f64, f64)>> = estimate
        .fuels
        .iter()
        .map(|fuel| fuel.curve.iter().map(|p| (p.speed_rpm, p.best_torque_spark_deg_btdc)).collect())
        .collect();
    let turns = turns(&mbt);
    let mut lines = Vec::new();
    let mut start = Vec::new();
    for (i, fuel) in estimate.fuels.iter().enumerate() {
        let Look { colour, shape, .. } = look(i);
        let marks = [Mark::Line(None), Mark::Dots(shape, true)];
        let mark = match turns[i] {
            (_, 1) => Mark::Line(BEST_TORQUE),
            (place, of) => Mark::Turn { place, of },
        };
        lines.push(Series { mark, colour, points: mbt[i].clone() });
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
    let is_shared = turns.iter().any(|(_, of)| *of > 1);
    let words = if is_shared { "MBT timing, colours in turn where fuels share it" } else { "MBT timing" };
    legend.push(Entry::new(words, INK, &[Mark::Line(BEST_TORQUE)]));
    lines.extend(start);
    Figure {
        title: title(estimate, "ignition timing"),
        legend,
        panels: vec![Panel::over_speed("timing, deg BTDC".to_owned(), lines, &[])],
    }
}

/// Timings that are this near everywhere are one line to the eye [deg].
const SAME_DEG: f64 = 0.4;

/// Place of each line among those that lie on it, and how many these are.
fn turns(lines: &[Vec<(f64, f64)>]) -> Vec<(usize, usize)> {
    let same = |a: &Vec<(f64, f64)>, b: &Vec<(f64, f64)>| {
        a.len() == b.len() && a.iter().zip(b).all(|(a, b)| (a.1 - b.1).abs() < SAME_DEG)
    };
    // Each goes with the first that it lies on.
    let first: Vec<usize> =
        lines.iter().map(|line| lines.iter().position(|other| same(line, other)).unwrap_or(0)).collect();
    let place = |i: usize| first[..i].iter().filter(|other| **other == first[i]).count();
    let of = |i: usize| first.iter().filter(|other| **other == first[i]).count();
    (0..lines.len()).map(|i| (place(i), of(i))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    #[test]
    fn lines_that_lie_on_each_other_take_turns() {
        let line = |deg: f64| vec![(2000.0, deg), (3000.0, deg + 5.0)];
        let lines = [line(20.0), line(23.0), line(20.2), line(20.1)];
        assert_eq!(turns(&lines), [(0, 3), (0, 1), (1, 3), (2, 3)]);
    }

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
