//! A goal as a person or another program reads it.

pub(super) mod text;
pub(super) mod words;

use super::document::{Cautioned, Made, checked_document, schema_of};
use super::words::cautions;
use super::{ReportError, Shown, Units};
use crate::goal::Goal;

impl Shown for Goal {
    fn text(&self, units: Units) -> String {
        text::render(self, units)
    }

    fn json(&self) -> Result<String, ReportError> {
        checked_document(&Cautioned { result: self, cautions: cautions::GOAL })
    }

    fn csv(&self, _units: Units) -> Result<String, ReportError> {
        Err(ReportError::NoSuchForm { what: "a goal", form: "CSV" })
    }

    fn schema() -> String {
        schema_of::<Made<Cautioned<Self>>>()
    }

    fn limit_missed(&self) -> bool {
        !self.reached_in_likely_case
    }
}
