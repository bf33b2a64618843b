//! Plots of a choice: power over ratio for each fuel, and the margin map over ratio and ethanol content.

use super::words::{maximised, ratio};
use crate::choose::result::{Choice, MarginMap, RatioRow};
use crate::estimate::Band;
use crate::report::plot::figure::{Entry, Figure, Mark, Panel, Series};
use crate::report::plot::style::{BEST_TORQUE, Dash, INK, LIMIT, OVER_LIMIT, Shape, look};
use crate::report::quantity::Dimension::Power;
use crate::report::quantity::signed;
use crate::report::table::shorten;
use crate::report::{ReportError, Units};
use contour::ContourBuilder;
use plotters::style::RGBColor;

/// Most characters of the scenario in a title and of a fuel at an axis.
const NAME_LIMIT: usize = 40;
const FUEL_LIMIT: usize = 18;
/// Fuels drawn, those that count most.
const DRAWN: usize = 4;
/// Height of the strip where knock retards the timing, as a share of the power shown.
const STRIP: f64 = 0.05;
/// Points along each side of the grid from which lines of equal margin are drawn.
const GRID: usize = 61;
/// Lines of equal margin at most.
const LINES: usize = 8;

/// The plots with their file names.
pub(super) fn figures(choice: &Choice, units: Units) -> Result<Vec<(String, Figure)>, ReportError> {
    let mut figures = vec![("power-over-ratio.svg".to_owned(), power_over_ratio(choice, units))];
    figures.extend(margin_map(choice)?.map(|figure| ("margin-map.svg".to_owned(), figure)));
    Ok(figures)
}

/// A panel per fuel: likely power and its band with the ignition as fitted, likely power at the knock limit, and at the
/// foot where knock retards that limit.
pub(in crate::report) fn power_over_ratio(choice: &Choice, units: Units) -> Figure {
    let mut drawn: Vec<usize> = (0..choice.fuels.len()).collect();
    drawn.sort_by(|a, b| choice.fuels[*b].share_frac.total_cmp(&choice.fuels[*a].share_frac));
    drawn.truncate(DRAWN);
    drawn.sort_unstable();
    let ends: Vec<f64> = drawn
        .iter()
        .flat_map(|i| choice.curve.iter().map(|row| (row.power_kw[*i], row.fitted_power_kw[*i])))
        .flat_map(|(limit, fitted)| [limit.likely, fitted.low, fitted.high].map(|kw| units.of(Power, kw)))
        .collect();
    let panels = drawn.iter().map(|i| fuel_panel(choice, units, *i, &ends)).collect();
    let mut legend = vec![
        Entry::new("likely as fitted", INK, &[Mark::Line(None)]),
        Entry::new("10th to 90th percentile there", look(0).colour, &[Mark::Area]),
        Entry::new("at the knock limit", INK, &[Mark::Line(LIMIT)]),
        Entry::new("at the foot: knock retards the limit", INK, &[Mark::Area]),
    ];
    legend.extend(ratio_entries(choice));
    let title = format!("{}: estimate of {}", shorten(&choice.scenario, NAME_LIMIT), maximised(choice));
    Figure { title, legend, panels }
}

fn fuel_panel(choice: &Choice, units: Units, fuel: usize, ends: &[f64]) -> Panel {
    let colour = look(fuel).colour;
    let fitted = |pick: fn(Band) -> f64| -> Vec<(f64, f64)> {
        let point =
            |row: &RatioRow| (row.compression_ratio, units.of(Power, pick(row.fitted_power_kw[fuel])));
        choice.curve.iter().map(point).collect()
    };
    let least = ends.iter().copied().fold(f64::INFINITY, f64::min);
    let most = ends.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut series = Vec::new();
    if let Some(from) = choice.curve.iter().find(|row| row.fuels[fuel].knock_limited()) {
        let (from, to) = (from.compression_ratio, choice.highest_ratio);
        if to > from {
            let top = least + STRIP * (most - least);
            let points = vec![(from, least), (to, least), (to, top), (from, top)];
            series.push(Series { mark: Mark::Area, colour: INK, points });
        }
    }
    let mut outline = fitted(|band| band.low);
    outline.extend(fitted(|band| band.high).into_iter().rev());
    series.push(Series { mark: Mark::Area, colour, points: outline });
    let limit = |row: &RatioRow| (row.compression_ratio, units.of(Power, row.power_kw[fuel].likely));
    series.push(Series { mark: Mark::Line(LIMIT), colour, points: choice.curve.iter().map(limit).collect() });
    series.push(Series { mark: Mark::Line(None), colour, points: fitted(|band| band.likely) });
    let name = shorten(&choice.fuels[fuel].name, FUEL_LIMIT);
    let mut panel =
        Panel::over("compression ratio", format!("{name}, {}", units.symbol(Power)), series, ends);
    mark_ratios(&mut panel, choice);
    panel
}

