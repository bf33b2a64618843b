//! From the cells of a row to a point of a pull.

use super::columns::{LogColumn, LogColumns};
use super::error::{Problems, PullFault};
use super::log::{Lacking, Note, PullPoint};
use super::mapping::{DecimalSign, Mapping};
use super::number::{decimal_sign, is_missing, parsed};
use super::sheet::{Sheet, SheetRow};
use super::split::Split;
use super::unit::Quantity;
use crate::units::{GAUGE_AFR_STOICH, rpm_to_rad_per_s};

/// Rows as read.
#[derive(Debug, Default)]
pub(super) struct ReadRows {
    /// Rows with rpm and torque, of whatever sign.
    pub(super) rows: Vec<Split>,
    /// Lines of rows that lack something.
    lacking: Vec<(Lacking, u64)>,
}

impl ReadRows {
    /// What was left out because something is missing.
    pub(super) fn notes(&self) -> impl Iterator<Item = Note> {
        let all = [Lacking::Speed, Lacking::RunningEngine, Lacking::Output, Lacking::PullName];
        all.into_iter().filter_map(|what| {
            let lines: Vec<u64> =
                self.lacking.iter().filter(|(w, _)| *w == what).map(|(_, line)| *line).collect();
            (!lines.is_empty()).then_some(Note::RowsLacking { what, lines })
        })
    }
}

/// Reads rows.
pub(super) struct Rows<'a> {
    columns: &'a LogColumns,
    sheet: &'a Sheet,
    mapping: &'a Mapping,
    /// Decimal sign of the file.
    pub(super) decimal: DecimalSign,
}

/// Why a row gives no point.
enum NoPoint {
    Lacks(Lacking),
    /// Noted as problems.
    Wrong,
}

impl<'a> Rows<'a> {
    /// Settles the decimal sign.
    pub(super) fn new(columns: &'a LogColumns, sheet: &'a Sheet, mapping: &'a Mapping) -> Self {
        let cells = sheet.rows[usize::from(columns.has_units_row)..].iter().flat_map(|row| {
            let numeric = columns.used.iter().filter(|c| c.quantity != Quantity::Pull);
            numeric.filter_map(|c| Some((c.quantity == Quantity::Speed, row.cells.get(c.index)?.as_str())))
        });
        let decimal = mapping.decimal.unwrap_or_else(|| decimal_sign(cells));
        Self { columns, sheet, mapping, decimal }
    }

    /// Every row under the header.
    pub(super) fn all(&self, speed: &LogColumn, problems: &mut Problems) -> ReadRows {
        let mut read = ReadRows::default();
        let mut standing = Vec::new();
        for row in &self.sheet.rows[usize::from(self.columns.has_units_row)..] {
            match self.row(row, speed, problems) {
                Ok(split) => read.rows.push(split),
                Err(NoPoint::Lacks(what)) => read.lacking.push((what, row.line)),
                Err(NoPoint::Wrong) => {}
            }
            let standing_engine = |problem: &super::error::PullProblem| {
                matches!(&problem.fault, PullFault::OutOfRange { quantity, found, .. }
                    if *quantity == speed.quantity && self.is_standing(found, speed))
            };
            if problems.0.last().is_some_and(|p| p.line == Some(row.line) && standing_engine(p)) {
                standing.extend(problems.0.pop());
            }
        }
        // Where no row has more, it is no engine that stands, but a wrong unit or decimal sign.
        if read.rows.is_empty() {
            problems.0.extend(standing);
        } else {
            let lines = standing.iter().filter_map(|problem| problem.line);
            read.lacking.extend(lines.map(|line| (Lacking::RunningEngine, line)));
        }
        read
    }

    /// Whether a speed below the least is that of an engine that is about to run or to stop.
    fn is_standing(&self, cell: &str, speed: &LogColumn) -> bool {
        parsed(cell, self.decimal, speed.quantity)
            .is_some_and(|typed| (0.0..*speed.quantity.range().start()).contains(&speed.unit.to_si(typed)))
    }

    /// A number of a cell in the unit used inside; none when blank or noted as a problem.
    fn number(&self, row: &SheetRow, column: &LogColumn, problems: &mut Problems) -> Option<f64> {
        let cell = row.cells.get(column.index).filter(|cell| !is_missing(cell))?;
        let heading = || column.heading.clone();
        let Some(typed) = parsed(cell, self.decimal, column.quantity) else {
            let other = self.decimal.other();
            let is_other = self.mapping.decimal.is_none() && parsed(cell, other, column.quantity).is_some();
            problems.note(
                row.line,
                match is_other {
                    true => PullFault::MixedDecimals {
                        heading: heading(),
                        found: cell.clone(),
                        sign: other.word(),
                    },
                    false => PullFault::NotANumber { heading: heading(), found: cell.clone() },
                },
            );
            return None;
        };
        let value = column.unit.to_si(typed);
        let range = column.quantity.range();
        if range.contains(&value) {
            return Some(value);
        }
        let (heading, found) = (heading(), cell.clone());
        let low = in_unit(column, *range.start());
        problems.note(
            row.line,
            match range.end().is_infinite() {
                true => PullFault::TooSmall { heading, found, low },
                false => {
                    let (high, unit) = (in_unit(column, *range.end()), column.unit.symbol());
                    PullFault::OutOfRange { quantity: column.quantity, heading, found, low, high, unit }
                }
            },
        );
        None
    }

