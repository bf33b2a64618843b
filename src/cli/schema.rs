//! Does what `endgas schema` asks for.

use super::error::CliError;
use super::exit::Outcome;
use super::output::Targets;
use clap::{Args, ValueEnum, ValueHint};
use endgas::report::file_schema;
use std::path::PathBuf;

/// Arguments of `endgas schema`.
#[derive(Args, Debug)]
pub(super) struct SchemaArgs {
    /// File whose schema you want
    #[arg(value_enum)]
    of: FileArg,

    /// Write the schema to a file instead of standard output
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    out: Option<PathBuf>,
}

/// Files that a user writes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum FileArg {
    /// A scenario
    Scenario,
    /// A fuel file of a component
    Component,
    /// A fuel file of a pump fuel
    Pump,
}

/// Runs `endgas schema`.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &SchemaArgs) -> Result<Outcome, CliError> {
    let schema = match args.of {
        FileArg::Scenario => endgas::scenario::scenario_schema(),
        FileArg::Component => endgas::fuel::component_schema(),
        FileArg::Pump => endgas::fuel::pump_schema(),
    };
    let targets = Targets { out: args.out.as_deref(), plot: None, inputs: Vec::new() };
    targets.deliver_schema(file_schema(&schema))
}
