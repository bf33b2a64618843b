//! The file as typed: a spanned TOML document read key by key, every mistake noted on the way.
//!
//! A [`Section`] hands out values of the right type and range, or notes why it cannot. What it was
//! asked for is what the section knows; everything else in it is reported as unknown at its end.

mod ways;

pub(crate) use ways::KeyWay;

use super::asked::{Question, Takes, Usual, WayId, WhenLeftOut};
use super::diagnostics::{Expected, ProblemKind};
use super::nearest::nearest;
use super::notes::{GivenValue, Notes, join};
use super::places::Places;
use crate::units::Allowed;
use std::ops::RangeInclusive;
use toml::de::{DeTable, DeValue};

/// What a section is read from.
#[derive(Clone, Copy)]
enum Source<'t> {
    /// Keys with their values.
    Table(&'t DeTable<'t>),
    /// Nothing: an absent section yields nothing and notes nothing.
    Absent,
    /// Every key counts as given and none has a value: what is asked is kept, nothing is noted.
    Any,
}

/// One section of the file while it is read.
pub(crate) struct Section<'n, 't> {
    notes: &'n mut Notes<'t>,
    source: Source<'t>,
    path: String,
    offset: usize,
    known: Vec<&'static str>,
    /// Keys given without their unit, and how.
    shortened: Vec<(&'static str, &'static str)>,
    missing: Vec<(&'static str, Expected)>,
    /// The ways that are being read.
    within: Vec<WayId>,
}

impl<'n, 't> Section<'n, 't> {
    /// Reads the whole document through `read`.
    pub fn root<T>(
        notes: &'n mut Notes<'t>,
        table: &'t DeTable<'t>,
        read: impl FnOnce(&mut Section<'_, 't>) -> T,
    ) -> T {
        Section::run(notes, Source::Table(table), String::new(), 0, read)
    }

    /// Keeps in the notes what `read` asks of a document that gives every key.
    pub fn of_any<T>(notes: &'n mut Notes<'t>, read: impl FnOnce(&mut Section<'_, 't>) -> T) {
        Section::run(notes, Source::Any, String::new(), 0, read);
    }

    fn run<T>(
        notes: &'n mut Notes<'t>,
        source: Source<'t>,
        path: String,
        offset: usize,
        read: impl FnOnce(&mut Section<'_, 't>) -> T,
    ) -> T {
        let (known, shortened, missing, within) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        let mut section = Section { notes, source, path, offset, known, shortened, missing, within };
        let result = read(&mut section);
        section.finish();
        result
    }

    /// Files what is left over: strays, and missing keys that no stray was meant to be.
    fn finish(self) {
        let Self { notes, source, path, offset, known, missing, shortened: _, within: _ } = self;
        let meant = match source {
            Source::Table(table) => notes.note_strays(&path, table, &known),
            Source::Absent | Source::Any => Vec::new(),
        };
        for (key, expected) in missing {
            if !meant.contains(&key) {
                notes.note(&join(&path, key), offset, None, ProblemKind::Missing { expected }, None);
            }
        }
        notes.learn(&path, &known);
    }

    /// The note book, for problems that concern several keys.
    pub fn notes(&mut self) -> &mut Notes<'t> {
        self.notes
    }

