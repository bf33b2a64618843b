//! What is wrong with a file: every problem with its place, as data, and their one rendering.

use crate::units::Allowed;
use std::fmt;

/// Problems shown; the rest is counted. More than a scenario has keys are the mark of another sort of file.
const MOST_SHOWN: usize = 100;

/// What a key takes.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Expected {
    /// A number in a range.
    Number(Allowed),
    /// A whole number in a range.
    Count {
        /// Lowest allowed value.
        low: u32,
        /// Highest allowed value.
        high: u32,
    },
    /// One of a few words.
    Word(Vec<&'static str>),
    /// Free text, not empty, without hidden characters.
    Text,
    /// A name of lower-case letters, digits, `-` and `.`, a letter first.
    Name,
    /// A list of so many entries of one sort.
    List {
        /// What each entry is.
        entry: Box<Expected>,
        /// Fewest entries.
        fewest: usize,
        /// Most entries.
        most: usize,
    },
    /// A section, that is, a table of keys.
    Section,
    /// One of several ways to give the same thing, in words.
    OneOf(String),
}

impl fmt::Display for Expected {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(allowed) => allowed.fmt(f),
            Self::Count { low, high } => write!(f, "a whole number from {low} to {high}"),
            Self::Word(words) => {
                f.write_str("one of ")?;
                for (i, word) in words.iter().enumerate() {
                    let separator = if i == 0 { "" } else { ", " };
                    write!(f, "{separator}\"{word}\"")?;
                }
                Ok(())
            }
            Self::Text => f.write_str("printable text in quotes, not empty"),
            Self::Name => f.write_str("a name of lower-case letters, digits, '-' and '.', a letter first"),
            Self::List { entry, fewest, most } if fewest == most => {
                write!(f, "a list of {most} entries, each of them {entry}")
            }
            Self::List { entry, fewest, most } => {
                write!(f, "a list of {fewest} to {most} entries, each of them {entry}")
            }
            Self::Section => f.write_str("a section of keys"),
            Self::OneOf(ways) => f.write_str(ways),
        }
    }
}

/// What sort of mistake it is.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum ProblemKind {
    /// The text is not TOML.
    Syntax {
        /// What the TOML parser says.
        message: String,
    },
    /// A key or section that does not exist.
    UnknownKey {
        /// The known key of the same section it is most like.
        nearest: Option<&'static str>,
        /// All keys of that section.
        known: Vec<&'static str>,
    },
    /// A key or section that must be there.
    Missing {
        /// What it takes.
        expected: Expected,
    },
    /// A value of the wrong type.
    WrongType {
        /// What the key takes.
        expected: Expected,
    },
    /// A number without a unit where one is needed, or with one that the quantity does not have.
    WrongUnit {
        /// What the key takes.
        expected: Expected,
        /// The units it may have.
        units: String,
    },
    /// A number that is infinite or not a number.
    NotFinite {
        /// What the key takes.
        expected: Expected,
    },
    /// A number, text or list outside what is allowed.
    OutOfRange {
        /// What the key takes.
        expected: Expected,
    },
    /// A word that is not among the allowed ones.
    UnknownWord {
        /// The allowed word it is most like.
        nearest: Option<String>,
        /// All allowed words.
        allowed: Vec<String>,
    },
    /// Values that are each allowed but not together.
    Contradiction {
        /// Why they cannot both hold.
        why: String,
    },
}

/// One problem in a file.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// The file, as the reader was told it is called.
    pub file: String,
    /// Line, from 1; 0 where it is of no file with lines.
    pub line: usize,
    /// Column, from 1, in characters.
    pub column: usize,
    /// Dotted path of the key, such as `engine.bore_mm`; empty for a syntax error.
    pub key: String,
    /// The value as it stands in the file, shortened when long; for a syntax error the whole line.
    pub found: Option<String>,
    /// What is wrong.
    pub kind: ProblemKind,
    /// What to do about it, where that is more than the message says.
    pub hint: Option<String>,
}

impl Problem {
    /// What is wrong, without file, line and hint.
    pub fn message(&self) -> String {
        let mut message = String::new();
        // Writing to a string does not fail.
        let _ = self.write_message(&mut message);
        message
    }

    fn write_message(&self, f: &mut dyn fmt::Write) -> fmt::Result {
        let found = self.found.as_deref().unwrap_or_default();
        let key = &self.key;
        match &self.kind {
            ProblemKind::Syntax { message } => {
                write!(f, "not valid TOML at column {}: {message}\n    {found}", self.column)
            }
            ProblemKind::UnknownKey { nearest, known } => {
                if found.is_empty() {
                    write!(f, "[{key}] is not a known section")?;
                } else {
                    write!(f, "{key} = {found}: there is no such key")?;
                }
                match nearest {
                    Some(word) => write!(f, "; did you mean {word}?"),
                    None => write!(f, "; known here: {}", known.join(", ")),
                }
            }
            ProblemKind::Missing { expected: Expected::Section } => write!(f, "section [{key}] is missing"),
            ProblemKind::Missing { expected } => write!(f, "{key} is missing; it takes {expected}"),
            ProblemKind::WrongType { expected } => {
                write!(f, "{key} = {found} is of the wrong type; it takes {expected}")
            }
            ProblemKind::WrongUnit { expected, units } => {
                write!(f, "{key} = {found} needs a unit, one of {units}, in quotes; it takes {expected}")
            }
            ProblemKind::NotFinite { expected } => {
                write!(f, "{key} = {found} is not a finite number; it takes {expected}")
            }
            ProblemKind::OutOfRange { expected } => {
                write!(f, "{key} = {found} is not allowed; it takes {expected}")
            }
            ProblemKind::UnknownWord { nearest, allowed } => {
                write!(f, "{key} = {found} is not one of \"{}\"", allowed.join("\", \""))?;
                nearest.iter().try_for_each(|word| write!(f, "; did you mean \"{word}\"?"))
            }
            ProblemKind::Contradiction { why } if found.is_empty() => write!(f, "[{key}]: {why}"),
            ProblemKind::Contradiction { why } => write!(f, "{key} = {found}: {why}"),
        }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            0 => write!(f, "{}: ", self.file)?,
            line => write!(f, "{}:{line}: ", self.file)?,
        }
        self.write_message(f)?;
        self.hint.iter().try_for_each(|hint| write!(f, "\n  hint: {hint}"))
    }
}

/// All problems of a file, in the order of its lines; never empty when returned as an error.
#[derive(Clone, Debug, PartialEq)]
pub struct Diagnostics(pub Vec<Problem>);

impl fmt::Display for Diagnostics {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, problem) in self.0.iter().take(MOST_SHOWN).enumerate() {
            if i > 0 {
                f.write_str("\n")?;
            }
            write!(f, "{problem}")?;
        }
        match self.0.len().saturating_sub(MOST_SHOWN) {
            0 => Ok(()),
            more => write!(f, "\nand {more} more"),
        }
    }
}

impl std::error::Error for Diagnostics {}

/// "1 problem", or the number with a plural.
pub fn counted(problems: usize) -> String {
    if problems == 1 { "1 problem".to_owned() } else { format!("{problems} problems") }
}
