//! Does what `endgas new` asks for.

use super::error::CliError;
use super::exit::Outcome;
use super::output::{tell_written, to_stdout};
use clap::{Args, ValueHint};
use endgas::printable::printable_path;
use endgas::report::write_new;
use endgas::scenario::starter;
use std::path::{Path, PathBuf};

/// Arguments of `endgas new`.
#[derive(Args, Debug)]
pub(super) struct NewArgs {
    /// Scenario file to write, never over another; without it, or with -, it is printed
    #[arg(value_hint = ValueHint::FilePath)]
    file: Option<PathBuf>,
}

/// Runs `endgas new`.
///
/// # Errors
/// [`CliError`] when the file is there already or cannot be written; then nothing has been written.
pub(super) fn run(args: &NewArgs) -> Result<Outcome, CliError> {
    match args.file.as_deref().filter(|file| *file != Path::new("-")) {
        None => to_stdout(&starter()).map(|_| Outcome::Done),
        Some(file) => {
            write_new(file, starter().as_bytes())?;
            tell_written(&format!("{0}; run it with: endgas estimate {0}", printable_path(file)));
            Ok(Outcome::Done)
        }
    }
}
