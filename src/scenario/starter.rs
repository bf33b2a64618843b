//! The starter scenario: an invented build in which every key is explained, and the words that explain it.
//!
//! `starter/starter.toml` holds the words and the values. Ranges and what goes with what are added from what the
//! reader asks, so that neither can go stale.

use super::checked::scenario;
use super::fitted::comment;
use crate::input::asked::{Question, Takes};
use crate::input::{Asked, KeyWords, join, schema};
use serde_json::Value;

const SOURCE: &str = include_str!("starter/starter.toml");

/// What stands at the head of the starter.
const HEAD: [&str; 4] = [
    "Starter scenario of endgas. Invented: no real engine has these numbers. Put in your own.",
    "Every number is in the unit that its key ends with. A line that begins with # and a key, without a blank between \
     them, is switched off: take the # away to switch it on, and that of its section too.",
    "`endgas estimate FILE` says what is wrong with the file, all of it at once, and what it makes.",
    "An estimate, not a calibration: listen for knock and back the spark off, measure the ethanol content, and mind \
     that fuel vapour burns. Local emissions and road law and the judgement of the qualified practitioner come first.",
];

/// In the words of a key: when it is left out, what holds is the value that stands in the starter.
const AS_HERE: &str = "Default: as here.";

/// A key or section of the starter with what is said of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct StarterEntry {
    /// Dotted path.
    pub path: String,
    /// The words, on one line; empty when there are none.
    pub words: String,
    /// The key with its value, or the head of a section.
    pub statement: &'static str,
    /// Whether it is switched off.
    pub is_off: bool,
    /// Whether an empty line stands before it.
    pub is_apart: bool,
}

impl StarterEntry {
    /// The value as TOML; empty for a section.
    pub fn value(&self) -> &'static str {
        self.statement.split_once('=').map(|(_, value)| value.trim()).unwrap_or_default()
    }

    /// Whether the value is the one that holds when the key alone is left out.
    pub fn is_usual(&self) -> bool {
        self.words.contains(AS_HERE)
    }

    /// The words where the value does not stand beside them.
    pub fn words_alone(&self) -> String {
        self.words.replace(AS_HERE, &format!("Default: {}.", self.value()))
    }
}

/// All keys and sections of the starter.
pub(super) fn entries() -> Vec<StarterEntry> {
    let (mut section, mut words, mut is_apart) = (String::new(), Vec::new(), false);
    let mut entries = Vec::new();
    for line in SOURCE.lines() {
        if let Some(said) = line.strip_prefix("# ") {
            words.push(said);
            continue;
        }
        let statement = line.trim_start_matches('#');
        if statement.is_empty() {
            is_apart = true;
            continue;
        }
        let path = if statement.starts_with('[') {
            section = statement.trim_matches(['[', ']']).to_owned();
            section.clone()
        } else {
            join(&section, statement.split('=').next().unwrap_or_default().trim())
        };
        let is_off = line.starts_with('#');
        entries.push(StarterEntry { path, words: words.join(" "), statement, is_off, is_apart });
        (words, is_apart) = (Vec::new(), false);
    }
    entries
}

/// All that the reader of scenarios asks.
fn asked() -> Asked {
    Asked::by(|root| scenario(root, ""))
}

/// JSON Schema (draft 2020-12) of a scenario file.
///
/// It refuses what is wrong with a key by itself and what is missing; values that do not go together, such as a rod
/// too short for the stroke, only [`super::read`] finds.
///
/// # Example
/// ```
/// let schema = endgas::scenario::scenario_schema();
/// assert_eq!(schema["properties"]["engine"]["properties"]["bore_mm"]["maximum"], 150);
/// ```
pub fn scenario_schema() -> Value {
    let entries = entries();
    let said = |path: &str| {
        let entry = entries.iter().find(|entry| entry.path == path)?;
        Some(KeyWords { words: entry.words_alone(), usual: entry.is_usual().then(|| entry.value()) })
    };
    schema("Scenario", "One build with its fuels, its day and what is asked of it.", &asked(), &said)
}

/// A scenario to begin from: invented, every key explained with its range, what is optional switched off.
///
/// # Returns
/// TOML that [`super::read`] takes, at most 100 columns wide.
///
/// # Example
/// ```
/// let starter = endgas::scenario::starter();
/// let scenario = endgas::scenario::read("starter", &starter)?;
/// assert_eq!(scenario.name, "My build");
/// # Ok::<(), endgas::scenario::Diagnostics>(())
/// ```
pub fn starter() -> String {
    let asked = asked();
    let mut text = HEAD.map(comment).join("#\n") + "\n";
    for entry in entries() {
        if entry.is_apart {
            text.push('\n');
        }
        let ranges = asked.find(&entry.path).map(|question| said_by(&asked, question)).unwrap_or_default();
        let said = [entry.words.as_str(), &ranges].join(" ");
        if !said.trim().is_empty() {
            text += &comment(said.trim());
        }
        let off = if entry.is_off { "#" } else { "" };
        text += &format!("{off}{}\n", entry.statement);
    }
    text
}

/// What the reader says of a key: what it takes, whether it can be left out, what it stands for or needs.
fn said_by(asked: &Asked, question: &Question) -> String {
    let mut said = Vec::new();
    match &question.takes {
        Takes::Value(expected) => said.push(sentence(&expected.to_string())),
        Takes::Entries(entry) => said.push(format!("Each is {entry}.")),
        Takes::Section | Takes::Sections => {}
    }
    if !question.required && question.within.is_empty() {
        said.push("Optional.".to_owned());
    }
    if let Some((choice, way)) = question.within.last()
        && asked.of_section(&question.section).find(|other| other.within == question.within) == Some(question)
    {
        let ways = asked.choices[*choice].ways.iter().enumerate();
        let others: Vec<&str> = ways.filter(|(other, _)| other != way).map(|(_, words)| *words).collect();
        said.push(format!("In place of {}.", others.join(" or ")));
    }
    let needs =
        asked.needs.iter().filter(|need| need.section == question.section && need.key == question.key);
    said.extend(needs.map(|need| format!("Needs {}.", need.other)));
    said.join(" ")
}

fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().map(|letter| letter.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}.", letters.as_str())
}

#[cfg(test)]
mod tests;
