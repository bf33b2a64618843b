//! The file as typed: a spanned TOML document read key by key, every mistake noted on the way.
//!
//! A [`Section`] hands out values of the right type and range, or notes why it cannot. What it was
//! asked for is what the section knows; everything else in it is reported as unknown at its end.

use super::diagnostics::{Expected, Problem, ProblemKind};
use super::nearest::{differs_in_unit, nearest};
use super::unit::Unit;
use std::ops::RangeInclusive;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Longest piece of the file quoted in a message [characters].
const LONGEST_QUOTE: usize = 60;

/// A value as it stands in the file.
pub(super) struct Given<'t> {
    /// Dotted path; entries of a list are counted from 1.
    pub path: String,
    /// Byte offset of the key or list entry.
    pub offset: usize,
    value: &'t Spanned<DeValue<'t>>,
}

impl<'t> Given<'t> {
    /// The TOML value.
    pub fn value(&self) -> &'t DeValue<'t> {
        self.value.get_ref()
    }

    /// Entry `index` (from 0) of this list.
    pub fn entry(&self, index: usize, value: &'t Spanned<DeValue<'t>>) -> Self {
        Given { path: format!("{}[{}]", self.path, index + 1), offset: value.span().start, value }
    }
}

/// A key nobody asked for.
struct Stray {
    name: String,
    path: String,
    offset: usize,
    typed: Option<String>,
    nearest: Option<&'static str>,
    known: Vec<&'static str>,
}

/// The text and what was found wrong in it so far.
pub(super) struct Notes<'t> {
    file: &'t str,
    text: &'t str,
    problems: Vec<Problem>,
    known: Vec<(String, &'static str)>,
    strays: Vec<Stray>,
}

impl<'t> Notes<'t> {
    /// An empty note book for `text`, called `file` in messages.
    pub fn new(file: &'t str, text: &'t str) -> Self {
        Self { file, text, problems: Vec::new(), known: Vec::new(), strays: Vec::new() }
    }

    /// Line of a byte offset, from 1.
    pub fn line(&self, offset: usize) -> usize {
        1 + self.text.bytes().take(offset).filter(|byte| *byte == b'\n').count()
    }

    fn column(&self, offset: usize) -> usize {
        let before = self.text.get(..offset).unwrap_or(self.text);
        1 + before.rsplit('\n').next().unwrap_or_default().chars().count()
    }

    fn quote(&self, span: std::ops::Range<usize>) -> String {
        let raw = self.text.get(span).unwrap_or_default();
        let line = raw.split_whitespace().collect::<Vec<_>>().join(" ");
        if line.chars().count() <= LONGEST_QUOTE {
            return line;
        }
        line.chars().take(LONGEST_QUOTE - 3).chain("...".chars()).collect()
    }

    /// Notes a problem of the key `path` at a byte offset.
    pub fn note(
        &mut self,
        path: &str,
        offset: usize,
        found: Option<String>,
        kind: ProblemKind,
        hint: Option<String>,
    ) {
        let (line, column) = (self.line(offset), self.column(offset));
        let (file, key) = (self.file.to_owned(), path.to_owned());
        self.problems.push(Problem { file, line, column, key, found, kind, hint });
    }

    /// Notes a problem of a value.
    pub fn note_value(&mut self, given: &Given<'_>, kind: ProblemKind, hint: Option<String>) {
        let found = (!given.value().is_table()).then(|| self.quote(given.value.span()));
        self.note(&given.path, given.offset, found, kind, hint);
    }

    /// Notes what the TOML parser says, once per line.
    pub fn note_syntax(&mut self, error: &toml::de::Error) {
        let offset = error.span().map_or(0, |span| span.start.min(self.text.len()));
        let line = self.line(offset);
        if self.problems.iter().any(|problem| problem.line == line) {
            return;
        }
        let found = self.text.lines().nth(line - 1).map(|typed| typed.trim().to_owned());
        let kind = ProblemKind::Syntax { message: error.message().to_owned() };
        let hint = found.as_deref().is_some_and(has_decimal_comma);
        let hint = hint.then(|| "a decimal point is wanted, not a comma".to_owned());
        self.note("", offset, found, kind, hint);
    }

    /// All problems, by line; unknown keys get the section they belong in.
    pub fn into_problems(mut self) -> Vec<Problem> {
        for stray in std::mem::take(&mut self.strays) {
            let hint = self.stray_hint(&stray);
            let kind = ProblemKind::UnknownKey { nearest: stray.nearest, known: stray.known };
            self.note(&stray.path, stray.offset, stray.typed, kind, hint);
        }
        self.problems.sort_by_key(|problem| (problem.line, problem.column));
        self.problems
    }

    fn stray_hint(&self, stray: &Stray) -> Option<String> {
        if stray.nearest.is_some_and(|known| differs_in_unit(&stray.name, known)) {
            return Some("the unit is part of the key; convert the value to it".to_owned());
        }
        let homes: Vec<String> = self
            .known
            .iter()
            .filter(|(section, key)| *key == stray.name && !section.is_empty())
            .map(|(section, _)| format!("[{section}]"))
            .collect();
        (!homes.is_empty()).then(|| format!("{} belongs in {}", stray.name, homes.join(" or ")))
    }
}

