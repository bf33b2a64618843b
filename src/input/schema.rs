//! The JSON schema of a file, from what its reader asks and the words of each key.

use super::asked::{Asked, Question, Takes, WayId};
use super::diagnostics::Expected;
use super::section::without_unit;
use crate::units::{Allowed, Unit};
use serde_json::{Map, Value, json};

/// Text that is not empty and holds no control character but blanks, as the reader takes it.
const TEXT_PATTERN: &str = r"^[^\x00-\x08\x0e-\x1f\x7f-\x84\x86-\x9f]*[^\s\x00-\x1f\x7f-\x9f][^\x00-\x08\x0e-\x1f\x7f-\x84\x86-\x9f]*$";
/// [`Expected::Name`], as the reader takes it.
const NAME_PATTERN: &str = "^[a-z][a-z0-9.-]*$";

/// JSON Schema (draft 2020-12) of a file.
///
/// # Arguments
/// - `asked`: what its reader asks
/// - `said`: what is said of the key of a dotted path
pub(crate) fn schema(
    title: &str,
    description: &str,
    asked: &Asked,
    said: &dyn Fn(&str) -> Option<String>,
) -> Value {
    let mut schema = Map::new();
    schema.insert("$schema".to_owned(), json!("https://json-schema.org/draft/2020-12/schema"));
    schema.insert("title".to_owned(), json!(title));
    schema.insert("description".to_owned(), json!(description));
    schema.extend(Writer { asked, said }.section(""));
    Value::Object(schema)
}

struct Writer<'a> {
    asked: &'a Asked,
    said: &'a dyn Fn(&str) -> Option<String>,
}

