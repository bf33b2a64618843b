//! A goal as a person or another program reads it.

pub(super) mod text;
pub(super) mod words;

use super::document::{Cautioned, Made, checked_document, schema_of};
use super::words::cautions;
use super::{Part, ReportError, Shown, Text, Units};
use crate::goal::Goal;

impl Shown for Goal {
    const PARTS: &'static [Part] = text::PARTS;

    fn text(&self, units: Units) -> Text {
        text::render(self, units)
    }

    fn json(&self) -> Result<String, ReportError> {
        checked_document(&Cautioned { result: self, cautions: cautions::GOAL })
    }

    /// One row per rpm: what the goal asks there.
    fn csv(&self, units: Units) -> Result<String, ReportError> {
        text::demand_columns(self, units).csv(&self.demand)
    }

    fn schema() -> String {
        schema_of::<Made<Cautioned<Self>>>()
    }

    fn limit_missed(&self) -> bool {
        !self.reached_in_likely_case
    }
}
