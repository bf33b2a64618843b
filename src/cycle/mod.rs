//! From trapped charge to indicated work.

pub mod burn;
pub mod charge;
pub mod closed;
pub mod gas_exchange;
pub mod heat;

pub use burn::{Burn, BurnConditions, BurnDurations};
pub use charge::{ChargeConditions, TrappedCharge};
pub use closed::{ClosedCycle, ClosedResult, CycleState};
pub use gas_exchange::GasExchange;
