//! From trapped charge to indicated work.

pub mod burn;
pub mod closed;
pub mod heat;

pub use burn::{Burn, BurnConditions, BurnDurations};
pub use closed::{ClosedCycle, ClosedResult, CycleState};
