//! A log as read: pulls, where and how their figures were taken, and what to know about it.

use super::above::LineAbove;
use super::road::Gearing;
use super::unit::Quantity;
use crate::air::CorrectionStandard;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Where torque and power are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// At the wheels or hubs, torque referred to crank speed.
    Wheel,
    /// At the flywheel.
    Crank,
}

impl Place {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Wheel => "wheel",
            Self::Crank => "crank",
        }
    }

    /// Where it is, in a sentence.
    pub fn at(self) -> &'static str {
        match self {
            Self::Wheel => "at the wheels",
            Self::Crank => "at the flywheel",
        }
    }

    /// The place of a typed word; none when there is no such place.
    pub fn of_word(word: &str) -> Option<Self> {
        [Self::Wheel, Self::Crank].into_iter().find(|place| place.word().eq_ignore_ascii_case(word.trim()))
    }
}

/// Whether figures are as measured on the day or brought to a reference day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LogCorrection {
    /// As measured.
    None,
    /// Corrected by a standard.
    By(CorrectionStandard),
}

impl LogCorrection {
    /// The correction of a typed word: `none` or the key of a standard.
    pub fn of_word(word: &str) -> Option<Self> {
        if word.trim().eq_ignore_ascii_case("none") {
            return Some(Self::None);
        }
        CorrectionStandard::of_key(word).map(Self::By)
    }

    /// Every word that [`Self::of_word`] knows, for messages.
    pub fn words() -> String {
        let keys: Vec<&str> = CorrectionStandard::ALL.iter().map(|standard| standard.key()).collect();
        format!("none, {}", keys.join(", "))
    }
}

/// Who said something about a log.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Said {
    /// An option.
    Option,
    /// A comment of the file.
    Comment,
    /// A line above the table.
    Line,
    /// The name of a column.
    Header,
    /// Nobody; the usual case is taken.
    Nobody,
}

/// One row of a pull.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PullPoint {
    /// Line in the file, from 1.
    pub line: u64,
    /// Engine speed [rpm], 100 to 20 000.
    pub speed_rpm: f64,
    /// Torque as logged, at the place of the log and referred to crank speed [N m], above 0; made from power
    /// and rpm where only power is logged.
    pub torque_nm: f64,
    /// Power as logged, where it is logged beside torque [W], above 0.
    pub power_beside_torque_w: Option<f64>,
    /// Air-fuel equivalence ratio [-].
    pub lambda: Option<f64>,
    /// Air temperature [K].
    pub air_temperature_k: Option<f64>,
    /// Air pressure [Pa].
    pub air_pressure_pa: Option<f64>,
    /// Relative humidity [-].
    pub relative_humidity: Option<f64>,
    /// Fuel flow of the engine [kg/s].
    pub fuel_flow_kg_per_s: Option<f64>,
    /// Correction factor of the figures as logged [-].
    pub correction_factor: Option<f64>,
    /// Ignition timing [deg before top dead centre], -40 to 80.
    pub timing_deg_btdc: Option<f64>,
    /// Knock count, or retard for knock [deg], as logged, 0 or more; [`Pull::knock_by`] says which.
    pub knock: Option<f64>,
}

/// What the numbers of a knock column are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum KnockBy {
    /// Knocks counted in each row.
    Count,
    /// Knocks counted so far: it rises where it knocks.
    RunningCount,
    /// Timing pulled for knock [deg]: it rises where it knocks and fades afterwards.
    Retard,
}

/// One full-load run through the rpm.
#[derive(Clone, Debug, PartialEq)]
pub struct Pull {
    /// Name: its number, or what the pull column says, printable.
    pub name: String,
    /// Rows in the order logged, [`Pull::LEAST_POINTS`] or more.
    pub points: Vec<PullPoint>,
    /// What [`PullPoint::knock`] is; ignored without it.
    pub knock_by: KnockBy,
}

impl Pull {
    /// Fewest rows from which a curve is read.
    pub const LEAST_POINTS: usize = 5;

    /// Lowest and highest rpm [rpm].
    pub fn speed_range_rpm(&self) -> (f64, f64) {
        let speeds = || self.points.iter().map(|p| p.speed_rpm);
        (speeds().fold(f64::INFINITY, f64::min), speeds().fold(0.0, f64::max))
    }
}

/// What tells one pull of a file from the next.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum SplitBy {
    /// There is one pull.
    OnePull,
    /// A column names the pull.
    Column,
    /// Each has columns of its own, side by side.
    SideBySide,
    /// Rpm is lower after a blank line.
    BlankLine,
    /// Rpm falls back by a quarter or more.
    SpeedFalls,
    /// There are several files, each with pulls of its own.
    File,
}

/// A column that is used.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ColumnUse {
    /// Heading as written, printable.
    pub heading: String,
    /// What it is taken for.
    pub quantity: Quantity,
    /// Unit in which it is read.
    pub unit: &'static str,
}

