//! The starter with its parts switched on: every part reads, whatever it stands in place of or needs.

use super::{StarterEntry, asked, entries, starter};
use crate::input::asked::{Asked, KeyChoice, Question, Takes, WayId};
use crate::input::{Expected, Places, join};
use crate::scenario::{Scenario, read, scenario_schema};
use std::collections::BTreeSet;
use std::sync::OnceLock;

fn is_section(entry: &StarterEntry) -> bool {
    entry.statement.starts_with('[')
}

/// The schema of scenarios, which is the same for all tests.
fn schema() -> &'static (boon::Schemas, boon::SchemaIndex) {
    static SCHEMA: OnceLock<(boon::Schemas, boon::SchemaIndex)> = OnceLock::new();
    SCHEMA.get_or_init(|| {
        let (mut schemas, mut compiler) = (boon::Schemas::new(), boon::Compiler::new());
        compiler.add_resource("scenario.json", scenario_schema()).unwrap();
        let index = compiler.compile("scenario.json", &mut schemas).unwrap();
        (schemas, index)
    })
}

/// Keys and sections that are switched on.
struct Switches {
    asked: Asked,
    entries: Vec<StarterEntry>,
    on: BTreeSet<String>,
}

impl Switches {
    fn as_shipped() -> Self {
        let asked = asked();
        let entries = entries(&asked);
        let on = entries.iter().filter(|entry| !entry.is_off).map(|entry| entry.path.clone()).collect();
        Self { asked, entries, on }
    }

    /// Switches a key on, with its section and all that it asks for, and off what it stands in place of.
    fn turn_on(&mut self, path: &str) {
        if !self.on.insert(path.to_owned()) {
            return;
        }
        let question = self.asked.find(path).unwrap_or_else(|| panic!("{path} is not asked for")).clone();
        if !question.section.is_empty() {
            self.turn_on(&question.section);
        }
        for (depth, (choice, way)) in question.within.iter().enumerate() {
            self.turn_off_others(&question.section, *choice, *way);
            self.turn_on_required(&question.section, &question.within[..=depth]);
        }
        if self.entries.iter().any(|entry| entry.path == path && is_section(entry)) {
            self.turn_on_required(path, &[]);
        }
        let needs: Vec<String> = self
            .asked
            .needs
            .iter()
            .filter(|need| need.section == question.section && need.key == question.key)
            .map(|need| format!("{}.{}", need.section, need.other))
            .collect();
        needs.iter().for_each(|need| self.turn_on(need));
        // What only a cross-check joins.
        if path == "breathing.bench_lift_mm" {
            self.turn_on("breathing.cam_max_lift_mm");
            self.turn_on("breathing.cam_duration_deg");
        }
        if matches!(path, "choose.from_rpm" | "choose.to_rpm") {
            self.turn_on("choose.objective");
        }
    }

    fn turn_off_others(&mut self, section: &str, choice: usize, way: usize) {
        let is_other = |q: &&Question| q.within.iter().any(|(c, w)| *c == choice && *w != way);
        let others: Vec<String> =
            self.asked.of_section(section).filter(is_other).map(Question::path).collect();
        self.on.retain(|path| {
            !others.iter().any(|other| path == other || path.starts_with(&format!("{other}.")))
        });
    }

    fn turn_on_required(&mut self, section: &str, within: &[WayId]) {
        let here: Vec<Question> =
            self.asked.of_section(section).filter(|q| q.within == within).cloned().collect();
        here.iter().filter(|q| q.is_required()).for_each(|q| self.turn_on(&q.path()));
        let choices: Vec<(usize, KeyChoice)> = self.asked.choices.iter().cloned().enumerate().collect();
        for (number, choice) in choices {
            if choice.section != section || choice.within != within || choice.missing.is_none() {
                continue;
            }
            let of_choice = |q: &Question| q.within.iter().any(|(c, _)| *c == number);
            let keys: Vec<Question> =
                self.asked.of_section(section).filter(|q| of_choice(q)).cloned().collect();
            if !keys.iter().any(|q| self.on.contains(&q.path())) {
                let first = keys.iter().find(|q| q.is_required()).unwrap();
                self.turn_on(&first.path());
            }
        }
    }

