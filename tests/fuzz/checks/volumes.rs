//! Measured volumes.

use super::run::{Run, is_document, taken};
use super::schema::Schema;
use super::within;
use endgas::engine::volumes::{OctaneSlope, VolumesJob, VolumesSheet, Wanted};
use endgas::estimate::octane_per_ratio;
use endgas::report::Shown as _;
use endgas::scenario::{Scenario, typed};
use std::sync::LazyLock;

static SCHEMA: LazyLock<Schema> = LazyLock::new(|| Schema::of(&VolumesSheet::schema()));

/// What `volumes` makes of a scenario; its first line may hold the wanted ratio, as "# 12.5".
pub fn volumes(bytes: &[u8]) {
    let Some(Run { typed, scenario, job }) = Run::of(bytes) else { return };
    let now = job.build.geometry.compression_ratio.get();
    let Some(octane) = taken(octane_per_ratio(&job, now, now)) else { return };
    let ratio = if typed.is_empty() { None } else { taken(typed::ratio(&typed)) };
    let wanted = ratio.and_then(|ratio| {
        let slope = taken(octane_per_ratio(&job, now, ratio.get()))?;
        Some(Wanted { ratio, octane_per_ratio: slope.per_ratio })
    });
    let sheet = || VolumesSheet::new(&sheet_job(&scenario, &octane, wanted));
    is_sheet(&sheet());
    assert_eq!(sheet(), sheet());
}

/// The sheet that a scenario asks for.
pub(super) fn sheet_job<'a>(
    scenario: &'a Scenario,
    octane: &'a OctaneSlope,
    wanted: Option<Wanted>,
) -> VolumesJob<'a> {
    VolumesJob {
        scenario: &scenario.name,
        geometry: &scenario.build.geometry,
        inlet_closes_deg_abdc: scenario.build.valves.inlet_closes_deg_abdc,
        inlet_seats_deg_abdc: scenario.build.valves.inlet_seats_deg_abdc(),
        cam: scenario.cam.as_ref(),
        air_pressure_pa: scenario.weather.pressure_pa,
        volumes: scenario.volumes.as_ref(),
        by_cylinder: &scenario.volumes_by_cylinder,
        octane,
        wanted,
    }
}

/// A sheet of volumes holds together: ratio, swept and clearance volume are one.
pub(super) fn is_sheet(sheet: &VolumesSheet) {
    is_document(sheet, &SCHEMA);
    within("ratio", sheet.compression_ratio, 6.0..=18.0);
    within("clearance", sheet.clearance_m3, f64::MIN_POSITIVE..=1.0);
    let ratio = 1.0 + sheet.swept_m3 / sheet.clearance_m3;
    within("ratio of the volumes", ratio / sheet.compression_ratio, 1.0 - 1e-6..=1.0 + 1e-6);
    within("ratio from inlet closing", sheet.ratio_from_inlet_closing, 1.0..=sheet.compression_ratio);
}
