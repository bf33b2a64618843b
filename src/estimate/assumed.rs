//! What a scenario leaves out and what stands in for it.

use super::result::Estimate;
use super::uncertainty::Input;
use crate::engine::{Chamber, Injection, Unmeasured};

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
    /// The air of the day: dry, at the reference of SAE J1349 and ISO 1585.
    Weather {
        /// Temperature [K].
        temperature_k: f64,
        /// Pressure [Pa].
        pressure_pa: f64,
    },
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
            // The band of a kind holds engines with valves of all sizes.
            Self::InletValves { .. }
            | Self::ExhaustValves { .. }
            | Self::Injection(_)
            | Self::Rod { .. }
            | Self::Weather { .. }
            | Self::Speeds { .. } => None,
        }
    }
}

impl Assumed {
    /// Share of its input that goes when it is stated [-]: a known chamber has its own spread of the burn speed.
    fn goes_when_stated(&self) -> f64 {
        match self {
            Self::Chamber(_) => {
                let known = Input::BurnSpeed.half_width();
                1.0 - known
                    / Unmeasured { chamber: true, ..Unmeasured::default() }.burn_speed_half_width(known)
            }
            _ => 1.0,
        }
    }
}

/// What measuring one thing that is assumed would take out of the range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WorthMeasuring {
    /// What is assumed.
    pub assumed: Assumed,
    /// What it moves peak wheel power by, from the middle to the 90th percentile of its input [kW].
    pub power_kw: f64,
    /// The same of the octane margin [-].
    pub margin_octane: f64,
}

/// Most things that are named to be measured.
const NAMED: usize = 3;

impl Estimate {
    /// What would narrow the answer most if it were measured, on the fuel that limits; the most first, each input once, at most three.
    pub fn worth_measuring(&self) -> Vec<WorthMeasuring> {
        let Some(fuel) = self.limiting() else { return Vec::new() };
        let mut found: Vec<WorthMeasuring> = Vec::new();
        for assumed in &self.assumed {
            let driver = fuel.drivers.iter().find(|driver| Some(driver.input) == assumed.input());
            let gone = assumed.goes_when_stated();
            found.extend(driver.map(|driver| WorthMeasuring {
                assumed: *assumed,
                power_kw: gone * driver.power_swing_kw,
                margin_octane: gone * driver.margin_swing_octane,
            }));
        }
        let most = |of: fn(&WorthMeasuring) -> f64| {
            found.iter().map(|worth| of(worth).abs()).fold(f64::MIN_POSITIVE, f64::max)
        };
        let (power_kw, margin) = (most(|worth| worth.power_kw), most(|worth| worth.margin_octane));
        let weight = |worth: &WorthMeasuring| {
            (worth.power_kw / power_kw).abs().max((worth.margin_octane / margin).abs())
        };
        found.sort_by(|a, b| weight(b).total_cmp(&weight(a)));
        found.truncate(NAMED);
        found
    }
}
