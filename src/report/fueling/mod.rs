//! Fuel supply and mechanical limits as a person or another program reads them: text, JSON and CSV.

mod csv;
mod text;
mod words;

use super::document::{Made, checked_document, schema_of};
use super::{Format, ReportError, Units};
use crate::fueling::Fueling;

/// Renders fuel supply and limits; the whole document, ending in a line feed.
///
/// # Errors
/// [`ReportError::NotFinite`] when a number is not finite; [`ReportError::Json`] or [`ReportError::Csv`] when
/// the writer fails.
pub fn render_fueling(fueling: &Fueling, format: Format, units: Units) -> Result<String, ReportError> {
    let json = checked_document(fueling)?;
    match format {
        Format::Text => Ok(text::render(fueling, units)),
        Format::Json => Ok(json),
        Format::Csv => csv::render(fueling, units),
    }
}

/// JSON Schema (2020-12) of the JSON form, indented, ending in a line feed.
pub fn fueling_schema() -> String {
    schema_of::<Made<Fueling>>()
}
