//! Which column is what.

use super::above::Above;
use super::error::{Problems, PullFault};
use super::header::{Heading, heading};
use super::log::{ColumnUse, LogCorrection, Place, Said};
use super::mapping::{ColumnMap, Mapping};
use super::sheet::{Sheet, SheetRow};
use super::unit::Quantity;
use crate::printable::printable;
use crate::units::Unit;

/// A column that is used.
#[derive(Clone, Debug)]
pub(super) struct LogColumn {
    pub(super) index: usize,
    pub(super) heading: String,
    pub(super) quantity: Quantity,
    pub(super) unit: Unit,
}

/// The columns of a log and what the file says of its figures.
#[derive(Debug)]
pub(super) struct LogColumns {
    pub(super) used: Vec<LogColumn>,
    pub(super) ignored: Vec<String>,
    /// Rows under the header, one of units left out.
    pub(super) has_units_row: bool,
    pub(super) place: (Place, Said),
    pub(super) correction: (LogCorrection, Said),
    /// What the lines above the table say.
    pub(super) above: Above,
}

impl LogColumns {
    /// Settles every column; problems are noted, and a column with one is left out.
    pub(super) fn read(sheet: &Sheet, mapping: &Mapping, problems: &mut Problems) -> Self {
        check_names(sheet, mapping, problems);
        let units_row = sheet.rows.first().filter(|row| is_units_row(sheet, mapping, row));
        let mut found: Vec<Candidate> = Vec::new();
        let mut ignored = Vec::new();
        for (index, name) in sheet.header.iter().enumerate() {
            match Candidate::read(sheet, mapping, units_row, index, name, problems) {
                Some(candidate) => found.push(candidate),
                None => ignored.push(shown(index, name)),
            }
        }
        let mut used = Vec::new();
        for candidate in &found {
            // A column mapped by hand stands before those that only look like it.
            let mapped = found.iter().any(|c| c.mapped && c.quantity == candidate.quantity);
            // Vehicle speed stands in for rpm alone.
            let is_spare = candidate.quantity == Quantity::RoadSpeed
                && !candidate.mapped
                && found.iter().any(|c| c.quantity == Quantity::Speed);
            if mapped && !candidate.mapped || is_spare {
                ignored.push(candidate.heading.clone());
                continue;
            }
            used.push(candidate.clone());
        }
        note_doubles(&used, sheet, problems);
        let above = Above::read(&sheet.above, problems);
        let place = place(sheet, mapping, &above, &used, problems);
        let correction = correction(sheet, mapping, &above, &used, problems);
        let used: Vec<LogColumn> = used.iter().filter_map(|c| c.column(sheet, problems)).collect();
        Self { used, ignored, has_units_row: units_row.is_some(), place, correction, above }
    }

    /// The column of a quantity.
    pub(super) fn of(&self, quantity: Quantity) -> Option<&LogColumn> {
        self.used.iter().find(|column| column.quantity == quantity)
    }

    /// What is used, for a person.
    pub(super) fn uses(&self) -> Vec<ColumnUse> {
        let of = |c: &LogColumn| ColumnUse {
            heading: c.heading.clone(),
            quantity: c.quantity,
            unit: c.unit.symbol(),
        };
        self.used.iter().map(of).collect()
    }
}

/// A column before its unit is settled.
#[derive(Clone, Debug)]
struct Candidate {
    index: usize,
    heading: String,
    quantity: Quantity,
    unit: Option<Unit>,
    mapped: bool,
    place: Option<Place>,
    corrected: bool,
}

