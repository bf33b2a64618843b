//! The command line: what was typed, what it asks for, and how it ends.
//!
//! Results go to standard output, everything else to standard error.

mod args;
mod choose;
mod choose_args;
mod dyno;
mod dyno_args;
mod error;
mod exit;
mod fuel;
mod fuel_args;
mod fueling;
mod fueling_args;
mod goal;
mod goal_args;
mod help;
mod input;
mod interrupt;
mod live;
mod new;
mod output;
mod progress;
mod report;
mod report_args;
mod run;
mod schema;
mod shell;
mod spark;
mod volumes;
mod volumes_args;
mod weather;

pub(crate) use error::tell;
pub(crate) use exit::ExitStatus;
pub(crate) use run::run;
