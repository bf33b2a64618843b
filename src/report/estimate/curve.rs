//! The curve of an estimate told once: every column of its tables in text and page, and of its CSV in their order there.

use crate::estimate::{Band, CurvePoint, Estimate, FuelEstimate};
use crate::report::Units;
use crate::report::columns::Columns;
use crate::report::quantity::Dimension::{
    Bsfc, MassFlow, PistonSpeed, Power, Pressure, Pure, Share, Temperature, Torque,
};
use crate::report::quantity::{digits_for, signed};

/// A fuel at one of its speeds.
pub(in crate::report) type CurveRow<'a> = (&'a FuelEstimate, &'a CurvePoint);

/// Timing, knock and octane.
pub(super) const TIMING: [&str; 12] = [
    "speed_rpm",
    "volumetric_efficiency",
    "lambda",
    "cautious_spark_deg_btdc",
    "spark_deg_btdc",
    "best_torque_spark_deg_btdc",
    "start_knock_probability",
    "knock_probability",
    "ca50_deg_atdc",
    "octane_index",
    "octane_requirement",
    "octane_margin",
];
/// Timing and knock without what lies behind them.
pub(in crate::report) const TIMING_IN_SHORT: [&str; 9] = [
    "speed_rpm",
    "cautious_spark_deg_btdc",
    "spark_deg_btdc",
    "best_torque_spark_deg_btdc",
    "start_knock_probability",
    "knock_probability",
    "margin_at_limit",
    "margin_range",
    "torque_lost_frac",
];
/// Wheel power and crank torque.
pub(in crate::report) const OUTPUT: [&str; 9] = [
    "speed_rpm",
    "start_wheel_power_low",
    "start_wheel_power_likely",
    "start_wheel_power_high",
    "wheel_power_likely",
    "start_crank_torque_low",
    "start_crank_torque_likely",
    "start_crank_torque_high",
    "crank_torque_likely",
];
/// What comes beside them at the likely limit.
pub(super) const AT_LIMIT: [&str; 4] = ["bmep", "mechanical_efficiency", "peak_pressure", "bsfc"];
/// Timing and knock of a fuel at its worst rpm.
pub(in crate::report) const WORST: [&str; 10] = [
    "fuel",
    "worst_rpm",
    "cautious_spark_deg_btdc",
    "spark_deg_btdc",
    "best_torque_spark_deg_btdc",
    "start_knock_probability",
    "knock_probability",
    "margin_at_limit",
    "best_torque_octane_margin",
    "peak_power_lost",
];

/// The same on the first screen.
pub(super) const SCREEN: [&str; 8] = [
    "fuel",
    "worst_rpm",
    "cautious_spark_deg_btdc",
    "spark_deg_btdc",
    "best_torque_spark_deg_btdc",
    "margin_with_range",
    "margin_in_degrees",
    "lost_at_limit",
];

/// Every fuel at each of its speeds.
pub(super) fn rows(e: &Estimate) -> impl Iterator<Item = CurveRow<'_>> {
    e.fuels.iter().flat_map(|fuel| fuel.curve.iter().map(move |point| (fuel, point)))
}

/// Every fuel at its worst rpm.
pub(in crate::report) fn worst(e: &Estimate) -> impl Iterator<Item = CurveRow<'_>> {
    e.fuels.iter().map(|fuel| (fuel, &fuel.curve[fuel.tightest_index]))
}

/// The columns; decimals of power and torque are those of a fuel's largest.
pub(in crate::report) fn columns<'a>(units: Units, curve: &[CurvePoint]) -> Columns<'a, CurveRow<'a>> {
    let mut c = Columns::<CurveRow<'_>>::new(units);
    c.words("fuel", |(f, _)| f.name.clone()).at_most(super::NAME_LIMIT).key("fuel", 0);
    c.number("rpm", Pure, |(_, p)| p.speed_rpm).key("speed_rpm", 0);
    timing(&mut c);
    knock(&mut c);
    pressures(&mut c, units);
    output(&mut c, units, curve);
    c
}

