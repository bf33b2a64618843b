//! Timing maps for a person.

use super::grid::{Grid, RowAxis, grids};
use super::{NAME_LIMIT, SparkMaps, reserve_words};
use crate::estimate::spark_map::MapCell;
use crate::report::Units;
use crate::report::columns::Columns;
use crate::report::quantity::{fixed, percent};
use crate::report::table::{heading, list, plain, shorten, wrap};
use crate::report::words::cautions;

/// What the text says before its cautions.
pub(super) fn text(shown: &SparkMaps) -> String {
    let maps: Vec<String> = grids(shown).iter().map(grid_text).collect();
    maps.join("\n") + &list("Cautions", cautions::SPARK_MAP.iter().copied())
}

fn grid_text(grid: &Grid<'_>) -> String {
    let over = match grid.axis {
        RowAxis::Load(_) => "over rpm and load",
        RowAxis::Ethanol => "over rpm and ethanol content",
    };
    let title = format!("Timing map of {} on {}, {over}", shorten(grid.scenario, NAME_LIMIT), grid.on);
    let mut out = wrap("", &plain(&title));
    if grid.is_cut() {
        out += &wrap("", "Loads beyond what the engine takes at an rpm hold its full-load timing there (^).");
    }
    let start = "Timing to start from, deg BTDC: knock-free in 9 cases of 10 (none: no timing in range is)";
    out += &heading(start);
    out += &table(grid, |cell| number(cell.start_spark_deg_btdc));
    let reserve = reserve_words(grid.reserve);
    out += &heading(&format!(
        "Likely limit, deg BTDC, with a safety margin of {reserve} (*: knock sets it, not MBT; none: no timing keeps it)"
    ));
    out += &table(grid, |cell| number(cell.spark_deg_btdc) + if cell.knock_limited { "*" } else { " " });
    out += &heading("MBT timing, deg BTDC");
    out += &table(grid, |cell| fixed(cell.best_torque_spark_deg_btdc, 1));
    out += &heading("Torque lost to retard at the timing to start from, %");
    out += &table(grid, |cell| lost(cell, cell.start_torque_lost_frac));
    out += &heading("Torque lost to retard at the likely limit, %");
    out += &table(grid, |cell| lost(cell, cell.torque_lost_frac));
    let makes_hardly_any = |cell: &MapCell| cell.torque_lost_frac.is_none();
    if grid.rows.iter().flat_map(|(_, cells)| *cells).any(makes_hardly_any) {
        out += "  -: the engine makes hardly any torque there\n";
    }
    out
}

fn number(timing: Option<f64>) -> String {
    timing.map_or_else(|| "none".to_owned(), |timing| fixed(timing, 1))
}

fn lost(cell: &MapCell, share: Option<f64>) -> String {
    let absent = if cell.torque_lost_frac.is_none() { "-" } else { "none" };
    share.map_or_else(|| absent.to_owned(), |share| percent(share, 1))
}

/// One table of a map.
fn table(grid: &Grid<'_>, show: impl Fn(&MapCell) -> String + Copy) -> String {
    let (name, unit) = grid.axis.words();
    // Labels keep the unit in which they were typed, and everything else is the same in both systems.
    let mut c = Columns::<&(String, &[MapCell])>::new(Units::Metric);
    c.cells(name, |(label, _)| label.clone()).below(unit);
    let is_cut = grid.is_cut();
    for (i, cell) in grid.rows.iter().take(1).flat_map(|(_, cells)| cells.iter().enumerate()) {
        let shown = move |(_, cells): &&(String, &[MapCell])| {
            let mark = if !is_cut {
                ""
            } else if cells[i].reached.beyond_full_load {
                "^"
            } else {
                " "
            };
            show(&cells[i]) + mark
        };
        c.cells(&fixed(cell.speed_rpm, 0), shown).below("rpm");
    }
    c.text(&grid.rows)
}
