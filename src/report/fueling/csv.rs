//! Fuel supply as CSV: one row per fuel, ethanol content and speed, units in the header.

use crate::fueling::Fueling;
use crate::report::document::csv_text;
use crate::report::quantity::{fixed, percent};
use crate::report::{ReportError, Units};

/// The table; duty is empty when no injectors are stated.
pub(super) fn render(fueling: &Fueling, units: Units) -> Result<String, ReportError> {
    let mut writer = ::csv::Writer::from_writer(Vec::new());
    let mass = units.mass_flow_key();
    let (_, volume) = units.volume_flow_unit();
    writer.write_record([
        "fuel".to_owned(),
        "ethanol_vol_percent".to_owned(),
        "speed_rpm".to_owned(),
        "volumetric_efficiency".to_owned(),
        format!("air_flow_likely_{mass}"),
        format!("air_flow_high_{mass}"),
        format!("fuel_flow_likely_{mass}"),
        format!("fuel_flow_high_{mass}"),
        format!("fuel_flow_likely_{volume}"),
        format!("fuel_flow_high_{volume}"),
        "injector_duty_likely_percent".to_owned(),
        "injector_duty_high_percent".to_owned(),
    ])?;
    for need in &fueling.needs {
        for p in &need.curve {
            let duty = p.injector_duty_frac;
            writer.write_record([
                need.fuel.clone(),
                percent(need.ethanol_vol_frac, 1),
                fixed(p.speed_rpm, 0),
                fixed(p.volumetric_efficiency, 4),
                fixed(units.mass_flow(p.air_flow_kg_per_s.likely), 2),
                fixed(units.mass_flow(p.air_flow_kg_per_s.high), 2),
                fixed(units.mass_flow(p.fuel_flow_kg_per_s.likely), 3),
                fixed(units.mass_flow(p.fuel_flow_kg_per_s.high), 3),
                fixed(units.volume_flow(p.fuel_flow_l_per_h.likely), 3),
                fixed(units.volume_flow(p.fuel_flow_l_per_h.high), 3),
                duty.map(|d| percent(d.likely, 2)).unwrap_or_default(),
                duty.map(|d| percent(d.high, 2)).unwrap_or_default(),
            ])?;
        }
    }
    csv_text(writer)
}
