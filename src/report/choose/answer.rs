//! The answer of a choice: the order first, then why, then what would allow more.

use super::words::{bound, ignition_if, ignition_words, maximised, ratio, variant_words};
use crate::choose::result::{Order, PistonCheck, RatioRow, UsualBand, VariantKind};
use crate::choose::{Choice, Ignition};
use crate::engine::volumes::SQUISH_RANGE_M;
use crate::engine::volumes::squish::DOME_SHARES;
use crate::estimate::Band;
use crate::estimate::known::DYNO_REPEATS;
use crate::report::Units;
use crate::report::quantity::Dimension::{Length, Power, Pressure};
use crate::report::quantity::ShownUnit;
use crate::report::quantity::{fixed, output_decimals, percent, signed};
use crate::report::table::plain;
use crate::report::words::squish;
use crate::units::PA_PER_BAR;

/// Changes that would allow this much more are named in the answer [ratio], and how many at most.
const WORTH_NAMING: f64 = 0.15;
const NAMED: usize = 3;

/// Gain of power that is worth a word [%].
const WORTH_PERCENT: f64 = 0.5;

/// What there is to say of the ratio to order, a sentence or two each.
pub(in crate::report) fn order_lines(choice: &Choice, order: &Order, units: Units) -> Vec<String> {
    let mut lines = vec![order_line(choice, order)];
    lines.push(practice_line(&order.piston, order.compression_ratio));
    lines.extend(power_line(choice, order, units));
    lines.push(why(order, units));
    lines.push(piston_line(&order.piston, units));
    lines.extend(sensor(choice));
    lines.extend(more(choice, order, units));
    lines.extend(not_stated(choice));
    lines.extend(low_speed(order));
    lines
}

/// What there is to say when no ratio is within the limits.
pub(in crate::report) fn no_order_lines(choice: &Choice) -> Vec<String> {
    let span = format!("{} to {}", ratio(choice.lowest_ratio), ratio(choice.highest_ratio));
    let mut lines = vec![format!(
        "Order nothing yet: no compression ratio from {span} is within the limits. What is over, and what would fix it, is shown below."
    )];
    lines.extend(not_stated(choice));
    lines
}

/// The ratio to order, and what other ignitions would order.
pub(in crate::report) fn order_line(choice: &Choice, order: &Order) -> String {
    let dome = order.piston.dome_m3.map_or_else(String::new, |dome_m3| {
        let what = if dome_m3 < 0.0 { "dish" } else { "dome" };
        format!(" ({what} {} cc with your measured volumes)", fixed(dome_m3.abs() * 1e6, 1))
    });
    let here = order.compression_ratio;
    let one_fuel = choice.fuels.len() == 1;
    let others: Vec<String> = choice
        .ignitions
        .iter()
        .filter(|other| other.ignition != choice.ignition.ignition)
        // On one fuel a map of its own and one map are the same.
        .filter(|other| !one_fuel || other.ignition != Ignition::MapPerFuel)
        .filter_map(|other| Some((other.ignition, other.compression_ratio?)))
        .filter(|(_, there)| (there - here).abs() > 0.05)
        .map(|(ignition, there)| {
            let with = if one_fuel && ignition == Ignition::OneMap {
                "without knock control"
            } else {
                ignition_if(ignition)
            };
            format!("{} {with}", ratio(there))
        })
        .collect();
    let others = if others.is_empty() { String::new() } else { format!("; {}", others.join(", ")) };
    format!("Order {}:1{dome}{others}.", ratio(here))
}

/// The ratio beside what builders and makers run; begins with a warning where it lies outside.
pub(in crate::report) fn practice_line(piston: &PistonCheck, here: f64) -> String {
    let usual = &piston.usual_ratio;
    let band = format!(
        "{} to {} that builders and makers run in {} on {} ({})",
        ratio(usual.low),
        ratio(usual.high),
        piston.class.words(),
        piston.grade.words(),
        piston.usual_ratio_source
    );
    if usual.holds(here) {
        return format!("It is within the {band}.");
    }
    let side = if here > usual.high { "above" } else { "below" };
    format!("WARNING: it is {side} the {band}. Know why before you order it.")
}

/// What the order makes.
pub(in crate::report) fn power_line(choice: &Choice, order: &Order, units: Units) -> Option<String> {
    let row = row_of(choice, order)?;
    let decimals = output_decimals(units.of(Power, row.fitted_weighted_power_kw.high));
    let words = |band: Band| {
        [band.low, band.likely, band.high].map(|kw| fixed(units.of(Power, kw), decimals)).join(" / ")
    };
    let mut line = format!(
        "{}, low / likely / high: {} {} with {}",
        capital(&maximised(choice)),
        words(row.fitted_weighted_power_kw),
        units.symbol(Power),
        ignition_words(choice.ignition.ignition)
    );
    if choice.fuels.len() > 1 {
        line += ", weighted over the fuels";
    }
    if !choice.ignition.ignition.has_knock_control() {
        line += ", timed on the dyno day";
    }
    Some(line + ".")
}

/// The row of the ordered ratio.
pub(in crate::report) fn row_of<'c>(choice: &'c Choice, order: &Order) -> Option<&'c RatioRow> {
    choice.curve.iter().find(|row| row.compression_ratio == order.compression_ratio)
}