    /// The value of a key, if given, by its name or by that without its unit. Makes the key known.
    pub fn find(&mut self, key: &'static str) -> Option<GivenValue<'t>> {
        let is_new = !self.known.contains(&key);
        if is_new {
            self.known.push(key);
        }
        let table = self.table()?;
        let named = |key: &str, is_in_open_unit| {
            let (name, value) = table.get_key_value(key)?;
            Some(GivenValue {
                path: join(&self.path, key),
                offset: name.span().start,
                value,
                is_in_open_unit,
            })
        };
        let by_name = named(key, false);
        let short = without_unit(key);
        let is_of_another =
            |short: &str| self.shortened.iter().any(|(of, claimed)| *claimed == short && *of != key);
        let by_short = short.filter(|short| !is_of_another(short)).and_then(|short| named(short, true));
        if let (true, Some(short), Some(given)) = (is_new, short, &by_short) {
            self.shortened.push((key, short));
            self.known.push(short);
            if by_name.is_some() {
                let why = format!("{key} is given too; keep one of the two");
                self.notes.note_value(given, ProblemKind::Contradiction { why }, None);
            }
        }
        by_name.or(by_short)
    }

    /// Where its keys stand.
    pub fn places(&self, file: &str) -> Places {
        Places::of(self.notes, file, self.table())
    }

    fn table(&self) -> Option<&'t DeTable<'t>> {
        match self.source {
            Source::Table(table) => Some(table),
            Source::Absent | Source::Any => None,
        }
    }

    /// Whether a key is given. Makes the key known.
    pub fn has(&mut self, key: &'static str) -> bool {
        self.find(key).is_some() || matches!(self.source, Source::Any)
    }

    /// Notes that the value of a given key does not go with the others.
    pub fn contradiction(&mut self, key: &'static str, why: &str, hint: Option<String>) {
        if let Some(given) = self.find(key) {
            self.notes.note_value(&given, ProblemKind::Contradiction { why: why.to_owned() }, hint);
        }
    }

    /// Notes that a key, or a choice of keys, is missing here.
    pub fn miss(&mut self, key: &'static str, expected: Expected) {
        if self.table().is_some() && !self.missing.iter().any(|(missing, _)| *missing == key) {
            self.missing.push((key, expected));
        }
    }

    /// Keeps that a key is asked for, when that is what is wanted.
    fn keep(&mut self, key: &'static str, takes: Takes, asked: WhenLeftOut) {
        if let Source::Any = self.source {
            let (section, within) = (self.path.clone(), self.within.clone());
            self.notes.asked().questions.push(Question { section, key, takes, asked, within });
        }
    }

    /// Asks for a key.
    fn ask(&mut self, key: &'static str, expected: &Expected, asked: WhenLeftOut) -> Option<GivenValue<'t>> {
        let required = asked == WhenLeftOut::Missing;
        self.keep(key, Takes::Value(expected.clone()), asked);
        let given = self.find(key);
        if required && given.is_none() {
            self.miss(key, expected.clone());
        }
        given
    }

    /// Notes that a key is missing which nothing stands in for here.
    pub fn needs(&mut self, key: &'static str, expected: Expected) {
        if !self.has(key) {
            self.miss(key, expected);
        }
    }

    /// The value of a key of a section of this one, by its name or by that without its unit, before that section is read.
    pub fn peek(&self, section: &str, key: &str) -> Option<&'t DeValue<'t>> {
        let section = self.table()?.get(section)?.get_ref().as_table()?;
        let value = section.get(key).or_else(|| section.get(without_unit(key)?));
        value.map(|value| value.get_ref())
    }

    /// A number for which another stands where it is left out. `None` when it is wrong.
    pub fn number_or(&mut self, key: &'static str, allowed: Allowed, usual: f64) -> Option<f64> {
        let expected = Expected::Number(allowed);
        match self.ask(key, &expected, WhenLeftOut::Usual(Usual::Number(usual))) {
            Some(given) => self.notes.number(&given, &expected),
            None => Some(usual),
        }
    }

    /// The same in the unit used inside; what stands for it is in the unit of the key.
    pub fn si_or(&mut self, key: &'static str, allowed: Allowed, usual: f64) -> Option<f64> {
        self.number_or(key, allowed, usual).map(|value| allowed.unit.to_si(value))
    }

    /// A word for which another meaning stands where it is left out. `None` when it is wrong.
    pub fn word_or<T: Copy + PartialEq>(
        &mut self,
        key: &'static str,
        words: &[(&'static str, T)],
        usual: T,
    ) -> Option<T> {
        let expected = Expected::Word(words.iter().map(|(word, _)| *word).collect());
        let word = words.iter().find(|(_, meaning)| *meaning == usual).map_or("", |(word, _)| *word);
        match self.ask(key, &expected, WhenLeftOut::Usual(Usual::Word(word))) {
            Some(given) => self.notes.word(&given, words, expected),
            None => Some(usual),
        }
    }

    /// A number that must be given.
    pub fn number(&mut self, key: &'static str, allowed: Allowed) -> Option<f64> {
        let expected = Expected::Number(allowed);
        let given = self.ask(key, &expected, WhenLeftOut::Missing)?;
        self.notes.number(&given, &expected)
    }

    /// A number that may be left out.
    pub fn optional_number(&mut self, key: &'static str, allowed: Allowed) -> Option<f64> {
        let expected = Expected::Number(allowed);
        let given = self.ask(key, &expected, WhenLeftOut::Nothing)?;
        self.notes.number(&given, &expected)
    }

    /// A number that must be given, in the unit used inside.
    pub fn si(&mut self, key: &'static str, allowed: Allowed) -> Option<f64> {
        self.number(key, allowed).map(|value| allowed.unit.to_si(value))
    }

    /// A number that may be left out, in the unit used inside.
    pub fn optional_si(&mut self, key: &'static str, allowed: Allowed) -> Option<f64> {
        self.optional_number(key, allowed).map(|value| allowed.unit.to_si(value))
    }

    /// A number by an older key: read where it is given, and neither in the schema nor in the starter.
    pub fn older_number(&mut self, key: &'static str, allowed: Allowed) -> Option<f64> {
        let given = self.find(key)?;
        self.notes.number(&given, &Expected::Number(allowed))
    }

    /// A whole number that must be given.
    pub fn count(&mut self, key: &'static str, range: RangeInclusive<u32>) -> Option<u32> {
        let expected = count_in(range);
        let given = self.ask(key, &expected, WhenLeftOut::Missing)?;
        self.notes.count(&given, &expected)
    }

    /// A whole number that may be left out.
    pub fn optional_count(&mut self, key: &'static str, range: RangeInclusive<u32>) -> Option<u32> {
        let expected = count_in(range);
        let given = self.ask(key, &expected, WhenLeftOut::Nothing)?;
        self.notes.count(&given, &expected)
    }

    /// A word that must be given; yields what it stands for.
    pub fn word<T: Copy>(&mut self, key: &'static str, words: &[(&'static str, T)]) -> Option<T> {
        self.any_word(key, words, true)
    }

    /// A word that may be left out.
    pub fn optional_word<T: Copy>(&mut self, key: &'static str, words: &[(&'static str, T)]) -> Option<T> {
        self.any_word(key, words, false)
    }

