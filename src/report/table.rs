//! Plain aligned text: columns with one or two header lines, groups over columns, wrapped prose.

use super::screen::WIDEST;
use crate::printable::is_hidden;
use anstyle::{AnsiColor, Style};
use std::cell::Cell;

/// Titles.
const TITLE: Style = Style::new().bold();
/// What must not be missed.
const ALARM: Style = AnsiColor::Yellow.on_default().bold();
/// Words that must not be missed, wherever they stand.
const ALARMS: [&str; 5] = ["WARNING:", "OVER THE LIMIT", "ABOVE it", "Not credible", "not credible"];

thread_local! {
    /// Widest line of the text that is made on this thread [columns].
    static WIDTH: Cell<usize> = const { Cell::new(WIDEST) };
}

/// Widest line of the text that is being made [columns].
fn widest() -> usize {
    WIDTH.get()
}

/// Makes a text of another width [columns].
pub(super) fn at_width<T>(columns: usize, make: impl FnOnce() -> T) -> T {
    let before = WIDTH.replace(columns);
    let made = make();
    WIDTH.set(before);
    made
}

/// Words in a style; who wants none strips it.
fn styled(style: Style, words: &str) -> String {
    format!("{style}{words}{style:#}")
}

/// A text with its alarms emphasised.
pub(super) fn alarmed(text: &str) -> String {
    ALARMS.iter().fold(text.to_owned(), |text, words| text.replace(words, &styled(ALARM, words)))
}

const INDENT: usize = 2;
const GAP: usize = 2;
const GROUP_GAP: usize = 4;
/// Fewest characters to which words of a table are broken.
const FOLDED: usize = 28;

/// One column: its header lines, the group it belongs to and on which side its cells stand.
#[derive(Clone)]
pub(super) struct TextColumn {
    group: String,
    heads: [String; 2],
    left: bool,
}

impl TextColumn {
    /// A column of numbers; `unit` stands below the head, and a head without unit stands on its line.
    pub(super) fn number(head: &str, unit: &str) -> Self {
        Self { group: String::new(), heads: [head.to_owned(), unit.to_owned()], left: false }
    }

    /// A column of words.
    pub(super) fn words(head: &str) -> Self {
        Self { group: String::new(), heads: [head.to_owned(), String::new()], left: true }
    }

    /// Puts the column under a shared heading; neighbours with the same heading share it.
    pub(super) fn under(mut self, group: &str) -> Self {
        group.clone_into(&mut self.group);
        self
    }
}

/// Rows of text under columns.
pub(super) struct Table {
    columns: Vec<TextColumn>,
    rows: Vec<Vec<String>>,
    /// So many first columns head the rows.
    lead: usize,
}

impl Table {
    /// A table without rows.
    pub(super) fn new(columns: Vec<TextColumn>) -> Self {
        Self { columns, rows: Vec::new(), lead: 1 }
    }

    /// Another number of first columns that head the rows.
    pub(super) fn led_by(mut self, lead: usize) -> Self {
        self.lead = lead;
        self
    }

    /// Adds a row; cells go to the columns in order.
    pub(super) fn row(&mut self, cells: Vec<String>) {
        self.rows.push(cells);
    }

    /// The table as lines, each indented by two and ended by a line feed; where it is too wide for the text, the longest words are
    /// broken, and what is too wide then stands in parts, each with the columns that head the rows.
    pub(super) fn render(&self) -> String {
        self.folded().map_or_else(|| self.parts(), |folded| folded.parts())
    }

