//! A choice of compression as a person or another program reads it: text, JSON, CSV and plots.

pub(super) mod check;
mod csv;
pub(super) mod plot;
pub(super) mod text;
pub(super) mod words;

use super::{Format, ReportError, Units};
use crate::choose::Choice;
use schemars::schema_for;

/// A choice in a form.
///
/// # Errors
/// [`ReportError`] when a number is not finite or writing fails.
pub fn render_choice(choice: &Choice, format: Format, units: Units) -> Result<String, ReportError> {
    check::check(choice)?;
    match format {
        Format::Text => Ok(text::render(choice, units)),
        Format::Json => Ok(serde_json::to_string_pretty(choice)? + "\n"),
        Format::Csv => csv::render(choice, units),
    }
}

/// The JSON schema of a choice.
pub fn choice_schema() -> String {
    format!("{:#}\n", schema_for!(Choice).to_value())
}

/// Plots of a choice: `power-over-ratio.svg` and `margin-map.svg`.
///
/// # Errors
/// As [`render_choice`]; [`ReportError::Plot`] when drawing fails.
pub fn choice_plots(choice: &Choice, units: Units) -> Result<Vec<(String, String)>, ReportError> {
    check::check(choice)?;
    plot::plots(choice, units)
}