    /// The starter with just these switched on; lines stay where they are.
    fn text(&self) -> String {
        let mut entries = self.entries.iter().peekable();
        let mut text = String::new();
        for line in starter().lines() {
            let line = match entries.next_if(|entry| line.trim_start_matches('#') == entry.statement) {
                Some(entry) if self.on.contains(&entry.path) => entry.statement.to_owned(),
                Some(entry) => format!("#{}", entry.statement),
                None => line.to_owned(),
            };
            text += &format!("{line}\n");
        }
        assert!(entries.next().is_none(), "every key has its line");
        text
    }

    /// The scenario of it, which the reader and the schema must both take.
    fn scenario(&self) -> Scenario {
        let text = self.text();
        let scenario = read("starter", &text).unwrap_or_else(|problems| panic!("{problems}\n{text}"));
        let table: toml::Table = toml::from_str(&text).unwrap();
        let (schemas, schema) = schema();
        let instance = serde_json::to_value(table).unwrap();
        schemas.validate(&instance, *schema).unwrap_or_else(|error| panic!("{error:#}\n{text}"));
        scenario
    }
}

#[test]
fn every_key_has_its_words_and_every_word_its_key() {
    let told: Vec<String> = entries(&asked()).into_iter().map(|entry| entry.path).collect();
    let asked: Vec<String> = asked().questions.iter().map(Question::path).collect();
    let (asked_once, told_once): (BTreeSet<_>, BTreeSet<_>) = (asked.iter().collect(), told.iter().collect());
    assert_eq!(asked_once.len(), asked.len(), "a key is asked for twice");
    assert_eq!(told_once.len(), told.len(), "a key is told of twice");
    assert_eq!(asked_once, told_once);
    for entry in entries(&super::asked()) {
        assert!(is_section(&entry) || entry.words.ends_with('.'), "{} has no words", entry.path);
    }
}

/// Else a file without any of the keys would pass the schema.
#[test]
fn each_way_of_a_choice_that_must_be_made_has_a_key_that_must_be_given() {
    let asked = asked();
    for (number, choice) in asked.choices.iter().enumerate().filter(|(_, choice)| choice.missing.is_some()) {
        for way in 0..choice.ways.len() {
            let mut keys =
                asked.of_section(&choice.section).filter(|q| q.within.last() == Some(&(number, way)));
            let has_either = asked.either.iter().any(|either| either.within.last() == Some(&(number, way)));
            let must = has_either || keys.any(|question| question.is_required());
            assert!(must, "{} {}", choice.section, choice.ways[way]);
        }
    }
}

#[test]
fn the_starter_is_invented_and_fits_100_columns() {
    let text = starter();
    assert!(text.starts_with("# Starter scenario of endgas. Invented:"));
    assert!(
        text.contains("# Cylinder bore: dial bore gauge") && text.contains("A number from 40 to 150 mm.")
    );
    let widest = text.lines().max_by_key(|line| line.chars().count()).unwrap();
    assert!(widest.chars().count() <= 100, "{widest}");
    assert_eq!(Switches::as_shipped().text(), text);
    Switches::as_shipped().scenario();
}

#[test]
fn every_key_that_is_off_can_be_switched_on() {
    for entry in entries(&asked()).into_iter().filter(|entry| entry.is_off) {
        let mut switches = Switches::as_shipped();
        switches.turn_on(&entry.path);
        switches.scenario();
    }
}

#[test]
fn every_section_that_is_off_can_be_switched_on_whole() {
    let heads = entries(&asked()).into_iter().filter(|entry| entry.is_off && is_section(entry));
    for head in heads {
        let mut switches = Switches::as_shipped();
        switches.turn_on(&head.path);
        let inside = format!("{}.", head.path);
        for entry in entries(&asked()).iter().filter(|entry| entry.path.starts_with(&inside)) {
            let of_other_way =
                switches.asked.find(&entry.path).unwrap().within.iter().any(|(_, way)| *way > 0);
            if !of_other_way {
                switches.turn_on(&entry.path);
            }
        }
        let scenario = switches.scenario();
        assert_eq!(scenario.name, "My build");
    }
}

