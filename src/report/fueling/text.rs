//! Fuel supply and mechanical limits as aligned text, the answer first.

use super::words::{answer, pressure_words, shown};
use crate::estimate::Band;
use crate::fueling::{FuelNeed, Fueling, FuelingPoint, MechanicalLimit};
use crate::report::Units;
use crate::report::columns::Columns;
use crate::report::quantity::Dimension::{
    AirPressure, FuelDensity, MassFlow, Pure, Share, Temperature, VolumeFlow,
};
use crate::report::quantity::{fixed, percent};
use crate::report::table::{head, heading, list, wrap};
use crate::report::words::cautions;

/// Most characters of a fuel name.
const NAME_LIMIT: usize = 22;
/// Temperature at which liquids are said to have their density [K].
const REFERENCE_DENSITY_K: f64 = 288.15;

/// The whole text.
pub(super) fn render(f: &Fueling, units: Units) -> String {
    let mut out = header(f, units);
    out += &heading("Answer");
    out.extend(answer(f, units).iter().map(|line| wrap("  ", line)));
    out += &needs(f, units);
    out += &mechanical(f, units);
    for need in &f.needs {
        out += &by_speed(f, need, units);
    }
    out += &list("What is assumed", assumed(f, units).iter().map(String::as_str));
    out += &list("Cautions", cautions::FUELING.iter().copied());
    out
}

fn header(f: &Fueling, units: Units) -> String {
    let kind = if f.supply.is_direct { "direct" } else { "port" };
    let supply = format!(
        "{kind} injection, {} injectors, {} across them",
        f.supply.injector_count,
        pressure_words(f.supply.fuel_pressure_kpa, units)
    );
    let samples = format!("{} of VE and mixture; high is the 90th percentile", f.samples);
    let weather = format!(
        "{}, {}: sizes hold for this air; colder and denser air needs more in proportion to its density",
        units.words(Temperature, f.air_temperature_k),
        units.words(AirPressure, f.air_pressure_pa)
    );
    head(&[
        ("Scenario", f.scenario.as_str()),
        ("Note", f.note.as_str()),
        ("Fuel", supply.as_str()),
        ("Air", weather.as_str()),
        ("Samples", samples.as_str()),
    ])
}

/// One row per fuel and content.
fn needs(f: &Fueling, units: Units) -> String {
    let first = f.needs.first().map_or(0.0, |n| n.peak_fuel_flow_l_per_h.high);
    let mut c = Columns::<(usize, &FuelNeed)>::new(units);
    c.words("fuel", |(_, n)| n.fuel.clone()).at_most(NAME_LIMIT);
    c.number("ethanol", Share, |(_, n)| n.ethanol_vol_frac).below("vol %");
    c.number("density", FuelDensity, |(_, n)| n.density_15c_kg_per_l);
    c.group("largest fuel flow");
    c.number("likely", MassFlow, |(_, n)| n.peak_fuel_flow_kg_per_s.likely).digits(1);
    c.number("high", MassFlow, |(_, n)| n.peak_fuel_flow_kg_per_s.high).digits(1);
    c.number("high", VolumeFlow, |(_, n)| n.peak_fuel_flow_l_per_h.high).digits(1);
    let more = move |n: &FuelNeed| n.peak_fuel_flow_l_per_h.high / first - 1.0;
    c.maybe("vs first", Share, move |(i, n)| (*i > 0).then(|| more(n))).signed().or("");
    c.group("each injector, rated");
    c.number("cc/min", Pure, |(_, n)| n.injector_need_cc_per_min.ceil());
    c.number("lb/h", Pure, |(_, n)| n.injector_need_lb_per_h).digits(1);
    c.group("");
    c.number("pump", VolumeFlow, |(_, n)| n.pump_need_l_per_h);
    let note = "A fuel of uncertain content is listed twice: as likely, and at the high end of its range. Sizes cover the high end of the flow; the pump includes its reserve.";
    heading("What each fuel needs") + &c.text(f.needs.iter().enumerate()) + &wrap("  ", note)
}

fn mechanical(f: &Fueling, units: Units) -> String {
    let show = |m: &MechanicalLimit, x: f64| shown(m.figure, x, units).value;
    let mut c = Columns::<&MechanicalLimit>::new(units);
    c.words("figure", |m| {
        let figure = shown(m.figure, m.value, units);
        format!("{}, {}", figure.short, figure.unit)
    });
    c.cells("highest", |m| show(m, m.value));
    c.number("at rpm", Pure, |m| m.speed_rpm);
    for (i, class) in ["production", "sport", "race"].into_iter().enumerate() {
        c.cells(class, move |m| {
            let band = m.figure.bands(f.has_several_inlets)[i];
            format!("{}-{}", show(m, band.low), show(m, band.high))
        });
    }
    c.words("class", |m| m.standing.short_title().to_owned());
    c.words("stated limit", |m| {
        let words = |x: f64| show(m, x) + if m.is_met { "" } else { ", over" };
        m.stated_limit.map_or_else(|| "none".to_owned(), words)
    });
    let source = |m: &MechanicalLimit| {
        let source = m.figure.bands(f.has_several_inlets)[0].source;
        wrap("  ", &format!("{}: {source}.", shown(m.figure, m.value, units).name))
    };
    let sources: String = f.mechanical.iter().map(source).collect();
    let note = "Piston speed and acceleration at the highest rpm of the scenario; bands of piston speed are at peak power. Acceleration is r w2 (1 + r/l), at top dead centre. Peak pressure is that of the mean cycle. Class: the lowest class that covers it; stock: production engines; beyond: past the end of race engines.";
    heading("Mechanical limits") + &c.text(&f.mechanical) + &wrap("  ", note) + &sources
}

