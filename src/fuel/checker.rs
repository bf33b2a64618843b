//! The book of problems of one fuel file.

use crate::fuel::blend::SHARE_TOLERANCE;
use crate::fuel::error::{FuelError, Problem};
use crate::fuel::file::SHARE;
use crate::printable::is_hidden;
use std::collections::BTreeMap;
use std::ops::RangeInclusive;

/// Collects the problems of one file while it is checked.
#[derive(Default)]
pub(super) struct Checker {
    pub(super) problems: Vec<Problem>,
}

impl Checker {
    /// Notes a value outside its range (or not a number) and returns it.
    pub(super) fn range(&mut self, key: &str, value: f64, range: RangeInclusive<f64>) -> f64 {
        if !range.contains(&value) {
            let (low, high) = range.into_inner();
            self.problems.push(Problem::Range { key: key.to_owned(), value, low, high });
        }
        value
    }

    /// Words on one line; notes those with a character that acts on the screen.
    pub(super) fn words(&mut self, key: &'static str, typed: &str) -> String {
        let words = typed.split_whitespace().collect::<Vec<_>>().join(" ");
        if words.contains(is_hidden) {
            self.problems.push(Problem::Hidden { key });
        }
        words
    }

    /// Notes shares that are not from 0 to 1 or do not add to 1.
    pub(super) fn shares(&mut self, key: &str, shares: &BTreeMap<String, f64>) {
        for (name, share) in shares {
            self.range(&format!("{key}.{name}"), *share, SHARE);
        }
        let sum: f64 = shares.values().sum();
        if (sum - 1.0).abs() > SHARE_TOLERANCE {
            self.problems.push(Problem::Sum { key: key.to_owned(), sum });
        }
    }

    /// Notes a name that a recipe could not hold.
    pub(super) fn name(&mut self, name: &str) {
        let allowed = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-' || c == '.';
        if !name.starts_with(|c: char| c.is_ascii_lowercase()) || !name.chars().all(allowed) {
            self.problems.push(Problem::BadName { name: name.to_owned() });
        }
    }

    /// The value, or all problems found so far.
    pub(super) fn finish<T>(self, file: &str, value: T) -> Result<T, FuelError> {
        if self.problems.is_empty() {
            Ok(value)
        } else {
            Err(FuelError::Invalid { file: file.to_owned(), problems: self.problems })
        }
    }
}
