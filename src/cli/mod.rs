//! The command line: what was typed, what it asks for, and how it ends.
//!
//! Results go to standard output, everything else to standard error.

mod args;
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
mod output;
mod run;
mod spark;
mod typed;
mod weather;

pub(crate) use error::tell;
pub(crate) use exit::ExitStatus;
pub(crate) use run::run;
