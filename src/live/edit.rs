//! What is typed into the fields of a page, put into the text of a scenario and found there again; and what is wrong with it.

use super::field::{FIELDS, FUELS, Field, field_at, field_of, labelled};
use super::refusal::Refusal;
use crate::fuel::FuelLibrary;
use crate::input::Expected;
use crate::scenario::{self, Diagnostics, ProblemKind, Scenario, put as put_value};
use crate::units::{Unit, split_number};
use serde::{Deserialize, Serialize};
use toml_edit::{Array, DocumentMut, Item, Table, TableLike, Value};

/// A scenario in which nothing is stated yet.
pub(super) const EMPTY: &str = "\
# Written by `endgas live`. An estimate, not a calibration.
[engine]

[breathing]

[fuels]
";
/// Sections that stand even when nothing is stated in them, so that what is missing is told by key.
const STANDING: [&str; 3] = ["engine", "breathing", "fuels"];

/// Something typed into a field.
#[derive(Clone, Debug, Deserialize)]
pub struct Change {
    /// Dotted path of its key.
    pub path: String,
    /// As typed; empty to leave it out.
    pub typed: String,
    /// Symbol of the unit that was chosen; that of the key where none was.
    #[serde(default)]
    pub unit: String,
}

/// What is wrong at one field.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FieldProblem {
    /// Dotted path of its key; empty where it is no single field.
    pub path: String,
    /// What is wrong, by the labels of the page.
    pub message: String,
    /// Whether it is only not said yet.
    pub missing: bool,
}

/// The text with what was typed put in.
///
/// # Errors
/// [`Refusal`] when the text is no TOML, or there is no such field.
pub(super) fn changed(text: &str, changes: &[Change]) -> Result<String, Refusal> {
    let mut document = parsed(text)?;
    for change in changes {
        let field = field_of(&change.path)
            .ok_or_else(|| Refusal::new(&change.path, &change.typed, "there is no such field"))?;
        put(&mut document, field, change)?;
    }
    Ok(document.to_string())
}

fn parsed(text: &str) -> Result<DocumentMut, Refusal> {
    text.parse::<DocumentMut>().map_err(Refusal::whole)
}

fn put(document: &mut DocumentMut, field: &Field, change: &Change) -> Result<(), Refusal> {
    let names: Vec<&str> = field.section.split('.').collect();
    let typed = change.typed.trim();
    let section = section(document, &names)?;
    let keys = [Some(field.key), field.short()].into_iter().flatten();
    if typed.is_empty() {
        keys.for_each(|key| drop(section.remove(key)));
        if section.is_empty() && !STANDING.contains(&field.section.as_str()) {
            take_away(document, &names);
        }
        return Ok(());
    }
    let (stated_key, mut value) = stated(field, typed, &change.unit);
    for key in keys.filter(|key| *key != stated_key) {
        // The comment beside the other key goes on.
        if let Some(Item::Value(old)) = section.remove(key) {
            *value.decor_mut() = old.decor().clone();
        }
    }
    put_value(section, stated_key, value);
    Ok(())
}

/// A section, made where it is missing.
fn section<'d>(document: &'d mut DocumentMut, names: &[&str]) -> Result<&'d mut dyn TableLike, Refusal> {
    let mut at: &mut dyn TableLike = document.as_table_mut();
    for name in names {
        let item = at.entry(name).or_insert(Item::Table(Table::new()));
        at = item
            .as_table_like_mut()
            .ok_or_else(|| Refusal::new(name, "", "it is no section of the scenario"))?;
    }
    Ok(at)
}

fn take_away(document: &mut DocumentMut, names: &[&str]) {
    let Some((last, before)) = names.split_last() else { return };
    if let Ok(parent) = section(document, before) {
        parent.remove(last);
    }
}

/// Key and value of something typed: a bare number in the unit of the key, else text with its unit.
fn stated(field: &Field, typed: &str, unit: &str) -> (&'static str, Value) {
    let with_unit = field.short().unwrap_or(field.key);
    match &field.takes {
        Expected::Number(allowed) => {
            let own = allowed.unit;
            let chosen = Unit::spelled(unit, own.family()).unwrap_or(own);
            match (number(typed), digits(typed)) {
                (Some(value), _) if chosen == own => (field.key, value),
                (_, Some(digits)) => (with_unit, format!("{digits} {}", chosen.symbol()).into()),
                // A unit of its own, as "4.030 in", or something the reader will refuse.
                _ => (if split_number(typed).1.is_empty() { field.key } else { with_unit }, typed.into()),
            }
        }
        Expected::Count { .. } => (field.key, number(typed).unwrap_or_else(|| typed.into())),
        Expected::List { entry, .. } => (field.key, Value::Array(list(entry, typed))),
        _ => (field.key, typed.into()),
    }
}

