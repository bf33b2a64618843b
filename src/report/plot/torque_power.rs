//! Crank torque and wheel power against speed, likely curve and 10-90 band.

use super::figure::{Entry, Figure, Mark, Panel, Series, fuel_name, title};
use super::style::{GREY, Look, look};
use crate::estimate::{Band, CurvePoint, Estimate};
use crate::report::Units;

/// The chart.
pub(super) fn figure(estimate: &Estimate, units: Units) -> Figure {
    let mut legend: Vec<Entry> = estimate
        .fuels
        .iter()
        .enumerate()
        .map(|(i, fuel)| {
            let Look { colour, dash, shape } = look(i);
            Entry::new(fuel_name(fuel), colour, &[Mark::Line(dash), Mark::Dots(shape, true)])
        })
        .collect();
    let banded = banded(estimate);
    let of = if banded.len() < estimate.fuels.len() { ", weakest and strongest fuel" } else { "" };
    legend.push(Entry::new(format!("10th to 90th percentile{of}"), GREY, &[Mark::Area]));
    let torque = series(estimate, &banded, |p| p.crank_torque_nm, |nm| units.torque(nm));
    let power = series(estimate, &banded, |p| p.wheel_power_kw, |kw| units.power(kw));
    Figure {
        title: title(estimate, "crank torque and wheel power"),
        legend,
        panels: vec![
            Panel::over_speed(format!("crank torque, {}", units.torque_unit()), torque, &[]),
            Panel::over_speed(format!("wheel power, {}", units.power_unit()), power, &[]),
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

/// Bands first, so that no curve is covered.
fn series(
    estimate: &Estimate,
    banded: &[usize],
    band: impl Fn(&CurvePoint) -> Band,
    convert: impl Fn(f64) -> f64,
) -> Vec<Series> {
    let mut bands = Vec::new();
    let mut curves = Vec::new();
    for (i, fuel) in estimate.fuels.iter().enumerate() {
        let Look { colour, dash, shape } = look(i);
        let line = |pick: fn(Band) -> f64| -> Vec<(f64, f64)> {
            fuel.curve.iter().map(|p| (p.speed_rpm, convert(pick(band(p))))).collect()
        };
        if banded.contains(&i) {
            let mut outline = line(|b| b.low);
            outline.extend(line(|b| b.high).into_iter().rev());
            bands.push(Series { mark: Mark::Area, colour, points: outline });
        }
        let likely = line(|b| b.likely);
        curves.push(Series { mark: Mark::Line(dash), colour, points: likely.clone() });
        curves.push(Series { mark: Mark::Dots(shape, true), colour, points: likely });
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