    /// The same with the cells of its widest column of words on several lines; none where that makes nothing fit.
    fn folded(&self) -> Option<Self> {
        let over = self.width().saturating_sub(widest());
        let widths = self.widths(&self.group_spans());
        let words = (0..self.columns.len()).filter(|column| self.columns[*column].left);
        let column = words.max_by_key(|column| widths[*column]).filter(|_| over > 0)?;
        let room = widths[column].checked_sub(over).filter(|room| *room >= FOLDED)?;
        let mut rows = Vec::new();
        for row in &self.rows {
            for (i, line) in filled(&row[column], room - INDENT).into_iter().enumerate() {
                let mut cells = if i == 0 { row.clone() } else { vec![String::new(); row.len()] };
                cells[column] = if i == 0 { line } else { " ".repeat(INDENT) + &line };
                rows.push(cells);
            }
        }
        Some(Self { columns: self.columns.clone(), rows, lead: self.lead })
    }

    fn parts(&self) -> String {
        let lead = self.lead.min(self.columns.len());
        let mut out = String::new();
        let mut part: Vec<usize> = (0..lead).collect();
        for run in self.runs(lead) {
            let wider = self.of([&part[..], &run].concat());
            if part.len() > lead && wider.width() > widest() {
                out += &self.of(part.clone()).lines();
                part.truncate(lead);
            }
            part.extend(run);
        }
        out + &self.of(part).lines()
    }

    /// The columns after the first ones that stay together: those of one group where they fit one line.
    fn runs(&self, lead: usize) -> Vec<Vec<usize>> {
        let first: Vec<usize> = (0..lead).collect();
        let mut runs = Vec::new();
        for (start, end) in self.group_spans() {
            let run: Vec<usize> = (start.max(lead)..end.max(lead)).collect();
            let fits = self.of([&first[..], &run].concat()).width() <= widest();
            if fits && !self.columns[start].group.is_empty() {
                runs.push(run);
            } else {
                runs.extend(run.into_iter().map(|column| vec![column]));
            }
        }
        runs
    }

    /// The table of some columns.
    fn of(&self, columns: Vec<usize>) -> Self {
        let rows = self.rows.iter().map(|row| columns.iter().map(|i| row[*i].clone()).collect());
        Self {
            rows: rows.collect(),
            columns: columns.iter().map(|i| self.columns[*i].clone()).collect(),
            lead: self.lead,
        }
    }

    /// Columns of the widest line.
    fn width(&self) -> usize {
        let widths = self.widths(&self.group_spans());
        widths.iter().enumerate().map(|(i, width)| self.gap(i) + width).sum()
    }

    fn lines(&self) -> String {
        let spans = self.group_spans();
        let widths = self.widths(&spans);
        let mut out = String::new();
        if self.columns.iter().any(|c| !c.group.is_empty()) {
            out += &self.group_line(&spans, &widths);
        }
        let has_two_lines = self.columns.iter().any(|c| !c.heads[1].is_empty());
        if has_two_lines {
            out += &self.line(&self.heads(|c| if c.heads[1].is_empty() { "" } else { &c.heads[0] }), &widths);
        }
        out += &self
            .line(&self.heads(|c| if c.heads[1].is_empty() { &c.heads[0] } else { &c.heads[1] }), &widths);
        for row in &self.rows {
            let cells: Vec<&str> = row.iter().map(String::as_str).collect();
            out += &self.line(&cells, &widths);
        }
        out
    }

    fn heads(&self, pick: impl Fn(&TextColumn) -> &str) -> Vec<&str> {
        self.columns.iter().map(pick).collect()
    }

    /// First and one-past-last column of each run of equal groups.
    fn group_spans(&self) -> Vec<(usize, usize)> {
        let mut spans: Vec<(usize, usize)> = Vec::new();
        for (i, column) in self.columns.iter().enumerate() {
            match spans.last_mut() {
                Some(span) if self.columns[span.0].group == column.group => span.1 = i + 1,
                _ => spans.push((i, i + 1)),
            }
        }
        spans
    }

