//! A sheet of an `.xlsx` workbook as tab-separated text, so that it is read like any other log; its rows are the lines.

use super::error::{Problems, PullFault};
use super::log::Note;
use super::mapping::{DecimalSign, Mapping};
use super::sheet::{LIMIT_KIB, find_header};
use crate::printable::printable;
use calamine::{DataRef, Reader as _, SheetType, Xlsx, XlsxError};
use std::io::{Cursor, Read as _};

/// Most text in a sheet, and most of a workbook unpacked [bytes]; a workbook packs its text to a tenth.
const LIMIT_BYTES: usize = 16 * LIMIT_KIB * 1024;

/// Whether bytes are packed as workbooks are.
pub(super) fn is_workbook(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04")
}

/// Whether bytes are a workbook of the kind before, or one behind a password.
pub(super) fn is_old_workbook(bytes: &[u8]) -> bool {
    bytes.starts_with(&[0xD0, 0xCF, 0x11, 0xE0])
}

/// The sheet that is named, else the only one with a header; with a note where there are others.
pub(super) fn text(
    bytes: &[u8],
    mapping: &Mapping,
    problems: &mut Problems,
) -> Option<(String, Option<Note>)> {
    if is_too_large(bytes) {
        problems.note(None, PullFault::TooLarge { limit_kib: LIMIT_KIB });
        return None;
    }
    match sheet(bytes, mapping) {
        Ok(found) => Some(found),
        Err(fault) => {
            problems.note(None, fault);
            None
        }
    }
}

/// Whether a workbook unpacks to more than any log, or says that it holds more strings: a hostile one is not even opened.
fn is_too_large(bytes: &[u8]) -> bool {
    const MOST_DIGITS: usize = 6;
    let Ok(mut packed) = zip::ZipArchive::new(Cursor::new(bytes)) else { return false };
    if packed.decompressed_size().is_none_or(|size| size > LIMIT_BYTES as u128) {
        return true;
    }
    let mut head = Vec::new();
    if let Ok(strings) = packed.by_name("xl/sharedStrings.xml") {
        // What cannot be read here is told where all of it is read.
        let _ = strings.take(4096).read_to_end(&mut head);
    }
    let head = String::from_utf8_lossy(&head);
    let count = head.split("uniqueCount=\"").nth(1).and_then(|rest| rest.split('"').next());
    count.is_some_and(|digits| digits.trim_start_matches('0').len() > MOST_DIGITS)
}

fn sheet(bytes: &[u8], mapping: &Mapping) -> Result<(String, Option<Note>), PullFault> {
    let failed = |why: XlsxError| PullFault::Workbook { why: printable(&why.to_string()).into_owned() };
    let mut book = Xlsx::new(Cursor::new(bytes)).map_err(failed)?;
    let all = book.sheets_metadata().iter().filter(|sheet| sheet.typ == SheetType::WorkSheet);
    let names: Vec<String> = all.map(|sheet| sheet.name.clone()).collect();
    if let Some(wanted) = &mapping.sheet {
        let is_it = |name: &&String| name.trim().to_lowercase() == wanted.trim().to_lowercase();
        let Some(name) = names.iter().find(is_it) else {
            return Err(PullFault::NoSuchSheet { typed: wanted.clone(), sheets: quoted(&names) });
        };
        return Ok((cells(&mut book, name, mapping)?, None));
    }
    let mut with_header = Vec::new();
    for name in &names {
        let text = cells(&mut book, name, mapping)?;
        let lines: Vec<&str> = text.split('\n').collect();
        if names.len() == 1 || find_header(&lines, mapping, Some('\t')).is_some() {
            with_header.push((name.clone(), text));
        }
    }
    match with_header.len() {
        0 => Err(PullFault::NoSheet { sheets: quoted(&names) }),
        1 => {
            let (sheet, text) = with_header.remove(0);
            Ok((text, (names.len() > 1).then_some(Note::SheetTaken { sheet, of: names.len() })))
        }
        _ => {
            let sheets: Vec<String> = with_header.into_iter().map(|(name, _)| name).collect();
            Err(PullFault::ManySheets { sheets: quoted(&sheets) })
        }
    }
}

fn quoted(names: &[String]) -> String {
    names.iter().map(|name| format!("{name:?}")).collect::<Vec<_>>().join(", ")
}

/// The cells of a sheet, tabs between them, a line for each row.
fn cells(book: &mut Xlsx<Cursor<&[u8]>>, name: &str, mapping: &Mapping) -> Result<String, PullFault> {
    let failed = |why: XlsxError| PullFault::Workbook { why: printable(&why.to_string()).into_owned() };
    let mut reader = book.worksheet_cells_reader(name).map_err(failed)?;
    let mut text = String::new();
    let mut at = (0, 0);
    while let Some(cell) = reader.next_cell().map_err(failed)? {
        let (row, column) = cell.get_position();
        let (down, right) = match row.checked_sub(at.0) {
            Some(0) => (0, column.saturating_sub(at.1)),
            Some(down) => (down, column),
            // Rows stand in their order.
            None => continue,
        };
        at = (row, column);
        let value = shown(cell.get_value(), mapping.decimal);
        if text.len() + value.len() + (down + right) as usize > LIMIT_BYTES {
            return Err(PullFault::TooLarge { limit_kib: LIMIT_KIB });
        }
        text.extend(std::iter::repeat_n('\n', down as usize));
        text.extend(std::iter::repeat_n('\t', right as usize));
        text += &value;
    }
    Ok(text)
}

/// A value as a log in text has it.
fn shown(value: &DataRef<'_>, decimal: Option<DecimalSign>) -> String {
    let number = |value: f64| match decimal {
        Some(DecimalSign::Comma) => value.to_string().replace('.', ","),
        _ => value.to_string(),
    };
    let words = |words: &str| {
        let words: String = words.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
        if words.contains('"') { format!("\"{}\"", words.replace('"', "\"\"")) } else { words }
    };
    match value {
        DataRef::Int(value) => value.to_string(),
        DataRef::Float(value) => number(*value),
        DataRef::DateTime(value) => number(value.as_f64()),
        DataRef::Bool(value) => value.to_string(),
        DataRef::String(text) | DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => words(text),
        DataRef::SharedString(text) => words(text),
        DataRef::Error(_) => "n/a".to_owned(),
        DataRef::Empty => String::new(),
    }
}
