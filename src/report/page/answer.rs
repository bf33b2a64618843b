//! The answer, first in words for the customer, then as a table.

use super::parts::{DataTable, range_words};
use super::{Report, name_of};
use crate::estimate::{CurvePoint, FuelEstimate};
use crate::report::Units;
use crate::report::quantity::{fixed, output_decimals, signed};
use crate::report::text::{band_cells, largest};
use crate::report::words::{spark_given_up_deg, tightest_as_used};
use maud::{Markup, html};

pub(super) fn section(report: &Report<'_>) -> Markup {
    let e = report.estimate;
    html! {
        @let ends = ends(&e.fuels);
        @for fuel in &ends { p .lead { (sentence(fuel, report.units)) } }
        @if let Some(warning) = unsure(&ends) { p .alert { (warning) } }
        @if e.limit_missed {
            p .alert role="note" {
                strong { "A limit stated in the scenario is not met: " }
                "see " a href="#notes" { "Notices and cautions" } "."
            }
        }
        (table(report).render())
        p .quiet {
            "Eight of ten engines built as described should fall from low to high, one below and one above. The range is \
             the power of the day as stated, after the driveline. Octane in hand is what the fuel resists more than the \
             engine asks for; the likely value and its range of eight in ten."
        }
    }
}

/// The fuels with most and least likely power; one where there is but one.
fn ends(fuels: &[FuelEstimate]) -> Vec<&FuelEstimate> {
    let likely = |fuel: &&FuelEstimate| fuel.peak_power.wheel.likely;
    let most = fuels.iter().max_by(|a, b| likely(a).total_cmp(&likely(b)));
    let least = fuels.iter().min_by(|a, b| likely(a).total_cmp(&likely(b)));
    match (most, least) {
        (Some(most), Some(least)) if most.name != least.name => vec![most, least],
        (most, _) => most.into_iter().collect(),
    }
}

/// What one fuel gives, for someone who is no engine builder.
fn sentence(fuel: &FuelEstimate, units: Units) -> Markup {
    let band = fuel.peak_power.wheel;
    let decimals = output_decimals(units.power(band.high));
    let [low, likely, high] = band_cells(band, |kw| units.power(kw), decimals);
    let unit = units.power_unit();
    html! {
        "On " b { (name_of(&fuel.name)) } ", expect " b { (low) " to " (high) " " (unit) } " at the wheels, most likely "
        (likely) " " (unit) ", " (reserve(fuel)) "."
    }
}

/// How far from knock, in plain words.
fn reserve(fuel: &FuelEstimate) -> String {
    let Some(point) = tightest_as_used(fuel) else { return String::new() };
    if fuel.curve.iter().any(|p| p.knock_limited_spark_deg_btdc.is_none()) {
        return "but not at full throttle as built: at some engine speed this fuel would knock at any spark timing allowed"
            .to_owned();
    }
    let margin = fixed(point.octane_margin, 1);
    if !fuel.curve.iter().any(|p| p.knock_limited) {
        return format!("at its best spark timing and with {margin} octane numbers in reserve against knock");
    }
    let most = fuel.curve.iter().map(spark_given_up_deg).fold(0.0, f64::max);
    let by = if most < 1.0 { "slightly".to_owned() } else { format!("by up to {} degrees", fixed(most, 0)) };
    format!("with the spark held back {by} to keep {margin} octane numbers in reserve against knock")
}

/// A warning where the reserve of some fuels is smaller than what the estimate can be sure of.
fn unsure(fuels: &[&FuelEstimate]) -> Option<String> {
    let tightest = |fuel: &&&FuelEstimate| tightest_as_used(fuel).is_some_and(cannot_be_told);
    let names: Vec<String> = fuels.iter().filter(tightest).map(|fuel| name_of(&fuel.name)).collect();
    let points = fuels.iter().filter(tightest).flat_map(|fuel| &fuel.curve);
    let knocks = points.map(|p| p.knock_probability).fold(0.0, f64::max);
    (!names.is_empty()).then(|| {
        format!(
            "The reserve on {} is smaller than the estimate can be sure of: about {} of ten such engines would knock at \
             that spark. Start from less spark and listen for knock.",
            names.join(" and "),
            fixed((10.0 * knocks).max(1.0), 0)
        )
    })
}

