//! Unsteady flow in the pipes of one cylinder: gas dynamics along inlet runner and exhaust primary, and what the cylinder
//! between them traps.
//!
//! [`Duct`] is a pipe by itself: compressible flow with area change, friction and wall heat. [`Breather`] puts a cylinder with
//! its valves between two of them and runs cycles until they repeat. The estimate does not use it yet.

mod breather;
mod duct;
mod end;
mod gas;
mod ledger;
mod of_build;
mod riemann;
mod room;
mod trace;
mod valve;

pub use breather::{Breath, Breather, NotSettled, Released, Trapped};
pub use duct::{Duct, Opening, Passed, Pipe};
pub use end::{Beyond, Side, nozzle_flow_kg_per_m2_s};
pub use gas::{Conserved, PerfectGas, PipeGas, State};
pub use ledger::{Ledger, Moved};
pub use of_build::{Airway, Charge, usual_cam};
pub use room::{Room, Volume};
pub use trace::AtValves;
pub use valve::{FlowCurve, ValveGear};
