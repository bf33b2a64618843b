//! The report page: one HTML file for the person who pays for the engine and the one who builds it.
//!
//! Nothing is fetched and no script runs. Colours are CSS variables, which the drawings use too, so
//! that both follow the reader's light or dark setting and print black on white. Every drawing has a
//! title, a sentence that says what it shows, and a table of its numbers.

mod answer;
pub(super) mod chart;
mod compression;
mod fuel_charts;
mod goal;
mod notes;
pub(super) mod parts;
mod power;
mod ranges;
mod sheet;
mod sources;
mod spark;
mod spread;
mod timing;

use super::table::shorten;
use super::words::build_words;
use super::{ReportError, Shown, Units};
use crate::choose::Choice;
use crate::engine::Build;
use crate::estimate::Estimate;
use crate::goal::Goal;
use crate::report::quantity::Dimension::{AirPressure, Temperature};
use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: &str = include_str!("style.css");
/// What the page may load: nothing.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'";
/// Most characters of a fuel name where it stands in a heading or a table.
const NAME_LIMIT: usize = 60;
/// The same on the first sheet, which has one side of paper.
const SHORT_NAME: usize = 26;
/// Most characters of the name and of the note of a scenario.
const TITLE_LIMIT: usize = 60;
const NOTE_LIMIT: usize = 120;

/// What a report page shows.
#[derive(Clone, Copy, Debug)]
pub struct Report<'a> {
    /// The engine as stated.
    pub build: &'a Build,
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
    let mut sections = vec![
        ("answer", "Answer", sheet::section(report)?),
        ("power", "Torque and power", power::section(report)?),
        ("compression", "Compression ratio", compression::section(report)?),
        ("spark", "Timing and knock", spark::section(report)?),
        ("spread", "What the range comes from", spread::section(report)),
        ("notes", "Notes on this build", notes::section(report)),
        ("sources", "Assumptions and sources", sources::section(report)),
    ];
    if let Some(body) = goal::section(report) {
        sections.insert(1, ("goal", "The target, and what it takes", body));
    }
    let name = shorten(&report.estimate.scenario, TITLE_LIMIT);
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

/// What was built and on which day it is judged.
fn header(report: &Report<'_>, name: &str) -> Markup {
    let (e, units) = (report.estimate, report.units);
    let note = shorten(&e.note, NOTE_LIMIT);
    html! {
        header {
            h1 { (name) }
            @if !note.is_empty() { p .quiet { (note) } }
            p {
                (build_words(report.build, units)) ". Weather: "
                (units.words(Temperature, e.air_temperature_k)) ", "
                (units.words(AirPressure, e.air_pressure_pa)) ", "
                (super::quantity::percent(e.relative_humidity, 0)) " % humidity."
            }
        }
    }
}

/// A fuel's name as the page shows it.
fn name_of(fuel: &str) -> String {
    shorten(fuel, NAME_LIMIT)
}

/// A fuel's name on the first sheet.
fn short_name(fuel: &str) -> String {
    shorten(fuel, SHORT_NAME)
}