impl Candidate {
    fn read(
        sheet: &Sheet,
        mapping: &Mapping,
        units_row: Option<&SheetRow>,
        index: usize,
        name: &str,
        problems: &mut Problems,
    ) -> Option<Self> {
        let below = units_row.and_then(|row| row.cells.get(index)).filter(|cell| !cell.is_empty());
        let of = |quantity, unit, mapped| Self {
            index,
            heading: shown(index, name),
            quantity,
            unit,
            mapped,
            place: None,
            corrected: false,
        };
        // What a unit in the row under the header says of a heading.
        let read = match below {
            Some(unit) if !name.contains(['(', '[']) => heading(&format!("{name} ({unit})")),
            _ => heading(name),
        };
        if let Some(map) = mapping.columns.iter().find(|map| map.column.is(index, name)) {
            let quantity = map.quantity?;
            let own = match &read {
                Heading::Known(known) if known.quantity == quantity => known.unit,
                _ => bracketed_unit(name, quantity).or_else(|| below.and_then(|u| quantity.unit(u))),
            };
            return Some(of(quantity, map.unit.or(own), true));
        }
        match read {
            Heading::Known(known) => Some(Self {
                place: known.place,
                corrected: known.corrected,
                ..of(known.quantity, known.unit, false)
            }),
            Heading::WrongUnit { quantity, unit } => {
                let mapped = mapping.columns.iter().any(|map| map.quantity == Some(quantity));
                if !mapped {
                    let heading = shown(index, name);
                    problems.note(sheet.header_line, PullFault::WrongUnit { heading, quantity, unit });
                }
                None
            }
            Heading::Other => None,
        }
    }

    fn column(&self, sheet: &Sheet, problems: &mut Problems) -> Option<LogColumn> {
        let bare = self.quantity.is_bare().then(|| self.quantity.units().first().copied()).flatten();
        match self.unit.or(bare) {
            Some(unit) => Some(LogColumn {
                index: self.index,
                heading: self.heading.clone(),
                quantity: self.quantity,
                unit,
            }),
            None => {
                let (heading, quantity) = (self.heading.clone(), self.quantity);
                problems.note(sheet.header_line, PullFault::NoUnit { heading, quantity });
                None
            }
        }
    }
}

/// A heading as it is shown: on one line, and by its number where it is blank.
fn shown(index: usize, name: &str) -> String {
    let words: Vec<&str> = name.split_whitespace().collect();
    if words.is_empty() { format!("#{}", index + 1) } else { printable(&words.join(" ")).into_owned() }
}

/// The unit in the brackets of a heading whose name is not known.
fn bracketed_unit(name: &str, quantity: Quantity) -> Option<Unit> {
    let open = name.rfind(['(', '['])?;
    quantity.unit(name[open + 1..].trim_end().trim_end_matches([')', ']']))
}

/// Whether a row holds units: no cell is a number, and one at least is a unit of its column.
fn is_units_row(sheet: &Sheet, mapping: &Mapping, row: &SheetRow) -> bool {
    let is_number = |cell: &String| cell.replacen(',', ".", 1).parse::<f64>().is_ok();
    let is_unit = |index: usize, name: &str, cell: &str| {
        let mapped = mapping.columns.iter().find(|map| map.column.is(index, name));
        match mapped.and_then(|map| map.quantity) {
            Some(quantity) => quantity.unit(cell).is_some(),
            None => {
                matches!(heading(&format!("{name} ({cell})")), Heading::Known(known) if !known.quantity.is_bare())
            }
        }
    };
    let mut pairs = sheet.header.iter().zip(&row.cells).enumerate();
    !row.cells.iter().any(is_number)
        && pairs.any(|(i, (name, cell))| !cell.is_empty() && is_unit(i, name, cell))
}

/// Columns that were asked for must be there.
fn check_names(sheet: &Sheet, mapping: &Mapping, problems: &mut Problems) {
    let is_there =
        |map: &ColumnMap| sheet.header.iter().enumerate().any(|(index, name)| map.column.is(index, name));
    for map in mapping.columns.iter().filter(|map| !is_there(map)) {
        let fault = PullFault::NoSuchColumn { typed: map.typed.clone(), headings: sheet.headings() };
        problems.note(sheet.header_line, fault);
    }
}

