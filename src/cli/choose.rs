//! Does what `endgas choose` asks for.

use super::choose_args::ChooseArgs;
use super::error::CliError;
use super::exit::Outcome;
use super::input::{self, Asked};
use super::output::{Delivery, Rendered, Targets};
use super::progress::Bar;
use endgas::choose::{Choice, ChooseJob, choose};
use endgas::report::{choice_plots, choice_schema, render_choice};
use endgas::scenario::Scenario;
use endgas::scenario::choose::{ForFuel, is_named};

/// Runs `endgas choose`. A range without a ratio within the limits is a limit that is not met, and so are pistons that are
/// all over them.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &ChooseArgs) -> Result<Outcome, CliError> {
    let targets = Targets {
        out: args.output.out.as_deref(),
        plot: args.plot.as_deref(),
        inputs: args.scenario.inputs(),
    };
    let Some(format) = args.output.format.rendered() else {
        return targets.deliver_schema(choice_schema());
    };
    let ask = job(args)?;
    targets.check()?;
    let bar = Bar::new("choosing");
    let found = choose(&ask, &|share| bar.at(share));
    bar.end();
    let choice = found?;
    let units = args.output.units.into();
    let rendered = Rendered {
        document: render_choice(&choice, format, units)?,
        plots: if args.plot.is_some() { choice_plots(&choice, units)? } else { Vec::new() },
    };
    Ok(match targets.deliver(&rendered)? {
        Delivery::Whole if choice.order.is_none() || all_pistons_are_over(&choice) => Outcome::LimitNotMet,
        Delivery::Whole | Delivery::ReaderGone => Outcome::Done,
    })
}

/// Whether pistons were named and none is within the limits.
fn all_pistons_are_over(choice: &Choice) -> bool {
    !choice.pistons.is_empty() && choice.pistons.iter().all(|piston| !piston.row.within_limits)
}

/// The scenario's choice with what was typed put in.
fn job(args: &ChooseArgs) -> Result<ChooseJob, CliError> {
    let Asked { mut scenario, library, job } = input::asked(&args.scenario, args.sampling)?;
    let names: Vec<&str> = job.fuels.iter().map(|choice| choice.fuel.name.as_str()).collect();
    for typed in args.weight.iter().chain(&args.likelihood) {
        if !names.iter().any(|name| is_named(&typed.spec, name, &library)) {
            let known = names.iter().map(|name| (*name).to_owned()).collect();
            return Err(CliError::NotInRun { spec: typed.spec.clone(), known });
        }
    }
    put_in(&mut scenario, args);
    scenario.choose_job(job, &library).map_err(|source| CliError::Job { file: scenario.file.clone(), source })
}

fn put_in(scenario: &mut Scenario, args: &ChooseArgs) {
    let rules = &mut scenario.choose;
    let replace = |own: &mut Vec<ForFuel>, typed: &[ForFuel]| {
        own.retain(|kept| typed.iter().all(|new| new.spec != kept.spec));
        own.extend(typed.iter().cloned());
    };
    replace(&mut rules.weights, &args.weight);
    replace(&mut rules.likelihoods, &args.likelihood);
    if let Some((low, high)) = args.ethanol {
        (rules.blends.low_vol_frac, rules.blends.high_vol_frac) = (Some(low), Some(high));
    }
    if let Some(ratios) = args.ratios {
        rules.ratios = ratios;
    }
    if !args.piston.is_empty() {
        rules.pistons.clone_from(&args.piston);
    }
}
