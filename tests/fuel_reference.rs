//! Fuels against published and worked values, laws that hold for every blend, and the library.

#![allow(clippy::print_stdout, reason = "the figures are for a person to read")]
#![allow(clippy::unwrap_used, reason = "helpers of tests may panic; the lint spares test functions only")]

#[path = "fuel_reference/figures.rs"]
mod figures;
#[path = "fuel_reference/laws.rs"]
mod laws;
#[path = "fuel_reference/library.rs"]
mod library;
#[path = "fuel_reference/octane.rs"]
mod octane;
#[path = "fuel_reference/octane_fit.rs"]
mod octane_fit;
#[path = "fuel_reference/octane_rows.rs"]
mod octane_rows;
#[path = "fuel_reference/properties.rs"]
mod properties;
#[path = "fuel_reference/rows.rs"]
mod rows;
#[path = "fuel_reference/sheet.rs"]
mod sheet;
#[path = "fuel_reference/tank.rs"]
mod tank;
