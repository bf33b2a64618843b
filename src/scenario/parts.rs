//! As meant: the parts of the engine.

use super::cam::events;
use super::volumes::{Volumes, measured_ratio, volumes};
use crate::engine::{
    BuildKind, Cam, Chamber, Combustion, Cooling, Driveline, FrictionLaw, Geometry, HeatLawKind, Injection,
    Layout, Limits, Valves,
};
use crate::input::{Expected, KeyWay, Section};
use crate::units::stated::{
    BURN_SPEED, COMPRESSION_RATIO, COOLANT_TEMPERATURE, DRIVELINE_LOSS, DRIVELINE_LOSS_SPREAD,
    FLOW_COEFFICIENT,
};
use crate::units::{CompressionRatio, Unit};

/// Most cylinders of an engine.
pub(super) const MOST_CYLINDERS: u32 = 16;
/// Connecting-rod length over stroke that a crank can be built with [-]; see [`Geometry`].
const LEAST_ROD_TO_STROKE: f64 = 1.2;
/// Head area of all valves over piston area above which they cannot be fitted [-].
/// Common practice, no source.
const MOST_VALVE_TO_PISTON_AREA: f64 = 0.8;

pub(super) fn mm_to_m(length_mm: f64) -> f64 {
    length_mm / 1.0e3
}

pub(super) fn cc_to_m3(volume_cc: f64) -> f64 {
    volume_cc / 1.0e6
}

/// `[engine]` with `[engine.volumes]`.
pub(super) fn engine(s: &mut Section<'_, '_>) -> Option<(Geometry, Option<Volumes>)> {
    let cylinders = s.count("cylinders", 1..=MOST_CYLINDERS);
    let bore = s.number("bore_mm", Unit::Millimetre.of(40.0..=150.0));
    let stroke = s.number("stroke_mm", Unit::Millimetre.of(30.0..=150.0));
    let rod = s.number("rod_length_mm", Unit::Millimetre.of(40.0..=400.0));
    let pin_offset = s.optional_number("pin_offset_mm", Unit::Millimetre.of(-5.0..=5.0));
    if let (Some(rod), Some(stroke)) = (rod, stroke)
        && rod <= LEAST_ROD_TO_STROKE * stroke
    {
        let least = LEAST_ROD_TO_STROKE * stroke;
        let why =
            format!("the rod must be longer than {LEAST_ROD_TO_STROKE} times the stroke, {least:.1} mm");
        let hint = "rod length is measured from centre to centre".to_owned();
        s.contradiction("rod_length_mm", &why, Some(hint));
    }
    let ways = format!("{COMPRESSION_RATIO}; or give the measured volumes in [engine.volumes]");
    let ratio = s.one_of(
        Some(("compression_ratio", Expected::OneOf(ways))),
        &[
            KeyWay {
                words: "[engine.volumes]",
                keys: &["volumes"],
                read: &|s| {
                    let measured = s.sub("volumes", true, |v| volumes(v, bore, cylinders));
                    let ratio = measured_ratio(s, measured.as_ref(), bore, stroke)?;
                    Some((ratio, measured))
                },
            },
            KeyWay {
                words: "compression_ratio",
                keys: &["compression_ratio"],
                read: &|s| Some((s.number("compression_ratio", COMPRESSION_RATIO)?, None)),
            },
        ],
    );
    let (ratio, measured) = ratio?;
    let geometry = Geometry {
        cylinders: cylinders?,
        bore_m: mm_to_m(bore?),
        stroke_m: mm_to_m(stroke?),
        rod_length_m: mm_to_m(rod?),
        pin_offset_m: mm_to_m(pin_offset.unwrap_or(0.0)),
        compression_ratio: CompressionRatio::new(ratio).ok()?,
    };
    Some((geometry, measured))
}

/// `[valves]`, whether the mean flow coefficient is stated, and the cam card.
pub(super) fn valves(s: &mut Section<'_, '_>) -> Option<(Valves, bool, Option<Cam>)> {
    let inlet_count = s.count("inlet_count", 1..=3);
    let inlet_diameter_m = s.si("inlet_diameter_mm", Unit::Millimetre.of(10.0..=80.0));
    let exhaust_count = s.count("exhaust_count", 1..=2);
    let exhaust_diameter_m = s.si("exhaust_diameter_mm", Unit::Millimetre.of(10.0..=80.0));
    let flow = s.optional_number("mean_flow_coefficient", FLOW_COEFFICIENT);
    let events = events(s);
    let (inlet_count, events) = (inlet_count?, events?);
    // Where no kind of build says it: as in production engines with as many.
    let usual_kind =
        if inlet_count == 1 { BuildKind::InjectedTwoValve } else { BuildKind::ProductionFourValve };
    let usual_flow = usual_kind.figures(Injection::Port).usual_inlet.1;
    let valves = Valves {
        inlet_count,
        inlet_diameter_m: inlet_diameter_m?,
        exhaust_count: exhaust_count?,
        exhaust_diameter_m: exhaust_diameter_m?,
        mean_flow_coefficient: flow.unwrap_or(usual_flow),
        inlet_closes_deg_abdc: events.inlet_closes_deg_abdc,
        exhaust_opens_deg_bbdc: events.exhaust_opens_deg_bbdc,
        overlap_deg: events.overlap_deg,
        inlet_seats_later_deg: events.inlet_seats_later_deg,
    };
    Some((valves, s.has("mean_flow_coefficient"), events.cam))
}

