//! endgas: what wheel power a naturally aspirated engine can honestly make, and how close it
//! runs to knock, for each compression ratio and each fuel it may see.
//!
//! # The pipeline
//! Each layer uses only those above it.
//!
//! 1. [`fuel`]: components and pump fuels become a [`fuel::Blend`]: atoms, heat, octane numbers.
//! 2. [`air`]: the day's temperature, pressure and humidity.
//! 3. [`gas`]: the unburned charge, burned gas at equilibrium, and a fast table of it.
//! 4. [`engine`]: geometry, measured volumes, valves, volumetric efficiency, friction, driveline.
//! 5. [`pipes`]: unsteady flow in runner and primary, of which volumetric efficiency comes where a build states them.
//! 6. [`cycle`]: charge at inlet closing, burn law, wall heat, the two-zone closed cycle.
//! 7. [`knock`]: ignition integral of the end gas, octane requirement and margin.
//! 8. [`estimate`]: timing searches, samples of what is uncertain, power as low, likely, high.
//! 9. [`choose`]: the compression ratio for a range of blends.
//! 10. [`goal`]: what a wanted wheel power asks, its chance, and the cheapest parts that reach it.
//! 11. [`dyno`]: logs of dynamometer pulls, read, corrected and judged by the estimate.
//! 12. [`fueling`]: what injectors and pump must give; mechanical figures beside their bands.
//! 13. [`scenario`]: a TOML file checked into a build, a day and a run.
//! 14. [`report`]: text, JSON, CSV and plots of what was found; the report page.
//! 15. [`live`]: a scenario whose inputs are moved one by one, for a page in a browser.
//!
//! # Example
//! The built-in scenario, estimated:
//! ```
//! use endgas::{estimate::estimate, fuel::FuelLibrary, scenario};
//! let scenario = scenario::read("demo", scenario::DEMO)?;
//! let job = scenario.job(&FuelLibrary::shipped()?, 100, 1)?;
//! let result = estimate(&job)?;
//! for fuel in &result.fuels {
//!     let power = fuel.peak_power.wheel;
//!     assert!(power.low < power.likely && power.likely < power.high);
//!     let margin = fuel.curve[fuel.tightest_index].octane_margin;
//!     assert!(margin.is_finite());
//! }
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//! The layers can be called alone: see [`gas::FreshMixture::new`], [`gas::BurnedTable::new`],
//! [`gas::otto::fuel_air_otto`], [`cycle::ClosedCycle`] and [`knock::KnockIntegral`].
//!
//! # Limits of validity
//! Four-stroke spark ignition at full load, naturally aspirated; gasoline, alcohols and their
//! mixtures at equivalence ratios 0.5 to 1.6 (table and equilibrium). Burned gas holds no soot.
//! Constants that are fitted or common practice say so where they stand.

#![forbid(unsafe_code)]

pub mod air;
pub mod choose;
pub mod constants;
pub mod cycle;
pub mod dyno;
pub mod engine;
pub mod estimate;
pub mod fuel;
pub mod fueling;
pub mod gas;
pub mod goal;
pub mod input;
pub mod knock;
pub mod lanes;
pub mod live;
pub mod nasa;
pub mod pipes;
pub mod printable;
pub mod report;
pub mod scenario;
pub mod units;
