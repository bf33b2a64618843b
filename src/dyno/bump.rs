//! A place where a pull leaves its own smooth curve, and what may make it do so.

use schemars::JsonSchema;
use serde::Serialize;

/// A dip or a hump of torque against the smooth curve of the same pull.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Bump {
    /// Rpm at which it begins [rpm].
    pub from_rpm: f64,
    /// Rpm at which it ends [rpm]; that of the last row where torque does not come back.
    pub to_rpm: f64,
    /// Rpm at which torque is farthest off [rpm].
    pub at_rpm: f64,
    /// Torque there over that of the smooth curve, less one [-]; below 0 is a dip.
    pub off_frac: f64,
    /// Whether torque comes back to the smooth curve above it.
    pub returns: bool,
    /// Pulls that show it.
    pub pulls: usize,
    /// Pulls in which it could have been seen.
    pub of_pulls: usize,
    /// Line of the file at which torque is farthest off.
    pub line: u64,
    /// What else the log shows there.
    pub signs: Signs,
    /// What may make it, most probable first; shares add up to 1.
    pub causes: Vec<RankedLocalCause>,
}

impl Bump {
    /// Whether torque is missing there.
    pub fn is_dip(&self) -> bool {
        self.off_frac < 0.0
    }

    /// Whether an rpm lies in it, or as near.
    pub(super) fn holds(&self, speed_rpm: f64, near_rpm: f64) -> bool {
        (self.from_rpm - near_rpm..=self.to_rpm + near_rpm).contains(&speed_rpm)
    }
}

/// What the log shows at a dip or hump beside torque; null where it is not logged.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct Signs {
    /// Whether knock is counted there.
    pub knocks: Option<bool>,
    /// Timing less that on either side [deg].
    pub timing_deg: Option<f64>,
    /// Lambda less that on either side [-].
    pub lambda: Option<f64>,
    /// Widest step of rpm from row to row over that on either side [-]: rpm flares up.
    pub rpm_step_ratio: Option<f64>,
    /// Power over torque times rpm, over that on either side, less one [-].
    pub power_frac: Option<f64>,
    /// Fuel flow for each revolution over that on either side, less one [-].
    pub fuel_frac: Option<f64>,
}

/// What may make torque leave the smooth curve over some hundred rpm.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum LocalCause {
    /// The control unit hears knock and pulls timing.
    KnockRetard,
    /// Valves do not follow the cam: torque falls near the top and does not come back.
    ValveFloat,
    /// Fuel or ignition is cut: limiter, misfire, fuel pressure.
    Cut,
    /// A tyre slips on the roller.
    WheelSlip,
    /// The clutch slips.
    ClutchSlip,
    /// A wave in intake or exhaust, or a cam or intake that switches over.
    Tuning,
    /// The rpm pick-up skips or is switched over.
    PickUp,
}

/// A local cause with its weight.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RankedLocalCause {
    /// What may be the cause.
    pub cause: LocalCause,
    /// Its share of the probability of all local causes [-].
    pub share: f64,
}
