//! Compression ratios that makers and builders run, by class of engine and grade of fuel.
//!
//! Practice alone: nothing here comes from the model, and nothing of the model is fitted to it. Where five or more real engines
//! of a class run on a grade (`tests/data/engines`), the band spans about the 10th to 90th percentile of their ratios, its high end
//! moved up to what performance builders run beyond makers; `tests/physics/practice.rs` holds it to those rows.

use super::breathing::flow_share;
use super::{Build, BuildKind, Cooling, Injection};
use crate::fuel::Blend;
use schemars::JsonSchema;
use serde::Serialize;

/// Class of engine within which compression ratios are much alike.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum PracticeClass {
    /// Air-cooled head, one inlet valve a cylinder.
    AirCooledTwoValve,
    /// Two valves, as made in series, carburettor or injection.
    SeriesTwoValve,
    /// Two valves, with ports, cam and manifold made for power.
    PerformanceTwoValve,
    /// Four valves, as made in series, port injection.
    FourValvePort,
    /// Four valves, direct injection, as made in series or sport.
    FourValveDirect,
    /// Four valves and long cams, port injection.
    SportFourValve,
    /// Four-valve motorcycle engine with a throttle for each cylinder.
    Motorcycle,
    /// Race engine.
    Race,
}

/// Grade of fuel, as far as the choice of compression ratio goes by it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum FuelGrade {
    /// RON below 94.5, such as 87 AKI.
    Regular,
    /// RON 94.5 and more, such as 95 RON or 91 AKI.
    Premium,
    /// Half ethanol or more by volume, such as E85.
    StrongEthanol,
}

/// Compression ratios of one class on one grade.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PracticeBand {
    /// About the 10th percentile of what is run [-].
    pub low: f64,
    /// About the 90th percentile of what is run [-].
    pub high: f64,
    /// Who says so.
    pub source: &'static str,
}

const PRACTICE: &str = "common practice, no source";
/// Ratings of real engines, 10th to 90th percentile (`tests/data/engines`).
const MAKERS: &str = "makers' ratings";
/// The same, the high end moved up to what builders run.
const ROWS: &str = "makers' ratings; high end common practice, no source";

/// RON at which premium begins [-]: between 89 AKI (some 93 RON) and 95 RON (common practice, no source).
const PREMIUM_RON: f64 = 94.5;
/// Ethanol from which a fuel counts as strong ethanol, by volume [-]: E85 as sold holds 51 % and more (`from memory`).
const STRONG_ETHANOL_VOL_FRAC: f64 = 0.5;

/// Inlet closing at about 1 mm of lift from which a cam counts as one for power with two valves, as a long one with four, and as
/// one for racing [deg after bottom dead centre]. Common practice, no source.
const PERFORMANCE_CLOSING_DEG: f64 = 52.0;
const SPORT_CLOSING_DEG: f64 = 58.0;
const RACE_CLOSING_DEG: f64 = 68.0;

impl PracticeClass {
    /// All classes.
    pub const ALL: [Self; 8] = [
        Self::AirCooledTwoValve,
        Self::SeriesTwoValve,
        Self::PerformanceTwoValve,
        Self::FourValvePort,
        Self::FourValveDirect,
        Self::SportFourValve,
        Self::Motorcycle,
        Self::Race,
    ];

    /// Class of a build: by its head cooling, else by its kind where that is stated, else by valves, events and injection.
    pub fn of(build: &Build) -> Self {
        if matches!(build.combustion.cooling, Cooling::Air { .. }) && !build.valves.has_several_inlets() {
            return Self::AirCooledTwoValve;
        }
        match build.breathing.kind() {
            Some(kind) => Self::of_kind(kind, build.injection),
            None => Self::inferred(build),
        }
    }

    fn of_kind(kind: BuildKind, injection: Injection) -> Self {
        match (kind, injection) {
            (BuildKind::CarburettedTwoValve | BuildKind::InjectedTwoValve, _) => Self::SeriesTwoValve,
            (BuildKind::PerformanceTwoValve, _) => Self::PerformanceTwoValve,
            (BuildKind::ProductionFourValve | BuildKind::SportFourValve, Injection::Direct) => {
                Self::FourValveDirect
            }
            (BuildKind::ProductionFourValve, Injection::Port) => Self::FourValvePort,
            (BuildKind::SportFourValve, Injection::Port) => Self::SportFourValve,
            (BuildKind::Motorcycle, _) => Self::Motorcycle,
            (BuildKind::Race, _) => Self::Race,
        }
    }

