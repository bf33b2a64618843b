//! What the reader of a judgement should know about the reading and the comparison.

use super::log::KnockBy;
use super::unit::Quantity;

/// Something to know about the reading of a log, or about its comparison with the estimate.
#[derive(Clone, Debug, PartialEq)]
pub enum Note {
    /// Lines above the header are not read.
    LinesAbove {
        /// Line of the header.
        header: u64,
        /// Lines above it that hold something.
        lines: usize,
    },
    /// Numbers are read with a decimal comma, which was found and not stated.
    DecimalComma,
    /// Rows without positive torque or power are left out.
    RowsLeftOut {
        /// How many.
        rows: usize,
        /// Line of the first.
        first: u64,
    },
    /// Lambda is made from an air-fuel ratio.
    LambdaOfAfr {
        /// The ratio at lambda 1 [-].
        afr_stoich: f64,
        /// Whether it was stated.
        is_stated: bool,
    },
    /// Nobody says where the figures were taken.
    PlaceNotSaid,
    /// Nobody says whether the figures are corrected.
    CorrectionNotSaid,
    /// How the knock column is read.
    Knock(KnockBy),
    /// A note on one of several logs.
    OfLog(String, Box<Note>),
    /// Weather that only some of several logs hold is left out.
    LeftOut {
        /// What of the weather.
        what: Quantity,
        /// Logs that hold it.
        with: Vec<String>,
        /// Logs that do not.
        without: Vec<String>,
    },
    /// The fuel is the first of several.
    FirstFuel {
        /// Its name.
        fuel: String,
        /// Fuels of the scenario.
        fuels: usize,
    },
    /// Air temperature or pressure is that of the scenario.
    DayOfScenario {
        /// Whether the figures are corrected.
        corrected: bool,
    },
    /// Another air temperature is logged than the pull is judged at.
    OtherAir {
        /// Logged, mean [K].
        logged_k: f64,
        /// Of the day [K].
        day_k: f64,
    },
    /// Pulls and scenario cover different speeds.
    OtherSpeeds {
        /// Lowest and highest speed that every pull reaches [rpm].
        pulls_rpm: (f64, f64),
        /// Lowest and highest of the scenario [rpm].
        scenario_rpm: (f64, f64),
    },
}
