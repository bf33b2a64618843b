//! A table told once: each column's head, unit, key and value, from which text, page and CSV are drawn.

use super::document::csv_text;
use super::page::parts::DataTable;
use super::quantity::{Dimension, ShownUnit, fixed, signed};
use super::table::{Table, TextColumn, plain, shorten};
use super::{ReportError, Units};
use crate::estimate::Band;
use maud::Markup;

/// Most characters of a name on the page.
const PAGE_NAME: usize = 60;

/// A share for a program.
const FRACTION: ShownUnit = ShownUnit::fraction();

/// Something of a row.
type Of<'a, R, T> = Box<dyn Fn(&R) -> T + 'a>;
/// One end of a band, or its middle.
type End = fn(Band) -> f64;

/// What a column shows of a row.
enum Value<'a, R> {
    Number(Of<'a, R, Option<f64>>),
    /// Words, or numbers already shown, which stand to the right.
    Words(Of<'a, R, String>, Side),
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Left,
    Right,
}

/// One column: shown to a person unless it is hidden, and to a program when it has a key.
pub(super) struct Told<'a, R> {
    group: String,
    head: String,
    below: String,
    page_head: Option<String>,
    name: String,
    hidden: bool,
    key: Option<String>,
    unit: ShownUnit,
    fine_unit: ShownUnit,
    digits: usize,
    page_digits: Option<usize>,
    fine_digits: usize,
    value: Value<'a, R>,
    signed: bool,
    absent: &'static str,
    mark: Option<Of<'a, R, &'static str>>,
    at_most: usize,
}

impl<'a, R> Told<'a, R> {
    /// Another second line of the head than the unit.
    pub(super) fn below(&mut self, line: &str) -> &mut Self {
        line.clone_into(&mut self.below);
        self
    }

    /// Another number of decimals for a person.
    pub(super) fn digits(&mut self, digits: usize) -> &mut Self {
        self.digits = digits;
        self
    }

    /// Another number of decimals on the page.
    pub(super) fn page_digits(&mut self, digits: usize) -> &mut Self {
        self.page_digits = Some(digits);
        self
    }

    /// In per cent for a person, and for a program a fraction whose name says that it is one, as an efficiency.
    pub(super) fn percent(&mut self) -> &mut Self {
        self.unit = Dimension::Share.unit(Units::Metric);
        self.digits = self.unit.digits;
        self
    }

    /// Shows the sign of every number to a person.
    pub(super) fn signed(&mut self) -> &mut Self {
        self.signed = true;
        self
    }

    /// What stands for an absent number; "none" without it.
    pub(super) fn or(&mut self, absent: &'static str) -> &mut Self {
        self.absent = absent;
        self
    }

    /// A mark behind some numbers, as "*"; the text keeps a blank where it is empty.
    pub(super) fn marked(&mut self, mark: impl Fn(&R) -> &'static str + 'a) -> &mut Self {
        self.mark = Some(Box::new(mark));
        self
    }

    /// Cuts words that are longer, in the text.
    pub(super) fn at_most(&mut self, characters: usize) -> &mut Self {
        self.at_most = characters;
        self
    }

    /// The name by which a table picks the column.
    pub(super) fn named(&mut self, name: &str) -> &mut Self {
        name.clone_into(&mut self.name);
        self
    }

    /// The same, and with the unit added the name for a program; with its decimals there. A share is a fraction for a
    /// program, with the decimals of its per cent.
    pub(super) fn key(&mut self, name: &str, digits: usize) -> &mut Self {
        let joint = if self.fine_unit.key.is_empty() { "" } else { "_" };
        self.key = Some(format!("{name}{joint}{}", self.fine_unit.key));
        self.fine_digits = digits + if self.fine_unit == FRACTION { 2 } else { 0 };
        self.named(name)
    }

    /// For a program alone.
    pub(super) fn hidden(&mut self) -> &mut Self {
        self.hidden = true;
        self
    }

    /// The cell for a person, and the mark behind it.
    fn cell(&self, row: &R, digits: usize) -> (String, Option<&'static str>) {
        match &self.value {
            Value::Words(words, Side::Left) => (plain(&words(row)), None),
            // Blanks behind a number keep its place.
            Value::Words(words, Side::Right) => (words(row), None),
            Value::Number(value) => {
                let show = if self.signed { signed } else { fixed };
                let shown = value(row).map(|held| show(self.unit.of(held), digits));
                let mark = self.mark.as_ref().map(|mark| mark(row));
                (shown.unwrap_or_else(|| self.absent.to_owned()), mark)
            }
        }
    }

