//! The engine as parts: geometry, breathing, friction, driveline and limits.
//!
//! [`Build`] is the whole engine as the physics sees it; every number is SI and checked
//! before it gets here (see `scenario/`).

pub mod breathing;
pub mod cam;
mod closing;
pub mod computed;
pub mod computed_level;
pub mod driveline;
pub mod follows;
pub mod friction;
pub mod geometry;
pub mod kind;
pub mod pipework;
pub mod port_flow;
pub mod practice;
pub mod standing;
mod usual;
pub mod volumes;

pub(crate) use breathing::interpolate;
pub use breathing::{Breathing, Intake, PeakSpeeds};
pub use cam::Cam;
pub use computed::{Computed, ComputedPoint, ExchangeOnPipes, OnPipes, PipeInput, PipesLevel};
pub use computed_level::ComputedLevel;
pub use driveline::{Driveline, Layout};
pub use follows::{Follow, Follows};
pub use friction::FrictionLaw;
pub use geometry::Geometry;
pub use kind::{BuildKind, KindFigures};
pub use pipework::Pipework;
pub use port_flow::PortFlow;
pub use practice::{FuelGrade, PracticeBand, PracticeClass};
pub use standing::{Class, Figure, Standing};
pub use usual::{Unmeasured, UnmeasuredPart};
pub use volumes::MeasuredVolumes;

/// How the fuel gets into the charge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Injection {
    /// Into the intake port, onto the closed or open valve.
    Port,
    /// Straight into the cylinder during the intake stroke.
    Direct,
}

/// Shape of the combustion chamber, which sets how long the charge takes to burn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Chamber {
    /// Four valves under a pent roof with a central plug.
    PentRoof,
    /// Two valves in a wedge or bathtub, plug at the side.
    Wedge,
    /// Two inclined valves in a hemispherical chamber.
    Hemispherical,
}

/// Valve gear as far as the model uses it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Valves {
    /// Inlet valves per cylinder [-], 1 to 3.
    pub inlet_count: u32,
    /// Inlet valve head diameter [m], 0.010 to 0.080.
    pub inlet_diameter_m: f64,
    /// Exhaust valves per cylinder [-], 1 to 2.
    pub exhaust_count: u32,
    /// Exhaust valve head diameter [m], 0.010 to 0.080.
    pub exhaust_diameter_m: f64,
    /// Flow coefficient averaged over the valve-open period, on valve head area [-], 0.2 to 0.6.
    pub mean_flow_coefficient: f64,
    /// Effective inlet valve closing [deg after bottom dead centre], 10 to 100.
    pub inlet_closes_deg_abdc: f64,
    /// Effective exhaust valve opening [deg before bottom dead centre], 10 to 100.
    pub exhaust_opens_deg_bbdc: f64,
    /// Valve overlap [deg crank], 0 to 150.
    pub overlap_deg: f64,
    /// How much later than at its effective closing the inlet valve seats [deg crank], 0 to 100; where no cam card says it
    /// [`volumes::SEATED_LATER_DEG`].
    pub inlet_seats_later_deg: f64,
}

impl Valves {
    /// Where the inlet valve seats [deg after bottom dead centre], at most 180.
    pub fn inlet_seats_deg_abdc(&self) -> f64 {
        (self.inlet_closes_deg_abdc + self.inlet_seats_later_deg).min(180.0)
    }

    /// Whether a cylinder has more than one inlet valve.
    pub fn has_several_inlets(&self) -> bool {
        self.inlet_count > 1
    }

    /// Head area of the inlet valves of one cylinder [m2].
    pub fn inlet_area_m2(&self) -> f64 {
        f64::from(self.inlet_count) * 0.25 * std::f64::consts::PI * self.inlet_diameter_m.powi(2)
    }

    /// Head area of the exhaust valves of one cylinder [m2].
    pub fn exhaust_area_m2(&self) -> f64 {
        f64::from(self.exhaust_count) * 0.25 * std::f64::consts::PI * self.exhaust_diameter_m.powi(2)
    }
}

/// Published law of the wall heat-transfer coefficient.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum HeatLawKind {
    /// Woschni 1967.
    #[default]
    Woschni,
    /// Hohenberg 1979.
    Hohenberg,
}

/// What carries the heat of the head away, and how hot it is at full load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cooling {
    /// Coolant in the head.
    Liquid {
        /// Coolant temperature [K], 330 to 395.
        coolant_temperature_k: f64,
    },
    /// Air over fins.
    Air {
        /// Head temperature, measured under the plug [K], 390 to 525.
        head_temperature_k: f64,
    },
}

/// Surfaces of the chamber above the coolant, and above an air-cooled head, at full load [K]; the intake port below an
/// air-cooled head [K]. Common practice, no source.
const WALL_ABOVE_COOLANT_K: f64 = 110.0;
const WALL_ABOVE_HEAD_K: f64 = 40.0;
const PORT_BELOW_HEAD_K: f64 = 40.0;

