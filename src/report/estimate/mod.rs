//! An estimate as a person or another program reads it.

pub(super) mod curve;
mod json;
pub(super) mod peaks;
mod text;

use super::document::schema_of;
use super::plot::figure::Figure;
use super::{Part, ReportError, Shown, Text, Units, check, plot};
use crate::estimate::Estimate;

/// Most characters of a fuel name in a table.
const NAME_LIMIT: usize = 22;

impl Shown for Estimate {
    const PARTS: &'static [Part] = text::PARTS;

    fn text(&self, units: Units) -> Text {
        text::render(self, units)
    }

    fn json(&self) -> Result<String, ReportError> {
        check::check(self)?;
        json::render(self)
    }

    fn csv(&self, units: Units) -> Result<String, ReportError> {
        curve::columns(units, &[]).csv(curve::rows(self))
    }

    fn figures(&self, units: Units) -> Result<Vec<(String, Figure)>, ReportError> {
        plot::figures(self, units)
    }

    fn schema() -> String {
        schema_of::<json::EstimateDocument>()
    }

    fn limit_missed(&self) -> bool {
        self.limit_missed
    }
}
