//! Drawing a figure as SVG.

use super::axis::Axis;
use super::figure::{Entry, Figure, Mark, Panel, Series};
use super::style::{GREY, INK, PALE, Shape, TURN};
use crate::report::ReportError;
use crate::report::quantity::fixed;
use plotters::coord::Shift;
use plotters::coord::ranged1d::{DefaultFormatting, KeyPointHint, Ranged};
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

/// Size at which a chart is shown [px].
const SHOWN: (u32, u32) = (900, 600);
/// Drawing units per shown pixel. Points fall on whole drawing units, so one unit per pixel would
/// put kinks into dashed lines.
const UNIT: i32 = 8;
const WIDTH: u32 = SHOWN.0 * UNIT as u32;
const HEIGHT: u32 = SHOWN.1 * UNIT as u32;
const TITLE_HEIGHT: i32 = 44 * UNIT;
const LEGEND_ROW: i32 = 24 * UNIT;
const MARGIN: i32 = 14 * UNIT;
const SAMPLE_WIDTH: i32 = 34 * UNIT;
const LINE_WIDTH: u32 = 2 * UNIT as u32;
const HAIR: u32 = UNIT as u32;
/// Generous width of a letter of the legend.
const LETTER_WIDTH: f64 = 7.6 * UNIT as f64;
/// As CSS: the font of the PNG first.
const FONT: &str = "DejaVu Sans, sans-serif";
const TITLE_SIZE: i32 = 23 * UNIT;
const TEXT_SIZE: i32 = 17 * UNIT;
const NOTE_SIZE: i32 = 16 * UNIT;

type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;
type ChartArea<'a, 'b> = ChartContext<'a, SVGBackend<'b>, Cartesian2d<Axis, Axis>>;

impl Ranged for Axis {
    type FormatOption = DefaultFormatting;
    type ValueType = f64;

    fn map(&self, value: &f64, limit: (i32, i32)) -> i32 {
        let share = (value - self.low()) / (self.high() - self.low());
        limit.0 + (share * f64::from(limit.1 - limit.0)).round() as i32
    }

    fn key_points<Hint: KeyPointHint>(&self, _hint: Hint) -> Vec<f64> {
        self.ticks.clone()
    }

    fn range(&self) -> std::ops::Range<f64> {
        self.low()..self.high()
    }
}

/// The SVG text of a figure.
pub(in crate::report) fn svg(figure: &Figure) -> Result<String, ReportError> {
    let mut out = String::new();
    {
        let root = SVGBackend::with_string(&mut out, (WIDTH, HEIGHT)).into_drawing_area();
        root.fill(&WHITE)?;
        root.draw(&Text::new(
            figure.title.clone(),
            (MARGIN, TITLE_HEIGHT / 2),
            text(TITLE_SIZE, HPos::Left, VPos::Center),
        ))?;
        let legend_height = legend(&root, &figure.legend)?;
        let (_, below) = root.split_vertically(TITLE_HEIGHT + legend_height);
        // Four panels side by side would be too narrow to read.
        let rows = if figure.panels.len() > 3 { 2 } else { 1 };
        let cells = below.split_evenly((rows, figure.panels.len().div_ceil(rows)));
        for (area, panel) in cells.iter().zip(&figure.panels) {
            draw_panel(area, panel)?;
        }
        root.present()?;
    }
    Ok(shown(&out, SHOWN) + "\n")
}

/// One panel without title and legend on nothing, as SVG text; `size` in shown pixels.
pub(in crate::report) fn panel_svg(panel: &Panel, size: (u32, u32)) -> Result<String, ReportError> {
    bare(size, |root| draw_panel(root, panel))
}

/// The marks of a legend entry on nothing, as SVG text.
pub(in crate::report) fn swatch_svg(entry: &Entry) -> Result<String, ReportError> {
    let (width, height) = (SAMPLE_WIDTH / UNIT + 4, LEGEND_ROW / UNIT);
    bare((width as u32, height as u32), |root| sample(root, entry, (2 * UNIT, LEGEND_ROW / 2)))
}

