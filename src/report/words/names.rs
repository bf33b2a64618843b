//! Names of things in the trade's words.

use crate::engine::{BuildKind, FuelGrade, Injection, Layout, PracticeClass, Standing};
use crate::estimate::learned::HeardKnock;
use crate::estimate::uncertainty::Input;
use crate::report::Units;
use crate::report::quantity::Dimension::TemperatureStep;

impl Input {
    /// Name in the trade's words.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Breathing => "VE",
            Self::BurnSpeed => "burn speed",
            Self::Heat => "heat lost to coolant and oil",
            Self::ChargeTemperature => "charge temperature",
            Self::Mixture => "mixture (lambda)",
            Self::EthanolContent => "ethanol content",
            Self::Friction => "friction",
            Self::Driveline => "driveline loss",
            Self::KnockModel => "knock model",
            Self::FuelOctane => "octane of the fuel",
            Self::SensitivityWeight => "weight of octane sensitivity",
            Self::Powerband => "rpm of peak torque and power",
            Self::KnockEngine => "engine-to-engine spread of knock",
            Self::KnockSpeed => "how knock changes with rpm",
            Self::ValveEvents => "valve events, not stated",
            Self::BoreAndStroke => "bore and stroke, not stated",
            Self::RunnerLength => "length of the intake runner",
            Self::PrimaryLength => "length of the exhaust primary",
            Self::ValveFlow => "flow through the valves",
            Self::WaveDamping => "how fast waves in the pipes die",
        }
    }
}

/// Where the width of an input comes from.
pub(in crate::report) fn input_source(input: Input, units: Units) -> String {
    let source = input.distribution().source;
    match input {
        Input::ChargeTemperature => {
            format!("{} {source}", units.words(TemperatureStep, input.half_width()))
        }
        _ => source.to_owned(),
    }
}

impl Layout {
    /// Name in words.
    pub fn title(self) -> &'static str {
        match self {
            Self::FrontManual => "front-wheel drive, manual",
            Self::RearManual => "rear-wheel drive, manual",
            Self::FrontAutomatic => "front-wheel drive, automatic",
            Self::RearAutomatic => "rear-wheel drive, automatic",
            Self::AllWheel => "all-wheel drive",
            Self::Unstated => "two driven wheels, gearbox not stated",
        }
    }
}

impl BuildKind {
    /// In the trade's words, with an article.
    ///
    /// # Arguments
    /// - `injection`: how the fuel gets in
    pub fn words(self, injection: Injection) -> &'static str {
        match (self, injection) {
            (Self::CarburettedTwoValve, _) => "a carburetted two-valve engine",
            (Self::InjectedTwoValve, _) => "an injected two-valve engine",
            (Self::PerformanceTwoValve, _) => "a performance two-valve engine",
            (Self::ProductionFourValve, Injection::Port) => "a production four-valve engine",
            (Self::ProductionFourValve, Injection::Direct) => {
                "a direct-injected production four-valve engine"
            }
            (Self::SportFourValve, _) => "a sport four-valve engine",
            (Self::Motorcycle, _) => "a four-valve motorcycle engine",
            (Self::Race, _) => "a race engine",
        }
    }
}

impl PracticeClass {
    /// In the trade's words, with an article.
    pub fn words(self) -> &'static str {
        match self {
            Self::AirCooledTwoValve => "an air-cooled two-valve engine",
            Self::SeriesTwoValve => "a production two-valve engine",
            Self::PerformanceTwoValve => "a performance two-valve engine",
            Self::FourValvePort => "a port-injected production four-valve engine",
            Self::FourValveDirect => "a direct-injected four-valve engine",
            Self::SportFourValve => "a port-injected sport four-valve engine",
            Self::Motorcycle => "a four-valve motorcycle engine",
            Self::Race => "a race engine",
        }
    }
}

impl FuelGrade {
    /// In the trade's words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Regular => "regular pump fuel",
            Self::Premium => "premium pump fuel",
            Self::StrongEthanol => "fuel with 50 % ethanol or more",
        }
    }
}

impl Standing {
    /// In words.
    pub fn title(self) -> &'static str {
        match self {
            Self::Production => "production",
            Self::Sport => "sport",
            Self::Race => "race",
            Self::BeyondRace => "beyond race",
        }
    }

    /// In a word for a narrow table.
    pub fn short_title(self) -> &'static str {
        match self {
            Self::Production => "stock",
            Self::BeyondRace => "beyond",
            Self::Sport | Self::Race => self.title(),
        }
    }

    /// As the JSON names it.
    pub(in crate::report) fn key(self) -> &'static str {
        match self {
            Self::Production => "production",
            Self::Sport => "sport",
            Self::Race => "race",
            Self::BeyondRace => "beyond_race",
        }
    }
}

impl HeardKnock {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::None => "no knock",
            Self::Trace => "a trace of knock",
            Self::Knock => "knock",
        }
    }
}

/// The shop's word for the gap between piston and head.
pub(in crate::report) fn squish(units: Units) -> &'static str {
    match units {
        Units::Metric => "squish",
        Units::Us => "quench",
    }
}
