//! Keys that go together: several ways to give the same thing, and keys that need another.

use super::{Section, Source};
use crate::input::asked::{Either, KeyChoice, Need};
use crate::input::diagnostics::Expected;

/// One of several ways to give the same thing.
pub(crate) struct KeyWay<'r, 'n, 't, T> {
    /// What it is called in messages.
    pub words: &'static str,
    /// Keys that show that this way is taken.
    pub keys: &'r [&'static str],
    /// Reads it.
    pub read: &'r dyn Fn(&mut Section<'n, 't>) -> Option<T>,
}

impl<'n, 't> Section<'n, 't> {
    /// What can be given in one of several ways, with `missing` (a key and what to say) when one must be taken.
    /// A way after the first that is given is a contradiction. A way that is not given is asked for like an
    /// absent section.
    pub fn one_of<T>(
        &mut self,
        missing: Option<(&'static str, Expected)>,
        ways: &[KeyWay<'_, 'n, 't, T>],
    ) -> Option<T> {
        let choice = self.notes.asked().choices.len();
        if let Source::Any = self.source {
            let (section, within) = (self.path.clone(), self.within.clone());
            let (ways, missing) = (ways.iter().map(|way| way.words).collect(), missing.clone());
            self.notes.asked().choices.push(KeyChoice { section, ways, missing, within });
        }
        let (mut kept, mut found) = (None, None);
        for (i, way) in ways.iter().enumerate() {
            let given = way.keys.iter().copied().find(|key| self.has(key));
            if let (Some(key), Some(earlier)) = (given, kept) {
                self.contradiction(key, &format!("{earlier} is given too; keep one of the two"), None);
            }
            let source = self.source;
            if given.is_none() {
                self.source = Source::Absent;
            }
            self.within.push((choice, i));
            let read = (way.read)(self);
            self.within.pop();
            self.source = source;
            if given.is_some() && kept.is_none() {
                (kept, found) = (Some(way.words), read);
            }
        }
        if let (None, Some((key, expected))) = (kept, missing) {
            self.miss(key, expected);
        }
        found
    }

    /// Whether a key is given without another that it needs; `missing` is what is said of the other.
    fn lacks(&mut self, key: &'static str, other: &'static str, missing: Option<&Expected>) -> bool {
        if let Source::Any = self.source {
            let (section, missing) = (self.path.clone(), missing.cloned());
            self.notes.asked().needs.push(Need { section, key, other, missing });
        }
        self.has(key) && !self.has(other)
    }

    /// Notes that one of some keys must be given, as the first of them, when none is.
    pub fn one_needed(&mut self, keys: &[&'static str], expected: Expected) {
        if let Source::Any = self.source {
            let (section, within) = (self.path.clone(), self.within.clone());
            self.notes.asked().either.push(Either { section, keys: keys.to_vec(), within });
        }
        if let Some(first) = keys.first()
            && !keys.iter().any(|key| self.has(key))
        {
            self.miss(first, expected);
        }
    }

    /// Notes that a key goes for nothing without another.
    pub fn goes_with(&mut self, key: &'static str, other: &'static str, why: &str) {
        if self.lacks(key, other, None) {
            self.contradiction(key, why, None);
        }
    }

    /// Notes that another key is missing where a key is given.
    pub fn asks_for(&mut self, key: &'static str, other: &'static str, expected: Expected) {
        if self.lacks(key, other, Some(&expected)) {
            self.miss(other, expected);
        }
    }
}