fn timing(c: &mut Columns<'_, CurveRow<'_>>) {
    c.number("worst", Pure, |(_, p)| p.speed_rpm).below("rpm").named("worst_rpm");
    c.number("VE", Pure, |(_, p)| p.volumetric_efficiency)
        .percent()
        .below("%")
        .key("volumetric_efficiency", 4);
    c.number("lambda", Pure, |(_, p)| p.lambda).digits(2).key("lambda", 3);
    c.group("timing, deg BTDC");
    let mut deg = |head: &str, key: &str, value: fn(&CurvePoint) -> Option<f64>| {
        let told = c.maybe(head, Pure, move |(_, p)| value(p)).digits(1).page_digits(0).key(key, 2);
        if key == "spark_deg_btdc" {
            told.marked(|(_, p)| if p.knock_limited { "*" } else { "" });
        }
    };
    deg("limit", "spark_deg_btdc", |p| Some(p.spark_deg_btdc));
    deg("MBT", "best_torque_spark_deg_btdc", |p| Some(p.best_torque_spark_deg_btdc));
    deg("knock", "knock_limited_spark_deg_btdc", |p| p.knock_limited_spark_deg_btdc);
    deg("start", "cautious_spark_deg_btdc", |p| p.cautious_spark_deg_btdc);
    c.group("");
    c.flag("knock_limited", |(_, p)| p.knock_limited);
    c.number("CA50", Pure, |(_, p)| p.ca50_deg_atdc).below("deg ATDC").digits(1).key("ca50_deg_atdc", 2);
}

fn knock(c: &mut Columns<'_, CurveRow<'_>>) {
    c.number("integral", Pure, |(_, p)| p.knock_integral).key("knock_integral", 4);
    c.group("octane number");
    c.number("index", Pure, |(_, p)| p.octane_index).digits(1).key("octane_index", 2);
    c.number("required", Pure, |(_, p)| p.octane_requirement).digits(1).key("octane_requirement", 2);
    c.number("margin", Pure, |(_, p)| p.octane_margin).digits(1).signed().key("octane_margin", 2);
    c.band("limit", Pure, |(_, p)| Some(p.octane_margin_band)).key("octane_margin", 2);
    c.group("octane margin");
    c.number("limit", Pure, |(_, p)| p.octane_margin).digits(1).signed().named("margin_at_limit");
    let range = |(_, p): &CurveRow<'_>| {
        let band = p.octane_margin_band;
        format!("{} to {}", signed(band.low, 0), signed(band.high, 0))
    };
    c.cells("low to high", range).named("margin_range");
    let mbt = c.number("MBT", Pure, |(_, p)| p.best_torque_octane_margin);
    mbt.digits(1).signed().key("best_torque_octane_margin", 2);
    c.group("knock margin at limit (low to high)");
    let octane =
        |(_, p): &CurveRow<'_>| margin_words(Band { likely: p.octane_margin, ..p.octane_margin_band });
    c.cells("octane numbers", octane).named("margin_with_range");
    let degrees = |(_, p): &CurveRow<'_>| p.margin_deg().map_or_else(|| "none".to_owned(), margin_words);
    c.cells("deg of timing", degrees).named("margin_in_degrees");
    c.group("");
    c.number("index", Pure, |(_, p)| p.knock_margin_index).key("knock_margin_index", 4);
    c.number("margin", Pure, |(_, p)| p.spark_margin_deg).below("deg").key("spark_margin_deg", 2);
    c.group("knock, %");
    c.number("limit", Pure, |(_, p)| p.knock_probability).percent().key("knock_probability", 4);
    c.group("");
    let lost = c.number("torque lost to", Pure, |(_, p)| p.torque_lost_frac);
    lost.percent().below("retard, %").digits(1).key("torque_lost_frac", 4);
    let lost = c.number("torque", Pure, |(_, p)| p.torque_lost_frac);
    lost.percent().below("lost, %").digits(1).named("lost_at_limit");
    c.number("lost to", Share, |(f, _)| f.peak_power_lost_frac)
        .below("retard, %")
        .digits(1)
        .named("peak_power_lost");
}

/// A margin with its range.
fn margin_words(band: Band) -> String {
    format!("{} ({} to {})", signed(band.likely, 1), signed(band.low, 0), signed(band.high, 0))
}

