//! The judgement of a pull as text, JSON, CSV and a plot.

mod csv;
mod fit;
mod knock;
mod plot;
mod text;

use super::document::{Made, checked_document, schema_of};
use super::{Format, ReportError, Units, check};
use crate::dyno::{Fit, Judgement, KnockPoint};
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

/// Renders a judgement and a fit in one of the formats; CSV has one row per speed and holds no checks and no fit.
///
/// # Errors
/// [`ReportError`] when a number is not finite, no speed is compared, or the writer fails.
pub fn render_judgement(
    judgement: &Judgement,
    fitting: &Fitting<'_>,
    format: Format,
    units: Units,
) -> Result<String, ReportError> {
    let json = checked(&Document::new(judgement, fitting))?;
    match format {
        Format::Text => Ok(text::render(judgement, fitting, units)),
        Format::Json => Ok(json),
        Format::Csv => csv::render(judgement, units),
    }
}

/// JSON schema of the JSON form.
pub fn judgement_schema() -> String {
    schema_of::<Made<Document<'_>>>()
}

/// Draws the plot of a judgement: measured torque and power over the 10-90 band of the estimate.
///
/// # Returns
/// File name and SVG text.
///
/// # Errors
/// As [`render_judgement`]; [`ReportError::Plot`] when drawing fails.
pub fn judgement_plots(judgement: &Judgement, units: Units) -> Result<Vec<(String, String)>, ReportError> {
    checked(&Document::new(judgement, &Fitting::NotAsked))?;
    Ok(vec![("pull.svg".to_owned(), super::plot::draw::svg(&plot::figure(judgement, units))?)])
}

/// The JSON form of a judgement that compares something, every number of it finite.
fn checked(document: &Document<'_>) -> Result<String, ReportError> {
    check::filled(&document.judgement.log, "compared speed", document.judgement.curve.len())?;
    checked_document(document)
}
