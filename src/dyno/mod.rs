//! Dynamometer pulls: reading a log, correcting it, and judging whether it can be believed.

mod columns;
mod error;
mod header;
mod log;
mod mapping;
mod read;
mod sheet;
mod split;
mod unit;

pub use error::{PullErrors, PullFault, PullProblem};
pub use log::{ColumnUse, Correction, Log, LoggedWeather, Place, Pull, PullPoint, Said, SplitBy};
pub use mapping::{ColumnMap, ColumnName, DecimalSign, GAUGE_AFR_STOICH, Mapping};
pub use read::read;
pub use sheet::LIMIT_KIB;
pub use unit::{ColumnUnit, Quantity};
