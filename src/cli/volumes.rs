//! Does what `endgas volumes` asks for.

use super::common::{OutputArgs, SamplingArgs, ScenarioArgs};
use super::error::CliError;
use super::exit::Outcome;
use super::input::{self, AskedRun};
use super::output::show;
use clap::Args;
use endgas::engine::volumes::{VolumesJob, VolumesSheet, Wanted};
use endgas::estimate::octane_per_ratio;
use endgas::report::View;
use endgas::scenario::typed::ratio;
use endgas::units::CompressionRatio;
use endgas::units::stated::COMPRESSION_RATIO;

/// Samples behind what known knock points show of the engine; nothing else here draws any.
const SAMPLING: SamplingArgs = SamplingArgs { samples: 400, seed: 1 };

/// Arguments of `endgas volumes`.
#[derive(Args, Debug)]
pub(super) struct VolumesArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    #[arg(long, value_name = "RATIO", value_parser = ratio,
        help = format!("Target ratio, {}: shows what each part must become", COMPRESSION_RATIO.ends()))]
    pub(super) wanted: Option<CompressionRatio>,

    #[command(flatten)]
    pub(super) output: OutputArgs,
}

/// Runs `endgas volumes`.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &VolumesArgs) -> Result<Outcome, CliError> {
    show(&args.output, None, args.scenario.inputs(), View::screen(), || sheet(args))
}

fn sheet(args: &VolumesArgs) -> Result<VolumesSheet, CliError> {
    let AskedRun { scenario, job, origin, .. } = input::asked(&args.scenario, SAMPLING)?;
    let now = job.build.geometry.compression_ratio.get();
    let octane_to = |ratio| octane_per_ratio(&job, now, ratio).map_err(CliError::at(&origin));
    let octane = octane_to(now)?;
    let wanted = |ratio: CompressionRatio| -> Result<Wanted, CliError> {
        Ok(Wanted { ratio, octane_per_ratio: octane_to(ratio.get())?.per_ratio })
    };
    Ok(VolumesSheet::new(&VolumesJob {
        scenario: &scenario.name,
        geometry: &scenario.build.geometry,
        inlet_closes_deg_abdc: scenario.build.valves.inlet_closes_deg_abdc,
        inlet_seats_deg_abdc: scenario.build.valves.inlet_seats_deg_abdc(),
        cam: scenario.cam.as_ref(),
        air_pressure_pa: scenario.weather.pressure_pa,
        volumes: scenario.volumes.as_ref(),
        by_cylinder: &scenario.volumes_by_cylinder,
        octane: &octane,
        wanted: args.wanted.map(wanted).transpose()?,
    }))
}
