//! Combinations of parts that reach a wanted ratio, and room for the valves, as text.

use super::squish;
use super::wanted::{needed_words, now, way_name};
use crate::engine::volumes::squish::LEAST_VALVE_CLEARANCES_M;
use crate::engine::volumes::{
    Change, Combination, CombinationRemark, NoCombination, SQUISH_RANGE_M, VolumesSheet, WantedRatio,
};
use crate::report::Units;
use crate::report::quantity::{fixed, percent, signed};
use crate::report::table::{Column, Table, wrap};

/// What trade writes of valve clearance in inches goes in steps of this [in].
const INCH_STEP: f64 = 0.005;

/// The combinations, or why there is none.
pub(super) fn combinations(sheet: &VolumesSheet, wanted: &WantedRatio, units: Units) -> String {
    if let Some(reason) = wanted.no_combination {
        return "\n".to_owned() + &wrap("  ", &none_words(reason, units));
    }
    let head = format!(
        "Or one of these combinations; {} stays at {} (common practice, no source; aluminium rods want the upper end)",
        squish(units),
        range_words(units)
    );
    let mut out = "\n".to_owned() + &wrap("  ", &head);
    out += &table(sheet, &wanted.combinations, units).render();
    for (number, combination) in (1..).zip(&wanted.combinations) {
        let remarks: Vec<_> = combination.remarks.iter().map(|remark| remark_words(*remark, units)).collect();
        if !remarks.is_empty() {
            out += &wrap(&format!("  - {number}: "), &remarks.join("; "));
        }
    }
    out
}

/// Room for the valves, where a way or combination takes some; else empty.
pub(super) fn valves(wanted: &WantedRatio, units: Units) -> String {
    let ways = wanted.ways.iter().filter(|way| way.impossible.is_none()).map(|way| way.valves_closer_m);
    let mut all = ways.chain(wanted.combinations.iter().map(|combination| combination.valves_closer_m));
    if !all.any(|closer_m| closer_m > 0.0) {
        return String::new();
    }
    let (intake, exhaust) = LEAST_VALVE_CLEARANCES_M;
    let words = format!(
        "Valves closer: intake and exhaust valves come that much closer to the piston (measured along the cylinder; \
         less along an inclined valve, by the cosine of its angle). Usual least clearances: intake {}, exhaust {} \
         (common practice, no source). Measure with clay before assembly; deepen the valve reliefs by as much if there \
         is no room. Deeper reliefs add volume and lower the ratio: measure them again. A cut or a thinner gasket \
         also retards an overhead cam: degree it in again.",
        valve_clearance_words(intake, units),
        valve_clearance_words(exhaust, units)
    );
    "\n".to_owned() + &wrap("  ", &words)
}

fn valve_clearance_words(clearance_m: f64, units: Units) -> String {
    let clearance = units.length(clearance_m);
    match units {
        Units::Metric => format!("{} mm", fixed(clearance, 1)),
        Units::Us => format!("{} in", fixed((clearance / INCH_STEP).round() * INCH_STEP, 3)),
    }
}

fn range_words(units: Units) -> String {
    let (unit, decimals) = units.length_unit();
    let [least, most] = [SQUISH_RANGE_M.0, SQUISH_RANGE_M.1].map(|m| fixed(units.length(m), decimals));
    format!("{least} to {most} {unit}")
}

fn none_words(reason: NoCombination, units: Units) -> String {
    let (squish, range) = (squish(units), range_words(units));
    match reason {
        NoCombination::SquishIsSet => {
            format!("No combination: {squish} is right as it is, so one part is enough, or none will do.")
        }
        NoCombination::SquishOutOfReach => format!(
            "No combination: neither a deck cut nor a common gasket brings {squish} to {range}; it takes a piston \
             with another compression height."
        ),
        NoCombination::RestTooMuch => format!(
            "No combination: with {squish} at {range}, the rest takes more than a piston and a head cut can give."
        ),
    }
}

fn remark_words(remark: CombinationRemark, units: Units) -> String {
    match remark {
        CombinationRemark::TightSquish => {
            format!("tight {}: for steel rods and measured pistons only", squish(units))
        }
        CombinationRemark::DomeSlowsBurn => {
            "the dome slows the burn: a smaller chamber with a flatter crown is better".to_owned()
        }
        CombinationRemark::HeadFaceNotMeasured => {
            "head cut taken over the whole gasket bore; most chambers are narrower at the face and need more: measure \
             one and give head_cut_cc_per_mm"
                .to_owned()
        }
        CombinationRemark::ChamberWalls => {
            "opening the chamber thins its walls: check them for thickness first, and cc every chamber after".to_owned()
        }
    }
}

/// One row per part; what holds for the whole combination stands in its first row.
fn table(sheet: &VolumesSheet, combinations: &[Combination], units: Units) -> Table {
    let (unit, decimals) = units.length_unit();
    let mut table = Table::new(vec![
        Column::number("", ""),
        Column::words("part"),
        Column::number("now", ""),
        Column::number("needed", ""),
        Column::words("unit"),
        Column::number("ratio", ""),
        Column::number(squish(units), unit),
        Column::number("dome, % of", "chamber"),
        Column::number("valves closer", unit),
    ]);
    for (number, combination) in (1..).zip(combinations) {
        for (i, change) in combination.changes.iter().enumerate() {
            let mut row = vec![if i == 0 { format!("{number}") } else { String::new() }];
            row.extend(part_cells(sheet, change, units));
            row.extend(if i == 0 {
                [
                    fixed(combination.compression_ratio, 2),
                    fixed(units.length(combination.squish_clearance_m), decimals),
                    percent(combination.dome_share, 0),
                    signed(units.length(combination.valves_closer_m), decimals),
                ]
            } else {
                Default::default()
            });
            table.row(row);
        }
    }
    table
}

/// The part, as it is, as it must become, and the unit of both.
fn part_cells(sheet: &VolumesSheet, change: &Change, units: Units) -> [String; 4] {
    let unit = if change.volume_m3.is_some() { "cc" } else { units.length_unit().0 };
    let needed = needed_words(change.kind, (change.volume_m3, change.length_m), change.at_least, units);
    [way_name(change.kind).to_owned(), now(sheet, change.kind, units), needed, unit.to_owned()]
}