/// Marker of a piston: filled when it is within the limits.
fn piston_mark(within_limits: bool) -> Mark {
    Mark::Dots(Shape::Triangle, within_limits)
}

/// What is drawn of ratios in every panel: those over a limit, the order, the off-the-shelf pistons.
fn mark_ratios(panel: &mut Panel, choice: &Choice) {
    for part in &choice.out_of_limits {
        panel.ground((part.from_ratio, part.to_ratio), OVER_LIMIT);
    }
    if let Some(order) = &choice.order {
        let words = format!("order {}", ratio(order.compression_ratio));
        panel.upright(order.compression_ratio, Mark::Line(BEST_TORQUE), INK, words);
    }
    for within in [true, false] {
        let pistons =
            choice.pistons.iter().map(|piston| &piston.row).filter(|row| row.within_limits == within);
        panel.on_the_axis(pistons.map(|row| row.compression_ratio), piston_mark(within), INK);
    }
}

/// The same in the legend, what there is of it.
fn ratio_entries(choice: &Choice) -> Vec<Entry> {
    let mut entries = Vec::new();
    if !choice.out_of_limits.is_empty() {
        entries.push(Entry::new("over a limit", OVER_LIMIT, &[Mark::Area]));
    }
    if choice.order.is_some() {
        entries.push(Entry::new("order", INK, &[Mark::Line(BEST_TORQUE)]));
    }
    for (within, words) in [(true, "off-the-shelf piston"), (false, "the same, over a limit")] {
        if choice.pistons.iter().any(|piston| piston.row.within_limits == within) {
            entries.push(Entry::new(words, INK, &[piston_mark(within)]));
        }
    }
    entries
}

/// Lines of equal octane margin over ratio and content; a range of one blend has no map.
pub(in crate::report) fn margin_map(choice: &Choice) -> Result<Option<Figure>, ReportError> {
    let map = &choice.margin_map;
    if map.ethanol_vol_frac.len() < 2 {
        return Ok(None);
    }
    let grid = Grid::new(map);
    let mut legend = Vec::new();
    let mut series = Vec::new();
    for points in grid.below_zero()? {
        series.push(Series { mark: Mark::Area, colour: look(1).colour, points });
    }
    if !series.is_empty() {
        let words = "below 0: timing pulled";
        legend.push(Entry::new(words, look(1).colour, &[Mark::Area]));
    }
    let mut labels = Vec::new();
    for level in grid.levels() {
        let (colour, dash) = level_look(level);
        for points in grid.lines(level)? {
            if let Some(middle) = points.get(points.len() / 2) {
                labels.push((grid.off_the_axes(*middle), signed(level, 0)));
            }
            series.push(Series { mark: Mark::Line(dash), colour, points });
        }
    }
    for (words, level) in [("margin above 0", 1.0), ("margin 0", 0.0), ("margin below 0", -1.0)] {
        let (colour, dash) = level_look(level);
        if series.iter().any(|s| matches!(s.mark, Mark::Line(_)) && s.colour == colour) {
            legend.push(Entry::new(words, colour, &[Mark::Line(dash)]));
        }
    }
    legend.extend(ratio_entries(choice));
    let name = format!("ethanol in {}, % by volume", shorten(&choice.stood.base, FUEL_LIMIT));
    let mut panel = Panel::over("compression ratio", name, series, &[grid.bottom(), grid.top()]);
    panel.labels = labels;
    mark_ratios(&mut panel, choice);
    let scenario = shorten(&choice.scenario, NAME_LIMIT);
    let title = format!("{scenario}: estimate of knock margin at MBT timing, octane numbers");
    Ok(Some(Figure { title, legend, panels: vec![panel] }))
}

