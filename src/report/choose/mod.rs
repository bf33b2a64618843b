//! A choice of compression as a person or another program reads it: text, JSON, CSV and plots.

pub(super) mod answer;
mod conditions;
mod csv;
pub(super) mod plot;
mod text;
pub(super) mod words;

use super::check::filled;
use super::document::{Made, checked_document, schema_of};
use super::{Format, ReportError, Units};
use crate::choose::Choice;

/// A choice in a form.
///
/// # Errors
/// [`ReportError`] when a number is not finite or writing fails.
pub fn render_choice(choice: &Choice, format: Format, units: Units) -> Result<String, ReportError> {
    let json = checked(choice)?;
    match format {
        Format::Text => Ok(text::render(choice, units)),
        Format::Json => Ok(json),
        Format::Csv => csv::render(choice, units),
    }
}

/// The JSON form, every number of it finite.
pub(super) fn checked(choice: &Choice) -> Result<String, ReportError> {
    filled("the choice", "ratio", choice.curve.len())?;
    checked_document(choice)
}

/// The JSON schema of a choice.
pub fn choice_schema() -> String {
    schema_of::<Made<Choice>>()
}

/// Plots of a choice: `power-over-ratio.svg` and `margin-map.svg`.
///
/// # Errors
/// As [`render_choice`]; [`ReportError::Plot`] when drawing fails.
pub fn choice_plots(choice: &Choice, units: Units) -> Result<Vec<(String, String)>, ReportError> {
    checked(choice)?;
    plot::plots(choice, units)
}
