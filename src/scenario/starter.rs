//! The starter scenario: an invented build in which every key is explained, and the words that explain it.
//!
//! `starter/starter.toml` holds the words and the values. Ranges and what goes with what are added from what the
//! reader asks, so that neither can go stale.

use super::checked::scenario;
use super::fitted::comment;
use crate::input::asked::{Question, Takes, Usual};
use crate::input::{Asked, join, schema};
use serde_json::Value;
use std::collections::HashMap;

const SOURCE: &str = include_str!("starter/starter.toml");

/// What stands at the head of the starter.
const HEAD: [&str; 4] = [
    "Starter scenario of endgas. Invented: no real engine has these numbers. Put in your own.",
    "Every number is in the unit that its key ends with. A line that begins with # and a key, without a blank between \
     them, is switched off: take the # away to switch it on, and that of its section too.",
    "`endgas estimate FILE` says what is wrong with the file, all of it at once, and what it makes.",
    "An estimate, not a calibration: listen for knock and pull timing, measure the ethanol content, and keep in \
     mind that fuel vapour burns. Local emissions and road law and the judgement of the qualified practitioner come first.",
];

/// A key or section of the starter with what is said of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct StarterEntry {
    /// Dotted path.
    pub path: String,
    /// The words, on one line; empty when there are none.
    pub words: String,
    /// The key with its value, or the head of a section.
    pub statement: String,
    /// Whether it is switched off.
    pub is_off: bool,
    /// Whether an empty line stands before it.
    pub is_apart: bool,
}

impl StarterEntry {
    /// Whether its value is this one.
    pub fn is(&self, usual: &Usual) -> bool {
        self.statement.split_once('=').is_some_and(|(_, value)| value.trim() == usual.to_string())
    }
}

/// All keys and sections of the starter; a key that stands there without a value has the one that holds when it is left out.
pub(super) fn entries(asked: &Asked) -> Vec<StarterEntry> {
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
        let usual = asked.find(&path).and_then(Question::usual).filter(|_| statement.ends_with('='));
        let statement = match usual {
            Some(usual) => format!("{statement} {usual}"),
            None => statement.to_owned(),
        };
        entries.push(StarterEntry { path, words: words.join(" "), statement, is_off, is_apart });
        (words, is_apart) = (Vec::new(), false);
    }
    entries
}

/// All that the reader of scenarios asks.
fn asked() -> Asked {
    Asked::by(|root| scenario(root, ""))
}

/// All that the reader asks, and what is said of the key or section of a dotted path.
pub(crate) fn asked_and_said() -> (Asked, HashMap<String, String>) {
    let asked = asked();
    let said = entries(&asked).into_iter().map(|entry| (entry.path, entry.words)).collect();
    (asked, said)
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
    let asked = asked();
    let entries = entries(&asked);
    let said = |path: &str| entries.iter().find(|entry| entry.path == path).map(|entry| entry.words.clone());
    schema("Scenario", "One build with its fuels, its day and what is asked of it.", &asked, &said)
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
    for entry in entries(&asked) {
        if entry.is_apart {
            text.push('\n');
        }
        let question = asked.find(&entry.path);
        let ranges = question.map(|question| said_by(&asked, question, &entry)).unwrap_or_default();
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
fn said_by(asked: &Asked, question: &Question, entry: &StarterEntry) -> String {
    let mut said = Vec::new();
    match &question.takes {
        Takes::Value(expected) => said.push(sentence(&expected.to_string())),
        Takes::Entries(entry) => said.push(format!("Each is {entry}.")),
        Takes::Section | Takes::Sections => {}
    }
    match question.usual() {
        Some(usual) if entry.is(usual) => said.push("Default: as here.".to_owned()),
        Some(usual) => said.push(format!("Default: {usual}.")),
        None if !question.is_required() && question.within.is_empty() => said.push("Optional.".to_owned()),
        None => {}
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