/// Colour and dash of a line of equal margin.
fn level_look(level: f64) -> (RGBColor, Dash) {
    match level {
        0.0 => (INK, None),
        level if level > 0.0 => (look(0).colour, Some((9, 4))),
        _ => (look(1).colour, Some((3, 3))),
    }
}

/// The margin on an even grid: ratio along x, ethanol content [%] along y.
struct Grid {
    x: (f64, f64),
    y: (f64, f64),
    values: Vec<f64>,
}

impl Grid {
    fn new(map: &MarginMap) -> Self {
        let ends =
            |values: &[f64]| (values.first().copied().unwrap_or(0.0), values.last().copied().unwrap_or(1.0));
        let (x, content) = (ends(&map.compression_ratio), ends(&map.ethanol_vol_frac));
        let at = |(from, to): (f64, f64), i: usize| from + (to - from) * i as f64 / (GRID - 1) as f64;
        let mut values = Vec::with_capacity(GRID * GRID);
        for j in 0..GRID {
            let (row, up) = place(&map.ethanol_vol_frac, at(content, j));
            for i in 0..GRID {
                let (column, right) = place(&map.compression_ratio, at(x, i));
                let cell = |r: usize, c: usize| map.best_torque_octane_margin[r][c];
                let low = cell(row, column) * (1.0 - right) + cell(row, column + 1) * right;
                let high = cell(row + 1, column) * (1.0 - right) + cell(row + 1, column + 1) * right;
                values.push(low * (1.0 - up) + high * up);
            }
        }
        Self { x, y: (100.0 * content.0, 100.0 * content.1), values }
    }

    fn bottom(&self) -> f64 {
        self.y.0
    }

    fn top(&self) -> f64 {
        self.y.1
    }

    /// Round levels within the values, 0 among them when it is.
    fn levels(&self) -> Vec<f64> {
        let least = self.values.iter().copied().fold(f64::INFINITY, f64::min);
        let most = self.values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let step = [2.0, 5.0, 10.0, 20.0].into_iter().find(|s| (most - least) / s <= LINES as f64);
        let step = step.unwrap_or(50.0);
        let first = (least / step).ceil() as i64;
        let last = (most / step).floor() as i64;
        (first..=last).map(|i| i as f64 * step).collect()
    }

    fn builder(&self) -> ContourBuilder {
        // The builder counts from the corner of the first cell, half a step before its centre.
        let step = |(from, to): (f64, f64)| (to - from) / (GRID - 1) as f64;
        let (dx, dy) = (step(self.x), step(self.y));
        ContourBuilder::new(GRID, GRID, true)
            .x_origin(self.x.0 - 0.5 * dx)
            .y_origin(self.y.0 - 0.5 * dy)
            .x_step(dx)
            .y_step(dy)
    }

    /// Kept within the axes: the builder closes its rings outside the grid.
    fn inside(&self, (x, y): (f64, f64)) -> (f64, f64) {
        (x.clamp(self.x.0, self.x.1), y.clamp(self.y.0, self.y.1))
    }

    /// A place for words, kept off the axes on both sides.
    fn off_the_axes(&self, (x, y): (f64, f64)) -> (f64, f64) {
        let edge = 0.035 * (self.x.1 - self.x.0);
        (x.clamp(self.x.0 + edge, self.x.1 - edge), y)
    }

    fn lines(&self, level: f64) -> Result<Vec<Vec<(f64, f64)>>, ReportError> {
        let found =
            self.builder().lines(&self.values, &[level]).map_err(|e| ReportError::Contour(e.to_string()))?;
        let lines = found.iter().flat_map(|line| line.geometry().0.clone());
        Ok(lines.flat_map(|line| self.open(line.0.iter().map(|c| (c.x, c.y)).collect())).collect())
    }

