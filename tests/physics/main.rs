//! The physics against published figures and against its own laws.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]
#![allow(clippy::print_stdout, reason = "figures and what was skipped are for a person to read")]

mod accuracy;
mod air_reference;
mod closing;
#[path = "../common/mod.rs"]
mod common;
mod cycle_limits;
mod cycle_properties;
mod engines;
mod factory;
mod factory_limits;
mod fuel_breathing;
mod fuel_reference;
mod gas_properties;
mod kinds;
mod knock_engines;
mod knock_fit;
mod knock_properties;
mod manifold_heat;
mod octane_tests;
mod pipes;
mod practice;
mod response_surrogate;
mod spark_window;
mod thermo_reference;
