//! Compression of an engine from measured volumes, as text, JSON and CSV.

mod cam;
mod combinations;
mod cylinders;
mod text;
mod wanted;

use super::document::{Made, checked_document, schema_of};
use super::{ReportError, Shown, Text, Units};
use crate::engine::volumes::VolumesSheet;

/// CSV has one row for the mean cylinder and one per cylinder measured by itself, and leaves out combinations of parts;
/// JSON is in SI units.
impl Shown for VolumesSheet {
    fn text(&self, units: Units) -> Text {
        text::render(self, units).into()
    }

    fn json(&self) -> Result<String, ReportError> {
        checked_document(self)
    }

    fn csv(&self, units: Units) -> Result<String, ReportError> {
        cylinders::csv(self, units)
    }

    fn schema() -> String {
        schema_of::<Made<Self>>()
    }
}

/// A volume [m3] in cc.
fn cc(volume_m3: f64) -> f64 {
    volume_m3 * 1e6
}