    /// Engine speed of a row, logged or of vehicle speed.
    fn rpm(
        &self,
        row: &SheetRow,
        speed: &LogColumn,
        problems: &mut Problems,
    ) -> Result<Option<f64>, NoPoint> {
        let number = self.number(row, speed, problems);
        let Some(gearing) = self.mapping.gearing.filter(|_| speed.quantity == Quantity::RoadSpeed) else {
            return Ok(number);
        };
        let Some(rpm) = number.map(|road| gearing.rpm(road)) else { return Ok(None) };
        let range = Quantity::Speed.range();
        if rpm < *range.start() {
            return Err(NoPoint::Lacks(Lacking::RunningEngine));
        }
        if rpm > *range.end() {
            let found = row.cells.get(speed.index).cloned().unwrap_or_default();
            let (heading, low, high) = (speed.heading.clone(), *range.start(), *range.end());
            problems.note(row.line, PullFault::RoadSpeed { heading, found, rpm, low, high });
            return Err(NoPoint::Wrong);
        }
        Ok(Some(rpm))
    }

    fn row(&self, row: &SheetRow, speed: &LogColumn, problems: &mut Problems) -> Result<Split, NoPoint> {
        let (found, wanted) = (row.cells.len(), self.sheet.header.len());
        if row.cells.iter().skip(wanted).any(|cell| !cell.is_empty()) {
            problems.note(row.line, PullFault::TooManyCells { found, wanted });
            return Err(NoPoint::Wrong);
        }
        let before = problems.0.len();
        let speed_rpm = self.rpm(row, speed, problems)?;
        let mut of = |quantity| self.number(row, self.columns.of(quantity)?, problems);
        let (torque, power) = (of(Quantity::Torque), of(Quantity::Power));
        let torque_nm = speed_rpm.and_then(|rpm| torque.or(power.map(|p| p / rpm_to_rad_per_s(rpm))));
        let beside_or_above = |logged: Option<f64>, quantity| {
            let above = self.columns.above.of(quantity).filter(|_| self.columns.of(quantity).is_none());
            logged.or(above.map(|(_, value)| value))
        };
        // Overrun brings mixtures that no engine runs on; such a row is left out anyway.
        let mut beside = |quantity| torque_nm.filter(|nm| *nm > 0.0).and_then(|_| of(quantity));
        let afr_stoich = self.mapping.afr_stoich.unwrap_or(GAUGE_AFR_STOICH);
        let (lambda, afr) = (beside(Quantity::Lambda), beside(Quantity::Afr));
        let point = PullPoint {
            line: row.line,
            speed_rpm: speed_rpm.unwrap_or_default(),
            torque_nm: torque_nm.unwrap_or_default(),
            power_beside_torque_w: torque.and(power).filter(|p| *p > 0.0),
            lambda: lambda.or(afr.map(|afr| afr / afr_stoich)),
            air_temperature_k: beside_or_above(beside(Quantity::AirTemperature), Quantity::AirTemperature),
            air_pressure_pa: beside_or_above(beside(Quantity::Pressure), Quantity::Pressure),
            relative_humidity: beside_or_above(beside(Quantity::Humidity), Quantity::Humidity),
            fuel_flow_kg_per_s: beside(Quantity::FuelFlow).filter(|flow| *flow > 0.0),
            correction_factor: beside_or_above(beside(Quantity::Factor), Quantity::Factor),
            timing_deg_btdc: beside(Quantity::Timing),
            knock: beside(Quantity::Knock),
        };
        let named = |c: &LogColumn| row.cells.get(c.index).filter(|cell| !cell.is_empty()).cloned();
        let pull_column = self.columns.of(Quantity::Pull);
        let pull = pull_column.and_then(named);
        let lacks = match () {
            () if problems.0.len() > before => return Err(NoPoint::Wrong),
            () if speed_rpm.is_none() => Some(Lacking::Speed),
            () if torque_nm.is_none() => Some(Lacking::Output),
            () if pull_column.is_some() && pull.is_none() => Some(Lacking::PullName),
            () => None,
        };
        match lacks {
            Some(what) => Err(NoPoint::Lacks(what)),
            None => Ok(Split { pull, after_blank: row.after_blank, point }),
        }
    }
}

/// A value of the unit used inside in the unit of a column.
fn in_unit(column: &LogColumn, value: f64) -> String {
    let digits = format!("{:.3}", column.unit.of_si(value));
    digits.trim_end_matches('0').trim_end_matches('.').to_owned()
}
