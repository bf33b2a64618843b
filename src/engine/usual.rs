//! What is usual of a kind of build, for what a catalogue does not say. All of it is common practice, no source, unless one is
//! named; the same rules stand behind the accuracy over real engines (`tests/physics/engines.rs`).

use super::{
    Breathing, Build, BuildKind, Chamber, Combustion, Cooling, Driveline, FrictionLaw, Geometry, HeatLawKind,
    Injection, Layout, Limits, PeakSpeeds, Valves,
};
use crate::engine::volumes::SEATED_LATER_DEG;
use std::f64::consts::PI;
use std::sync::Arc;

/// Connecting rod over stroke [-].
const ROD_TO_STROKE: f64 = 1.65;
/// Half of the 10-90 % band of a bore-to-stroke ratio that is not stated, relative [-]: four in five rows of
/// `tests/data/engines` lie so near to the median of their kind (`tests/physics/engines.rs`).
const BORE_TO_STROKE_HALF_WIDTH: f64 = 0.17;
/// Half of the 10-90 % band of inlet closing and exhaust opening that are not stated [deg], and of the overlap, relative [-].
const EVENTS_HALF_WIDTH_DEG: f64 = 8.0;
const OVERLAP_HALF_WIDTH: f64 = 0.5;
/// Half of the 10-90 % band that a chamber whose shape is not stated adds to that of the burn speed, relative [-]: about what
/// the shapes differ among themselves.
const CHAMBER_HALF_WIDTH: f64 = 0.10;

/// What nobody has stated of a build and stands at what is usual; each widens the range of an estimate.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Unmeasured {
    /// Valve events.
    pub valve_events: bool,
    /// Bore and stroke; their displacement is stated.
    pub bore_and_stroke: bool,
    /// Shape of the chamber.
    pub chamber: bool,
}

/// A part of a build that enters the cycle as another build does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnmeasuredPart {
    /// Valve events.
    ValveEvents,
    /// Bore and stroke.
    BoreAndStroke,
}

impl BuildKind {
    /// Bore over stroke [-]: median of the rows of `tests/data/engines` of its kind (`tests/physics/engines.rs` demands it); race is
    /// common practice, no source.
    fn usual_bore_to_stroke(self) -> f64 {
        match self {
            Self::CarburettedTwoValve => 0.97,
            Self::InjectedTwoValve | Self::PerformanceTwoValve => 1.12,
            Self::ProductionFourValve | Self::SportFourValve => 1.00,
            Self::Motorcycle => 1.38,
            Self::Race => 1.10,
        }
    }

    /// Inlet valves of a cylinder, as many as exhaust valves.
    pub fn usual_valve_count(self) -> u32 {
        match self {
            Self::CarburettedTwoValve | Self::InjectedTwoValve | Self::PerformanceTwoValve => 1,
            Self::ProductionFourValve | Self::SportFourValve | Self::Motorcycle | Self::Race => 2,
        }
    }

    /// Inlet closing [deg after bottom dead centre], exhaust opening [deg before it] and overlap [deg], at about 1 mm of lift.
    pub fn usual_events_deg(self, injection: Injection) -> (f64, f64, f64) {
        let (opens, overlap) = match self {
            Self::CarburettedTwoValve | Self::InjectedTwoValve | Self::ProductionFourValve => (45.0, 15.0),
            Self::PerformanceTwoValve => (52.0, 25.0),
            Self::SportFourValve | Self::Motorcycle => (55.0, 45.0),
            Self::Race => (65.0, 70.0),
        };
        (self.figures(injection).usual_inlet_closes_deg_abdc, opens, overlap)
    }

    /// Diameter of one of so many inlet valve heads [m].
    pub fn usual_inlet_diameter_m(self, injection: Injection, count: u32, bore_m: f64) -> f64 {
        (self.figures(injection).usual_inlet.0 / f64::from(count)).sqrt() * bore_m
    }

    /// Diameter of one of so many exhaust valve heads [m].
    pub fn usual_exhaust_diameter_m(self, count: u32, bore_m: f64) -> f64 {
        let share = match (count, self) {
            (1, Self::PerformanceTwoValve) => 0.41,
            (1, _) => 0.40,
            _ => 0.33,
        };
        share * bore_m
    }

