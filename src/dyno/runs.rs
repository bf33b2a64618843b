//! Runs side by side in one sheet, taken as pulls one below the other.

use super::header::{Heading, heading};
use super::mapping::{ColumnName, Mapping};
use super::number::is_missing;
use super::sheet::{Sheet, SheetRow};
use super::unit::Quantity;

/// Words before the number of a run.
const WORDS: [&str; 6] = ["run", "pull", "lauf", "messung", "test", "#"];
/// Signs that set the name of a run apart.
const APART: [char; 8] = [' ', ':', '_', '-', '–', '/', '.', ','];

/// A heading without the number of its run, and that number; none where it names no run.
pub(super) fn tagged(cell: &str) -> Option<(String, String)> {
    named(cell).or_else(|| numbered(cell))
}

/// "Run 1 power (kW)", "Power (kW) - run 1", "power (run 1)".
fn named(cell: &str) -> Option<(String, String)> {
    for (at, _) in cell.char_indices() {
        let (before, from) = cell.split_at(at);
        let is_inside = before.chars().next_back().is_some_and(char::is_alphanumeric);
        let word =
            WORDS.iter().find(|word| from.get(..word.len()).is_some_and(|w| w.eq_ignore_ascii_case(word)));
        let Some(word) = word.filter(|_| !is_inside) else { continue };
        let rest = from[word.len()..].trim_start_matches([' ', '#', '_', '-', '.']);
        let digits: String = rest.chars().take_while(char::is_ascii_digit).collect();
        let after = &rest[digits.len()..];
        if digits.is_empty() || digits.len() > 3 || after.starts_with(char::is_alphanumeric) {
            continue;
        }
        let (before, after) =
            match (before.trim_end().strip_suffix(['(', '[']), after.strip_prefix([')', ']'])) {
                (Some(before), Some(after)) => (before, after),
                _ => (before, after),
            };
        let base = format!("{} {}", before.trim_end_matches(APART), after.trim_start_matches(APART));
        let base = base.trim().to_owned();
        return (!base.is_empty()).then_some((base, digits));
    }
    None
}

/// "rpm 1", "power_2 (kW)", where the name without the number is known.
fn numbered(cell: &str) -> Option<(String, String)> {
    let (name, unit) = cell.split_at(cell.find(['(', '[']).unwrap_or(cell.len()));
    let name = name.trim_end();
    let bare = name.trim_end_matches(|c: char| c.is_ascii_digit());
    let digits = &name[bare.len()..];
    let base = bare.trim_end_matches(APART);
    let base = format!("{base} {unit}").trim().to_owned();
    let is_tag = matches!(digits.len(), 1 | 2) && bare.ends_with(APART);
    let is_known =
        |base: &str| matches!(heading(base), Heading::Known(known) if known.quantity != Quantity::Pull);
    (is_tag && is_known(&base)).then(|| (base, digits.to_owned()))
}

/// A column with the run that it belongs to; none where all share it.
struct Column {
    base: String,
    run: Option<String>,
}

impl Column {
    fn quantity(&self) -> Option<Quantity> {
        match heading(&self.base) {
            Heading::Known(known) => Some(known.quantity),
            _ => None,
        }
    }

    /// The name as it is compared.
    fn key(&self) -> String {
        self.base.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
    }
}

fn columns(header: &[String]) -> Vec<Column> {
    let mut columns: Vec<Column> = header
        .iter()
        .map(|cell| match tagged(cell) {
            Some((base, run)) => Column { base, run: Some(run) },
            None => Column { base: cell.clone(), run: None },
        })
        .collect();
    // Headings that are repeated word for word, and the first of "rpm, rpm 2".
    let keys: Vec<(String, bool)> = columns.iter().map(|c| (c.key(), c.run.is_some())).collect();
    for (i, column) in columns.iter_mut().enumerate().filter(|(_, column)| column.run.is_none()) {
        let (key, _) = &keys[i];
        let alike = || keys.iter().enumerate().filter(|(_, (other, _))| other == key && !key.is_empty());
        let plain = || alike().filter(|(_, (_, is_tagged))| !is_tagged);
        if plain().count() > 1 {
            column.run = Some((1 + plain().filter(|(at, _)| *at < i).count()).to_string());
        } else if alike().count() > 1 {
            column.run = Some(String::new());
        }
    }
    columns
}

/// The runs of a sheet, when each has a curve of its own and all hold the same.
fn runs(columns: &[Column]) -> Option<Vec<String>> {
    let mut runs: Vec<String> = Vec::new();
    for run in columns.iter().filter_map(|column| column.run.as_ref()) {
        if !runs.contains(run) {
            runs.push(run.clone());
        }
    }
    let of = |run: &String| {
        let own = columns.iter().filter(|c| c.run.as_ref() == Some(run) && c.quantity().is_some());
        let mut keys: Vec<String> = own.map(Column::key).collect();
        keys.sort();
        keys
    };
    let is_output = |c: &&Column| matches!(c.quantity(), Some(Quantity::Torque | Quantity::Power));
    let has_output = |run: &String| columns.iter().filter(is_output).any(|c| c.run.as_ref() == Some(run));
    let first = of(runs.first()?);
    let has_pulls = columns.iter().any(|column| column.quantity() == Some(Quantity::Pull));
    let is_alike = runs.len() > 1 && runs.iter().all(|run| has_output(run) && of(run) == first);
    (is_alike && !has_pulls).then_some(runs)
}