impl Cooling {
    /// Cooling of a usual engine: coolant at 90 C (common practice, no source).
    pub const USUAL: Self = Self::Liquid { coolant_temperature_k: Self::USUAL_COOLANT_K };
    /// Coolant of a usual engine at full load [K].
    pub const USUAL_COOLANT_K: f64 = 363.15;

    /// Temperature of manifold and intake port, which warm the charge on its way in [K]: that of the coolant, or
    /// less than that of an air-cooled head.
    pub fn port_temperature_k(self) -> f64 {
        match self {
            Self::Liquid { coolant_temperature_k } => coolant_temperature_k,
            Self::Air { head_temperature_k } => head_temperature_k - PORT_BELOW_HEAD_K,
        }
    }

    /// Mean temperature of the surfaces of the chamber when nothing is stated [K].
    pub fn usual_wall_temperature_k(self) -> f64 {
        match self {
            Self::Liquid { coolant_temperature_k } => coolant_temperature_k + WALL_ABOVE_COOLANT_K,
            Self::Air { head_temperature_k } => head_temperature_k + WALL_ABOVE_HEAD_K,
        }
    }

    /// The same, hotter by so much [K].
    #[must_use]
    pub fn hotter_by(self, by_k: f64) -> Self {
        match self {
            Self::Liquid { coolant_temperature_k } => {
                Self::Liquid { coolant_temperature_k: coolant_temperature_k + by_k }
            }
            Self::Air { head_temperature_k } => Self::Air { head_temperature_k: head_temperature_k + by_k },
        }
    }
}

/// What happens in the cylinder between the valve events.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Combustion {
    /// Chamber shape.
    pub chamber: Chamber,
    /// Burn speed against a usual chamber of this shape [-]; above 1 burns faster, 0.6 to 1.5.
    pub burn_speed: f64,
    /// Law of the wall heat-transfer coefficient.
    pub heat_law: HeatLawKind,
    /// Multiplier on the wall heat-transfer coefficient [-], 0 to 2.
    pub heat_factor: f64,
    /// Mean temperature of head, piston and liner surfaces at full load [K], 380 to 563.
    pub wall_temperature_k: f64,
    /// What cools the head; it warms the charge on its way in.
    pub cooling: Cooling,
}

impl Combustion {
    /// The same with coolant or head hotter by so much [K], the walls following.
    #[must_use]
    pub fn hotter_by(self, by_k: f64) -> Self {
        Self {
            cooling: self.cooling.hotter_by(by_k),
            wall_temperature_k: self.wall_temperature_k + by_k,
            ..self
        }
    }
}

/// Mechanical limits stated by the builder.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Limits {
    /// Peak cylinder pressure not to exceed [Pa].
    pub peak_pressure_pa: Option<f64>,
    /// Mean piston speed not to exceed [m/s].
    pub mean_piston_speed_m_per_s: Option<f64>,
}

/// A stated limit that an engine passes; the report says it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LimitPassed {
    /// Peak cylinder pressure.
    PeakPressure {
        /// Highest found [Pa].
        found_pa: f64,
        /// The limit [Pa].
        allowed_pa: f64,
    },
    /// Mean piston speed.
    PistonSpeed {
        /// Highest found [m/s].
        found_m_per_s: f64,
        /// The limit [m/s].
        allowed_m_per_s: f64,
    },
}

impl Limits {
    /// The limit that a peak cylinder pressure [Pa] passes.
    pub fn passed_by_pressure(&self, found_pa: f64) -> Option<LimitPassed> {
        let allowed_pa = self.peak_pressure_pa.filter(|allowed_pa| found_pa > *allowed_pa)?;
        Some(LimitPassed::PeakPressure { found_pa, allowed_pa })
    }

    /// The limit that a mean piston speed [m/s] passes.
    pub fn passed_by_piston_speed(&self, found_m_per_s: f64) -> Option<LimitPassed> {
        let allowed_m_per_s = self.mean_piston_speed_m_per_s.filter(|allowed| found_m_per_s > *allowed)?;
        Some(LimitPassed::PistonSpeed { found_m_per_s, allowed_m_per_s })
    }
}

/// A whole engine in its car, as the physics sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct Build {
    /// Cylinders, bore, stroke, rod, ratio.
    pub geometry: Geometry,
    /// Valve sizes and events.
    pub valves: Valves,
    /// How much air it takes, over speed.
    pub breathing: Breathing,
    /// Where the fuel is injected.
    pub injection: Injection,
    /// Burn and wall heat.
    pub combustion: Combustion,
    /// Friction law.
    pub friction: FrictionLaw,
    /// From crank to wheel.
    pub driveline: Driveline,
    /// Mechanical limits.
    pub limits: Limits,
    /// What of it nobody has stated.
    pub unmeasured: Unmeasured,
}
