//! Plots of an estimate as SVG: what a builder looks at before believing a table.
//!
//! A chart is described as a [`figure::Figure`] (panels, series, legend) and drawn in one place.
//! Each fuel keeps its colour and its marker in every chart, so that a print without
//! colour still tells fuels apart.

pub(super) mod axis;
pub(super) mod draw;
pub(super) mod figure;
mod knock_margin;
pub(super) mod png;
mod pressure;
mod spark;
pub(super) mod style;
mod torque_power;

use super::{ReportError, Units, check};
use crate::estimate::Estimate;
use figure::Figure;

/// The plots of an estimate.
///
/// - `torque-power.svg`: crank torque and wheel power against speed at the timing to start from, with the 10-90 band,
///   and at the likely limit
/// - `spark.svg`: the timing to start from, the likely limit and MBT timing against speed
/// - `knock-margin.svg`: knock margin in octane numbers against speed at those timings, with its limit and the safety margin
/// - `cylinder-pressure.svg`: pressure against crank angle at the likely limit, with the timing
///
/// # Errors
/// [`ReportError::Empty`] when a fuel has no pressure trace.
pub(super) fn figures(estimate: &Estimate, units: Units) -> Result<Vec<(String, Figure)>, ReportError> {
    for fuel in &estimate.fuels {
        check::filled(&format!("fuel {}", fuel.name), "pressure trace", fuel.trace.len())?;
    }
    let figures = [
        ("torque-power.svg", torque_power::figure(estimate, units)),
        ("spark.svg", spark::figure(estimate)),
        ("knock-margin.svg", knock_margin::figure(estimate)),
        ("cylinder-pressure.svg", pressure::figure(estimate, units)),
    ];
    Ok(figures.into_iter().map(|(name, figure)| (name.to_owned(), figure)).collect())
}

#[cfg(test)]
mod tests;
