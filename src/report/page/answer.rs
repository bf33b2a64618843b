//! The answer, first in words for the customer, then as a table.

use super::parts::{DataTable, range_words};
use super::{Report, name_of};
use crate::estimate::{CurvePoint, FuelEstimate};
use crate::report::Units;
use crate::report::quantity::{fixed, output_decimals, percent, signed};
use crate::report::text::{band_cells, largest, maybe, maybe_band_cells};
use crate::report::words::{start_retard_deg, tightest_as_used};
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
        (power_table(report).render())
        (timing_table(&e.fuels).render())
        p .quiet {
            "Start: the timing to start from, knock-free in 9 cases of 10, all cases at this one timing. Limit: the likely knock \
             limit, MBT timing at most, each case tuned to its own. Eight of ten engines built as described should fall from low to \
             high, one below and one above; the power is uncorrected, after the driveline. The knock margin is what the fuel resists \
             more than the engine asks for."
        }
    }
}

/// The fuels with most and least likely power; one where there is but one.
fn ends(fuels: &[FuelEstimate]) -> Vec<&FuelEstimate> {
    let likely = |fuel: &&FuelEstimate| fuel.start_peak_power.unwrap_or(fuel.peak_power).wheel.likely;
    let most = fuels.iter().max_by(|a, b| likely(a).total_cmp(&likely(b)));
    let least = fuels.iter().min_by(|a, b| likely(a).total_cmp(&likely(b)));
    match (most, least) {
        (Some(most), Some(least)) if most.name != least.name => vec![most, least],
        (most, _) => most.into_iter().collect(),
    }
}

/// What one fuel gives, for someone who is no engine builder.
fn sentence(fuel: &FuelEstimate, units: Units) -> Markup {
    let limit = fuel.peak_power.wheel;
    let (decimals, unit) = (output_decimals(units.power(limit.high)), units.power_unit());
    let Some(start) = fuel.start_peak_power else {
        return html! {
            "On " b { (name_of(&fuel.name)) } ", no ignition timing allowed is safe to start from at some engine speed: not for full \
             throttle as built. At its likely knock limit it would give some " (fixed(units.power(limit.likely), decimals)) " " (unit)
            " at the wheels."
        };
    };
    let [low, likely, high] = band_cells(start.wheel, |kw| units.power(kw), decimals);
    html! {
        "On " b { (name_of(&fuel.name)) } ", expect " b { (low) " to " (high) " " (unit) } " at the wheels, most likely "
        (likely) " " (unit) ", at the ignition timing to start from: " (retard(fuel)) "knock-free in 9 cases of 10. Tuned to its own \
         knock limit it likely gives " (fixed(units.power(limit.likely), decimals)) " " (unit) "."
    }
}

/// How far from MBT timing the start is, in plain words.
fn retard(fuel: &FuelEstimate) -> String {
    let most = fuel.curve.iter().filter_map(start_retard_deg).fold(0.0, f64::max);
    match fixed(most, 0).as_str() {
        "0" => "the best for torque, and ".to_owned(),
        most => format!("up to {most} degrees retarded from the best for torque, and "),
    }
}

