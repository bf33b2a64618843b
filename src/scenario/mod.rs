//! Scenario files: TOML as typed, checked into the engine, the day and the run as meant.
//!
//! [`read`] is pure. It reports every problem of a file at once, each with its line, key, value,
//! what the key takes and, where it helps, what was probably meant.

mod breathing;
mod cam;
mod checked;
pub mod choose;
mod costs;
mod fitted;
mod fueling;
pub mod job;
mod knock;
mod known_points;
mod origin;
mod parts;
mod pipes;
mod short;
mod starter;
pub mod typed;
mod volumes;

pub use crate::input::{Diagnostics, Expected, Problem, ProblemKind, counted};
pub(crate) use checked::speeds_between;
pub use choose::ChooseRules;
pub use fitted::{FittedError, fitted_text};
pub(crate) use fitted::{numbers, put, section_as_table, take_out};
pub use job::{FuelFault, FuelProblem, FuelRequest, JobError, choose_fuels};
pub use knock::KnockRules;
pub(crate) use known_points::known_text;
pub use known_points::with_known_points;
pub use origin::{Origin, Placed};
pub use pipes::{Pipes, PipesFault};
pub use short::{Said, Short};
pub(crate) use starter::asked_and_said;
pub use starter::{scenario_schema, starter};

use crate::engine::volumes::MeasuredVolumes;
use crate::engine::{Build, Cam, Computed};
use crate::estimate::Assumed;
use crate::estimate::learned::Learned;
use crate::fueling::FuelSystem;
use crate::goal::Costs;
use crate::input::{self, Places};
use crate::printable::printable;
use crate::units::Lambda;
use std::sync::Arc;

/// Text of the scenario that is built into the program.
pub const DEMO: &str = include_str!("../../scenarios/circuit-2400.toml");

/// Most engine speeds in one run.
pub const MOST_SPEEDS: usize = 60;

/// Most fuels in one run.
pub const MOST_FUELS: usize = 12;

/// What a scenario file says, checked.
#[derive(Clone, Debug, PartialEq)]
pub struct Scenario {
    /// Name of the build.
    pub name: String,
    /// Free remark; empty when there is none.
    pub note: String,
    /// The engine in its car.
    pub build: Build,
    /// The cam of its card, where one is given.
    pub cam: Option<Cam>,
    /// The measured volumes of the mean cylinder, that the compression ratio came
    /// from, when it was not stated.
    pub volumes: Option<MeasuredVolumes>,
    /// The same of each cylinder, when a measurement is given by cylinder; else empty. The mean of
    /// their clearance volumes is that of `volumes`.
    pub volumes_by_cylinder: Vec<MeasuredVolumes>,
    /// The air of the day.
    pub weather: WeatherInput,
    /// Fuels to run, in the order of the file; at least one, none twice.
    pub fuels: Vec<FuelUse>,
    /// Mixture set for all fuels, where one is.
    pub lambda_for_all: Option<Lambda>,
    /// Engine speeds to compute [rpm], rising, 1 to [`MOST_SPEEDS`] of them.
    pub speeds_rpm: Vec<f64>,
    /// Rules for the choice of timing.
    pub spark: SparkRules,
    /// What a choice of compression weighs.
    pub choose: ChooseRules,
    /// What is known of knock in this engine.
    pub knock: KnockRules,
    /// Cam, ports and pipes, where volumetric efficiency is computed from them; until it is, the build has the band of the kind.
    pub pipes: Option<Pipes>,
    /// What they breathe, where that is computed already; else every job computes it.
    pub computed: Option<Arc<Computed>>,
    /// What its known points have shown, where that is found already; else every job finds it.
    pub learned: Option<Arc<Learned>>,
    /// Injectors and pump as stated.
    pub fueling: FuelSystem,
    /// What parts cost, for a goal.
    pub costs: Costs,
    /// The file, as the reader was told it is called, printable.
    pub file: String,
    /// Where its keys stand.
    pub places: Places,
    /// What the writer of the file should know of it, such as keys by an older name; one line each.
    pub remarks: Vec<String>,
    /// What was not stated, with what stands in for it.
    pub assumed: Vec<Assumed>,
}

/// The air of the day as stated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WeatherInput {
    /// Air temperature [K], within [`AIR_TEMPERATURE`](crate::units::stated::AIR_TEMPERATURE).
    pub temperature_k: f64,
    /// Absolute air pressure, water vapour included [Pa], within
    /// [`AIR_PRESSURE`](crate::units::stated::AIR_PRESSURE).
    pub pressure_pa: f64,
    /// Relative humidity [-], 0 to 1.
    pub relative_humidity: f64,
}

/// One fuel of the run.
#[derive(Clone, Debug, PartialEq)]
pub struct FuelUse {
    /// Name or recipe as typed, trimmed; the fuel library resolves it.
    pub spec: String,
    /// Mixture at full load, where stated.
    pub lambda: Option<Lambda>,
    /// Line on which the fuel stands, from 1.
    pub line: usize,
}

/// Rules for the choice of timing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SparkRules {
    /// Octane that must be left over at the timing used [octane numbers], 0 to 10.
    pub reserve_octane: f64,
    /// Most advanced timing tried [deg before firing top dead centre].
    pub earliest_deg_btdc: f64,
    /// Least advanced timing tried [deg before firing top dead centre]; negative is after.
    pub latest_deg_btdc: f64,
}

/// Reads a scenario.
///
/// # Arguments
/// - `path_label`: what to call the file in messages, where it stands as [`printable`] makes it
/// - `text`: its contents
///
/// # Errors
/// [`Diagnostics`] with every problem found, in the order of lines. When the text is not TOML, only
/// that is reported, for nothing else about it can be trusted.
///
/// # Example
/// ```
/// let demo = endgas::scenario::read("demo", endgas::scenario::DEMO)?;
/// assert_eq!(demo.build.geometry.cylinders, 4);
/// # Ok::<(), endgas::scenario::Diagnostics>(())
/// ```
pub fn read(path_label: &str, text: &str) -> Result<Scenario, Diagnostics> {
    let label = printable(path_label);
    input::read(&label, text, |root| checked::scenario(root, &label))
}
