//! From a build, a day and a fuel to power ranges and knock margins.

pub mod analysis;
mod assumed;
pub mod band;
pub mod breath;
mod build_difference;
pub mod change;
pub mod compare;
pub mod computed;
mod curve_point;
pub mod distributions;
pub mod error;
pub mod interpolate;
pub mod job;
pub mod known;
mod ladder;
pub mod learned;
mod levers;
pub mod likely_curve;
mod map_load;
mod map_start;
mod matters;
mod notice;
pub(crate) mod notices;
pub mod octane_slope;
pub mod pipe_curve;
pub mod pipe_worth;
pub mod point;
pub mod ratio_grid;
pub mod response;
pub mod result;
mod run;
pub mod sampling;
pub mod search;
pub mod slopes;
pub mod spark;
pub mod spark_map;
pub mod start;
pub(crate) mod sweep;
pub mod tuned;
pub mod uncertainty;

pub use assumed::{Assumed, WorthMeasuring};
pub use band::Band;
pub use build_difference::BuildDifference;
pub use change::JobChange;
pub use compare::{Comparison, compare};
pub use curve_point::CurvePoint;
pub use error::EstimateError;
pub use job::{FuelChoice, Job};
pub use matters::{Matter, Swing};
pub use notice::Notice;
pub use octane_slope::octane_per_ratio;
pub use pipe_curve::{Extent, PipedBreathing, breathing_on_pipes};
pub use result::{
    Driver, Estimate, FuelEstimate, LadderRung, LeverChange, LeverWorth, Peak, PowerCorrection, Rung,
    TracePoint,
};
pub use run::estimate;
