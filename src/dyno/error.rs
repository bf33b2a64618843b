//! What can be wrong with a log, all of it told at once.

use super::log::Pull;
use super::unit::Quantity;
use crate::estimate::EstimateError;
use std::fmt;

/// Problems shown; the rest is counted.
const MOST_SHOWN: usize = 20;

/// One thing that is wrong with a log.
#[derive(Clone, Debug, PartialEq)]
pub struct PullProblem {
    /// Line of the file, from 1; none when it concerns the whole file.
    pub line: Option<u64>,
    /// What it is.
    pub fault: PullFault,
}

/// What is wrong.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PullFault {
    /// The file is larger than any log.
    #[error("the file is larger than {limit_kib} KiB, so it is no log of pulls; export the pulls alone")]
    TooLarge {
        /// Largest size read [KiB].
        limit_kib: usize,
    },
    /// The bytes are no text.
    #[error("byte 0x{byte:02X} is no text; save the log as CSV or as .xlsx")]
    NotText {
        /// The first byte that no text holds.
        byte: u8,
    },
    /// A workbook that is not read: of the kind before `.xlsx`, or behind a password.
    #[error("an old or a protected workbook; save it as .xlsx without a password, or as CSV")]
    OldWorkbook,
    /// Something packed that is no workbook, or a damaged one.
    #[error("no .xlsx workbook that can be read ({why}); save it as .xlsx or as CSV")]
    Workbook {
        /// Why not.
        why: String,
    },
    /// A sheet that was asked for is not there.
    #[error("{typed:?}: no such sheet; the workbook has {sheets}")]
    NoSuchSheet {
        /// As typed.
        typed: String,
        /// Sheets found.
        sheets: String,
    },
    /// No sheet of several has a header.
    #[error("no sheet of {sheets} has a header that names engine rpm; name one, such as 'rpm'")]
    NoSheet {
        /// Sheets found.
        sheets: String,
    },
    /// More than one sheet holds a log.
    #[error("sheets {sheets} all look like logs")]
    ManySheets {
        /// Their names.
        sheets: String,
    },
    /// A sheet is named, and the file has none.
    #[error("text has no sheets")]
    SheetOfText,
    /// No line is the header.
    #[error("no header found in the first {searched} lines: none names engine rpm; name one, such as 'rpm'")]
    NoHeader {
        /// Lines searched.
        searched: usize,
    },
    /// The header has one column.
    #[error("the header {header:?} is one column; separate columns by commas, semicolons or tabs")]
    OneColumn {
        /// The header.
        header: String,
    },
    /// A column that was asked for is not there.
    #[error("{typed:?}: no such column; the header has {headings}")]
    NoSuchColumn {
        /// As typed.
        typed: String,
        /// Headings found.
        headings: String,
    },
    /// A column has no unit.
    #[error(
        "column {heading:?} has no unit; units are {units}: write it in the header, as \"{heading} ({first})\"",
        first = quantity.units()[0].symbol(), units = quantity.unit_names()
    )]
    NoUnit {
        /// Heading.
        heading: String,
        /// What it is taken for.
        quantity: Quantity,
    },
    /// A unit is not known for a quantity.
    #[error(
        "column {heading:?}: {unit:?} is no unit of {key}; units are {units}",
        key = quantity.key(), units = quantity.unit_names()
    )]
    WrongUnit {
        /// Heading.
        heading: String,
        /// What it is taken for.
        quantity: Quantity,
        /// Unit as written.
        unit: String,
    },
    /// Two columns look like the same quantity.
    #[error("columns {first:?} and {second:?} both look like {}", quantity.key())]
    Twice {
        /// Heading of the first.
        first: String,
        /// Heading of the second.
        second: String,
        /// What both are taken for.
        quantity: Quantity,
        /// Number of the first column, from 1.
        number: usize,
    },
    /// No column is left that gives what every log must have.
    #[error("no column gives {what}; the header has {headings}")]
    NoColumn {
        /// What is missing.
        what: &'static str,
        /// Headings found.
        headings: String,
    },
    /// The log holds vehicle speed in place of rpm, and nothing says what rpm that is.
    #[error("column {heading:?} is vehicle speed, and no column gives rpm")]
    OnlyRoadSpeed {
        /// Heading of the column.
        heading: String,
    },
    /// Vehicle speed gives an rpm that no engine turns.
    #[error(
        "{heading} = {found} is {rpm:.0} rpm, outside {low:.0} to {high:.0} rpm; check gear ratio, final drive and tyre, or the stated pair"
    )]
    RoadSpeed {
        /// Heading of the column.
        heading: String,
        /// Cell as written.
        found: String,
        /// The rpm that it makes [rpm].
        rpm: f64,
        /// Lowest and highest that can be meant [rpm].
        low: f64,
        /// See `low`.
        high: f64,
    },
    /// A comment states something that is not known.
    #[error("{key}: {found:?} is not one of {allowed}")]
    Directive {
        /// `at` or `corrected`.
        key: &'static str,
        /// As written.
        found: String,
        /// What it may be.
        allowed: String,
    },
    /// Two lines above the table say different things of one.
    #[error("{key}: line {first} says something else; leave one of them out")]
    LinesDiffer {
        /// Key of the line.
        key: String,
        /// Line of the first.
        first: u64,
    },
    /// A line above the table and a comment say different things.
    #[error("this line and the comment '# {key}' say different things")]
    LineAndComment {
        /// `at` or `corrected`.
        key: &'static str,
    },
    /// The place in a heading contradicts what was stated, or another heading.
    #[error("column {heading:?} is at the {heading_place}, but {} {stated}", other.as_deref().unwrap_or("you say"))]
    PlaceContradiction {
        /// Heading.
        heading: String,
        /// Place in it.
        heading_place: &'static str,
        /// What says otherwise, as the start of a sentence; none for the mapping.
        other: Option<String>,
        /// What it says.
        stated: &'static str,
    },
    /// Figures are corrected, but nothing says by which standard.
    #[error("{what} says that figures are corrected, but not by which standard")]
    StandardMissing {
        /// The column.
        what: String,
    },
    /// A cell is no number.
    #[error("{heading} = {found:?} is not a number; correct it, or leave the cell empty")]
    NotANumber {
        /// Heading of the column.
        heading: String,
        /// Cell as written.
        found: String,
    },
    /// A number is outside what can be meant.
    #[error("{heading} = {found} is outside {low} to {high} {unit}; check unit, column and decimal sign")]
    OutOfRange {
        /// What it is taken for.
        quantity: Quantity,
        /// Heading of the column.
        heading: String,
        /// Cell as written.
        found: String,
        /// Lowest allowed, in the unit of the column.
        low: String,
        /// Highest allowed, in the unit of the column.
        high: String,
        /// Unit of the column.
        unit: &'static str,
    },
    /// A number is below what can be meant, and there is no highest.
    #[error("{heading} = {found} is below {low}; it is {low} or more")]
    TooSmall {
        /// Heading of the column.
        heading: String,
        /// Cell as written.
        found: String,
        /// Lowest allowed, in the unit of the column.
        low: String,
    },
    /// Decimal signs are mixed.
    #[error(
        "{heading} = {found:?} has a decimal {sign}, other numbers of the file do not; correct it, or leave the cell empty"
    )]
    MixedDecimals {
        /// Heading of the column.
        heading: String,
        /// Cell as written.
        found: String,
        /// "comma" or "point".
        sign: &'static str,
    },
    /// A quoted cell under the header goes on over the end of its line.
    #[error(
        "a quote (\") opened in this row is not closed on its line and runs on into the lines below; close it"
    )]
    OpenQuote,
    /// A row has more cells than the header.
    #[error(
        "{found} cells in a row under a header of {wanted}; is a decimal comma read as a delimiter? Save with semicolons or tabs between the columns"
    )]
    TooManyCells {
        /// Cells found.
        found: usize,
        /// Columns of the header.
        wanted: usize,
    },
    /// The file has no rows of use.
    #[error("no row under the header has rpm and a positive torque or power; check which columns are taken")]
    NoRows,
    /// A pull has too few rows.
    #[error(
        "pull {name}, told apart by {by}, has {points} usable rows; at least {least} are needed: log more, or leave the pull out",
        least = Pull::LEAST_POINTS
    )]
    ShortPull {
        /// Name of the pull.
        name: String,
        /// How it was told apart, in words.
        by: &'static str,
        /// Rows found.
        points: usize,
    },
    /// A pull covers too little speed.
    #[error(
        "pull {name} covers {low:.0} to {high:.0} rpm; at least {least:.0} rpm are needed to judge a curve: log a wider range, or leave the pull out"
    )]
    NarrowPull {
        /// Name of the pull.
        name: String,
        /// Lowest speed [rpm].
        low: f64,
        /// Highest speed [rpm].
        high: f64,
        /// Least span [rpm].
        least: f64,
    },
}

