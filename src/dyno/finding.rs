//! What a check found besides its number.

use super::bump::Bump;
#[cfg(doc)]
use super::check::CheckName;
use crate::air::{CorrectionStandard, OutsideStandard};
use crate::engine::breathing::BreathingSource;
use crate::engine::driveline::LossBand;

/// What a check found besides its number.
#[derive(Clone, Debug, PartialEq)]
pub enum Finding {
    /// Of [`CheckName::TorqueTimesSpeed`].
    TorqueTimesSpeed(PowerRatio),
    /// Of [`CheckName::CorrectionRange`].
    CorrectionRange {
        /// The stated standard.
        standard: CorrectionStandard,
        /// What of the weather lies outside its range; none when it applies.
        outside: Option<OutsideStandard>,
    },
    /// Of [`CheckName::CorrectionLogged`].
    CorrectionLogged {
        /// The stated standard.
        standard: CorrectionStandard,
        /// Mean factor of the log [-].
        logged: f64,
        /// Factor of the standard in this weather [-].
        computed: f64,
        /// Measured over expected torque with the logged factor undone instead [-].
        undone: f64,
        /// Another standard that gives the logged factor in this weather.
        other: Option<CorrectionStandard>,
    },
    /// Of [`CheckName::CorrectionLogged`] where the figures are said to be as measured.
    FactorBeside {
        /// Mean factor of the log [-].
        logged: f64,
        /// The standards that give this factor in this weather.
        standards: Vec<CorrectionStandard>,
    },
    /// Of [`CheckName::OverCorrection`].
    OverCorrection {
        /// Least and greatest factor of the standards that correct the day by what can show [-].
        factors: [f64; 2],
        /// Whether a factor of these, undone, would bring the curve into the band.
        is_near: bool,
        /// Whether the log is stated to be corrected once.
        corrected: bool,
    },
    /// What torque, fuel flow and mixture imply.
    Implied(Implied),
    /// How the curve stands to that of the estimate.
    Curve(CurveFinding),
    /// How the rows scatter and the pulls differ.
    Rows(RowFinding),
}

/// What torque, fuel flow and mixture imply.
#[derive(Clone, Debug, PartialEq)]
pub enum Implied {
    /// Of [`CheckName::MeanEffectivePressure`].
    MeanEffectivePressure {
        /// Rpm of the peak [rpm].
        speed_rpm: f64,
        /// The pressure with the least driveline loss of the band, over that with the likely loss [-].
        least_ratio: f64,
    },
    /// Of [`CheckName::VolumetricEfficiency`].
    VolumetricEfficiency {
        /// Highest that is implied [-].
        highest: f64,
        /// Its rpm [rpm].
        speed_rpm: f64,
        /// Where the estimate has its own from ([`crate::engine::Build::breathing_source`]).
        source: BreathingSource,
    },
    /// Of [`CheckName::AirFromFuel`].
    AirFromFuel {
        /// Whether lambda is logged; else it is the planned one.
        lambda_logged: bool,
    },
    /// Of [`CheckName::FuelConsumption`].
    FuelConsumption {
        /// Mean lambda, logged or else planned [-].
        lambda: f64,
    },
    /// Of [`CheckName::Mixture`].
    Mixture {
        /// Mean lambda of the log [-].
        logged: f64,
        /// Lambda of the estimate [-].
        planned: f64,
        /// Air-fuel ratio at lambda 1 on which the meter seems to show, where another than was read with brings the logged ratio to
        /// the planned lambda [-].
        scale: Option<f64>,
    },
    /// Of [`CheckName::DrivelineLoss`].
    DrivelineLoss {
        /// Band of the loss of the layout at peak power [-].
        layout: LossBand,
    },
}

/// How the curve stands to that of the estimate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CurveFinding {
    /// Of [`CheckName::CurveBand`].
    Band {
        /// Points within the consistent limits.
        inside: usize,
        /// Points within the credible limits.
        near: usize,
        /// Points that are compared.
        points: usize,
        /// Whether the number is the share within the credible limits.
        counts_near: bool,
        /// Measured over expected torque farthest from 1 [-].
        worst_ratio: f64,
        /// Its rpm [rpm].
        worst_speed_rpm: f64,
    },
    /// Of [`CheckName::UniformScale`].
    Scale,
    /// Of [`CheckName::Tilt`].
    Tilt,
    /// Of [`CheckName::PeakSpeed`].
    Peak {
        /// Rpm of peak power, measured [rpm].
        found_rpm: f64,
        /// Rpm of peak power, estimated [rpm].
        wanted_rpm: f64,
        /// Whether one of them is at the end of the compared rpm.
        at_end: bool,
    },
    /// Of [`CheckName::TorqueFall`].
    Fall {
        /// Fall from the peak to the highest compared rpm, measured [%].
        found_percent: f64,
        /// The same, estimated [%].
        wanted_percent: f64,
        /// Highest compared rpm [rpm].
        end_rpm: f64,
    },
    /// Of [`CheckName::GearRatio`].
    SpeedAxis {
        /// Share of the probability of all causes that a factor on the rpm axis has [-].
        share: f64,
    },
}

/// How the rows scatter and the pulls differ.
#[derive(Clone, Debug, PartialEq)]
pub enum RowFinding {
    /// Of [`CheckName::Smoothing`].
    Scatter,
    /// Of [`CheckName::Spikes`].
    Spikes {
        /// Rows that are farther off their neighbours than is consistent.
        beyond: usize,
        /// Rows that were looked at.
        rows: usize,
        /// Line of the worst.
        line: u64,
        /// Its rpm [rpm].
        speed_rpm: f64,
    },
    /// Of [`CheckName::Dips`], by rising rpm.
    Dips(Vec<Bump>),
    /// Of [`CheckName::Repeatability`].
    Repeat {
        /// Pulls of the log.
        pulls: usize,
    },
    /// Of [`CheckName::PullOrder`].
    Order {
        /// Mean torque of each pull over that of the first, less one [%].
        off_first_percent: Vec<f64>,
        /// Air temperature of the last pull less that of the first [K]; none where it is not logged.
        air_rise_k: Option<f64>,
    },
}

/// What the ratio of power to torque times rpm comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PowerRatio {
    /// They agree.
    Agrees,
    /// Units that are mixed up, as [`crate::units::Unit::symbol`] has them.
    MixedUp {
        /// What the numbers are.
        is: &'static str,
        /// What the heading says.
        labelled: &'static str,
    },
    /// Torque may be that of the axle.
    Axle,
    /// Nothing that has a name: half of the rows are farther off the ratio than this [-].
    Unknown(f64),
}
