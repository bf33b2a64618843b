//! A map as a grid with a label before each row: loads, or the ethanol contents where there is one load.

use super::{NAME_LIMIT, SparkMaps};
use crate::estimate::spark_map::{Load, MapCell, Reserve, SparkMap};
use crate::report::quantity::fixed;
use crate::report::table::shorten;
use crate::units::Unit;

/// What the labels of a grid say.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum RowAxis {
    Load(Unit),
    Ethanol,
}

impl RowAxis {
    /// Name and unit.
    pub(super) fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Load(Unit::Percent) => ("load", "% of full"),
            Self::Load(unit @ (Unit::Gram | Unit::Milligram)) => ("air/cyl", unit.symbol()),
            Self::Load(unit) => ("manifold", unit.symbol()),
            Self::Ethanol => ("ethanol", "vol %"),
        }
    }
}

/// Rows to show together.
pub(super) struct Grid<'a> {
    pub(super) axis: RowAxis,
    /// What the map is on, in words: the fuel, and the ethanol or load that the rows do not say.
    pub(super) on: String,
    /// The same as part of a file name.
    pub(super) file: String,
    pub(super) scenario: &'a str,
    pub(super) reserve: Reserve,
    /// Label and cells of each row.
    pub(super) rows: Vec<(String, &'a [MapCell])>,
}

impl Grid<'_> {
    /// Whether some cell lies beyond what the engine takes.
    pub(super) fn is_cut(&self) -> bool {
        self.rows.iter().flat_map(|(_, cells)| *cells).any(|cell| cell.reached.beyond_full_load)
    }
}

/// The grids of some maps.
pub(super) fn grids(shown: &SparkMaps) -> Vec<Grid<'_>> {
    let unit = shown.load_unit;
    let fuels = shown.maps.chunk_by(|a, b| a.fuel == b.fuel);
    fuels.flat_map(|maps| of_fuel(maps, unit)).collect()
}

fn of_fuel(maps: &[SparkMap], unit: Unit) -> Vec<Grid<'_>> {
    let Some(first) = maps.first() else { return Vec::new() };
    let (fuel, file) = (shorten(&first.fuel, NAME_LIMIT), file_name(&first.fuel));
    let contents = labels(maps.iter().map(|map| 100.0 * map.ethanol_vol_frac).collect());
    if let ([only], true) = (&first.rows[..], maps.len() > 1) {
        let load = load_words(only.load, unit);
        let rows = maps.iter().flat_map(|map| &map.rows).map(|row| row.cells.as_slice());
        return vec![Grid {
            axis: RowAxis::Ethanol,
            on: format!("{fuel} at {load}"),
            file,
            scenario: &first.scenario,
            reserve: first.reserve,
            rows: contents.into_iter().zip(rows).collect(),
        }];
    }
    let named = |content: &String| {
        let one_of_many =
            if maps.len() > 1 { format!("-e{}", content.replace('.', "-")) } else { String::new() };
        (format!("{fuel} at {content} % ethanol"), format!("{file}{one_of_many}"))
    };
    maps.iter().zip(&contents).map(|(map, content)| over_load(map, unit, named(content))).collect()
}

/// One map as a grid over load, with what it is on and the part of a file name.
fn over_load(map: &SparkMap, unit: Unit, (on, file): (String, String)) -> Grid<'_> {
    let loads = labels(map.rows.iter().map(|row| unit.of_si(row.load.value())).collect());
    Grid {
        axis: RowAxis::Load(unit),
        on,
        file,
        scenario: &map.scenario,
        reserve: map.reserve,
        rows: loads.into_iter().zip(map.rows.iter().map(|row| row.cells.as_slice())).collect(),
    }
}

fn load_words(load: Load, unit: Unit) -> String {
    let number = labels(vec![unit.of_si(load.value())]).concat();
    match unit {
        Unit::Percent if number == "100" => "full load".to_owned(),
        Unit::Percent => format!("{number} % of full-load air"),
        Unit::Gram | Unit::Milligram => format!("{number} {unit} of air per cylinder and cycle"),
        _ => format!("{number} {unit} in the manifold"),
    }
}

/// Numbers with as many decimals as the finest of them needs, four at most.
fn labels(values: Vec<f64>) -> Vec<String> {
    let needs = |value: &f64, digits: i32| {
        let scaled = value * 10f64.powi(digits);
        (scaled - scaled.round()).abs() > 1e-6
    };
    let digits = (0..4).find(|digits| !values.iter().any(|value| needs(value, *digits))).unwrap_or(4);
    values.into_iter().map(|value| fixed(value, digits as usize)).collect()
}

/// A fuel name or recipe as part of a file name.
fn file_name(fuel: &str) -> String {
    let words: Vec<&str> =
        fuel.split(|c: char| !c.is_ascii_alphanumeric()).filter(|w| !w.is_empty()).collect();
    words.join("-")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_share_their_decimals() {
        assert_eq!(labels(vec![0.2, 0.25, 0.1 + 0.2]), ["0.20", "0.25", "0.30"]);
        assert_eq!(labels(vec![40.0, 100.0]), ["40", "100"]);
        assert_eq!(labels(vec![1.0 / 3.0]), ["0.3333"]);
    }

    #[test]
    fn names_of_files_hold_letters_and_digits() {
        assert_eq!(file_name("premium-91 70 % + e85 30 %"), "premium-91-70-e85-30");
    }
}
