//! Does what `endgas fueling` asks for.

use super::args::SamplingArgs;
use super::error::CliError;
use super::exit::Outcome;
use super::fueling_args::FuelingArgs;
use super::input::{self, Asked};
use super::output::{Delivery, Rendered, Targets};
use endgas::fueling::fueling;
use endgas::report::{fueling_schema, render_fueling};

/// Samples of filling and mixture behind the bands; they cost no cycle.
const SAMPLING: SamplingArgs = SamplingArgs { samples: 1000, seed: 1 };

/// Runs `endgas fueling`. Stated injectors, pump or limits that are not enough are a limit that is not met.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &FuelingArgs) -> Result<Outcome, CliError> {
    let targets = Targets { out: args.output.out.as_deref(), plot: None, inputs: args.scenario.inputs() };
    let Some(format) = args.output.format.rendered() else {
        return targets.deliver_schema(fueling_schema());
    };
    let Asked { scenario, job, .. } = input::asked(&args.scenario, SAMPLING)?;
    targets.check()?;
    let fueling = fueling(&job, &scenario.fueling)?;
    let document = render_fueling(&fueling, format, args.output.units.into())?;
    Ok(match targets.deliver(&Rendered { document, plots: Vec::new() })? {
        Delivery::Whole if fueling.limit_missed => Outcome::LimitNotMet,
        Delivery::Whole | Delivery::ReaderGone => Outcome::Done,
    })
}
