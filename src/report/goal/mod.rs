//! A goal as a person or another program reads it: text and JSON.

mod text;
pub(super) mod words;

use super::document::{Made, checked_document, schema_of};
use super::{Format, ReportError, Units};
use crate::goal::Goal;

/// Renders a goal as text or JSON; the whole document, ending in a line feed.
///
/// # Errors
/// [`ReportError::NotFinite`] when a number is not finite; [`ReportError::NoSuchForm`] for CSV;
/// [`ReportError::Json`] when the writer fails.
pub fn render_goal(goal: &Goal, format: Format, units: Units) -> Result<String, ReportError> {
    let json = checked(goal)?;
    match format {
        Format::Text => Ok(text::render(goal, units)),
        Format::Json => Ok(json),
        Format::Csv => Err(ReportError::NoSuchForm { what: "a goal", form: "CSV" }),
    }
}

/// The JSON form, every number of it finite.
pub(super) fn checked(goal: &Goal) -> Result<String, ReportError> {
    checked_document(goal)
}

/// JSON Schema (2020-12) of the JSON form of a goal, indented, ending in a line feed.
pub fn goal_schema() -> String {
    schema_of::<Made<Goal>>()
}
