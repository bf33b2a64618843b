//! What one check says.

use super::finding::Finding;
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

/// What a check looks at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum CheckName {
    /// Logged power against logged torque times rpm.
    TorqueTimesSpeed,
    /// The day against the range of the stated correction standard.
    CorrectionRange,
    /// The logged correction factor against that of the standard in this weather.
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
    /// Points within the limits of the level.
    CurveBand,
    /// Measured over estimated torque, all rpm alike.
    UniformScale,
    /// Change of measured over estimated torque with rpm.
    Tilt,
    /// Rpm of peak power against the estimate's.
    PeakSpeed,
    /// Fall of torque towards the highest rpm against the estimate's.
    TorqueFall,
    /// A factor on the rpm axis.
    GearRatio,
    /// Scatter that smoothing has taken away.
    Smoothing,
    /// Scatter and spikes that were left in.
    Spikes,
    /// Dips and humps of a pull against its own smooth curve.
    Dips,
    /// Difference between pulls.
    Repeatability,
    /// Pulls that fall one after the other.
    PullOrder,
}

impl CheckName {
    /// Whether it says where the fault is, rather than what follows from it.
    fn tells_most(self) -> bool {
        matches!(
            self,
            Self::TorqueTimesSpeed
                | Self::CorrectionLogged
                | Self::GearRatio
                | Self::UniformScale
                | Self::Tilt
                | Self::PeakSpeed
                | Self::PullOrder
        )
    }

    /// Whether what it doubts is the scale of torque or rpm, which a fit would take over.
    pub(super) fn is_of_scale(self) -> bool {
        matches!(
            self,
            Self::TorqueTimesSpeed
                | Self::CorrectionLogged
                | Self::OverCorrection
                | Self::DrivelineLoss
                | Self::UniformScale
                | Self::GearRatio
        )
    }

    /// What it is about: checks of one subject move together.
    pub fn subject(self) -> Subject {
        match self {
            Self::CorrectionRange => Subject::Correction,
            Self::Mixture => Subject::Mixture,
            Self::Smoothing | Self::Spikes => Subject::Rows,
            Self::Dips => Subject::Dips,
            Self::Repeatability | Self::PullOrder => Subject::Pulls,
            Self::TorqueTimesSpeed
            | Self::CorrectionLogged
            | Self::OverCorrection
            | Self::MeanEffectivePressure
            | Self::VolumetricEfficiency
            | Self::AirFromFuel
            | Self::FuelConsumption
            | Self::DrivelineLoss
            | Self::CurveBand
            | Self::UniformScale
            | Self::Tilt
            | Self::PeakSpeed
            | Self::TorqueFall
            | Self::GearRatio => Subject::Curve,
        }
    }
}

/// What checks are about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Subject {
    /// Torque and power over rpm, and the numbers beside them.
    Curve,
    /// Weather that no standard corrects for.
    Correction,
    /// Mixture.
    Mixture,
    /// Torque over some hundred rpm against the curve on either side.
    Dips,
    /// Row against row.
    Rows,
    /// Pull against pull.
    Pulls,
}

impl Subject {
    /// All of them, in the order told.
    pub(super) const ALL: [Self; 6] =
        [Self::Curve, Self::Dips, Self::Correction, Self::Mixture, Self::Rows, Self::Pulls];
}

/// What the checks of one subject come to.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SubjectVerdict {
    /// What they are about.
    pub subject: Subject,
    /// The worst of them.
    pub verdict: Verdict,
    /// Those that are not consistent, worst first.
    pub checks: Vec<CheckName>,
}

impl SubjectVerdict {
    /// Every subject of some checks.
    pub(super) fn all(checks: &[Check]) -> Vec<Self> {
        let of = |subject: Subject| {
            let own = || checks.iter().filter(move |check| check.name.subject() == subject);
            let verdict = own().map(|check| check.verdict).max()?;
            let mut off: Vec<&Check> = own().filter(|c| c.verdict != Verdict::Consistent).collect();
            off.sort_by_key(|check| (std::cmp::Reverse(check.verdict), !check.name.tells_most()));
            Some(Self { subject, verdict, checks: off.into_iter().map(|check| check.name).collect() })
        };
        Subject::ALL.into_iter().filter_map(of).collect()
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
    pub(super) const fn between(low: f64, high: f64) -> Self {
        Self { low: Some(low), high: Some(high) }
    }

    /// From so much below a value to so much above it.
    pub(super) const fn about(middle: f64, half: f64) -> Self {
        Self::between(middle - half, middle + half)
    }

    /// Up to a value.
    pub(super) const fn up_to(high: f64) -> Self {
        Self { low: None, high: Some(high) }
    }

    /// From a value on.
    pub(super) const fn from(low: f64) -> Self {
        Self { low: Some(low), high: None }
    }

    /// Every value.
    pub(super) const ALL: Self = Self { low: None, high: None };

    /// Whether a value lies in it.
    pub fn holds(&self, value: f64) -> bool {
        self.low.is_none_or(|low| value >= low) && self.high.is_none_or(|high| value <= high)
    }
}

/// The number of a check and the limits it is compared with, in the unit of the check.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measure {
    /// The number.
    pub value: f64,
    /// Values that are consistent.
    pub consistent: Interval,
    /// Values that are credible; doubtful where not consistent.
    pub credible: Interval,
}

impl Measure {
    /// Whether the number is consistent.
    pub fn is_consistent(&self) -> bool {
        self.consistent.holds(self.value)
    }

    /// The verdict of the limits.
    pub fn verdict(&self) -> Verdict {
        if self.is_consistent() {
            Verdict::Consistent
        } else if self.credible.holds(self.value) {
            Verdict::Doubtful
        } else {
            Verdict::NotCredible
        }
    }
}

/// One check that was made.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// Which.
    pub name: CheckName,
    /// What it comes to.
    pub verdict: Verdict,
    /// The number and its limits.
    pub measure: Measure,
    /// What it found besides.
    pub finding: Finding,
}

/// Why a check could not be made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lack {
    /// The figures are as measured.
    Correction,
    /// Air temperature and pressure of the pull are not known.
    Weather,
    /// Every standard corrects the day by too little to show.
    CorrectionThatShows,
    /// No correction factor is logged.
    Factor,
    /// Torque and power are not both logged.
    TorqueAndPower,
    /// No mixture is logged.
    Mixture,
    /// No fuel flow is logged.
    FuelFlow,
    /// No volumetric efficiency in reach gives the torque at most rpm.
    VolumetricEfficiency,
    /// The figures are at the flywheel.
    Driveline,
    /// The estimate's torque hardly falls up to the highest compared rpm.
    TorqueFall,
    /// Too few of the logged rpm lie in the scenario's range.
    Speeds,
    /// Rows are too few or too far apart to show scatter.
    Rows,
    /// There is one pull.
    SecondPull,
    /// There are fewer than three pulls.
    ThirdPull,
    /// The number is not finite for these figures.
    FiniteNumber,
}

/// A check that could not be made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotChecked {
    /// Which.
    pub name: CheckName,
    /// What it lacks.
    pub lack: Lack,
}
