//! From a build, a day and a fuel to power ranges and knock margins.

pub mod point;
pub mod result;
pub mod spark;

pub use result::{Band, CurvePoint, Driver, Estimate, FuelEstimate, LadderRung, Peak, TracePoint};