    fn text_cell(&self, row: &R) -> String {
        match self.cell(row, self.digits) {
            (words, None) if self.at_most < usize::MAX => shorten(&words, self.at_most),
            (words, None) => words,
            (number, Some(mark)) => format!("{number}{mark:1}"),
        }
    }

    fn page_cell(&self, row: &R) -> String {
        let (shown, mark) = self.cell(row, self.page_digits.unwrap_or(self.digits));
        let shown = if self.at_most < usize::MAX { shorten(&shown, PAGE_NAME) } else { shown };
        shown.trim_end().to_owned() + mark.unwrap_or_default()
    }

    fn csv_cell(&self, row: &R) -> String {
        match &self.value {
            Value::Words(words, _) => words(row),
            Value::Number(value) => {
                value(row).map(|held| fixed(self.fine_unit.of(held), self.fine_digits)).unwrap_or_default()
            }
        }
    }

    fn text_column(&self) -> TextColumn {
        let blank = if self.mark.is_some() { " " } else { "" };
        let column = match self.value {
            Value::Words(_, Side::Left) => TextColumn::words(&self.head),
            _ if self.below.is_empty() => TextColumn::number(&format!("{}{blank}", self.head), ""),
            _ => TextColumn::number(&self.head, &format!("{}{blank}", self.below)),
        };
        column.under(&self.group)
    }

    fn page_head(&self) -> (String, String) {
        // A unit stands behind a comma, a second line of words behind a blank.
        let joint = if self.below == self.unit.symbol { ", " } else { " " };
        let parts = [self.head.trim(), self.below.as_str()];
        let head = parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(joint);
        (self.group.clone(), self.page_head.clone().unwrap_or(head))
    }
}

/// The three columns of a band.
pub(super) struct Three<'c, 'a, R>(&'c mut [Told<'a, R>]);

impl<R> Three<'_, '_, R> {
    /// Another number of decimals for a person.
    pub(super) fn digits(self, digits: usize) -> Self {
        self.0.iter_mut().for_each(|told| told.digits = digits);
        self
    }

    /// Shows the sign of every number to a person.
    pub(super) fn signed(self) -> Self {
        self.0.iter_mut().for_each(|told| told.signed = true);
        self
    }

    /// What stands for an absent number.
    pub(super) fn or(self, absent: &'static str) -> Self {
        self.0.iter_mut().for_each(|told| told.absent = absent);
        self
    }

    /// The name for a program, to which the end and the unit are added, and its decimals.
    pub(super) fn key(self, name: &str, digits: usize) -> Self {
        for (told, end) in self.0.iter_mut().zip(["low", "likely", "high"]) {
            told.key(&format!("{name}_{end}"), digits);
        }
        self
    }
}

/// The columns of a table over rows of type `R`.
pub(super) struct Columns<'a, R> {
    units: Units,
    group: String,
    group_says_unit: bool,
    lead: usize,
    told: Vec<Told<'a, R>>,
}

impl<'a, R> Columns<'a, R> {
    /// A table without columns.
    pub(super) fn new(units: Units) -> Self {
        Self { units, group: String::new(), group_says_unit: false, lead: 1, told: Vec::new() }
    }

    /// So many first columns head the rows; the text repeats them where a table is too wide for one.
    pub(super) fn lead(&mut self, columns: usize) {
        self.lead = columns;
    }

    /// What follows stands under this heading; under none when it is empty.
    pub(super) fn group(&mut self, heading: &str) {
        heading.clone_into(&mut self.group);
        self.group_says_unit = false;
    }

    /// What follows stands under this heading, which says their unit.
    pub(super) fn group_of(&mut self, heading: &str) {
        self.group(heading);
        self.group_says_unit = true;
    }

