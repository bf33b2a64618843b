//! Valve events of a cam card, as text.

use crate::engine::cam::EventLift;
use crate::engine::volumes::{CamSheet, EventRow, LobeSheet};
use crate::report::Units;
use crate::report::columns::Columns;
use crate::report::quantity::Dimension::{Length, Pure};
use crate::report::quantity::fixed;
use crate::report::table::wrap;

/// Where an event counts.
fn counted(lift: EventLift, units: Units) -> String {
    match (lift, units) {
        (EventLift::Seat, _) => "at the seat".to_owned(),
        (EventLift::Lifter050In, Units::Metric) => "0.050 in (1.27 mm) of lifter lift".to_owned(),
        (EventLift::Lifter050In, Units::Us) => "0.050 in of lifter lift".to_owned(),
        (EventLift::Valve1Mm, _) => effective(units),
    }
}

/// The lift of the valve at which its events count for compression.
pub(super) fn effective(units: Units) -> String {
    match units {
        Units::Metric => "1 mm of valve lift".to_owned(),
        Units::Us => "0.039 in of valve lift".to_owned(),
    }
}

/// The table of events, and the lobes.
pub(super) fn cam(sheet: &CamSheet, units: Units) -> String {
    let mut c = Columns::<&EventRow>::new(units);
    c.words("counted at", |r| counted(r.counted, units));
    c.number("inlet opens", Pure, |r| r.inlet_opens_deg_btdc).below("deg BTDC");
    c.number("closes", Pure, |r| r.inlet_closes_deg_abdc).below("deg ABDC");
    c.number("exhaust opens", Pure, |r| r.exhaust_opens_deg_bbdc).below("deg BBDC");
    c.number("closes", Pure, |r| r.exhaust_closes_deg_atdc).below("deg ATDC");
    c.number("overlap", Pure, |r| r.overlap_deg).below("deg");
    c.number("ratio", Pure, |r| r.ratio_from_inlet_closing).below("from IVC").digits(2);
    let durations: Vec<_> = sheet
        .events
        .iter()
        .map(|r| {
            let (inlet, exhaust) = (fixed(r.inlet_duration_deg, 0), fixed(r.exhaust_duration_deg, 0));
            format!("{inlet}/{exhaust} deg {}", counted(r.counted, units))
        })
        .collect();
    let mut out = "\nValve events of the cam card\n".to_owned();
    out += &c.text(&sheet.events);
    out += &wrap("  ", &format!("Duration, inlet/exhaust: {}.", durations.join(", ")));
    out += &wrap(
        "  ",
        &format!("Inlet {}; exhaust {}.", lobe(&sheet.inlet, units), lobe(&sheet.exhaust, units)),
    );
    let words = format!(
        "Each ratio is the volume at that inlet closing over the clearance volume: the same cam read at another lift gives \
         another ratio. Compare yours with figures counted the same way. This program breathes and compresses from {}.",
        effective(units)
    );
    out + &wrap("  ", &words)
}

fn lobe(lobe: &LobeSheet, units: Units) -> String {
    let area = units.of(Length, lobe.lift_area_m_deg);
    format!(
        "centreline {} deg, lift {} at the lifter and {} at the valve (lash taken off), lift area {} {} deg",
        fixed(lobe.centreline_deg, 1),
        units.words(Length, lobe.lobe_lift_m),
        units.words(Length, lobe.valve_lift_m),
        fixed(area, if units == Units::Us { 1 } else { 0 }),
        units.symbol(Length),
    )
}