impl Writer<'_> {
    fn section(&self, path: &str) -> Map<String, Value> {
        let named = self.asked.of_section(path).map(|q| (q.key.to_owned(), self.property(q)));
        let mut properties: Map<String, Value> = named.collect();
        for question in self.asked.of_section(path) {
            if let (Some(short), Takes::Value(expected)) = (short_of(question.key), &question.takes) {
                properties.entry(short).or_insert_with(|| Value::Object(in_open_unit(expected)));
            }
        }
        let mut section = Map::new();
        section.insert("type".to_owned(), json!("object"));
        section.insert("properties".to_owned(), Value::Object(properties));
        section.insert("additionalProperties".to_owned(), json!(false));
        section.extend(self.rules(path, &[]));
        let mut needs: Map<String, Value> = self.needs(path);
        for question in self.asked.of_section(path) {
            // Given with its unit in the key, it is not given without.
            if let Some(short) = short_of(question.key) {
                let rules = needs.entry(short).or_insert_with(|| json!({ "allOf": [] }));
                if let Some(all) = rules["allOf"].as_array_mut() {
                    all.push(json!({ "properties": { question.key: { "not": {} } } }));
                }
            }
        }
        if !needs.is_empty() {
            section.insert("dependentSchemas".to_owned(), Value::Object(needs));
        }
        section
    }

    fn property(&self, question: &Question) -> Value {
        let path = question.path();
        let mut schema = match &question.takes {
            Takes::Value(expected) => value(expected),
            Takes::Entries(entry) => Map::from_iter([
                ("type".to_owned(), json!("object")),
                ("additionalProperties".to_owned(), Value::Object(value(entry))),
            ]),
            Takes::Section => self.section(&path),
            Takes::Sections => Map::from_iter([
                ("type".to_owned(), json!("array")),
                ("items".to_owned(), Value::Object(self.section(&path))),
            ]),
        };
        let usual = question.usual();
        let default = usual.map(|usual| format!("Default: {usual}."));
        let said = [(self.said)(&path), Some(unit_words(&question.takes)), default];
        let words: Vec<String> = said.into_iter().flatten().filter(|words| !words.is_empty()).collect();
        if !words.is_empty() {
            schema.insert("description".to_owned(), json!(words.join(" ")));
        }
        let usual = usual.and_then(|usual| toml_value(&usual.to_string()));
        schema.extend(usual.map(|usual| ("default".to_owned(), usual)));
        Value::Object(schema)
    }

    /// What must be given where some ways are taken: keys, and one way of each further choice.
    fn rules(&self, section: &str, within: &[WayId]) -> Map<String, Value> {
        let mut rules = Map::new();
        let here = self.asked.of_section(section).filter(|q| q.within == within && q.is_required());
        let (open, plain): (Vec<&str>, Vec<&str>) =
            here.map(|question| question.key).partition(|key| short_of(key).is_some());
        if !plain.is_empty() {
            rules.insert("required".to_owned(), json!(plain));
        }
        let open = open.into_iter().map(needed);
        let choices = self.asked.choices.iter().enumerate();
        let choices = choices
            .filter(|(_, choice)| choice.section == section && choice.within == within)
            .map(|(number, _)| self.choice(number));
        let either = self.asked.either.iter();
        let either =
            either.filter(|either| either.section == section && either.within == within).map(|either| {
                let one: Vec<Value> = either.keys.iter().map(|key| needed(key)).collect();
                json!({ "anyOf": one })
            });
        let all: Vec<Value> = open.chain(choices).chain(either).collect();
        if !all.is_empty() {
            rules.insert("allOf".to_owned(), json!(all));
        }
        rules
    }

    /// One of the ways of a choice and no key of the others: `not: {}` refuses a key under every draft of JSON Schema.
    fn choice(&self, number: usize) -> Value {
        let choice = &self.asked.choices[number];
        let keys_but = |way: Option<usize>| -> Map<String, Value> {
            let questions = || self.asked.of_section(&choice.section);
            let is_other = |q: &&Question| q.within.iter().any(|(c, w)| *c == number && Some(*w) != way);
            let kept: Vec<String> =
                questions().filter(|q| !is_other(q)).filter_map(|q| short_of(q.key)).collect();
            let keys = questions().filter(is_other).flat_map(|question| {
                let short = short_of(question.key).filter(|short| !kept.contains(short));
                [Some(question.key.to_owned()), short]
            });
            keys.flatten().map(|key| (key, json!({ "not": {} }))).collect()
        };
        let way = |words: &str, way: Option<usize>, rules: Map<String, Value>| {
            let mut branch = Map::from_iter([("title".to_owned(), json!(words))]);
            branch.extend(rules);
            branch.insert("properties".to_owned(), Value::Object(keys_but(way)));
            Value::Object(branch)
        };
        let mut branches: Vec<Value> = Vec::new();
        for (i, words) in choice.ways.iter().enumerate() {
            let within: Vec<WayId> = choice.within.iter().copied().chain([(number, i)]).collect();
            branches.push(way(words, Some(i), self.rules(&choice.section, &within)));
        }
        if choice.missing.is_none() {
            branches.push(way("none of them", None, Map::new()));
        }
        json!({ "anyOf": branches })
    }

    fn needs(&self, section: &str) -> Map<String, Value> {
        let mut needs: Map<String, Value> = Map::new();
        for need in self.asked.needs.iter().filter(|need| need.section == section) {
            for key in [Some(need.key.to_owned()), short_of(need.key)].into_iter().flatten() {
                let rules = needs.entry(key).or_insert_with(|| json!({ "allOf": [] }));
                if let Some(others) = rules["allOf"].as_array_mut() {
                    others.push(needed(need.other));
                }
            }
        }
        needs
    }
}

/// What is said of a key whose value names its unit.
const IN_OPEN_UNIT: &str =
    "The same as a number with its unit, such as \"4.030 in\" or \"95 F\"; of a list, each entry.";