/// One fuel over rpm for a person; of all fuels and contents for a program.
pub(super) fn curve<'a>(f: &Fueling, units: Units) -> Columns<'a, (&'a FuelNeed, &'a FuelingPoint)> {
    let mut c = Columns::<(&FuelNeed, &FuelingPoint)>::new(units);
    c.words("fuel", |(need, _)| need.fuel.clone()).key("fuel", 0).hidden();
    c.number("ethanol", Share, |(need, _)| need.ethanol_vol_frac).key("ethanol_vol", 1).hidden();
    c.number("rpm", Pure, |(_, p)| p.speed_rpm).key("speed_rpm", 0);
    c.number("VE", Pure, |(_, p)| p.volumetric_efficiency).digits(2).key("volumetric_efficiency", 4);
    c.number("air", MassFlow, |(_, p)| p.air_flow_kg_per_s.likely).key("air_flow_likely", 2);
    c.number("air", MassFlow, |(_, p)| p.air_flow_kg_per_s.high).key("air_flow_high", 2).hidden();
    c.group("fuel by mass");
    c.number("likely", MassFlow, |(_, p)| p.fuel_flow_kg_per_s.likely).digits(1).key("fuel_flow_likely", 3);
    c.number("high", MassFlow, |(_, p)| p.fuel_flow_kg_per_s.high).digits(1).key("fuel_flow_high", 3);
    c.group("fuel by volume");
    c.number("likely", VolumeFlow, |(_, p)| p.fuel_flow_l_per_h.likely).digits(1).key("fuel_flow_likely", 3);
    c.number("high", VolumeFlow, |(_, p)| p.fuel_flow_l_per_h.high).digits(1).key("fuel_flow_high", 3);
    c.group("injectors open");
    let is_stated = f.stated_injectors.is_some();
    for (end, pick) in [("likely", (|b| b.likely) as fn(Band) -> f64), ("high", |b| b.high)] {
        let duty = c.maybe(end, Share, move |(_, p)| p.injector_duty_frac.map(pick));
        duty.key(&format!("injector_duty_{end}"), 2);
        if !is_stated {
            duty.hidden();
        }
    }
    c
}

fn by_speed(f: &Fueling, n: &FuelNeed, units: Units) -> String {
    let content = if n.is_high_content { ", the high end of its range" } else { "" };
    let title = format!(
        "{} with {} % ethanol{content}, lambda {}",
        n.fuel,
        percent(n.ethanol_vol_frac, 0),
        fixed(n.lambda, 2)
    );
    heading(&title) + &curve(f, units).text(n.curve.iter().map(|p| (n, p)))
}

fn assumed(f: &Fueling, units: Units) -> Vec<String> {
    let supply = &f.supply;
    let density = FuelDensity.unit(units);
    let density_unit = density.symbol;
    let mut lines = vec![
        format!(
            "Injectors are rated at {} with a fluid of {} {density_unit} (1 lb/h is {} cc/min); flow goes with the root of the pressure across them, {} in use, and mass with the root of the density.",
            pressure_words(supply.rated_pressure_kpa, units),
            fixed(density.of(supply.rated_density_kg_per_l), 2),
            fixed(1.0 / supply.rated_lb_per_h(1.0), 2),
            pressure_words(supply.fuel_pressure_kpa, units)
        ),
        format!(
            "Duty limit {} % and pump reserve {} %, from the scenario or common practice (no source). Liquid of {}; hot fuel takes 2 to 3 % more volume, which comes out of the reserve.",
            percent(supply.duty_limit_frac, 0),
            percent(supply.pump_reserve_frac, 0),
            units.words(Temperature, REFERENCE_DENSITY_K)
        ),
        "Not included: dead time of the injectors, cold start, enrichment in transients, what a pump loses with pressure and voltage. State the pump at the pressure in use.".to_owned(),
    ];
    if supply.is_direct {
        lines.push("Direct injection: the injector may be open for a stroke or so and not the whole cycle; the pump is that of the low-pressure side, and the high-pressure pump is not sized.".to_owned());
    }
    lines
}
