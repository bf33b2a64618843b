//! Fuels as CSV: one row per fuel and ethanol content, units in the header.

use super::FuelReport;
use super::columns::{Figure, content_word, energy, ethanol, octane, running, substance};
use crate::report::document::csv_text;
use crate::report::{ReportError, Units};

/// The whole CSV document.
pub(super) fn render(report: &FuelReport, units: Units) -> Result<String, ReportError> {
    let mut figures: Vec<Figure> = vec![ethanol()];
    figures.extend(octane());
    figures.extend(energy(units));
    figures.extend(running(units));
    figures.extend(substance(units));
    let mut writer = ::csv::Writer::from_writer(Vec::new());
    let heads = ["fuel", "content"].into_iter().chain(figures.iter().map(|f| f.key.as_str()));
    writer.write_record(heads)?;
    for entry in &report.fuels {
        for state in &entry.states {
            writer.write_field(&entry.fuel.name)?;
            writer.write_field(content_word(state.content))?;
            for figure in &figures {
                writer.write_field(figure.fine_cell(state, &report.reference))?;
            }
            writer.write_record(None::<&[u8]>)?;
        }
    }
    csv_text(writer)
}
