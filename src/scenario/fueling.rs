//! As meant: `[fueling]`.

use super::diagnostics::Expected;
use super::raw::Section;
use super::unit::Unit;
use crate::fueling::FuelSystem;

/// Pressure across an injector [kPa], port to direct.
const PRESSURE_KPA: std::ops::RangeInclusive<f64> = 100.0..=40_000.0;

/// `[fueling]`; everything may be left out, but a flow is stated with its pressure.
pub(super) fn fueling(s: &mut Section<'_, '_>) -> FuelSystem {
    let count = s.optional_count("injector_count", 1..=32);
    let flow = s.optional_number("injector_flow_cc_per_min", 50.0..=6000.0, Unit::CcPerMinute);
    let rated = s.optional_number("at_pressure_kpa", PRESSURE_KPA, Unit::KilopascalAcross);
    let density = s.optional_number("rated_density_kg_per_l", 0.6..=1.0, Unit::KilogramPerLitre);
    let used = s.optional_number("fuel_pressure_kpa", PRESSURE_KPA, Unit::KilopascalAcross);
    let duty = s.optional_number("duty_limit", 0.05..=1.0, Unit::Fraction);
    let pump = s.optional_number("pump_flow_l_per_h", 10.0..=2000.0, Unit::LitrePerHour);
    let reserve = s.optional_number("pump_reserve_percent", 0.0..=100.0, Unit::Percent);
    let why = "a number from 100 to 40000 kPa, at which the injector flow is rated";
    s.asks_for("injector_flow_cc_per_min", "at_pressure_kpa", Expected::OneOf(why));
    for flow in ["injector_flow_cc_per_min", "pump_flow_l_per_h"] {
        let why = "a number from 100 to 40000 kPa, in use, rail over manifold";
        s.asks_for(flow, "fuel_pressure_kpa", Expected::OneOf(why));
    }
    FuelSystem {
        injector_count: count,
        injector_flow_m3_per_s: flow.map(|cc_per_min| cc_per_min / 6e7),
        rated_pressure_pa: rated.map(|kpa| kpa * 1e3),
        rated_density_kg_per_m3: density.map(|kg_per_l| kg_per_l * 1e3),
        fuel_pressure_pa: used.map(|kpa| kpa * 1e3),
        duty_limit: duty,
        pump_flow_m3_per_s: pump.map(|l_per_h| l_per_h / 3.6e6),
        pump_reserve: reserve.map(|percent| percent / 100.0),
    }
}
