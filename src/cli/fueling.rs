//! Does what `endgas fueling` asks for.

use super::error::CliError;
use super::exit::Outcome;
use super::fueling_args::FuelingArgs;
use super::input;
use super::output::{Delivery, Rendered, Targets};
use endgas::fueling::fueling;
use endgas::report::{fueling_schema, render_fueling};

/// Samples of filling and mixture behind the bands; they cost no cycle.
const SAMPLES: usize = 1000;
const SEED: u64 = 1;

/// Runs `endgas fueling`. Stated injectors, pump or limits that are not enough are a limit that is not met.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &FuelingArgs) -> Result<Outcome, CliError> {
    let targets = Targets { out: args.output.out.as_deref(), plot: None };
    let Some(format) = args.output.format.rendered() else {
        targets.check()?;
        let schema = Rendered { document: fueling_schema(), plots: Vec::new() };
        return targets.deliver(&schema).map(|_| Outcome::Done);
    };
    let (scenario, job) = input::scenario_and_job(&args.scenario, SAMPLES, SEED)?;
    targets.check()?;
    let fueling = fueling(&job, &scenario.fueling)?;
    let document = render_fueling(&fueling, format, args.output.units.into())?;
    Ok(match targets.deliver(&Rendered { document, plots: Vec::new() })? {
        Delivery::Whole if fueling.limit_missed => Outcome::LimitNotMet,
        Delivery::Whole | Delivery::ReaderGone => Outcome::Done,
    })
}
