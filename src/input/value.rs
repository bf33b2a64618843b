//! From one TOML value to a number, word, text or list, or the note that says why not.

use super::diagnostics::{Expected, ProblemKind};
use super::nearest::nearest;
use super::notes::{GivenValue, Notes};
use crate::printable::is_hidden;
use crate::units::{Allowed, TypedFault, Unit, rounded, split_number};
use std::ops::RangeInclusive;
use toml::de::{DeTable, DeValue};

impl<'t> Notes<'t> {
    /// The value as a number within `expected`.
    pub fn number(&mut self, given: &GivenValue<'t>, expected: &Expected) -> Option<f64> {
        let &Expected::Number(allowed) = expected else { return None };
        let value = self.typed_number(given, allowed)?;
        if !value.is_finite() {
            self.note_value(given, ProblemKind::NotFinite { expected: expected.clone() }, None);
            return None;
        }
        if !allowed.range().contains(&value) {
            let hint = match given.value() {
                DeValue::String(_) => Some(format!("that is {} {}", rounded(value), allowed.unit)),
                _ => allowed.slip_hint(value),
            };
            self.note_value(given, ProblemKind::OutOfRange { expected: expected.clone() }, hint);
            return None;
        }
        Some(value)
    }

    /// The value as a number in the unit of what is allowed: a bare one, unless the key leaves its unit open, or text with
    /// a unit.
    fn typed_number(&mut self, given: &GivenValue<'t>, allowed: Allowed) -> Option<f64> {
        let expected = Expected::Number(allowed);
        let bare = as_number(given.value());
        let fault = match given.value().as_str().map(|text| allowed.typed(text)) {
            Some(Ok(value)) => return Some(value),
            Some(Err(fault)) => fault,
            None if bare.is_some() && given.is_in_open_unit => TypedFault::NoUnit,
            None if bare.is_some() => return bare,
            None => {
                self.wrong_type(given, expected, None);
                return None;
            }
        };
        if fault == TypedFault::NoNumber || allowed.unit.family().is_empty() {
            self.wrong_type(given, expected, quoted_number_hint(given.value()));
        } else {
            let units = Unit::listed(allowed.unit.family());
            self.note_value(given, ProblemKind::WrongUnit { expected, units }, None);
        }
        None
    }

    /// The value as a whole number within `expected`; 4 and 4.0 are both whole.
    pub fn count(&mut self, given: &GivenValue<'t>, expected: &Expected) -> Option<u32> {
        let &Expected::Count { low, high } = expected else { return None };
        let Some(value) = as_number(given.value()) else {
            self.wrong_type(given, expected.clone(), quoted_number_hint(given.value()));
            return None;
        };
        let whole = (low..=high).find(|count| f64::from(*count) == value);
        if whole.is_none() {
            let expected = expected.clone();
            let kind = match value.is_finite() {
                true => ProblemKind::OutOfRange { expected },
                false => ProblemKind::NotFinite { expected },
            };
            self.note_value(given, kind, None);
        }
        whole
    }

    /// What the word stands for.
    pub fn word<T: Copy>(
        &mut self,
        given: &GivenValue<'t>,
        words: &[(&'static str, T)],
        expected: Expected,
    ) -> Option<T> {
        let DeValue::String(typed) = given.value() else {
            self.wrong_type(given, expected, None);
            return None;
        };
        let meaning = words.iter().find(|(word, _)| *word == typed).map(|(_, meaning)| *meaning);
        if meaning.is_none() {
            let nearest = nearest(typed, words.iter().map(|(word, _)| *word)).map(str::to_owned);
            let allowed = words.iter().map(|(word, _)| (*word).to_owned()).collect();
            self.note_value(given, ProblemKind::UnknownWord { nearest, allowed }, None);
        }
        meaning
    }

    /// The value as text on one line, not empty and without hidden characters.
    pub fn text(&mut self, given: &GivenValue<'t>) -> Option<String> {
        let DeValue::String(typed) = given.value() else {
            self.wrong_type(given, Expected::Text, None);
            return None;
        };
        let text = typed.split_whitespace().collect::<Vec<_>>().join(" ");
        if text.is_empty() || text.contains(is_hidden) {
            self.note_value(given, ProblemKind::OutOfRange { expected: Expected::Text }, None);
            return None;
        }
        Some(text)
    }

    /// The value as a name that a recipe can hold: [`Expected::Name`].
    pub fn name(&mut self, given: &GivenValue<'t>) -> Option<String> {
        let DeValue::String(typed) = given.value() else {
            self.wrong_type(given, Expected::Name, None);
            return None;
        };
        let is_allowed = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-' || c == '.';
        if !typed.starts_with(|c: char| c.is_ascii_lowercase()) || !typed.chars().all(is_allowed) {
            self.note_value(given, ProblemKind::OutOfRange { expected: Expected::Name }, None);
            return None;
        }
        Some(typed.to_string())
    }

    /// The value as a list of so many entries.
    pub fn entries(
        &mut self,
        given: &GivenValue<'t>,
        expected: Expected,
        length: RangeInclusive<usize>,
    ) -> Option<Vec<GivenValue<'t>>> {
        let DeValue::Array(array) = given.value() else {
            let single = !given.value().is_table();
            let hint = single.then(|| "put a list in square brackets".to_owned());
            self.wrong_type(given, expected, hint);
            return None;
        };
        if !length.contains(&array.len()) {
            let hint = Some(format!("the list has {} entries", array.len()));
            self.note_value(given, ProblemKind::OutOfRange { expected }, hint);
            return None;
        }
        Some(array.iter().enumerate().map(|(i, value)| given.entry(i, value)).collect())
    }

    /// The value as a section.
    pub fn table(&mut self, given: &GivenValue<'t>) -> Option<&'t DeTable<'t>> {
        let table = given.value().as_table();
        if table.is_none() {
            let hint =
                given.value().is_array().then(|| "put a section in single square brackets, once".to_owned());
            self.wrong_type(given, Expected::Section, hint);
        }
        table
    }

    fn wrong_type(&mut self, given: &GivenValue<'t>, expected: Expected, hint: Option<String>) {
        self.note_value(given, ProblemKind::WrongType { expected }, hint);
    }
}

fn as_number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        // Beyond 128 bits no key has a use for the value; infinity is refused with a message.
        DeValue::Integer(typed) => {
            let whole = i128::from_str_radix(typed.as_str(), typed.radix());
            Some(whole.map_or(f64::INFINITY, |whole| whole as f64))
        }
        DeValue::Float(typed) => typed.as_str().parse().ok(),
        _ => None,
    }
}

/// What to do about a number typed as text that takes no unit, such as "4".
fn quoted_number_hint(value: &DeValue<'_>) -> Option<String> {
    let (number, _) = split_number(value.as_str()?);
    number.parse::<f64>().ok()?;
    Some(format!("write {number} alone, without quotes"))
}