    fn push(&mut self, head: &str, unit: ShownUnit, value: Value<'a, R>) -> &mut Told<'a, R> {
        let (group, below) = match unit.symbol {
            // A number without unit beside others of one heading stays under it.
            "" if self.group_says_unit => {
                let before = self.told.last().map(|told| &told.group).filter(|g| g.starts_with(&self.group));
                (before.unwrap_or(&self.group).clone(), "")
            }
            "" => (self.group.clone(), ""),
            symbol if self.group_says_unit => (format!("{}, {symbol}", self.group), ""),
            symbol => (self.group.clone(), symbol),
        };
        self.told.push(Told {
            group,
            head: head.to_owned(),
            below: below.to_owned(),
            page_head: None,
            name: String::new(),
            hidden: false,
            key: None,
            unit,
            fine_unit: if unit == Dimension::Share.unit(self.units) { FRACTION } else { unit },
            digits: unit.digits,
            page_digits: None,
            fine_digits: 0,
            value,
            signed: false,
            absent: "none",
            mark: None,
            at_most: usize::MAX,
        });
        let last = self.told.len() - 1;
        &mut self.told[last]
    }

    /// A column of numbers.
    pub(super) fn number(
        &mut self,
        head: &str,
        dimension: Dimension,
        value: impl Fn(&R) -> f64 + 'a,
    ) -> &mut Told<'a, R> {
        self.maybe(head, dimension, move |row| Some(value(row)))
    }

    /// A column of numbers that a row need not have.
    pub(super) fn maybe(
        &mut self,
        head: &str,
        dimension: Dimension,
        value: impl Fn(&R) -> Option<f64> + 'a,
    ) -> &mut Told<'a, R> {
        self.push(head, dimension.unit(self.units), Value::Number(Box::new(value)))
    }

    /// A column of words.
    pub(super) fn words(&mut self, head: &str, value: impl Fn(&R) -> String + 'a) -> &mut Told<'a, R> {
        self.push(head, Dimension::Pure.unit(self.units), Value::Words(Box::new(value), Side::Left))
    }

    /// Whether something holds, for a program alone: true or false.
    pub(super) fn flag(&mut self, key: &str, value: impl Fn(&R) -> bool + 'a) {
        self.words("", move |row| value(row).to_string()).key(key, 0).hidden();
    }

    /// A column of numbers, or pairs of them, that are in words already.
    pub(super) fn cells(&mut self, head: &str, value: impl Fn(&R) -> String + 'a) -> &mut Told<'a, R> {
        self.push(head, Dimension::Pure.unit(self.units), Value::Words(Box::new(value), Side::Right))
    }

    /// Columns low, likely and high of a band that a row need not have; `over` stands above the middle one.
    pub(super) fn band(
        &mut self,
        over: &str,
        dimension: Dimension,
        value: impl Fn(&R) -> Option<Band> + Copy + 'a,
    ) -> Three<'_, 'a, R> {
        let ends: [(&str, End); 3] = [("low", |b| b.low), ("likely", |b| b.likely), ("high", |b| b.high)];
        for (end, pick) in ends {
            let told = self.maybe(end, dimension, move |row| value(row).map(pick));
            if !over.is_empty() {
                told.page_head = Some(format!("{over} {end}"));
                told.head = if end == "likely" { over.to_owned() } else { String::new() };
                told.below(end);
            }
        }
        let first = self.told.len() - ends.len();
        Three(&mut self.told[first..])
    }

    /// The columns that are not hidden, in their order.
    fn shown(&self) -> Vec<&Told<'a, R>> {
        self.told.iter().filter(|told| !told.hidden).collect()
    }

    /// The columns of these names, in their order.
    fn picked(&self, names: &[&str]) -> Vec<&Told<'a, R>> {
        names.iter().filter_map(|name| self.told.iter().find(|told| told.name == *name)).collect()
    }

    /// Whether a table can pick a column of this name; one that it cannot would be left out without a word.
    #[cfg(test)]
    pub(super) fn has(&self, name: &str) -> bool {
        !self.picked(&[name]).is_empty()
    }

    /// For a person, aligned.
    pub(super) fn text(&self, rows: impl IntoIterator<Item = R>) -> String {
        text(&self.shown(), self.lead, rows)
    }

    /// The columns of these names for a person, aligned.
    pub(super) fn text_of(&self, names: &[&str], rows: impl IntoIterator<Item = R>) -> String {
        text(&self.picked(names), self.lead, rows)
    }

    /// For the page.
    pub(super) fn page(&self, caption: impl Into<String>, rows: impl IntoIterator<Item = R>) -> Markup {
        page(caption.into(), &self.shown(), rows)
    }

    /// The columns of these names for the page.
    pub(super) fn page_of(
        &self,
        caption: impl Into<String>,
        names: &[&str],
        rows: impl IntoIterator<Item = R>,
    ) -> Markup {
        page(caption.into(), &self.picked(names), rows)
    }

    /// For a program: the columns that have a key as CSV, units in the header.
    ///
    /// # Errors
    /// [`ReportError::Csv`].
    pub(super) fn csv(&self, rows: impl IntoIterator<Item = R>) -> Result<String, ReportError> {
        let keyed: Vec<_> = self.told.iter().filter_map(|told| Some((told, told.key.as_ref()?))).collect();
        let mut writer = ::csv::Writer::from_writer(Vec::new());
        writer.write_record(keyed.iter().map(|(_, key)| key.as_str()))?;
        for row in rows {
            writer.write_record(keyed.iter().map(|(told, _)| told.csv_cell(&row)))?;
        }
        csv_text(writer)
    }
}

