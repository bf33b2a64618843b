//! Fuels against published and worked values, laws that hold for every blend, and the library.

pub mod figures;
mod laws;
mod library;
mod octane;
mod octane_fit;
pub mod octane_rows;
mod properties;
pub mod rows;
mod sheet;
mod tank;