/// The digits of a number as typed, a decimal comma as a point; none where it is no number or could be read in two ways.
fn digits(typed: &str) -> Option<String> {
    let plain = match typed.split_once(',') {
        None => typed.to_owned(),
        // 1,200 may be 1200 or 1.2.
        Some((whole, rest))
            if rest.len() == 3 && whole.trim_start_matches('-').len() <= 3 && whole != "0" =>
        {
            return None;
        }
        Some((whole, rest)) => format!("{whole}.{rest}"),
    };
    let is_plain = plain.chars().all(|c| c.is_ascii_digit() || "+-.".contains(c));
    plain.parse::<f64>().ok().filter(|value| is_plain && value.is_finite()).map(|_| plain)
}

/// The same as a value.
fn number(typed: &str) -> Option<Value> {
    let plain = digits(typed)?;
    plain.parse::<i64>().map(Value::from).ok().or_else(|| plain.parse::<f64>().map(Value::from).ok())
}

/// Entries behind each other, between semicolons, or between commas where there is none.
fn list(entry: &Expected, typed: &str) -> Array {
    let between = if typed.contains(';') { ';' } else { ',' };
    let entries = typed.split(between).map(str::trim).filter(|entry| !entry.is_empty());
    let is_number = matches!(entry, Expected::Number(_) | Expected::Count { .. });
    entries
        .map(|typed| if is_number { number(typed).unwrap_or_else(|| typed.into()) } else { typed.into() })
        .collect()
}

/// What stands in a text for a field, and its unit.
pub(super) fn typed_of(document: &DocumentMut, field: &Field) -> (String, Unit) {
    let mut at: Option<&dyn TableLike> = Some(document.as_table());
    for name in field.section.split('.') {
        at = at.and_then(|section| section.get(name)).and_then(Item::as_table_like);
    }
    let value = at.and_then(|section| {
        section.get(field.key).or_else(|| section.get(field.short()?)).and_then(Item::as_value)
    });
    let own = field.unit();
    let Some(value) = value else { return (String::new(), own) };
    let shown = words(value);
    let (number, unit) = split_number(&shown);
    match Unit::spelled(unit, own.family()) {
        Some(spelled) if !unit.is_empty() && value.is_str() => (number.to_owned(), spelled),
        _ => (shown, own),
    }
}

fn words(value: &Value) -> String {
    match value {
        Value::String(text) => text.value().clone(),
        Value::Array(entries) => {
            let entries: Vec<String> = entries.iter().map(words).collect();
            entries.join("; ")
        }
        other => other.clone().decorated("", "").to_string(),
    }
}

/// The scenario of a text, or all that is wrong with it, at the fields.
pub(super) fn checked(text: &str, library: &FuelLibrary) -> Result<Scenario, Vec<FieldProblem>> {
    let scenario = scenario::read("build", text).map_err(|problems| at_fields(&problems))?;
    let mut requests = scenario.fuel_requests();
    for (request, fuel) in requests.iter_mut().zip(&scenario.fuels) {
        request.place = format!("line {}", fuel.line);
    }
    match scenario::choose_fuels(requests, library) {
        Ok(_) => Ok(scenario),
        Err(error) => {
            Err(vec![FieldProblem { path: FUELS.to_owned(), message: error.to_string(), missing: false }])
        }
    }
}

fn at_fields(problems: &Diagnostics) -> Vec<FieldProblem> {
    let mut found: Vec<FieldProblem> = Vec::new();
    for problem in &problems.0 {
        let field = field_at(&problem.key);
        let hint = problem.hint.iter().map(|hint| format!("; {hint}"));
        let words = hint.fold(problem.message(), |words, hint| words + &hint);
        let place = match field {
            Some(_) => String::new(),
            None => format!("Line {}: ", problem.line),
        };
        found.push(FieldProblem {
            path: field.map_or(String::new(), |field| field.path.clone()),
            message: match (field.map(|field| field.path.as_str()), &problem.kind) {
                (Some(FUELS), ProblemKind::Missing { .. }) => {
                    "Fuels are missing; tick one or more".to_owned()
                }
                _ => place + &labelled(&words),
            },
            // What a section lacks is missing too.
            missing: matches!(problem.kind, ProblemKind::Missing { .. })
                || field_of(&problem.key).is_none() && field.is_some(),
        });
    }
    found
}

