//! What cam, ports and pipes make of the filling, as a person or another program reads it.

mod plot;
mod tables;
mod text;
mod words;

use super::document::{Cautioned, Made, checked_document, schema_of};
use super::plot::figure::Figure;
use super::words::cautions;
use super::{Part, ReportError, Shown, Text, Units};
use crate::estimate::PipedBreathing;

/// Name of the part with the changes and what each is worth.
pub const WORTHS: &str = "worth";
/// Name of the part with pipes taken away.
pub const TAKEN_AWAY: &str = "parts";

impl Shown for PipedBreathing {
    const PARTS: &'static [Part] = &[
        Part { name: WORTHS, shows: "what a change of cam, valve, runner or primary is worth" },
        Part { name: TAKEN_AWAY, shows: "VE with the runner, the primary or both taken away" },
    ];

    fn text(&self, units: Units) -> Text {
        text::render(self, units)
    }

    fn json(&self) -> Result<String, ReportError> {
        checked_document(&Cautioned { result: self, cautions: cautions::BREATHING })
    }

    fn csv(&self, units: Units) -> Result<String, ReportError> {
        tables::curve(units).csv(&self.curve)
    }

    fn figures(&self, units: Units) -> Result<Vec<(String, Figure)>, ReportError> {
        Ok(plot::figures(self, units))
    }

    fn schema() -> String {
        schema_of::<Made<Cautioned<Self>>>()
    }
}
