//! Timing maps as plots.

use super::grid::{Grid, grids};
use super::{SparkMaps, reserve_words};
use crate::estimate::spark_map::MapCell;
use crate::report::plot::figure::{Entry, Figure, Mark, Panel, Series};
use crate::report::plot::style::{BEST_TORQUE, INK, Look, look};
use crate::report::table::shorten;

/// Rows drawn in a plot.
const DRAWN: usize = 5;
/// Most characters of the scenario and of what the map is on, so that both stand in a title.
const SCENARIO_LIMIT: usize = 28;
const ON_LIMIT: usize = 34;

/// The plots with their file names.
pub(super) fn figures(shown: &SparkMaps) -> Vec<(String, Figure)> {
    let plot = |grid: &Grid<'_>| (format!("spark-map-{}.svg", grid.file), figure(grid));
    grids(shown).iter().map(plot).collect()
}

fn figure(grid: &Grid<'_>) -> Figure {
    let (name, unit) = grid.axis.words();
    let step = grid.rows.len().div_ceil(DRAWN).max(1);
    let mut legend = Vec::new();
    let mut panels: [Vec<Series>; 2] = Default::default();
    let timings: [fn(&MapCell) -> Option<f64>; 2] = [|c| c.start_spark_deg_btdc, |c| c.spark_deg_btdc];
    // From the full load or the strongest blend downwards, so that the last row is always drawn.
    for (k, (label, cells)) in grid.rows.iter().rev().step_by(step).enumerate() {
        let Look { colour, dash, shape } = look(k);
        legend.push(Entry::new(
            format!("{name} {label} {unit}"),
            colour,
            &[Mark::Line(dash), Mark::Dots(shape, true)],
        ));
        for (panel, timing) in panels.iter_mut().zip(timings) {
            let points: Vec<(f64, f64)> =
                cells.iter().filter_map(|c| Some((c.speed_rpm, timing(c)?))).collect();
            panel.push(Series { mark: Mark::Line(dash), colour, points: points.clone() });
            panel.push(Series { mark: Mark::Dots(shape, true), colour, points });
        }
    }
    if let Some((label, cells)) = grid.rows.last() {
        let points: Vec<(f64, f64)> =
            cells.iter().map(|c| (c.speed_rpm, c.best_torque_spark_deg_btdc)).collect();
        let mbt = |points| Series { mark: Mark::Line(BEST_TORQUE), colour: INK, points };
        panels.iter_mut().for_each(|panel| panel.push(mbt(points.clone())));
        legend.push(Entry::new(
            format!("MBT timing at {name} {label} {unit}"),
            INK,
            &[Mark::Line(BEST_TORQUE)],
        ));
    }
    // All panels on one scale, so that they can be compared.
    let ends: Vec<f64> = panels.iter().flatten().flat_map(|s| &s.points).map(|p| p.1).collect();
    let limit = format!("likely limit ({} of safety margin)", reserve_words(grid.reserve));
    let words = ["timing to start from".to_owned(), limit];
    let panels = panels.into_iter().zip(words);
    Figure {
        title: format!(
            "{}: estimate of timing on {}",
            shorten(grid.scenario, SCENARIO_LIMIT),
            shorten(&grid.on, ON_LIMIT)
        ),
        legend,
        panels: panels
            .map(|(series, words)| Panel::over_speed(format!("{words}, deg BTDC"), series, &ends))
            .collect(),
    }
}
