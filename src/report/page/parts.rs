//! Tables and folds of the page.

use maud::{Markup, html};

/// A table whose first column heads its rows.
pub(in crate::report) struct DataTable {
    caption: String,
    /// The heading that neighbours share, and the head of each column.
    heads: Vec<(String, String)>,
    rows: Vec<Vec<String>>,
}

impl DataTable {
    /// A table without rows; each head has the heading that it shares with its neighbours, or none.
    pub(in crate::report) fn new(caption: String, heads: Vec<(String, String)>) -> Self {
        Self { caption, heads, rows: Vec::new() }
    }

    /// Adds a row; cells go to the columns in order.
    pub(in crate::report) fn row(&mut self, cells: Vec<String>) {
        self.rows.push(cells);
    }

    /// The table, in a box that can be moved sideways where even a phone held upright is too narrow for it.
    pub(in crate::report) fn render(&self) -> Markup {
        let on_phone = if self.fits_a_phone() { "dense" } else { "stack" };
        html! {
            div .caption { (self.caption) }
            div .scroll .long[self.is_long()] role="region" tabindex="0" aria-label=(self.caption) {
                table class=(on_phone) aria-label=(self.caption) {
                    thead {
                        @if self.heads.iter().any(|(group, _)| !group.is_empty()) {
                            tr {
                                @for run in self.heads.chunk_by(|a, b| a.0 == b.0) {
                                    @if run[0].0.is_empty() { td colspan=(run.len()) {} }
                                    @else { th scope="colgroup" .group colspan=(run.len()) { (run[0].0) } }
                                }
                            }
                        }
                        tr {
                            @for (i, (_, head)) in self.heads.iter().enumerate() {
                                th scope="col" class=[self.class(i)] { (head) }
                            }
                        }
                    }
                    tbody { @for row in &self.rows { (self.row_cells(row)) } }
                }
            }
        }
    }

    /// The head of the row and its cells, each with what stands above it where rows are stacked.
    fn row_cells(&self, row: &[String]) -> Markup {
        html! {
            tr {
                @for (i, cell) in row.iter().enumerate() {
                    @if i == 0 { th scope="row" class=[whole(cell)] { (cell) } }
                    @else { td class=[self.class(i)] data-head=(self.full_head(i)) { (cell) } }
                }
            }
        }
    }

    /// The head of a column with the heading that it shares.
    fn full_head(&self, column: usize) -> String {
        let (group, head) = &self.heads[column];
        let parts = [group.as_str(), head.as_str()];
        parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(": ")
    }

    /// Whether it may run over the end of a printed page: rows of prose take several lines.
    fn is_long(&self) -> bool {
        let has_prose = (0..self.heads.len()).any(|i| self.class(i) == Some("prose"));
        self.rows.len() > if has_prose { LONG / 3 } else { LONG }
    }

    /// Whether all columns can stand side by side on a phone, in small print.
    fn fits_a_phone(&self) -> bool {
        let columns = self.heads.iter().enumerate();
        let widths = columns.map(|(i, (_, head))| {
            let words = head.split(' ').map(|word| word.chars().count()).max().unwrap_or(0);
            let cells = self.rows.iter().filter_map(|row| row.get(i)).map(|cell| cell.chars().count());
            PHONE_PADDING_PX + PHONE_LETTER_PX * words.max(cells.max().unwrap_or(0)) as f64
        });
        widths.sum::<f64>() <= PHONE_TABLE_PX
    }

    /// Class of a column: numbers stand to the right, prose gets room.
    fn class(&self, column: usize) -> Option<&'static str> {
        let mut cells = self.rows.iter().filter_map(|row| row.get(column));
        if column > 0 && cells.clone().all(|cell| is_number(cell)) {
            Some("n")
        } else {
            cells.any(|cell| cell.chars().count() > PROSE).then_some("prose")
        }
    }
}

/// Room for a table on a phone 390 px wide, what a letter takes in the small print of `.dense`, and the padding of a cell [px].
const PHONE_TABLE_PX: f64 = 346.0;
const PHONE_LETTER_PX: f64 = 7.3;
const PHONE_PADDING_PX: f64 = 6.0;

/// Rows from which a table may run over the end of a printed page.
const LONG: usize = 15;

/// Characters from which a cell is prose, and up to which a row's head is kept on one line.
const PROSE: usize = 24;

/// Class of the head of a row.
fn whole(head: &str) -> Option<&'static str> {
    (head.chars().count() <= PROSE).then_some("whole")
}

/// Whether a cell is a number, a range, a number with a mark, or says that there is none.
fn is_number(cell: &str) -> bool {
    let cell = cell.replace(" to ", "").replace(" %", "");
    let begins = cell.chars().next().is_some_and(|c| c.is_ascii_digit() || "+-".contains(c));
    cell == "none" || begins && cell.chars().all(|c| c.is_ascii_digit() || "+-.*!k,: ".contains(c))
}

/// Something that opens when it is clicked; `printed` opens it in print, else it is left out there.
pub(super) fn fold(summary: &str, printed: bool, body: &Markup) -> Markup {
    html! { details .printed[printed] .screen[!printed] { summary { (summary) } (body) } }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(columns: usize, cell: &str) -> DataTable {
        let heads = (0..columns).map(|i| ("power, kW".to_owned(), format!("c{i}"))).collect();
        let mut table = DataTable::new("Caption".to_owned(), heads);
        table.row(vec![cell.to_owned(); columns]);
        table
    }

    #[test]
    fn a_table_too_wide_for_a_phone_stacks_its_rows_under_full_heads() {
        // HAND: nine columns of three digits take 9 * (6 + 3 * 7.3) = 251 px, fifteen of them 419.
        assert!(table(9, "123").render().into_string().contains("class=\"dense\""));
        let wide = table(15, "123").render().into_string();
        assert!(wide.contains("class=\"stack\"") && wide.contains("data-head=\"power, kW: c14\""), "{wide}");
        assert!(table(2, &"long ".repeat(12)).render().into_string().contains("class=\"stack\""));
    }

    #[test]
    fn numbers_stand_right_and_words_left() {
        for number in ["12", "-1.5", "+0.3", "12.5*", "117.6k", "-5 to +8", "+0.3, -0.2 %", "none"] {
            assert!(is_number(number), "{number}");
        }
        for word in ["", "e85", "yes", "kept", "premium-91", "4 octane numbers"] {
            assert!(!is_number(word), "{word}");
        }
    }
}