    /// The parts of a ring that do not run along the border of the grid.
    fn open(&self, ring: Vec<(f64, f64)>) -> Vec<Vec<(f64, f64)>> {
        // The builder's own sums do not end on the border to the last bit.
        let at = |value: f64, (from, to): (f64, f64)| {
            let near = 1e-6 * (to - from);
            value <= from + near || value >= to - near
        };
        let on_border = |(x, y): (f64, f64)| at(x, self.x) || at(y, self.y);
        let mut parts = vec![Vec::new()];
        for pair in ring.windows(2) {
            if on_border(pair[0]) && on_border(pair[1]) {
                parts.push(Vec::new());
                continue;
            }
            if let Some(part) = parts.last_mut() {
                if part.is_empty() {
                    part.push(self.inside(pair[0]));
                }
                part.push(self.inside(pair[1]));
            }
        }
        parts.retain(|part| part.len() > 1);
        parts
    }

    /// Outlines of the area of negative margin.
    fn below_zero(&self) -> Result<Vec<Vec<(f64, f64)>>, ReportError> {
        let negated: Vec<f64> = self.values.iter().map(|value| -value).collect();
        let found =
            self.builder().contours(&negated, &[0.0]).map_err(|e| ReportError::Contour(e.to_string()))?;
        let polygons = found.iter().flat_map(|contour| contour.geometry().0.clone());
        Ok(polygons.map(|p| p.exterior().0.iter().map(|c| self.inside((c.x, c.y))).collect()).collect())
    }
}

/// Index of the node below a value and the share of the way to the next one.
fn place(nodes: &[f64], value: f64) -> (usize, f64) {
    let last = nodes.len().saturating_sub(2);
    let below = nodes.partition_point(|node| *node <= value).saturating_sub(1).min(last);
    let (from, to) = (nodes[below], nodes[below + 1]);
    (below, ((value - from) / (to - from)).clamp(0.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A plane: margin = 10 - 4 (ratio - 10) + 0.1 (ethanol % - 10).
    fn plane() -> MarginMap {
        let ratios: Vec<f64> = vec![9.0, 9.5, 10.0, 11.0, 12.0, 13.0, 14.0];
        let contents = vec![0.1, 0.3, 0.5, 0.85];
        let margin = |e: &f64, r: &f64| 10.0 - 4.0 * (r - 10.0) + 0.1 * (100.0 * e - 10.0);
        let rows: Vec<Vec<f64>> =
            contents.iter().map(|e| ratios.iter().map(|r| margin(e, r)).collect()).collect();
        MarginMap {
            compression_ratio: ratios,
            ethanol_vol_frac: contents,
            best_torque_octane_margin: rows.clone(),
            retard_deg: rows.clone(),
            torque_lost_frac: rows,
        }
    }

    /// An end that the steps of the grid do not add up to exactly must not leave a scrap of line along the border.
    #[test]
    fn a_line_that_leaves_through_any_border_is_one_line() {
        for top in [0.83, 0.85, 0.777, 0.9] {
            let mut map = plane();
            map.ethanol_vol_frac[3] = top;
            let grid = Grid::new(&map);
            for level in grid.levels() {
                assert!(grid.lines(level).unwrap().len() <= 1, "level {level} to {top}");
            }
        }
    }

    #[test]
    fn a_line_of_equal_margin_lies_where_the_margin_is_that() {
        let grid = Grid::new(&plane());
        let lines = grid.lines(0.0).unwrap();
        assert_eq!(lines.len(), 1, "{lines:?}");
        assert!(lines[0].len() > 10);
        for (ratio, percent) in &lines[0] {
            let margin = 10.0 - 4.0 * (ratio - 10.0) + 0.1 * (percent - 10.0);
            assert!(margin.abs() < 0.15, "{ratio} {percent}: {margin}");
        }
    }

    // HAND: the plane runs from 10 + 4 + 7.5 = 21.5 down to 10 - 16 = -6.
    #[test]
    fn levels_are_round_and_hold_zero() {
        assert_eq!(Grid::new(&plane()).levels(), [-5.0, 0.0, 5.0, 10.0, 15.0, 20.0]);
    }
}
