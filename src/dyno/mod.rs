//! Dynamometer pulls: reading a log, correcting it, and judging whether it can be believed.
//!
//! [`read`] turns a log as a shop has it into pulls in SI units, with every problem told by line. [`judge`] holds
//! them against the estimate of the build: one list of checks, each with its number, its limits and where those
//! come from. [`Yardstick`] keeps the estimate for more than one log. [`fit`] moves the build until it makes the pull.

mod above;
mod average;
mod bump;
mod causes;
mod check;
mod checks;
mod columns;
mod ends;
mod error;
mod evidence;
mod finding;
mod fit;
mod header;
mod join;
mod judge;
mod knock;
mod loess;
mod log;
mod mapping;
mod number;
mod powerband;
mod read;
mod result;
mod road;
mod rows;
mod runs;
mod sheet;
mod split;
mod text;
mod unit;
mod workbook;
mod yardstick;

pub use above::LineAbove;
pub use bump::{Bump, LocalCause, RankedLocalCause, Signs};
pub use causes::{Cause, RankedCause};
pub use check::{Check, CheckName, Interval, Lack, Measure, NotChecked, Subject, SubjectVerdict, Verdict};
pub(crate) use checks::{COPY_PERCENT, RICH_E85, RICH_GASOLINE, SPIKE_PERCENT, STOICHIOMETRIC_GASOLINE};
pub use error::{JudgeError, PullErrors, PullFault, PullProblem};
pub use finding::{CurveFinding, Finding, Implied, PowerRatio, RowFinding};
pub(crate) use fit::rounded;
pub use fit::{
    Fit, FitError, FitFault, FitNote, FittedParameter, FittedPoint, Followed, FuelForecast, Noise, Parameter,
    PipeSizes, TiedPair, Written, WrittenPipes, fit, fit_table,
};
pub use join::{JoinFault, join};
pub use judge::judge;
pub use knock::{Heard, KnockPoint, KnockReading};
pub use log::{
    ColumnUse, KnockBy, Lacking, Log, LogCorrection, LoggedWeather, Note, Place, Pull, PullEnd, PullPoint,
    Said, SplitBy, TrimmedEnd,
};
pub use mapping::{ColumnMap, ColumnName, DecimalSign, Mapping};
pub use read::read;
pub use result::{ComparedPoint, Judgement, PullSummary};
pub use road::{Gearing, Tyre};
pub use sheet::LIMIT_KIB;
pub use unit::Quantity;
pub use yardstick::{JudgeSettings, Yardstick};
