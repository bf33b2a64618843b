//! Does what `endgas completions` and `endgas man` ask for: both are made from the arguments themselves.

use super::error::CliError;
use super::exit::Outcome;
use super::help;
use super::output::{Rendered, Targets, tell_written, to_stdout};
use clap::{Args, Command, ValueHint};
use clap_complete::Shell;
use clap_mangen::Man;
use endgas::printable::printable_path;
use endgas::report::write_all;
use std::path::PathBuf;

/// Arguments of `endgas completions`.
#[derive(Args, Debug)]
pub(super) struct CompletionsArgs {
    /// Shell for which the script is
    #[arg(value_enum)]
    shell: Shell,

    /// Write the script to a file instead of standard output
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    out: Option<PathBuf>,
}

/// Arguments of `endgas man`.
#[derive(Args, Debug)]
pub(super) struct ManArgs {
    /// Folder for the pages of all commands, made if missing; without it the page of endgas is printed
    #[arg(long, value_name = "FOLDER", value_hint = ValueHint::DirPath)]
    out: Option<PathBuf>,
}

/// Runs `endgas completions` for a command line.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn completions(args: &CompletionsArgs, mut command: Command) -> Result<Outcome, CliError> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut command, help::NAME, &mut script);
    let targets = Targets { out: args.out.as_deref(), plot: None, inputs: Vec::new() };
    targets.check()?;
    let document = String::from_utf8_lossy(&script).into_owned();
    targets.deliver(&Rendered { document, plots: Vec::new() }).map(|_| Outcome::Done)
}

/// Runs `endgas man` for a command line.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn man(args: &ManArgs, mut command: Command) -> Result<Outcome, CliError> {
    command.build();
    let Some(folder) = &args.out else {
        return to_stdout(&page(command)?.1).map(|_| Outcome::Done);
    };
    Targets { out: None, plot: Some(folder), inputs: Vec::new() }.check()?;
    let mut pages = Vec::new();
    add_pages(command, &mut pages)?;
    write_all(folder, &pages)?;
    tell_written(&format!("{} pages in {}", pages.len(), printable_path(folder)));
    Ok(Outcome::Done)
}

/// The page of a command and those of all below it.
fn add_pages(command: Command, pages: &mut Vec<(String, String)>) -> Result<(), CliError> {
    for below in command.get_subcommands().filter(|below| below.get_name() != "help") {
        add_pages(below.clone(), pages)?;
    }
    pages.push(page(command)?);
    Ok(())
}

/// File name and text of the page of a command.
fn page(command: Command) -> Result<(String, String), CliError> {
    let version = format!("{} {}", help::NAME, env!("CARGO_PKG_VERSION"));
    let man = Man::new(command.disable_help_subcommand(true)).source(version).manual(help::NAME);
    let mut text = Vec::new();
    man.render(&mut text).map_err(CliError::Stdout)?;
    Ok((man.get_filename(), String::from_utf8_lossy(&text).into_owned()))
}