    /// Class of a build whose kind is not stated. A motorcycle engine counts as a sport engine.
    fn inferred(build: &Build) -> Self {
        let closes_deg = build.valves.inlet_closes_deg_abdc;
        if closes_deg >= RACE_CLOSING_DEG {
            return Self::Race;
        }
        let kind = if build.valves.has_several_inlets() {
            let is_sport = closes_deg >= SPORT_CLOSING_DEG;
            if is_sport { BuildKind::SportFourValve } else { BuildKind::ProductionFourValve }
        } else if closes_deg >= PERFORMANCE_CLOSING_DEG || has_performance_ports(build) {
            BuildKind::PerformanceTwoValve
        } else {
            BuildKind::InjectedTwoValve
        };
        Self::of_kind(kind, build.injection)
    }

    /// Compression ratios that are run on a grade of fuel.
    pub fn band(self, grade: FuelGrade) -> PracticeBand {
        let [regular, premium, ethanol] = self.bands();
        match grade {
            FuelGrade::Regular => regular,
            FuelGrade::Premium => premium,
            FuelGrade::StrongEthanol => ethanol,
        }
    }

    /// Bands on regular, premium and strong ethanol.
    const fn bands(self) -> [PracticeBand; 3] {
        match self {
            Self::AirCooledTwoValve => {
                [band(7.5, 9.5, PRACTICE), band(8.5, 11.3, MAKERS), band(10.0, 13.0, PRACTICE)]
            }
            Self::SeriesTwoValve => {
                [band(8.5, 10.0, ROWS), band(9.0, 10.8, ROWS), band(11.0, 14.0, PRACTICE)]
            }
            Self::PerformanceTwoValve => {
                [band(9.0, 10.5, PRACTICE), band(10.0, 11.8, ROWS), band(12.0, 14.5, PRACTICE)]
            }
            Self::FourValvePort => {
                [band(9.5, 10.8, PRACTICE), band(10.2, 11.8, ROWS), band(12.0, 14.5, PRACTICE)]
            }
            Self::FourValveDirect => {
                [band(11.0, 13.0, MAKERS), band(11.5, 13.5, ROWS), band(12.5, 15.0, PRACTICE)]
            }
            Self::SportFourValve => {
                [band(9.8, 11.2, PRACTICE), band(10.5, 12.5, ROWS), band(12.5, 15.0, PRACTICE)]
            }
            Self::Motorcycle => {
                [band(10.5, 12.0, PRACTICE), band(11.5, 13.2, ROWS), band(13.0, 15.0, PRACTICE)]
            }
            Self::Race => [band(9.5, 11.5, PRACTICE), band(11.0, 13.5, PRACTICE), band(13.0, 16.0, PRACTICE)],
        }
    }
}

const fn band(low: f64, high: f64, source: &'static str) -> PracticeBand {
    PracticeBand { low, high, source }
}

/// Whether one inlet valve flows more than half way from a usual series head to a usual ported one.
fn has_performance_ports(build: &Build) -> bool {
    let usual = |kind: BuildKind| kind.figures(build.injection).usual_flow_share();
    let middle = 0.5 * (usual(BuildKind::InjectedTwoValve) + usual(BuildKind::PerformanceTwoValve));
    flow_share(&build.geometry, &build.valves) >= middle
}

impl FuelGrade {
    /// All grades, octane rising.
    pub const ALL: [Self; 3] = [Self::Regular, Self::Premium, Self::StrongEthanol];

