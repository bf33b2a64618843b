//! Cylinder pressure against crank angle at the likely limit, with the timing and top dead centre.

use super::axis::Axis;
use super::figure::{Entry, Figure, Mark, Panel, STEPS, Series, fuel_name, title};
use super::style::{GREY, Look, look};
use crate::estimate::{Estimate, FuelEstimate, TracePoint};
use crate::report::Units;
use crate::report::quantity::Dimension::Pressure;
use crate::report::quantity::fixed;

/// Crank angle shown on each side of top dead centre [deg].
const REACH_DEG: i32 = 120;

/// The chart.
pub(super) fn figure(estimate: &Estimate, units: Units) -> Figure {
    let mut legend = Vec::new();
    let mut series = Vec::new();
    for (i, fuel) in estimate.fuels.iter().enumerate() {
        let Look { colour, dash, shape } = look(i);
        let reach = f64::from(REACH_DEG);
        let points: Vec<_> = fuel
            .trace
            .iter()
            .filter(|p| p.crank_angle_deg.abs() <= reach)
            .map(|p| (p.crank_angle_deg, units.of(Pressure, p.pressure_bar)))
            .collect();
        series.push(Series { mark: Mark::Line(dash), colour, points });
        let mut label = format!("{} at {} rpm", fuel_name(fuel), fixed(fuel.trace_speed_rpm, 0));
        let mut marks = vec![Mark::Line(dash)];
        if let Some((spark_deg, pressure_bar)) = spark(fuel) {
            let points = vec![(-spark_deg, units.of(Pressure, pressure_bar))];
            series.push(Series { mark: Mark::Dots(shape, true), colour, points });
            marks.push(Mark::Dots(shape, true));
            label += &format!(", marker: timing {} deg BTDC", fixed(spark_deg, 0));
        }
        legend.push(Entry::new(label, colour, &marks));
    }
    let pressures = series.iter().flat_map(|s| &s.points).map(|p| p.1).chain([0.0]);
    let y = Axis::enclosing(pressures, STEPS);
    let dead_centre = vec![(0.0, y.low()), (0.0, y.high())];
    series.insert(0, Series { mark: Mark::Line(Some((2, 4))), colour: GREY, points: dead_centre });
    let panel = Panel {
        x: Axis { ticks: (-REACH_DEG..=REACH_DEG).step_by(30).map(f64::from).collect(), decimals: 0 },
        x_name: "crank angle, deg after top dead centre".to_owned(),
        y,
        y_name: format!("cylinder pressure, {} absolute", units.symbol(Pressure)),
        series,
        labels: Vec::new(),
        right_note: None,
        top_note: Some((0.0, "TDC".to_owned())),
    };
    Figure { title: title(estimate, "cylinder pressure at the limit"), legend, panels: vec![panel] }
}

/// Timing used at the speed of the trace [deg before top dead centre] and the pressure there [bar].
fn spark(fuel: &FuelEstimate) -> Option<(f64, f64)> {
    let distance = |speed_rpm: f64| (speed_rpm - fuel.trace_speed_rpm).abs();
    let point = fuel.curve.iter().min_by(|a, b| distance(a.speed_rpm).total_cmp(&distance(b.speed_rpm)))?;
    let pressure_bar = pressure_at(&fuel.trace, -point.spark_deg_btdc)?;
    Some((point.spark_deg_btdc, pressure_bar))
}

/// Pressure [bar] at a crank angle, between the two points around it; none outside the trace.
fn pressure_at(trace: &[TracePoint], crank_angle_deg: f64) -> Option<f64> {
    let pair = trace
        .windows(2)
        .find(|w| w[0].crank_angle_deg <= crank_angle_deg && crank_angle_deg <= w[1].crank_angle_deg)?;
    let width = pair[1].crank_angle_deg - pair[0].crank_angle_deg;
    let share = if width > 0.0 { (crank_angle_deg - pair[0].crank_angle_deg) / width } else { 0.0 };
    Some(pair[0].pressure_bar + share * (pair[1].pressure_bar - pair[0].pressure_bar))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    #[test]
    fn pressure_is_read_between_points() {
        let trace = fixture::estimate().fuels.swap_remove(0).trace;
        let (a, b) = (trace[10], trace[11]);
        let middle = pressure_at(&trace, 0.5 * (a.crank_angle_deg + b.crank_angle_deg)).unwrap();
        assert!((middle - 0.5 * (a.pressure_bar + b.pressure_bar)).abs() < 1e-12);
        assert!(pressure_at(&trace, -180.0).is_none());
    }
}
