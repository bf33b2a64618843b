//! Fuel supply and mechanical limits as a person or another program reads them.

mod text;
mod words;

use super::document::{Made, checked_document, schema_of};
use super::{ReportError, Shown, Units};
use crate::fueling::Fueling;

impl Shown for Fueling {
    fn text(&self, units: Units) -> String {
        text::render(self, units)
    }

    fn json(&self) -> Result<String, ReportError> {
        checked_document(self)
    }

    fn csv(&self, units: Units) -> Result<String, ReportError> {
        let rows = self.needs.iter().flat_map(|need| need.curve.iter().map(move |point| (need, point)));
        text::curve(self, units).csv(rows)
    }

    fn schema() -> String {
        schema_of::<Made<Self>>()
    }

    fn limit_missed(&self) -> bool {
        self.limit_missed
    }
}
