//! Shared by the reference tests: reading tables and building the reference fuels.

use endgas::gas::mixture::FuelVapour;
use endgas::nasa::Nasa7;
use std::collections::HashMap;
use std::ops::RangeInclusive;
use std::path::Path;

/// One row of a CSV table, by column name.
pub struct Row {
    /// File and line, for messages.
    place: String,
    cells: HashMap<String, String>,
}

impl Row {
    /// The words of a column.
    ///
    /// # Errors
    /// Words naming file, line and column when there is no such column.
    pub fn read_text(&self, column: &str) -> Result<&str, String> {
        let cell = self.cells.get(column).map(String::as_str);
        cell.ok_or_else(|| format!("{}: there is no column {column}", self.place))
    }

    /// The number of a column.
    ///
    /// # Errors
    /// Words naming file, line, column and what stands there when it is no number within the range.
    pub fn read_number(&self, column: &str, range: RangeInclusive<f64>) -> Result<f64, String> {
        let text = self.read_text(column)?;
        let number = text.parse().map_err(|_| self.wrong(column, "is not a number"))?;
        let outside = || self.wrong(column, &format!("is outside {} to {}", range.start(), range.end()));
        Some(number).filter(|number| range.contains(number)).ok_or_else(outside)
    }

    /// Words for what is wrong with a column.
    pub fn wrong(&self, column: &str, why: &str) -> String {
        format!("{}: {column} = {} {why}", self.place, self.text(column))
    }

    pub fn text(&self, column: &str) -> &str {
        self.read_text(column).unwrap_or_else(|wrong| panic!("{wrong}"))
    }

    pub fn number(&self, column: &str) -> f64 {
        self.read_number(column, f64::MIN..=f64::MAX).unwrap_or_else(|wrong| panic!("{wrong}"))
    }
}

/// The rows of a CSV file; at least one.
///
/// # Errors
/// Words naming the file, and the line where there is one.
pub fn read_table(path: &Path) -> Result<Vec<Row>, String> {
    let file = path.display();
    let failed = |error: csv::Error| match error.kind() {
        csv::ErrorKind::UnequalLengths { pos: Some(pos), expected_len, len } => {
            format!("{file}:{}: {len} cells where the header has {expected_len}", pos.line())
        }
        _ => format!("{file}: {error}"),
    };
    let mut reader = csv::Reader::from_path(path).map_err(failed)?;
    let header = reader.headers().map_err(failed)?.clone();
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(failed)?;
        let line = record.position().map_or(0, csv::Position::line);
        let cells = header.iter().map(str::to_owned).zip(record.iter().map(str::to_owned)).collect();
        rows.push(Row { place: format!("{file}:{line}"), cells });
    }
    if rows.is_empty() { Err(format!("{file}: there are no rows")) } else { Ok(rows) }
}

/// The rows of a file of `tests/data`.
pub fn table(path: &str) -> Vec<Row> {
    let full = format!("{}/tests/data/{path}", env!("CARGO_MANIFEST_DIR"));
    read_table(Path::new(&full)).unwrap_or_else(|wrong| panic!("{wrong}"))
}

/// Relative difference, on a scale that must not be zero.
pub fn relative(found: f64, wanted: f64) -> f64 {
    (found - wanted).abs() / wanted.abs()
}

/// NASA TM-4513 polynomials of the four reference fuel species (Cantera 3.2.0, `nasa_gas.yaml`), with atoms.
const SPECIES: [(&str, [f64; 3], Nasa7); 4] = [
    (
        "molefrac_isooctane",
        [8.0, 18.0, 0.0],
        Nasa7 {
            low: [
                0.815737338,
                0.0732643959,
                1.78300688e-05,
                -6.9358962e-08,
                3.21629382e-11,
                -30477.2862,
                24.1509994,
            ],
            high: [
                15.9899273,
                0.055318479,
                -1.95267072e-05,
                3.11779172e-09,
                -1.85312577e-13,
                -35875.7973,
                -60.1161414,
            ],
        },
    ),
    (
        "molefrac_nheptane",
        [7.0, 16.0, 0.0],
        Nasa7 {
            low: [
                11.1532484,
                -0.00949415433,
                0.000195571181,
                -2.4975252e-07,
                9.84873213e-11,
                -26771.1735,
                -15.909611,
            ],
            high: [
                18.5354704,
                0.0391420468,
                -1.38030268e-05,
                2.22403874e-09,
                -1.3345258e-13,
                -31950.0783,
                -70.190284,
            ],
        },
    ),
    (
        "molefrac_toluene",
        [7.0, 8.0, 0.0],
        Nasa7 {
            low: [
                1.611914,
                0.0211188902,
                8.53221453e-05,
                -1.32566876e-07,
                5.59406109e-11,
                4096.51976,
                20.2973614,
            ],
            high: [
                12.939475,
                0.0266921558,
                -9.68420108e-06,
                1.5739214e-09,
                -9.46670482e-14,
                -677.035769,
                -46.7255302,
            ],
        },
    ),
    (
        "molefrac_ethanol",
        [2.0, 6.0, 1.0],
        Nasa7 {
            low: [
                4.85868178,
                -0.0037400674,
                6.95550267e-05,
                -8.86541147e-08,
                3.5168443e-11,
                -29996.1309,
                4.80192294,
            ],
            high: [
                6.5628977,
                0.0152034264,
                -5.38922247e-06,
                8.62150224e-10,
                -5.12824683e-14,
                -31525.7984,
                -9.47557644,
            ],
        },
    ),
];

/// The reference fuels of `thermo/fuels.csv` as the gas layer takes them.
pub fn reference_fuels() -> HashMap<String, FuelVapour> {
    table("thermo/fuels.csv").iter().map(|row| reference_fuel(row).unwrap()).collect()
}

/// A fuel of such a file, with its name.
///
/// # Errors
/// Words naming file, line and column.
pub fn reference_fuel(row: &Row) -> Result<(String, FuelVapour), String> {
    let mut poly = Nasa7::ZERO;
    let mut atoms = [0.0; 3];
    for (column, of, p) in &SPECIES {
        let x = row.read_number(column, 0.0..=1.0)?;
        poly = poly.plus_scaled(p, x);
        for (sum, n) in atoms.iter_mut().zip(of) {
            *sum += x * n;
        }
    }
    let vapour = FuelVapour {
        carbon: atoms[0],
        hydrogen: atoms[1],
        oxygen: atoms[2],
        molar_mass_kg_per_mol: row.read_number("M_kg_per_kmol", 10.0..=500.0)? * 1e-3,
        poly,
    };
    Ok((row.read_text("fuel")?.to_owned(), vapour))
}