#[test]
fn what_is_said_to_hold_when_left_out_does() {
    let asked = asked();
    let holds = |entry: &StarterEntry| {
        asked.find(&entry.path).and_then(Question::usual).is_some_and(|usual| entry.is(usual))
    };
    let usual: Vec<String> = entries(&asked).into_iter().filter(holds).map(|entry| entry.path).collect();
    assert!(usual.len() >= 20, "{}", usual.len());
    let is_wrong = |path: &&String| {
        let mut switches = Switches::as_shipped();
        switches.turn_on(path);
        let given = switches.scenario();
        switches.on.remove(*path);
        !are_alike(&given, &switches.scenario())
    };
    let wrong: Vec<&String> = usual.iter().filter(is_wrong).collect();
    assert!(wrong.is_empty(), "{wrong:?}");
}

/// Whether two scenarios are the same but for where their keys stand and the last digits of numbers, which a conversion costs.
fn are_alike(a: &Scenario, b: &Scenario) -> bool {
    let words = |scenario: &Scenario| -> Vec<String> {
        let placeless = Scenario { places: Places::default(), ..scenario.clone() };
        format!("{placeless:?}").split([' ', ',', '(', ')', '[', ']']).map(str::to_owned).collect()
    };
    let is_like = |(a, b): (&String, &String)| match (a.parse::<f64>(), b.parse::<f64>()) {
        (Ok(a), Ok(b)) => (a - b).abs() <= 1e-12 * a.abs(),
        _ => a == b,
    };
    let (a, b) = (words(a), words(b));
    a.len() == b.len() && a.iter().zip(&b).all(is_like)
}

/// Where one of several ways must be taken, the message names ranges in words of its own.
#[test]
fn messages_on_ways_name_the_ranges_of_their_keys() {
    let asked = asked();
    let of_choices = asked.choices.iter().filter_map(|choice| {
        let (key, said) = choice.missing.as_ref()?;
        Some((join(&choice.section, key), said.to_string()))
    });
    let of_needs = asked.needs.iter().filter_map(|need| {
        let said = need.missing.as_ref()?;
        Some((join(&need.section, need.other), said.to_string()))
    });
    let range = |path: &str| match &asked.find(path)?.takes {
        Takes::Value(expected @ Expected::Number { .. }) => Some(expected.to_string()),
        _ => None,
    };
    let mut seen = 0;
    for (path, said) in of_choices.chain(of_needs) {
        if let Some(range) = range(&path) {
            assert!(said.starts_with(&range), "{path}: {said}");
            seen += 1;
        }
        // The other way, when it is named with a range.
        if let Some((_, other)) = said.split_once("; or give ")
            && let Some((key, limits)) = other.split_once(", from ")
        {
            let section = path.rsplit_once('.').unwrap().0;
            let range = range(&join(section, key)).unwrap();
            assert!(range.contains(&format!("from {limits}")), "{key}: {said}");
        }
    }
    assert!(seen > 5, "{seen}");
}

/// The shipped scenarios tell ranges in comments, by hand.
#[test]
fn comments_of_the_shipped_scenarios_name_the_ranges_of_their_keys() {
    let asked = asked();
    let mut seen = 0;
    for file in ["circuit-2400", "street-2000", "ported-four-1800", "big-eight-6200"] {
        let path = format!("{}/scenarios/{file}.toml", env!("CARGO_MANIFEST_DIR"));
        let mut section = String::new();
        for line in std::fs::read_to_string(path).unwrap().lines() {
            let line = line.strip_prefix("# ").unwrap_or(line);
            if let Some(head) = line.strip_prefix('[') {
                section = head.split(']').next().unwrap().to_owned();
            }
            let Some((key, rest)) = line.split_once(" = ") else { continue };
            let question = asked.find(&join(&section, key.trim()));
            let limits = rest.split_once("# ").and_then(|(_, comment)| first_range(comment));
            let (Some(question), Some(limits)) = (question, limits) else { continue };
            let Takes::Value(expected) = &question.takes else { panic!("{line}") };
            let said = format!("{expected} ");
            assert!(said.contains(&format!("from {limits} ")), "{file}: {line}: {said}");
            seen += 1;
        }
    }
    assert!(seen > 150, "{seen}");
}

/// The "LOW to HIGH" that a comment begins with.
fn first_range(comment: &str) -> Option<String> {
    let mut words = comment.split([' ', ',', ';']);
    let (low, to, high) = (words.next()?, words.next()?, words.next()?);
    let is_number = |word: &str| word.parse::<f64>().is_ok();
    (is_number(low) && to == "to" && is_number(high)).then(|| format!("{low} to {high}"))
}
