//! Does what `endgas spark` asks for.

use super::common::{DrawnArgs, SamplingArgs, ScenarioArgs};
use super::error::CliError;
use super::exit::Outcome;
use super::input;
use super::output::draw;
use super::progress::while_shown;
use clap::{Args, ValueEnum};
use endgas::estimate::spark_map::{MapAxis, Reserve, spark_maps};
use endgas::live::{SAMPLES, SEED};
use endgas::report::{SparkMaps, View};
use endgas::units::stated::OCTANE_MARGIN;

/// Largest reserves that make sense.
const MOST_DEG: f64 = 15.0;
const MOST_OCTANE: f64 = OCTANE_MARGIN.high;

/// Arguments of `endgas spark`.
#[derive(Args, Debug)]
pub(super) struct SparkArgs {
    #[command(flatten)]
    scenario: ScenarioArgs,

    /// What the rows of the map step through
    #[arg(long, value_enum, default_value_t = OverArg::Pressure)]
    over: OverArg,

    /// What to keep in hand, "2 deg" of spark or "1.5 octane"; the scenario's reserve without it
    #[arg(long, value_name = "RESERVE", value_parser = read_reserve)]
    reserve: Option<Reserve>,

    #[command(flatten)]
    output: DrawnArgs,
}

/// Rows of a spark map.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum OverArg {
    /// Manifold pressure, 60 to 100 % of ambient
    Pressure,
    /// Ethanol content of the fuel's base, 0 to 85 % by volume, at full throttle
    Ethanol,
}

/// Runs `endgas spark`. A cell without a safe spark is a limit that is not met.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &SparkArgs) -> Result<Outcome, CliError> {
    draw(&args.output, args.scenario.inputs(), View::screen(), || {
        let job = input::asked(&args.scenario, SamplingArgs { samples: SAMPLES as u32, seed: SEED })?.job;
        let axis = match args.over {
            OverArg::Pressure => MapAxis::ManifoldPressure,
            OverArg::Ethanol => MapAxis::EthanolContent,
        };
        let reserve = args.reserve.unwrap_or(Reserve::Octane(job.reserve_octane));
        Ok(SparkMaps(while_shown("mapping", || spark_maps(&job, axis, reserve))?))
    })
}

/// Reads "2 deg" or "1.5 octane".
fn read_reserve(typed: &str) -> Result<Reserve, String> {
    let wrong =
        || format!("a reserve is \"2 deg\" of spark, 0 to {MOST_DEG}, or \"1.5 octane\", 0 to {MOST_OCTANE}");
    let (number, unit) = typed.trim().split_once(char::is_whitespace).ok_or_else(wrong)?;
    let number: f64 = number.parse().map_err(|_| wrong())?;
    match unit.trim() {
        "deg" if (0.0..=MOST_DEG).contains(&number) => Ok(Reserve::Degrees(number)),
        "octane" if (0.0..=MOST_OCTANE).contains(&number) => Ok(Reserve::Octane(number)),
        _ => Err(wrong()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reserve_has_a_number_and_a_unit() {
        assert_eq!(read_reserve("2 deg"), Ok(Reserve::Degrees(2.0)));
        assert_eq!(read_reserve(" 1.5  octane "), Ok(Reserve::Octane(1.5)));
        for wrong in ["2", "deg", "-1 deg", "16 deg", "11 octane", "2 rpm", "NaN deg", "inf octane"] {
            assert!(read_reserve(wrong).is_err(), "{wrong}");
        }
    }
}
