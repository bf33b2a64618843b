//! Arguments of `endgas choose` as typed.

use super::args::{OutputArgs, SamplingArgs, ScenarioArgs};
use clap::{Args, ValueHint};
use endgas::scenario::choose::{ForFuel, WEIGHT};
use endgas::scenario::typed::ratio;
use endgas::units::CompressionRatio;
use std::path::PathBuf;

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

    /// Ethanol contents that the engine has to run on, as "0 to 85 %"
    #[arg(long, value_name = "FROM to TO %", value_parser = contents)]
    pub(super) ethanol: Option<(f64, f64)>,

    /// Compression ratios considered, as "9 to 14"
    #[arg(long, value_name = "FROM to TO", value_parser = ratios)]
    pub(super) ratios: Option<(CompressionRatio, CompressionRatio)>,

    /// Compression ratio of an off-the-shelf piston; repeatable, in place of the scenario's
    #[arg(long, value_name = "RATIO", value_parser = ratio)]
    pub(super) piston: Vec<CompressionRatio>,

    #[command(flatten)]
    pub(super) output: OutputArgs,

    /// Also write plots (SVG and PNG) into a folder, which is made if missing
    #[arg(long, value_name = "FOLDER", value_hint = ValueHint::DirPath)]
    pub(super) plot: Option<PathBuf>,

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

/// Reads two numbers with "to" between them.
fn span(typed: &str) -> Option<(f64, f64)> {
    let (from, to) = typed.split_once("to")?;
    Some((from.trim().parse().ok()?, to.trim().parse().ok()?))
}

/// Reads "0 to 85 %".
fn contents(typed: &str) -> Result<(f64, f64), String> {
    let wrong = || "it is two contents by volume from 0 to 100 %, such as \"0 to 85 %\"".to_owned();
    let (low, high) = typed.trim().strip_suffix('%').and_then(span).ok_or_else(wrong)?;
    if 0.0 <= low && low <= high && high <= 100.0 { Ok((low / 100.0, high / 100.0)) } else { Err(wrong()) }
}

/// Reads "9 to 14".
fn ratios(typed: &str) -> Result<(CompressionRatio, CompressionRatio), String> {
    let (low, high) = span(typed).ok_or("it is two compression ratios, such as \"9 to 14\"")?;
    let checked = |value| CompressionRatio::new(value).map_err(|error| error.to_string());
    Ok((checked(low)?, checked(high)?))
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
        let read = ratios("9 to 14.5").unwrap();
        assert_eq!((read.0.get(), read.1.get()), (9.0, 14.5));
        assert_eq!(ratio("12.5:1").unwrap().get(), 12.5);
    }

    #[test]
    fn what_makes_no_sense_is_refused() {
        for wrong in ["e85", "=2", "e85=-1", "e85=NaN", "e85=inf", "e85=two"] {
            assert!(for_fuel(wrong).is_err(), "{wrong}");
        }
        for wrong in ["85 to 10 %", "0 to 85", "-1 to 5 %", "0 to 101 %", "NaN to 5 %", "5 %"] {
            assert!(contents(wrong).is_err(), "{wrong}");
        }
        assert!(ratios("9").is_err() && ratios("5 to 12").is_err() && ratio("25").is_err());
    }
}
