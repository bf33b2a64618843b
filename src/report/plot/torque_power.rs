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
    legend.push(Entry::new("10th to 90th percentile", GREY, &[Mark::Area]));
    let torque = series(estimate, |p| p.crank_torque_nm, |nm| units.torque(nm));
    let power = series(estimate, |p| p.wheel_power_kw, |kw| units.power(kw));
    Figure {
        title: title(estimate, "crank torque and wheel power"),
        legend,
        panels: vec![
            Panel::over_speed(format!("crank torque, {}", units.torque_unit()), torque, &[]),
            Panel::over_speed(format!("wheel power, {}", units.power_unit()), power, &[]),
        ],
    }
}

/// Bands first, so that no curve is covered.
fn series(
    estimate: &Estimate,
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
        let mut outline = line(|b| b.low);
        outline.extend(line(|b| b.high).into_iter().rev());
        bands.push(Series { mark: Mark::Area, colour, points: outline });
        let likely = line(|b| b.likely);
        curves.push(Series { mark: Mark::Line(dash), colour, points: likely.clone() });
        curves.push(Series { mark: Mark::Dots(shape, true), colour, points: likely });
    }
    bands.extend(curves);
    bands
}
