//! From bytes to cells: text, comments, header, rows.

use super::error::{Problems, PullFault};
use super::header::{Heading, heading};
use super::log::Note;
use super::mapping::{ColumnMap, ColumnName, Mapping};
use super::runs::{tagged, unfolded};
use super::text::text;
use super::unit::Quantity;
use super::workbook;

/// Largest log read [KiB].
pub const LIMIT_KIB: usize = 4096;
/// Lines in which the header is looked for: logs begin with notes of the shop.
const HEADER_SEARCHED: usize = 60;

/// The cells of a log.
#[derive(Debug)]
pub(super) struct Sheet {
    /// Cells of the header.
    pub(super) header: Vec<String>,
    /// Its line.
    pub(super) header_line: u64,
    /// Lines before the header that are neither blank nor comment, and their cells.
    pub(super) above: Vec<(u64, Vec<String>)>,
    /// Rows under the header.
    pub(super) rows: Vec<SheetRow>,
    /// Comments: line and text without the sign that begins them.
    pub(super) comments: Vec<(u64, String)>,
    /// Whether runs that stood side by side were put one below the other.
    pub(super) is_side_by_side: bool,
    /// What was guessed of the file.
    pub(super) note: Option<Note>,
}

/// One row under the header.
#[derive(Debug)]
pub(super) struct SheetRow {
    pub(super) line: u64,
    pub(super) cells: Vec<String>,
    /// Whether a blank line, or a line of blank cells, stands before it.
    pub(super) after_blank: bool,
    /// Whether a quoted cell takes it over the end of its line.
    pub(super) spans_lines: bool,
}

impl Sheet {
    /// Reads the cells; none, with problems noted, when the bytes are no table.
    pub(super) fn read(bytes: &[u8], mapping: &Mapping, problems: &mut Problems) -> Option<Self> {
        if bytes.len() > LIMIT_KIB * 1024 {
            problems.note(None, PullFault::TooLarge { limit_kib: LIMIT_KIB });
            return None;
        }
        let Source { text, note, delimiter } = source(bytes, mapping, problems)?;
        let lines: Vec<&str> = text.split('\n').collect();
        let Some(found) = find_header(&lines, mapping, delimiter) else {
            let searched = lines.len().min(HEADER_SEARCHED);
            problems.note(None, PullFault::NoHeader { searched });
            return None;
        };
        let HeaderLine { index, delimiter } = found;
        let is_comment = |line: &str| {
            let start = line.trim_start();
            start.starts_with('#') || delimiter != ';' && start.starts_with(';')
        };
        let above = lines_above(&lines[..index], delimiter, is_comment);
        let comments = (1..)
            .zip(&lines)
            .filter(|(_, line)| is_comment(line))
            .map(|(number, line)| (number, line.trim_start()[1..].trim().to_owned()))
            .collect();
        let is_blank: Vec<bool> = lines[index..].iter().map(|line| line.trim().is_empty()).collect();
        // Comments become empty lines, so that lines keep their numbers.
        let kept: Vec<&str> =
            lines[index..].iter().map(|line| if is_comment(line) { "" } else { *line }).collect();
        let mut records = records(&kept, &is_blank, delimiter).into_iter();
        let Some(header) = records.next() else {
            problems.note(None, PullFault::NoHeader { searched: index + 1 });
            return None;
        };
        let header_line = header.line + index as u64;
        if header.cells.len() < 2 {
            let header = header.cells.concat();
            problems.note(header_line, PullFault::OneColumn { header });
            return None;
        }
        let rows: Vec<SheetRow> =
            records.map(|row| SheetRow { line: row.line + index as u64, ..row }).collect();
        // The rows inside the quotes would be lost without a word.
        if rows.iter().any(|row| row.spans_lines) {
            for row in rows.iter().filter(|row| row.spans_lines) {
                problems.note(row.line, PullFault::OpenQuote);
            }
            return None;
        }
        let header = header.cells;
        let sheet = Self { header, header_line, above, rows, comments, is_side_by_side: false, note };
        Some(unfolded(sheet, mapping))
    }

    /// Headings for a message.
    pub(super) fn headings(&self) -> String {
        let quoted: Vec<String> = self.header.iter().map(|cell| format!("{cell:?}")).collect();
        quoted.join(", ")
    }
}

/// The text of a log.
struct Source {
    text: String,
    note: Option<Note>,
    /// Sign between the columns, where it is known before the header is.
    delimiter: Option<char>,
}

/// Bytes as text, or a sheet of a workbook as text.
fn source(bytes: &[u8], mapping: &Mapping, problems: &mut Problems) -> Option<Source> {
    if workbook::is_workbook(bytes) {
        let (text, note) = workbook::text(bytes, mapping, problems)?;
        return Some(Source { text, note, delimiter: Some('\t') });
    }
    let fault = match workbook::is_old_workbook(bytes) {
        true => Some(PullFault::OldWorkbook),
        false => mapping.sheet.as_ref().map(|_| PullFault::SheetOfText),
    };
    if let Some(fault) = fault {
        problems.note(None, fault);
        return None;
    }
    let (text, note) = text(bytes, problems)?;
    Some(Source { text, note, delimiter: mapping.delimiter })
}

/// Where the header stands.
pub(super) struct HeaderLine {
    index: usize,
    delimiter: char,
}

