//! What can be stated of a build, made from what the reader of scenarios asks: nothing is listed twice.

use crate::input::asked::{Takes, Usual};
use crate::input::{Expected, without_unit};
use crate::scenario::{Said, asked_and_said};
use crate::units::Unit;
use std::collections::HashMap;
use std::sync::LazyLock;

/// Key of the fuels to run.
pub(super) const FUELS: &str = "fuels.run";
/// Key of the name.
pub(super) const NAME: &str = "scenario.name";

/// One input of a scenario.
#[derive(Clone, Debug)]
pub(super) struct Field {
    /// Dotted path of its section.
    pub section: String,
    /// Its key.
    pub key: &'static str,
    /// Dotted path of its key.
    pub path: String,
    /// What a page calls it.
    pub label: String,
    /// How it is measured.
    pub words: String,
    /// What it takes.
    pub takes: Expected,
    /// What stands for it when it is left out, where that is one value.
    pub usual: Option<String>,
}

impl Field {
    /// Its key without the unit, under which it is given as text with a unit.
    pub fn short(&self) -> Option<&'static str> {
        without_unit(self.key)
    }

    /// Unit of its key.
    pub fn unit(&self) -> Unit {
        match &self.takes {
            Expected::Number(allowed) => allowed.unit,
            _ => Unit::None,
        }
    }

    /// Whether it is among what is said first of an engine.
    pub fn is_first(&self) -> bool {
        [NAME, FUELS].contains(&self.path.as_str()) || Said::ALL.iter().any(|said| said.path() == self.path)
    }
}

/// Every input, in the order of the reader.
pub(super) static FIELDS: LazyLock<Vec<Field>> = LazyLock::new(|| {
    let (asked, said) = asked_and_said();
    let mut fields: Vec<Field> = Vec::new();
    for question in &asked.questions {
        let Takes::Value(takes) = &question.takes else { continue };
        let path = question.path();
        // Sections that may be repeated are edited in the file.
        let is_repeated =
            asked.find(&question.section).is_some_and(|section| matches!(section.takes, Takes::Sections));
        if is_repeated || fields.iter().any(|field| field.path == path) {
            continue;
        }
        fields.push(Field {
            label: if path == FUELS { "Fuels".to_owned() } else { label(question.key) },
            words: said.get(&path).cloned().unwrap_or_default(),
            takes: takes.clone(),
            usual: question.usual().map(Usual::to_string),
            section: question.section.clone(),
            key: question.key,
            path,
        });
    }
    fields
});

/// The field of a path as a problem names it: with or without the unit, and perhaps with an entry of a list.
pub(super) fn field_of(path: &str) -> Option<&'static Field> {
    let path = path.split('[').next().unwrap_or_default();
    let is_named = |field: &&Field| {
        field.path == path
            || field.short().is_some_and(|short| {
                path.strip_prefix(&field.section).and_then(|rest| rest.strip_prefix('.')) == Some(short)
            })
    };
    FIELDS.iter().find(is_named)
}

/// The field at which a problem of a path is told: its own, or the first of a section that lacks what it rests on.
pub(super) fn field_at(path: &str) -> Option<&'static Field> {
    field_of(path).or_else(|| FIELDS.iter().find(|field| field.section == path && field.is_first()))
}

/// A key in words.
pub(super) fn label(key: &str) -> String {
    // Keys that a shop has another word for.
    match key {
        "spark" => return "Timing".to_owned(),
        "reserve_octane" => return "Safety margin".to_owned(),
        _ => {}
    }
    let mut words: Vec<String> = Vec::new();
    for word in without_unit(key).unwrap_or(key).split('_') {
        words.push(match word {
            "inlet" => "intake".to_owned(),
            "deg" => "degrees".to_owned(),
            "abdc" | "bbdc" | "atdc" | "btdc" => word.to_uppercase(),
            "050" => "0.050".to_owned(),
            other => other.to_owned(),
        });
    }
    capital(&words.join(" "))
}

