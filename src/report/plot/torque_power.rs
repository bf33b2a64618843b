//! Crank torque and wheel power against speed: at the timing to start from with the 10-90 band, and at the likely limit.

use super::figure::{Entry, Figure, Mark, Panel, Series, fuel_entries, runs, title};
use super::style::{GREY, INK, LIMIT, Look, look};
use crate::estimate::{Band, CurvePoint, Estimate};
use crate::report::Units;
use crate::report::quantity::Dimension::{Power, Torque};

/// The chart.
pub(super) fn figure(estimate: &Estimate, units: Units) -> Figure {
    let mut legend = fuel_entries(estimate);
    let banded = banded(estimate);
    let of = if banded.len() < estimate.fuels.len() { ", weakest and strongest fuel" } else { "" };
    legend.push(Entry::new(format!("10th to 90th percentile{of}"), GREY, &[Mark::Area]));
    legend.push(Entry::new("at the timing to start from", INK, &[Mark::Line(None)]));
    legend.push(Entry::new("at the likely limit", INK, &[Mark::Line(LIMIT)]));
    let torque = OfPoint { start: |p| p.start_crank_torque_nm, limit: |p| p.crank_torque_nm };
    let power = OfPoint { start: |p| p.start_wheel_power_kw, limit: |p| p.wheel_power_kw };
    let torque = series(estimate, &banded, &torque, |nm| units.of(Torque, nm));
    let power = series(estimate, &banded, &power, |kw| units.of(Power, kw));
    Figure {
        title: title(estimate, "flywheel torque and wheel power"),
        legend,
        panels: vec![
            Panel::over_speed(format!("flywheel torque, {}", units.symbol(Torque)), torque, &[]),
            Panel::over_speed(format!("wheel power, {}", units.symbol(Power)), power, &[]),
        ],
    }
}

/// Fuels whose band is drawn: of many, those of least and most wheel power, since more bands than two run together.
fn banded(estimate: &Estimate) -> Vec<usize> {
    let mut order: Vec<usize> = (0..estimate.fuels.len()).collect();
    if order.len() > 2 {
        let power = |&i: &usize| estimate.fuels[i].peak_power.wheel.likely;
        order.sort_by(|a, b| power(a).total_cmp(&power(b)));
        order.drain(1..order.len() - 1);
    }
    order
}

/// A quantity of a point at the timing to start from and at the likely limit.
struct OfPoint {
    start: fn(&CurvePoint) -> Option<Band>,
    limit: fn(&CurvePoint) -> Band,
}

/// Bands first, so that no curve is covered.
fn series(estimate: &Estimate, banded: &[usize], of: &OfPoint, convert: impl Fn(f64) -> f64) -> Vec<Series> {
    let mut bands = Vec::new();
    let mut curves = Vec::new();
    for (i, fuel) in estimate.fuels.iter().enumerate() {
        let Look { colour, shape, .. } = look(i);
        let lines = |pick: fn(Band) -> f64| runs(&fuel.curve, |p| (of.start)(p).map(|b| convert(pick(b))));
        if banded.contains(&i) {
            for (mut outline, high) in lines(|b| b.low).into_iter().zip(lines(|b| b.high)) {
                outline.extend(high.into_iter().rev());
                bands.push(Series { mark: Mark::Area, colour, points: outline });
            }
        }
        let limit = fuel.curve.iter().map(|p| (p.speed_rpm, convert((of.limit)(p).likely))).collect();
        curves.push(Series { mark: Mark::Line(LIMIT), colour, points: limit });
        for points in lines(|b| b.likely) {
            curves.push(Series { mark: Mark::Line(None), colour, points: points.clone() });
            curves.push(Series { mark: Mark::Dots(shape, true), colour, points });
        }
    }
    bands.extend(curves);
    bands
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    fn areas(figure: &Figure) -> Vec<usize> {
        let count = |p: &Panel| p.series.iter().filter(|s| matches!(s.mark, Mark::Area)).count();
        figure.panels.iter().map(count).collect()
    }

    #[test]
    fn of_many_fuels_the_weakest_and_the_strongest_have_a_band() {
        let mut estimate = fixture::estimate();
        assert_eq!(areas(&figure(&estimate, Units::Metric)), [2, 2]);
        let mut strong = estimate.fuels[0].clone();
        strong.peak_power.wheel.likely += 50.0;
        let mut weak = strong.clone();
        weak.peak_power.wheel.likely -= 100.0;
        estimate.fuels.extend([strong, weak]);
        assert_eq!(banded(&estimate), [3, 2]);
        assert_eq!(areas(&figure(&estimate, Units::Metric)), [2, 2]);
    }
}
