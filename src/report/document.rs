//! What documents share: the program that made them, the check of their numbers, their schema, the end of a CSV.

use super::ReportError;
use super::check::all_finite;
use schemars::JsonSchema;
use serde::Serialize;

/// The program that made the document.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Tool {
    /// Name of the program.
    pub name: String,
    /// Version of the program.
    pub version: String,
}

impl Tool {
    /// This program.
    pub(super) fn this() -> Self {
        Self { name: env!("CARGO_PKG_NAME").to_owned(), version: env!("CARGO_PKG_VERSION").to_owned() }
    }
}

/// A result with the program that made it.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(super) struct Made<T> {
    /// The program that made the document.
    tool: Tool,
    /// The result.
    #[serde(flatten)]
    result: T,
}

/// A result with what must be known before acting on it.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(super) struct Cautioned<T> {
    /// The result.
    #[serde(flatten)]
    pub(super) result: T,
    /// Standing cautions.
    pub(super) cautions: &'static [&'static str],
}

/// A result as a JSON document, indented, ending in a line feed.
///
/// # Errors
/// [`ReportError::Json`].
pub(super) fn document<T: Serialize>(result: &T) -> Result<String, ReportError> {
    Ok(serde_json::to_string_pretty(&Made { tool: Tool::this(), result })? + "\n")
}

/// The same, every number of it finite.
///
/// # Errors
/// [`ReportError::NotFinite`] or [`ReportError::Json`].
pub(super) fn checked_document<T: Serialize>(result: &T) -> Result<String, ReportError> {
    all_finite(result)?;
    document(result)
}

/// JSON Schema (2020-12) of a document, indented, ending in a line feed.
pub(super) fn schema_of<T: JsonSchema>() -> String {
    let settings = schemars::generate::SchemaSettings::draft2020_12().for_serialize();
    file_schema(&settings.into_generator().into_root_schema_for::<T>().to_value())
}

/// A schema as a document, indented, ending in a line feed.
pub fn file_schema(schema: &serde_json::Value) -> String {
    format!("{schema:#}\n")
}

/// What a CSV writer has written.
///
/// # Errors
/// [`ReportError::Csv`] when it could not write to the end.
pub(super) fn csv_text(writer: ::csv::Writer<Vec<u8>>) -> Result<String, ReportError> {
    let bytes = writer.into_inner().map_err(|error| ::csv::Error::from(error.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
