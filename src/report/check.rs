//! Is an estimate fit to be shown? One check before any format, so that no output holds a NaN.

use super::ReportError;
use crate::estimate::{Band, CurvePoint, Estimate, FuelEstimate, Peak};
use ciborium::Value;
use serde::Serialize;

/// Refuses an estimate with a number that is not finite, an empty list or a bad index.
pub(super) fn check(estimate: &Estimate) -> Result<(), ReportError> {
    let e = estimate;
    finite(
        "the scenario",
        &[
            ("compression_ratio", e.compression_ratio),
            ("effective_compression_ratio", e.effective_compression_ratio),
            ("displacement_m3", e.displacement_m3),
            ("air_temperature_k", e.air_temperature_k),
            ("air_pressure_pa", e.air_pressure_pa),
            ("relative_humidity", e.relative_humidity),
            ("reserve_octane", e.reserve_octane),
        ],
    )?;
    for correction in &e.corrections {
        finite(correction.standard, &[("factor", correction.factor)])?;
    }
    filled("the estimate", "fuel", e.fuels.len())?;
    e.fuels.iter().try_for_each(check_fuel)
}

fn check_fuel(fuel: &FuelEstimate) -> Result<(), ReportError> {
    let owner = format!("fuel {}", fuel.name);
    filled(&owner, "curve", fuel.curve.len())?;
    if fuel.tightest_index >= fuel.curve.len() {
        let (index, len) = (fuel.tightest_index, fuel.curve.len());
        return Err(ReportError::TightestIndex { fuel: fuel.name.clone(), index, len });
    }
    finite(
        &owner,
        &[
            ("ethanol_vol_frac", fuel.ethanol_vol_frac),
            ("ron", fuel.ron),
            ("mon", fuel.mon),
            ("afr_stoich", fuel.afr_stoich),
            ("lhv_j_per_kg", fuel.lhv_j_per_kg),
            ("hov_j_per_kg", fuel.hov_j_per_kg),
            ("peak_power_lost_frac", fuel.peak_power_lost_frac),
            ("trace_speed_rpm", fuel.trace_speed_rpm),
        ],
    )?;
    peak(&owner, &fuel.peak_power)?;
    peak(&owner, &fuel.peak_torque)?;
    for rung in &fuel.ladder {
        let numbers = [
            ("mean_effective_pressure_bar", rung.mean_effective_pressure_bar),
            ("efficiency", rung.efficiency),
        ];
        finite(&format!("{owner}, loss step {}", rung.name), &numbers)?;
    }
    for driver in &fuel.drivers {
        let numbers = [
            ("power_rank_correlation", driver.power_rank_correlation),
            ("margin_rank_correlation", driver.margin_rank_correlation),
        ];
        finite(&format!("{owner}, input {}", driver.name), &numbers)?;
    }
    for lever in &fuel.levers {
        let numbers = [
            ("octane_margin_change", lever.octane_margin_change),
            ("torque_change_frac", lever.torque_change_frac),
        ];
        finite(&format!("{owner}, change {}", lever.name), &numbers)?;
    }
    for point in &fuel.trace {
        let numbers = [("crank_angle_deg", point.crank_angle_deg), ("pressure_bar", point.pressure_bar)];
        finite(&format!("{owner}, pressure trace"), &numbers)?;
    }
    fuel.curve.iter().try_for_each(|point| check_point(&owner, point))
}