/// A drawing of a shown size on nothing.
fn bare(size: (u32, u32), draw: impl Fn(&Area) -> Result<(), ReportError>) -> Result<String, ReportError> {
    let mut out = String::new();
    {
        let drawn = (size.0 * UNIT as u32, size.1 * UNIT as u32);
        let root = SVGBackend::with_string(&mut out, drawn).into_drawing_area();
        draw(&root)?;
        root.present()?;
    }
    Ok(shown(&out, size))
}

/// The drawing with its shown size in place of its drawing size; the view box keeps the latter.
fn shown(svg: &str, (width, height): (u32, u32)) -> String {
    let drawn = format!("width=\"{}\" height=\"{}\"", width * UNIT as u32, height * UNIT as u32);
    svg.replacen(&drawn, &format!("width=\"{width}\" height=\"{height}\""), 1)
}

fn text(size: i32, h: HPos, v: VPos) -> TextStyle<'static> {
    (FONT, size).into_font().color(&INK).pos(Pos::new(h, v))
}

/// Draws the legend in as many rows as it needs and returns its height.
fn legend(root: &Area, entries: &[Entry]) -> Result<i32, ReportError> {
    let (mut x, mut y) = (MARGIN, TITLE_HEIGHT);
    for entry in entries {
        let width = SAMPLE_WIDTH + 30 * UNIT + (LETTER_WIDTH * entry.label.chars().count() as f64) as i32;
        if x > MARGIN && x + width > WIDTH as i32 {
            (x, y) = (MARGIN, y + LEGEND_ROW);
        }
        sample(root, entry, (x, y + LEGEND_ROW / 2))?;
        let at = (x + SAMPLE_WIDTH + 8 * UNIT, y + LEGEND_ROW / 2);
        root.draw(&Text::new(entry.label.clone(), at, text(TEXT_SIZE, HPos::Left, VPos::Center)))?;
        x += width;
    }
    Ok(y + LEGEND_ROW - TITLE_HEIGHT)
}

/// The marks of a legend entry, from its left end on.
fn sample(root: &Area, entry: &Entry, (x, y): (i32, i32)) -> Result<(), ReportError> {
    for mark in &entry.marks {
        match *mark {
            Mark::Line(None) => {
                root.draw(&PathElement::new(
                    vec![(x, y), (x + SAMPLE_WIDTH, y)],
                    entry.colour.stroke_width(LINE_WIDTH),
                ))?;
            }
            Mark::Line(Some((on, off))) => {
                let (on, off) = (on * UNIT, off * UNIT);
                for start in (0..SAMPLE_WIDTH).step_by((on + off).max(1) as usize) {
                    let end = (start + on).min(SAMPLE_WIDTH);
                    let dash = vec![(x + start, y), (x + end, y)];
                    root.draw(&PathElement::new(dash, entry.colour.stroke_width(LINE_WIDTH)))?;
                }
            }
            // A share of a line is told with the whole line.
            Mark::Turn { .. } => {}
            Mark::Dots(shape, filled) => {
                let at = [(x + SAMPLE_WIDTH / 2, y)];
                for (outline, style) in dots(shape, filled, entry.colour) {
                    root.draw(&(EmptyElement::at(at[0]) + polygon(outline, style)))?;
                }
            }
            Mark::Area => {
                root.draw(&Rectangle::new(
                    [(x, y - 7 * UNIT), (x + SAMPLE_WIDTH, y + 7 * UNIT)],
                    area_style(entry.colour),
                ))?;
            }
        }
    }
    Ok(())
}

fn area_style(colour: RGBColor) -> ShapeStyle {
    colour.mix(0.16).filled()
}

