//! Combinations of parts that reach a target ratio, and room for the valves, as text.

use super::wanted::{needed_words, now, way_name};
use crate::engine::volumes::squish::LEAST_VALVE_CLEARANCES_M;
use crate::engine::volumes::{
    Change, Combination, CombinationRemark, NoCombination, SQUISH_RANGE_M, VolumesSheet, WantedRatio,
};
use crate::report::Units;
use crate::report::columns::Columns;
use crate::report::quantity::Dimension::{Length, Pure, Share};
use crate::report::quantity::ShownUnit;
use crate::report::quantity::fixed;
use crate::report::table::wrap;
use crate::report::words::{OVER_THE_GASKET_BORE, squish};

/// What trade writes of valve clearance in inches goes in steps of this [in].
const INCH_STEP: f64 = 0.005;

/// The combinations, or why there is none.
pub(super) fn combinations(sheet: &VolumesSheet, wanted: &WantedRatio, units: Units) -> String {
    if let Some(reason) = wanted.no_combination {
        return "\n".to_owned() + &wrap("  ", &none_words(reason, units));
    }
    let head = format!(
        "Or one of these combinations; {} stays at {} (common practice, no source; aluminium rods need the upper end)",
        squish(units),
        range_words(units)
    );
    let mut out = "\n".to_owned() + &wrap("  ", &head);
    out += &table(sheet, &wanted.combinations, units);
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
    let clearance = units.of(Length, clearance_m);
    match units {
        Units::Metric => format!("{} mm", fixed(clearance, 1)),
        Units::Us => format!("{} in", fixed((clearance / INCH_STEP).round() * INCH_STEP, 3)),
    }
}

fn range_words(units: Units) -> String {
    let ShownUnit { symbol: unit, digits: decimals, .. } = Length.unit(units);
    let [least, most] = [SQUISH_RANGE_M.0, SQUISH_RANGE_M.1].map(|m| fixed(units.of(Length, m), decimals));
    format!("{least} to {most} {unit}")
}

fn none_words(reason: NoCombination, units: Units) -> String {
    let (squish, range) = (squish(units), range_words(units));
    match reason {
        NoCombination::SquishIsSet => {
            format!("No combination: {squish} is right as built, so one part is enough, or none will do.")
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
            format!("head cut {OVER_THE_GASKET_BORE}")
        }
        CombinationRemark::ChamberWalls => {
            "opening the chamber thins its walls: check them for thickness first, and cc every chamber after"
                .to_owned()
        }
    }
}

/// One row per part; what holds for the whole combination stands in its first row.
fn table(sheet: &VolumesSheet, combinations: &[Combination], units: Units) -> String {
    type PartRow<'a> = (usize, &'a Change, Option<&'a Combination>);
    let rows = (1..).zip(combinations).flat_map(|(number, all)| {
        all.changes.iter().enumerate().map(move |(i, change)| (number, change, (i == 0).then_some(all)))
    });
    let unit = |change: &Change| if change.volume_m3.is_some() { "cc" } else { Length.unit(units).symbol };
    let mut c = Columns::<PartRow<'_>>::new(units);
    c.cells("", |(number, _, first)| first.map(|_| number.to_string()).unwrap_or_default());
    c.words("part", |(_, change, _)| way_name(change.kind).to_owned());
    c.cells("now", |(_, change, _)| now(sheet, change.kind, units));
    c.cells("needed", |(_, change, _)| {
        needed_words(change.kind, (change.volume_m3, change.length_m), change.at_least, units)
    });
    c.words("unit", move |(_, change, _)| unit(change).to_owned());
    c.maybe("ratio", Pure, |(.., first)| Some(first.as_ref()?.compression_ratio)).digits(2).or("");
    c.maybe(squish(units), Length, |(.., first)| Some(first.as_ref()?.squish_clearance_m)).or("");
    c.maybe("dome, % of", Share, |(.., first)| Some(first.as_ref()?.dome_share_frac)).below("chamber").or("");
    c.maybe("valves closer", Length, |(.., first)| Some(first.as_ref()?.valves_closer_m)).signed().or("");
    c.text(rows)
}
