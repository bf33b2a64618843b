//! endgas: what wheel power a naturally aspirated engine can honestly make, and how close it
//! runs to knock, for each compression ratio and each fuel it may see.

pub mod air;
pub mod constants;
pub mod cycle;
pub mod engine;
pub mod estimate;
pub mod fuel;
pub mod gas;
pub mod knock;
pub mod nasa;
pub mod report;
pub mod scenario;
pub mod units;
