//! Compression of an engine from measured volumes, as text, JSON and CSV.

mod csv;
mod text;
mod wanted;

use super::check::finite;
use super::document::{Made, document, schema_of};
use super::{Format, ReportError, Units};
use crate::engine::volumes::VolumesSheet;

/// A sheet in a form. CSV has one row for the mean cylinder and one per cylinder measured by itself;
/// JSON is in SI units.
///
/// # Errors
/// [`ReportError`] when a number is not finite or writing fails.
pub fn render_volumes(sheet: &VolumesSheet, format: Format, units: Units) -> Result<String, ReportError> {
    check(sheet)?;
    match format {
        Format::Text => Ok(text::render(sheet, units)),
        Format::Json => document(sheet),
        Format::Csv => csv::render(sheet, units),
    }
}

/// JSON schema of the JSON form.
pub fn volumes_schema() -> String {
    schema_of::<Made<VolumesSheet>>()
}

fn check(sheet: &VolumesSheet) -> Result<(), ReportError> {
    let owner = &sheet.scenario;
    finite(
        owner,
        &[
            ("compression_ratio", sheet.compression_ratio),
            ("swept_m3", sheet.swept_m3),
            ("clearance_m3", sheet.clearance_m3),
            ("ratio_from_inlet_closing", sheet.ratio_from_inlet_closing),
            ("cranking high_pa", sheet.cranking.high_pa),
        ],
    )?;
    for part in sheet.measured.iter().flat_map(|measured| &measured.parts) {
        finite(owner, &[("ratio_half_width", part.ratio_half_width), ("share", part.share)])?;
    }
    for cylinder in &sheet.by_cylinder {
        let whose = format!("{owner}, cylinder {}", cylinder.cylinder);
        let numbers = [
            ("compression_ratio", cylinder.compression_ratio),
            ("cranking high_pa", cylinder.cranking.high_pa),
        ];
        finite(&whose, &numbers)?;
    }
    for way in sheet.wanted.iter().flat_map(|wanted| &wanted.ways) {
        let numbers =
            [("volume_m3", way.volume_m3.unwrap_or(0.0)), ("length_m", way.length_m.unwrap_or(0.0))];
        finite(owner, &numbers)?;
    }
    Ok(())
}

/// A volume [m3] in cc.
fn cc(volume_m3: f64) -> f64 {
    volume_m3 * 1e6
}