/// The first line that names an engine speed.
pub(super) fn find_header(lines: &[&str], mapping: &Mapping, delimiter: Option<char>) -> Option<HeaderLine> {
    let is_speed = |map: &&ColumnMap| matches!(map.quantity, Some(Quantity::Speed | Quantity::RoadSpeed));
    let speed = mapping.columns.iter().find(is_speed).map(|map| &map.column);
    for (index, line) in lines.iter().enumerate().take(HEADER_SEARCHED) {
        let start = line.trim_start();
        if start.is_empty() || start.starts_with(['#', ';']) {
            continue;
        }
        let delimiter = delimiter.unwrap_or_else(|| delimiter_of(line));
        let cells = records(&[line], &[false], delimiter).pop().map(|row| row.cells).unwrap_or_default();
        let is_header = match speed {
            // A column by number needs no name: the first line with anything in it is the header.
            Some(ColumnName::Number(_)) => !cells.is_empty(),
            Some(name) => cells.iter().enumerate().any(|(i, cell)| name.is(i, cell)),
            None => cells.iter().any(|cell| names_speed(cell)),
        };
        if is_header {
            return Some(HeaderLine { index, delimiter });
        }
    }
    None
}

/// Cells of the lines above the header that are neither blank nor comment.
fn lines_above(
    lines: &[&str],
    delimiter: char,
    is_comment: impl Fn(&str) -> bool,
) -> Vec<(u64, Vec<String>)> {
    let plain = (1..).zip(lines).filter(|(_, line)| !line.trim().is_empty() && !is_comment(line));
    let cells =
        |line: &str| records(&[line], &[false], delimiter).pop().map(|row| row.cells).unwrap_or_default();
    plain.map(|(number, line)| (number, cells(line))).collect()
}

/// Whether a heading, of one run or of all, is that of engine or of vehicle speed.
fn names_speed(cell: &str) -> bool {
    let is_speed = |cell: &str| match heading(cell) {
        Heading::Known(known) => matches!(known.quantity, Quantity::Speed | Quantity::RoadSpeed),
        _ => false,
    };
    is_speed(cell) || tagged(cell).is_some_and(|(base, _)| is_speed(&base))
}

/// The strongest sign of a line: a tab, else a semicolon, else a comma.
fn delimiter_of(line: &str) -> char {
    ['\t', ';'].into_iter().find(|sign| line.contains(*sign)).unwrap_or(',')
}

/// Rows of some lines, with line numbers from 1.
fn records(lines: &[&str], is_blank: &[bool], delimiter: char) -> Vec<SheetRow> {
    // Lines enough at the end for a quote that is open there to span them.
    let text = lines.join("\n") + "\n\n";
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(u8::try_from(delimiter).unwrap_or(b','))
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let mut rows: Vec<SheetRow> = Vec::new();
    let mut seen = 0;
    let mut after_blank = false;
    // Text is UTF-8 and rows may differ in length, so no record is refused.
    let mut record = csv::StringRecord::new();
    while reader.read_record(&mut record).unwrap_or(false) {
        let mut at = record.position().map_or(0, |p| p.line() as usize).saturating_sub(1);
        // Lines that the reader skipped.
        while lines.get(at).is_some_and(|line| line.is_empty()) {
            at += 1;
        }
        let spans_lines = reader.position().line() > at as u64 + 2;
        after_blank |= is_blank.get(seen..at).is_some_and(|between| between.contains(&true));
        seen = at + 1;
        if record.iter().all(str::is_empty) && !spans_lines {
            after_blank = true;
            continue;
        }
        let cells = record.iter().map(str::to_owned).collect();
        rows.push(SheetRow {
            line: at as u64 + 1,
            cells,
            after_blank: after_blank && !rows.is_empty(),
            spans_lines,
        });
        after_blank = false;
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet(text: &str) -> Sheet {
        let mut problems = Problems::default();
        Sheet::read(text.as_bytes(), &Mapping::default(), &mut problems)
            .unwrap_or_else(|| panic!("{:?}", problems.0))
    }

    #[test]
    fn lines_comments_and_blank_lines_are_counted() {
        let s = sheet(
            "\u{feff}# at: crank\r\nShop,North\r\nrpm,torque (Nm)\r\n2000,100\r\n; note\r\n3000,110\r\n\r\n2000,101\r\n,\r\n2100,103\r\n",
        );
        assert_eq!(
            (s.header_line, &s.above[..]),
            (3, &[(2, vec!["Shop".to_owned(), "North".to_owned()])][..])
        );
        let rows: Vec<(u64, bool)> = s.rows.iter().map(|r| (r.line, r.after_blank)).collect();
        assert_eq!(rows, [(4, false), (6, false), (8, true), (10, true)]);
        assert_eq!(s.comments, [(1, "at: crank".to_owned()), (5, "note".to_owned())]);
    }

    #[test]
    fn delimiters_are_found_and_a_heading_may_span_lines() {
        assert_eq!(sheet("rpm\ttorque (Nm)\n2000\t1,5\n").rows[0].cells, ["2000", "1,5"]);
        assert_eq!(sheet("rpm;torque (Nm)\n2000;1,5\n").rows[0].cells, ["2000", "1,5"]);
        let s = sheet("\"Engine Speed\n[rpm]\",\"torque\n(Nm)\"\n2000,1\n3000,2\n");
        assert_eq!(s.header, ["Engine Speed\n[rpm]", "torque\n(Nm)"]);
        assert_eq!(s.rows.iter().map(|r| r.line).collect::<Vec<_>>(), [4, 5]);
    }
}
