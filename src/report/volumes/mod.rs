//! Compression of an engine from measured volumes, as text, JSON and CSV.

mod combinations;
mod csv;
mod text;
mod wanted;

use super::document::{Made, checked_document, schema_of};
use super::{Format, ReportError, Units};
use crate::engine::volumes::VolumesSheet;

/// A sheet in a form. CSV has one row for the mean cylinder and one per cylinder measured by itself, and leaves out
/// combinations of parts; JSON is in SI units.
///
/// # Errors
/// [`ReportError`] when a number is not finite or writing fails.
pub fn render_volumes(sheet: &VolumesSheet, format: Format, units: Units) -> Result<String, ReportError> {
    let json = checked_document(sheet)?;
    match format {
        Format::Text => Ok(text::render(sheet, units)),
        Format::Json => Ok(json),
        Format::Csv => csv::render(sheet, units),
    }
}

/// JSON schema of the JSON form.
pub fn volumes_schema() -> String {
    schema_of::<Made<VolumesSheet>>()
}

/// The shop's word for the gap between piston and head.
fn squish(units: Units) -> &'static str {
    match units {
        Units::Metric => "squish",
        Units::Us => "quench",
    }
}

/// A volume [m3] in cc.
fn cc(volume_m3: f64) -> f64 {
    volume_m3 * 1e6
}
