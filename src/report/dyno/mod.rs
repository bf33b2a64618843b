//! The judgement of a pull as text, JSON, CSV and a plot.

mod csv;
mod fit;
mod knock;
mod plot;
mod text;

use super::document::{Made, checked_document, schema_of};
use super::{ReportError, Shown, Units, check};
use crate::dyno::{Fit, Judgement, KnockPoint, Verdict};
use schemars::JsonSchema;
use serde::Serialize;

/// What became of a fit.
#[derive(Clone, Debug)]
pub enum Fitting<'a> {
    /// None was asked for.
    NotAsked,
    /// It was refused, and why.
    Refused(String),
    /// It was made.
    Done {
        /// The fit.
        fit: &'a Fit,
        /// The new scenario.
        file: String,
    },
}

/// The judgement of a log and what became of a fit.
#[derive(Serialize, JsonSchema)]
struct Document<'a> {
    /// The judgement.
    #[serde(flatten)]
    judgement: &'a Judgement,
    /// The fit; null when none was made.
    fit: Option<&'a Fit>,
    /// File of the fitted scenario; null when none was made.
    fitted_scenario: Option<&'a str>,
    /// Why a fit that was asked for was not made; null otherwise.
    not_fitted: Option<&'a str>,
    /// Timings known from the log to knock or not, by rising speed; empty without a column of timing and one of knock.
    knock_points: &'a [KnockPoint],
}

impl<'a> Document<'a> {
    fn new(judgement: &'a Judgement, fitting: &'a Fitting<'a>) -> Self {
        let (fit, fitted_scenario, not_fitted) = match fitting {
            Fitting::NotAsked => (None, None, None),
            Fitting::Refused(why) => (None, None, Some(why.as_str())),
            Fitting::Done { fit, file } => (Some(*fit), Some(file.as_str()), None),
        };
        let knock_points = judgement.knock.as_ref().map_or(&[][..], |knock| &knock.points);
        Self { judgement, fit, fitted_scenario, not_fitted, knock_points }
    }
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
    fn text(&self, units: Units) -> String {
        text::render(self.judgement, &self.fitting, units)
    }

    fn json(&self) -> Result<String, ReportError> {
        check::filled(&self.judgement.log, "compared speed", self.judgement.curve.len())?;
        checked_document(&Document::new(self.judgement, &self.fitting))
    }

    fn csv(&self, units: Units) -> Result<String, ReportError> {
        csv::render(self.judgement, units)
    }

    /// Measured torque and power over the 10-90 band of the estimate.
    fn plots(&self, units: Units) -> Result<Vec<(String, String)>, ReportError> {
        let figure = plot::figure(self.judgement, units);
        Ok(vec![("pull.svg".to_owned(), super::plot::draw::svg(&figure)?)])
    }

    fn schema() -> String {
        schema_of::<Made<Document<'_>>>()
    }

    fn limit_missed(&self) -> bool {
        self.judgement.verdict == Verdict::NotCredible
    }
}
