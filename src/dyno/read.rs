//! Reading a log.

use super::columns::{LogColumn, LogColumns};
use super::error::{Problems, PullErrors, PullFault};
use super::knock::settle_knock;
use super::log::{Log, Note, Pull, PullPoint, Said};
use super::mapping::{DecimalSign, Mapping};
use super::sheet::{Sheet, SheetRow};
use super::split::{Split, split};
use super::unit::Quantity;
use crate::printable::printable;
use crate::units::GAUGE_AFR_STOICH;
use crate::units::rpm_to_rad_per_s;

/// Reads a log of one or more full-load pulls.
///
/// # Arguments
/// - `label`: what to call the file in messages, where it stands as [`printable`] makes it
/// - `bytes`: its contents, UTF-8 text of at most 4 MiB
/// - `mapping`: what the user says that the file does not
///
/// # Errors
/// [`PullErrors`] with every problem found, each with its line.
///
/// # Example
/// ```
/// use endgas::dyno::{Mapping, Place, read};
/// let text = "# at: crank\nrpm;torque (lb ft)\n2000;100,0\n3000;110,0\n4000;112,0\n5000;105,0\n6000;90,5\n";
/// let log = read("pull.csv", text.as_bytes(), &Mapping::default())?;
/// assert_eq!(log.place, Place::Crank);
/// assert!((log.pulls[0].points[0].torque_nm - 135.58).abs() < 0.01);
/// # Ok::<(), endgas::dyno::PullErrors>(())
/// ```
pub fn read(label: &str, bytes: &[u8], mapping: &Mapping) -> Result<Log, PullErrors> {
    let label = &*printable(label);
    let mut problems = Problems::default();
    match log(label, bytes, mapping, &mut problems) {
        Some(log) if problems.0.is_empty() => Ok(log),
        _ => Err(problems.into_errors(label)),
    }
}

fn log(label: &str, bytes: &[u8], mapping: &Mapping, problems: &mut Problems) -> Option<Log> {
    let sheet = Sheet::read(bytes, mapping, problems)?;
    let columns = LogColumns::read(&sheet, mapping, problems);
    let speed = columns.of(Quantity::Speed).cloned();
    let has = |all: &[Quantity]| all.iter().any(|q| columns.of(*q).is_some());
    let output = ("torque or power", has(&[Quantity::Torque, Quantity::Power]));
    let missing = [output, ("engine speed", speed.is_some())].into_iter().find(|(_, is_there)| !is_there);
    if let Some((what, _)) = missing.filter(|_| problems.0.is_empty()) {
        problems.note(sheet.header_line, PullFault::NoColumn { what, headings: sheet.headings() });
    }
    // With a column in doubt the rows are not worth judging.
    if !problems.0.is_empty() {
        return None;
    }
    let rows = &sheet.rows[usize::from(columns.has_units_row)..];
    let mut reader = Rows { columns: &columns, sheet: &sheet, mapping, problems };
    let sign = reader.decimal_sign(rows);
    let (kept, without_output) = reader.all(rows, sign, speed.as_ref()?);
    if !problems.0.is_empty() {
        return None;
    }
    if kept.is_empty() {
        problems.note(None, PullFault::NoRows);
        return None;
    }
    let (mut pulls, split_by) = split(kept);
    check_pulls(&pulls, split_by, problems);
    let mut notes = notes(&sheet, &columns, mapping, sign, &without_output);
    if let Some(column) = columns.of(Quantity::Knock) {
        notes.extend(settle_knock(&mut pulls, column.unit.symbol()).map(Note::Knock));
    }
    Some(Log {
        label: label.to_owned(),
        pulls,
        split_by,
        place: columns.place.0,
        place_said: columns.place.1,
        correction: columns.correction.0,
        correction_said: columns.correction.1,
        columns: columns.uses(),
        ignored: columns.ignored,
        notes,
    })
}