/// One section of the file while it is read.
pub(super) struct Section<'n, 't> {
    notes: &'n mut Notes<'t>,
    /// The keys, unless the section is absent; an absent section yields nothing and notes nothing.
    table: Option<&'t DeTable<'t>>,
    path: String,
    offset: usize,
    known: Vec<&'static str>,
    missing: Vec<(&'static str, Expected)>,
}

impl<'n, 't> Section<'n, 't> {
    /// Reads the whole document through `read`.
    pub fn root<T>(
        notes: &'n mut Notes<'t>,
        table: &'t DeTable<'t>,
        read: impl FnOnce(&mut Section<'_, 't>) -> T,
    ) -> T {
        Section::run(notes, Some(table), String::new(), 0, read)
    }

    fn run<T>(
        notes: &'n mut Notes<'t>,
        table: Option<&'t DeTable<'t>>,
        path: String,
        offset: usize,
        read: impl FnOnce(&mut Section<'_, 't>) -> T,
    ) -> T {
        let mut section = Section { notes, table, path, offset, known: Vec::new(), missing: Vec::new() };
        let result = read(&mut section);
        section.finish();
        result
    }

    /// Files what is left over: strays, and missing keys that no stray was meant to be.
    fn finish(self) {
        let Self { notes, table, path, offset, known, missing } = self;
        let mut meant = Vec::new();
        for (key, value) in table.into_iter().flatten() {
            let name = key.get_ref().as_ref();
            if known.contains(&name) {
                continue;
            }
            let absent = known.iter().copied().filter(|k| table.is_some_and(|t| !t.contains_key(*k)));
            let near = nearest(name, absent).and_then(|word| known.iter().copied().find(|k| *k == word));
            meant.extend(near);
            let typed = (!value.get_ref().is_table()).then(|| notes.quote(value.span()));
            let stray_path = join(&path, name);
            notes.strays.push(Stray {
                name: name.to_owned(),
                path: stray_path,
                offset: key.span().start,
                typed,
                nearest: near,
                known: known.clone(),
            });
        }
        for (key, expected) in missing {
            if !meant.contains(&key) {
                notes.note(&join(&path, key), offset, None, ProblemKind::Missing { expected }, None);
            }
        }
        notes.known.extend(known.into_iter().map(|key| (path.clone(), key)));
    }

    /// The note book, for problems that concern several keys.
    pub fn notes(&mut self) -> &mut Notes<'t> {
        self.notes
    }

    /// The value of a key, if given. Makes the key known.
    pub fn find(&mut self, key: &'static str) -> Option<Given<'t>> {
        if !self.known.contains(&key) {
            self.known.push(key);
        }
        let (name, value) = self.table?.get_key_value(key)?;
        Some(Given { path: join(&self.path, key), offset: name.span().start, value })
    }

    /// Whether a key is given. Makes the key known.
    pub fn has(&mut self, key: &'static str) -> bool {
        self.find(key).is_some()
    }

    /// Notes that the value of a given key does not go with the others.
    pub fn contradiction(&mut self, key: &'static str, why: &str, hint: Option<String>) {
        if let Some(given) = self.find(key) {
            self.notes.note_value(&given, ProblemKind::Contradiction { why: why.to_owned() }, hint);
        }
    }

    /// Notes that a key, or a choice of keys, is missing here.
    pub fn miss(&mut self, key: &'static str, expected: Expected) {
        if self.table.is_some() {
            self.missing.push((key, expected));
        }
    }

    fn need(&mut self, key: &'static str, expected: &Expected) -> Option<Given<'t>> {
        let given = self.find(key);
        if given.is_none() {
            self.miss(key, expected.clone());
        }
        given
    }

    /// A number that must be given.
    pub fn number(&mut self, key: &'static str, range: RangeInclusive<f64>, unit: Unit) -> Option<f64> {
        let expected = number_in(range, unit);
        let given = self.need(key, &expected)?;
        self.notes.number(&given, &expected)
    }

    /// A number that may be left out.
    pub fn optional_number(
        &mut self,
        key: &'static str,
        range: RangeInclusive<f64>,
        unit: Unit,
    ) -> Option<f64> {
        let given = self.find(key)?;
        self.notes.number(&given, &number_in(range, unit))
    }

    /// A whole number that must be given.
    pub fn count(&mut self, key: &'static str, range: RangeInclusive<u32>) -> Option<u32> {
        let (low, high) = range.into_inner();
        let expected = Expected::Count { low, high };
        let given = self.need(key, &expected)?;
        self.notes.count(&given, &expected)
    }

    /// A word that must be given; yields what it stands for.
    pub fn word<T: Copy>(&mut self, key: &'static str, words: &[(&'static str, T)]) -> Option<T> {
        let expected = Expected::Word(words.iter().map(|(word, _)| *word).collect());
        let given = self.need(key, &expected)?;
        self.notes.word(&given, words, expected)
    }

