//! The compared curve as CSV.

use super::super::document::csv_text;
use super::super::quantity::{fixed, percent};
use super::super::{ReportError, Units};
use crate::dyno::Judgement;

/// One row per speed, units in the header.
pub(super) fn render(j: &Judgement, units: Units) -> Result<String, ReportError> {
    let (torque, power) = (units.torque_key(), units.power_key());
    let place = j.place.word();
    let mut writer = ::csv::Writer::from_writer(Vec::new());
    writer.write_record([
        "speed_rpm".to_owned(),
        format!("measured_{place}_torque_{torque}"),
        format!("measured_{place}_power_{power}"),
        format!("corrected_{place}_power_{power}"),
        "pulls_differ_percent".to_owned(),
        format!("estimate_low_{place}_torque_{torque}"),
        format!("estimate_likely_{place}_torque_{torque}"),
        format!("estimate_high_{place}_torque_{torque}"),
        "off_likely_percent".to_owned(),
        format!("implied_crank_torque_{torque}"),
        format!("implied_bmep_{}", units.pressure_unit()),
        "implied_volumetric_efficiency".to_owned(),
        "estimate_volumetric_efficiency".to_owned(),
        "lambda".to_owned(),
        format!("bsfc_{}", units.bsfc_key()),
    ])?;
    let shown = |value: Option<f64>, decimals: usize| value.map(|v| fixed(v, decimals)).unwrap_or_default();
    for p in &j.curve {
        writer.write_record([
            fixed(p.speed_rpm, 0),
            fixed(units.torque(p.torque_nm), 2),
            fixed(units.power(p.power_kw), 2),
            fixed(units.power(p.corrected_power_kw), 2),
            percent(p.pull_spread_frac, 2),
            fixed(units.torque(p.estimate_low_torque_nm), 2),
            fixed(units.torque(p.estimate_likely_torque_nm), 2),
            fixed(units.torque(p.estimate_high_torque_nm), 2),
            percent(p.deviation_frac, 2),
            fixed(units.torque(p.implied_crank_torque_nm), 2),
            fixed(units.pressure(p.implied_bmep_bar), 2),
            shown(p.implied_volumetric_efficiency, 4),
            fixed(p.estimate_volumetric_efficiency, 4),
            shown(p.lambda, 3),
            shown(p.bsfc_g_per_kwh.map(|g| units.bsfc(g)), 4),
        ])?;
    }
    csv_text(writer)
}
