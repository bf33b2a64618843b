//! Torque and power against speed, a pair of drawings per fuel.

use super::chart::{Chart, legend};
use super::fuel_charts::{Banded, band_legend};
use super::parts::{DataTable, fold};
use super::{Report, name_of};
use crate::estimate::{Band, FuelEstimate};
use crate::report::ReportError;
use crate::report::quantity::{fixed, output_decimals, percent};
use crate::report::text::band_cells;
use maud::{Markup, html};

pub(super) fn section(report: &Report<'_>) -> Result<Markup, ReportError> {
    let (e, units) = (report.estimate, report.units);
    let (torque, power) = (Banded::torque(e, units), Banded::power(e, units));
    let mut drawn = Vec::new();
    for (i, fuel) in e.fuels.iter().enumerate() {
        let name = name_of(&fuel.name);
        let of_torque = peak_words(
            fuel.peak_torque.crank,
            fuel.peak_torque.speed_rpm,
            |nm| units.torque(nm),
            units.torque_unit(),
        );
        let of_power = peak_words(
            fuel.peak_power.wheel,
            fuel.peak_power.speed_rpm,
            |kw| units.power(kw),
            units.power_unit(),
        );
        for (kind, what, says, panel) in [
            ("torque", "torque at the crank", of_torque, torque.panel(i)),
            ("power", "power at the wheels", of_power, power.panel(i)),
        ] {
            let (id, caption) = (format!("{kind}-{i}"), format!("{name}: {what}"));
            drawn.push(Chart { id, caption, says, panel: &panel, large: false }.render()?);
        }
    }
    let tables: Vec<Markup> = e.fuels.iter().map(|fuel| numbers(report, fuel)).collect();
    Ok(html! {
        p {
            "Full throttle, all fuels on the same scales. Peak power given up to knock: " (given_up(&e.fuels)) "."
        }
        (legend(&band_legend())?)
        div .charts { @for chart in &drawn { (chart) } }
        (fold("Numbers of these drawings", false, &html! { @for table in &tables { (table) } }))
    })
}

/// Share of peak power that each fuel gives up to knock.
fn given_up(fuels: &[FuelEstimate]) -> String {
    let share = |fuel: &FuelEstimate| match percent(fuel.peak_power_lost_frac, 1).as_str() {
        "0.0" => None,
        lost => Some(format!("{lost} %")),
    };
    if fuels.iter().all(|fuel| share(fuel).is_none()) {
        return "none on any fuel".to_owned();
    }
    let words = |fuel: &FuelEstimate| {
        format!("{} {}", name_of(&fuel.name), share(fuel).unwrap_or_else(|| "none".to_owned()))
    };
    fuels.iter().map(words).collect::<Vec<_>>().join(", ")
}

fn peak_words(band: Band, speed_rpm: f64, convert: impl Fn(f64) -> f64, unit: &str) -> String {
    let decimals = output_decimals(convert(band.high));
    let [low, likely, high] = band_cells(band, convert, decimals);
    let rpm = fixed(speed_rpm, 0);
    format!(
        "Against engine speed; the peak is {likely} {unit} at {rpm} rpm, {low} to {high} {unit} over the unknowns."
    )
}

fn numbers(report: &Report<'_>, fuel: &FuelEstimate) -> Markup {
    let units = report.units;
    let caption = format!(
        "{}: crank torque, {}, and wheel power, {}",
        name_of(&fuel.name),
        units.torque_unit(),
        units.power_unit()
    );
    let heads =
        ["rpm", "torque low", "torque likely", "torque high", "power low", "power likely", "power high"];
    let mut table = DataTable::new(caption, &heads);
    let torque_decimals = output_decimals(units.torque(fuel.peak_torque.crank.high));
    let power_decimals = output_decimals(units.power(fuel.peak_power.wheel.high));
    for p in &fuel.curve {
        let mut cells = vec![fixed(p.speed_rpm, 0)];
        cells.extend(band_cells(p.crank_torque_nm, |nm| units.torque(nm), torque_decimals));
        cells.extend(band_cells(p.wheel_power_kw, |kw| units.power(kw), power_decimals));
        table.row(cells);
    }
    table.render()
}
