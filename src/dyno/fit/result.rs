//! What a fit says.

use super::super::error::JudgeError;
use super::noise::Noise;
use super::pipes::PipeSizes;
use crate::engine::{Computed, PipeInput};
use crate::estimate::computed::ReferenceFault;
use crate::estimate::uncertainty::Input;
use crate::estimate::{Band, EstimateError};
use crate::pipes::NotSettled;
use crate::units::stated::{PIPES_LEVEL, VOLUMETRIC_EFFICIENCY};
use schemars::JsonSchema;
use serde::Serialize;
use std::sync::Arc;

/// A build could not be fitted.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum FitFault {
    /// What VE goes with is known from a pull already, and a second fit would count that pull as independent.
    #[error(
        "the scenario holds [{}], so it is fitted already: fit the original scenario to all its logs together instead",
        if *on_pipes { "breathing.pipes.follows" } else { "breathing.follows" }
    )]
    Fitted {
        /// Whether it is beside pipes.
        on_pipes: bool,
    },
    /// The pull could not be held against the estimate.
    #[error(transparent)]
    Judge(#[from] JudgeError),
    /// The model failed.
    #[error(transparent)]
    Estimate(#[from] EstimateError),
    /// The solver failed.
    #[error("no build was found that makes this pull: {0}")]
    Solver(String),
    /// The build cannot be computed on its pipes.
    #[error(transparent)]
    Reference(#[from] ReferenceFault),
    /// The cycles on pipes of other sizes do not repeat.
    #[error("no pipes were found that make this pull: {0}")]
    NotSettled(#[from] NotSettled),
    /// The VE of the pipes lies too far from that of the pull.
    #[error(
        "the pull needs {percent:+.0} % of the VE of the pipes; a scenario takes {}: look at units, gear and correction",
        PIPES_LEVEL.ends()
    )]
    Level {
        /// VE of the pull over that of the pipes, less one [%].
        percent: f64,
    },
    /// The fitted build lies outside what a scenario may hold.
    #[error(
        "the pull needs a VE of {filling:.2} at {speed_rpm:.0} rpm; a scenario takes {:.2} to {:.2}: look at units, gear and correction",
        VOLUMETRIC_EFFICIENCY.low, VOLUMETRIC_EFFICIENCY.high
    )]
    Filling {
        /// Volumetric efficiency found [-].
        filling: f64,
        /// Rpm [rpm].
        speed_rpm: f64,
    },
}

/// What is fitted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Parameter {
    /// VE as a whole.
    Filling,
    /// Mean over the rpm read of VE over that of the scenario [-].
    FillingLevel,
    /// Change of VE over that of the scenario from the lowest to the highest rpm read [%].
    FillingTilt,
    /// An input of the estimate: driveline loss [% of crank power], else what its distribution is of.
    Input(Input),
    /// Error of the dyno that all rows share.
    DynoReading,
}

/// One thing that was fitted, by its 10th, 50th and 90th percentile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FittedParameter {
    /// What it is.
    pub what: Parameter,
    /// Before the fit.
    pub before: Band,
    /// After it.
    pub after: Band,
    /// Width of the band after over that before [-].
    pub width_ratio: f64,
}

impl FittedParameter {
    /// Whether the pull moved it further than it was known to go: beyond one and a half half widths of its band before.
    pub(super) fn is_far(&self) -> bool {
        /// Half widths of the band before, beyond which 5 in 100 lie by chance.
        const FAR: f64 = 1.5;
        let Band { low, likely, high } = self.before;
        let half = if self.after.likely < likely { likely - low } else { high - likely };
        (self.after.likely - likely).abs() > FAR * half
    }
}

/// Two parameters that the pull cannot tell apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TiedPair {
    /// One of them.
    pub first: Parameter,
    /// The other.
    pub second: Parameter,
    /// Their correlation after the fit with all else held [-].
    pub correlation_held: f64,
    /// Their correlation after the fit with all else free [-].
    pub correlation: f64,
}

/// Something to know about a fit.
#[derive(Clone, Debug, PartialEq)]
pub enum FitNote {
    /// The build as fitted does not make the pull.
    DoesNotMakeThePull {
        /// Root mean square error of its torque [%].
        rms_percent: f64,
    },
    /// No pipes within their bands make the pull.
    PipesDoNotMakeThePull {
        /// Root mean square error of its torque [%].
        rms_percent: f64,
    },
    /// The search did not come to rest.
    Restless,
    /// What the file holds, and what VE is written with.
    Held {
        /// Half width of the band of VE with all else held [%].
        spread_percent: f64,
    },
    /// The same where VE is written as level and sizes of pipes.
    HeldOnPipes {
        /// Half width of the band of VE with all else held [%].
        spread_percent: f64,
    },
    /// The power is that of one dyno.
    OneDyno,
    /// The model sets the timing as a tuner would.
    TunedTiming,
    /// A pull at the flywheel says nothing of the driveline.
    AtTheCrank,
    /// The day of the pull is not known.
    DayNotKnown,
    /// The pulls leave out rpm of the scenario.
    SpeedsLeftOut {
        /// Lowest and highest rpm that every pull reaches [rpm].
        pulls_rpm: (f64, f64),
    },
    /// Moved far beyond the band that was known.
    FarBeyond(Vec<Parameter>),
    /// The mixture of the log is not that of the scenario.
    OtherMixture {
        /// Mean lambda of the log [-].
        logged: f64,
        /// Lambda of the scenario [-].
        planned: f64,
    },
}

