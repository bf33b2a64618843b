//! The answer, first in words for the customer, then as a table.

use super::{Report, name_of};
use crate::estimate::{CurvePoint, FuelEstimate};
use crate::report::Units;
use crate::report::estimate::curve;
use crate::report::estimate::peaks::peaks;
use crate::report::quantity::Dimension::Power;
use crate::report::quantity::{band_words, fixed, output_decimals};
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
        (peaks(e, report.units).page("Peak wheel power", &e.fuels))
        (curve::columns(report.units, &[]).page_of("Timing and knock at the worst rpm", &curve::WORST, curve::worst(e)))
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
    let (decimals, unit) = (output_decimals(units.of(Power, limit.high)), units.symbol(Power));
    let Some(start) = fuel.start_peak_power else {
        return html! {
            "On " b { (name_of(&fuel.name)) } ", no ignition timing allowed is safe to start from at some rpm: not for full \
             throttle as built. At its likely knock limit it would give some " (fixed(units.of(Power, limit.likely), decimals)) " " (unit)
            " at the wheels."
        };
    };
    let [low, likely, high] = band_words(start.wheel, |kw| units.of(Power, kw), decimals);
    html! {
        "On " b { (name_of(&fuel.name)) } ", expect " b { (low) " to " (high) " " (unit) } " at the wheels, most likely "
        (likely) " " (unit) ", at the ignition timing to start from: " (retard(fuel)) "knock-free in 9 cases of 10. Tuned to its own \
         knock limit it likely gives " (fixed(units.of(Power, limit.likely), decimals)) " " (unit) "."
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
        let limit = Units::Us.of(Power, fuels[0].peak_power.wheel.likely);
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