/// Whether what is mapped by hand means columns of the sheet as it is, rather than of each run.
fn is_mapped_flat(columns: &[Column], mapping: &Mapping) -> bool {
    let of_a_run = |name: &ColumnName| {
        matches!(name, ColumnName::Heading(_))
            && columns.iter().any(|column| name.is(usize::MAX - 1, &column.base))
    };
    mapping.columns.iter().any(|map| !of_a_run(&map.column))
}

/// The sheet with runs that stand side by side as pulls, one below the other; as it is where there are none.
pub(super) fn unfolded(sheet: Sheet, mapping: &Mapping) -> Sheet {
    let columns = columns(&sheet.header);
    let Some(runs) = runs(&columns).filter(|_| !is_mapped_flat(&columns, mapping)) else { return sheet };
    let order = |run: &String| -> Vec<usize> {
        let own = columns.iter().enumerate().filter(|(_, c)| c.run.as_ref() == Some(run));
        let shared = columns.iter().enumerate().filter(|(_, c)| c.run.is_none());
        own.chain(shared).map(|(i, _)| i).collect()
    };
    let orders: Vec<Vec<usize>> = runs.iter().map(order).collect();
    let own_count = |run: &String| columns.iter().filter(|c| c.run.as_ref() == Some(run)).count();
    let counts: Vec<usize> = runs.iter().map(own_count).collect();
    // Columns that are not known may stand in another order, or not in every run.
    let places: Vec<Vec<Option<usize>>> = orders
        .iter()
        .map(|order| {
            let place =
                |first: &usize| order.iter().copied().find(|i| columns[*i].key() == columns[*first].key());
            orders.first().into_iter().flatten().map(place).collect()
        })
        .collect();
    let mut header: Vec<String> =
        orders.first().into_iter().flatten().map(|i| columns[*i].base.clone()).collect();
    header.push("pull".to_owned());
    let width = sheet.header.len();
    let mut rows: Vec<SheetRow> = Vec::new();
    for (at, (run, places)) in runs.iter().zip(&places).enumerate() {
        // Beside a run without a number those of the others begin anywhere.
        let name =
            if runs.contains(&String::new()) { format!("run {}", at + 1) } else { format!("run {run}") };
        for (number, row) in sheet.rows.iter().enumerate() {
            let cell =
                |place: &Option<usize>| place.and_then(|i| row.cells.get(i)).cloned().unwrap_or_default();
            let mut cells: Vec<String> = places.iter().map(cell).collect();
            let own = &cells[..counts[at].min(cells.len())];
            // A row of units stands under the header of all runs, and is kept once.
            let is_units = number == 0 && !cells.iter().any(|cell| is_number(cell));
            let is_again =
                at > 0 && is_units && rows.first().is_some_and(|first| first.cells.starts_with(&cells));
            if own.iter().all(|cell| is_missing(cell)) || is_again {
                continue;
            }
            cells.push(if is_units { String::new() } else { name.clone() });
            // Cells beyond the header are told once, as they are in any sheet.
            cells.extend(row.cells.iter().skip(width).filter(|_| at == 0).cloned());
            rows.push(SheetRow { cells, after_blank: false, ..*row });
        }
    }
    Sheet { header, rows, is_side_by_side: true, ..sheet }
}

fn is_number(cell: &str) -> bool {
    cell.contains(|c: char| c.is_ascii_digit()) && !cell.contains(char::is_alphabetic)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_number_of_a_run_is_told_from_the_name() {
        for (cell, base, run) in [
            ("Run 1 rpm", "rpm", "1"),
            ("Run 2: Power (kW)", "Power (kW)", "2"),
            ("RUN_03_torque [Nm]", "torque [Nm]", "03"),
            ("Power (kW) - run 1", "Power (kW)", "1"),
            ("Power (kW) (run 1)", "Power (kW)", "1"),
            ("Leistung Lauf 2 [PS]", "Leistung [PS]", "2"),
            ("rpm #2", "rpm", "2"),
            ("rpm.1", "rpm", "1"),
            ("power 2 (hp)", "power (hp)", "2"),
        ] {
            assert_eq!(tagged(cell), Some((base.to_owned(), run.to_owned())), "{cell}");
        }
        for cell in ["rpm", "run", "run 1", "1/min", "n [min-1]", "oil 2", "torque (Nm)", "Prüfung 1", ""] {
            assert_eq!(tagged(cell), None, "{cell}");
        }
    }
}