/// Difference between measured and modelled torque over the rpm compared.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct FitError {
    /// Root of the mean square, of measured torque [-].
    pub rms_frac: f64,
    /// Greatest, signed: model less measured, of measured torque [-].
    pub worst_frac: f64,
    /// Rpm of the greatest [rpm].
    pub worst_speed_rpm: f64,
}

/// One rpm of the fit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FittedPoint {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Measured torque, uncorrected, at the place of the log [N m]; null where the pulls do not reach.
    pub measured_torque_nm: Option<f64>,
    /// Torque of the scenario as it was [N m].
    pub before_torque_nm: f64,
    /// Torque of the scenario that is written [N m].
    pub after_torque_nm: f64,
    /// Volumetric efficiency that the scenario stated, reference gasoline [-].
    pub before_volumetric_efficiency: f64,
    /// Volumetric efficiency as fitted with all else free [-].
    pub fitted_volumetric_efficiency: Band,
    /// Volumetric efficiency that is written: with all that the file cannot hold at its likely value [-].
    pub written_volumetric_efficiency: f64,
}

/// How VE goes with another input, as written.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Followed {
    /// Key of the scenario.
    pub key: &'static str,
    /// Change of VE when the input stands at its 90th percentile, one per rpm of `follows_speed_rpm` [%].
    pub percent: Vec<f64>,
}

/// What the new scenario holds.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Written {
    /// Rpm of the table [rpm]; on pipes those at which VE is shown.
    pub speed_rpm: Vec<f64>,
    /// Volumetric efficiency at each [-]; on pipes that of the pipes that are written, at their level.
    pub volumetric_efficiency: Vec<f64>,
    /// Half width of its 10-90 % band, all else held [%].
    pub spread_percent: f64,
    /// Rpm at which it is said how VE goes with other inputs [rpm].
    pub follows_speed_rpm: Vec<f64>,
    /// How VE goes with other inputs.
    pub follows: Vec<Followed>,
    /// Driveline loss [% of crank power]; null when the pull says nothing of it.
    pub measured_loss_percent: Option<f64>,
    /// Half width of its 10-90 % band [% of the loss].
    pub measured_loss_spread_percent: Option<f64>,
    /// Burn speed [-].
    pub burn_speed: f64,
    /// Mean flow coefficient of the inlet valves [-], where the old breathing section gave it, by bench sheet or kind of build.
    pub mean_flow_coefficient: Option<f64>,
    /// What is written to `[breathing.pipes]` in place of a table; null where VE is a table.
    pub pipes: Option<WrittenPipes>,
}

/// Pipes that a pull has moved, as keys of `[breathing.pipes]`.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WrittenPipes {
    /// Their sizes.
    #[serde(flatten)]
    pub sizes: PipeSizes,
    /// VE over what the pipes give, less one [%].
    pub level_percent: f64,
    /// Sizes that the scenario had before: stated, or as usual.
    pub before: PipeSizes,
    /// How the build breathes on them, at this level.
    #[serde(skip)]
    pub computed: Arc<Computed>,
}

impl WrittenPipes {
    /// Whether the scenario stated a size before.
    pub fn was_stated(&self, size: PipeInput) -> bool {
        let on = &self.computed.on;
        match size {
            PipeInput::RunnerLength => on.has_lengths.0,
            PipeInput::PrimaryLength => on.has_lengths.1,
            PipeInput::ValveFlow => on.bench.is_some(),
            PipeInput::WaveDamping => false,
        }
    }
}

/// One fuel predicted from the scenario as it was and from the fitted build.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FuelForecast {
    /// Name of the fuel.
    pub fuel: String,
    /// Whether the pull was made on it.
    pub pulled: bool,
    /// Peak wheel power before [kW].
    pub before_wheel_power_kw: Band,
    /// Peak wheel power after, as this dyno reads [kW].
    pub after_wheel_power_kw: Band,
    /// The same as any dyno may read it: with the spread between dynos besides [kW].
    pub any_dyno_wheel_power_kw: Band,
    /// Rpm of peak power after [rpm].
    pub after_speed_rpm: f64,
    /// Worst octane margin at MBT timing before [-].
    pub before_octane_margin: f64,
    /// Worst octane margin at MBT timing after [-].
    pub after_octane_margin: f64,
    /// Half width of the 10-90 % band of that margin after [-].
    pub octane_margin_half_width: f64,
}

/// A fit of a build to a log.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Fit {
    /// What was fitted.
    #[serde(skip)]
    pub parameters: Vec<FittedParameter>,
    /// What the pull cannot tell apart.
    #[serde(skip)]
    pub alike: Vec<TiedPair>,
    /// Measuring errors that were reckoned with.
    pub noise: Noise,
    /// Mixture of the fit [lambda]: logged, or else planned.
    pub lambda: f64,
    /// Error of the scenario as it was.
    pub before: FitError,
    /// Error of the scenario that is written.
    pub after: FitError,
    /// Torque and VE by rpm.
    pub curve: Vec<FittedPoint>,
    /// What the new scenario holds.
    pub written: Written,
    /// Every fuel on the day of the pull.
    pub fuels: Vec<FuelForecast>,
    /// What the reader should know.
    #[serde(skip)]
    pub notes: Vec<FitNote>,
}