    fn widths(&self, spans: &[(usize, usize)]) -> Vec<usize> {
        let mut widths: Vec<usize> =
            self.columns.iter().map(|c| chars(&c.heads[0]).max(chars(&c.heads[1]))).collect();
        for row in &self.rows {
            for (width, cell) in widths.iter_mut().zip(row) {
                *width = (*width).max(chars(cell));
            }
        }
        for &(start, end) in spans {
            let span = span_width(&widths[start..end]);
            widths[start] += chars(&self.columns[start].group).saturating_sub(span);
        }
        widths
    }

    /// Blanks before a column.
    fn gap(&self, i: usize) -> usize {
        match i {
            0 => INDENT,
            _ if self.columns[i].group != self.columns[i - 1].group => GROUP_GAP,
            _ => GAP,
        }
    }

    fn group_line(&self, spans: &[(usize, usize)], widths: &[usize]) -> String {
        let mut line = String::new();
        for &(start, end) in spans {
            line += &" ".repeat(self.gap(start));
            line += &format!("{:^1$}", self.columns[start].group, span_width(&widths[start..end]));
        }
        finish(&line)
    }

    fn line(&self, cells: &[&str], widths: &[usize]) -> String {
        let mut line = String::new();
        for (i, (cell, width)) in cells.iter().zip(widths).enumerate() {
            line += &" ".repeat(self.gap(i));
            line += &if self.columns[i].left { format!("{cell:<width$}") } else { format!("{cell:>width$}") };
        }
        finish(&line)
    }
}

fn span_width(widths: &[usize]) -> usize {
    widths.iter().sum::<usize>() + GAP * widths.len().saturating_sub(1)
}

fn finish(line: &str) -> String {
    format!("{}\n", line.trim_end())
}

fn chars(text: &str) -> usize {
    text.chars().count()
}

/// Text on one line without hidden characters.
pub(super) fn plain(text: &str) -> String {
    let kept: String = text.chars().map(|c| if is_hidden(c) { ' ' } else { c }).collect();
    kept.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Text cut in its middle to at most `limit` characters, keeping both ends.
pub(super) fn shorten(text: &str, limit: usize) -> String {
    let text = plain(text);
    let length = chars(&text);
    if length <= limit {
        return text;
    }
    let tail = limit.saturating_sub(2) / 3;
    let head = limit.saturating_sub(2 + tail);
    let start: String = text.chars().take(head).collect();
    let end: String = text.chars().skip(length - tail).collect();
    format!("{start}..{end}")
}

/// Prose broken at blanks to the width of the text; `lead` starts the first line and later lines stand below its end.
pub(super) fn wrap(lead: &str, text: &str) -> String {
    let indent = chars(lead);
    let lines = filled(&plain(text), widest().saturating_sub(indent).max(1));
    let mut out = String::new();
    for (i, line) in lines.iter().enumerate() {
        let start = if i == 0 { lead.to_owned() } else { " ".repeat(indent) };
        out += &finish(&format!("{start}{line}"));
    }
    out
}

/// Words in lines of at most `room` characters.
fn filled(text: &str, room: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ').flat_map(|word| pieces(word, room)) {
        match lines.last_mut() {
            Some(line) if chars(line) + 1 + chars(&word) <= room => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    lines
}

/// Named values at the head of a text, one below the other.
pub(super) fn head(rows: &[(&str, &str)]) -> String {
    rows.iter().map(|(name, value)| wrap(&format!("{name:<11}"), value)).collect()
}

/// A title over a part of a text.
pub(super) fn heading(title: &str) -> String {
    let lines = wrap("", title);
    let styled: String = lines.lines().map(|line| styled(TITLE, line) + "\n").collect();
    format!("\n{styled}")
}

/// Lines under a title; nothing without one.
pub(super) fn list<'a>(title: &str, lines: impl Iterator<Item = &'a str>) -> String {
    let body = points(lines);
    if body.is_empty() { body } else { heading(title) + &body }
}

/// Lines below each other, each behind a dash.
pub(super) fn points<'a>(lines: impl Iterator<Item = &'a str>) -> String {
    lines.map(|line| wrap("  - ", line)).collect()
}