fn draw_panel(area: &Area, panel: &Panel) -> Result<(), ReportError> {
    let right = if panel.right_note.is_some() { 126 } else { 28 };
    let top = if panel.top_note.is_some() { 28 } else { 12 };
    let mut chart = ChartBuilder::on(area)
        .margin(6 * UNIT)
        .margin_right(right * UNIT)
        .margin_top(top * UNIT)
        .x_label_area_size(48 * UNIT)
        .y_label_area_size(66 * UNIT)
        .build_cartesian_2d(panel.x.clone(), panel.y.clone())?;
    chart
        .configure_mesh()
        .set_all_tick_mark_size(5 * UNIT)
        .bold_line_style(PALE.stroke_width(HAIR))
        .light_line_style(TRANSPARENT)
        .axis_style(GREY.stroke_width(HAIR))
        .x_labels(panel.x.ticks.len())
        .y_labels(panel.y.ticks.len())
        .x_label_formatter(&|x| fixed(*x, panel.x.decimals))
        .y_label_formatter(&|y| fixed(*y, panel.y.decimals))
        .x_desc(panel.x_name.as_str())
        .y_desc(panel.y_name.as_str())
        .label_style((FONT, TEXT_SIZE, &INK))
        .axis_desc_style((FONT, TEXT_SIZE, &INK))
        .draw()?;
    for series in &panel.series {
        draw_series(&mut chart, series)?;
    }
    labels(&mut chart, panel)?;
    notes(area, &chart, panel)
}

/// Words on the curves, each on a ground of its own so that no line runs through it.
fn labels(chart: &mut ChartArea, panel: &Panel) -> Result<(), ReportError> {
    for (at, words) in &panel.labels {
        let half = (0.5 * LETTER_WIDTH * words.chars().count() as f64) as i32 + 2 * UNIT;
        let ground = Rectangle::new([(-half, -9 * UNIT), (half, 9 * UNIT)], WHITE.filled());
        let words = Text::new(words.clone(), (0, 0), text(NOTE_SIZE, HPos::Center, VPos::Center));
        chart.draw_series([EmptyElement::at(*at) + ground + words])?;
    }
    Ok(())
}

fn draw_series(chart: &mut ChartArea, series: &Series) -> Result<(), ReportError> {
    let points = || series.points.iter().copied();
    match series.mark {
        Mark::Line(None) => {
            chart.draw_series(LineSeries::new(points(), series.colour.stroke_width(LINE_WIDTH)))?;
        }
        Mark::Line(Some((on, off))) => {
            chart.draw_series(DashedLineSeries::new(
                points(),
                on * UNIT,
                off * UNIT,
                series.colour.stroke_width(LINE_WIDTH),
            ))?;
        }
        Mark::Turn { place, of } => {
            let pixel = |at| chart.backend_coord(&at);
            let (origin, unit) = (pixel((0.0, 0.0)), pixel((1e3, 1e3)));
            let per_unit = (f64::from(unit.0 - origin.0) / 1e3, f64::from(unit.1 - origin.1) / 1e3);
            for dash in dashes_in_turn(&series.points, per_unit, (place, of)) {
                chart.draw_series([PathElement::new(dash, series.colour.stroke_width(LINE_WIDTH))])?;
            }
        }
        Mark::Dots(shape, filled) => {
            for (outline, style) in dots(shape, filled, series.colour) {
                chart.draw_series(points().map(|p| EmptyElement::at(p) + polygon(outline.clone(), style)))?;
            }
        }
        Mark::Area => {
            let outline: Vec<(f64, f64)> = points().collect();
            chart.draw_series([Polygon::new(outline, area_style(series.colour))])?;
        }
    }
    Ok(())
}

