//! Valve events of a cam card, as text.

use crate::engine::cam::EventLift;
use crate::engine::volumes::{CamSheet, EventRow, LobeSheet};
use crate::report::Units;
use crate::report::columns::Columns;
use crate::report::quantity::Dimension::{Length, Pure};
use crate::report::quantity::fixed;
use crate::report::table::wrap;

/// Where an event counts.
fn counted(lift: EventLift, units: Units) -> &'static str {
    match (lift, units) {
        (EventLift::Seat, _) => "seat",
        (EventLift::Lifter050In, _) => "0.050 in at the lifter",
        (EventLift::Valve1Mm, Units::Metric) => "1 mm at the valve",
        (EventLift::Valve1Mm, Units::Us) => "0.039 in at the valve",
    }
}

/// The lift of the valve at which its events count for compression.
pub(super) fn effective(units: Units) -> &'static str {
    match units {
        Units::Metric => "1 mm of valve lift",
        Units::Us => "0.039 in of valve lift",
    }
}

/// The table of events, and the lobes.
pub(super) fn cam(sheet: &CamSheet, units: Units) -> String {
    let mut c = Columns::<&EventRow>::new(units);
    c.words("counted at", |r| counted(r.counted, units).to_owned());
    c.number("IVO", Pure, |r| r.inlet_opens_deg_btdc).below("deg BTDC");
    c.number("IVC", Pure, |r| r.inlet_closes_deg_abdc).below("deg ABDC");
    c.number("EVO", Pure, |r| r.exhaust_opens_deg_bbdc).below("deg BBDC");
    c.number("EVC", Pure, |r| r.exhaust_closes_deg_atdc).below("deg ATDC");
    c.number("overlap", Pure, |r| r.overlap_deg).below("deg");
    c.number("ratio", Pure, |r| r.ratio_from_inlet_closing).below("from IVC").digits(2);
    let durations: Vec<_> = sheet
        .events
        .iter()
        .map(|r| {
            let (inlet, exhaust) = (fixed(r.inlet_duration_deg, 0), fixed(r.exhaust_duration_deg, 0));
            let place = match r.counted {
                EventLift::Seat => "from seat to seat".to_owned(),
                lift => format!("at {}", counted(lift, units)),
            };
            format!("{inlet}/{exhaust} deg {place}")
        })
        .collect();
    let mut out = "\nValve events of the cam card\n".to_owned();
    out += &c.text(&sheet.events);
    out += &wrap(
        "  ",
        &format!(
            "Duration, intake/exhaust: {}. IVO and IVC: intake valve opens and closes; EVO and EVC: exhaust valve opens and closes.",
            durations.join(", ")
        ),
    );
    out += &wrap(
        "  ",
        &format!("Intake {}; exhaust {}.", lobe(&sheet.inlet, units), lobe(&sheet.exhaust, units)),
    );
    let words = format!(
        "Each ratio is the volume at that intake closing over the clearance volume: the same cam read at another lift gives \
         another ratio. Compare yours with figures counted the same way. Estimates count from {}, cranking pressure \
         from the seat.",
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
