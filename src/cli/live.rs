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
use endgas::live::{Base, page_data, routes};
use std::io::Write as _;
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
}

/// Runs `endgas live` until it is interrupted.
///
/// # Errors
/// [`CliError`] when the scenario cannot be used or the port cannot be had; then nothing is served.
pub(super) fn run(args: &LiveArgs) -> Result<Outcome, CliError> {
    let text = input::text(&args.scenario)?;
    let loaded = input::scenario_of(&text)?;
    let library = input::library(args.scenario.folder.path())?;
    let day = args.scenario.weather.over(loaded.weather);
    let fuels = input::requests(&args.scenario, &loaded)?;
    let base = Base::new(loaded, &text.text, library)?.with_fuels(fuels)?.with_day(day)?;
    let data = page_data(&base, args.units.into())?;
    let failed = |source| CliError::Listen { port: args.port, source };
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, args.port)).map_err(failed)?;
    let address = listener.local_addr().map_err(failed)?;
    let end = Arc::new(Notify::new());
    let told = Arc::clone(&end);
    interrupt::tells(move || told.notify_one());
    to_stdout(&format!("http://{address}/\n"))?;
    let _ = writeln!(std::io::stderr(), "open this address in a browser on this machine; Ctrl-C ends it");
    server::serve(listener, routes(base, data, address.port()), &end).map_err(failed)?;
    Ok(Outcome::Done)
}
