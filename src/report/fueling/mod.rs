//! Fuel supply and mechanical limits as a person or another program reads them.

mod plot;
mod text;
mod words;

use super::document::{Cautioned, Made, checked_document, schema_of};
use super::plot::figure::Figure;
use super::words::cautions;
use super::{ReportError, Shown, Text, Units};
use crate::fueling::Fueling;

impl Shown for Fueling {
    fn text(&self, units: Units) -> Text {
        text::render(self, units).into()
    }

    fn json(&self) -> Result<String, ReportError> {
        checked_document(&Cautioned { result: self, cautions: cautions::FUELING })
    }

    fn csv(&self, units: Units) -> Result<String, ReportError> {
        let rows = self.needs.iter().flat_map(|need| need.curve.iter().map(move |point| (need, point)));
        text::curve(self, units).csv(rows)
    }

    fn figures(&self, units: Units) -> Result<Vec<(String, Figure)>, ReportError> {
        Ok(vec![("fuel-flow.svg".to_owned(), plot::figure(self, units))])
    }

    fn schema() -> String {
        schema_of::<Made<Cautioned<Self>>>()
    }

    fn limit_missed(&self) -> bool {
        self.limit_missed
    }
}
