//! A choice of compression as a person or another program reads it.

pub(super) mod answer;
pub(super) mod plot;
pub(super) mod tables;
mod text;
pub(super) mod words;

use super::check::filled;
use super::document::{Cautioned, Made, checked_document, schema_of};
use super::plot::figure::Figure;
use super::words::cautions;
use super::{Part, ReportError, Shown, Text, Units};
use crate::choose::Choice;

/// Most characters of a fuel name at the head of a column and in a row.
const HEAD_LIMIT: usize = 12;
const NAME_LIMIT: usize = 24;

/// Plots are `power-over-ratio.svg` and `margin-map.svg`.
impl Shown for Choice {
    const PARTS: &'static [Part] = text::PARTS;

    fn text(&self, units: Units) -> Text {
        text::render(self, units)
    }

    fn json(&self) -> Result<String, ReportError> {
        filled("the choice", "ratio", self.curve.len())?;
        checked_document(&Cautioned { result: self, cautions: cautions::ESTIMATE })
    }

    fn csv(&self, units: Units) -> Result<String, ReportError> {
        tables::csv(self, units)
    }

    fn figures(&self, units: Units) -> Result<Vec<(String, Figure)>, ReportError> {
        plot::figures(self, units)
    }

    fn schema() -> String {
        schema_of::<Made<Cautioned<Self>>>()
    }

    /// No ratio is within the limits, or pistons were named and none of them is.
    fn limit_missed(&self) -> bool {
        let pistons_are_over = self.pistons.iter().all(|piston| !piston.row.within_limits);
        self.order.is_none() || !self.pistons.is_empty() && pistons_are_over
    }
}
