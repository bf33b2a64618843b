//! Does what `endgas volumes` asks for.

use super::error::CliError;
use super::exit::Outcome;
use super::input;
use super::output::{Rendered, Targets};
use super::volumes_args::VolumesArgs;
use endgas::engine::volumes::{VolumesJob, VolumesSheet};
use endgas::report::{render_volumes, volumes_schema};
use std::path::PathBuf;

/// Runs `endgas volumes`.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &VolumesArgs) -> Result<Outcome, CliError> {
    let document = match args.format.rendered() {
        None => volumes_schema(),
        Some(format) => {
            let scenario = input::scenario(args.scenario.as_deref())?;
            let sheet = VolumesSheet::new(&VolumesJob {
                scenario: &scenario.name,
                geometry: &scenario.build.geometry,
                inlet_closes_deg_abdc: scenario.build.valves.inlet_closes_deg_abdc,
                air_pressure_pa: args.pressure.over(scenario.weather.pressure_pa),
                volumes: scenario.volumes.as_ref(),
                by_cylinder: &scenario.volumes_by_cylinder,
                wanted: args.ratio,
            });
            render_volumes(&sheet, format, args.units.into())?
        }
    };
    let inputs = args.scenario.iter().map(PathBuf::as_path).collect();
    let targets = Targets { out: args.out.as_deref(), plot: None, inputs };
    targets.check()?;
    targets.deliver(&Rendered { document, plots: Vec::new() }).map(|_| Outcome::Done)
}
