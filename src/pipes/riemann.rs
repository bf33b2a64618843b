//! Flux between two states: the HLLC solver, which keeps the contact between fresh charge and burned gas.
//!
//! Toro, Spruce and Speares, Restoration of the contact surface in the HLL-Riemann solver, Shock Waves 4 (1994); wave speeds
//! by the pressure in between, as in Toro, Riemann Solvers and Numerical Methods for Fluid Dynamics (`from memory`).

use super::gas::{Conserved, PipeGas, State};

/// Flux from left to right per area and time.
pub(super) fn flux(gas: &PipeGas, left: &State, right: &State) -> Conserved {
    let (sound_left, sound_right) = (left.sound_m_per_s(gas), right.sound_m_per_s(gas));
    let [slow, fast] = speeds(gas, (left, sound_left), (right, sound_right));
    if slow >= 0.0 {
        return left.flux(gas);
    }
    if fast <= 0.0 {
        return right.flux(gas);
    }
    let weight = |s: &State, wave: f64| s.density_kg_per_m3 * (wave - s.velocity_m_per_s);
    let (from_left, from_right) = (weight(left, slow), weight(right, fast));
    let contact = (right.pressure_pa - left.pressure_pa + from_left * left.velocity_m_per_s
        - from_right * right.velocity_m_per_s)
        / (from_left - from_right);
    if contact >= 0.0 { behind(gas, left, slow, contact) } else { behind(gas, right, fast, contact) }
}

/// Flux of the gas between a wave and the contact.
fn behind(gas: &PipeGas, state: &State, wave: f64, contact: f64) -> Conserved {
    let inside = state.conserved(gas);
    let flux = state.flux(gas);
    let off = wave - state.velocity_m_per_s;
    let mass = state.density_kg_per_m3 * off / (wave - contact);
    let energy = inside[2] / inside[0]
        + (contact - state.velocity_m_per_s)
            * (contact + state.pressure_pa / (state.density_kg_per_m3 * off));
    let star = [mass, mass * contact, mass * energy, mass * state.burned_frac];
    std::array::from_fn(|k| flux[k] + wave * (star[k] - inside[k]))
}

/// Speeds of the slowest and the fastest wave [m/s].
fn speeds(gas: &PipeGas, (left, sound_left): (&State, f64), (right, sound_right): (&State, f64)) -> [f64; 2] {
    let sound = 0.5 * (sound_left + sound_right);
    let density = 0.5 * (left.density_kg_per_m3 + right.density_kg_per_m3);
    let rise = right.velocity_m_per_s - left.velocity_m_per_s;
    let between = (0.5 * (left.pressure_pa + right.pressure_pa - rise * density * sound)).max(0.0);
    // A wave that compresses runs faster than sound.
    let faster = |state: &State| {
        let gamma = gas.gamma(state.burned_frac);
        let over = (between / state.pressure_pa - 1.0).max(0.0);
        (1.0 + (gamma + 1.0) / (2.0 * gamma) * over).sqrt()
    };
    [left.velocity_m_per_s - sound_left * faster(left), right.velocity_m_per_s + sound_right * faster(right)]
}
