//! The judgement of a pull as text, JSON, CSV and a plot.

mod csv;
mod plot;
mod text;

use super::document::{Made, document, schema_of};
use super::{Format, ReportError, Units, check};
use crate::dyno::Judgement;

/// Renders a judgement in one of the formats; CSV has one row per speed and holds no checks.
///
/// # Errors
/// [`ReportError`] when a number is not finite, no speed is compared, or the writer fails.
pub fn render_judgement(judgement: &Judgement, format: Format, units: Units) -> Result<String, ReportError> {
    fit(judgement)?;
    match format {
        Format::Text => Ok(text::render(judgement, units)),
        Format::Json => document(judgement),
        Format::Csv => csv::render(judgement, units),
    }
}

/// JSON schema of the JSON form.
pub fn judgement_schema() -> String {
    schema_of::<Made<Judgement>>()
}

/// Draws the plot of a judgement: measured torque and power over the 10-90 band of the estimate.
///
/// # Returns
/// File name and SVG text.
///
/// # Errors
/// As [`render_judgement`]; [`ReportError::Plot`] when drawing fails.
pub fn judgement_plots(judgement: &Judgement, units: Units) -> Result<Vec<(String, String)>, ReportError> {
    fit(judgement)?;
    Ok(vec![("pull.svg".to_owned(), super::plot::draw::svg(&plot::figure(judgement, units))?)])
}

/// Refuses a judgement with a number that is not finite.
fn fit(judgement: &Judgement) -> Result<(), ReportError> {
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
