//! Fuel supply and mechanical limits as a person or another program reads them: text, JSON and CSV.

mod csv;
mod text;
mod words;

use super::json::{Tool, schema_of};
use super::{Format, ReportError, Units, check};
use crate::fueling::Fueling;
use schemars::JsonSchema;
use serde::Serialize;

/// The JSON document: the result with the program that made it.
#[derive(Clone, Debug, Serialize, JsonSchema)]
struct Document<'a> {
    /// The program that made the document.
    tool: Tool,
    /// What is said of fuel supply and limits.
    #[serde(flatten)]
    fueling: std::borrow::Cow<'a, Fueling>,
}

/// Keys that may be null.
const MAY_BE_NULL: [&str; 7] = [
    "injector_duty_frac",
    "injector_flow_cc_per_min",
    "pump_flow_l_per_h",
    "stated_injectors",
    "stated_pump",
    "stated_limit",
    "fuel",
];

/// Renders fuel supply and limits; the whole document, ending in a line feed.
///
/// # Errors
/// [`ReportError::NotFinite`] when a number is not finite; [`ReportError::Json`] or [`ReportError::Csv`] when
/// the writer fails.
pub fn render_fueling(fueling: &Fueling, format: Format, units: Units) -> Result<String, ReportError> {
    let document = Document { tool: Tool::this(), fueling: std::borrow::Cow::Borrowed(fueling) };
    let value = serde_json::to_value(&document)?;
    check::finite_document(&value, &MAY_BE_NULL)?;
    match format {
        Format::Text => Ok(text::render(fueling, units)),
        Format::Json => Ok(serde_json::to_string_pretty(&value)? + "\n"),
        Format::Csv => csv::render(fueling, units),
    }
}

/// JSON Schema (2020-12) of the JSON form, indented, ending in a line feed.
pub fn fueling_schema() -> String {
    schema_of::<Document<'_>>()
}
