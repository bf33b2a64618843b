//! The ways to a wanted ratio as text.

use super::cc;
use super::text::cranking_words;
use crate::engine::volumes::{VolumesSheet, WantedRatio, Way, WayKind};
use crate::report::Units;
use crate::report::quantity::{fixed, signed};
use crate::report::table::{Column, Table, wrap};

/// Everything about the wanted ratio; empty when none is wanted.
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
        return out + &wrap("  ", "With [engine.volumes] each part that could make it is given here.");
    }
    out += "\n  One of these, all else held\n";
    out += &table(sheet, &wanted.ways, units).render();
    for way in &wanted.ways {
        let remarks: Vec<&str> = way.impossible.iter().chain(&way.remarks).map(String::as_str).collect();
        if !remarks.is_empty() {
            out += &wrap(&format!("  - {}: ", way_name(way.kind)), &remarks.join("; "));
        }
    }
    out
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
    let [least, likely, most] =
        [octane.least, octane.likely, octane.most].map(|octane| fixed(sign * octane, 1));
    format!(
        "Clearance {} cc, {change}, in each cylinder; some {likely} octane numbers {direction} ({least} to {most}) at the \
         same spark.",
        fixed(cc(wanted.clearance_m3), 2)
    )
}

fn way_name(kind: WayKind) -> &'static str {
    match kind {
        WayKind::Dome => "piston dome",
        WayKind::Gasket => "gasket",
        WayKind::DeckCut => "deck cut",
        WayKind::HeadCut => "head cut",
        WayKind::Chamber => "chamber",
    }
}

fn table(sheet: &VolumesSheet, ways: &[Way], units: Units) -> Table {
    let mut table = Table::new(vec![
        Column::words("part"),
        Column::number("now", ""),
        Column::number("needed", ""),
        Column::words("unit"),
        Column::number("squish", units.length_unit().0),
    ]);
    for way in ways {
        let (needed, squish) = match &way.impossible {
            Some(_) => ("cannot".to_owned(), String::new()),
            None => (needed(way, units), fixed(units.length(way.squish_clearance_m), units.length_unit().1)),
        };
        let unit = if way.volume_m3.is_some() { "cc" } else { units.length_unit().0 };
        let name = way_name(way.kind).to_owned();
        table.row(vec![name, now(sheet, way.kind, units), needed, unit.to_owned(), squish]);
    }
    table
}

fn needed(way: &Way, units: Units) -> String {
    let (_, decimals) = units.length_unit();
    match (way.volume_m3, way.length_m) {
        (Some(volume), _) if way.kind == WayKind::Dome => signed(cc(volume), 2),
        (Some(volume), _) => fixed(cc(volume), 2),
        (None, Some(length)) => {
            let least = if way.at_least { ">= " } else { "" };
            least.to_owned() + &fixed(units.length(length), decimals)
        }
        (None, None) => String::new(),
    }
}

/// The part as it is; nothing for a cut.
fn now(sheet: &VolumesSheet, kind: WayKind, units: Units) -> String {
    use crate::engine::volumes::Part;
    let part = match kind {
        WayKind::Dome => Part::Dome,
        WayKind::Gasket => Part::GasketThickness,
        WayKind::Chamber => Part::Chamber,
        WayKind::DeckCut | WayKind::HeadCut => return String::new(),
    };
    let found = sheet.measured.iter().flat_map(|m| &m.parts).find(|m| m.part == part);
    let Some(found) = found else { return String::new() };
    match (kind, found.clearance_m3, found.length_m) {
        (WayKind::Dome, Some(volume), _) => signed(-cc(volume), 2),
        (WayKind::Gasket, _, Some(length)) => fixed(units.length(length), units.length_unit().1),
        (_, Some(volume), _) => fixed(cc(volume), 2),
        _ => String::new(),
    }
}
