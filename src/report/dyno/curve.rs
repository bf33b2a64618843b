//! The compared curve told once: two tables for a person, and CSV.

use super::super::Units;
use super::super::columns::Columns;
use super::super::quantity::digits_for;
use crate::dyno::{ComparedPoint, Judgement};
use crate::report::quantity::Dimension::{Bsfc, Power, Pressure, Pure, Share, Torque};

/// Measured beside estimated.
const MEASURED: [&str; 8] =
    ["speed_rpm", "measured", "low", "likely", "high", "off_likely", "of_the_day", "by_standard"];
/// What the figures imply.
const IMPLIED: [&str; 5] = ["speed_rpm", "crank_torque", "bmep", "implied_ve", "estimated_ve"];

/// Measured beside estimated, for a person.
pub(super) fn measured(j: &Judgement, units: Units) -> String {
    let differ: &[&str] = if j.pulls.len() > 1 { &["differ"] } else { &[] };
    columns(j, units).text_of(&[&MEASURED, differ].concat(), &j.curve)
}

/// What the figures imply, for a person.
pub(super) fn implied(j: &Judgement, units: Units) -> String {
    let mut names = IMPLIED.to_vec();
    if j.curve.iter().any(|p| p.lambda.is_some()) {
        names.push("lambda");
    }
    if j.curve.iter().any(|p| p.bsfc_g_per_kwh.is_some()) {
        names.push("bsfc");
    }
    columns(j, units).text_of(&names, &j.curve)
}

/// Every column, in the order of the CSV.
pub(super) fn columns<'a>(j: &Judgement, units: Units) -> Columns<'a, &'a ComparedPoint> {
    let place = j.place.word();
    let digits = digits_for(j.curve.iter().map(|p| Torque.unit(units).of(p.torque_nm)));
    let mut c = Columns::<&ComparedPoint>::new(units);
    c.number("rpm", Pure, |p| p.speed_rpm).key("speed_rpm", 0);
    c.group_of("torque");
    let measured = c.number("measured", Torque, |p| p.torque_nm).digits(digits);
    measured.key(&format!("measured_{place}_torque"), 2).named("measured");
    c.group_of("measured power");
    let power = c.number("observed", Power, |p| p.power_kw);
    power.key(&format!("measured_{place}_power"), 2).named("of_the_day");
    // The name of the standard without what stands in brackets.
    let standard = j.standard.split(" (").next().unwrap_or(j.standard);
    let power = c.number(&format!("by {standard}"), Power, |p| p.corrected_power_kw);
    power.key(&format!("corrected_{place}_power"), 2).named("by_standard");
    c.group("");
    c.number("differ", Share, |p| p.pull_spread_frac).digits(1).key("pull_spread", 2).named("differ");
    c.group_of("torque");
    for (end, torque_nm) in [
        ("low", (|p| p.estimate_low_torque_nm) as fn(&ComparedPoint) -> f64),
        ("likely", |p| p.estimate_likely_torque_nm),
        ("high", |p| p.estimate_high_torque_nm),
    ] {
        let told = c.number(end, Torque, move |p| torque_nm(p)).digits(digits);
        told.key(&format!("estimate_{end}_{place}_torque"), 2).named(end);
    }
    c.group("");
    c.number("off likely", Share, |p| p.deviation_frac).signed().key("deviation", 2).named("off_likely");
    let crank = c.number("flywheel torque", Torque, |p| p.implied_crank_torque_nm);
    crank.key("implied_crank_torque", 2).named("crank_torque");
    c.number("BMEP", Pressure, |p| p.implied_bmep_bar).key("implied_bmep", 2).named("bmep");
    c.group("VE");
    let implied = c.maybe("implied", Pure, |p| p.implied_volumetric_efficiency).digits(2);
    implied.key("implied_volumetric_efficiency", 4).named("implied_ve");
    let estimated = c.number("estimated", Pure, |p| p.estimate_volumetric_efficiency).digits(2);
    estimated.key("estimate_volumetric_efficiency", 4).named("estimated_ve");
    c.group("");
    c.maybe("logged lambda", Pure, |p| p.lambda).below("-").digits(2).or("").key("lambda", 3);
    c.maybe("BSFC", Bsfc, |p| p.bsfc_g_per_kwh).or("").key("bsfc", 4);
    c
}
