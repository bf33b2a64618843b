//! The judgement of a pull as text, JSON, CSV and a plot.

mod csv;
mod fit;
mod plot;
mod text;

use super::document::{Made, document, schema_of};
use super::{Format, ReportError, Units, check};
use crate::dyno::{Fit, Judgement};
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
}

impl<'a> Document<'a> {
    fn new(judgement: &'a Judgement, fitting: &'a Fitting<'a>) -> Self {
        let (fit, fitted_scenario, not_fitted) = match fitting {
            Fitting::NotAsked => (None, None, None),
            Fitting::Refused(why) => (None, None, Some(why.as_str())),
            Fitting::Done { fit, file } => (Some(*fit), Some(file.as_str()), None),
        };
        Self { judgement, fit, fitted_scenario, not_fitted }
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
    sound(judgement)?;
    if let Fitting::Done { fit, .. } = fitting {
        sound_fit(fit)?;
    }
    match format {
        Format::Text => Ok(text::render(judgement, fitting, units)),
        Format::Json => document(&Document::new(judgement, fitting)),
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
    sound(judgement)?;
    Ok(vec![("pull.svg".to_owned(), super::plot::draw::svg(&plot::figure(judgement, units))?)])
}

/// Refuses a judgement with a number that is not finite.
fn sound(judgement: &Judgement) -> Result<(), ReportError> {
    check::filled(&judgement.log, "compared speed", judgement.curve.len())?;
    for p in &judgement.curve {
        let numbers = [
            ("torque_nm", p.torque_nm),
            ("power_kw", p.power_kw),
            ("corrected_power_kw", p.corrected_power_kw),
            ("pull_spread_frac", p.pull_spread_frac),
            ("estimate_low_torque_nm", p.estimate_low_torque_nm),
            ("estimate_likely_torque_nm", p.estimate_likely_torque_nm),
            ("estimate_high_torque_nm", p.estimate_high_torque_nm),
            ("deviation_frac", p.deviation_frac),
            ("implied_crank_torque_nm", p.implied_crank_torque_nm),
            ("implied_bmep_bar", p.implied_bmep_bar),
            ("implied_volumetric_efficiency", p.implied_volumetric_efficiency.unwrap_or_default()),
            ("lambda", p.lambda.unwrap_or_default()),
            ("bsfc_g_per_kwh", p.bsfc_g_per_kwh.unwrap_or_default()),
        ];
        check::finite(&format!("{} at {} rpm", judgement.log, p.speed_rpm), &numbers)?;
    }
    for found in &judgement.checks {
        check::finite(found.name.title(), &[("value", found.measure.value)])?;
    }
    Ok(())
}

/// Refuses a fit with a number that is not finite.
fn sound_fit(fit: &Fit) -> Result<(), ReportError> {
    for p in &fit.parameters {
        let (before, after) = (p.before, p.after);
        let numbers = [
            ("before.low", before.low),
            ("before.likely", before.likely),
            ("before.high", before.high),
            ("after.low", after.low),
            ("after.likely", after.likely),
            ("after.high", after.high),
            ("width_ratio", p.width_ratio),
        ];
        check::finite(&p.name, &numbers)?;
    }
    for p in &fit.curve {
        let numbers = [
            ("before_torque_nm", p.before_torque_nm),
            ("after_torque_nm", p.after_torque_nm),
            ("written_volumetric_efficiency", p.written_volumetric_efficiency),
        ];
        check::finite(&format!("the fit at {} rpm", p.speed_rpm), &numbers)?;
    }
    for f in &fit.fuels {
        let numbers = [
            ("after_wheel_power_kw.low", f.after_wheel_power_kw.low),
            ("after_wheel_power_kw.likely", f.after_wheel_power_kw.likely),
            ("after_wheel_power_kw.high", f.after_wheel_power_kw.high),
            ("after_octane_margin", f.after_octane_margin),
        ];
        check::finite(&f.fuel, &numbers)?;
    }
    Ok(())
}
