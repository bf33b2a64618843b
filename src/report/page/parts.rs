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

    /// The table, in a box that can be moved sideways where the screen is narrow.
    pub(in crate::report) fn render(&self) -> Markup {
        html! {
            div .caption { (self.caption) }
            div .scroll role="region" tabindex="0" aria-label=(self.caption) {
                table aria-label=(self.caption) {
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
