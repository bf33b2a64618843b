//! Volumes as text for a person: the ratio first, then what it rests on.

use super::wanted::wanted;
use super::{cam, cc, cylinders};
use crate::engine::volumes::{
    CRANKING_EXPONENTS, CrankingPressure, Measured, MeasuredPart, Measurement, PUBLISHED_OCTANE_PER_RATIO,
    Spread, VolumesSheet,
};
use crate::report::Units;
use crate::report::columns::Columns;
use crate::report::quantity::Dimension::{AirPressure, Length, Pressure, Pure, Share, Volume};
use crate::report::quantity::{fixed, signed};
use crate::report::table::{shorten, wrap};
use crate::report::words::{said, squish};
use crate::units::PA_PER_BAR;

/// Most characters of the name of a scenario.
const NAME_LIMIT: usize = 80;

/// The whole text.
pub(super) fn render(sheet: &VolumesSheet, units: Units) -> String {
    let mut out = answer(sheet);
    out += &head(sheet, units);
    match &sheet.measured {
        Some(measured) => {
            out += &measurements(measured, units);
            out += &slopes(measured, units);
        }
        None => out += &not_measured(units),
    }
    out += &from_closing(sheet, units);
    if let Some(events) = &sheet.cam {
        out += &cam::cam(events, units);
    }
    if let Some(spread) = &sheet.spread {
        out +=
            &format!("\nCylinders\n{}{}", cylinders::table(sheet, units), wrap("  ", &spread_words(spread)));
    }
    out += &wanted(sheet, units);
    out += "\nCautions\n";
    out.extend(said(&sheet.cautions, units).iter().map(|line| wrap("  - ", line)));
    out
}

fn answer(sheet: &VolumesSheet) -> String {
    let mut words = format!("Compression ratio {}:1", fixed(sheet.compression_ratio, 2));
    match &sheet.measured {
        Some(m) => {
            words += &format!(", {} to {} (tolerances)", fixed(m.ratio_low, 2), fixed(m.ratio_high, 2));
        }
        None => words += " as stated in the scenario, not measured",
    }
    if let Some(s) = &sheet.spread {
        let (low, high) = (fixed(s.lowest_ratio, 2), fixed(s.highest_ratio, 2));
        words += &format!(", cylinders {low} to {high}");
    }
    wrap("", &words) + "\n"
}

fn head(sheet: &VolumesSheet, units: Units) -> String {
    let mut out = wrap("Scenario   ", &shorten(&sheet.scenario, NAME_LIMIT));
    let engine = format!(
        "{} {}, bore {}, stroke {}: {} cc swept, {} cc clearance each{}",
        sheet.cylinders,
        if sheet.cylinders == 1 { "cylinder" } else { "cylinders" },
        units.words(Length, sheet.bore_m),
        units.words(Length, sheet.stroke_m),
        fixed(cc(sheet.swept_m3), 1),
        fixed(cc(sheet.clearance_m3), 2),
        if sheet.spread.is_some() { " (mean; the ratio is that of this mean)" } else { "" },
    );
    out += &wrap("Engine     ", &engine);
    if let Some(measured) = &sheet.measured {
        let whose = if sheet.spread.is_some() { ", tightest cylinder" } else { "" };
        let words =
            format!("{}, deck clearance and gasket{whose}", units.words(Length, measured.squish_clearance_m));
        let name = match units {
            Units::Metric => "Squish     ",
            Units::Us => "Quench     ",
        };
        out += &wrap(name, &words);
    }
    out + &wrap("Octane     ", &octane(sheet))
}

/// What a little more ratio asks of octane.
fn octane(sheet: &VolumesSheet) -> String {
    let slope = &sheet.octane;
    let (least, most) = PUBLISHED_OCTANE_PER_RATIO;
    format!(
        "{} octane numbers more per unit of ratio at MBT timing, {} at {} rpm (as the estimate has it; published {} to {})",
        fixed(slope.per_ratio, 1),
        shorten(&slope.fuel, NAME_LIMIT),
        fixed(slope.speed_rpm, 0),
        fixed(least, 0),
        fixed(most, 0),
    )
}

fn from_closing(sheet: &VolumesSheet, units: Units) -> String {
    let closing = format!(
        "{}:1, intake closes {} deg after bottom dead centre at {}",
        fixed(sheet.ratio_from_inlet_closing, 2),
        fixed(sheet.inlet_closes_deg_abdc, 0),
        cam::effective(units)
    );
    let [low, likely, high] = CRANKING_EXPONENTS.map(|n| fixed(n, 2));
    let basis = format!(
        "Low / likely / high: air at {} times {} to the power {low} / {likely} / {high} (heat and leakage; common practice): the \
         ratio from the seat, {} deg later{}; warm engine, open throttle, plugs out.",
        units.words(AirPressure, sheet.air_pressure_pa),
        fixed(sheet.cranking.ratio_from_seated_valve, 2),
        fixed(sheet.inlet_seats_deg_abdc - sheet.inlet_closes_deg_abdc, 0),
        if sheet.cam.is_some() { " by the cam card" } else { " as usual (common practice, no source)" },
    );
    let mut out = "\nFrom intake closing (IVC)\n".to_owned();
    out += &wrap("  Effective ratio    ", &closing);
    out += &wrap("  Cranking pressure  ", &cranking_words(&sheet.cranking, units));
    out + &wrap("                     ", &basis)
}

