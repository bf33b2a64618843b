//! A goal as a person or another program reads it: text and JSON.

mod text;
mod words;

use super::json::{Tool, schema_of};
use super::{Format, ReportError, Units, check};
use crate::goal::Goal;
use schemars::JsonSchema;
use serde::Serialize;

/// The JSON document: the goal with the program that judged it.
#[derive(Clone, Debug, Serialize, JsonSchema)]
struct Document<'a> {
    /// The program that made the document.
    tool: Tool,
    /// What is said of the goal.
    #[serde(flatten)]
    goal: std::borrow::Cow<'a, Goal>,
}

/// Keys that may be null.
const MAY_BE_NULL: [&str; 3] = ["plan", "gentler", "most"];

/// Renders a goal as text or JSON; the whole document, ending in a line feed.
///
/// # Errors
/// [`ReportError::NotFinite`] when a number is not finite; [`ReportError::NoSuchForm`] for CSV;
/// [`ReportError::Json`] when the writer fails.
pub fn render_goal(goal: &Goal, format: Format, units: Units) -> Result<String, ReportError> {
    let document = Document { tool: Tool::this(), goal: std::borrow::Cow::Borrowed(goal) };
    let value = serde_json::to_value(&document)?;
    check::finite_document(&value, &MAY_BE_NULL)?;
    match format {
        Format::Text => Ok(text::render(goal, units)),
        Format::Json => Ok(serde_json::to_string_pretty(&value)? + "\n"),
        Format::Csv => Err(ReportError::NoSuchForm { what: "a goal", form: "CSV" }),
    }
}

/// JSON Schema (2020-12) of the JSON form of a goal, indented, ending in a line feed.
pub fn goal_schema() -> String {
    schema_of::<Document<'_>>()
}
