//! The estimate as CSV: one row per fuel and speed, units in the header.

use super::document::csv_text;
use super::quantity::fixed;
use super::{ReportError, Units};
use crate::estimate::{Band, CurvePoint, Estimate, FuelEstimate};

/// What a column shows of a point; none leaves the cell empty.
type Value = Box<dyn Fn(&CurvePoint) -> Option<f64>>;

/// One end of a band, or its middle.
type End = fn(Band) -> f64;

/// One column: its name with unit, its value at a point, and its decimals.
struct Column {
    name: String,
    value: Value,
    decimals: usize,
}

/// The whole CSV document.
pub(super) fn render(estimate: &Estimate, units: Units) -> Result<String, ReportError> {
    let columns = columns(units);
    let mut writer = ::csv::Writer::from_writer(Vec::new());
    writer.write_field("fuel")?;
    for column in &columns {
        writer.write_field(&column.name)?;
    }
    writer.write_record(None::<&[u8]>)?;
    for fuel in &estimate.fuels {
        write_fuel(&mut writer, &columns, fuel)?;
    }
    csv_text(writer)
}

fn write_fuel(
    writer: &mut ::csv::Writer<Vec<u8>>,
    columns: &[Column],
    fuel: &FuelEstimate,
) -> Result<(), ReportError> {
    for point in &fuel.curve {
        writer.write_field(&fuel.name)?;
        for column in columns {
            let value = (column.value)(point);
            writer.write_field(value.map_or_else(String::new, |v| fixed(v, column.decimals)))?;
        }
        writer.write_record(None::<&[u8]>)?;
    }
    Ok(())
}

fn columns(units: Units) -> Vec<Column> {
    let mut columns = spark_and_knock();
    columns.extend(pressures(units));
    columns.extend(output(units));
    columns.extend(start(units));
    columns
}

fn number(name: impl Into<String>, decimals: usize, value: impl Fn(&CurvePoint) -> f64 + 'static) -> Column {
    Column { name: name.into(), decimals, value: Box::new(move |p| Some(value(p))) }
}

/// A number that a point need not have.
fn maybe(
    name: impl Into<String>,
    decimals: usize,
    value: impl Fn(&CurvePoint) -> Option<f64> + 'static,
) -> Column {
    Column { name: name.into(), decimals, value: Box::new(value) }
}

fn spark_and_knock() -> Vec<Column> {
    let mut columns = vec![
        number("speed_rpm", 0, |p| p.speed_rpm),
        number("volumetric_efficiency", 4, |p| p.volumetric_efficiency),
        number("lambda", 3, |p| p.lambda),
        number("spark_deg_btdc", 2, |p| p.spark_deg_btdc),
        number("best_torque_spark_deg_btdc", 2, |p| p.best_torque_spark_deg_btdc),
        maybe("knock_limited_spark_deg_btdc", 2, |p| p.knock_limited_spark_deg_btdc),
        maybe("cautious_spark_deg_btdc", 2, |p| p.cautious_spark_deg_btdc),
        number("knock_limited", 0, |p| if p.knock_limited { 1.0 } else { 0.0 }),
        number("ca50_deg_atdc", 2, |p| p.ca50_deg_atdc),
        number("knock_integral", 4, |p| p.knock_integral),
        number("octane_index", 2, |p| p.octane_index),
        number("octane_requirement", 2, |p| p.octane_requirement),
        number("octane_margin", 2, |p| p.octane_margin),
    ];
    columns.extend(band("octane_margin", "", 2, |p| p.octane_margin_band));
    columns.extend([
        number("best_torque_octane_margin", 2, |p| p.best_torque_octane_margin),
        number("knock_margin_index", 4, |p| p.knock_margin_index),
        number("spark_margin_deg", 2, |p| p.spark_margin_deg),
        number("knock_probability", 4, |p| p.knock_probability),
        number("torque_lost_frac", 4, |p| p.torque_lost_frac),
    ]);
    columns
}