/// A log of one or more pulls.
#[derive(Clone, Debug, PartialEq)]
pub struct Log {
    /// What the file is called in messages, printable.
    pub label: String,
    /// The pulls, in the order of the file; at least one.
    pub pulls: Vec<Pull>,
    /// How the pulls were told apart.
    pub split_by: SplitBy,
    /// Where torque and power were taken.
    pub place: Place,
    /// Who said so.
    pub place_said: Said,
    /// Whether the figures are corrected.
    pub correction: LogCorrection,
    /// Who said so.
    pub correction_said: Said,
    /// Columns that are used.
    pub columns: Vec<ColumnUse>,
    /// Headings of the columns that are not used.
    pub ignored: Vec<String>,
    /// What the reader of the result should know about the reading.
    pub notes: Vec<Note>,
}

impl Log {
    /// Every row of every pull.
    pub fn points(&self) -> impl Iterator<Item = &PullPoint> {
        self.pulls.iter().flat_map(|pull| &pull.points)
    }

    /// What was left out as ends of runs.
    pub fn ends(&self) -> impl Iterator<Item = &TrimmedEnd> {
        ends_of(&self.notes)
    }

    /// Mean weather of the log; none of what it does not hold.
    pub fn weather(&self) -> LoggedWeather {
        LoggedWeather {
            temperature_k: self.mean(|p| p.air_temperature_k),
            pressure_pa: self.mean(|p| p.air_pressure_pa),
            relative_humidity: self.mean(|p| p.relative_humidity),
        }
    }

    /// Mean of a logged quantity over all rows that hold it; none when no row does.
    pub fn mean(&self, of: impl Fn(&PullPoint) -> Option<f64>) -> Option<f64> {
        let (sum, count) = self.points().filter_map(of).fold((0.0, 0.0), |(s, n), v| (s + v, n + 1.0));
        (count > 0.0).then(|| sum / count)
    }
}

/// Ends of runs that notes tell of, those of several logs included.
pub(super) fn ends_of(notes: &[Note]) -> impl Iterator<Item = &TrimmedEnd> {
    notes.iter().flat_map(|note| match note {
        Note::Ends(ends) => ends.as_slice(),
        Note::OfLog(_, note) => match &**note {
            Note::Ends(ends) => ends.as_slice(),
            _ => &[],
        },
        _ => &[],
    })
}

/// Weather as a log holds it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LoggedWeather {
    /// Mean air temperature [K].
    pub temperature_k: Option<f64>,
    /// Mean air pressure [Pa].
    pub pressure_pa: Option<f64>,
    /// Mean relative humidity [-].
    pub relative_humidity: Option<f64>,
}

/// An end of a logged run that is no full-load curve.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum PullEnd {
    /// The engine idles.
    Idle,
    /// The throttle opens.
    RollOn,
    /// The rev limiter cuts.
    RevLimiter,
    /// The throttle closes.
    LiftOff,
    /// The engine is dragged or coasts.
    CoastDown,
}

/// Rows that were left out as an end of a run.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TrimmedEnd {
    /// The log.
    pub log: String,
    /// What they are taken for.
    pub end: PullEnd,
    /// How many.
    pub rows: usize,
    /// First line of the file.
    pub first_line: u64,
    /// Last line of the file.
    pub last_line: u64,
}

/// What a row lacks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lacking {
    /// Engine speed, or the vehicle speed from which it is made.
    Speed,
    /// The rpm of an engine that runs.
    RunningEngine,
    /// Torque and power.
    Output,
    /// The name of its pull.
    PullName,
}

/// Something to know about the reading of a log, or about its comparison with the estimate.
#[derive(Clone, Debug, PartialEq)]
pub enum Note {
    /// What lines above the header say, each with its line.
    LinesRead(Vec<(u64, LineAbove)>),
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
    /// The file is no UTF-8 and is read as Windows-1252, of which Latin-1 is a part.
    Windows1252,
    /// Ends of runs are left out.
    Ends(Vec<TrimmedEnd>),
    /// Engine speed is made from vehicle speed.
    RpmOfRoadSpeed(Gearing),
    /// The log holds rpm, so that gears or a pair of speeds are not used.
    GearingNotUsed,
    /// One sheet of a workbook is read.
    SheetTaken {
        /// Its name.
        sheet: String,
        /// Sheets of the workbook.
        of: usize,
    },
    /// Rows in which something is missing are left out.
    RowsLacking {
        /// What they lack.
        what: Lacking,
        /// Their lines, rising.
        lines: Vec<u64>,
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
    /// The powerband of the pull lies elsewhere than the scenario says.
    Powerband {
        /// Its rpm over that of the scenario [-].
        factor: f64,
    },
    /// Another air temperature is logged than the pull is judged at.
    OtherAir {
        /// Logged, mean [K].
        logged_k: f64,
        /// Of the day [K].
        day_k: f64,
    },
    /// Pulls and scenario cover different rpm.
    OtherSpeeds {
        /// Lowest and highest rpm that every pull reaches [rpm].
        pulls_rpm: (f64, f64),
        /// Lowest and highest of the scenario [rpm].
        scenario_rpm: (f64, f64),
    },
}
