//! Flux between two states: the HLLC solver, which keeps the contact between fresh charge and burned gas.
//!
//! Toro, Spruce and Speares, Restoration of the contact surface in the HLL-Riemann solver, Shock Waves 4 (1994); wave speeds
//! by the pressure in between, as in Toro, Riemann Solvers and Numerical Methods for Fluid Dynamics (`from memory`).

use super::gas::{Conserved, PipeGas, State};

/// Flux from left to right per area and time.
pub(super) fn flux(gas: &PipeGas, left: &State, right: &State) -> Conserved {
    let (left, right) = (Side::of(gas, left), Side::of(gas, right));
    let [slow, fast] = speeds(&left, &right);
    if slow >= 0.0 {
        return left.flux();
    }
    if fast <= 0.0 {
        return right.flux();
    }
    let weight =
        |side: &Side<'_>, wave: f64| side.state.density_kg_per_m3 * (wave - side.state.velocity_m_per_s);
    let (from_left, from_right) = (weight(&left, slow), weight(&right, fast));
    let contact = (right.state.pressure_pa - left.state.pressure_pa
        + from_left * left.state.velocity_m_per_s
        - from_right * right.state.velocity_m_per_s)
        / (from_left - from_right);
    if contact >= 0.0 { left.behind(slow, contact) } else { right.behind(fast, contact) }
}

/// A state with what the solver asks of it more than once.
struct Side<'a> {
    state: &'a State,
    gamma: f64,
    sound_m_per_s: f64,
}

impl<'a> Side<'a> {
    fn of(gas: &PipeGas, state: &'a State) -> Self {
        let gamma = gas.gamma(state.burned_frac);
        Self { state, gamma, sound_m_per_s: (gamma * state.pressure_pa / state.density_kg_per_m3).sqrt() }
    }

    fn conserved(&self) -> Conserved {
        self.state.conserved_at(self.gamma)
    }

    fn flux(&self) -> Conserved {
        self.state.flux_of(self.conserved())
    }

    /// Flux of the gas between a wave and the contact.
    fn behind(&self, wave: f64, contact: f64) -> Conserved {
        let inside = self.conserved();
        let flux = self.state.flux_of(inside);
        let State { density_kg_per_m3: density, velocity_m_per_s: velocity, pressure_pa, burned_frac } =
            *self.state;
        let off = wave - velocity;
        let mass = density * off / (wave - contact);
        let energy = inside[2] / density + (contact - velocity) * (contact + pressure_pa / (density * off));
        let star = [mass, mass * contact, mass * energy, mass * burned_frac];
        std::array::from_fn(|k| flux[k] + wave * (star[k] - inside[k]))
    }
}

/// Speeds of the slowest and the fastest wave [m/s].
fn speeds(left: &Side<'_>, right: &Side<'_>) -> [f64; 2] {
    let sound = 0.5 * (left.sound_m_per_s + right.sound_m_per_s);
    let (l, r) = (left.state, right.state);
    let density = 0.5 * (l.density_kg_per_m3 + r.density_kg_per_m3);
    let rise = r.velocity_m_per_s - l.velocity_m_per_s;
    let between = (0.5 * (l.pressure_pa + r.pressure_pa - rise * density * sound)).max(0.0);
    // A wave that compresses runs faster than sound.
    let sped = |side: &Side<'_>| {
        if between <= side.state.pressure_pa {
            return side.sound_m_per_s;
        }
        let over = between / side.state.pressure_pa - 1.0;
        side.sound_m_per_s * (1.0 + (side.gamma + 1.0) / (2.0 * side.gamma) * over).sqrt()
    };
    [l.velocity_m_per_s - sped(left), r.velocity_m_per_s + sped(right)]
}