fn check_pulls(pulls: &[Pull], split_by: super::log::SplitBy, problems: &mut Problems) {
    /// Least span of speed from which a curve is judged [rpm]. Common practice, no source.
    const LEAST_SPAN_RPM: f64 = 1000.0;
    for pull in pulls {
        let line = pull.points.first().map(|p| p.line);
        let (low, high) = pull.speed_range_rpm();
        let (name, points) = (pull.name.clone(), pull.points.len());
        if points < Pull::LEAST_POINTS {
            problems.note(line, PullFault::ShortPull { name, by: super::split::words(split_by), points });
        } else if high - low < LEAST_SPAN_RPM {
            problems.note(line, PullFault::NarrowPull { name, low, high, least: LEAST_SPAN_RPM });
        }
    }
}

/// What was settled in the reading without being asked.
fn notes(
    sheet: &Sheet,
    columns: &LogColumns,
    mapping: &Mapping,
    sign: DecimalSign,
    without_output: &[u64],
) -> Vec<Note> {
    let mut notes = Vec::new();
    if sheet.preamble > 0 {
        notes.push(Note::LinesAbove { header: sheet.header_line, lines: sheet.preamble });
    }
    if mapping.decimal.is_none() && sign == DecimalSign::Comma {
        notes.push(Note::DecimalComma);
    }
    if let Some(first) = without_output.first() {
        notes.push(Note::RowsLeftOut { rows: without_output.len(), first: *first });
    }
    if columns.of(Quantity::Afr).is_some() && columns.of(Quantity::Lambda).is_none() {
        let afr_stoich = mapping.afr_stoich.unwrap_or(GAUGE_AFR_STOICH);
        notes.push(Note::LambdaOfAfr { afr_stoich, is_stated: mapping.afr_stoich.is_some() });
    }
    if columns.place.1 == Said::Nobody {
        notes.push(Note::PlaceNotSaid);
    }
    if columns.correction.1 == Said::Nobody {
        notes.push(Note::CorrectionNotSaid);
    }
    notes
}

/// Reads rows.
struct Rows<'a> {
    columns: &'a LogColumns,
    sheet: &'a Sheet,
    mapping: &'a Mapping,
    problems: &'a mut Problems,
}

