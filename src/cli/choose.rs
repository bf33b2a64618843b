//! Does what `endgas choose` asks for.

use super::choose_args::ChooseArgs;
use super::error::CliError;
use super::exit::Outcome;
use super::input::{self, Asked};
use super::output::show;
use super::progress::with_bar;
use endgas::choose::{ChooseJob, choose};
use endgas::scenario::Scenario;
use endgas::scenario::choose::{ForFuel, is_named};

/// Runs `endgas choose`. A range without a ratio within the limits is a limit that is not met, and so are pistons that are
/// all over them.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &ChooseArgs) -> Result<Outcome, CliError> {
    show(&args.output, args.plot.as_deref(), args.scenario.inputs(), || {
        let ask = job(args)?;
        Ok(with_bar("choosing", |bar| choose(&ask, &|share| bar.at(share)))?)
    })
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