/// Low, likely and high compression pressure on the gauge and absolute.
pub(super) fn cranking_words(p: &CrankingPressure, units: Units) -> String {
    let decimals = Pressure.unit(units).digits;
    let three =
        |values: [f64; 3]| values.map(|pa| fixed(units.of(Pressure, pa / PA_PER_BAR), decimals)).join(" / ");
    format!(
        "{} {} on the gauge, {} absolute",
        three([p.low_gauge_pa, p.likely_gauge_pa, p.high_gauge_pa]),
        units.symbol(Pressure),
        three([p.low_pa, p.likely_pa, p.high_pa])
    )
}

fn part_name(part: MeasuredPart) -> &'static str {
    match part {
        MeasuredPart::Chamber => "chamber",
        MeasuredPart::Dome => "dome taken off (dish added)",
        MeasuredPart::Relief => "valve reliefs",
        MeasuredPart::DeckClearance => "deck clearance",
        MeasuredPart::GasketBore => "gasket bore",
        MeasuredPart::GasketThickness => "gasket, compressed",
        MeasuredPart::Crevice => "crevice above the top ring",
        MeasuredPart::Bore => "bore",
        MeasuredPart::Stroke => "stroke",
    }
}

fn measurements(measured: &Measured, units: Units) -> String {
    let is_there = |m: &&Measurement| m.ratio_half_width > 0.0 || m.clearance_m3.is_none_or(|v| v != 0.0);
    let shown = || measured.parts.iter().filter(is_there);
    let any_usual = shown().any(|m| m.tolerance_is_usual);
    let (length, volume) = (Length.unit(units), Volume.unit(units));
    let mut c = Columns::<&Measurement>::new(units);
    c.words("measurement", |m| part_name(m.part).to_owned());
    c.maybe("length", Length, |m| m.length_m).or("");
    c.maybe("clearance", Volume, |m| m.clearance_m3).or("");
    c.cells("+/-", move |m| match (m.tolerance_m, m.tolerance_m3) {
        (Some(t), _) => length.words(t),
        (None, t) => volume.words(t.unwrap_or(0.0)),
    });
    c.words("unit", move |m| {
        let unit = if m.tolerance_m.is_some() { length } else { volume };
        format!("{}{}", unit.symbol, if m.tolerance_is_usual { "*" } else { "" })
    });
    c.number("ratio", Pure, |m| m.ratio_half_width).below("+/-").digits(3);
    c.number("share", Share, |m| m.share_frac);
    let mut out = "\nMeasurements and what their tolerance does to the ratio\n".to_owned();
    out += &c.text(shown());
    let all = format!(
        "All together +/- {}, the root of the sum of squares. A tolerance is plus or minus, met by eight of ten \
         repeats (10-90 %).{}",
        fixed(measured.ratio_half_width, 2),
        if any_usual { " *: as usual in a careful shop (common practice, no source)." } else { "" }
    );
    out + &wrap("  ", &all)
}

fn slopes(measured: &Measured, units: Units) -> String {
    // 0.004 in is 0.1016 mm.
    let (step, tenths) = match units {
        Units::Metric => ("0.1 mm (0.004 in)", 1.0),
        Units::Us => ("0.004 in", 1.016),
    };
    let words = format!(
        "1 cc more chamber or dish {}; gasket {step} thicker {}; deck clearance {step} more {}",
        signed(measured.ratio_per_chamber_cc, 3),
        signed(tenths * measured.ratio_per_gasket_tenth_mm, 3),
        signed(tenths * measured.ratio_per_deck_tenth_mm, 3),
    );
    format!("\nWhat moves the ratio\n{}", wrap("  ", &words))
}

fn not_measured(units: Units) -> String {
    let words = format!(
        "No volumes are measured. Give [engine.volumes] in place of compression_ratio: chamber_cc, dome_cc, \
         deck_clearance_mm, gasket_bore_mm, gasket_thickness_mm (optional: relief_cc, crevice_cc, tolerances, \
         lists by cylinder). They give the parts, how well the ratio is known, {} clearance and what each part \
         must become.",
        squish(units)
    );
    format!("\n{}", wrap("", &words))
}

fn spread_words(spread: &Spread) -> String {
    let apart = spread.highest_ratio - spread.lowest_ratio;
    if apart < 0.005 {
        return "All cylinders have the same ratio.".to_owned();
    }
    let told_apart = if apart < spread.apart_half_width {
        format!(
            " That is too close to call (+/- {}): measure again before you cut.",
            fixed(spread.apart_half_width, 2)
        )
    } else {
        String::new()
    };
    format!(
        "Cylinder {} is the highest, cylinder {} the lowest, {} apart: worth {} octane numbers. The knock \
         limit of the engine is that of the highest. Taking {} cc of metal out of chamber {} brings it to the mean.{told_apart}",
        spread.highest_cylinder,
        spread.lowest_cylinder,
        fixed(apart, 2),
        fixed(spread.octane.likely, 1),
        fixed(cc(spread.highest_to_mean_m3), 2),
        spread.highest_cylinder,
    )
}
