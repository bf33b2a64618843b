//! What one check says.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How far a pull, or one thing about it, can be believed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Within what is to be expected.
    Consistent,
    /// Outside it, but not beyond what can happen.
    Doubtful,
    /// Beyond what can happen by the stated limits.
    NotCredible,
}

impl Verdict {
    /// The words for it.
    pub fn words(self) -> &'static str {
        match self {
            Self::Consistent => "consistent",
            Self::Doubtful => "doubtful",
            Self::NotCredible => "not credible",
        }
    }
}

/// What a check looks at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum CheckName {
    /// Logged power against logged torque times speed.
    TorqueTimesSpeed,
    /// The day against the range of the stated correction standard.
    CorrectionRange,
    /// The logged correction factor against that of the standard on the day.
    CorrectionLogged,
    /// A whole correction standard as an excess over the estimate.
    OverCorrection,
    /// Brake mean effective pressure that the torque implies.
    MeanEffectivePressure,
    /// Volumetric efficiency that the torque implies.
    VolumetricEfficiency,
    /// Volumetric efficiency from fuel flow and mixture against that from torque.
    AirFromFuel,
    /// Brake specific fuel consumption from fuel flow.
    FuelConsumption,
    /// Logged mixture against the planned one.
    Mixture,
    /// Loss between the estimate's crank and the measured wheels.
    DrivelineLoss,
    /// Points within the band of the estimate.
    CurveBand,
    /// Measured over estimated torque, all speeds alike.
    UniformScale,
    /// Change of measured over estimated torque with speed.
    Tilt,
    /// Speed of peak power against the estimate's.
    PeakSpeed,
    /// Fall of torque towards the highest speed against the estimate's.
    TorqueFall,
    /// A factor on the speed axis.
    GearRatio,
    /// Scatter that smoothing has taken away.
    Smoothing,
    /// Scatter and spikes that were left in.
    Spikes,
    /// Difference between pulls.
    Repeatability,
}

impl CheckName {
    /// Whether it names a cause, so that it is looked at before those that only see the effect.
    pub fn is_cause(self) -> bool {
        matches!(
            self,
            Self::TorqueTimesSpeed
                | Self::CorrectionRange
                | Self::CorrectionLogged
                | Self::OverCorrection
                | Self::GearRatio
                | Self::AirFromFuel
        )
    }

    /// Title for a person.
    pub fn title(self) -> &'static str {
        match self {
            Self::TorqueTimesSpeed => "torque x speed = power",
            Self::CorrectionRange => "correction range",
            Self::CorrectionLogged => "logged factor",
            Self::OverCorrection => "over-correction",
            Self::MeanEffectivePressure => "implied BMEP",
            Self::VolumetricEfficiency => "implied VE",
            Self::AirFromFuel => "air by fuel flow",
            Self::FuelConsumption => "BSFC",
            Self::Mixture => "mixture",
            Self::DrivelineLoss => "driveline loss",
            Self::CurveBand => "curve in band",
            Self::UniformScale => "uniform scale",
            Self::Tilt => "tilt over speed",
            Self::PeakSpeed => "peak power speed",
            Self::TorqueFall => "torque at the top",
            Self::GearRatio => "gear ratio",
            Self::Smoothing => "smoothing",
            Self::Spikes => "spikes",
            Self::Repeatability => "repeatability",
        }
    }
}

/// An interval, open where an end is null.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Interval {
    /// Lowest value, null when there is none.
    pub low: Option<f64>,
    /// Highest value, null when there is none.
    pub high: Option<f64>,
}

impl Interval {
    /// Between two values.
    pub(super) fn between(low: f64, high: f64) -> Self {
        Self { low: Some(low), high: Some(high) }
    }

    /// Up to a value.
    pub(super) fn up_to(high: f64) -> Self {
        Self { low: None, high: Some(high) }
    }

    /// From a value on.
    pub(super) fn from(low: f64) -> Self {
        Self { low: Some(low), high: None }
    }

    /// Every value.
    pub(super) const ALL: Self = Self { low: None, high: None };

    /// Whether a value lies in it.
    pub fn holds(&self, value: f64) -> bool {
        self.low.is_none_or(|low| value >= low) && self.high.is_none_or(|high| value <= high)
    }
}

/// The number of a check and the limits it is compared with.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Measure {
    /// What the number is.
    pub what: &'static str,
    /// The number.
    pub value: f64,
    /// Its unit; "-" for a bare number.
    pub unit: &'static str,
    /// Decimals with which it is shown.
    #[serde(skip)]
    pub decimals: usize,
    /// Values that are consistent.
    pub consistent: Interval,
    /// Values that are credible; doubtful where not consistent.
    pub credible: Interval,
    /// Where the limits come from.
    pub source: &'static str,
}

impl Measure {
    /// The verdict of the limits.
    pub fn verdict(&self) -> Verdict {
        if self.consistent.holds(self.value) {
            Verdict::Consistent
        } else if self.credible.holds(self.value) {
            Verdict::Doubtful
        } else {
            Verdict::NotCredible
        }
    }
}

/// One check that was made.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Check {
    /// Which.
    pub name: CheckName,
    /// What it comes to.
    pub verdict: Verdict,
    /// The number and its limits.
    pub measure: Measure,
    /// Why, in a sentence or two.
    pub reason: String,
    /// What to look at; empty when consistent.
    pub look_at: String,
}

impl Check {
    /// A check whose verdict is that of its limits; `look_at` is kept when it is not consistent.
    pub(super) fn new(name: CheckName, measure: Measure, reason: String, look_at: &str) -> Self {
        let verdict = measure.verdict();
        let look_at = if verdict == Verdict::Consistent { String::new() } else { look_at.to_owned() };
        Self { name, verdict, measure, reason, look_at }
    }
}

/// A check that could not be made.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct NotChecked {
    /// Which.
    pub name: CheckName,
    /// Why not.
    pub why: String,
}