    fn any_word<T: Copy>(
        &mut self,
        key: &'static str,
        words: &[(&'static str, T)],
        required: bool,
    ) -> Option<T> {
        let expected = Expected::Word(words.iter().map(|(word, _)| *word).collect());
        let given = self.ask(key, &expected, WhenLeftOut::of(required))?;
        self.notes.word(&given, words, expected)
    }

    /// Text that must be given and not be empty.
    pub fn text(&mut self, key: &'static str) -> Option<String> {
        let given = self.ask(key, &Expected::Text, WhenLeftOut::Missing)?;
        self.notes.text(&given)
    }

    /// A name of lower-case letters, digits, `-` and `.` that must be given.
    pub fn name(&mut self, key: &'static str) -> Option<String> {
        let given = self.ask(key, &Expected::Name, WhenLeftOut::Missing)?;
        self.notes.name(&given)
    }

    /// Text that may be left out.
    pub fn optional_text(&mut self, key: &'static str) -> Option<String> {
        let given = self.ask(key, &Expected::Text, WhenLeftOut::Nothing)?;
        self.notes.text(&given)
    }

    /// A list of numbers that must be given. `None` when any entry is wrong.
    pub fn numbers(
        &mut self,
        key: &'static str,
        length: RangeInclusive<usize>,
        allowed: Allowed,
    ) -> Option<Vec<f64>> {
        self.any_numbers(key, length, allowed, true)
    }

    /// A list of numbers that may be left out. `None` when it is, or when any entry is wrong.
    pub fn optional_numbers(
        &mut self,
        key: &'static str,
        length: RangeInclusive<usize>,
        allowed: Allowed,
    ) -> Option<Vec<f64>> {
        self.any_numbers(key, length, allowed, false)
    }

    fn any_numbers(
        &mut self,
        key: &'static str,
        length: RangeInclusive<usize>,
        allowed: Allowed,
        required: bool,
    ) -> Option<Vec<f64>> {
        let entry = Expected::Number(allowed);
        let given = self.ask(key, &list_of(&entry, &length), WhenLeftOut::of(required))?;
        let entries = self.entries(&given, length, &entry)?;
        let read: Vec<_> = entries.iter().map(|given| self.notes.number(given, &entry)).collect();
        read.into_iter().collect()
    }

    /// A list of so many numbers for which others stand where it is left out. `None` when any entry is wrong.
    pub fn numbers_or<const N: usize>(
        &mut self,
        key: &'static str,
        allowed: Allowed,
        usual: [f64; N],
    ) -> Option<[f64; N]> {
        let (entry, length) = (Expected::Number(allowed), N..=N);
        let expected = list_of(&entry, &length);
        let Some(given) = self.ask(key, &expected, WhenLeftOut::Usual(Usual::Numbers(usual.to_vec()))) else {
            return Some(usual);
        };
        let entries = self.entries(&given, length, &entry)?;
        let read: Vec<_> = entries.iter().map(|given| self.notes.number(given, &entry)).collect();
        read.into_iter().collect::<Option<Vec<_>>>()?.try_into().ok()
    }

    /// A list of texts that must be given, each with its place. `None` when any entry is wrong.
    pub fn texts(
        &mut self,
        key: &'static str,
        length: RangeInclusive<usize>,
    ) -> Option<Vec<(String, GivenValue<'t>)>> {
        let given = self.ask(key, &list_of(&Expected::Text, &length), WhenLeftOut::Missing)?;
        let entries = self.entries(&given, length, &Expected::Text)?;
        let read: Vec<_> =
            entries.into_iter().map(|given| self.notes.text(&given).map(|text| (text, given))).collect();
        read.into_iter().collect()
    }

    fn entries(
        &mut self,
        given: &GivenValue<'t>,
        length: RangeInclusive<usize>,
        entry: &Expected,
    ) -> Option<Vec<GivenValue<'t>>> {
        self.notes.entries(given, list_of(entry, &length), length)
    }

    /// A section inside this one. When it must be there and is not, that alone is noted.
    pub fn sub<T>(
        &mut self,
        key: &'static str,
        required: bool,
        read: impl FnOnce(&mut Section<'_, 't>) -> T,
    ) -> T {
        self.keep(key, Takes::Section, WhenLeftOut::of(required));
        let given = self.find(key).or_else(|| self.misnamed(key));
        if required && given.is_none() {
            self.miss(key, Expected::Section);
        }
        let source = match (self.source, &given) {
            (Source::Any, _) => Source::Any,
            (_, Some(given)) => self.notes.table(given).map_or(Source::Absent, Source::Table),
            (_, None) => Source::Absent,
        };
        let (path, offset) =
            given.map_or_else(|| (join(&self.path, key), 0), |given| (given.path, given.offset));
        Section::run(self.notes, source, path, offset, read)
    }

    /// Any number of sections of one name inside this one, each with its line; those with a problem are left out.
    pub fn sections<T>(
        &mut self,
        key: &'static str,
        most: usize,
        mut read: impl FnMut(&mut Section<'_, 't>, usize) -> Option<T>,
    ) -> Vec<T> {
        self.keep(key, Takes::Sections, WhenLeftOut::Nothing);
        if let Source::Any = self.source {
            let path = join(&self.path, key);
            Section::run(self.notes, Source::Any, path, 0, |s| read(s, 0));
        }
        let Some(given) = self.find(key) else { return Vec::new() };
        let expected = list_of(&Expected::Section, &(0..=most));
        let entries = self.notes.entries(&given, expected, 0..=most).unwrap_or_default();
        let one = |entry: GivenValue<'t>| {
            let table = self.notes.table(&entry)?;
            let line = self.notes.line(entry.offset);
            Section::run(self.notes, Source::Table(table), entry.path, entry.offset, |s| read(s, line))
        };
        entries.into_iter().filter_map(one).collect()
    }

