//! Ends of pipes: closed, open to the air, or through an opening to a volume, quasi-steady at every instant.
//!
//! The wave that comes along the pipe fixes one relation between pressure and velocity at its end. The opening fixes
//! the other: the flow of a nozzle from whichever side has the higher stagnation pressure, choked where it must be, at
//! constant pressure from the throat on (Benson, The Thermodynamics and Gas Dynamics of Internal-Combustion Engines,
//! `from memory`).

use super::gas::{Conserved, PipeGas, State};

/// The gas beyond an end, at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beyond {
    /// Pressure [Pa].
    pub pressure_pa: f64,
    /// Temperature [K].
    pub temperature_k: f64,
    /// Burned mass over mass [-].
    pub burned_frac: f64,
}

/// Which end of the pipe.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Where the pipe begins.
    First,
    /// Where it ends.
    Last,
}

impl Side {
    /// Direction out of the pipe at this end, along the pipe.
    fn out(self) -> f64 {
        match self {
            Self::First => -1.0,
            Self::Last => 1.0,
        }
    }
}

/// Mass flow per effective area through a nozzle from gas at rest [kg/(m2 s)].
///
/// # Arguments
/// - `ratio`: pressure behind the throat over that of the gas at rest [-], at most 1
///
/// Source: isentropic flow of a perfect gas, any textbook of gas dynamics.
pub fn nozzle_flow_kg_per_m2_s(gas: &PipeGas, from: &Beyond, ratio: f64) -> f64 {
    Nozzle::new(gas, from.burned_frac).flow_kg_per_m2_s(from, ratio)
}

/// What of a nozzle depends on the gas alone.
#[derive(Clone, Copy)]
struct Nozzle {
    gas_constant_j_per_kg_k: f64,
    gamma: f64,
    /// Pressure ratio at which it chokes [-].
    choked: f64,
}

impl Nozzle {
    fn new(gas: &PipeGas, burned_frac: f64) -> Self {
        let gamma = gas.gamma(burned_frac);
        let choked = (2.0 / (gamma + 1.0)).powf(gamma / (gamma - 1.0));
        Self { gas_constant_j_per_kg_k: gas.gas_constant(burned_frac), gamma, choked }
    }

    /// As [`nozzle_flow_kg_per_m2_s`].
    fn flow_kg_per_m2_s(&self, from: &Beyond, ratio: f64) -> f64 {
        let gamma = self.gamma;
        let ratio = ratio.max(self.choked).min(1.0);
        // Density over that at rest; ratio^(2/gamma) - ratio^((gamma + 1)/gamma).
        let thinned = ratio.powf(1.0 / gamma);
        let expansion = (thinned * (thinned - ratio)).max(0.0);
        let velocity = (2.0 * gamma / (gamma - 1.0) * expansion).sqrt();
        from.pressure_pa / (self.gas_constant_j_per_kg_k * from.temperature_k).sqrt() * velocity
    }
}

/// Flux through the end of a pipe along its axis, per pipe area and time.
///
/// # Arguments
/// - `inside`: the gas at the end
/// - `beyond`: the gas at rest beyond it
/// - `open_frac`: effective area of the opening over that of the pipe [-], 0 closed to 1 open
pub(super) fn flux(gas: &PipeGas, side: Side, inside: &State, beyond: &Beyond, open_frac: f64) -> Conserved {
    let sound_m_per_s = inside.sound_m_per_s(gas);
    let gamma = gas.gamma(inside.burned_frac);
    let end = End { gas, out: side.out(), inside, beyond, open_frac, gamma, sound_m_per_s };
    if open_frac <= 0.0 {
        return [0.0, end.at_rest_pa(), 0.0, 0.0];
    }
    end.state(&end.at(end.pressure_pa())).flux(gas)
}

struct End<'a> {
    gas: &'a PipeGas,
    /// Direction out of the pipe.
    out: f64,
    inside: &'a State,
    beyond: &'a Beyond,
    open_frac: f64,
    /// Ratio of heat capacities and speed of sound of the gas inside.
    gamma: f64,
    sound_m_per_s: f64,
}

/// What the wave along the pipe makes of an end pressure.
struct AtEnd {
    pressure_pa: f64,
    /// Velocity out of the pipe [m/s].
    velocity_out: f64,
    /// Density of the gas of the pipe there [kg/m3].
    density_kg_per_m3: f64,
}

