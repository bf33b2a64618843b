//! From trapped charge to indicated work.

pub mod burn;
pub mod charge;
pub mod closed;
pub mod gas_exchange;
pub mod heat;
mod outcome;
mod stepper;

pub use burn::{Burn, BurnConditions, BurnDurations};
pub use charge::{ChargeConditions, TrappedCharge};
pub use closed::{Begun, ClosedCycle, Compression, Watch};
pub use gas_exchange::GasExchange;
pub use outcome::{ClosedResult, CycleState};
