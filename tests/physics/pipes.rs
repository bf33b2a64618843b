//! Flow in pipes: closed formulas of gas dynamics and acoustics, conservation, and how a cylinder breathes through them.

mod build;
mod carried;
mod cylinder;
mod duct;

use endgas::pipes::{Beyond, Opening, PerfectGas, Pipe, PipeGas};

/// Air at moderate temperature, and burned gas at 1000 K (common engine data, no source).
const GAS: PipeGas = PipeGas {
    fresh: PerfectGas { gas_constant_j_per_kg_k: 287.05, cv_j_per_kg_k: 722.0 },
    burned: PerfectGas { gas_constant_j_per_kg_k: 289.0, cv_j_per_kg_k: 930.0 },
};
const ROOM: Beyond = Beyond { pressure_pa: 100e3, temperature_k: 300.0, burned_frac: 0.0 };
const CLOSED: Opening = Opening { beyond: ROOM, open_frac: 0.0 };
const OPEN: Opening = Opening { beyond: ROOM, open_frac: 1.0 };

/// A pipe of 40 mm without friction.
fn smooth(length_m: f64) -> Pipe {
    Pipe {
        length_m,
        first_diameter_m: 0.04,
        last_diameter_m: 0.04,
        wall_temperature_k: 300.0,
        friction_factor: 0.0,
    }
}

/// Speed of sound in the room [m/s].
fn sound() -> f64 {
    (GAS.gamma(0.0) * GAS.gas_constant(0.0) * ROOM.temperature_k).sqrt()
}
