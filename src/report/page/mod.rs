//! The report page: one HTML file for the person who pays for the engine and the one who builds it.
//!
//! Nothing is fetched and no script runs. Colours are CSS variables, which the drawings use too, so
//! that both follow the reader's light or dark setting and print black on white. Every drawing has a
//! title, a sentence that says what it shows, and a table of its numbers.

mod answer;
mod chart;
mod compression;
mod fuel_charts;
mod goal;
mod notes;
pub(super) mod parts;
mod power;
mod sources;
mod spark;
mod spread;

use super::quantity::fixed;
use super::table::{plain, shorten};
use super::{ReportError, Shown, Units};
use crate::choose::Choice;
use crate::estimate::Estimate;
use crate::goal::Goal;
use crate::report::quantity::Dimension::{AirPressure, Temperature};
use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: &str = include_str!("style.css");
/// What the page may load: nothing.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'";
/// Most characters of a fuel name where it stands in a heading or a table.
const NAME_LIMIT: usize = 60;

/// What a report page shows.
#[derive(Clone, Copy, Debug)]
pub struct Report<'a> {
    /// Power, timing and margin of the build as stated.
    pub estimate: &'a Estimate,
    /// The choice of compression for the same build and fuels.
    pub choice: &'a Choice,
    /// A wanted wheel power, judged; none when none was asked for.
    pub goal: Option<&'a Goal>,
    /// Units of the page.
    pub units: Units,
}

/// Makes the page.
///
/// # Returns
/// A whole HTML document in UTF-8, ending in a line feed; it depends on nothing but its arguments.
///
/// # Errors
/// [`ReportError`] when a number is not finite, a fuel has no curve, or drawing fails.
pub fn render_page(report: &Report<'_>) -> Result<String, ReportError> {
    report.estimate.json()?;
    report.choice.json()?;
    report.goal.map(Shown::json).transpose()?;
    let question = goal::title(report);
    let mut sections = vec![
        ("answer", "Answer", answer::section(report)),
        ("power", "Torque and power", power::section(report)?),
        ("compression", "Compression ratio", compression::section(report)?),
        ("spark", "Timing and knock", spark::section(report)?),
        ("spread", "What the range comes from", spread::section(report)),
        ("notes", "Notices and cautions", notes::section(report)),
        ("sources", "Assumptions and sources", sources::section(report)),
    ];
    if let Some(body) = goal::section(report) {
        sections.insert(0, ("goal", question.as_str(), body));
    }
    let name = plain(&report.estimate.scenario);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                title { (name) ": power and knock estimate" }
                style { (PreEscaped(STYLE)) }
            }
            body {
                (header(report, &name))
                nav aria-label="Sections" {
                    @for (id, title, _) in &sections { a href={ "#" (id) } { (title) } }
                }
                main {
                    @for (id, title, body) in &sections {
                        section id=(id) aria-labelledby={ (id) "-title" } {
                            h2 id={ (id) "-title" } { (title) }
                            (body)
                        }
                    }
                }
                footer { p { "Made by endgas " (env!("CARGO_PKG_VERSION")) ". An estimate, not a measurement." } }
            }
        }
    };
    Ok(page.into_string() + "\n")
}

fn header(report: &Report<'_>, name: &str) -> Markup {
    let (e, units) = (report.estimate, report.units);
    html! {
        header {
            h1 { (name) }
            @let note = plain(&e.note);
            @if !note.is_empty() { p .quiet { (note) } }
            p {
                (units.displacement_words(e.displacement_m3)) ", compression ratio "
                (fixed(e.compression_ratio, 1)) ":1; "
                (units.words(Temperature, e.air_temperature_k)) ", "
                (units.words(AirPressure, e.air_pressure_pa)) ", "
                (super::quantity::percent(e.relative_humidity, 0)) " % humidity"
            }
        }
    }
}

/// A fuel's name as the page shows it.
fn name_of(fuel: &str) -> String {
    shorten(fuel, NAME_LIMIT)
}