/// The schema of a value that brings its own unit.
fn in_open_unit(expected: &Expected) -> Map<String, Value> {
    let mut schema = match expected {
        Expected::Number(allowed) => json!({ "type": "string", "pattern": text_pattern(allowed.unit) }),
        Expected::List { entry, fewest, most } => {
            json!({ "type": "array", "items": in_open_unit(entry), "minItems": fewest, "maxItems": most })
        }
        _ => json!({}),
    };
    schema["description"] = json!(IN_OPEN_UNIT);
    schema.as_object().cloned().unwrap_or_default()
}

/// A number with one of the units that a quantity takes, as its symbol or a spelling; the reader forgives more.
fn text_pattern(unit: Unit) -> Option<String> {
    const NUMBER: &str = r"^\s*[-+.0-9]*[0-9][-+.0-9]*\s*";
    let any_case = |spelling: String| -> String {
        let letter = |c: char| match c.is_ascii_alphabetic() {
            true => format!("[{}{}]", c.to_ascii_lowercase(), c.to_ascii_uppercase()),
            false if c.is_alphanumeric() => c.to_string(),
            false => format!("[{c}]"),
        };
        spelling.chars().map(letter).collect()
    };
    let units: Vec<String> =
        unit.family().iter().flat_map(|unit| unit.all_spellings()).map(any_case).collect();
    match unit {
        Unit::None => Some(format!(r"{NUMBER}:\s*1\s*$")),
        _ if units.is_empty() => None,
        _ => Some(format!(r"{NUMBER}°?({})\s*$", units.join("|"))),
    }
}

/// The key that takes the same with a unit in the value, where there is one.
fn short_of(key: &str) -> Option<String> {
    without_unit(key).map(str::to_owned)
}

/// That a key is given, by either of its names.
fn needed(key: &str) -> Value {
    match short_of(key) {
        Some(short) => json!({ "anyOf": [{ "required": [key] }, { "required": [short] }] }),
        None => json!({ "required": [key] }),
    }
}

/// The schema of one value.
fn value(expected: &Expected) -> Map<String, Value> {
    let schema = match expected {
        Expected::Number(allowed) => {
            let (low, high) = (plain(allowed.low), plain(allowed.high));
            match text_pattern(allowed.unit) {
                Some(pattern) => {
                    json!({ "type": ["number", "string"], "minimum": low, "maximum": high, "pattern": pattern })
                }
                None => json!({ "type": "number", "minimum": low, "maximum": high }),
            }
        }
        Expected::Count { low, high } => json!({ "type": "integer", "minimum": low, "maximum": high }),
        Expected::Word(words) => json!({ "type": "string", "enum": words }),
        Expected::Text => json!({ "type": "string", "pattern": TEXT_PATTERN }),
        Expected::Name => json!({ "type": "string", "pattern": NAME_PATTERN }),
        Expected::List { entry, fewest, most } => {
            json!({ "type": "array", "items": value(entry), "minItems": fewest, "maxItems": most })
        }
        Expected::Section => json!({ "type": "object" }),
        Expected::OneOf(words) => json!({ "description": words }),
    };
    schema.as_object().cloned().unwrap_or_default()
}

/// A number as a person would write it: 40 and not 40.0.
fn plain(number: f64) -> Value {
    if number.fract() == 0.0 { json!(number as i64) } else { json!(number) }
}

/// The unit of a number, or of each number of a list.
fn unit_words(takes: &Takes) -> String {
    let mut expected = match takes {
        Takes::Value(expected) | Takes::Entries(expected) => expected,
        Takes::Section | Takes::Sections => return String::new(),
    };
    while let Expected::List { entry, .. } = expected {
        expected = entry;
    }
    match expected {
        Expected::Number(Allowed { unit, .. }) if !unit.symbol().is_empty() => {
            format!("In {}.", unit.words())
        }
        _ => String::new(),
    }
}

/// A TOML value as JSON.
fn toml_value(text: &str) -> Option<Value> {
    let table: toml::Table = toml::from_str(&format!("value = {text}")).ok()?;
    serde_json::to_value(table.get("value")?).ok()
}
