//! Arguments of `endgas goal` as typed.

use super::args::{SamplingArgs, ScenarioArgs, UnitsArg};
use super::help;
use super::typed::Quantity;
use clap::{Args, ValueEnum, ValueHint};
use endgas::goal::WHEEL_POWER_KW;
use endgas::units::{W_PER_HP, W_PER_PS};
use std::path::PathBuf;

const POWER: Quantity = Quantity {
    what: "wheel power",
    example: "\"300 hp\", \"220 kW\" or \"300 PS\"",
    range: WHEEL_POWER_KW,
    units: &[("kW", |kw| kw), ("hp", |hp| hp * W_PER_HP / 1e3), ("PS", |ps| ps * W_PER_PS / 1e3)],
};

/// A wheel power as typed [kW].
pub(super) fn wheel_power_kw(typed: &str) -> Result<f64, String> {
    POWER.read(typed)
}

/// Arguments of `endgas goal`.
#[derive(Args, Debug)]
pub(super) struct GoalArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    /// Wanted power at the wheels, as "300 hp", "220 kW" or "300 PS" (metric); 2 to 2000 kW
    #[arg(long, value_name = "POWER", value_parser = wheel_power_kw, allow_hyphen_values = true)]
    pub(super) wheel_power: Option<f64>,

    /// Units of the text
    #[arg(long, value_enum, default_value_t = UnitsArg::Metric, long_help = help::UNITS)]
    pub(super) units: UnitsArg,

    /// Form of result
    #[arg(long, value_enum, default_value_t = GoalFormatArg::Text, long_help = help::FORMAT)]
    pub(super) format: GoalFormatArg,

    /// Write the result to a file instead of standard output
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(super) out: Option<PathBuf>,

    #[command(flatten)]
    pub(super) sampling: SamplingArgs,
}

/// Form of a goal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum GoalFormatArg {
    /// Tables for a person, at most 100 columns wide
    Text,
    /// One document with stable keys
    Json,
    /// The JSON schema of the json form
    Schema,
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// HAND: 300 hp of 745.7 W are 223.71 kW; 300 metric horsepower of 735.5 W are 220.65 kW.
    #[test]
    fn powers_are_read() {
        assert_relative_eq!(wheel_power_kw("300 hp").unwrap(), 223.71, max_relative = 1e-5);
        assert_relative_eq!(wheel_power_kw("300 PS").unwrap(), 220.65, max_relative = 1e-5);
        assert_relative_eq!(wheel_power_kw(" 220kW ").unwrap(), 220.0, max_relative = 1e-12);
    }

    #[test]
    fn what_is_no_power_is_told() {
        for (typed, why) in [
            ("300", "has no unit; units are kW, hp, PS"),
            ("300 W", "is not given in 'W'"),
            ("0 hp", "wheel power of 0.0000 kW is outside 2 to 2000 kW"),
            ("-5 kW", "outside 2 to 2000 kW"),
            ("1e9 kW", "is not given in 'e9 kW'"),
            ("NaN kW", "a number with its unit"),
        ] {
            let said = wheel_power_kw(typed).unwrap_err();
            assert!(said.contains(why), "{typed}: {said}");
        }
    }
}
