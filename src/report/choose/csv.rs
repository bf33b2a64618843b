//! A choice as CSV: one row per ratio and fuel, units in the header.

use crate::choose::Choice;
use crate::choose::result::RatioRow;
use crate::estimate::Band;
use crate::report::document::csv_text;
use crate::report::quantity::fixed;
use crate::report::{ReportError, Units};

/// The whole CSV document: the ratios of the curve, then the pistons.
pub(super) fn render(choice: &Choice, units: Units) -> Result<String, ReportError> {
    let mut writer = ::csv::Writer::from_writer(Vec::new());
    let power = units.power_key();
    let heads = [
        "what".to_owned(),
        "compression_ratio".to_owned(),
        "fuel".to_owned(),
        format!("fitted_wheel_power_low_{power}"),
        format!("fitted_wheel_power_likely_{power}"),
        format!("fitted_wheel_power_high_{power}"),
        format!("wheel_power_low_{power}"),
        format!("wheel_power_likely_{power}"),
        format!("wheel_power_high_{power}"),
        "retard_deg".to_owned(),
        "torque_lost_percent".to_owned(),
        "best_torque_octane_margin".to_owned(),
        "knock_probability_percent".to_owned(),
        "worst_blend_retard_deg".to_owned(),
        "within_limits".to_owned(),
        format!("start_wheel_power_low_{power}"),
        format!("start_wheel_power_likely_{power}"),
        format!("start_wheel_power_high_{power}"),
        "start_retard_deg".to_owned(),
        "start_knock_probability_percent".to_owned(),
    ];
    writer.write_record(&heads)?;
    let order = choice.order.as_ref().map(|order| order.compression_ratio);
    for row in &choice.curve {
        let what = if order == Some(row.compression_ratio) { "order" } else { "curve" };
        write_row(&mut writer, choice, row, what, units)?;
    }
    for piston in &choice.pistons {
        write_row(&mut writer, choice, &piston.row, "piston", units)?;
    }
    csv_text(writer)
}

/// One record per fuel, and one for the weighted power.
fn write_row(
    writer: &mut ::csv::Writer<Vec<u8>>,
    choice: &Choice,
    row: &RatioRow,
    what: &str,
    units: Units,
) -> Result<(), ReportError> {
    let within = if row.within_limits { "yes" } else { "no" };
    let weighted = (row.fitted_weighted_power_kw, row.weighted_power_kw, row.start_weighted_power_kw);
    let mut records = vec![("weighted", weighted, None)];
    for (i, fuel) in choice.fuels.iter().enumerate() {
        let powers = (row.fitted_power_kw[i], row.power_kw[i], row.start_power_kw[i]);
        records.push((fuel.name.as_str(), powers, Some(&row.fuels[i])));
    }
    let maybe = |value: Option<f64>, decimals: usize| value.map_or_else(String::new, |v| fixed(v, decimals));
    for (fuel, (fitted, power, start), state) in records {
        let mut record = vec![what.to_owned(), fixed(row.compression_ratio, 2), fuel.to_owned()];
        for band in [fitted, power] {
            record.extend([band.low, band.likely, band.high].map(|kw| fixed(units.power(kw), 2)));
        }
        match state {
            Some(state) => record.extend([
                fixed(state.retard_deg, 2),
                fixed(100.0 * state.torque_lost_frac, 2),
                fixed(state.best_torque_octane_margin, 2),
                fixed(100.0 * state.knock_probability, 1),
            ]),
            None => record.extend(vec![String::new(); 4]),
        }
        record.extend([fixed(row.worst_retard_deg, 2), within.to_owned()]);
        let ends: [fn(Band) -> f64; 3] = [|b| b.low, |b| b.likely, |b| b.high];
        record.extend(ends.map(|pick| maybe(start.map(|band| units.power(pick(band))), 2)));
        record.push(maybe(state.and_then(|s| s.start_retard_deg), 2));
        record.push(maybe(state.and_then(|s| s.start_knock_probability).map(|share| 100.0 * share), 1));
        writer.write_record(&record)?;
    }
    Ok(())
}