fn pressures(units: Units) -> Vec<Column> {
    let unit = units.pressure_unit();
    let mep = move |name: &str, value: fn(&CurvePoint) -> f64| {
        number(format!("{name}_{unit}"), 3, move |p| units.pressure(value(p)))
    };
    vec![
        mep("imep_net", |p| p.imep_net_bar),
        mep("fmep", |p| p.fmep_bar),
        mep("pmep", |p| p.pmep_bar),
        mep("bmep", |p| p.bmep_bar),
        mep("peak_pressure", |p| p.peak_pressure_bar),
        number("peak_pressure_deg_atdc", 2, |p| p.peak_pressure_deg_atdc),
        number("efficiency_brake", 4, |p| p.efficiency_brake),
        number("heat_loss_frac", 4, |p| p.heat_loss_frac),
        number("residual_frac", 4, |p| p.residual_frac),
        number(format!("exhaust_temperature_{}", units.temperature_key()), 0, move |p| {
            units.temperature(p.exhaust_temperature_k)
        }),
        number(format!("bsfc_{}", units.bsfc_key()), 1 + units.bsfc_decimals(), move |p| {
            units.bsfc(p.bsfc_g_per_kwh)
        }),
        number("air_flow_kg_per_s", 5, |p| p.air_flow_kg_per_s),
        number("fuel_flow_kg_per_s", 6, |p| p.fuel_flow_kg_per_s),
        number("mean_piston_speed_m_per_s", 2, |p| p.mean_piston_speed_m_per_s),
    ]
}

fn output(units: Units) -> Vec<Column> {
    let torque = move |b: Band| converted(b, |nm| units.torque(nm));
    let power = move |b: Band| converted(b, |kw| units.power(kw));
    let mut columns = Vec::new();
    columns.extend(band("crank_torque", units.torque_key(), 2, move |p| torque(p.crank_torque_nm)));
    columns.extend(band("crank_power", units.power_key(), 2, move |p| power(p.crank_power_kw)));
    columns.extend(band("wheel_power", units.power_key(), 2, move |p| power(p.wheel_power_kw)));
    columns
}

/// What comes at the timing to start from, in columns after those of the likely limit.
fn start(units: Units) -> Vec<Column> {
    let (torque, power) = (units.torque_key(), units.power_key());
    let ends: [(&str, End); 3] = [("low", |b| b.low), ("likely", |b| b.likely), ("high", |b| b.high)];
    let mut columns = vec![maybe("start_knock_probability", 4, |p| p.start_knock_probability)];
    columns.extend(ends.map(|(end, pick)| {
        maybe(format!("start_octane_margin_{end}"), 2, move |p| p.start_octane_margin_band.map(pick))
    }));
    columns.extend(ends.map(|(end, pick)| {
        maybe(format!("start_crank_torque_{end}_{torque}"), 2, move |p| {
            p.start_crank_torque_nm.map(|b| units.torque(pick(b)))
        })
    }));
    columns.extend(ends.map(|(end, pick)| {
        maybe(format!("start_wheel_power_{end}_{power}"), 2, move |p| {
            p.start_wheel_power_kw.map(|b| units.power(pick(b)))
        })
    }));
    columns
}

fn converted(band: Band, convert: impl Fn(f64) -> f64) -> Band {
    Band { low: convert(band.low), likely: convert(band.likely), high: convert(band.high) }
}

fn band(
    name: &str,
    unit: &str,
    decimals: usize,
    value: impl Fn(&CurvePoint) -> Band + Copy + 'static,
) -> [Column; 3] {
    let end = if unit.is_empty() { String::new() } else { format!("_{unit}") };
    [
        number(format!("{name}_low{end}"), decimals, move |p| value(p).low),
        number(format!("{name}_likely{end}"), decimals, move |p| value(p).likely),
        number(format!("{name}_high{end}"), decimals, move |p| value(p).high),
    ]
}