impl Rows<'_> {
    /// Decimal sign of the file: a comma where one is found and the comma is no delimiter.
    fn decimal_sign(&self, rows: &[SheetRow]) -> DecimalSign {
        if let Some(sign) = self.mapping.decimal {
            return sign;
        }
        let numeric = |c: &&LogColumn| c.quantity != Quantity::Pull;
        let holds = |sign: char| {
            let cells = rows.iter().flat_map(|row| {
                self.columns.used.iter().filter(numeric).filter_map(|c| row.cells.get(c.index))
            });
            cells.filter(|cell| cell.contains(sign)).count()
        };
        let (commas, points) = (holds(','), holds('.'));
        let is_comma = self.sheet.delimiter != ',' && commas > points;
        if is_comma { DecimalSign::Comma } else { DecimalSign::Point }
    }

    /// Rows with positive torque, and the lines of those without.
    fn all(&mut self, rows: &[SheetRow], sign: DecimalSign, speed: &LogColumn) -> (Vec<Split>, Vec<u64>) {
        let (mut kept, mut without_output) = (Vec::new(), Vec::new());
        let pull = self.columns.of(Quantity::Pull);
        for row in rows {
            match self.row(row, sign, speed) {
                Some(point) if point.torque_nm > 0.0 => kept.push(Split {
                    pull: pull.and_then(|c| row.cells.get(c.index)).cloned(),
                    after_blank: row.after_blank,
                    point,
                }),
                Some(_) => without_output.push(row.line),
                None => {}
            }
        }
        (kept, without_output)
    }

    /// A number of a cell in the unit used inside; none when blank or noted as a problem.
    fn number(&mut self, row: &SheetRow, column: &LogColumn, sign: DecimalSign) -> Option<f64> {
        let cell = row.cells.get(column.index).filter(|cell| !cell.is_empty())?;
        let heading = || column.heading.clone();
        let Some(typed) = parsed(cell, sign) else {
            let (other, name) = match sign {
                DecimalSign::Comma => (DecimalSign::Point, "point"),
                DecimalSign::Point => (DecimalSign::Comma, "comma"),
            };
            let fault = if self.mapping.decimal.is_none() && parsed(cell, other).is_some() {
                PullFault::MixedDecimals { heading: heading(), found: cell.clone(), sign: name }
            } else {
                PullFault::NotANumber { heading: heading(), found: cell.clone() }
            };
            self.problems.note(row.line, fault);
            return None;
        };
        let value = column.unit.to_si(typed);
        let range = column.quantity.range();
        if !range.contains(&value) {
            let (heading, found) = (heading(), cell.clone());
            let low = in_unit(column, *range.start());
            let fault = if range.end().is_infinite() {
                PullFault::TooSmall { heading, found, low }
            } else {
                let (high, unit) = (in_unit(column, *range.end()), column.unit.symbol());
                PullFault::OutOfRange { heading, found, low, high, unit }
            };
            self.problems.note(row.line, fault);
            return None;
        }
        Some(value)
    }

    fn row(&mut self, row: &SheetRow, sign: DecimalSign, speed: &LogColumn) -> Option<PullPoint> {
        let (found, wanted) = (row.cells.len(), self.sheet.header.len());
        if row.cells.iter().skip(wanted).any(|cell| !cell.is_empty()) {
            self.problems.note(row.line, PullFault::TooManyCells { found, wanted });
            return None;
        }
        let before = self.problems.0.len();
        let columns = self.columns;
        let values: Vec<(Quantity, Option<f64>)> = columns
            .used
            .iter()
            .filter(|column| column.quantity != Quantity::Pull)
            .map(|column| (column.quantity, self.number(row, column, sign)))
            .collect();
        if self.problems.0.len() > before {
            return None;
        }
        let of = |quantity| values.iter().find(|(q, _)| *q == quantity).and_then(|(_, value)| *value);
        let Some(speed_rpm) = of(speed.quantity) else {
            self.problems.note(row.line, PullFault::Lacking { what: "speed" });
            return None;
        };
        let (torque, power) = (of(Quantity::Torque), of(Quantity::Power));
        let Some(torque_nm) = torque.or(power.map(|p| p / rpm_to_rad_per_s(speed_rpm))) else {
            self.problems.note(row.line, PullFault::Lacking { what: "torque or power" });
            return None;
        };
        let named = |c: &LogColumn| row.cells.get(c.index).is_some_and(|cell| !cell.is_empty());
        if columns.of(Quantity::Pull).is_some_and(|c| !named(c)) {
            self.problems.note(row.line, PullFault::Lacking { what: "name in the pull column" });
            return None;
        }
        let afr_stoich = self.mapping.afr_stoich.unwrap_or(GAUGE_AFR_STOICH);
        Some(PullPoint {
            line: row.line,
            speed_rpm,
            torque_nm,
            power_beside_torque_w: torque.and(power).filter(|p| *p > 0.0),
            lambda: of(Quantity::Lambda).or(of(Quantity::Afr).map(|afr| afr / afr_stoich)),
            air_temperature_k: of(Quantity::AirTemperature),
            air_pressure_pa: of(Quantity::Pressure),
            relative_humidity: of(Quantity::Humidity),
            fuel_flow_kg_per_s: of(Quantity::FuelFlow).filter(|flow| *flow > 0.0),
            correction_factor: of(Quantity::Factor),
            timing_deg_btdc: of(Quantity::Timing),
            knock: of(Quantity::Knock),
        })
    }
}

/// A finite number with a decimal sign.
fn parsed(cell: &str, sign: DecimalSign) -> Option<f64> {
    let plain = match sign {
        DecimalSign::Point => cell.to_owned(),
        // A point beside the comma is left, and then two of them are no number.
        DecimalSign::Comma => cell.replace('.', "..").replacen(',', ".", 1),
    };
    let is_plain = plain.chars().all(|c| c.is_ascii_digit() || "+-.eE".contains(c));
    plain.parse().ok().filter(|number: &f64| is_plain && number.is_finite())
}

/// A value of the unit used inside in the unit of a column.
fn in_unit(column: &LogColumn, value: f64) -> String {
    let digits = format!("{:.3}", column.unit.of_si(value));
    digits.trim_end_matches('0').trim_end_matches('.').to_owned()
}
