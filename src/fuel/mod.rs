//! Fuels: components with their sources, blends by volume, and the library of fuels by name.

pub mod blend;
pub mod component;
pub mod error;
mod file;
pub mod fill;
mod guess;
pub mod handling;
pub mod library;
pub mod octane;
pub mod products;
pub mod pump;
pub mod sheet;
mod shelf;
pub mod tank;

pub use blend::{Blend, Part};
pub use component::{Component, ComponentData, OctaneRating, Sources};
pub use error::FuelError;
pub use file::{component_schema, pump_schema};
pub use library::FuelLibrary;
pub use octane::{OCTANE_BLENDING, OctaneBand, OctaneBlending, OctaneConcern};
pub use pump::{ContentRange, PumpFuel, Share};
pub use sheet::{Content, FuelState};
