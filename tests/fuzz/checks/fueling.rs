//! Fuel flow, injectors and pump.

use super::run::{Run, is_document, taken};
use super::schema::Schema;
use super::within;
use endgas::fueling::Fueling;
use endgas::report::{Shown as _, Units, plots};
use std::sync::LazyLock;

static SCHEMA: LazyLock<Schema> = LazyLock::new(|| Schema::of(&Fueling::schema()));

/// What `fueling` makes of a scenario.
pub fn fueling(bytes: &[u8]) {
    let Some(Run { scenario, job, .. }) = Run::of(bytes) else { return };
    let Some(found) = taken(endgas::fueling::fueling(&job, &scenario.fueling)) else { return };
    let json = is_document(&found, &SCHEMA);
    for (_, svg) in plots(&found, Units::Us).unwrap() {
        super::shown(&svg);
    }
    let again = endgas::fueling::fueling(&job, &scenario.fueling).unwrap();
    assert_eq!(json, is_document(&again, &SCHEMA), "worked out again it is another");
    for need in &found.needs {
        let (flow, volume) = (need.peak_fuel_flow_kg_per_s, need.peak_fuel_flow_l_per_h);
        assert!(0.0 < flow.low && flow.low <= flow.likely && flow.likely <= flow.high, "{flow:?}");
        // A litre and hour of a kilogram and second: 3600 over the density.
        let per = 3600.0 / need.density_15c_kg_per_l;
        within("volume flow", volume.likely / (per * flow.likely), 0.98..=1.02);
        within("pump", need.pump_need_l_per_h, volume.likely..=1e7);
        within("injector", need.injector_need_cc_per_min, f64::MIN_POSITIVE..=1e6);
        for p in &need.curve {
            within("fuel to air", p.fuel_flow_kg_per_s.likely / p.air_flow_kg_per_s.likely, 0.0..=1.0);
        }
        assert!(found.pump_worst.need >= need.pump_need_l_per_h * (1.0 - 1e-12));
    }
    let misses = found.stated_injectors.as_ref().is_some_and(|s| !s.is_enough)
        || found.stated_pump.as_ref().is_some_and(|s| !s.is_enough)
        || found.mechanical.iter().any(|limit| !limit.is_met);
    assert_eq!(found.limit_missed, misses);
}
