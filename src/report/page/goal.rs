//! What a wanted wheel power needs.

use super::Report;
use super::name_of;
use super::parts::{DataTable, fold};
use crate::goal::Goal;
use crate::report::Units;
use crate::report::goal::words::{answer, chance_words, digits, power_words, verdict_word};
use crate::report::quantity::{fixed, signed};
use crate::report::table::plain;
use crate::report::text::band_cells;
use maud::{Markup, html};

/// The section; nothing when no power was wanted.
pub(super) fn section(report: &Report<'_>) -> Option<Markup> {
    let (goal, units) = (report.goal?, report.units);
    let lines = answer(goal, units);
    Some(html! {
        p { "Wanted: " (power_words(goal.wheel_power_kw, units)) " at the wheels." }
        @if let Some((first, others)) = lines.split_first() {
            p .lead { (plain(first)) }
            ul { @for line in others { li { (plain(line)) } } }
        }
        (chances(goal, units).render())
        (fold("What each change is worth alone", false, &changes(goal, units).render()))
        h3 { "Mind" }
        ul { @for caution in &goal.cautions { li { (caution) } } }
    })
}

fn chances(goal: &Goal, units: Units) -> DataTable {
    let caption = format!("Peak wheel power of the build as it is, {}", units.power_unit());
    let heads = ["fuel", "low", "likely", "high", "samples that reach it", "verdict"];
    let mut table = DataTable::new(caption, &heads);
    for (i, chance) in goal.chances.iter().enumerate() {
        let verdict = if i == 0 { goal.verdict } else { chance.verdict };
        let wheel = chance.wheel_power_kw;
        let mut cells = vec![name_of(&chance.fuel)];
        cells.extend(band_cells(wheel, |kw| units.power(kw), digits(wheel.low)));
        cells.push(chance_words(chance.chance_frac, goal.samples));
        cells.push(verdict_word(verdict).to_owned());
        table.row(cells);
    }
    table
}

fn changes(goal: &Goal, units: Units) -> DataTable {
    let caption =
        format!("Likely peak wheel power with one change, {}, spark tuned anew", units.power_unit());
    let heads = ["change", "power", "gain", "octane margin", "piston speed, m/s"];
    let mut table = DataTable::new(caption, &heads);
    for change in &goal.changes {
        let reading = &change.reading;
        table.row(vec![
            plain(&change.title),
            fixed(units.power(reading.wheel_power_kw), digits(reading.wheel_power_kw)),
            signed(units.power(change.wheel_power_gain_kw), 1),
            signed(reading.best_torque_octane_margin, 1),
            fixed(reading.mean_piston_speed_m_per_s, 1),
        ]);
    }
    table
}
