//! Steps of the loss ladder, changes of a build and limits that are passed, in words.

use super::Say;
use crate::engine::LimitPassed;
use crate::estimate::{LeverChange, Rung};
use crate::goal::Part;
use crate::report::Units;
use crate::report::quantity::Dimension::{PistonSpeed, TemperatureStep};
use crate::report::quantity::percent;

metric_words!(LeverChange, LimitPassed, Part, Rung);

impl Say for Rung {
    fn say(&self, _: Units) -> String {
        match self {
            Self::AirStandard => "air-standard Otto cycle",
            Self::FuelAir => "fuel-air Otto cycle: real gas, rich mixture",
            Self::ValveEvents => "valve events: late closing, early opening",
            Self::Burn => "burn time, timing, mixing",
            Self::WallHeat => "heat to coolant and oil: gross indicated",
            Self::Pumping => "pumping: net indicated",
            Self::Friction => "friction: brake",
            Self::Driveline => "driveline: wheel",
        }
        .to_owned()
    }
}

impl Say for LeverChange {
    fn say(&self, units: Units) -> String {
        let by = |kelvin: f64| units.words(TemperatureStep, kelvin);
        match *self {
            Self::RatioLower { step } => format!("compression ratio -{step:.1}"),
            Self::TimingLater { deg } => format!("timing {deg:.0} deg later"),
            Self::AirCooler { by_k } => format!("intake air {} cooler", by(by_k)),
            Self::CoolantCooler { by_k } => format!("coolant {} cooler, walls following", by(by_k)),
            Self::HeadCooler { by_k } => format!("head {} cooler, walls following", by(by_k)),
            Self::WallsCooler { by_k } => format!("chamber walls and exhaust valve {} cooler", by(by_k)),
            Self::BurnFaster { by_frac } => format!("burn speed +{} %", percent(by_frac, 0)),
            Self::EthanolContent { step_frac } => format!("ethanol content {:+.0} points", 100.0 * step_frac),
            Self::OctaneHigher { by } => format!("fuel octane (RON and MON) +{by:.0}"),
        }
    }
}

impl Say for Part {
    fn say(&self, _: Units) -> String {
        match self {
            Self::Cam => "cam and springs".to_owned(),
            Self::Head => "ported head or larger valves".to_owned(),
            Self::IntakeExhaust => "intake and exhaust".to_owned(),
            Self::RaceTopEnd => "race cam, head, intake and exhaust".to_owned(),
            Self::Ratio { ratio, step } => format!("ratio {ratio:.1}:1 ({step:+.1})"),
            Self::Fuel { name } => format!("fuel {name}"),
            Self::Rpm { to_rpm, needs_cam } => {
                let cam = if *needs_cam { "cam, " } else { "" };
                format!("{cam}rods, valve gear and bearings for {to_rpm:.0} rpm")
            }
        }
    }
}

/// What is limited, its value and the limit.
pub(super) fn limit_words(passed: &LimitPassed, units: Units) -> (&'static str, [String; 2]) {
    match *passed {
        LimitPassed::PeakPressure { found_pa, allowed_pa } => {
            ("peak pressure", [found_pa, allowed_pa].map(|pa| units.pressure_words(pa, 0)))
        }
        LimitPassed::PistonSpeed { found_m_per_s, allowed_m_per_s } => (
            "mean piston speed",
            [found_m_per_s, allowed_m_per_s].map(|speed| units.words(PistonSpeed, speed)),
        ),
    }
}

impl Say for LimitPassed {
    fn say(&self, units: Units) -> String {
        let (what, [found, allowed]) = limit_words(self, units);
        // The unit is said once.
        format!("{what} {found}, stated limit {}", allowed.split(' ').next().unwrap_or_default())
    }
}
