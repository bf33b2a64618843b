//! Times of the layers, from one equilibrium to a whole estimate; see `benches/README.md`.
#![allow(clippy::unwrap_used, reason = "a bench fails by panicking")]

mod cycle;
mod estimate;
mod gas;
mod live;
mod pipes;

use endgas::estimate::Job;
use endgas::fuel::{Blend, FuelLibrary};
use endgas::scenario;

fn main() {
    divan::main();
}

/// The built-in example as the command line runs it.
fn demo() -> Job {
    let scenario = scenario::read("demo", scenario::DEMO).unwrap();
    scenario.job(&FuelLibrary::shipped().unwrap(), 400, 1).unwrap()
}

fn blend(name: &str) -> Blend {
    FuelLibrary::shipped().unwrap().resolve(name).unwrap().blend().unwrap()
}