/// The dashes of a line through points whose turn it is.
///
/// # Arguments
/// - `per_unit`: drawing units per unit of x and of y
fn dashes_in_turn(
    points: &[(f64, f64)],
    per_unit: (f64, f64),
    (place, of): (usize, usize),
) -> Vec<Vec<(f64, f64)>> {
    let (on, off) = (f64::from(TURN.0 * UNIT), f64::from(TURN.1 * UNIT));
    let (first, period) = (place as f64 * (on + off), of.max(1) as f64 * (on + off));
    let mut dashes = Vec::new();
    let mut walked = 0.0;
    for pair in points.windows(2) {
        let ((x, y), (to_x, to_y)) = (pair[0], pair[1]);
        let length = ((to_x - x) * per_unit.0).hypot((to_y - y) * per_unit.1);
        let at = |along: f64| {
            let share = ((along - walked) / length).clamp(0.0, 1.0);
            (x + share * (to_x - x), y + share * (to_y - y))
        };
        // The first dash that ends beyond where this piece begins.
        let mut start = first + (((walked - first - on) / period).floor() + 1.0).max(0.0) * period;
        while start < walked + length {
            dashes.push(vec![at(start), at(start + on)]);
            start += period;
        }
        walked += length;
    }
    dashes
}

/// The outlines of a marker around its centre and how each is painted, the lowest first.
fn dots(shape: Shape, filled: bool, colour: RGBColor) -> Vec<(Vec<(i32, i32)>, ShapeStyle)> {
    let outer = outline(shape, if filled { 6.0 } else { 4.5 });
    if filled {
        return vec![(outer, colour.filled())];
    }
    vec![(outer, colour.filled()), (outline(shape, 2.5), WHITE.filled())]
}

fn outline(shape: Shape, radius: f64) -> Vec<(i32, i32)> {
    let (corners, turn, scale) = match shape {
        Shape::Circle => (24, 0.0, 1.0),
        Shape::Square => (4, 45.0, 1.25),
        Shape::Triangle => (3, -90.0, 1.35),
        Shape::Diamond => (4, 0.0, 1.3),
        Shape::Inverted => (3, 90.0, 1.35),
    };
    (0..corners)
        .map(|i| {
            let angle = (turn + 360.0 * f64::from(i) / f64::from(corners)).to_radians();
            let reach = radius * scale * f64::from(UNIT);
            ((reach * angle.cos()).round() as i32, (reach * angle.sin()).round() as i32)
        })
        .collect()
}

fn polygon(outline: Vec<(i32, i32)>, style: ShapeStyle) -> Polygon<(i32, i32)> {
    Polygon::new(outline, style)
}

/// Words beside the axes, where no curve can run.
fn notes(area: &Area, chart: &ChartArea, panel: &Panel) -> Result<(), ReportError> {
    let (left, top) = area.get_base_pixel();
    let to_area = |(x, y): (i32, i32)| (x - left, y - top);
    if let Some((y, words)) = panel.right_note {
        let (x, y) = to_area(chart.backend_coord(&(panel.x.high(), y)));
        area.draw(&Text::new(words, (x + 6 * UNIT, y), text(NOTE_SIZE, HPos::Left, VPos::Center)))?;
    }
    if let Some((x, words)) = &panel.top_note {
        let (x, y) = to_area(chart.backend_coord(&(*x, panel.y.high())));
        area.draw(&Text::new(
            words.as_str(),
            (x, y - 4 * UNIT),
            text(NOTE_SIZE, HPos::Center, VPos::Bottom),
        ))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    // HAND: dash and gap of 5 px are 40 drawing units each, so that two in turn begin 80 apart and repeat after 160.
    #[test]
    fn dashes_in_turn_fill_the_line_together_and_go_on_round_a_corner() {
        let points = [(0.0, 0.0), (200.0, 0.0), (200.0, 200.0)];
        let of = |place| dashes_in_turn(&points, (1.0, 1.0), (place, 2));
        let starts = |place| of(place).iter().map(|dash| dash[0]).collect::<Vec<_>>();
        assert_eq!(starts(0), [(0.0, 0.0), (160.0, 0.0), (200.0, 120.0)]);
        assert_eq!(starts(1), [(80.0, 0.0), (200.0, 40.0)]);
        assert_eq!(of(0)[1], [(160.0, 0.0), (200.0, 0.0)]);
    }
}