fn pressures(c: &mut Columns<'_, CurveRow<'_>>, units: Units) {
    c.number("IMEP", Pressure, |(_, p)| p.imep_net_bar).key("imep_net", 3);
    c.number("FMEP", Pressure, |(_, p)| p.fmep_bar).key("fmep", 3);
    c.number("PMEP", Pressure, |(_, p)| p.pmep_bar).key("pmep", 3);
    c.number("BMEP", Pressure, |(_, p)| p.bmep_bar).key("bmep", 3);
    c.number("peak", Pressure, |(_, p)| p.peak_pressure_bar).digits(0).key("peak_pressure", 3);
    c.number("peak at", Pure, |(_, p)| p.peak_pressure_deg_atdc).key("peak_pressure_deg_atdc", 2);
    c.number("brake", Pure, |(_, p)| p.efficiency_brake).percent().key("efficiency_brake", 4);
    c.number("mech.", Share, |(_, p)| p.mechanical_efficiency).below("eff.,%").named("mechanical_efficiency");
    c.number("heat", Pure, |(_, p)| p.heat_loss_frac).percent().key("heat_loss_frac", 4);
    c.number("residual", Pure, |(_, p)| p.residual_frac).percent().key("residual_frac", 4);
    c.number("exhaust", Temperature, |(_, p)| p.exhaust_temperature_k).key("exhaust_temperature", 0);
    let bsfc = c.number("BSFC", Bsfc, |(_, p)| p.bsfc_g_per_kwh);
    bsfc.key("bsfc", 1 + Bsfc.unit(units).digits);
    // Metric flows per second, as this form has had them from the start.
    for (head, key, digits, flow) in [
        ("air", "air_flow", 5, (|p| p.air_flow_kg_per_s) as fn(&CurvePoint) -> f64),
        ("fuel", "fuel_flow", 6, |p| p.fuel_flow_kg_per_s),
    ] {
        match units {
            Units::Metric => c
                .number(head, Pure, move |(_, p)| flow(p))
                .below("kg/s")
                .key(&format!("{key}_kg_per_s"), digits),
            Units::Us => c.number(head, MassFlow, move |(_, p)| flow(p)).key(key, 2),
        };
    }
    let piston = c.number("piston", PistonSpeed, |(_, p)| p.mean_piston_speed_m_per_s);
    piston.key("mean_piston_speed", if units == Units::Us { 0 } else { 2 });
}

fn output(c: &mut Columns<'_, CurveRow<'_>>, units: Units, curve: &[CurvePoint]) {
    let (torque, power) = (Torque.unit(units), Power.unit(units));
    let torque_digits = digits_for(curve.iter().map(|p| torque.of(p.crank_torque_nm.high)));
    let power_digits = digits_for(curve.iter().map(|p| power.of(p.wheel_power_kw.high)));
    c.group_of("flywheel torque");
    c.band("limit", Torque, |(_, p)| Some(p.crank_torque_nm)).digits(torque_digits).key("crank_torque", 2);
    c.group_of("flywheel power");
    c.band("limit", Power, |(_, p)| Some(p.crank_power_kw)).digits(power_digits).key("crank_power", 2);
    c.group_of("wheel power");
    c.band("limit", Power, |(_, p)| Some(p.wheel_power_kw)).digits(power_digits).key("wheel_power", 2);
    c.group("knock, %");
    let start = c.maybe("start", Pure, |(_, p)| p.start_knock_probability);
    start.percent().key("start_knock_probability", 4);
    c.group("octane margin");
    c.band("start", Pure, |(_, p)| p.start_octane_margin_band).key("start_octane_margin", 2);
    c.group_of("flywheel torque");
    let start = c.band("start", Torque, |(_, p)| p.start_crank_torque_nm);
    start.digits(torque_digits).key("start_crank_torque", 2);
    c.group_of("wheel power");
    let start = c.band("start", Power, |(_, p)| p.start_wheel_power_kw);
    start.digits(power_digits).key("start_wheel_power", 2);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_table_finds_its_columns() {
        let columns = columns(Units::Metric, &[]);
        for name in [&TIMING[..], &TIMING_IN_SHORT, &OUTPUT, &AT_LIMIT, &WORST, &SCREEN].concat() {
            assert!(columns.has(name), "{name}");
        }
    }
}
