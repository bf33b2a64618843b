//! Best-torque spark, the spark knock allows, and the spark used, against speed.

use super::figure::{Entry, Figure, Mark, Panel, Series, fuel_name, title};
use super::style::{BEST_TORQUE, INK, Look, look};
use crate::estimate::{Estimate, FuelEstimate};

/// The chart.
pub(super) fn figure(estimate: &Estimate) -> Figure {
    let mut legend = Vec::new();
    let mut lines = Vec::new();
    let mut used = Vec::new();
    for (i, fuel) in estimate.fuels.iter().enumerate() {
        let Look { colour, shape, .. } = look(i);
        legend.push(Entry::new(
            format!("{}: spark used", fuel_name(fuel)),
            colour,
            &[Mark::Dots(shape, true)],
        ));
        let best: Vec<_> = fuel.curve.iter().map(|p| (p.speed_rpm, p.best_torque_spark_deg_btdc)).collect();
        lines.push(Series { mark: Mark::Line(BEST_TORQUE), colour, points: best.clone() });
        lines.push(Series { mark: Mark::Dots(shape, false), colour, points: best });
        for points in knock_limited(fuel) {
            lines.push(Series { mark: Mark::Line(None), colour, points: points.clone() });
            lines.push(Series { mark: Mark::Dots(shape, false), colour, points });
        }
        let points = fuel.curve.iter().map(|p| (p.speed_rpm, p.spark_deg_btdc)).collect();
        used.push(Series { mark: Mark::Dots(shape, true), colour, points });
    }
    legend.push(Entry::new("spark that knock allows", INK, &[Mark::Line(None)]));
    legend.push(Entry::new("best-torque spark", INK, &[Mark::Line(BEST_TORQUE)]));
    lines.extend(used);
    Figure {
        title: title(estimate, "spark advance"),
        legend,
        panels: vec![Panel::over_speed("spark, deg before top dead centre".to_owned(), lines, &[])],
    }
}

/// The knock-limited spark, broken where no spark in range holds the reserve.
fn knock_limited(fuel: &FuelEstimate) -> Vec<Vec<(f64, f64)>> {
    fuel.curve
        .split(|p| p.knock_limited_spark_deg_btdc.is_none())
        .map(|run| {
            run.iter()
                .filter_map(|p| Some((p.speed_rpm, p.knock_limited_spark_deg_btdc?)))
                .collect::<Vec<_>>()
        })
        .filter(|run| !run.is_empty())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    #[test]
    fn the_knock_limited_line_is_broken_where_there_is_none() {
        let mut fuel = fixture::estimate().fuels.swap_remove(0);
        fuel.curve[0].knock_limited_spark_deg_btdc = None;
        fuel.curve[3].knock_limited_spark_deg_btdc = None;
        let speeds: Vec<Vec<f64>> =
            knock_limited(&fuel).iter().map(|run| run.iter().map(|p| p.0).collect()).collect();
        assert_eq!(speeds, [vec![3000.0, 4000.0], vec![6000.0, 7000.0]]);
    }
}
