//! What the service conditions cost, what would move the order, and what each ignition is worth, as tables.

use super::words::{condition_words, ignition_words, ratio, variant_ratio, variant_words};
use crate::choose::Choice;
use crate::choose::result::{Order, Variant, VariantKind};
use crate::report::Units;
use crate::report::quantity::{fixed, signed};
use crate::report::table::{Column, Table, shorten, wrap};

/// Most characters of a fuel name at the head of a column.
const HEAD_LIMIT: usize = 12;
/// Fuels side by side in the table of ignitions.
const FUELS: usize = 3;

/// Service conditions with what each costs.
pub(super) fn service(choice: &Choice, units: Units) -> String {
    let Some(order) = &choice.order else { return String::new() };
    let words = |variant: &Variant| condition_words(&variant.kind, choice, units);
    if choice.variants.iter().all(|variant| words(variant).is_none()) {
        return String::new();
    }
    let mut table = Table::new(vec![
        Column::words("condition"),
        Column::words("taken as"),
        Column::number("order", "without"),
        Column::number("costs", "ratio"),
    ]);
    for variant in &choice.variants {
        let Some((name, taken)) = words(variant) else { continue };
        let cost = variant.compression_ratio.map(|without| without - order.compression_ratio);
        table.row(vec![
            name.to_owned(),
            taken,
            variant_ratio(variant, choice),
            cost.map_or_else(|| "-".to_owned(), |cost| fixed(cost, 1)),
        ]);
    }
    format!("\nWhat each service condition costs (+: up to the end of the range asked)\n{}", table.render())
}

/// The order were one thing different.
pub(super) fn sensitivity(choice: &Choice, units: Units) -> String {
    let Some(order) = &choice.order else { return String::new() };
    let is_change = |v: &&Variant| {
        let is_condition = condition_words(&v.kind, choice, units).is_some();
        !is_condition && !matches!(v.kind, VariantKind::Ignition { .. })
    };
    let mut table =
        Table::new(vec![Column::words("if"), Column::number("order", ""), Column::number("change", "")]);
    for variant in choice.variants.iter().filter(is_change) {
        let change = variant.compression_ratio.map(|there| there - order.compression_ratio);
        table.row(vec![
            variant_words(&variant.kind, choice, units),
            variant_ratio(variant, choice),
            change.map_or_else(|| "-".to_owned(), |change| signed(change, 1)),
        ]);
    }
    let title = format!("\nWhat would move the order from {}:1\n", ratio(order.compression_ratio));
    title + &table.render()
}

/// What each ignition would be worth, split where the fuels do not fit the width.
pub(super) fn ignitions(choice: &Choice, units: Units) -> String {
    let Some(order) = &choice.order else { return String::new() };
    let title = "What the ignition is worth: order, and likely wheel power of each fuel (*: as fitted)";
    let mut out = format!("\n{}", wrap("", title));
    for from in (0..choice.fuels.len()).step_by(FUELS) {
        let to = (from + FUELS).min(choice.fuels.len());
        out += &ignitions_of(choice, order, from..to, units).render();
    }
    out
}

fn ignitions_of(choice: &Choice, order: &Order, fuels: std::ops::Range<usize>, units: Units) -> Table {
    let here = format!("at {}:1, {}", ratio(order.compression_ratio), units.power_unit());
    let own = format!("at its own order, {}", units.power_unit());
    let mut columns = vec![Column::words("ignition"), Column::number("order", "")];
    for group in [&here, &own] {
        let heads = choice.fuels[fuels.clone()].iter();
        columns.extend(heads.map(|f| Column::number(&shorten(&f.name, HEAD_LIMIT), "").under(group)));
    }
    let mut table = Table::new(columns);
    for worth in &choice.ignitions {
        let mark = if worth.ignition == choice.ignition.ignition { " *" } else { "" };
        let mut cells = vec![
            format!("{}{mark}", ignition_words(worth.ignition)),
            worth.compression_ratio.map_or_else(|| "none".to_owned(), ratio),
        ];
        for powers in [&worth.power_kw_here, &worth.power_kw_there] {
            let power = |i: usize| powers.get(i).map(|kw| fixed(units.power(*kw), 1));
            cells.extend(fuels.clone().map(|i| power(i).unwrap_or_else(|| "-".to_owned())));
        }
        table.row(cells);
    }
    table
}