impl End<'_> {
    /// What the wave along the pipe makes of an end pressure: sound changes with its power of (gamma - 1)/(2 gamma), density with
    /// that of 1/gamma, which is pressure over sound squared.
    fn at(&self, pressure_pa: f64) -> AtEnd {
        let State { velocity_m_per_s, pressure_pa: inside_pa, density_kg_per_m3, .. } = *self.inside;
        let (gamma, ratio) = (self.gamma, pressure_pa / inside_pa);
        let sound_ratio = ratio.powf(0.5 * (gamma - 1.0) / gamma);
        let slowed = 2.0 / (gamma - 1.0) * self.sound_m_per_s * (1.0 - sound_ratio);
        AtEnd {
            pressure_pa,
            velocity_out: self.out * velocity_m_per_s + slowed,
            density_kg_per_m3: density_kg_per_m3 * ratio / (sound_ratio * sound_ratio),
        }
    }

    /// Gas of the pipe at its end.
    fn own(&self, at: &AtEnd) -> State {
        let AtEnd { pressure_pa, velocity_out, density_kg_per_m3 } = *at;
        let velocity_m_per_s = self.out * velocity_out;
        State { density_kg_per_m3, velocity_m_per_s, pressure_pa, burned_frac: self.inside.burned_frac }
    }

    /// Gas from beyond that enters with a velocity out of the pipe below 0, its stagnation temperature kept.
    fn entered(&self, pressure_pa: f64, velocity_out: f64) -> State {
        let Beyond { temperature_k, burned_frac, .. } = *self.beyond;
        let cp = self.gas.cv(burned_frac) + self.gas.gas_constant(burned_frac);
        let cooled = temperature_k - 0.5 * velocity_out * velocity_out / cp;
        let temperature_k = cooled.max(0.5 * temperature_k);
        let state = State::at_rest(self.gas, pressure_pa, temperature_k, burned_frac);
        State { velocity_m_per_s: self.out * velocity_out, ..state }
    }

    /// Pressure at an end that lets nothing through [Pa].
    fn at_rest_pa(&self) -> f64 {
        let gamma = self.gamma;
        let mach = self.out * self.inside.velocity_m_per_s / self.sound_m_per_s;
        let base = (1.0 + 0.5 * (gamma - 1.0) * mach).max(0.1);
        self.inside.pressure_pa * base.powf(2.0 * gamma / (gamma - 1.0))
    }

    /// Pressure at which the gas of the pipe leaves at the speed of sound [Pa].
    fn sonic_pa(&self) -> f64 {
        let gamma = self.gamma;
        let mach = self.out * self.inside.velocity_m_per_s / self.sound_m_per_s;
        let base = ((gamma - 1.0) * mach + 2.0) / (gamma + 1.0);
        self.inside.pressure_pa * base.max(0.1).powf(2.0 * gamma / (gamma - 1.0))
    }

    /// Pressure at the end at which the wave brings what the opening takes [Pa]: regula falsi, the end that stays halved
    /// (Illinois). What is brought falls with pressure and what is taken rises, so that there is one root.
    fn pressure_pa(&self) -> f64 {
        const PASSES: usize = 30;
        /// Of pressure, relative.
        const WITHIN: f64 = 1e-8;
        let [own, beyond] =
            [self.inside.burned_frac, self.beyond.burned_frac].map(|frac| Nozzle::new(self.gas, frac));
        let excess = |pressure_pa: f64| {
            let at = self.at(pressure_pa);
            self.brought(&at) - self.taken(&at, (&own, &beyond))
        };
        let (mut low, mut high) = (self.sonic_pa(), 2.0 * self.at_rest_pa().max(self.beyond.pressure_pa));
        let (mut at_low, mut at_high) = (excess(low), excess(high));
        if at_low <= 0.0 {
            // The pipe itself is choked.
            return low;
        }
        let mut last_was_low = None;
        for _ in 0..PASSES {
            let middle = (low * at_high - high * at_low) / (at_high - at_low);
            let at_middle = excess(middle);
            let is_low = at_middle > 0.0;
            if is_low {
                (low, at_low) = (middle, at_middle);
            } else {
                (high, at_high) = (middle, at_middle);
            }
            if at_middle.abs() <= WITHIN * self.inside.density_kg_per_m3 * 300.0 || high - low < WITHIN * high
            {
                return middle;
            }
            if last_was_low == Some(is_low) {
                if is_low { at_high *= 0.5 } else { at_low *= 0.5 }
            }
            last_was_low = Some(is_low);
        }
        0.5 * (low + high)
    }

    /// The gas of a state of the pipe brought to rest.
    fn stagnation(&self, state: &State) -> Beyond {
        let gamma = self.gamma;
        let mach = state.velocity_m_per_s / state.sound_m_per_s(self.gas);
        let warmed = 1.0 + 0.5 * (gamma - 1.0) * mach * mach;
        Beyond {
            pressure_pa: state.pressure_pa * warmed.powf(gamma / (gamma - 1.0)),
            temperature_k: state.temperature_k(self.gas) * warmed,
            burned_frac: state.burned_frac,
        }
    }

    /// Mass flow per pipe area that the wave along the pipe brings out [kg/(m2 s)].
    fn brought(&self, at: &AtEnd) -> f64 {
        self.state(at).density_kg_per_m3 * at.velocity_out
    }

    /// Mass flow per pipe area that the opening takes out, below 0 where it lets in [kg/(m2 s)].
    ///
    /// # Arguments
    /// - `nozzles`: of the gas of the pipe, and of that beyond
    fn taken(&self, at: &AtEnd, nozzles: (&Nozzle, &Nozzle)) -> f64 {
        let own = self.own(at);
        let from = if at.velocity_out > 0.0 {
            self.stagnation(&own)
        } else {
            let (temperature_k, burned_frac) = (own.temperature_k(self.gas), own.burned_frac);
            Beyond { pressure_pa: at.pressure_pa, temperature_k, burned_frac }
        };
        let ratio = self.beyond.pressure_pa / from.pressure_pa;
        let flow = if ratio < 1.0 {
            nozzles.0.flow_kg_per_m2_s(&from, ratio)
        } else {
            -nozzles.1.flow_kg_per_m2_s(self.beyond, 1.0 / ratio)
        };
        self.open_frac * flow
    }

    /// The gas that passes the end.
    fn state(&self, at: &AtEnd) -> State {
        if at.velocity_out >= 0.0 { self.own(at) } else { self.entered(at.pressure_pa, at.velocity_out) }
    }
}
