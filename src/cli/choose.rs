//! Does what `endgas choose` asks for.

use super::common::{DrawnArgs, SamplingArgs, ScenarioArgs};
use super::error::CliError;
use super::exit::Outcome;
use super::input::{self, AskedRun};
use super::output::draw;
use super::progress::with_bar;
use super::span::ends;
use super::view::ShowArgs;
use clap::Args;
use endgas::choose::{Choice, ChooseError, ChooseJob, choose};
use endgas::scenario::choose::{ForFuel, WEIGHT, is_named};
use endgas::scenario::typed::ratio;
use endgas::scenario::{Origin, Scenario};
use endgas::units::CompressionRatio;

/// Arguments of `endgas choose`.
#[derive(Args, Debug)]
pub(super) struct ChooseArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    /// How much power on one fuel matters, as "e85=2"; repeatable, others keep theirs
    #[arg(long, value_name = "FUEL=NUMBER", value_parser = for_fuel)]
    pub(super) weight: Vec<ForFuel>,

    /// How often one fuel is filled, as "e85=0.2"; repeatable, others keep theirs
    #[arg(long, value_name = "FUEL=NUMBER", value_parser = for_fuel)]
    pub(super) likelihood: Vec<ForFuel>,

    /// Ethanol contents that the engine has to run on, as "0 to 85 %" or "0-85"
    #[arg(long, value_name = "FROM-TO", value_parser = contents)]
    pub(super) ethanol: Option<(f64, f64)>,

    /// Compression ratios considered, as "9 to 14" or "9-14"
    #[arg(long, value_name = "FROM-TO", value_parser = ratios)]
    pub(super) ratios: Option<(CompressionRatio, CompressionRatio)>,

    /// Compression ratio of an off-the-shelf piston; repeatable, in place of the scenario's
    #[arg(long, value_name = "RATIO", value_parser = ratio)]
    pub(super) piston: Vec<CompressionRatio>,

    #[command(flatten)]
    pub(super) show: ShowArgs<Choice>,

    #[command(flatten)]
    pub(super) output: DrawnArgs,

    #[command(flatten)]
    pub(super) sampling: SamplingArgs,
}

/// Reads "e85=2"; a recipe may itself hold no equals sign.
fn for_fuel(typed: &str) -> Result<ForFuel, String> {
    let wrong = || format!("it is a fuel of the run and {WEIGHT}, such as \"e85=2\"");
    let (spec, number) = typed.rsplit_once('=').ok_or_else(wrong)?;
    let value: f64 = number.trim().parse().map_err(|_| wrong())?;
    if spec.trim().is_empty() || !WEIGHT.range().contains(&value) {
        return Err(wrong());
    }
    Ok(ForFuel { spec: spec.trim().to_owned(), value })
}

/// Reads "0 to 85 %" as fractions.
fn contents(typed: &str) -> Result<(f64, f64), String> {
    let wrong =
        || "it is two contents by volume from 0 to 100 %, such as \"0 to 85 %\" or \"0-85\"".to_owned();
    let percent = |end: &str| end.trim_end_matches('%').trim().parse::<f64>().map_err(|_| wrong());
    let (low, high) = ends(typed).ok_or_else(wrong)?;
    let (low, high) = (percent(low)?, percent(high)?);
    if 0.0 <= low && low <= high && high <= 100.0 { Ok((low / 100.0, high / 100.0)) } else { Err(wrong()) }
}

/// Reads "9 to 14".
fn ratios(typed: &str) -> Result<(CompressionRatio, CompressionRatio), String> {
    let (low, high) = ends(typed).ok_or("it is two compression ratios, such as \"9 to 14\" or \"9-14\"")?;
    let read = |end| ratio(end).map_err(|error| error.to_string());
    Ok((read(low)?, read(high)?))
}

/// Runs `endgas choose`. A range without a ratio within the limits is a limit that is not met, and so are pistons that are
/// all over them.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &ChooseArgs) -> Result<Outcome, CliError> {
    draw(&args.output, args.scenario.inputs(), args.show.view(), || {
        let (ask, origin) = job(args)?;
        with_bar("choosing", |bar| choose(&ask, &|share| bar.at(share))).map_err(|error| match error {
            // They stand in for those of the file.
            ChooseError::Piston { .. } if !args.piston.is_empty() => {
                CliError::Placed { place: "--piston".to_owned(), source: Box::new(error.into()) }
            }
            error => CliError::at(&origin)(error),
        })
    })
}

/// The scenario's choice with what was typed put in, and where it was asked for.
fn job(args: &ChooseArgs) -> Result<(ChooseJob, Origin), CliError> {
    let AskedRun { mut scenario, library, job, origin } = input::asked(&args.scenario, args.sampling)?;
    let names: Vec<&str> = job.fuels.iter().map(|choice| choice.fuel.name.as_str()).collect();
    for typed in args.weight.iter().chain(&args.likelihood) {
        if !names.iter().any(|name| is_named(&typed.spec, name, &library)) {
            let known = names.iter().map(|name| (*name).to_owned()).collect();
            return Err(CliError::NotInRun { spec: typed.spec.clone(), known });
        }
    }
    put_in(&mut scenario, args);
    let failed = |source| CliError::Job { file: scenario.file.clone(), source };
    Ok((scenario.choose_job(job, &library).map_err(failed)?, origin))
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_typed_is_read() {
        assert_eq!(for_fuel("e85 = 2").unwrap(), ForFuel { spec: "e85".to_owned(), value: 2.0 });
        assert_eq!(for_fuel("a 70 % + b 30 %=0.5").unwrap().spec, "a 70 % + b 30 %");
        assert_eq!(contents("10 to 85 %"), Ok((0.10, 0.85)));
        assert_eq!(contents("0to100%"), Ok((0.0, 1.0)));
        for typed in ["10-85", "10..85", "10 to 85", "10 - 85 %", "10% to 85%", " 10..85 % "] {
            assert_eq!(contents(typed), Ok((0.10, 0.85)), "{typed}");
        }
        for typed in ["9 to 14.5", "9-14.5", "9..14.5", "9 .. 14.5", "9:1 - 14.5:1"] {
            let read = ratios(typed).unwrap();
            assert_eq!((read.0.get(), read.1.get()), (9.0, 14.5), "{typed}");
        }
        assert_eq!(ratio("12.5:1").unwrap().get(), 12.5);
    }

    #[test]
    fn what_makes_no_sense_is_refused() {
        for wrong in ["e85", "=2", "e85=-1", "e85=NaN", "e85=inf", "e85=two"] {
            assert!(for_fuel(wrong).is_err(), "{wrong}");
        }
        for wrong in ["85 to 10 %", "85", "0-", "-1 to 5 %", "0 to 101 %", "NaN to 5 %", "5 %"] {
            assert!(contents(wrong).is_err(), "{wrong}");
        }
        assert!(
            ratios("9").is_err()
                && ratios("9-").is_err()
                && ratios("5 to 12").is_err()
                && ratio("25").is_err()
        );
    }
}
