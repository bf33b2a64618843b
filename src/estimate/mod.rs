//! From a build, a day and a fuel to power ranges and knock margins.

pub mod result;

pub use result::{Band, CurvePoint, Driver, Estimate, FuelEstimate, LadderRung, Peak, TracePoint};
