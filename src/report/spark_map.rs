//! Spark maps as text, JSON, CSV and plots.

use super::document::{Made, checked_document, csv_text, schema_of};
use super::plot::draw;
use super::plot::figure::{Entry, Figure, Mark, Panel, Series};
use super::plot::style::{BEST_TORQUE, INK, Look, look};
use super::quantity::{fixed, percent};
use super::table::{Column, Table, WIDTH, plain, shorten, wrap};
use super::words::cautions;
use super::{ReportError, Shown, Units};
use crate::estimate::spark_map::{MapAxis, MapCell, MapRow, Reserve, SparkMap};

/// Most characters of a name.
const NAME_LIMIT: usize = 44;
/// Width of a cell and of the row label in the text tables.
const CELL: usize = 7;
const LABEL: usize = 12;
/// Rows drawn in a plot.
const DRAWN: usize = 5;

/// Timing maps, one per fuel; CSV has one row per fuel, row and speed.
#[derive(Clone, Debug)]
pub struct SparkMaps(pub Vec<SparkMap>);

impl Shown for SparkMaps {
    fn text(&self, units: Units) -> String {
        text(&self.0, units)
    }

    fn json(&self) -> Result<String, ReportError> {
        checked_document(&Document { cautions: cautions::SPARK_MAP, maps: &self.0 })
    }

    fn csv(&self, units: Units) -> Result<String, ReportError> {
        csv(&self.0, units)
    }

    /// One plot per fuel: the timing to start from over rpm, a line per row (at most five of them), and beside it the
    /// likely limit, each with MBT timing of the first row drawn.
    fn plots(&self, units: Units) -> Result<Vec<(String, String)>, ReportError> {
        let plot = |map: &SparkMap| {
            Ok((format!("spark-map-{}.svg", file_name(&map.fuel)), draw::svg(&figure(map, units))?))
        };
        self.0.iter().map(plot).collect()
    }

    fn schema() -> String {
        schema_of::<Made<Document<'_>>>()
    }

    /// Some cell has no timing that keeps what was wanted.
    fn limit_missed(&self) -> bool {
        let mut cells = self.0.iter().flat_map(|map| &map.rows).flat_map(|row| &row.cells);
        cells.any(|cell| cell.spark_deg_btdc.is_none())
    }
}

/// Spark maps of the fuels of a run.
#[derive(serde::Serialize, schemars::JsonSchema)]
struct Document<'a> {
    /// Standing cautions, for a person to read.
    cautions: &'static [&'static str],
    /// One map per fuel, in the order asked.
    maps: &'a [SparkMap],
}

fn label(axis: MapAxis, row: &MapRow, units: Units) -> String {
    match axis {
        MapAxis::ManifoldPressure => {
            fixed(units.gas_pressure(row.manifold_pressure_pa), units.gas_pressure_unit().2 - 1)
        }
        MapAxis::EthanolContent => percent(row.ethanol_vol_frac, 0),
    }
}

/// Name and unit of the row axis.
fn axis_words(axis: MapAxis, units: Units) -> (&'static str, &'static str) {
    match axis {
        MapAxis::ManifoldPressure => ("manifold", units.gas_pressure_unit().0),
        MapAxis::EthanolContent => ("ethanol", "vol %"),
    }
}

fn reserve_words(reserve: Reserve) -> String {
    match reserve {
        Reserve::Octane(octane) => format!("{} octane numbers", fixed(octane, 1)),
        Reserve::Degrees(degrees) => format!("{} deg", fixed(degrees, 1)),
    }
}

fn text(maps: &[SparkMap], units: Units) -> String {
    let mut out = String::new();
    for map in maps {
        let over = match map.axis {
            MapAxis::ManifoldPressure => "over rpm and manifold pressure (absolute)",
            MapAxis::EthanolContent => "over rpm and ethanol content, full throttle",
        };
        let title = format!(
            "Timing map of {} on {}, {over}",
            shorten(&map.scenario, NAME_LIMIT),
            shorten(&map.fuel, NAME_LIMIT)
        );
        out += &wrap("", &plain(&title));
        let reserve = reserve_words(map.reserve);
        let start =
            "Timing to start from, deg BTDC: knock-free in 9 cases of 10 (none: no timing in range is)";
        out += &format!("\n{start}\n");
        out += &tables(map, units, |cell| or_none(cell.start_spark_deg_btdc.map(|spark| fixed(spark, 1))));
        let words = format!(
            "Likely limit, deg BTDC, a safety margin of {reserve} kept (*: knock sets it, not MBT; none: no timing keeps it)"
        );
        out += &format!("\n{}", wrap("", &words));
        out += &tables(map, units, |cell| {
            let mark = if cell.knock_limited { "*" } else { " " };
            cell.spark_deg_btdc.map_or_else(|| "none ".to_owned(), |spark| fixed(spark, 1) + mark)
        });
        out += "\nMBT timing, deg BTDC\n";
        out += &tables(map, units, |cell| fixed(cell.best_torque_spark_deg_btdc, 1));
        out += "\nTorque lost to retard at the timing to start from, %\n";
        out += &tables(map, units, |cell| or_none(cell.start_torque_lost_frac.map(|lost| percent(lost, 1))));
        out += "\nTorque lost to retard at the likely limit, %\n";
        out += &tables(map, units, |cell| percent(cell.torque_lost_frac, 1));
        out.push('\n');
    }
    out += "Cautions\n";
    out.extend(cautions::SPARK_MAP.iter().map(|line| wrap("  - ", line)));
    out
}