fn text<R>(shown: &[&Told<'_, R>], lead: usize, rows: impl IntoIterator<Item = R>) -> String {
    let mut table = Table::new(shown.iter().map(|told| told.text_column()).collect()).led_by(lead);
    for row in rows {
        table.row(shown.iter().map(|told| told.text_cell(&row)).collect());
    }
    table.render()
}

fn page<R>(caption: String, shown: &[&Told<'_, R>], rows: impl IntoIterator<Item = R>) -> Markup {
    let mut table = DataTable::new(caption, shown.iter().map(|told| told.page_head()).collect());
    for row in rows {
        table.row(shown.iter().map(|told| told.page_cell(&row)).collect());
    }
    table.render()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told() -> Columns<'static, (&'static str, f64, bool)> {
        let mut c = Columns::new(Units::Us);
        c.words("name", |(name, ..): &(&str, f64, bool)| (*name).to_owned()).at_most(4).key("name", 0);
        c.group_of("wheel power");
        let band = |(_, kw, _): &(&str, f64, bool)| Some(Band { low: 0.5 * kw, likely: *kw, high: 2.0 * kw });
        c.band("", Dimension::Power, band).key("wheel_power", 2);
        c.maybe("at rpm", Dimension::Pure, |(_, kw, has)| has.then_some(*kw))
            .marked(|(.., has)| if *has { "*" } else { "" });
        c.group("");
        c.number("only", Dimension::Pure, |(_, kw, _)| *kw).key("only", 1).hidden();
        c.number("", Dimension::Share, |_| 0.125).key("slip", 1).hidden();
        c.flag("has", |(.., has)| *has);
        c
    }

    /// HAND: 74.57 kW are 100 hp.
    #[test]
    fn one_description_makes_text_page_and_csv() {
        let rows = [("a long name", 74.57, true), ("b", 7.457, false)];
        let text = told().text(rows);
        let expected = "            wheel power, hp\n  name    low  likely  high  at rpm\n  a ..     50     100   200     75*\n  b         5      10    20   none\n";
        let lines = |text: &str| {
            text.lines().map(|l| l.split_whitespace().collect::<Vec<_>>().join(" ")).collect::<Vec<_>>()
        };
        assert_eq!(lines(&text), lines(expected), "{text}");
        let csv = told().csv(rows).unwrap();
        let head = "name,wheel_power_low_hp,wheel_power_likely_hp,wheel_power_high_hp,only,slip_frac,has";
        assert_eq!(
            csv,
            format!(
                "{head}\na long name,50.00,100.00,200.00,74.6,0.125,true\nb,5.00,10.00,20.00,7.5,0.125,false\n"
            )
        );
        let page = told().page("Caption", rows).into_string();
        assert!(
            page.contains("colspan=\"4\">wheel power, hp</th>") && page.contains(">a long name</th>"),
            "{page}"
        );
        assert!(page.contains(">75*</td>") && !page.contains("only"), "{page}");
    }

    #[test]
    fn a_table_picks_its_columns_by_name_in_its_own_order() {
        let text = told().text_of(&["wheel_power_high", "name"], [("b", 7.457, false)]);
        assert_eq!(text, "  wheel power, hp\n             high    name\n               20    b\n");
    }
}