/// The sections that hold fields, in the order of the reader.
pub(super) fn sections() -> Vec<&'static str> {
    let mut sections: Vec<&str> = Vec::new();
    for field in FIELDS.iter() {
        if !sections.contains(&field.section.as_str()) {
            sections.push(&field.section);
        }
    }
    sections
}

#[cfg(test)]
mod tests {
    use super::*;

    fn change(path: &str, typed: &str, unit: &str) -> Change {
        Change { path: path.to_owned(), typed: typed.to_owned(), unit: unit.to_owned() }
    }

    fn bad(text: &str) -> Vec<(String, bool)> {
        let problems = checked(text, &FuelLibrary::shipped().unwrap()).unwrap_err();
        problems.into_iter().map(|p| (p.path, p.missing)).collect()
    }

    #[test]
    fn an_empty_form_misses_what_an_engine_needs_and_nothing_else() {
        let missing = bad(EMPTY);
        assert!(missing.iter().all(|(path, missing)| *missing && !path.is_empty()), "{missing:?}");
        let paths: Vec<&str> = missing.iter().map(|(path, _)| path.as_str()).collect();
        assert!(paths.contains(&"engine.bore_mm") && paths.contains(&"fuels.run"), "{paths:?}");
    }

    /// HAND: 4.00 in = 101.6 mm; a decimal comma is a decimal point; 1,200 is 1200 or 1.2.
    #[test]
    fn a_build_is_typed_into_fields() {
        let text = changed(
            EMPTY,
            &[
                change("engine.cylinders", "8", ""),
                change("engine.bore_mm", "4.00", "in"),
                change("engine.stroke_mm", "88,4", "mm"),
                change("engine.compression_ratio", "10,5", ""),
                change("breathing.kind", "performance-two-valve", ""),
                change("breathing.peak_power_rpm", "5800", "rpm"),
                change("fuels.run", "premium-93; e85", ""),
            ],
        )
        .unwrap();
        let scenario = checked(&text, &FuelLibrary::shipped().unwrap())
            .unwrap_or_else(|wrong| panic!("{wrong:?}\n{text}"));
        assert!((scenario.build.geometry.bore_m - 0.1016).abs() < 1e-9);
        assert!((scenario.build.geometry.stroke_m - 0.0884).abs() < 1e-9);
        assert_eq!(scenario.build.geometry.compression_ratio.get(), 10.5);
        assert_eq!(scenario.fuels.len(), 2);
        let document = parsed(&text).unwrap();
        let bore = typed_of(&document, field_of("engine.bore_mm").unwrap());
        assert_eq!(bore, ("4.00".to_owned(), Unit::Inch));
        assert_eq!(typed_of(&document, field_of(FUELS).unwrap()).0, "premium-93; e85");
        // What cannot be read is kept as typed and told at its field.
        let wrong =
            changed(&text, &[change("engine.bore_mm", "1,200", "mm"), change("engine.cylinders", "two", "")]);
        let wrong = wrong.unwrap();
        assert_eq!(typed_of(&parsed(&wrong).unwrap(), field_of("engine.bore_mm").unwrap()).0, "1,200");
        assert_eq!(
            bad(&wrong),
            [("engine.cylinders".to_owned(), false), ("engine.bore_mm".to_owned(), false)]
        );
    }

    #[test]
    fn comments_stay_and_an_empty_section_goes() {
        let demo = scenario::DEMO;
        let text = changed(demo, &[change("limits.peak_pressure_bar", "100", "")]).unwrap();
        assert!(text.contains("[limits]"));
        let text = changed(&text, &[change("limits.peak_pressure_bar", "", "")]).unwrap();
        assert!(!text.contains("peak_pressure_bar") && text.contains("# "), "{text}");
        let comments = |text: &str| text.matches('#').count();
        let text = changed(demo, &[change("engine.compression_ratio", "12", "")]).unwrap();
        assert_eq!(comments(&text), comments(demo), "{text}");
    }

    #[test]
    fn messages_name_labels() {
        let text = changed(scenario::DEMO, &[change("engine.bore_mm", "999", "")]).unwrap();
        let problems = checked(&text, &FuelLibrary::shipped().unwrap()).unwrap_err();
        assert!(
            problems[0].message.starts_with("Bore = 999 is not allowed; it takes a number from 40"),
            "{problems:?}"
        );
        assert!(problems.iter().all(|problem| !problem.message.contains('_')), "{problems:?}");
    }
}
