//! Does what `endgas spark` asks for.

use super::breakpoints::{self, Breakpoints};
use super::common::{DrawnArgs, SamplingArgs, ScenarioArgs};
use super::error::CliError;
use super::exit::Outcome;
use super::help;
use super::input::{self, AskedRun};
use super::output::draw;
use super::progress::while_shown;
use clap::Args;
use endgas::estimate::spark_map::{Load, MapAxes, Reserve, spark_maps};
use endgas::live::{SAMPLES, SEED};
use endgas::report::{SparkMaps, View};
use endgas::units::Unit;
use endgas::units::stated::OCTANE_MARGIN;

/// Largest reserves that make sense.
const MOST_DEG: f64 = 15.0;
const MOST_OCTANE: f64 = OCTANE_MARGIN.high;

/// Arguments of `endgas spark`.
#[derive(Args, Debug)]
pub(super) struct SparkArgs {
    #[command(flatten)]
    scenario: ScenarioArgs,

    /// Breakpoints of rpm, as "800,1200,2000" or "1000..7000 step 500"; default: those of the scenario
    #[arg(long, value_name = "LIST", value_parser = breakpoints::rpm(), long_help = help::RPM)]
    rpm: Option<Breakpoints>,

    /// Breakpoints of load, as "40,60,80,100 kPa", "20..100 %" of full-load air, or "0.2,0.4 g" of air
    /// per cylinder; default: "60..100 %"
    #[arg(long, value_name = "LIST", value_parser = breakpoints::load(), long_help = help::LOAD)]
    load: Option<Breakpoints>,

    /// Ethanol contents, % by volume, one table for each, as "10,30,50,85"; default: the fuel as sold
    #[arg(long, value_name = "LIST", value_parser = breakpoints::ethanol(), long_help = help::ETHANOL)]
    ethanol: Option<Breakpoints>,

    /// Safety margin, "2 deg" of timing or "1.5 octane"; default: that of the scenario
    #[arg(long, value_name = "MARGIN", value_parser = read_reserve)]
    reserve: Option<Reserve>,

    #[command(flatten)]
    output: DrawnArgs,
}

/// Runs `endgas spark`. A cell without a safe timing is a limit that is not met.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &SparkArgs) -> Result<Outcome, CliError> {
    draw(&args.output, args.scenario.inputs(), View::screen(), || {
        let sampling = SamplingArgs { samples: SAMPLES as u32, seed: SEED };
        let AskedRun { mut job, origin, .. } = input::asked(&args.scenario, sampling)?;
        if let Some(rpm) = &args.rpm {
            job.speeds_rpm = rpm.si();
        }
        let axes = MapAxes {
            loads: args.load.as_ref().map_or(Load::USUAL.to_vec(), Breakpoints::loads),
            ethanol_vol_frac: args.ethanol.as_ref().map(Breakpoints::si).unwrap_or_default(),
            reserve: args.reserve.unwrap_or(Reserve::Octane(job.reserve_octane)),
        };
        let load_unit = args.load.as_ref().map_or(Unit::Percent, Breakpoints::unit);
        let maps = while_shown("mapping", || spark_maps(&job, &axes)).map_err(CliError::at(&origin))?;
        Ok(SparkMaps { maps, load_unit })
    })
}

/// Reads "2 deg" or "1.5 octane".
fn read_reserve(typed: &str) -> Result<Reserve, String> {
    let wrong = || {
        format!(
            "a safety margin is \"2 deg\" of timing, 0 to {MOST_DEG}, or \"1.5 octane\", 0 to {MOST_OCTANE}"
        )
    };
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
