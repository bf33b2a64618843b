//! Why a setting is refused: which key, what it was set to, what is allowed.

use super::control::Control;
use super::field::{field_of, label};
use crate::estimate::EstimateError;
use crate::printable::{is_hidden, printable_lines};
use schemars::JsonSchema;
use serde::Serialize;
use std::ops::RangeInclusive;

/// A setting that cannot be run. Serialises as one object for the page.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema, thiserror::Error)]
#[error("{}", self.sentence())]
pub struct Refusal {
    /// The key that is wrong; empty when it is the combination of several.
    pub key: String,
    /// Its value as it was found, shortened.
    pub value: String,
    /// What is allowed, or what is wrong, in words.
    pub allowed: String,
}

/// Most characters of a value that is told.
const MOST_TOLD: usize = 60;

impl Refusal {
    /// A key whose value is not allowed.
    pub fn new(key: &str, value: &str, allowed: impl Into<String>) -> Self {
        let told = |text: &str| -> String {
            let mut told: String = text.chars().filter(|c| !is_hidden(*c)).take(MOST_TOLD).collect();
            if text.chars().count() > MOST_TOLD {
                told += "...";
            }
            told
        };
        Self { key: told(key), value: told(value), allowed: printable_lines(&allowed.into()).into_owned() }
    }

    /// A control whose value is no number, or outside its range.
    pub(super) fn out_of(control: Control, value: &str, range: &RangeInclusive<f64>) -> Self {
        let (low, high, unit) = (range.start(), range.end(), control.facts().unit);
        Self::new(control.key(), value, format!("it takes a number from {low} to {high} {unit}").trim_end())
    }

    /// A setting whose every key is allowed, but which does not run; or a text that cannot be read, of which `why` may quote a line.
    pub fn whole(why: impl std::fmt::Display) -> Self {
        Self::new("", "", why.to_string())
    }

    fn sentence(&self) -> String {
        match (self.key.as_str(), self.value.as_str()) {
            ("", _) => self.allowed.clone(),
            (key, "") => format!("{}: {}", label_of(key), self.allowed),
            (key, value) => format!("{} \"{value}\": {}", label_of(key), self.allowed),
        }
    }
}

/// What the page calls what a key stands for.
fn label_of(key: &str) -> String {
    match (Control::of_key(key), field_of(key)) {
        (Some(control), _) => control.facts().label.to_owned(),
        (None, Some(field)) => field.label.clone(),
        (None, None) => label(key),
    }
}

impl From<EstimateError> for Refusal {
    fn from(error: EstimateError) -> Self {
        Self::whole(error)
    }
}
