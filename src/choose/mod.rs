//! Which compression ratio to order pistons for, when the fuel changes from fill to fill.
//!
//! What is maximised is the mean, over the samples of what is not known, of wheel power weighted over the fuels:
//! knock costs more on the bad side than it gives on the good one, so the mean has its top at a lower ratio than the
//! likely case. Power is computed at nodes of ratio and read between them by a cubic, sample by sample with the same
//! samples at every ratio; a node is added at the top until it stays. The limits are not interpolated: each trial of
//! the root finder runs every blend of the range at every speed in the worst weather.

mod assemble;
mod curve;
mod explain;
mod feasible;
pub mod job;
mod kept;
pub mod limit;
mod notices;
mod reading;
mod regret;
pub mod result;
mod solve;
mod watch;

pub use assemble::choose;
pub use job::{BlendRange, ChoiceLimits, ChooseError, ChooseJob, Objective, Weighting};
pub use limit::{LimitKind, LimitState};
pub use result::Choice;
