//! Builds side by side as a person or another program reads them.

mod plot;
mod tables;
mod text;
mod words;

use super::document::{Cautioned, Made, checked_document, schema_of};
use super::plot::figure::Figure;
use super::words::cautions;
use super::{Part, ReportError, Shown, Text, Units};
use crate::estimate::Comparison;

impl Shown for Comparison {
    const PARTS: &'static [Part] = text::PARTS;

    fn text(&self, units: Units) -> Text {
        text::render(self, units)
    }

    fn json(&self) -> Result<String, ReportError> {
        checked_document(&Cautioned { result: self, cautions: cautions::ESTIMATE })
    }

    fn csv(&self, units: Units) -> Result<String, ReportError> {
        tables::curve(units).csv(tables::points(self))
    }

    fn figures(&self, units: Units) -> Result<Vec<(String, Figure)>, ReportError> {
        let figures = self.fuels.iter().enumerate();
        Ok(figures.map(|(i, fuel)| (plot::file_name(i, &fuel.name), plot::figure(fuel, units))).collect())
    }

    fn schema() -> String {
        schema_of::<Made<Cautioned<Self>>>()
    }

    fn limit_missed(&self) -> bool {
        self.limit_missed
    }
}