/// What a section is called.
pub(super) fn section_label(section: &str) -> String {
    let parts: Vec<String> = section.split('.').map(label).collect();
    parts.join(": ")
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// Keys that are told from words, by what a page calls them.
static NAMES: LazyLock<HashMap<String, String>> = LazyLock::new(|| {
    let (asked, _) = asked_and_said();
    let mut names = HashMap::new();
    for question in &asked.questions {
        let words = match question.takes {
            Takes::Section | Takes::Sections => section_label(&question.path()),
            _ => label(question.key),
        };
        names.insert(question.path(), words.clone());
        for key in [Some(question.key), without_unit(question.key)].into_iter().flatten() {
            names.insert(crate::input::join(&question.section, key), words.clone());
            if key.contains('_') {
                names.insert(key.to_owned(), words.to_lowercase());
            }
        }
    }
    names
});

/// Options that the words of a pull name, by what a page calls them.
const OPTIONS: [(&str, &str); 11] = [
    ("--fuel", "\"Fuel in the tank\""),
    ("--at", "\"Taken at\""),
    ("--corrected", "\"Corrected by\""),
    ("--air-temp", "\"Air temperature\""),
    ("--pressure", "\"Air pressure\""),
    ("--humidity", "\"Relative humidity\""),
    ("--afr-stoich", "\"Air-fuel ratio at lambda 1\""),
    ("--keep-ends", "\"Leave the ends of runs in\""),
    ("--fit", "\"Judge it and fit the build to it\""),
    ("--fit-anyway", "\"Fit it all the same\""),
    ("--free-table", "`endgas dyno` on the command line"),
];

/// A text with the labels of a page in place of the keys of a file and of the options of a command.
pub(super) fn labelled(text: &str) -> String {
    let is_part = |c: char| c.is_ascii_alphanumeric() || "_.[]-".contains(c);
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while !rest.is_empty() {
        let end = rest.find(|c: char| !is_part(c)).unwrap_or(rest.len());
        if end == 0 {
            let first = rest.chars().next().map_or(1, char::len_utf8);
            out.push_str(&rest[..first]);
            rest = &rest[first..];
            continue;
        }
        out.push_str(&token_labelled(&rest[..end]));
        rest = &rest[end..];
    }
    out
}

/// One word of a text: a key by its label, a section without its brackets.
fn token_labelled(token: &str) -> String {
    let bare = token.trim_end_matches(['.', '-']);
    let dots = &token[bare.len()..];
    let inner = bare.trim_start_matches('[').trim_end_matches(']');
    let is_section = bare.starts_with('[') && bare.ends_with(']');
    let path = bare.split('[').next().unwrap_or_default();
    if let Some((_, words)) = OPTIONS.iter().find(|(option, _)| *option == bare) {
        return format!("{words}{dots}");
    }
    match NAMES.get(if is_section { inner } else { path }) {
        Some(words) if is_section => format!("\"{words}\"{dots}"),
        // A word that is no key by itself: a section is named in brackets.
        Some(words) if path.contains(['_', '.']) => format!("{words}{dots}"),
        _ => token.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_field_has_a_label_and_words() {
        assert!(FIELDS.len() > 100, "{}", FIELDS.len());
        for field in FIELDS.iter() {
            assert!(!field.label.is_empty() && !field.label.contains('_'), "{}", field.path);
            assert!(!field.words.is_empty(), "{}", field.path);
        }
        for said in Said::ALL {
            assert!(field_of(&said.path()).is_some_and(Field::is_first), "{said:?}");
        }
    }

    #[test]
    fn keys_become_labels() {
        assert_eq!(label("inlet_closes_deg_abdc"), "Intake closes degrees ABDC");
        assert_eq!(label("bore_mm"), "Bore");
        assert_eq!(labelled("engine.bore_mm = 999 is not allowed"), "Bore = 999 is not allowed");
        assert_eq!(labelled("engine.bore is missing, with stroke_mm."), "Bore is missing, with stroke.");
        assert_eq!(labelled("known knock points ([[knock.known]])"), "known knock points (\"Knock: Known\")");
        assert_eq!(labelled("limits of the engine, 12.5 e.g. kind"), "limits of the engine, 12.5 e.g. kind");
        assert_eq!(
            labelled("e85 is shown; --fuel names another."),
            "e85 is shown; \"Fuel in the tank\" names another."
        );
        assert_eq!(field_at("breathing").unwrap().path, "breathing.kind");
        assert_eq!(field_of("fuels.run[2]").unwrap().path, FUELS);
    }
}
