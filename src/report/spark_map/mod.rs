//! Timing maps as text, JSON, CSV and plots.

mod grid;
mod plot;
mod text;

use super::columns::Columns;
use super::document::{Made, checked_document, schema_of};
use super::plot::figure::Figure;
use super::words::cautions;
use super::{ReportError, Shown, Text, Units};
use crate::estimate::spark_map::{Load, MapCell, MapRow, Reserve, SparkMap};
use crate::report::quantity::Dimension::{Pure, Share};
use crate::report::quantity::fixed;
use crate::units::Unit;

/// Most characters of a name.
const NAME_LIMIT: usize = 44;

/// Timing maps, one per fuel and ethanol content. CSV holds one grid after the other, rpm along the first row, each with
/// the columns that name it before the load.
#[derive(Clone, Debug)]
pub struct SparkMaps {
    /// The maps, with the same loads and rpm in all.
    pub maps: Vec<SparkMap>,
    /// Unit in which a person reads the loads: the one in which they were typed.
    pub load_unit: Unit,
}

impl Shown for SparkMaps {
    fn text(&self, _: Units) -> Text {
        text::text(self).into()
    }

    fn json(&self) -> Result<String, ReportError> {
        checked_document(&SparkMapDocument { cautions: cautions::SPARK_MAP, maps: &self.maps })
    }

    fn csv(&self, units: Units) -> Result<String, ReportError> {
        csv(self, units)
    }

    /// One plot per fuel and ethanol content: the timing to start from over rpm, a line per row (at most five of them),
    /// and beside it the likely limit, each with MBT timing of the first row drawn.
    fn figures(&self, _: Units) -> Result<Vec<(String, Figure)>, ReportError> {
        Ok(plot::figures(self))
    }

    fn schema() -> String {
        schema_of::<Made<SparkMapDocument<'_>>>()
    }

    /// Some cell has no timing that keeps what was wanted.
    fn limit_missed(&self) -> bool {
        let mut cells = self.maps.iter().flat_map(|map| &map.rows).flat_map(|row| &row.cells);
        cells.any(|cell| cell.spark_deg_btdc.is_none())
    }
}

/// Timing maps of the fuels of a run.
#[derive(serde::Serialize, schemars::JsonSchema)]
#[schemars(rename = "Document")]
struct SparkMapDocument<'a> {
    /// Standing cautions, for a person to read.
    cautions: &'static [&'static str],
    /// One map per fuel and ethanol content, in the order asked.
    maps: &'a [SparkMap],
}

fn reserve_words(reserve: Reserve) -> String {
    match reserve {
        Reserve::Octane(octane) => format!("{} octane numbers", fixed(octane, 1)),
        Reserve::Degrees(degrees) => format!("{} deg", fixed(degrees, 1)),
    }
}

/// What a table of the CSV holds of a cell.
type CsvCell = fn(&MapCell) -> String;

/// The tables of the CSV, named as the keys of the JSON.
const TABLES: [(&str, CsvCell); 8] = [
    ("start_spark_deg_btdc", |cell| number(cell.start_spark_deg_btdc, 2)),
    ("spark_deg_btdc", |cell| number(cell.spark_deg_btdc, 2)),
    ("best_torque_spark_deg_btdc", |cell| number(Some(cell.best_torque_spark_deg_btdc), 2)),
    ("knock_limited", |cell| cell.knock_limited.to_string()),
    ("octane_margin", |cell| number(Some(cell.octane_margin), 2)),
    ("start_torque_lost_frac", |cell| number(cell.start_torque_lost_frac, 4)),
    ("torque_lost_frac", |cell| number(cell.torque_lost_frac, 4)),
    ("beyond_full_load", |cell| cell.reached.beyond_full_load.to_string()),
];

fn number(value: Option<f64>, digits: usize) -> String {
    value.map(|value| fixed(value, digits)).unwrap_or_default()
}

/// Name of the column of loads, with their unit.
fn load_key(unit: Unit) -> String {
    match unit {
        Unit::Percent => "load_frac".to_owned(),
        unit => format!("load_{}", unit.symbol().to_lowercase()),
    }
}

/// Every table of every fuel as one grid after the other: its name, then the load, then a column per rpm.
fn csv(shown: &SparkMaps, units: Units) -> Result<String, ReportError> {
    let mut c = Columns::<(&SparkMap, &str, &MapRow, CsvCell)>::new(units);
    c.words("", |(map, ..)| map.fuel.clone()).key("fuel", 0);
    c.words("", |(_, table, ..)| (*table).to_owned()).key("table", 0);
    c.number("", Share, |(map, ..)| map.ethanol_vol_frac).key("ethanol_vol", 2);
    let unit = shown.load_unit;
    let load = move |row: &MapRow| match row.load {
        Load::FullLoadFrac(share) => share,
        load => unit.of_si(load.value()),
    };
    c.number("", Pure, move |(_, _, row, _)| load(row)).key(&load_key(unit), 4);
    for (i, cell) in
        shown.maps.iter().flat_map(|map| &map.rows).take(1).flat_map(|row| row.cells.iter().enumerate())
    {
        c.words("", move |(_, _, row, show)| show(&row.cells[i])).key(&fixed(cell.speed_rpm, 0), 0);
    }
    // The contents of one fuel stand together within a table, so that a single load pastes as content over rpm.
    let fuels = shown.maps.chunk_by(|a, b| a.fuel == b.fuel);
    let rows = fuels.flat_map(|maps| {
        TABLES.iter().flat_map(move |(table, show)| {
            maps.iter().flat_map(move |map| map.rows.iter().map(move |row| (map, *table, row, *show)))
        })
    });
    c.csv(rows)
}
