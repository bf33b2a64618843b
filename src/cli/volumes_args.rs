//! Arguments of `endgas volumes` as typed.

use super::args::{FormatArg, UnitsArg};
use super::help;
use super::weather::PressureArgs;
use clap::Args;
use endgas::units::CompressionRatio;
use std::path::PathBuf;

/// Arguments of `endgas volumes`.
#[derive(Args, Debug)]
pub(super) struct VolumesArgs {
    /// Scenario file (TOML); without it the built-in example is shown
    pub(super) scenario: Option<PathBuf>,

    /// Ratio that is wanted, 6 to 18: shows what each part must become
    #[arg(long, value_name = "RATIO", value_parser = read_ratio)]
    pub(super) ratio: Option<CompressionRatio>,

    #[command(flatten)]
    pub(super) pressure: PressureArgs,

    /// Units of the result
    #[arg(long, value_enum, default_value_t = UnitsArg::Metric, long_help = help::VOLUMES_UNITS)]
    pub(super) units: UnitsArg,

    /// Form of result
    #[arg(long, value_enum, default_value_t = FormatArg::Text, long_help = help::FORMAT)]
    pub(super) format: FormatArg,

    /// Write the result to a file instead of standard output
    #[arg(long, value_name = "FILE")]
    pub(super) out: Option<PathBuf>,
}

/// Reads "12.5" or "12.5:1".
fn read_ratio(typed: &str) -> Result<CompressionRatio, String> {
    let typed = typed.trim();
    let number = typed.strip_suffix(":1").unwrap_or(typed).trim();
    let value: f64 = number.parse().map_err(|_| "a ratio is a number such as 12.5".to_owned())?;
    CompressionRatio::new(value).map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ratio_may_end_in_to_one() {
        for typed in ["12.5", " 12.5:1 ", "12.5 :1"] {
            assert_eq!(read_ratio(typed), Ok(CompressionRatio::new(12.5).unwrap()), "{typed}");
        }
        for wrong in ["", ":1", "12,5", "5.9", "18.1", "NaN", "inf", "12.5:2"] {
            assert!(read_ratio(wrong).is_err(), "{wrong}");
        }
    }
}