/// Everything that is wrong with a log.
#[derive(Clone, Debug, PartialEq)]
pub struct PullErrors {
    /// What the file is called.
    pub label: String,
    /// The problems, in the order of lines.
    pub problems: Vec<PullProblem>,
}

impl PullErrors {
    /// The problems by line, each as `say` has it.
    pub fn said(&self, say: impl Fn(&PullFault) -> String) -> String {
        let (label, count) = (&self.label, self.problems.len());
        let mut out = format!("{count} problem{} in {label}", if count == 1 { "" } else { "s" });
        for PullProblem { line, fault } in self.problems.iter().take(MOST_SHOWN) {
            let line = line.map_or(String::new(), |line| format!("{line}:"));
            out += &format!("\n{label}:{line} {}", say(fault));
        }
        if count > MOST_SHOWN {
            out += &format!("\nand {} more", count - MOST_SHOWN);
        }
        out
    }
}

impl fmt::Display for PullErrors {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.said(PullFault::to_string))
    }
}

impl std::error::Error for PullErrors {}

/// A log could not be judged.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum JudgeError {
    /// The estimate failed.
    #[error(transparent)]
    Estimate(#[from] EstimateError),
    /// The job has no fuel.
    #[error("a pull is judged on one fuel, and the job has none")]
    NoFuel,
    /// Log and scenario cover different speeds.
    #[error(
        "the log covers {:.0} to {:.0} rpm (pulls: {pulls}), the scenario {:.0} to {:.0} rpm: all pulls and the scenario share {covered} rpm points of the estimate, and {least} are needed",
        log_rpm.0, log_rpm.1, scenario_rpm.0, scenario_rpm.1
    )]
    Overlap {
        /// Lowest and highest speed of the log [rpm].
        log_rpm: (f64, f64),
        /// Lowest and highest speed of the scenario [rpm].
        scenario_rpm: (f64, f64),
        /// Number of pulls.
        pulls: usize,
        /// Speeds of the estimate that all pulls reach.
        covered: usize,
        /// Speeds needed.
        least: usize,
    },
}

/// Problems as they are found.
#[derive(Debug, Default)]
pub(super) struct Problems(pub(super) Vec<PullProblem>);

impl Problems {
    pub(super) fn note(&mut self, line: impl Into<Option<u64>>, fault: PullFault) {
        self.0.push(PullProblem { line: line.into(), fault });
    }

    pub(super) fn into_errors(mut self, label: &str) -> PullErrors {
        self.0.sort_by_key(|problem| problem.line);
        PullErrors { label: label.to_owned(), problems: self.0 }
    }
}
