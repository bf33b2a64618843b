//! Reading a log.

use super::columns::LogColumns;
use super::ends::{without_coast_down, without_ends};
use super::error::{Problems, PullErrors, PullFault};
use super::knock::settle_knock;
use super::log::{Log, Note, Pull, Said, SplitBy, TrimmedEnd};
use super::mapping::{DecimalSign, Mapping};
use super::rows::Rows;
use super::sheet::Sheet;
use super::split::{Split, split};
use super::unit::Quantity;
use crate::printable::printable;
use crate::units::GAUGE_AFR_STOICH;

/// Reads a log of one or more full-load pulls.
///
/// # Arguments
/// - `label`: what to call the file in messages, where it stands as [`printable`] makes it
/// - `bytes`: its contents, text or an `.xlsx` workbook of at most 4 MiB
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
    let road = columns.of(Quantity::RoadSpeed).filter(|_| columns.of(Quantity::Speed).is_none());
    let speed = columns.of(Quantity::Speed).or(road).cloned();
    if let Some(column) = road.filter(|_| mapping.gearing.is_none()) {
        problems.note(sheet.header_line, PullFault::OnlyRoadSpeed { heading: column.heading.clone() });
    }
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
    let rows = Rows::new(&columns, &sheet, mapping);
    let mut read = rows.all(speed.as_ref()?, problems);
    if !problems.0.is_empty() {
        return None;
    }
    if !read.rows.iter().any(has_output) {
        problems.note(None, PullFault::NoRows);
        return None;
    }
    let (mut pulls, split_by, ends, without_output) = pulls(label, std::mem::take(&mut read.rows), mapping);
    let split_by = if sheet.is_side_by_side { SplitBy::SideBySide } else { split_by };
    check_pulls(&pulls, split_by, problems);
    let mut notes = notes(&sheet, &columns, mapping, rows.decimal);
    if !ends.is_empty() {
        notes.push(Note::Ends(ends));
    }
    if let Some(first) = without_output.first() {
        notes.push(Note::RowsLeftOut { rows: without_output.len(), first: *first });
    }
    notes.extend(read.notes());
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

fn has_output(row: &Split) -> bool {
    row.point.torque_nm > 0.0
}

/// Rows as pulls: how they were told apart, what of their ends was left out, and lines of rows without output besides.
fn pulls(
    label: &str,
    mut rows: Vec<Split>,
    mapping: &Mapping,
) -> (Vec<Pull>, SplitBy, Vec<TrimmedEnd>, Vec<u64>) {
    let mut ends = Vec::new();
    let mut without_output = Vec::new();
    if mapping.keep_ends {
        without_output.extend(rows.iter().filter(|row| !has_output(row)).map(|row| row.point.line));
        rows.retain(has_output);
    } else {
        (rows, ends) = without_coast_down(label, rows);
    }
    let (mut pulls, split_by) = split(rows);
    if !mapping.keep_ends {
        let (rest, others) = without_ends(label, pulls, split_by == SplitBy::Column);
        pulls = rest;
        ends.extend(others);
    }
    for pull in &mut pulls {
        without_output.extend(pull.points.iter().filter(|p| p.torque_nm <= 0.0).map(|p| p.line));
        pull.points.retain(|p| p.torque_nm > 0.0);
    }
    without_output.sort_unstable();
    ends.sort_by_key(|end| end.first_line);
    (pulls, split_by, ends, without_output)
}

fn check_pulls(pulls: &[Pull], split_by: SplitBy, problems: &mut Problems) {
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
fn notes(sheet: &Sheet, columns: &LogColumns, mapping: &Mapping, sign: DecimalSign) -> Vec<Note> {
    let mut notes: Vec<Note> = sheet.note.iter().cloned().collect();
    let read = &columns.above.0;
    if !read.is_empty() {
        notes.push(Note::LinesRead(read.clone()));
    }
    let unread = sheet.above.iter().filter(|(line, _)| read.iter().all(|(other, _)| other != line)).count();
    if unread > 0 {
        notes.push(Note::LinesAbove { header: sheet.header_line, lines: unread });
    }
    if mapping.decimal.is_none() && sign == DecimalSign::Comma {
        notes.push(Note::DecimalComma);
    }
    if columns.of(Quantity::Afr).is_some() && columns.of(Quantity::Lambda).is_none() {
        let afr_stoich = mapping.afr_stoich.unwrap_or(GAUGE_AFR_STOICH);
        notes.push(Note::LambdaOfAfr { afr_stoich, is_stated: mapping.afr_stoich.is_some() });
    }
    match (mapping.gearing, columns.of(Quantity::RoadSpeed), columns.of(Quantity::Speed)) {
        (Some(gearing), Some(_), None) => notes.push(Note::RpmOfRoadSpeed(gearing)),
        (Some(_), ..) => notes.push(Note::GearingNotUsed),
        (None, ..) => {}
    }
    if columns.place.1 == Said::Nobody {
        notes.push(Note::PlaceNotSaid);
    }
    if columns.correction.1 == Said::Nobody {
        notes.push(Note::CorrectionNotSaid);
    }
    notes
}
