//! What a person or another program reads of an estimate: text, JSON, CSV and plots.
//!
//! Nothing here computes physics and nothing here prints: each function returns a string,
//! and [`mod@write`] puts bytes into files whole or not at all.

mod check;
pub mod choose;
mod corrected;
mod csv;
mod document;
mod dyno;
pub mod fuel;
pub mod fueling;
pub mod goal;
pub mod json;
pub mod page;
mod plot;
mod quantity;
pub mod spark_map;
mod table;
mod text;
mod volumes;
mod words;
pub mod write;

#[cfg(test)]
mod fixture;
#[cfg(test)]
mod tests;

use crate::estimate::Estimate;
use crate::printable::printable_path;
pub use check::all_finite;
pub use choose::{choice_plots, choice_schema, render_choice};
pub use document::file_schema;
pub use dyno::{Fitting, judgement_plots, judgement_schema, render_judgement};
pub use fuel::{FuelReport, fuel_list, fuel_plots, fuel_schema, render_fuels};
pub use fueling::{fueling_schema, render_fueling};
pub use goal::{goal_schema, render_goal};
pub use json::estimate_schema;
pub use page::{Report, render_page};
pub use plot::{plots, png::plot_files};
pub use spark_map::{render_spark_maps, spark_map_plots, spark_map_schema};
pub use volumes::{render_volumes, volumes_schema};
pub use write::{write_all, write_new, write_whole};

/// Units of the text, the CSV and the plots. JSON is always in the units its keys name.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Units {
    /// kW, N m, bar, C, g/kWh.
    #[default]
    Metric,
    /// hp, lbf ft, psi, F, lb/(hp h).
    Us,
}

/// Form in which an estimate is rendered.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Format {
    /// Aligned text for a person, at most 100 columns wide.
    #[default]
    Text,
    /// JSON with stable keys; [`estimate_schema`] and [`fuel_schema`] give its schema.
    Json,
    /// One row per fuel and speed, or per fuel and ethanol content; units in the header.
    Csv,
}

/// Why an estimate could not be rendered or a file not written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ReportError {
    /// A number of the estimate is infinite or not a number.
    #[error("{key} = {value} of {owner} is not a finite number, so it cannot be reported")]
    NotFinite {
        /// Whose number: the scenario, or fuel and speed.
        owner: String,
        /// Name of the number.
        key: &'static str,
        /// The value found.
        value: f64,
    },
    /// Something that must hold at least one entry holds none.
    #[error("{owner} has no {what}, so there is nothing to report")]
    Empty {
        /// Whose list it is.
        owner: String,
        /// What the list should hold.
        what: &'static str,
    },
    /// The index of the tightest point lies outside the curve.
    #[error("fuel {fuel}: tightest point {index} is outside its curve of {len} speeds")]
    TightestIndex {
        /// Name of the fuel.
        fuel: String,
        /// The index given.
        index: usize,
        /// Number of speeds in the curve.
        len: usize,
    },
    /// A form that a result does not have.
    #[error("{what} has no {form} form")]
    NoSuchForm {
        /// The result.
        what: &'static str,
        /// The form.
        form: &'static str,
    },
    /// JSON could not be made.
    #[error("the estimate could not be written as JSON")]
    Json(#[from] serde_json::Error),
    /// The numbers of a result could not be gone through.
    #[error("the numbers of a result could not be checked: {0}")]
    Numbers(#[from] ciborium::value::Error),
    /// CSV could not be made.
    #[error("the estimate could not be written as CSV")]
    Csv(#[from] ::csv::Error),
    /// A plot could not be drawn.
    #[error("a plot could not be drawn")]
    Plot(#[from] plotters::drawing::DrawingAreaErrorKind<std::io::Error>),
    /// A plot could not be drawn as PNG.
    #[error("plot {name} could not be drawn as PNG: {reason}")]
    Raster {
        /// File name of its SVG.
        name: String,
        /// What is wrong with it.
        reason: String,
    },
    /// Lines of equal value could not be found.
    #[error("lines of equal value could not be found: {0}")]
    Contour(String),
    /// A file or folder could not be written.
    #[error("cannot {action} {}: {source}", printable_path(path))]
    Write {
        /// What was tried: "create", "write" or "replace".
        action: &'static str,
        /// The file or folder.
        path: std::path::PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The target exists and is not a regular file, or the name is not a plain file name.
    #[error("cannot write {}: {reason}", printable_path(path))]
    BadTarget {
        /// The target.
        path: std::path::PathBuf,
        /// What is wrong with it.
        reason: &'static str,
    },
}

/// Renders an estimate in one of the formats.
///
/// # Arguments
/// - `estimate`: what to show; every number must be finite and every fuel must have a curve
/// - `format`: text, JSON or CSV
/// - `units`: for text and CSV; JSON keeps the units its keys name
///
/// # Returns
/// The whole document, ending in a line feed.
///
/// # Errors
/// [`ReportError::NotFinite`], [`ReportError::Empty`] or [`ReportError::TightestIndex`] when the
/// estimate is not fit to be shown; [`ReportError::Json`] or [`ReportError::Csv`] when the writer fails.
pub fn render(estimate: &Estimate, format: Format, units: Units) -> Result<String, ReportError> {
    check::check(estimate)?;
    match format {
        Format::Text => Ok(text::render(estimate, units)),
        Format::Json => json::render(estimate),
        Format::Csv => csv::render(estimate, units),
    }
}
