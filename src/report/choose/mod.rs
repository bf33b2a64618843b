//! A choice of compression as a person or another program reads it: text, JSON, CSV and plots.

mod check;
mod csv;
mod plot;
mod text;
mod words;

use super::json::Tool;
use super::{Format, ReportError, Units};
use crate::choose::Choice;
use schemars::JsonSchema;
use serde::Serialize;

/// The JSON document.
#[derive(JsonSchema, Serialize)]
struct Document<'a> {
    tool: Tool,
    #[serde(flatten)]
    choice: &'a Choice,
}

/// A choice in a form.
///
/// # Errors
/// [`ReportError`] when a number is not finite or writing fails.
pub fn render_choice(choice: &Choice, format: Format, units: Units) -> Result<String, ReportError> {
    check::check(choice)?;
    match format {
        Format::Text => Ok(text::render(choice, units)),
        Format::Json => Ok(serde_json::to_string_pretty(&Document { tool: Tool::this(), choice })? + "\n"),
        Format::Csv => csv::render(choice, units),
    }
}

/// The JSON schema of a choice.
pub fn choice_schema() -> String {
    super::schema_text::<Document<'_>>()
}

/// Plots of a choice: `power-over-ratio.svg` and `margin-map.svg`.
///
/// # Errors
/// As [`render_choice`]; [`ReportError::Plot`] when drawing fails.
pub fn choice_plots(choice: &Choice, units: Units) -> Result<Vec<(String, String)>, ReportError> {
    check::check(choice)?;
    plot::plots(choice, units)
}