fn why(order: &Order, units: Units) -> String {
    let measurable = percent(order.measurable_frac, 1);
    let (here, to) = (ratio(order.compression_ratio), ratio(tenth_below(order.same_to)));
    let flat = if to == here || order.same_to - order.compression_ratio < 0.02 {
        format!("Why: less makes {measurable} % less power or more, and the limits leave no more.")
    } else {
        format!(
            "Why: from {here} to {to} makes no measurable difference, less than {measurable} % of power (a chassis dyno repeats to {} %; \
             most at {}). The lowest of them is the easiest on the fuel.",
            percent(DYNO_REPEATS, 1),
            ratio(tenth_below(order.most_power_ratio))
        )
    };
    let slope = signed(100.0 * order.change_per_tenth_frac, 2);
    format!(
        "{flat} {} At {here} 0.1 more ratio is worth {slope} % of power, and half a ratio needs {} octane numbers more.",
        bound(&order.above, tenth_below(order.same_to), units),
        fixed(0.5 * order.octane_per_ratio, 1)
    )
}

/// The tenth at or below a ratio.
fn tenth_below(ratio: f64) -> f64 {
    (10.0 * ratio + 1e-6).floor() / 10.0
}

/// A value with its unit beside its usual band.
fn beside(value: f64, unit: &str, usual: UsualBand, words: &dyn Fn(f64) -> String) -> String {
    let side = match value {
        v if v > usual.high => ", ABOVE it",
        v if v < usual.low => ", below it",
        _ => "",
    };
    let space = if unit.is_empty() { "" } else { " " };
    format!("{}{space}{unit} (usual {} to {}{side})", words(value), words(usual.low), words(usual.high))
}

fn piston_line(piston: &PistonCheck, units: Units) -> String {
    let tenth = |value: f64| fixed(value, 1);
    let pressure = |pa: f64| fixed(units.of(Pressure, pa / PA_PER_BAR), Pressure.unit(units).digits);
    let mut parts = vec![
        format!(
            "cranking pressure {}",
            beside(
                piston.cranking.likely_gauge_pa,
                units.symbol(Pressure),
                piston.usual_cranking_gauge_pa,
                &pressure
            )
        ),
        format!(
            "effective ratio {} from intake closing, from the seated valve {}",
            tenth(piston.ratio_from_inlet_closing),
            beside(piston.cranking.ratio_from_seated_valve, "", piston.usual_ratio_from_seated_valve, &tenth)
        ),
    ];
    if let Some(share) = piston.dome_share_frac.filter(|share| *share > 0.0) {
        let most = DOME_SHARES.1;
        let side = if share > most { ", ABOVE it" } else { "" };
        parts.push(format!(
            "dome {} % of the chamber (usual up to {}{side})",
            percent(share, 0),
            percent(most, 0)
        ));
    }
    if let Some(squish_m) = piston.squish_clearance_m {
        let (low, high) = SQUISH_RANGE_M;
        let ShownUnit { symbol: unit, digits: decimals, .. } = Length.unit(units);
        let length = |m: f64| fixed(units.of(Length, m), decimals);
        parts.push(format!("{} {}", squish(units), beside(squish_m, unit, UsualBand { low, high }, &length)));
    }
    let tolerance = piston.measured_ratio_tolerance.map_or_else(String::new, |tolerance| {
        format!(" Your measurements give a ratio to {} either way.", fixed(tolerance, 2))
    });
    format!("At that ratio: {}.{tolerance}", parts.join("; "))
}

/// What a fuel sensor with a map per fuel is worth; nothing on one fuel, or with knock control.
fn sensor(choice: &Choice) -> Option<String> {
    if choice.ignition.ignition.has_knock_control() {
        return None;
    }
    let of = |ignition: Ignition| choice.ignitions.iter().find(|worth| worth.ignition == ignition);
    let (own, one) = (of(Ignition::MapPerFuel)?, of(Ignition::OneMap)?);
    let pairs = choice.fuels.iter().zip(own.power_kw_there.iter().zip(&one.power_kw_there));
    let gains = pairs.map(|(fuel, (own, one))| (plain(&fuel.name), 100.0 * (own / one - 1.0)));
    let gains: Vec<String> = gains
        .filter(|(_, gain)| *gain >= WORTH_PERCENT)
        .map(|(name, gain)| format!("{} % on {name}", signed(gain, 1)))
        .collect();
    (!gains.is_empty()).then(|| {
        format!(
            "A fuel sensor with a map per fuel is worth {} against one map for all fuels, each at its own order.",
            gains.join(", ")
        )
    })
}

/// What would allow more ratio.
fn more(choice: &Choice, order: &Order, units: Units) -> Option<String> {
    let mut gains: Vec<(f64, VariantKind)> = choice
        .variants
        .iter()
        .filter(|v| !matches!(v.kind, VariantKind::NeedsLess { .. } | VariantKind::Ignition { .. }))
        .filter_map(|v| Some((v.compression_ratio? - order.compression_ratio, v.kind)))
        .filter(|(gain, _)| *gain > WORTH_NAMING)
        .collect();
    gains.sort_by(|a, b| b.0.total_cmp(&a.0));
    let ways: Vec<String> = gains
        .into_iter()
        .take(NAMED)
        .map(|(gain, kind)| {
            format!("{} ({})", variant_words(&kind, choice, units), ratio(order.compression_ratio + gain))
        })
        .collect();
    (!ways.is_empty()).then(|| format!("What would allow more: {}.", ways.join("; ")))
}

/// What stands for the ignition where it is not stated.
pub(in crate::report) fn not_stated(choice: &Choice) -> Option<String> {
    (!choice.ignition.stated).then(|| {
        format!(
            "The ignition is not stated: {} is taken, a judgement.",
            ignition_words(choice.ignition.ignition)
        )
    })
}

fn low_speed(order: &Order) -> Option<String> {
    let low = order.low_speed.as_ref().filter(|low| low.retard_deg >= 1.0)?;
    Some(format!(
        "Below peak torque retard is not limited: at {} rpm the weakest tank on the hot day has its knock limit {} deg late of MBT timing at \
         full throttle. It pings there first.",
        fixed(low.speed_rpm, 0),
        fixed(low.retard_deg, 0)
    ))
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
