//! The judgement of a pull as text, JSON, CSV and a plot.

mod curve;
mod document;
mod fit;
mod knock;
mod plot;
mod text;
mod words;

pub use words::check_title;

use super::document::{Made, checked_document, schema_of};
use super::plot::figure::Figure;
use super::{Part, ReportError, Shown, Text, Units, check};
use crate::dyno::{Fit, Judgement, Verdict};
use document::PullDocument;

/// What became of a fit.
#[derive(Clone, Debug)]
pub enum Fitting<'a> {
    /// None was asked for.
    NotAsked,
    /// It was refused: the pull is not credible, or its scale is doubtful.
    Refused,
    /// It was made.
    Done {
        /// The fit.
        fit: &'a Fit,
        /// The new scenario.
        file: String,
        /// Knock points of the log that were written with it.
        knock_points: usize,
    },
}

/// A judged pull and what became of its fit; CSV has one row per speed and holds no checks and no fit.
#[derive(Clone, Debug)]
pub struct JudgedPull<'a> {
    /// The judgement.
    pub judgement: &'a Judgement,
    /// What became of a fit.
    pub fitting: Fitting<'a>,
}

impl Shown for JudgedPull<'_> {
    const PARTS: &'static [Part] = text::PARTS;

    fn text(&self, units: Units) -> Text {
        text::render(self.judgement, &self.fitting, units)
    }

    fn json(&self) -> Result<String, ReportError> {
        check::filled(&self.judgement.log, "compared speed", self.judgement.curve.len())?;
        checked_document(&PullDocument::new(self.judgement, &self.fitting))
    }

    fn csv(&self, units: Units) -> Result<String, ReportError> {
        curve::columns(self.judgement, units).csv(&self.judgement.curve)
    }

    /// Measured torque and power over the 10-90 band of the estimate.
    fn figures(&self, units: Units) -> Result<Vec<(String, Figure)>, ReportError> {
        Ok(vec![("pull.svg".to_owned(), plot::figure(self.judgement, units))])
    }

    fn schema() -> String {
        schema_of::<Made<PullDocument<'_>>>()
    }

    fn limit_missed(&self) -> bool {
        self.judgement.verdict == Verdict::NotCredible || matches!(self.fitting, Fitting::Refused)
    }
}
