//! What a person or another program reads of an estimate: text, JSON, CSV and plots.
//!
//! Nothing here computes physics and nothing here prints: each function returns a string,
//! and [`mod@write`] puts bytes into files whole or not at all.

mod breathing;
mod check;
pub mod choose;
mod columns;
mod compare;
mod document;
mod dyno;
mod estimate;
pub mod fuel;
mod fueling;
mod goal;
pub mod page;
mod piece;
mod plot;
mod quantity;
mod screen;
mod spark_map;
mod table;
mod volumes;
mod words;
pub mod write;

#[cfg(test)]
mod fixture;
#[cfg(test)]
mod tests;

use crate::printable::printable_path;
pub use breathing::{TAKEN_AWAY, WORTHS};
pub use check::all_finite;
pub use document::file_schema;
pub use dyno::{Fitting, JudgedPull, check_title};
pub use fuel::{FuelReport, fuel_list};
pub use page::{Report, render_page};
pub use piece::page_piece;
pub(crate) use piece::{CurveLook, RpmCurve, over_rpm, power_over_ratio};
pub use plot::figure::Figure;
pub use plot::png::plot_files;
pub(crate) use quantity::{Dimension, fixed, signed};
pub use screen::{ALL, NARROWEST, Part, ShownFuels, Text, View, WIDEST, render_styled, without_styles};
pub use spark_map::SparkMaps;
pub use words::Say;
pub use write::{not_replaced, write_all, write_new, write_whole};

/// Units of the text, the CSV and the plots. JSON is always in the units its keys name.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Units {
    /// kW, N m, bar, C, g/kWh.
    #[default]
    Metric,
    /// hp, lb-ft, psi, F, lb/(hp h).
    Us,
}

/// Form in which an estimate is rendered.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Format {
    /// Aligned text for a person, at most 100 columns wide.
    #[default]
    Text,
    /// JSON with stable keys; [`Shown::schema`] gives its schema.
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
    /// The index of the worst point lies outside the curve.
    #[error("fuel {fuel}: tightest point {index} is outside its curve of {len} speeds")]
    TightestIndex {
        /// Name of the fuel.
        fuel: String,
        /// The index given.
        index: usize,
        /// Number of speeds in the curve.
        len: usize,
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

/// A result that a person and another program can read.
pub trait Shown {
    /// The parts of the text that are shown when asked for, in their order.
    const PARTS: &'static [Part] = &[];

    /// Aligned text in its sections, the answer first; the result has passed [`Self::json`].
    fn text(&self, units: Units) -> Text;

    /// JSON with stable keys, in the units its keys name.
    ///
    /// # Errors
    /// [`ReportError`] when a number is not finite, something that must hold an entry is empty, or the writer fails.
    fn json(&self) -> Result<String, ReportError>;

    /// Rows of numbers, units in the header; the result has passed [`Self::json`].
    ///
    /// # Errors
    /// [`ReportError::Csv`] when the writer fails.
    fn csv(&self, units: Units) -> Result<String, ReportError>;

    /// The plots, each with the name of its file; the result has passed [`Self::json`].
    ///
    /// # Errors
    /// [`ReportError`] when there is nothing to draw.
    fn figures(&self, _units: Units) -> Result<Vec<(String, Figure)>, ReportError> {
        Ok(Vec::new())
    }

    /// JSON Schema (2020-12) of the JSON form, indented, ending in a line feed.
    fn schema() -> String;

    /// Whether a limit that was stated is not met, or what was asked is not reached.
    fn limit_missed(&self) -> bool {
        false
    }
}

/// Renders a result in one of the formats; the text whole and without styles, see [`render_styled`] for another view.
///
/// # Arguments
/// - `result`: what to show; every number must be finite and every list that is shown must hold something
/// - `format`: text, JSON or CSV
/// - `units`: for text and CSV; JSON keeps the units its keys name
///
/// # Returns
/// The whole document, ending in a line feed.
///
/// # Errors
/// [`ReportError`] when the result is not fit to be shown, or the writer fails.
///
/// # Example
/// ```
/// use endgas::report::{Format, Units, render};
/// use endgas::{estimate::estimate, fuel::FuelLibrary, scenario};
/// let mut job = scenario::read("demo", scenario::DEMO)?.job(&FuelLibrary::shipped()?, 20, 1)?;
/// job.speeds_rpm = vec![5000.0, 7000.0];
/// let text = render(&estimate(&job)?, Format::Text, Units::Us)?;
/// assert!(text.contains("peak wheel power") && text.contains("hp"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn render(result: &impl Shown, format: Format, units: Units) -> Result<String, ReportError> {
    match format {
        Format::Text => Ok(without_styles(&render_styled(result, units, &View::whole())?)),
        Format::Json => result.json(),
        // Whatever the form, what is shown has passed the check of its numbers.
        Format::Csv => result.json().and_then(|_| result.csv(units)),
    }
}

/// Draws the plots of a result: file name and SVG text of each.
///
/// # Errors
/// As [`render`]; [`ReportError::Plot`] when drawing fails.
pub fn plots(result: &impl Shown, units: Units) -> Result<Vec<(String, String)>, ReportError> {
    result.json()?;
    let drawn = |(name, figure)| Ok((name, plot::draw::svg(&figure)?));
    result.figures(units)?.into_iter().map(drawn).collect()
}