/// A warning where the limit of some fuels is closer to knock than what the estimate can be sure of.
fn unsure(fuels: &[&FuelEstimate]) -> Option<String> {
    let tightest = |fuel: &&&FuelEstimate| tightest_as_used(fuel).is_some_and(cannot_be_told);
    let names: Vec<String> = fuels.iter().filter(tightest).map(|fuel| name_of(&fuel.name)).collect();
    let points = fuels.iter().filter(tightest).flat_map(|fuel| &fuel.curve);
    let knocks = points.map(|p| p.knock_probability).fold(0.0, f64::max);
    (!names.is_empty()).then(|| {
        format!(
            "Do not set the likely limit on {} right away: about {} of ten such engines would knock there. Start retarded, listen for \
             knock and add timing.",
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

fn power_table(report: &Report<'_>) -> DataTable {
    let (e, units) = (report.estimate, report.units);
    let torque = format!("peak crank torque at limit, {}", units.torque_unit().replace(' ', "\u{a0}"));
    let start = ["low at start", "likely at start", "high at start", "at rpm"];
    let limit = ["likely at limit", "low to high at limit", torque.as_str()];
    let heads = [&["fuel"], &start[..], &limit].concat();
    let mut table = DataTable::new(format!("Peak wheel power, {}", units.power_unit()), &heads);
    let decimals = output_decimals(largest(e.fuels.iter().map(|f| units.power(f.peak_power.wheel.high))));
    let torque_decimals =
        output_decimals(largest(e.fuels.iter().map(|f| units.torque(f.peak_torque.crank.high))));
    for fuel in &e.fuels {
        let (start, limit) = (fuel.start_peak_power, fuel.peak_power.wheel);
        let mut cells = vec![name_of(&fuel.name)];
        cells.extend(maybe_band_cells(start.map(|s| s.wheel), |kw| units.power(kw), decimals));
        cells.extend([
            maybe(start.map(|s| s.speed_rpm), 0),
            fixed(units.power(limit.likely), decimals),
            range_words(limit, |kw| units.power(kw), decimals),
            range_words(fuel.peak_torque.crank, |nm| units.torque(nm), torque_decimals),
        ]);
        table.row(cells);
    }
    table
}

fn timing_table(fuels: &[FuelEstimate]) -> DataTable {
    let heads = [
        "fuel",
        "worst rpm",
        "timing to start from",
        "likely limit",
        "MBT timing",
        "knock at start, % of cases",
        "knock at limit, % of cases",
        "knock margin at limit, octane numbers",
        "low to high",
    ];
    let mut table = DataTable::new("Timing, deg BTDC, and knock at the worst rpm", &heads);
    for fuel in fuels {
        let p = &fuel.curve[fuel.tightest_index];
        let band = p.octane_margin_band;
        table.row(vec![
            name_of(&fuel.name),
            fixed(p.speed_rpm, 0),
            maybe(p.cautious_spark_deg_btdc, 0),
            fixed(p.spark_deg_btdc, 0),
            fixed(p.best_torque_spark_deg_btdc, 0),
            maybe(p.start_knock_probability.map(|share| 100.0 * share), 0),
            percent(p.knock_probability, 0),
            signed(p.octane_margin, 1),
            format!("{} to {}", signed(band.low, 0), signed(band.high, 0)),
        ]);
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    #[test]
    fn the_customer_reads_a_range_a_fuel_and_how_far_to_trust_it() {
        let fuels = fixture::estimate().fuels;
        let text = sentence(&fuels[1], Units::Metric).into_string();
        let band = fuels[1].start_peak_power.unwrap().wheel;
        assert!(text.starts_with("On <b>pump-b</b>, expect <b>"), "{text}");
        assert!(
            text.contains(&format!("{:.0} to {:.0} kW</b> at the wheels", band.low, band.high)),
            "{text}"
        );
        assert!(text.contains("the best for torque, and knock-free in 9 cases of 10"), "{text}");
        assert_eq!(unsure(&[&fuels[1]]), None);
        let text = sentence(&fuels[0], Units::Us).into_string();
        assert!(text.contains(" hp</b>") && text.contains("up to 12 degrees retarded"), "{text}");
        let limit = Units::Us.power(fuels[0].peak_power.wheel.likely);
        assert!(text.ends_with(&format!("it likely gives {limit:.0} hp.")), "{text}");
        let warning = unsure(&[&fuels[1], &fuels[0]]).unwrap();
        assert!(
            warning.starts_with("Do not set the likely limit on pump-a right away: about 4 of ten"),
            "{warning}"
        );
    }

    #[test]
    fn a_fuel_without_a_timing_to_start_from_is_not_praised() {
        let mut fuel = fixture::estimate().fuels.swap_remove(0);
        fuel.curve[2].cautious_spark_deg_btdc = None;
        fuel.start_peak_power = None;
        assert!(sentence(&fuel, Units::Metric).into_string().contains("not for full throttle as built"));
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
