//! The reader of TOML files: scenarios and fuels are read by it, every problem of a file at once, each with its line,
//! key, value, what the key takes and, where it helps, what was probably meant.
//!
//! What a reader asks of a file is known without one: the schema of the file is written from it.

pub(crate) mod asked;
mod diagnostics;
mod nearest;
mod notes;
mod places;
mod schema;
mod section;
mod value;

pub(crate) use asked::Asked;
pub use diagnostics::{Diagnostics, Expected, Problem, ProblemKind, counted};
pub(crate) use nearest::nearest;
pub(crate) use notes::join;
pub use places::Places;
pub(crate) use schema::schema;
pub(crate) use section::{KeyWay, Section, without_unit};

use crate::printable::printable;
use notes::Notes;
use toml::de::DeTable;

/// The text of a file.
///
/// # Errors
/// One that names the line and the byte which is not UTF-8.
pub fn utf8(bytes: Vec<u8>) -> std::io::Result<String> {
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let bytes = error.as_bytes();
        let line = 1 + bytes[..at].iter().filter(|byte| **byte == b'\n').count();
        let said = format!("line {line}: byte 0x{:02X} is not UTF-8; save the file as UTF-8", bytes[at]);
        std::io::Error::new(std::io::ErrorKind::InvalidData, said)
    })
}

/// Reads a file through `read`.
///
/// # Arguments
/// - `label`: what to call the file in messages, where it stands as [`printable`] makes it
/// - `text`: its contents
///
/// # Errors
/// [`Diagnostics`] with every problem found, in the order of lines. When the text is not TOML, only
/// that is reported, for nothing else about it can be trusted.
pub(crate) fn read<T>(
    label: &str,
    text: &str,
    read: impl FnOnce(&mut Section<'_, '_>) -> Option<T>,
) -> Result<T, Diagnostics> {
    let label = printable(label);
    let mut notes = Notes::new(&label, text);
    let (document, errors) = DeTable::parse_recoverable(text);
    let found = if errors.is_empty() {
        Section::root(&mut notes, document.get_ref(), read)
    } else {
        errors.iter().for_each(|error| notes.note_syntax(error));
        None
    };
    match (found, notes.into_problems()) {
        (Some(found), problems) if problems.is_empty() => Ok(found),
        (_, problems) => Err(Diagnostics(problems)),
    }
}
