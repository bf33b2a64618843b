//! Gas properties: unburned charge from NASA polynomials at frozen composition, burned gas at
//! chemical equilibrium, and a fast table of the latter.

pub mod equilibrium;
pub mod mixture;
pub(crate) mod newton;
pub mod otto;
pub mod species;
pub mod table;

pub use equilibrium::{EquilibriumError, EquilibriumState};
pub use mixture::{Elements, FreshMixture, UnburnedCharge};
pub use table::BurnedTable;
