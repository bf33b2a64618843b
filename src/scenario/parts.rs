//! As meant: the parts of the engine.

use super::cam::{EVENT_KEYS, Events, events};
use super::volumes::{Volumes, measured_ratio, volumes};
use crate::engine::{
    BuildKind, Chamber, Combustion, Cooling, Driveline, FrictionLaw, Geometry, HeatLawKind, Injection,
    Layout, Limits, Valves,
};
use crate::estimate::Assumed;
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

/// Bore and stroke as stated, or the displacement alone.
#[derive(Clone, Copy, Debug)]
pub(super) enum Size {
    /// Bore and stroke [mm].
    BoreAndStroke(f64, f64),
    /// Displacement of all cylinders [m3].
    Displacement(f64),
}

/// `[engine]` as stated.
#[derive(Clone, Debug)]
pub(super) struct Engine {
    cylinders: u32,
    size: Size,
    rod_length_mm: Option<f64>,
    pin_offset_mm: f64,
    compression_ratio: CompressionRatio,
    /// Measured volumes that the ratio comes from, where they are given.
    pub(super) volumes: Option<Volumes>,
}

/// `[engine]` with `[engine.volumes]`.
pub(super) fn engine(s: &mut Section<'_, '_>) -> Option<Engine> {
    let cylinders = s.count("cylinders", 1..=MOST_CYLINDERS);
    let size = size(s);
    let rod = s.optional_number("rod_length_mm", Unit::Millimetre.of(40.0..=400.0));
    let pin_offset_mm = s.number_or("pin_offset_mm", Unit::Millimetre.of(-5.0..=5.0), 0.0);
    let (bore, stroke) = match size {
        Some(Size::BoreAndStroke(bore, stroke)) => (Some(bore), Some(stroke)),
        _ => (None, None),
    };
    if let (Some(rod), Some(stroke)) = (rod, stroke)
        && rod <= LEAST_ROD_TO_STROKE * stroke
    {
        let least = LEAST_ROD_TO_STROKE * stroke;
        let why =
            format!("the rod must be longer than {LEAST_ROD_TO_STROKE} times the stroke, {least:.1} mm");
        let hint = "rod length is measured from centre to centre".to_owned();
        s.contradiction("rod_length_mm", &why, Some(hint));
    }
    if let Some(Size::Displacement(_)) = size {
        let why = "measured volumes need bore_mm and stroke_mm, not the displacement";
        s.contradiction("volumes", why, None);
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
    let (ratio, volumes) = ratio?;
    Some(Engine {
        cylinders: cylinders?,
        size: size?,
        rod_length_mm: rod,
        pin_offset_mm: pin_offset_mm?,
        compression_ratio: CompressionRatio::new(ratio).ok()?,
        volumes,
    })
}

/// Bore and stroke, or the displacement in their place.
fn size(s: &mut Section<'_, '_>) -> Option<Size> {
    let bore = Unit::Millimetre.of(40.0..=150.0);
    let displacement = Unit::CubicCentimetre.of(50.0..=15_000.0);
    let ways = format!("{bore}, with stroke_mm; or give displacement_cc, {displacement}");
    s.one_of(
        Some(("bore_mm", Expected::OneOf(ways))),
        &[
            KeyWay {
                words: "bore_mm and stroke_mm",
                keys: &["bore_mm", "stroke_mm"],
                read: &|s| {
                    let bore = s.number("bore_mm", bore);
                    let stroke = s.number("stroke_mm", Unit::Millimetre.of(30.0..=150.0));
                    Some(Size::BoreAndStroke(bore?, stroke?))
                },
            },
            KeyWay {
                words: "displacement_cc",
                keys: &["displacement_cc"],
                read: &|s| s.si("displacement_cc", displacement).map(Size::Displacement),
            },
        ],
    )
}

impl Engine {
    /// The geometry, what is not stated as is usual of a kind of build.
    pub(super) fn geometry(&self, kind: BuildKind, assumed: &mut Vec<Assumed>) -> Geometry {
        let (bore_m, stroke_m) = match self.size {
            Size::BoreAndStroke(bore, stroke) => (mm_to_m(bore), mm_to_m(stroke)),
            Size::Displacement(m3) => {
                let (bore_m, stroke_m) = kind.usual_bore_and_stroke_m(m3 / f64::from(self.cylinders));
                assumed.push(Assumed::BoreAndStroke { bore_m, stroke_m });
                (bore_m, stroke_m)
            }
        };
        let rod_length_m = self.rod_length_mm.map(mm_to_m).unwrap_or_else(|| {
            let length_m = Geometry::usual_rod_length_m(stroke_m);
            assumed.push(Assumed::Rod { length_m });
            length_m
        });
        Geometry {
            cylinders: self.cylinders,
            bore_m,
            stroke_m,
            rod_length_m,
            pin_offset_m: mm_to_m(self.pin_offset_mm),
            compression_ratio: self.compression_ratio,
        }
    }
}

/// `[valves]` as stated.
#[derive(Clone, Debug, Default)]
pub(super) struct StatedValves {
    inlet_count: Option<u32>,
    inlet_diameter_m: Option<f64>,
    exhaust_count: Option<u32>,
    exhaust_diameter_m: Option<f64>,
    pub(super) mean_flow_coefficient: Option<f64>,
    pub(super) events: Option<Events>,
    /// Whether events are given, be they right or wrong.
    pub(super) has_events: bool,
    /// How many of [`REQUIRED`] are given, right or wrong.
    keys_given: usize,
}

/// `[valves]`; all of it may be left out where a kind of build says what is usual.
pub(super) fn valves(s: &mut Section<'_, '_>) -> StatedValves {
    let diameter = Unit::Millimetre.of(10.0..=80.0);
    let inlet_count = s.optional_count("inlet_count", 1..=3);
    let inlet_diameter_m = s.optional_si("inlet_diameter_mm", diameter);
    let exhaust_count = s.optional_count("exhaust_count", 1..=2);
    let exhaust_diameter_m = s.optional_si("exhaust_diameter_mm", diameter);
    let mean_flow_coefficient = s.optional_number("mean_flow_coefficient", FLOW_COEFFICIENT);
    let events = events(s);
    let has_events = EVENT_KEYS.into_iter().any(|key| s.has(key));
    StatedValves {
        inlet_count,
        inlet_diameter_m,
        exhaust_count,
        exhaust_diameter_m,
        mean_flow_coefficient,
        events,
        has_events,
        keys_given: REQUIRED.iter().filter(|key| s.has(key)).count(),
    }
}

/// Keys that must be given, with the events, where no kind of build says what is usual.
const REQUIRED: [&str; 4] = ["inlet_count", "inlet_diameter_mm", "exhaust_count", "exhaust_diameter_mm"];

impl StatedValves {
    /// Whether nothing has to stand in for what is left out.
    pub(super) fn is_whole(&self) -> bool {
        self.has_events && self.keys_given == REQUIRED.len()
    }

    /// The kind of build whose valves stand in where the volumetric efficiency does not come from one: production engines with as
    /// many inlet valves.
    pub(super) fn usual_kind(&self) -> BuildKind {
        if self.inlet_count == Some(1) { BuildKind::InjectedTwoValve } else { BuildKind::ProductionFourValve }
    }

    /// The valves, what is not stated as is usual of a kind of build.
    pub(super) fn resolved(
        &self,
        (kind, injection): (BuildKind, Injection),
        bore_m: f64,
        assumed: &mut Vec<Assumed>,
    ) -> Valves {
        let inlet_count = self.inlet_count.unwrap_or(kind.usual_valve_count());
        let exhaust_count = self.exhaust_count.unwrap_or(inlet_count.min(2));
        let inlet_diameter_m = self.inlet_diameter_m.unwrap_or_else(|| {
            let diameter_m = kind.usual_inlet_diameter_m(injection, inlet_count, bore_m);
            assumed.push(Assumed::InletValves { count: inlet_count, diameter_m });
            diameter_m
        });
        let exhaust_diameter_m = self.exhaust_diameter_m.unwrap_or_else(|| {
            let diameter_m = kind.usual_exhaust_diameter_m(exhaust_count, bore_m);
            assumed.push(Assumed::ExhaustValves { count: exhaust_count, diameter_m });
            diameter_m
        });
        let events = self.events.unwrap_or_else(|| {
            let events = Events::usual(kind, injection);
            assumed.push(Assumed::ValveEvents {
                inlet_closes_deg_abdc: events.inlet_closes_deg_abdc,
                exhaust_opens_deg_bbdc: events.exhaust_opens_deg_bbdc,
                overlap_deg: events.overlap_deg,
            });
            events
        });
        Valves {
            inlet_count,
            inlet_diameter_m,
            exhaust_count,
            exhaust_diameter_m,
            mean_flow_coefficient: self
                .mean_flow_coefficient
                .unwrap_or(kind.figures(injection).usual_inlet.1),
            inlet_closes_deg_abdc: events.inlet_closes_deg_abdc,
            exhaust_opens_deg_bbdc: events.exhaust_opens_deg_bbdc,
            overlap_deg: events.overlap_deg,
            inlet_seats_later_deg: events.inlet_seats_later_deg,
        }
    }
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

/// `[combustion]` as stated.
#[derive(Clone, Debug)]
pub(super) struct StatedCombustion {
    chamber: Option<Chamber>,
    burn_speed: f64,
    heat_law: HeatLawKind,
    heat_factor: f64,
    wall_temperature_k: Option<f64>,
    cooling: Cooling,
}

/// `[combustion]`; all of it may be left out.
pub(super) fn combustion(s: &mut Section<'_, '_>) -> Option<StatedCombustion> {
    const CHAMBERS: [(&str, Chamber); 3] = [
        ("pent-roof", Chamber::PentRoof),
        ("wedge", Chamber::Wedge),
        ("hemispherical", Chamber::Hemispherical),
    ];
    const HEAT_LAWS: [(&str, HeatLawKind); 2] =
        [("woschni", HeatLawKind::Woschni), ("hohenberg", HeatLawKind::Hohenberg)];
    let chamber = s.optional_word("chamber", &CHAMBERS);
    let burn_speed = s.number_or("burn_speed", BURN_SPEED, 1.0);
    let heat_law = s.word_or("heat_law", &HEAT_LAWS, HeatLawKind::default());
    let heat_factor = s.number_or("heat_factor", Unit::None.of(0.0..=2.0), 1.0);
    let wall_temperature_k = s.optional_si("wall_temperature_c", Unit::Celsius.of(107.0..=290.0));
    let cooling = cooling(s);
    let (burn_speed, heat_law, heat_factor) = (burn_speed?, heat_law?, heat_factor?);
    Some(StatedCombustion { chamber, burn_speed, heat_law, heat_factor, wall_temperature_k, cooling })
}

impl StatedCombustion {
    /// The combustion, what is not stated as is usual with the valves.
    pub(super) fn resolved(&self, valves: &Valves, assumed: &mut Vec<Assumed>) -> Combustion {
        let usual = Combustion::usual(valves, self.cooling);
        if self.chamber.is_none() {
            assumed.push(Assumed::Chamber(usual.chamber));
        }
        Combustion {
            chamber: self.chamber.unwrap_or(usual.chamber),
            burn_speed: self.burn_speed,
            heat_law: self.heat_law,
            heat_factor: self.heat_factor,
            wall_temperature_k: self.wall_temperature_k.unwrap_or(usual.wall_temperature_k),
            ..usual
        }
    }
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
                    let coolant_temperature_k = s.si_or(
                        COOLANT,
                        COOLANT_TEMPERATURE,
                        Unit::Celsius.written(Cooling::USUAL_COOLANT_K),
                    )?;
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
    s.optional_word("kind", &[("port", Injection::Port), ("direct", Injection::Direct)])
}

/// `[friction]`.
pub(super) fn friction(s: &mut Section<'_, '_>) -> Option<FrictionLaw> {
    const LAWS: [(&str, FrictionLaw); 2] =
        [("chen-flynn", FrictionLaw::ChenFlynn), ("speed-quadratic", FrictionLaw::SpeedQuadratic)];
    s.word_or("law", &LAWS, FrictionLaw::ChenFlynn)
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
    let layout = s.optional_word("layout", &LAYOUTS).unwrap_or(Layout::Unstated);
    let measured_loss = s.optional_si("measured_loss_percent", DRIVELINE_LOSS);
    let measured_loss_spread = s.optional_si("measured_loss_spread_percent", DRIVELINE_LOSS_SPREAD);
    let why = "no measured_loss_percent is given";
    s.goes_with("measured_loss_spread_percent", "measured_loss_percent", why);
    Some(Driveline { layout, measured_loss, measured_loss_spread })
}

/// `[limits]`.
pub(super) fn limits(s: &mut Section<'_, '_>) -> Limits {
    let peak_pressure_pa = s.optional_si("peak_pressure_bar", Unit::Bar.of(30.0..=250.0));
    let mean_piston_speed_m_per_s =
        s.optional_si("mean_piston_speed_m_per_s", Unit::MetrePerSecond.of(5.0..=40.0));
    Limits { peak_pressure_pa, mean_piston_speed_m_per_s }
}
