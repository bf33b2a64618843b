//! Spark maps as text, JSON, CSV and plots.

use super::columns::Columns;
use super::document::{Made, checked_document, schema_of};
use super::plot::draw;
use super::plot::figure::{Entry, Figure, Mark, Panel, Series};
use super::plot::style::{BEST_TORQUE, INK, Look, look};
use super::quantity::{fixed, percent};
use super::table::{plain, shorten, wrap};
use super::words::cautions;
use super::{ReportError, Shown, Text, Units};
use crate::estimate::spark_map::{MapAxis, MapCell, MapRow, Reserve, SparkMap};
use crate::report::quantity::Dimension::{GasPressure, Pure, Share};

/// Most characters of a name.
const NAME_LIMIT: usize = 44;
/// Rows drawn in a plot.
const DRAWN: usize = 5;

/// Timing maps, one per fuel; CSV has one row per fuel, row and speed.
#[derive(Clone, Debug)]
pub struct SparkMaps(pub Vec<SparkMap>);

impl Shown for SparkMaps {
    fn text(&self, units: Units) -> Text {
        text(&self.0, units).into()
    }

    fn json(&self) -> Result<String, ReportError> {
        checked_document(&SparkMapDocument { cautions: cautions::SPARK_MAP, maps: &self.0 })
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
        schema_of::<Made<SparkMapDocument<'_>>>()
    }

    /// Some cell has no timing that keeps what was wanted.
    fn limit_missed(&self) -> bool {
        let mut cells = self.0.iter().flat_map(|map| &map.rows).flat_map(|row| &row.cells);
        cells.any(|cell| cell.spark_deg_btdc.is_none())
    }
}

/// Spark maps of the fuels of a run.
#[derive(serde::Serialize, schemars::JsonSchema)]
#[schemars(rename = "Document")]
struct SparkMapDocument<'a> {
    /// Standing cautions, for a person to read.
    cautions: &'static [&'static str],
    /// One map per fuel, in the order asked.
    maps: &'a [SparkMap],
}

fn label(axis: MapAxis, row: &MapRow, units: Units) -> String {
    match axis {
        MapAxis::ManifoldPressure => {
            let unit = GasPressure.unit(units);
            fixed(unit.of(row.manifold_pressure_pa), unit.digits - 1)
        }
        MapAxis::EthanolContent => percent(row.ethanol_vol_frac, 0),
    }
}

/// Name and unit of the row axis.
fn axis_words(axis: MapAxis, units: Units) -> (&'static str, &'static str) {
    match axis {
        MapAxis::ManifoldPressure => ("manifold", GasPressure.unit(units).symbol),
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
        out += &table(map, units, |cell| or_none(cell.start_spark_deg_btdc.map(|spark| fixed(spark, 1))));
        let words = format!(
            "Likely limit, deg BTDC, a safety margin of {reserve} kept (*: knock sets it, not MBT; none: no timing keeps it)"
        );
        out += &format!("\n{}", wrap("", &words));
        out += &table(map, units, |cell| {
            let mark = if cell.knock_limited { "*" } else { " " };
            cell.spark_deg_btdc.map_or_else(|| "none ".to_owned(), |spark| fixed(spark, 1) + mark)
        });
        out += "\nMBT timing, deg BTDC\n";
        out += &table(map, units, |cell| fixed(cell.best_torque_spark_deg_btdc, 1));
        out += "\nTorque lost to retard at the timing to start from, %\n";
        out += &table(map, units, |cell| or_none(cell.start_torque_lost_frac.map(|lost| percent(lost, 1))));
        out += "\nTorque lost to retard at the likely limit, %\n";
        out += &table(map, units, |cell| percent(cell.torque_lost_frac, 1));
        out.push('\n');
    }
    out += "Cautions\n";
    out.extend(cautions::SPARK_MAP.iter().map(|line| wrap("  - ", line)));
    out
}

fn or_none(words: Option<String>) -> String {
    words.unwrap_or_else(|| "none".to_owned())
}

/// One table of a map.
fn table(map: &SparkMap, units: Units, show: impl Fn(&MapCell) -> String + Copy) -> String {
    let (name, unit) = axis_words(map.axis, units);
    let mut c = Columns::<&MapRow>::new(units);
    c.cells(name, |row| label(map.axis, row, units)).below(unit);
    for (i, cell) in map.rows.iter().take(1).flat_map(|row| row.cells.iter().enumerate()) {
        c.cells(&fixed(cell.speed_rpm, 0), move |row| show(&row.cells[i])).below("rpm");
    }
    c.text(&map.rows)
}

fn csv(maps: &[SparkMap], units: Units) -> Result<String, ReportError> {
    let mut c = Columns::<(&SparkMap, &MapRow, &MapCell)>::new(units);
    c.words("", |(map, ..)| map.fuel.clone()).key("fuel", 0);
    c.number("", GasPressure, |(_, row, _)| row.manifold_pressure_pa).key("manifold_pressure", 2);
    c.number("", Share, |(_, row, _)| row.ethanol_vol_frac).key("ethanol_vol", 1);
    c.number("", Pure, |(.., cell)| cell.speed_rpm).key("speed_rpm", 0);
    c.maybe("", Pure, |(.., cell)| cell.spark_deg_btdc).key("spark_deg_btdc", 2);
    c.number("", Pure, |(.., cell)| cell.best_torque_spark_deg_btdc).key("best_torque_spark_deg_btdc", 2);
    c.number("", Pure, |(.., cell)| if cell.knock_limited { 1.0 } else { 0.0 }).key("knock_limited", 0);
    c.number("", Pure, |(.., cell)| cell.octane_margin).key("octane_margin", 2);
    c.number("", Share, |(.., cell)| cell.torque_lost_frac).key("torque_lost", 2);
    c.maybe("", Pure, |(.., cell)| cell.start_spark_deg_btdc).key("start_spark_deg_btdc", 2);
    c.maybe("", Share, |(.., cell)| cell.start_torque_lost_frac).key("start_torque_lost", 2);
    let rows = maps.iter().flat_map(|map| map.rows.iter().map(move |row| (map, row)));
    c.csv(rows.flat_map(|(map, row)| row.cells.iter().map(move |cell| (map, row, cell))))
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
