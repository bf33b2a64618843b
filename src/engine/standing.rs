//! Where a figure of an engine stands: the bands of production, sport and race engines, each with its source.
//!
//! The bands are those of common practice, not limits of physics. Their ends are what this
//! program takes as the limits of what is credible.

use super::{BuildKind, Injection};
use schemars::JsonSchema;
use serde::Serialize;

/// A figure for which bands are known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Figure {
    /// Highest brake mean effective pressure [bar], on gasoline.
    Bmep,
    /// Highest volumetric efficiency [-], on dry air at ambient density.
    VolumetricEfficiency,
    /// Mean piston speed at peak power [m/s].
    MeanPistonSpeed,
    /// Crank power over displacement [kW/L].
    SpecificPower,
    /// Greatest piston acceleration [m/s2].
    PistonAcceleration,
    /// Highest cylinder pressure [bar].
    PeakPressure,
}

/// A class of engines.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Class {
    /// Made in series for everyday use.
    Production,
    /// Sporting production engines and tuned road engines.
    Sport,
    /// Race engines, rebuilt often.
    Race,
}

/// The band of a figure in one class.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClassBand {
    /// The class.
    pub class: Class,
    /// Low end, in the unit of the figure.
    pub low: f64,
    /// High end.
    pub high: f64,
    /// Who says so.
    pub source: &'static str,
}

/// Where a value stands: the lowest class that covers it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// At or below the high end of production engines.
    Production,
    /// Beyond production engines, at or below the high end of sport engines.
    Sport,
    /// Beyond sport engines, at or below the high end of race engines.
    Race,
    /// Beyond the high end of race engines.
    BeyondRace,
}

const PRACTICE: &str = "common engine data (common practice, no source)";
const FILLING: &str =
    "best VE of nine in ten real engines (ratings, tests/data/engines); race common practice, no source";
const BMEP: &str = "rated torque of nine in ten real engines, port-injected (ratings, tests/data/engines); race common practice, no source";
const PISTON_SPEED: &str = PRACTICE;
const ACCELERATION: &str = PRACTICE;

const fn band(class: Class, low: f64, high: f64, source: &'static str) -> ClassBand {
    ClassBand { class, low, high, source }
}

impl Figure {
    /// Bands of the three classes, from production to race.
    ///
    /// # Arguments
    /// - `four_valve`: whether production engines of this kind have more than one inlet valve a cylinder
    pub fn bands(self, four_valve: bool) -> [ClassBand; 3] {
        use Class::{Production, Race, Sport};
        let three = |ends: [(f64, f64); 3], source| {
            let [(a, b), (c, d), (e, f)] = ends;
            [band(Production, a, b, source), band(Sport, c, d, source), band(Race, e, f, source)]
        };
        match self {
            Self::Bmep => {
                let of = |kind: BuildKind| kind.figures(Injection::Port).bmep_bar;
                let two_valve = (of(BuildKind::CarburettedTwoValve).0, of(BuildKind::InjectedTwoValve).1);
                let production = if four_valve { of(BuildKind::ProductionFourValve) } else { two_valve };
                three([production, of(BuildKind::SportFourValve), of(BuildKind::Race)], BMEP)
            }
            Self::VolumetricEfficiency => {
                let production = if four_valve { (0.87, 1.09) } else { (0.78, 0.96) };
                three([production, (1.00, 1.19), (1.10, 1.28)], FILLING)
            }
            Self::MeanPistonSpeed => three([(14.0, 18.0), (18.0, 22.5), (23.0, 27.0)], PISTON_SPEED),
            Self::SpecificPower => three([(37.0, 60.0), (60.0, 95.0), (95.0, 220.0)], PRACTICE),
            Self::PistonAcceleration => three([(12e3, 30e3), (25e3, 50e3), (40e3, 100e3)], ACCELERATION),
            Self::PeakPressure => {
                three([(45.0, 80.0), (65.0, 100.0), (80.0, 120.0)], "common practice, no source")
            }
        }
    }

    /// The lowest class that covers a value.
    pub fn standing(self, value: f64, four_valve: bool) -> Standing {
        let [production, sport, race] = self.bands(four_valve);
        if value <= production.high {
            Standing::Production
        } else if value <= sport.high {
            Standing::Sport
        } else if value <= race.high {
            Standing::Race
        } else {
            Standing::BeyondRace
        }
    }

    /// High end of the race band: beyond it a value is taken as not credible.
    pub fn credible_end(self) -> f64 {
        // The race band is the same for two and four valves.
        self.bands(true)[2].high
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Figure; 6] = [
        Figure::Bmep,
        Figure::VolumetricEfficiency,
        Figure::MeanPistonSpeed,
        Figure::SpecificPower,
        Figure::PistonAcceleration,
        Figure::PeakPressure,
    ];

    #[test]
    fn bands_rise_and_name_their_source() {
        for figure in ALL {
            for four_valve in [false, true] {
                let bands = figure.bands(four_valve);
                assert!(bands.iter().all(|b| b.low < b.high && !b.source.is_empty()), "{figure:?}");
                assert!(bands.windows(2).all(|w| w[0].low < w[1].low && w[0].high < w[1].high), "{figure:?}");
                assert!(bands.windows(2).all(|w| w[0].class < w[1].class));
                assert_eq!(figure.credible_end(), bands[2].high);
            }
        }
    }

    #[test]
    fn a_value_stands_in_the_humblest_class_that_reaches_it() {
        let bmep = |value, four| Figure::Bmep.standing(value, four);
        assert_eq!(bmep(12.0, true), Standing::Production);
        assert_eq!(bmep(12.0, false), Standing::Sport);
        assert_eq!(bmep(14.6, true), Standing::Race);
        assert_eq!(bmep(15.9, true), Standing::BeyondRace);
        assert_eq!(Figure::MeanPistonSpeed.standing(18.0, true), Standing::Production);
    }
}
