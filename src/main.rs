//! Command line of endgas.

mod cli;

use std::process::ExitCode;

fn main() -> ExitCode {
    let outcome = cli::run(std::env::args_os());
    if let Err(error) = &outcome {
        cli::tell(error);
    }
    cli::ExitStatus::of(&outcome).into()
}