    /// Grade of a blend.
    pub fn of(blend: &Blend) -> Self {
        if blend.ethanol_vol_frac >= STRONG_ETHANOL_VOL_FRAC {
            Self::StrongEthanol
        } else if blend.octane.ron < PREMIUM_RON {
            Self::Regular
        } else {
            Self::Premium
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;
    use crate::engine::Breathing;
    use crate::engine::{
        Chamber, Combustion, Driveline, FrictionLaw, Geometry, HeatLawKind, Layout, Limits, PeakSpeeds,
        Valves,
    };
    use crate::fuel::FuelLibrary;
    use crate::units::CompressionRatio;

    /// An engine of 86 by 86 mm with a table for its VE and the usual inlet of a kind.
    fn build(kind: BuildKind, inlet_count: u32, injection: Injection, closes_deg: f64) -> Build {
        let (share, flow) = kind.figures(injection).usual_inlet;
        let cooling = Cooling::USUAL;
        Build {
            geometry: Geometry {
                cylinders: 4,
                bore_m: 0.086,
                stroke_m: 0.086,
                rod_length_m: 0.142,
                pin_offset_m: 0.0,
                compression_ratio: CompressionRatio::new(10.0).unwrap(),
            },
            valves: Valves {
                inlet_count,
                inlet_diameter_m: (share / f64::from(inlet_count)).sqrt() * 0.086,
                exhaust_count: inlet_count,
                exhaust_diameter_m: 0.028,
                mean_flow_coefficient: flow,
                inlet_closes_deg_abdc: closes_deg,
                exhaust_opens_deg_bbdc: 50.0,
                overlap_deg: 20.0,
                inlet_seats_later_deg: 15.0,
            },
            breathing: Breathing::Table {
                speed_rpm: vec![1000.0, 6000.0],
                volumetric_efficiency: vec![0.9, 0.9],
                spread: 0.02,
                follows: Default::default(),
            },
            injection,
            combustion: Combustion {
                chamber: Chamber::Wedge,
                burn_speed: 1.0,
                heat_law: HeatLawKind::Woschni,
                heat_factor: 1.0,
                wall_temperature_k: cooling.usual_wall_temperature_k(),
                cooling,
            },
            friction: FrictionLaw::ChenFlynn,
            driveline: Driveline {
                layout: Layout::FrontManual,
                measured_loss: None,
                measured_loss_spread: None,
            },
            limits: Limits::default(),
            unmeasured: Default::default(),
        }
    }

    #[test]
    fn a_build_without_a_kind_goes_by_valves_events_and_injection() {
        use BuildKind::{InjectedTwoValve, PerformanceTwoValve, ProductionFourValve};
        use Injection::{Direct, Port};
        for (kind, inlets, injection, closes_deg, class) in [
            (InjectedTwoValve, 1, Port, 48.0, PracticeClass::SeriesTwoValve),
            (InjectedTwoValve, 1, Port, 55.0, PracticeClass::PerformanceTwoValve),
            (PerformanceTwoValve, 1, Direct, 48.0, PracticeClass::PerformanceTwoValve),
            (ProductionFourValve, 2, Port, 48.0, PracticeClass::FourValvePort),
            (ProductionFourValve, 2, Direct, 48.0, PracticeClass::FourValveDirect),
            (ProductionFourValve, 2, Port, 60.0, PracticeClass::SportFourValve),
            (ProductionFourValve, 2, Direct, 60.0, PracticeClass::FourValveDirect),
            (ProductionFourValve, 2, Port, 70.0, PracticeClass::Race),
        ] {
            let build = build(kind, inlets, injection, closes_deg);
            assert_eq!(PracticeClass::of(&build), class, "{kind:?} {injection:?} {closes_deg}");
        }
    }

    #[test]
    fn a_stated_kind_decides_and_air_cooling_before_it() {
        let peaks = PeakSpeeds::Power(5500.0);
        let mut build = build(BuildKind::InjectedTwoValve, 1, Injection::Port, 70.0);
        build.breathing =
            Breathing::Band { kind: BuildKind::CarburettedTwoValve, peaks, closes_deg_abdc: 70.0 };
        assert_eq!(PracticeClass::of(&build), PracticeClass::SeriesTwoValve);
        build.combustion.cooling = Cooling::Air { head_temperature_k: 453.15 };
        assert_eq!(PracticeClass::of(&build), PracticeClass::AirCooledTwoValve);
        // Several inlets under air-cooled heads go by the kind.
        build.valves.inlet_count = 2;
        build.breathing = Breathing::Band { kind: BuildKind::Motorcycle, peaks, closes_deg_abdc: 70.0 };
        assert_eq!(PracticeClass::of(&build), PracticeClass::Motorcycle);
    }

    #[test]
    fn grades_go_by_octane_and_ethanol() {
        let library = FuelLibrary::shipped().unwrap();
        for (fuel, grade) in [
            ("regular-87", FuelGrade::Regular),
            ("euro-95", FuelGrade::Premium),
            ("premium-91", FuelGrade::Premium),
            ("euro-98", FuelGrade::Premium),
            ("e30", FuelGrade::Premium),
            ("e85", FuelGrade::StrongEthanol),
        ] {
            let blend = library.resolve(fuel).unwrap().blend().unwrap();
            assert_eq!(FuelGrade::of(&blend), grade, "{fuel}: RON {:.1}", blend.octane.ron);
        }
    }
}
