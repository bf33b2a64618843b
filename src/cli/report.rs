//! Does what `endgas report` asks for.

use super::common::{SamplingArgs, ScenarioArgs, UnitsArg};
use super::error::CliError;
use super::exit::Outcome;
use super::input::{self, AskedRun};
use super::output::{Delivery, Rendered, Targets};
use super::progress::with_bar;
use clap::{Args, ValueHint};
use endgas::choose::choose;
use endgas::estimate::estimate;
use endgas::goal::goal;
use endgas::report::{Report, render_page};
use endgas::scenario::typed::POWER;
use std::path::PathBuf;

/// Arguments of `endgas report`.
#[derive(Args, Debug)]
pub(super) struct ReportArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    /// Units of the page
    #[arg(long, value_enum, default_value_t = UnitsArg::Metric)]
    pub(super) units: UnitsArg,

    /// HTML file to write; without it the page goes to standard output
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(super) out: Option<PathBuf>,

    #[arg(long, value_name = "POWER", value_parser = |typed: &str| POWER.read(typed), allow_hyphen_values = true,
        help = format!("Also judge a target power at the wheels, {}", POWER.help()))]
    pub(super) wheel_power: Option<f64>,

    #[command(flatten)]
    pub(super) sampling: SamplingArgs,
}

/// Runs `endgas report`.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &ReportArgs) -> Result<Outcome, CliError> {
    let AskedRun { scenario, library, job, origin } = input::asked(&args.scenario, args.sampling)?;
    let ask = scenario
        .choose_job(job.clone(), &library)
        .map_err(|source| CliError::Job { file: scenario.file.clone(), source })?;
    let targets = Targets { out: args.out.as_deref(), plot: None, inputs: args.scenario.inputs() };
    targets.check()?;
    let estimate = estimate(&job).map_err(CliError::at(&origin))?;
    let choice =
        with_bar("choosing", |bar| choose(&ask, &|share| bar.at(share))).map_err(CliError::at(&origin))?;
    let goal = args
        .wheel_power
        .map(|wheel_power_kw| goal(&job, &estimate, &scenario.costs, wheel_power_kw))
        .transpose()
        .map_err(CliError::at(&origin))?;
    let report = Report {
        build: &job.build,
        estimate: &estimate,
        choice: &choice,
        goal: goal.as_ref(),
        units: args.units.into(),
    };
    let rendered = Rendered { document: render_page(&report)?, plots: Vec::new() };
    Ok(match targets.deliver(&rendered)? {
        Delivery::Whole if estimate.limit_missed => Outcome::LimitNotMet,
        Delivery::Whole | Delivery::ReaderGone => Outcome::Done,
    })
}