fn note_doubles(used: &[Candidate], sheet: &Sheet, problems: &mut Problems) {
    for (i, second) in used.iter().enumerate() {
        if let Some(first) = used[..i].iter().find(|first| first.quantity == second.quantity) {
            let fault = PullFault::Twice {
                first: first.heading.clone(),
                second: second.heading.clone(),
                quantity: second.quantity,
                number: first.index + 1,
            };
            problems.note(sheet.header_line, fault);
        }
    }
}

/// What comments such as `# at: crank` state.
fn directive<T>(
    sheet: &Sheet,
    key: &'static str,
    read: impl Fn(&str) -> Option<T>,
    allowed: impl Fn() -> String,
    problems: &mut Problems,
) -> Option<T> {
    let mut found = None;
    for (line, comment) in &sheet.comments {
        let Some((name, value)) = comment.split_once(':') else { continue };
        if !name.trim().eq_ignore_ascii_case(key) {
            continue;
        }
        let value = value.trim();
        found = read(value).or(found);
        if read(value).is_none() {
            problems.note(*line, PullFault::Directive { key, found: value.to_owned(), allowed: allowed() });
        }
    }
    found
}

fn place(
    sheet: &Sheet,
    mapping: &Mapping,
    above: &Above,
    used: &[Candidate],
    problems: &mut Problems,
) -> (Place, Said) {
    let comment = directive(sheet, "at", Place::of_word, || "wheel, crank".to_owned(), problems);
    let line = above.place();
    if let (None, Some(comment), Some((line, place))) = (mapping.place, comment, line)
        && comment != place
    {
        problems.note(line, PullFault::LineAndComment { key: "at" });
    }
    let mut settled = match (mapping.place, comment, line) {
        (Some(place), ..) => Some((place, Said::Option, None)),
        (None, Some(place), _) => Some((place, Said::Comment, Some("a comment says".to_owned()))),
        (None, None, Some((line, place))) => Some((place, Said::Line, Some(format!("line {line} says")))),
        (None, None, None) => None,
    };
    for candidate in used {
        let Some(place) = candidate.place else { continue };
        match &settled {
            None => {
                let who = format!("column {:?} says", candidate.heading);
                settled = Some((place, Said::Header, Some(who)));
            }
            Some((stated, _, other)) if *stated != place => {
                let fault = PullFault::PlaceContradiction {
                    heading: candidate.heading.clone(),
                    heading_place: place.word(),
                    other: other.clone(),
                    stated: stated.word(),
                };
                problems.note(sheet.header_line, fault);
            }
            Some(_) => {}
        }
    }
    settled.map_or((Place::Wheel, Said::Nobody), |(place, said, _)| (place, said))
}

fn correction(
    sheet: &Sheet,
    mapping: &Mapping,
    above: &Above,
    used: &[Candidate],
    problems: &mut Problems,
) -> (LogCorrection, Said) {
    let comment = directive(sheet, "corrected", LogCorrection::of_word, LogCorrection::words, problems);
    let line = above.correction();
    if let (None, Some(comment), Some((line, correction))) = (mapping.correction, comment, line)
        && comment != correction
    {
        problems.note(line, PullFault::LineAndComment { key: "corrected" });
    }
    let settled = match (mapping.correction, comment, line) {
        (Some(correction), ..) => Some((correction, Said::Option)),
        (None, Some(correction), _) => Some((correction, Said::Comment)),
        (None, None, Some((_, correction))) => Some((correction, Said::Line)),
        (None, None, None) => None,
    };
    // A factor of 1 corrects nothing.
    if let (None, Some((line, _))) =
        (settled, above.of(Quantity::Factor).filter(|(_, factor)| *factor != 1.0))
    {
        problems.note(line, PullFault::StandardMissing { what: format!("line {line}") });
        return (LogCorrection::None, Said::Nobody);
    }
    if settled.is_none()
        && let Some(candidate) = used.iter().find(|c| c.corrected || c.quantity == Quantity::Factor)
    {
        let what = format!("column {:?}", candidate.heading);
        problems.note(sheet.header_line, PullFault::StandardMissing { what });
    }
    settled.unwrap_or((LogCorrection::None, Said::Nobody))
}
