//! Tables and folds of the page.

use crate::estimate::Band;
use crate::report::text::band_cells;
use maud::{Markup, html};

/// A table whose first column heads its rows.
pub(super) struct DataTable {
    caption: String,
    heads: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl DataTable {
    /// A table without rows.
    pub(super) fn new(caption: impl Into<String>, heads: &[&str]) -> Self {
        Self {
            caption: caption.into(),
            heads: heads.iter().map(|head| (*head).to_owned()).collect(),
            rows: Vec::new(),
        }
    }

    /// Adds columns.
    pub(super) fn more_heads(mut self, heads: impl IntoIterator<Item = String>) -> Self {
        self.heads.extend(heads);
        self
    }

    /// Adds a row; cells go to the columns in order.
    pub(super) fn row(&mut self, cells: Vec<String>) {
        self.rows.push(cells);
    }

    /// The table, in a box that can be moved sideways where the screen is narrow.
    pub(super) fn render(&self) -> Markup {
        html! {
            div .caption { (self.caption) }
            div .scroll role="region" tabindex="0" aria-label=(self.caption) {
                table aria-label=(self.caption) {
                    thead {
                        tr {
                            @for (i, head) in self.heads.iter().enumerate() {
                                th scope="col" class=[self.class(i)] { (head) }
                            }
                        }
                    }
                    tbody {
                        @for row in &self.rows {
                            tr {
                                @for (i, cell) in row.iter().enumerate() {
                                    @if i == 0 { th scope="row" class=[whole(cell)] { (cell) } }
                                    @else { td class=[self.class(i)] { (cell) } }
                                }
                            }
                        }
                    }
                }
            }
        }
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

/// "129 to 157".
pub(super) fn range_words(band: Band, convert: impl Fn(f64) -> f64, decimals: usize) -> String {
    let [low, _, high] = band_cells(band, convert, decimals);
    format!("{low} to {high}")
}

#[cfg(test)]
mod tests {
    use super::*;

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