    /// A section whose name is like `key`, so that what is wrong inside it is found as well.
    /// Its name is reported as unknown at the end.
    fn misnamed(&self, key: &'static str) -> Option<GivenValue<'t>> {
        let (name, value) = self
            .table()?
            .iter()
            .find(|(name, value)| value.get_ref().is_table() && nearest(name.get_ref(), [key]).is_some())?;
        let path = join(&self.path, name.get_ref());
        Some(GivenValue { path, offset: name.span().start, value, is_in_open_unit: false })
    }

    /// The numbers of a section whose keys are free, such as names of fuels, in the order of the file; `None` for
    /// one that is wrong.
    pub fn free_numbers(
        &mut self,
        key: &'static str,
        required: bool,
        allowed: Allowed,
    ) -> Vec<(String, GivenValue<'t>, Option<f64>)> {
        let expected = Expected::Number(allowed);
        self.keep(key, Takes::Entries(expected.clone()), WhenLeftOut::of(required));
        if required && self.find(key).is_none() {
            self.miss(key, Expected::Section);
        }
        let entries = self.free_entries(key).into_iter();
        entries
            .map(|(name, given)| {
                let number = self.notes.number(&given, &expected);
                (name, given, number)
            })
            .collect()
    }

    fn free_entries(&mut self, key: &'static str) -> Vec<(String, GivenValue<'t>)> {
        let Some(given) = self.find(key) else { return Vec::new() };
        let table = self.notes.table(&given);
        let mut entries: Vec<_> = table
            .into_iter()
            .flatten()
            .map(|(name, value)| {
                let text = name.get_ref().to_string();
                let path = join(&given.path, &text);
                (text, GivenValue { path, offset: name.span().start, value, is_in_open_unit: false })
            })
            .collect();
        entries.sort_by_key(|(_, given)| given.offset);
        entries
    }
}

/// A key without the unit at its end, whose value then names the unit; none for a key that ends with none.
pub(crate) fn without_unit(key: &str) -> Option<&str> {
    const UNITS: [&str; 15] = [
        "_m_per_s",
        "_l_per_s",
        "_l_per_h",
        "_kg_per_l",
        "_cc_per_min",
        "_in_h2o",
        "_cfm",
        "_percent",
        "_kpa",
        "_bar",
        "_pa",
        "_rpm",
        "_mm",
        "_cc",
        "_c",
    ];
    UNITS.iter().chain(["_m"].iter()).find_map(|unit| key.strip_suffix(unit))
}

/// What a whole number in a range takes.
fn count_in(range: RangeInclusive<u32>) -> Expected {
    let (low, high) = range.into_inner();
    Expected::Count { low, high }
}

/// What a list of so many entries takes.
fn list_of(entry: &Expected, length: &RangeInclusive<usize>) -> Expected {
    Expected::List { entry: Box::new(entry.clone()), fewest: *length.start(), most: *length.end() }
}
