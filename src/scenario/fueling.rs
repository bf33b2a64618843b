//! As meant: `[fueling]`.

use crate::fueling::FuelSystem;
use crate::input::{Expected, Section};
use crate::units::stated::SHARE_PERCENT;
use crate::units::{Allowed, Unit};

/// Pressure across an injector, port to direct.
const PRESSURE: Allowed = Unit::KilopascalAcross.of(100.0..=40_000.0);

/// `[fueling]`; everything may be left out, but a flow is stated with its pressure.
pub(super) fn fueling(s: &mut Section<'_, '_>) -> FuelSystem {
    let count = s.optional_count("injector_count", 1..=32);
    let flow = s.optional_si("injector_flow_cc_per_min", Unit::CcPerMinute.of(50.0..=6000.0));
    let rated = s.optional_si("at_pressure_kpa", PRESSURE);
    let density = s.optional_si("rated_density_kg_per_l", Unit::KilogramPerLitre.of(0.6..=1.0));
    let used = s.optional_si("fuel_pressure_kpa", PRESSURE);
    let duty = s.optional_si("duty_limit", Unit::Fraction.of(0.05..=1.0));
    let pump = s.optional_si("pump_flow_l_per_h", Unit::LitrePerHour.of(10.0..=2000.0));
    let reserve = s.optional_si("pump_reserve_percent", SHARE_PERCENT);
    let why = format!("{PRESSURE}, at which the injector flow is rated");
    s.asks_for("injector_flow_cc_per_min", "at_pressure_kpa", Expected::OneOf(why));
    for flow in ["injector_flow_cc_per_min", "pump_flow_l_per_h"] {
        let why = format!("{PRESSURE}, in use, rail over manifold");
        s.asks_for(flow, "fuel_pressure_kpa", Expected::OneOf(why));
    }
    FuelSystem {
        injector_count: count,
        injector_flow_m3_per_s: flow,
        rated_pressure_pa: rated,
        rated_density_kg_per_m3: density,
        fuel_pressure_pa: used,
        duty_limit: duty,
        pump_flow_m3_per_s: pump,
        pump_reserve: reserve,
    }
}
