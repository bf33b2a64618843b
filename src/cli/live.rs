//! Does what `endgas live` asks for: a page on loopback, for this machine alone.

mod server;

use super::common::{ScenarioArgs, UnitsArg};
use super::error::CliError;
use super::exit::Outcome;
use super::help;
use super::input;
use super::interrupt;
use super::output::to_stdout;
use clap::Args;
use endgas::fuel::FuelLibrary;
use endgas::live::{Base, Setting, Start, routes};
use endgas::scenario::Short;
use std::io::{IsTerminal as _, Write as _};
use std::net::{Ipv4Addr, TcpListener};
use std::sync::Arc;
use tokio::sync::Notify;

/// Arguments of `endgas live`.
#[derive(Args, Debug)]
pub(super) struct LiveArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    /// Port on 127.0.0.1; 0 takes any free one
    #[arg(long, value_name = "PORT", default_value_t = 0)]
    pub(super) port: u16,

    /// Units shown until others are chosen on the page
    #[arg(long, value_enum, default_value_t = UnitsArg::Metric, long_help = help::UNITS)]
    pub(super) units: UnitsArg,

    /// Print the address and open no browser; nor is one opened where the output is no terminal
    #[arg(long)]
    pub(super) no_open: bool,
}

/// Runs `endgas live` until it is interrupted.
///
/// # Errors
/// [`CliError`] when the scenario cannot be used or the port cannot be had; then nothing is served.
pub(super) fn run(args: &LiveArgs) -> Result<Outcome, CliError> {
    let library = input::library(args.scenario.folder.path())?;
    let start = start(args, &library)?;
    let failed = |source| CliError::Listen { port: args.port, source };
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, args.port)).map_err(failed)?;
    let address = listener.local_addr().map_err(failed)?;
    let end = Arc::new(Notify::new());
    let told = Arc::clone(&end);
    interrupt::tells(move || told.notify_one());
    let page = format!("http://{address}/");
    to_stdout(&format!("{page}\n"))?;
    let is_opened = !args.no_open && std::io::stdout().is_terminal() && open::that_detached(&page).is_ok();
    let words =
        if is_opened { "it opens in your browser" } else { "open this address in a browser on this machine" };
    let _ = writeln!(std::io::stderr(), "{words}; Ctrl-C ends it");
    server::serve(listener, routes(library, start, address.port()), &end).map_err(failed)?;
    Ok(Outcome::Done)
}

/// What the page begins with: the scenario with the options put in, or an empty form.
fn start(args: &LiveArgs, library: &FuelLibrary) -> Result<Start, CliError> {
    let asked = &args.scenario;
    let is_us = args.units == UnitsArg::Us;
    if asked.scenario.is_none() && asked.build.short(&[]).is_none() {
        if asked.weather.is_stated() {
            return Err(CliError::DayWithoutBuild);
        }
        let mut short = Short::default();
        short.fuels.clone_from(&asked.fuel);
        let text = if short.fuels.is_empty() { String::new() } else { short.text() };
        return Ok(Start::new(text, String::new(), is_us));
    }
    let text = input::text(asked)?;
    let loaded = input::scenario_of(&text)?;
    let day = asked.weather.over(loaded.weather);
    let fuels = input::requests(asked, &loaded)?;
    let place = loaded.file.clone();
    let base = Base::new(loaded, &text.text, library.clone())?;
    base.likely(&Setting::default())
        .map_err(|refusal| CliError::Placed { place, source: Box::new(refusal.into()) })?;
    let has_options = !asked.fuel.is_empty() || asked.weather.is_stated();
    let text = match has_options {
        true => base.with_fuels(fuels)?.with_day(day)?.scenario_text(&Setting::default())?,
        false => text.text,
    };
    let name = asked.scenario.as_deref().and_then(|path| path.file_name());
    let file = name.map_or(String::new(), |name| name.to_string_lossy().into_owned());
    Ok(Start::new(text, file, is_us))
}