    /// Valves and their events.
    pub fn usual_valves(self, injection: Injection, bore_m: f64) -> Valves {
        let count = self.usual_valve_count();
        let (inlet_closes_deg_abdc, exhaust_opens_deg_bbdc, overlap_deg) = self.usual_events_deg(injection);
        Valves {
            inlet_count: count,
            inlet_diameter_m: self.usual_inlet_diameter_m(injection, count, bore_m),
            exhaust_count: count,
            exhaust_diameter_m: self.usual_exhaust_diameter_m(count, bore_m),
            mean_flow_coefficient: self.figures(injection).usual_inlet.1,
            inlet_closes_deg_abdc,
            exhaust_opens_deg_bbdc,
            overlap_deg,
            inlet_seats_later_deg: SEATED_LATER_DEG,
        }
    }

    /// Bore and stroke of one cylinder [m] that sweeps a volume [m3].
    pub fn usual_bore_and_stroke_m(self, swept_m3: f64) -> (f64, f64) {
        let ratio = self.usual_bore_to_stroke();
        let bore_m = (4.0 * swept_m3 * ratio / PI).cbrt();
        (bore_m, bore_m / ratio)
    }
}

impl Geometry {
    /// Connecting rod of a stroke [m].
    pub fn usual_rod_length_m(stroke_m: f64) -> f64 {
        ROD_TO_STROKE * stroke_m
    }
}

impl Chamber {
    /// A pent roof over several inlet valves; over one a wedge, and a hemisphere where it is cooled by air.
    pub fn usual(valves: &Valves, cooling: Cooling) -> Self {
        match (valves.has_several_inlets(), cooling) {
            (true, _) => Self::PentRoof,
            (false, Cooling::Air { .. }) => Self::Hemispherical,
            (false, Cooling::Liquid { .. }) => Self::Wedge,
        }
    }
}

impl Build {
    /// A build from what a catalogue says: liquid-cooled, port injection, all else as is usual of its kind, and so that an estimate
    /// knows that the valve events, the chamber and the driveline are not measured. Change the fields that are known, and those of
    /// [`Build::unmeasured`] with them.
    ///
    /// # Arguments
    /// - `kind`: from which volumetric efficiency and its band follow
    /// - `peaks`: where torque and power peak
    ///
    /// # Example
    /// An invented four-cylinder on 91 AKI, with few samples:
    /// ```
    /// use endgas::air::Weather;
    /// use endgas::engine::{Build, BuildKind, Geometry, PeakSpeeds};
    /// use endgas::estimate::{Job, estimate};
    /// use endgas::fuel::FuelLibrary;
    /// use endgas::units::CompressionRatio;
    ///
    /// let geometry = Geometry {
    ///     cylinders: 4,
    ///     bore_m: 0.086,
    ///     stroke_m: 0.086,
    ///     rod_length_m: Geometry::usual_rod_length_m(0.086),
    ///     pin_offset_m: 0.0,
    ///     compression_ratio: CompressionRatio::new(10.5)?,
    /// };
    /// let peaks = PeakSpeeds::Both { torque_rpm: 4500.0, power_rpm: 6200.0 };
    /// let build = Build::of_kind(BuildKind::ProductionFourValve, geometry, peaks);
    /// let library = FuelLibrary::shipped()?;
    /// let day = Weather::new(298.15, 99e3, 0.4)?;
    /// let mut job = Job::new(build, day, vec![library.resolve("premium-91")?], vec![4500.0, 6200.0])?;
    /// job.samples = 40;
    /// let power_kw = estimate(&job)?.fuels[0].peak_power.wheel;
    /// assert!(70.0 < power_kw.low && power_kw.high < 130.0, "{power_kw:?}");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn of_kind(kind: BuildKind, geometry: Geometry, peaks: PeakSpeeds) -> Self {
        let valves = kind.usual_valves(Injection::Port, geometry.bore_m);
        Self {
            geometry,
            valves,
            breathing: Breathing::Band { kind, peaks, closes_deg_abdc: valves.inlet_closes_deg_abdc },
            injection: Injection::Port,
            combustion: Combustion::usual(&valves, Cooling::USUAL),
            friction: FrictionLaw::ChenFlynn,
            driveline: Driveline {
                layout: Layout::Unstated,
                measured_loss: None,
                measured_loss_spread: None,
            },
            limits: Limits::default(),
            unmeasured: Unmeasured { valve_events: true, bore_and_stroke: false, chamber: true },
        }
    }

    /// The same with an unmeasured part where a deviate puts it; none where the part is measured.
    ///
    /// # Arguments
    /// - `deviate`: -1 at the 10th, 1 at the 90th percentile: later closing, earlier opening and more overlap; a larger bore
    pub fn with_unmeasured(&self, part: UnmeasuredPart, deviate: f64) -> Option<Self> {
        let mut build = self.clone();
        let (valves, geometry) = (&mut build.valves, &mut build.geometry);
        match part {
            UnmeasuredPart::ValveEvents if self.unmeasured.valve_events => {
                let later_deg = EVENTS_HALF_WIDTH_DEG * deviate;
                valves.inlet_closes_deg_abdc = (valves.inlet_closes_deg_abdc + later_deg).max(0.0);
                valves.exhaust_opens_deg_bbdc = (valves.exhaust_opens_deg_bbdc + later_deg).max(0.0);
                valves.overlap_deg *= (1.0 + OVERLAP_HALF_WIDTH * deviate).max(0.0);
                // The stated peaks are those of the engine as it is.
                match &mut build.breathing {
                    Breathing::Band { closes_deg_abdc, .. } => {
                        *closes_deg_abdc = valves.inlet_closes_deg_abdc
                    }
                    Breathing::Computed(computed) => Arc::make_mut(computed).events_deviate += deviate,
                    Breathing::Table { .. } | Breathing::PortFlow(_) => {}
                }
            }
            UnmeasuredPart::BoreAndStroke if self.unmeasured.bore_and_stroke => {
                // The displacement stays, and valves and rod go with bore and stroke.
                let wider = (BORE_TO_STROKE_HALF_WIDTH * deviate / 3.0).exp();
                geometry.bore_m *= wider;
                geometry.stroke_m /= wider * wider;
                geometry.rod_length_m /= wider * wider;
                valves.inlet_diameter_m *= wider;
                valves.exhaust_diameter_m *= wider;
            }
            UnmeasuredPart::ValveEvents | UnmeasuredPart::BoreAndStroke => return None,
        }
        Some(build)
    }
}