/// Whether a margin is smaller than the half width of its own band.
fn cannot_be_told(point: &CurvePoint) -> bool {
    let band = point.octane_margin_band;
    point.octane_margin < 0.5 * (band.high - band.low)
}

fn table(report: &Report<'_>) -> DataTable {
    let (e, units) = (report.estimate, report.units);
    let unit = units.power_unit();
    let heads = ["fuel", "low", "likely", "high", "at rpm"];
    let torque = format!("peak crank torque, {}", units.torque_unit().replace(' ', "\u{a0}"));
    let more = [torque.as_str(), "spark held back, deg", "octane in hand", "low to high", "tightest at rpm"];
    let mut table = DataTable::new(
        format!("Peak wheel power, {unit}, and reserve against knock"),
        &[&heads[..], &more].concat(),
    );
    let decimals = output_decimals(largest(e.fuels.iter().map(|f| units.power(f.peak_power.wheel.high))));
    let torque_decimals =
        output_decimals(largest(e.fuels.iter().map(|f| units.torque(f.peak_torque.crank.high))));
    for fuel in &e.fuels {
        let mut cells = vec![name_of(&fuel.name)];
        cells.extend(band_cells(fuel.peak_power.wheel, |kw| units.power(kw), decimals));
        cells.push(fixed(fuel.peak_power.speed_rpm, 0));
        cells.push(range_words(fuel.peak_torque.crank, |nm| units.torque(nm), torque_decimals));
        let most = fuel.curve.iter().map(spark_given_up_deg).fold(0.0, f64::max);
        cells.push(fixed(most, 0));
        if let Some(point) = tightest_as_used(fuel) {
            let band = point.octane_margin_band;
            cells.push(signed(point.octane_margin, 1));
            cells.push(format!("{} to {}", signed(band.low, 0), signed(band.high, 0)));
            cells.push(fixed(point.speed_rpm, 0));
        }
        table.row(cells);
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    #[test]
    fn the_customer_reads_a_range_a_fuel_and_a_reserve() {
        let fuels = fixture::estimate().fuels;
        let text = sentence(&fuels[1], Units::Metric).into_string();
        let band = fuels[1].peak_power.wheel;
        assert!(text.starts_with("On <b>pump-b</b>, expect <b>"), "{text}");
        assert!(
            text.contains(&format!("{:.0} to {:.0} kW</b> at the wheels", band.low, band.high)),
            "{text}"
        );
        assert!(text.contains("at its best spark timing and with 5.1 octane numbers in reserve"), "{text}");
        assert_eq!(unsure(&[&fuels[1]]), None);
        let text = sentence(&fuels[0], Units::Us).into_string();
        assert!(
            text.contains(" hp</b>") && text.contains("held back by up to 9 degrees to keep 1.0"),
            "{text}"
        );
        let warning = unsure(&[&fuels[1], &fuels[0]]).unwrap();
        assert!(
            warning.starts_with("The reserve on pump-a is smaller than the estimate can be sure of"),
            "{warning}"
        );
    }

    #[test]
    fn a_fuel_that_would_knock_at_any_spark_is_not_praised() {
        let mut fuel = fixture::estimate().fuels.swap_remove(0);
        fuel.curve[2].knock_limited_spark_deg_btdc = None;
        assert!(sentence(&fuel, Units::Metric).into_string().contains("but not at full throttle as built"));
    }

    #[test]
    fn strongest_fuel_first_and_one_fuel_once() {
        let mut fuels = fixture::estimate().fuels;
        let names: Vec<&str> = ends(&fuels).iter().map(|f| f.name.as_str()).collect();
        assert_eq!(names, ["pump-b", "pump-a"]);
        fuels.truncate(1);
        assert_eq!(ends(&fuels).len(), 1);
    }
}