    /// A word that may be left out.
    pub fn optional_word<T: Copy>(&mut self, key: &'static str, words: &[(&'static str, T)]) -> Option<T> {
        let expected = Expected::Word(words.iter().map(|(word, _)| *word).collect());
        let given = self.find(key)?;
        self.notes.word(&given, words, expected)
    }

    /// Text that must be given and not be empty.
    pub fn text(&mut self, key: &'static str) -> Option<String> {
        let given = self.need(key, &Expected::Text)?;
        self.notes.text(&given)
    }

    /// Text that may be left out.
    pub fn optional_text(&mut self, key: &'static str) -> Option<String> {
        let given = self.find(key)?;
        self.notes.text(&given)
    }

    /// A list of numbers that must be given. `None` when any entry is wrong.
    pub fn numbers(
        &mut self,
        key: &'static str,
        length: RangeInclusive<usize>,
        range: RangeInclusive<f64>,
        unit: Unit,
    ) -> Option<Vec<f64>> {
        let entry = number_in(range, unit);
        let entries = self.list(key, length, &entry)?;
        let read: Vec<_> = entries.iter().map(|given| self.notes.number(given, &entry)).collect();
        read.into_iter().collect()
    }

    /// A list of texts that must be given, each with its place. `None` when any entry is wrong.
    pub fn texts(
        &mut self,
        key: &'static str,
        length: RangeInclusive<usize>,
    ) -> Option<Vec<(String, Given<'t>)>> {
        let entries = self.list(key, length, &Expected::Text)?;
        let read: Vec<_> =
            entries.into_iter().map(|given| self.notes.text(&given).map(|text| (text, given))).collect();
        read.into_iter().collect()
    }

    fn list(
        &mut self,
        key: &'static str,
        length: RangeInclusive<usize>,
        entry: &Expected,
    ) -> Option<Vec<Given<'t>>> {
        let (fewest, most) = length.into_inner();
        let expected = Expected::List { entry: Box::new(entry.clone()), fewest, most };
        let given = self.need(key, &expected)?;
        self.notes.entries(&given, expected, fewest..=most)
    }

    /// A section inside this one. When it must be there and is not, that alone is noted.
    pub fn sub<T>(
        &mut self,
        key: &'static str,
        required: bool,
        read: impl FnOnce(&mut Section<'_, 't>) -> T,
    ) -> T {
        let given = self.find(key).or_else(|| self.misnamed(key));
        if required && given.is_none() {
            self.miss(key, Expected::Section);
        }
        let table = given.as_ref().and_then(|given| self.notes.table(given));
        let (path, offset) =
            given.map_or_else(|| (join(&self.path, key), 0), |given| (given.path, given.offset));
        Section::run(self.notes, table, path, offset, read)
    }

    /// A section whose name is like `key`, so that what is wrong inside it is found as well.
    /// Its name is reported as unknown at the end.
    fn misnamed(&self, key: &'static str) -> Option<Given<'t>> {
        let (name, value) = self
            .table?
            .iter()
            .find(|(name, value)| value.get_ref().is_table() && nearest(name.get_ref(), [key]).is_some())?;
        Some(Given { path: join(&self.path, name.get_ref()), offset: name.span().start, value })
    }

    /// The entries of a section whose keys are free, such as names of fuels, in the order of the file.
    pub fn free_entries(&mut self, key: &'static str) -> Vec<(String, Given<'t>)> {
        let Some(given) = self.find(key) else { return Vec::new() };
        let table = self.notes.table(&given);
        let mut entries: Vec<_> = table
            .into_iter()
            .flatten()
            .map(|(name, value)| {
                let text = name.get_ref().to_string();
                let path = join(&given.path, &text);
                (text, Given { path, offset: name.span().start, value })
            })
            .collect();
        entries.sort_by_key(|(_, given)| given.offset);
        entries
    }
}

/// What a number in a range takes.
pub(super) fn number_in(range: RangeInclusive<f64>, unit: Unit) -> Expected {
    let (low, high) = range.into_inner();
    Expected::Number { low, high, unit }
}

/// Whether a line gives a key a number with a decimal comma, such as `bore_mm = 87,5`.
fn has_decimal_comma(line: &str) -> bool {
    let is_whole = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    let value = line.split_once('=').map(|(_, value)| value.split('#').next().unwrap_or_default().trim());
    value
        .and_then(|value| value.split_once(','))
        .is_some_and(|(whole, rest)| is_whole(whole) && is_whole(rest))
}

/// Dotted path of a key; names that are not bare keys are quoted.
fn join(section: &str, key: &str) -> String {
    let bare = !key.is_empty() && key.chars().all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-');
    let key = if bare { key.to_owned() } else { format!("{key:?}") };
    if section.is_empty() { key } else { format!("{section}.{key}") }
}
