//! Which compression ratio to order pistons for, when the fuel changes from fill to fill.
//!
//! The limits come first: under the service conditions (hot day, deposits, a weak tank, any ethanol content of the range)
//! the timing that the ignition as fitted can run must lie no further from MBT timing than production practice has it.
//! Of the ratios that keep them, the lowest is ordered whose mean weighted wheel power a dynamometer cannot tell from
//! the best: power over ratio is flat, and what the last half ratio gives no customer can measure.
//!
//! Power is computed at nodes of ratio and read between them by a cubic, sample by sample with the same samples at every
//! ratio; a node is added near the answer until it stays. How a sample differs from the likely case is run at three ratios and
//! read between them by a parabola; the likely case is run at each. The limits are not interpolated: each trial of the root finder
//! runs the blends at every rpm that counts under the service conditions.

mod accepted;
mod assemble;
mod curve;
mod explain;
mod feasible;
mod ignition;
pub mod job;
pub mod limit;
mod notices;
mod order;
mod piston;
mod progress;
mod reading;
mod regret;
pub mod result;
mod service;
mod slopes;
mod solve;
mod variants;
mod watch;

pub use accepted::{Late, accepted};
pub use assemble::{choose, ratio_to_order};
pub use ignition::Ignition;
pub use job::{BlendRange, ChoiceLimits, ChooseError, ChooseJob, LateLimits, Objective, Weighting};
pub use limit::{LimitKind, LimitState};
pub use result::Choice;
pub use service::Service;