/// A word too long for a line, cut to pieces.
fn pieces(word: &str, room: usize) -> Vec<String> {
    let letters: Vec<char> = word.chars().collect();
    letters.chunks(room).map(|piece| piece.iter().collect()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_line_up_under_their_group() {
        let mut columns = vec![TextColumn::number("rpm", ""), TextColumn::words("mark")];
        columns.extend(
            ["low", "likely", "high"].map(|head| TextColumn::number(head, "").under("wheel power, kW")),
        );
        let mut table = Table::new(columns);
        table.row(["3000", "K", "98", "105", "112"].map(String::from).to_vec());
        // HAND: indent 2, gap 2 inside a group, 4 between groups.
        let expected = "                 wheel power, kW\n   rpm  mark    low  likely  high\n  3000  K        98     105   112\n";
        assert_eq!(table.render(), expected);
    }

    #[test]
    fn a_group_wider_than_its_columns_widens_the_first() {
        let mut table = Table::new(vec![TextColumn::number("a", "").under("a long heading")]);
        table.row(vec!["1".to_owned()]);
        assert_eq!(table.render(), "  a long heading\n               a\n               1\n");
    }

    #[test]
    fn a_table_too_wide_is_told_in_parts_and_groups_stay_whole() {
        let mut columns = vec![TextColumn::number("rpm", "")];
        for fuel in ["a", "b", "c", "d", "e", "f", "g"] {
            columns
                .extend(["fitted", "limit"].map(|head| TextColumn::number(head, "").under(&fuel.repeat(8))));
        }
        let count = columns.len();
        let mut table = Table::new(columns);
        table.row((0..count).map(|i| format!("{i}")).collect());
        let out = table.render();
        assert!(out.lines().all(|l| l.chars().count() <= widest()), "{out}");
        assert_eq!(out.lines().count(), 6, "{out}");
        let rows: Vec<&str> = out.lines().skip(2).step_by(3).collect();
        assert!(rows.iter().all(|row| row.split_whitespace().next() == Some("0")), "{out}");
        assert!(rows.iter().all(|row| row.split_whitespace().count() % 2 == 1), "{out}");
    }

    #[test]
    fn long_words_of_a_table_too_wide_are_broken() {
        let mut table = Table::new(vec![TextColumn::words("if"), TextColumn::number("order", "")]);
        table.row(vec!["word ".repeat(14).trim().to_owned(), "9.5".to_owned()]);
        table.row(vec!["b".to_owned(), "10.1".to_owned()]);
        assert_eq!(table.render().lines().count(), 3);
        let out = at_width(72, || table.render());
        let lines: Vec<&str> = out.lines().collect();
        assert!(lines.iter().all(|line| chars(line) <= 72) && lines.len() == 4, "{out}");
        assert!(
            lines[1].ends_with("9.5") && lines[2] == "    word word" && lines[3].ends_with("10.1"),
            "{out}"
        );
    }

    #[test]
    fn prose_is_wrapped_below_its_lead() {
        let out = wrap("- ", &"word ".repeat(40));
        assert!(out.lines().all(|l| l.chars().count() <= widest()));
        assert_eq!(out.lines().count(), 3);
        assert!(out.lines().nth(1).unwrap().starts_with("  word"));
        let long = wrap("", &"x".repeat(250));
        assert_eq!(long.lines().map(|l| l.len()).collect::<Vec<_>>(), [100, 100, 50]);
        assert_eq!(wrap("Note  ", ""), "");
    }

    #[test]
    fn shortening_keeps_both_ends_and_the_limit() {
        assert_eq!(shorten("premium-91", 20), "premium-91");
        let short = shorten("half premium-91 and half e85 by volume", 20);
        assert_eq!(short.chars().count(), 20);
        assert!(short.starts_with("half prem") && short.ends_with("volume"));
        assert_eq!(plain("a\u{1b}[31m\nb"), "a [31m b");
    }
}