/// Notes valves that have no room above the piston.
pub(super) fn valves_fit(root: &mut Section<'_, '_>, geometry: &Geometry, valves: &Valves) {
    let heads = f64::from(valves.inlet_count) * valves.inlet_diameter_m.powi(2)
        + f64::from(valves.exhaust_count) * valves.exhaust_diameter_m.powi(2);
    let share = heads / geometry.bore_m.powi(2);
    if share > MOST_VALVE_TO_PISTON_AREA {
        let why = format!(
            "the valve heads take {:.0} % of the piston area; more than {:.0} % cannot be fitted",
            share * 100.0,
            MOST_VALVE_TO_PISTON_AREA * 100.0
        );
        let hint = "diameters are those of one valve head, counts are per cylinder".to_owned();
        root.contradiction("valves", &why, Some(hint));
    }
}

/// `[combustion]`.
pub(super) fn combustion(s: &mut Section<'_, '_>) -> Option<Combustion> {
    const CHAMBERS: [(&str, Chamber); 3] = [
        ("pent-roof", Chamber::PentRoof),
        ("wedge", Chamber::Wedge),
        ("hemispherical", Chamber::Hemispherical),
    ];
    let chamber = s.word("chamber", &CHAMBERS);
    let burn_speed = s.optional_number("burn_speed", BURN_SPEED);
    const HEAT_LAWS: [(&str, HeatLawKind); 2] =
        [("woschni", HeatLawKind::Woschni), ("hohenberg", HeatLawKind::Hohenberg)];
    let heat_law = s.optional_word("heat_law", &HEAT_LAWS);
    let heat_factor = s.optional_number("heat_factor", Unit::None.of(0.0..=2.0));
    let wall_k = s.optional_si("wall_temperature_c", Unit::Celsius.of(107.0..=290.0));
    let cooling = cooling(s);
    Some(Combustion {
        chamber: chamber?,
        burn_speed: burn_speed.unwrap_or(1.0),
        heat_law: heat_law.unwrap_or_default(),
        heat_factor: heat_factor.unwrap_or(1.0),
        wall_temperature_k: wall_k.unwrap_or(cooling.usual_wall_temperature_k()),
        cooling,
    })
}

/// Coolant or head temperature of `[combustion]`.
fn cooling(s: &mut Section<'_, '_>) -> Cooling {
    const COOLANT: &str = "coolant_temperature_c";
    const HEAD: &str = "head_temperature_c";
    let stated = s.one_of(
        None,
        &[
            KeyWay {
                words: COOLANT,
                keys: &[COOLANT],
                read: &|s| {
                    let coolant_temperature_k = s.optional_si(COOLANT, COOLANT_TEMPERATURE)?;
                    Some(Cooling::Liquid { coolant_temperature_k })
                },
            },
            KeyWay {
                words: HEAD,
                keys: &[HEAD],
                read: &|s| {
                    let head_temperature_k = s.optional_si(HEAD, Unit::Celsius.of(120.0..=250.0))?;
                    Some(Cooling::Air { head_temperature_k })
                },
            },
        ],
    );
    stated.unwrap_or(Cooling::USUAL)
}

/// `[injection]`.
pub(super) fn injection(s: &mut Section<'_, '_>) -> Option<Injection> {
    s.word("kind", &[("port", Injection::Port), ("direct", Injection::Direct)])
}

/// `[friction]`.
pub(super) fn friction(s: &mut Section<'_, '_>) -> FrictionLaw {
    const LAWS: [(&str, FrictionLaw); 2] =
        [("chen-flynn", FrictionLaw::ChenFlynn), ("speed-quadratic", FrictionLaw::SpeedQuadratic)];
    s.optional_word("law", &LAWS).unwrap_or(FrictionLaw::ChenFlynn)
}

/// `[driveline]`.
pub(super) fn driveline(s: &mut Section<'_, '_>) -> Option<Driveline> {
    const LAYOUTS: [(&str, Layout); 5] = [
        ("front-manual", Layout::FrontManual),
        ("rear-manual", Layout::RearManual),
        ("front-automatic", Layout::FrontAutomatic),
        ("rear-automatic", Layout::RearAutomatic),
        ("all-wheel", Layout::AllWheel),
    ];
    let layout = s.word("layout", &LAYOUTS);
    let measured_loss = s.optional_si("measured_loss_percent", DRIVELINE_LOSS);
    let measured_loss_spread = s.optional_si("measured_loss_spread_percent", DRIVELINE_LOSS_SPREAD);
    let why = "no measured_loss_percent is given";
    s.goes_with("measured_loss_spread_percent", "measured_loss_percent", why);
    Some(Driveline { layout: layout?, measured_loss, measured_loss_spread })
}

/// `[limits]`.
pub(super) fn limits(s: &mut Section<'_, '_>) -> Limits {
    let peak_pressure_pa = s.optional_si("peak_pressure_bar", Unit::Bar.of(30.0..=250.0));
    let mean_piston_speed_m_per_s =
        s.optional_si("mean_piston_speed_m_per_s", Unit::MetrePerSecond.of(5.0..=40.0));
    Limits { peak_pressure_pa, mean_piston_speed_m_per_s }
}
