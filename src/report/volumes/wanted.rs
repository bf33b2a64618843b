//! The ways to a target ratio as text.

use super::cc;
use super::combinations::{combinations, valves};
use super::text::cranking_words;
use crate::engine::volumes::{VolumesSheet, WantedRatio, Way, WayKind};
use crate::report::Units;
use crate::report::columns::Columns;
use crate::report::quantity::Dimension::Length;
use crate::report::quantity::{fixed, signed};
use crate::report::table::wrap;
use crate::report::words::{Say, said, squish};

/// Everything about the target ratio; empty when none is asked for.
pub(super) fn wanted(sheet: &VolumesSheet, units: Units) -> String {
    let Some(wanted) = &sheet.wanted else { return String::new() };
    let mut out = format!("\nTo reach {}:1\n", fixed(wanted.compression_ratio, 2));
    out += &wrap("  ", &clearance_words(wanted));
    let then = format!(
        "Then effective ratio {}:1, cranking pressure {}.",
        fixed(wanted.ratio_from_inlet_closing, 2),
        cranking_words(&wanted.cranking, units)
    );
    out += &wrap("  ", &then);
    if wanted.ways.is_empty() {
        return out + &wrap("  ", "With [engine.volumes] each part that could make it is listed here.");
    }
    out += "\n  One of these, everything else as now\n";
    out += &table(sheet, &wanted.ways, units);
    for way in &wanted.ways {
        let mut remarks: Vec<String> = way.impossible.iter().map(|fault| fault.say(units)).collect();
        remarks.extend(said(&way.remarks, units));
        if !remarks.is_empty() {
            out += &wrap(&format!("  - {}: ", way_name(way.kind)), &remarks.join("; "));
        }
    }
    out += &combinations(sheet, wanted, units);
    out + &valves(wanted, units)
}

fn clearance_words(wanted: &WantedRatio) -> String {
    let change_cc = cc(wanted.clearance_change_m3);
    let change = match change_cc {
        c if c.abs() < 0.005 => "as now".to_owned(),
        c if c < 0.0 => format!("{} cc less than now", fixed(-c, 2)),
        c => format!("{} cc more than now", fixed(c, 2)),
    };
    let octane = &wanted.octane;
    let (direction, sign) = if octane.likely < 0.0 { ("less", -1.0) } else { ("more", 1.0) };
    format!(
        "Clearance {} cc, {change}, in each cylinder; about {} octane numbers {direction} at MBT timing ({} per unit of \
         ratio on the way).",
        fixed(cc(wanted.clearance_m3), 2),
        fixed(sign * octane.likely, 1),
        fixed(octane.per_ratio, 1)
    )
}

pub(super) fn way_name(kind: WayKind) -> &'static str {
    match kind {
        WayKind::Dome => "piston dome",
        WayKind::Gasket => "gasket",
        WayKind::DeckCut => "deck cut",
        WayKind::HeadCut => "head cut",
        WayKind::Chamber => "chamber",
    }
}

fn table(sheet: &VolumesSheet, ways: &[Way], units: Units) -> String {
    let length = Length.unit(units);
    let possible = |way: &Way| way.impossible.is_none();
    let mut c = Columns::<&Way>::new(units);
    c.words("part", |way| way_name(way.kind).to_owned());
    c.cells("now", |way| now(sheet, way.kind, units));
    c.cells("needed", |way| match way.impossible {
        Some(_) => "cannot".to_owned(),
        None => needed_words(way.kind, (way.volume_m3, way.length_m), way.at_least, units),
    });
    c.words("unit", move |way| if way.volume_m3.is_some() { "cc" } else { length.symbol }.to_owned());
    c.maybe(squish(units), Length, move |way| possible(way).then_some(way.squish_clearance_m)).or("");
    c.maybe("valves closer", Length, move |way| possible(way).then_some(way.valves_closer_m)).signed().or("");
    c.text(ways)
}

/// What a part must become, from its volume [m3] or its length [m].
pub(super) fn needed_words(
    kind: WayKind,
    (volume_m3, length_m): (Option<f64>, Option<f64>),
    at_least: bool,
    units: Units,
) -> String {
    let decimals = Length.unit(units).digits;
    match (volume_m3, length_m) {
        (Some(volume), _) if kind == WayKind::Dome => signed(cc(volume), 2),
        (Some(volume), _) => fixed(cc(volume), 2),
        (None, Some(length)) => {
            let least = if at_least { ">= " } else { "" };
            least.to_owned() + &fixed(units.of(Length, length), decimals)
        }
        (None, None) => String::new(),
    }
}

/// The part as it is; nothing for a cut.
pub(super) fn now(sheet: &VolumesSheet, kind: WayKind, units: Units) -> String {
    use crate::engine::volumes::MeasuredPart;
    let part = match kind {
        WayKind::Dome => MeasuredPart::Dome,
        WayKind::Gasket => MeasuredPart::GasketThickness,
        WayKind::Chamber => MeasuredPart::Chamber,
        WayKind::DeckCut | WayKind::HeadCut => return String::new(),
    };
    let found = sheet.measured.iter().flat_map(|m| &m.parts).find(|m| m.part == part);
    let Some(found) = found else { return String::new() };
    match (kind, found.clearance_m3, found.length_m) {
        (WayKind::Dome, Some(volume), _) => signed(-cc(volume), 2),
        (WayKind::Gasket, _, Some(length)) => Length.unit(units).words(length),
        (_, Some(volume), _) => fixed(cc(volume), 2),
        _ => String::new(),
    }
}
