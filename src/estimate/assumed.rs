//! What a scenario leaves out and what stands in for it.

use super::uncertainty::Input;
use crate::engine::{Chamber, Injection};

/// Something that was not stated, with the value taken for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Assumed {
    /// Bore and stroke of a displacement.
    BoreAndStroke {
        /// Bore [m].
        bore_m: f64,
        /// Stroke [m].
        stroke_m: f64,
    },
    /// The connecting rod.
    Rod {
        /// Length between centres [m].
        length_m: f64,
    },
    /// Inlet valves of a cylinder.
    InletValves {
        /// How many [-].
        count: u32,
        /// Diameter of one head [m].
        diameter_m: f64,
    },
    /// Exhaust valves of a cylinder.
    ExhaustValves {
        /// How many [-].
        count: u32,
        /// Diameter of one head [m].
        diameter_m: f64,
    },
    /// Valve events at about 1 mm of lift.
    ValveEvents {
        /// Inlet closing [deg after bottom dead centre].
        inlet_closes_deg_abdc: f64,
        /// Exhaust opening [deg before bottom dead centre].
        exhaust_opens_deg_bbdc: f64,
        /// Both open [deg].
        overlap_deg: f64,
    },
    /// Shape of the chamber.
    Chamber(Chamber),
    /// Where the fuel is injected.
    Injection(Injection),
    /// Driveline of two driven wheels.
    Driveline,
    /// Rpm of peak torque, by that of peak power.
    TorquePeak {
        /// The rpm taken [rpm].
        rpm: f64,
    },
    /// Rpm of peak power, by that of peak torque.
    PowerPeak {
        /// The rpm taken [rpm].
        rpm: f64,
    },
    /// The air of the day.
    Weather,
    /// Engine speeds to compute.
    Speeds {
        /// Lowest [rpm].
        from_rpm: f64,
        /// Highest [rpm].
        to_rpm: f64,
    },
}

impl Assumed {
    /// The uncertain input that carries how far it may be off; none where it is a condition of the answer, or makes no measurable
    /// difference.
    pub fn input(&self) -> Option<Input> {
        match self {
            Self::BoreAndStroke { .. } => Some(Input::BoreAndStroke),
            Self::ValveEvents { .. } => Some(Input::ValveEvents),
            Self::Chamber(_) => Some(Input::BurnSpeed),
            Self::Driveline => Some(Input::Driveline),
            Self::TorquePeak { .. } | Self::PowerPeak { .. } => Some(Input::Powerband),
            // Ratings from which the band of a kind comes were had with valves and injection of all sorts.
            Self::InletValves { .. } | Self::ExhaustValves { .. } | Self::Injection(_) => {
                Some(Input::Breathing)
            }
            Self::Rod { .. } | Self::Weather | Self::Speeds { .. } => None,
        }
    }
}