impl Unmeasured {
    /// Half of the 10-90 % band of the burn speed, relative [-], when that of a known chamber is so wide.
    pub(crate) fn burn_speed_half_width(&self, known: f64) -> f64 {
        if self.chamber { known.hypot(CHAMBER_HALF_WIDTH) } else { known }
    }
}

impl Combustion {
    /// The usual chamber of the valves, with wall temperature and laws as where nothing is stated.
    pub fn usual(valves: &Valves, cooling: Cooling) -> Self {
        Self {
            chamber: Chamber::usual(valves, cooling),
            burn_speed: 1.0,
            heat_law: HeatLawKind::default(),
            heat_factor: 1.0,
            wall_temperature_k: cooling.usual_wall_temperature_k(),
            cooling,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// HAND: 0.5 L with a bore of 0.97 strokes: bore^3 = 4 500 0.97 / pi = 617.5 cc, 85.2 mm, stroke 87.8 mm.
    #[test]
    fn displacement_makes_bore_and_stroke() {
        let (bore_m, stroke_m) = BuildKind::CarburettedTwoValve.usual_bore_and_stroke_m(0.5e-3);
        assert_relative_eq!(bore_m, 0.0852, epsilon = 1e-4);
        assert_relative_eq!(stroke_m, 0.0878, epsilon = 1e-4);
    }

    #[test]
    fn what_is_not_measured_moves_and_the_displacement_stays() {
        let geometry = Geometry {
            cylinders: 4,
            bore_m: 0.086,
            stroke_m: 0.086,
            rod_length_m: 0.142,
            pin_offset_m: 0.0,
            compression_ratio: crate::units::CompressionRatio::written(10.0),
        };
        let mut build = Build::of_kind(BuildKind::SportFourValve, geometry, PeakSpeeds::Power(7000.0));
        assert!(build.with_unmeasured(UnmeasuredPart::BoreAndStroke, 1.0).is_none());
        build.unmeasured.bore_and_stroke = true;
        for deviate in [-2.6, -1.0, 1.0, 2.6] {
            let moved = build.with_unmeasured(UnmeasuredPart::BoreAndStroke, deviate).unwrap().geometry;
            assert_relative_eq!(moved.displacement_m3(), geometry.displacement_m3(), max_relative = 1e-12);
            assert_eq!(moved.bore_m > geometry.bore_m, deviate > 0.0);
        }
        // HAND: 60 + 8 deg; 45 times 1.5 deg.
        let late = build.with_unmeasured(UnmeasuredPart::ValveEvents, 1.0).unwrap().valves;
        assert_eq!((late.inlet_closes_deg_abdc, late.overlap_deg), (68.0, 67.5));
        // HAND: sqrt(0.12^2 + 0.10^2).
        assert_relative_eq!(build.unmeasured.burn_speed_half_width(0.12), 0.1562, epsilon = 1e-4);
    }
}
