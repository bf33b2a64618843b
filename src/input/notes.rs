//! The note book: what was found wrong in a file, each with its place and the value quoted.

use super::asked::Asked;
use super::diagnostics::{Problem, ProblemKind};
use super::nearest::{differs_in_unit, nearest};
use crate::printable::{is_hidden, printable};
use std::collections::HashSet;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Longest piece of the file quoted in a message [characters].
const LONGEST_QUOTE: usize = 60;

/// A value as it stands in the file.
pub(crate) struct GivenValue<'t> {
    /// Dotted path; entries of a list are counted from 1.
    pub path: String,
    /// Byte offset of the key or list entry.
    pub offset: usize,
    /// The TOML value with its place.
    pub value: &'t Spanned<DeValue<'t>>,
    /// Whether the key does not say the unit, so that the value must.
    pub is_in_open_unit: bool,
}

impl<'t> GivenValue<'t> {
    /// The bare TOML value.
    pub fn value(&self) -> &'t DeValue<'t> {
        self.value.get_ref()
    }

    /// Entry `index` (from 0) of this list.
    pub fn entry(&self, index: usize, value: &'t Spanned<DeValue<'t>>) -> Self {
        let path = format!("{}[{}]", self.path, index + 1);
        GivenValue { path, offset: value.span().start, value, is_in_open_unit: self.is_in_open_unit }
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
pub(crate) struct Notes<'t> {
    file: &'t str,
    text: &'t str,
    /// Byte offset at which each line begins.
    line_starts: Vec<usize>,
    problems: Vec<Problem>,
    /// Lines of which the parser has spoken.
    syntax_lines: HashSet<usize>,
    known: Vec<(String, &'static str)>,
    strays: Vec<Stray>,
    asked: Asked,
}

impl<'t> Notes<'t> {
    /// An empty note book for `text`, called `file` in messages.
    pub fn new(file: &'t str, text: &'t str) -> Self {
        let ends = text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n').map(|(at, _)| at + 1);
        Self {
            file,
            text,
            line_starts: std::iter::once(0).chain(ends).collect(),
            problems: Vec::new(),
            syntax_lines: HashSet::new(),
            known: Vec::new(),
            strays: Vec::new(),
            asked: Asked::default(),
        }
    }

    /// What has been asked so far; kept only where every key counts as given.
    pub fn asked(&mut self) -> &mut Asked {
        &mut self.asked
    }

    /// All that was asked.
    pub fn into_asked(self) -> Asked {
        self.asked
    }

    /// Line of a byte offset, from 1.
    pub fn line(&self, offset: usize) -> usize {
        self.line_starts.partition_point(|start| *start <= offset)
    }

    fn column(&self, offset: usize) -> usize {
        let start = self.line_starts[self.line(offset) - 1];
        1 + self.text.get(start..offset).map_or(0, |before| before.chars().count())
    }

    /// A piece of the file, shortened.
    pub(super) fn quote(&self, span: std::ops::Range<usize>) -> String {
        Self::shorten(self.text.get(span).unwrap_or_default())
    }

    /// A piece of the file on one line of bearable length, safe to print.
    fn shorten(raw: &str) -> String {
        let raw = raw.replace(|c: char| is_hidden(c) && !c.is_whitespace(), "\u{fffd}");
        let line = raw.split_whitespace().collect::<Vec<_>>().join(" ");
        if line.chars().count() <= LONGEST_QUOTE {
            return line;
        }
        line.chars().take(LONGEST_QUOTE - 3).chain("...".chars()).collect()
    }

    /// A line, or where it is long what stands around a place in it, counted from 0 in characters.
    fn excerpt(line: &str, place: usize) -> String {
        let is_long = line.chars().count() > LONGEST_QUOTE;
        match if is_long { place.saturating_sub(LONGEST_QUOTE / 2) } else { 0 } {
            0 => Self::shorten(line),
            before => format!("...{}", Self::shorten(&line.chars().skip(before).collect::<String>())),
        }
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
    pub fn note_value(&mut self, given: &GivenValue<'_>, kind: ProblemKind, hint: Option<String>) {
        let found = match (given.value().is_table(), &kind) {
            (false, _) => Some(self.quote(given.value.span())),
            (true, ProblemKind::Contradiction { .. }) => None,
            (true, _) => Some("a section".to_owned()),
        };
        self.note(&given.path, given.offset, found, kind, hint);
    }

    /// Notes what the TOML parser says, once per line.
    pub fn note_syntax(&mut self, error: &toml::de::Error) {
        let offset = error.span().map_or(0, |span| span.start.min(self.text.len()));
        let line = self.line(offset);
        if !self.syntax_lines.insert(line) {
            return;
        }
        let rest = self.text.get(self.line_starts[line - 1]..).unwrap_or_default();
        let whole = rest.lines().next();
        let found = whole.map(|whole| Self::excerpt(whole, self.column(offset) - 1));
        let kind = ProblemKind::Syntax { message: printable(error.message()).into_owned() };
        let hint = whole.is_some_and(has_decimal_comma);
        let hint = hint.then(|| "write a decimal point, not a comma".to_owned());
        self.note("", offset, found, kind, hint);
    }

    /// Keeps the keys of a section that were not asked for, to be reported at the end.
    ///
    /// # Returns
    /// The absent known keys that they were meant to be, as far as one can tell.
    pub fn note_strays(
        &mut self,
        section: &str,
        table: &'t DeTable<'t>,
        known: &[&'static str],
    ) -> Vec<&'static str> {
        let absent: Vec<&'static str> =
            known.iter().copied().filter(|key| !table.contains_key(*key)).collect();
        let mut meant = Vec::new();
        for (key, value) in table.iter().filter(|(key, _)| !known.contains(&key.get_ref().as_ref())) {
            let name = key.get_ref().as_ref();
            let nearest = nearest(name, absent.iter().copied());
            meant.extend(nearest);
            self.strays.push(Stray {
                name: name.to_owned(),
                path: join(section, name),
                offset: key.span().start,
                typed: (!value.get_ref().is_table()).then(|| self.quote(value.span())),
                nearest,
                known: known.to_vec(),
            });
        }
        meant
    }

    /// Remembers which keys a section has, so that a key of it found elsewhere can be sent home.
    pub fn learn(&mut self, section: &str, known: &[&'static str]) {
        self.known.extend(known.iter().map(|key| (section.to_owned(), *key)));
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
            return Some("or give the value with its unit, such as \"4.030 in\"".to_owned());
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

/// Whether a line gives a key a number with a decimal comma, such as `bore_mm = 87,5`.
fn has_decimal_comma(line: &str) -> bool {
    let is_whole = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    let value = line.split_once('=').map(|(_, value)| value.split('#').next().unwrap_or_default().trim());
    value
        .and_then(|value| value.split_once(','))
        .is_some_and(|(whole, rest)| is_whole(whole) && is_whole(rest))
}

/// Dotted path of a key; names that are not bare keys are quoted.
pub(crate) fn join(section: &str, key: &str) -> String {
    let bare = !key.is_empty() && key.chars().all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-');
    let key = if bare { key.to_owned() } else { format!("{key:?}") };
    if section.is_empty() { key } else { format!("{section}.{key}") }
}