fn or_none(words: Option<String>) -> String {
    words.unwrap_or_else(|| "none".to_owned())
}

/// One table of a map, split where the speeds do not fit the width.
fn tables(map: &SparkMap, units: Units, show: impl Fn(&MapCell) -> String) -> String {
    let speeds = map.rows.first().map_or(0, |row| row.cells.len());
    let at_once = (WIDTH - LABEL) / CELL;
    let (name, unit) = axis_words(map.axis, units);
    let mut out = String::new();
    for from in (0..speeds).step_by(at_once) {
        let to = (from + at_once).min(speeds);
        let mut columns = vec![Column::number(name, unit)];
        if let Some(row) = map.rows.first() {
            columns.extend(row.cells[from..to].iter().map(|c| Column::number(&fixed(c.speed_rpm, 0), "rpm")));
        }
        let mut table = Table::new(columns);
        for row in &map.rows {
            let mut cells = vec![label(map.axis, row, units)];
            cells.extend(row.cells[from..to].iter().map(&show));
            table.row(cells);
        }
        out += &table.render();
    }
    out
}

fn csv(maps: &[SparkMap], units: Units) -> Result<String, ReportError> {
    let mut writer = ::csv::Writer::from_writer(Vec::new());
    writer.write_record([
        "fuel",
        &format!("manifold_pressure_{}", units.gas_pressure_unit().1),
        "ethanol_vol_percent",
        "speed_rpm",
        "spark_deg_btdc",
        "best_torque_spark_deg_btdc",
        "knock_limited",
        "octane_margin",
        "torque_lost_percent",
        "start_spark_deg_btdc",
        "start_torque_lost_percent",
    ])?;
    for map in maps {
        for row in &map.rows {
            for cell in &row.cells {
                writer.write_record([
                    map.fuel.clone(),
                    fixed(units.gas_pressure(row.manifold_pressure_pa), 2),
                    percent(row.ethanol_vol_frac, 1),
                    fixed(cell.speed_rpm, 0),
                    cell.spark_deg_btdc.map(|s| fixed(s, 2)).unwrap_or_default(),
                    fixed(cell.best_torque_spark_deg_btdc, 2),
                    if cell.knock_limited { "1" } else { "0" }.to_owned(),
                    fixed(cell.octane_margin, 2),
                    percent(cell.torque_lost_frac, 2),
                    cell.start_spark_deg_btdc.map(|s| fixed(s, 2)).unwrap_or_default(),
                    cell.start_torque_lost_frac.map(|lost| percent(lost, 2)).unwrap_or_default(),
                ])?;
            }
        }
    }
    csv_text(writer)
}

/// A fuel name or recipe as part of a file name.
fn file_name(fuel: &str) -> String {
    let words: Vec<&str> =
        fuel.split(|c: char| !c.is_ascii_alphanumeric()).filter(|w| !w.is_empty()).collect();
    words.join("-")
}

fn figure(map: &SparkMap, units: Units) -> Figure {
    let (name, unit) = axis_words(map.axis, units);
    let step = map.rows.len().div_ceil(DRAWN).max(1);
    let mut legend = Vec::new();
    let mut panels: [Vec<Series>; 2] = Default::default();
    let timings: [fn(&MapCell) -> Option<f64>; 2] = [|c| c.start_spark_deg_btdc, |c| c.spark_deg_btdc];
    // From the full load or the strongest blend downwards, so that the last row is always drawn.
    for (k, row) in map.rows.iter().rev().step_by(step).enumerate() {
        let Look { colour, dash, shape } = look(k);
        let words = format!("{name} {} {unit}", label(map.axis, row, units));
        legend.push(Entry::new(words, colour, &[Mark::Line(dash), Mark::Dots(shape, true)]));
        for (panel, timing) in panels.iter_mut().zip(timings) {
            let points: Vec<(f64, f64)> =
                row.cells.iter().filter_map(|c| Some((c.speed_rpm, timing(c)?))).collect();
            panel.push(Series { mark: Mark::Line(dash), colour, points: points.clone() });
            panel.push(Series { mark: Mark::Dots(shape, true), colour, points });
        }
    }
    if let Some(row) = map.rows.last() {
        let points: Vec<(f64, f64)> =
            row.cells.iter().map(|c| (c.speed_rpm, c.best_torque_spark_deg_btdc)).collect();
        let mbt = |points| Series { mark: Mark::Line(BEST_TORQUE), colour: INK, points };
        panels.iter_mut().for_each(|panel| panel.push(mbt(points.clone())));
        let words = format!("MBT timing at {name} {} {unit}", label(map.axis, row, units));
        legend.push(Entry::new(words, INK, &[Mark::Line(BEST_TORQUE)]));
    }
    // All panels on one scale, so that they can be compared.
    let ends: Vec<f64> = panels.iter().flatten().flat_map(|s| &s.points).map(|p| p.1).collect();
    let words = ["timing to start from", "likely limit"];
    let panels = panels.into_iter().zip(words);
    Figure {
        title: format!(
            "{}: estimate of a timing map on {}, {} kept",
            shorten(&map.scenario, NAME_LIMIT),
            shorten(&map.fuel, NAME_LIMIT),
            reserve_words(map.reserve)
        ),
        legend,
        panels: panels
            .map(|(series, words)| Panel::over_speed(format!("{words}, deg BTDC"), series, &ends))
            .collect(),
    }
}
