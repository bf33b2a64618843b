//! Torque and power against speed, a pair of drawings per fuel.

use super::chart::{Chart, legend};
use super::fuel_charts::{Banded, band_legend};
use super::parts::fold;
use super::{Report, name_of};
use crate::estimate::FuelEstimate;
use crate::report::estimate::curve;
use crate::report::estimate::peaks::peaks;
use crate::report::quantity::Dimension::{Power, Torque};
use crate::report::quantity::{band_words, fixed, output_decimals, percent};
use crate::report::{ReportError, Units};
use maud::{Markup, html};

pub(super) fn section(report: &Report<'_>) -> Result<Markup, ReportError> {
    let (e, units) = (report.estimate, report.units);
    let (torque, power) = (Banded::torque(e, units), Banded::power(e, units));
    let mut drawn = Vec::new();
    for (i, fuel) in e.fuels.iter().enumerate() {
        let name = name_of(&fuel.name);
        let of_torque = torque_words(fuel, units);
        let of_power = power_words(fuel, units);
        for (kind, what, says, panel) in [
            ("torque", "torque at the flywheel", of_torque, torque.panel(i)),
            ("power", "power at the wheels", of_power, power.panel(i)),
        ] {
            let (id, caption) = (format!("{kind}-{i}"), format!("{name}: {what}"));
            drawn.push(Chart { id, caption, says, panel: &panel, large: false }.render()?);
        }
    }
    let tables: Vec<Markup> = e.fuels.iter().map(|fuel| numbers(fuel, units)).collect();
    Ok(html! {
        p {
            "Full throttle, all fuels on the same scales. Peak power lost to retard at the likely limit: " (given_up(&e.fuels)) "."
        }
        (peaks(e, units).page("Peak wheel power at the timing to start from and at the likely limit", &e.fuels))
        (legend(&band_legend())?)
        div .charts { @for chart in &drawn { (chart) } }
        (fold("Numbers of these drawings", false, &html! { @for table in &tables { (table) } }))
    })
}

/// Share of peak power that each fuel loses to retard.
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

/// The peak of wheel power at the timing to start from, and at the likely limit.
pub(super) fn power_words(fuel: &FuelEstimate, units: Units) -> String {
    let unit = units.symbol(Power);
    let decimals = output_decimals(units.of(Power, fuel.peak_power.wheel.high));
    let limit = fixed(units.of(Power, fuel.peak_power.wheel.likely), decimals);
    let Some(start) = fuel.start_peak_power else {
        return format!(
            "Against rpm; the peak is {limit} {unit} at the likely limit; some rpm has no timing to start from."
        );
    };
    let [low, likely, high] = band_words(start.wheel, |kw| units.of(Power, kw), decimals);
    let rpm = fixed(start.speed_rpm, 0);
    format!(
        "Against rpm; the peak is {likely} {unit} at {rpm} rpm at the timing to start from, {low} to {high} {unit} in 8 cases of \
         10, and {limit} {unit} at the likely limit."
    )
}

/// The peak of crank torque at the likely limit.
fn torque_words(fuel: &FuelEstimate, units: Units) -> String {
    let (band, unit) = (fuel.peak_torque.crank, units.symbol(Torque));
    let [low, likely, high] =
        band_words(band, |nm| units.of(Torque, nm), output_decimals(units.of(Torque, band.high)));
    let rpm = fixed(fuel.peak_torque.speed_rpm, 0);
    format!(
        "Against rpm; at the likely limit the peak is {likely} {unit} at {rpm} rpm, {low} to {high} {unit} in 8 cases of 10."
    )
}

fn numbers(fuel: &FuelEstimate, units: Units) -> Markup {
    let caption = format!(
        "{}: wheel power and flywheel torque at the timing to start from and at the likely limit",
        name_of(&fuel.name)
    );
    let rows = fuel.curve.iter().map(|point| (fuel, point));
    curve::columns(units, &fuel.curve).page_of(caption, &curve::OUTPUT, rows)
}
