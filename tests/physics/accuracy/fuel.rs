//! Fuel rows: worst error over the published properties, and the octane of blends.

use super::Check;
use crate::fuel_reference::figures::{found, fuel_of};
use crate::fuel_reference::octane_rows::{BLEND_ROWS, residual_rows};
use crate::fuel_reference::rows::{Row, row, rows};
use endgas::fuel::OCTANE_BLENDING;

const PROPERTIES: &str = "AFDC, NREL (OSTI 1242469), GREET and computed rows of tests/data/fuels.csv";
const OCTANE: &str = "rows of tests/data/fuels.csv: SAE 2015-01-0763 abstract; most from memory";

/// Distance from what a row prints, or from the nearer end of a printed range [%].
fn error_percent(row: &Row, found: f64) -> f64 {
    let (low, high) = match row.value.split_once('-') {
        Some((low, high)) => (low.parse().unwrap(), high.parse().unwrap()),
        None => (row.middle(), row.middle()),
    };
    let nearest = found.clamp(low, high);
    100.0 * (found / nearest - 1.0).abs()
}

/// Worst error over all rows of a quantity, worked rows of a defined base left out [%].
fn worst(quantities: &[&str]) -> f64 {
    let chosen = rows().into_iter().filter(|r| {
        let ends = r.id.ends_with("_HOV_LO") || r.id.ends_with("_HOV_HI");
        let of_blend = r.fuel != "water" && !r.id.starts_with("CALC_") && !ends;
        of_blend && quantities.contains(&r.quantity.as_str())
    });
    let errors: Vec<f64> =
        chosen.map(|r| error_percent(&r, found(&r, &fuel_of(&r)).expect("a property row"))).collect();
    assert!(errors.len() >= 5, "{quantities:?}: only {} rows", errors.len());
    errors.into_iter().fold(0.0, f64::max)
}

/// Median and worst size of some errors.
fn median_and_worst(mut sizes: Vec<f64>) -> (f64, f64) {
    sizes.sort_by(f64::total_cmp);
    (sizes[sizes.len() / 2], sizes[sizes.len() - 1])
}

pub(crate) fn checks() -> Vec<Check> {
    let property =
        |what, quantities: &[&str]| Check::new(what, "%", (0.0, 1.0), worst(quantities), 2, PROPERTIES);
    let heat = [
        "lower heating value",
        "lower heating value (liquid)",
        "lower heating value (liquid fuel)",
        "lower heating value (vapour fuel)",
    ];
    let all = residual_rows().into_iter().map(|(id, ours)| (ours - row(id).middle()).abs()).collect();
    let (median, worst_of_all) = median_and_worst(all);
    let at_zero = BLEND_ROWS.iter().map(|b| ((b.ron)(0.0) - row(b.id).middle()).abs()).collect();
    let fitted = BLEND_ROWS.iter().map(|b| ((b.ron)(OCTANE_BLENDING.z_ron) - row(b.id).middle()).abs());
    vec![
        property("fuel density, worst error", &["density", "liquid density", "specific gravity 60F/60F"]),
        property("heating value by mass, worst error", &heat),
        property("heating value by volume, worst error", &["lower heating value by volume"]),
        property("heat of vaporisation, worst error", &["heat of vaporization", "heat of vaporisation"]),
        property("air-fuel ratio, worst error", &["stoichiometric air-fuel ratio by mass"]),
        Check::new("octane of fuels and blends, median error", "ON", (0.0, 1.5), median, 1, OCTANE).fitted(),
        Check::new("octane of fuels and blends, worst error", "ON", (0.0, 2.5), worst_of_all, 1, OCTANE)
            .fitted(),
        Check::new(
            "RON of blends, median error",
            "ON",
            (0.0, 1.5),
            median_and_worst(fitted.collect()).0,
            1,
            OCTANE,
        )
        .fitted(),
        Check::new(
            "RON of blends without interaction, median error",
            "ON",
            (0.0, 1.5),
            median_and_worst(at_zero).0,
            1,
            OCTANE,
        ),
    ]
}