fn check_point(fuel: &str, p: &CurvePoint) -> Result<(), ReportError> {
    let owner = format!("{fuel} at {} rpm", p.speed_rpm);
    finite(
        &owner,
        &[
            ("speed_rpm", p.speed_rpm),
            ("volumetric_efficiency", p.volumetric_efficiency),
            ("lambda", p.lambda),
            ("spark_deg_btdc", p.spark_deg_btdc),
            ("best_torque_spark_deg_btdc", p.best_torque_spark_deg_btdc),
            ("knock_limited_spark_deg_btdc", p.knock_limited_spark_deg_btdc.unwrap_or(0.0)),
            ("cautious_spark_deg_btdc", p.cautious_spark_deg_btdc.unwrap_or(0.0)),
            ("ca50_deg_atdc", p.ca50_deg_atdc),
            ("knock_integral", p.knock_integral),
            ("octane_index", p.octane_index),
            ("octane_requirement", p.octane_requirement),
            ("octane_margin", p.octane_margin),
            ("best_torque_octane_margin", p.best_torque_octane_margin),
            ("knock_margin_index", p.knock_margin_index),
            ("spark_margin_deg", p.spark_margin_deg),
            ("knock_probability", p.knock_probability),
            ("torque_lost_frac", p.torque_lost_frac),
            ("imep_net_bar", p.imep_net_bar),
            ("fmep_bar", p.fmep_bar),
            ("pmep_bar", p.pmep_bar),
            ("bmep_bar", p.bmep_bar),
            ("peak_pressure_bar", p.peak_pressure_bar),
            ("peak_pressure_deg_atdc", p.peak_pressure_deg_atdc),
            ("efficiency_brake", p.efficiency_brake),
            ("heat_loss_frac", p.heat_loss_frac),
            ("residual_frac", p.residual_frac),
            ("exhaust_temperature_k", p.exhaust_temperature_k),
            ("bsfc_g_per_kwh", p.bsfc_g_per_kwh),
            ("air_flow_kg_per_s", p.air_flow_kg_per_s),
            ("fuel_flow_kg_per_s", p.fuel_flow_kg_per_s),
            ("mean_piston_speed_m_per_s", p.mean_piston_speed_m_per_s),
            ("mechanical_efficiency", p.mechanical_efficiency()),
        ],
    )?;
    band(&owner, "octane_margin_band", p.octane_margin_band)?;
    band(&owner, "crank_torque_nm", p.crank_torque_nm)?;
    band(&owner, "crank_power_kw", p.crank_power_kw)?;
    band(&owner, "wheel_power_kw", p.wheel_power_kw)
}

fn peak(owner: &str, peak: &Peak) -> Result<(), ReportError> {
    finite(owner, &[("peak speed_rpm", peak.speed_rpm)])?;
    band(owner, "peak at the crank", peak.crank)?;
    band(owner, "peak at the wheels", peak.wheel)
}

fn band(owner: &str, key: &'static str, band: Band) -> Result<(), ReportError> {
    finite(owner, &[(key, band.low), (key, band.likely), (key, band.high)])
}

pub(super) fn finite(owner: &str, numbers: &[(&'static str, f64)]) -> Result<(), ReportError> {
    match numbers.iter().find(|(_, value)| !value.is_finite()) {
        Some(&(key, value)) => Err(ReportError::NotFinite { owner: owner.to_owned(), key, value }),
        None => Ok(()),
    }
}

/// Refuses a list that holds nothing.
pub(super) fn filled(owner: &str, what: &'static str, len: usize) -> Result<(), ReportError> {
    if len == 0 { Err(ReportError::Empty { owner: owner.to_owned(), what }) } else { Ok(()) }
}

/// Refuses a result with a number anywhere in it that is not finite. JSON would show such a number as null, as it does
/// a value that is absent; the values of CBOR tell the two apart.
///
/// # Errors
/// [`ReportError::NotFinite`] for the first such number, [`ReportError::Numbers`] when the result cannot be gone through.
pub fn all_finite<T: Serialize>(result: &T) -> Result<(), ReportError> {
    fn walk(path: &str, value: &Value) -> Option<(String, f64)> {
        match value {
            Value::Float(number) if !number.is_finite() => Some((path.to_owned(), *number)),
            Value::Array(items) => {
                items.iter().enumerate().find_map(|(i, item)| walk(&format!("{path}[{i}]"), item))
            }
            Value::Map(fields) => fields.iter().find_map(|(key, value)| {
                let key = key.as_text().unwrap_or("?");
                walk(&if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }, value)
            }),
            _ => None,
        }
    }
    match walk("", &Value::serialized(result)?) {
        Some((owner, value)) => Err(ReportError::NotFinite { owner, key: "a number", value }),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Serialize)]
    struct Result {
        absent: Option<f64>,
        bands: Vec<Band>,
    }

    #[test]
    fn what_is_absent_passes_and_what_is_no_number_is_named() {
        let band = Band { low: 1.0, likely: 2.0, high: 3.0 };
        let mut result = Result { absent: None, bands: vec![band, band] };
        all_finite(&result).unwrap();
        result.bands[1].high = f64::INFINITY;
        let said = all_finite(&result).unwrap_err().to_string();
        assert_eq!(said, "a number = inf of bands[1].high is not a finite number, so it cannot be reported");
        result.bands.clear();
        result.absent = Some(f64::NAN);
        assert!(all_finite(&result).unwrap_err().to_string().contains("of absent"), "a NaN is not absence");
    }
}
