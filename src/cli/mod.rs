//! The command line: what was typed, what it asks for, and how it ends.
//!
//! Results go to standard output, everything else to standard error.

mod breakpoints;
mod breathing;
mod build_args;
mod choose;
mod commands;
mod common;
mod dyno;
mod dyno_args;
mod error;
mod estimate;
mod exit;
mod fuel;
mod fueling;
mod goal;
mod help;
mod input;
mod interrupt;
mod live;
mod new;
mod output;
mod progress;
mod report;
mod schema;
mod shell;
mod span;
mod spark;
mod stdout;
mod view;
mod volumes;
mod weather;

pub(crate) use commands::run;
pub(crate) use error::tell;
pub(crate) use exit::ExitStatus;
