//! Fuel supply and mechanical limits as aligned text, the answer first.

use super::words::{answer, pressure_words, shown};
use crate::fueling::{FuelNeed, Fueling, LB_PER_H_PER_KG_PER_S};
use crate::report::Units;
use crate::report::quantity::{fixed, percent, signed};
use crate::report::table::{Column, Table, head, shorten, wrap};
use crate::report::text::{heading, list};

/// Most characters of a fuel name.
const NAME_LIMIT: usize = 22;

/// The whole text.
pub(super) fn render(f: &Fueling, units: Units) -> String {
    let mut out = header(f, units);
    out += &heading("Answer");
    out.extend(answer(f, units).iter().map(|line| wrap("  ", line)));
    out += &needs(f, units);
    out += &mechanical(f, units);
    for need in &f.needs {
        out += &by_speed(need, units);
    }
    out += &list("What is assumed", assumed(f, units).iter().map(String::as_str));
    out += &list("Cautions", f.cautions.iter().copied());
    out
}

fn header(f: &Fueling, units: Units) -> String {
    let kind = if f.supply.is_direct { "direct" } else { "port" };
    let supply = format!(
        "{kind} injection, {} injectors, {} across them",
        f.supply.injector_count,
        pressure_words(f.supply.fuel_pressure_kpa, units)
    );
    let samples = format!("{} of filling and mixture; high is the 90th percentile", f.samples);
    let weather = format!(
        "{}, {}: sizes hold for this air; colder and denser air needs more in proportion to its density (--air-temp, --pressure)",
        units.temperature_words(f.air_temperature_k),
        units.air_pressure_words(f.air_pressure_pa)
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
    let (volume_unit, _) = units.volume_flow_unit();
    let flow = "largest fuel flow";
    let each = "each injector, rated";
    let mut table = Table::new(vec![
        Column::words("fuel"),
        Column::number("ethanol", "vol %"),
        Column::number("density", "kg/L"),
        Column::number("likely", units.mass_flow_unit()).under(flow),
        Column::number("high", units.mass_flow_unit()).under(flow),
        Column::number("high", volume_unit).under(flow),
        Column::number("vs first", "%").under(flow),
        Column::number("cc/min", "").under(each),
        Column::number("lb/h", "").under(each),
        Column::number("pump", volume_unit),
    ]);
    let first = f.needs.first().map_or(0.0, |n| n.peak_fuel_flow_l_per_h.high);
    for (i, n) in f.needs.iter().enumerate() {
        let more = 100.0 * (n.peak_fuel_flow_l_per_h.high / first - 1.0);
        table.row(vec![
            shorten(&n.fuel, NAME_LIMIT),
            percent(n.ethanol_vol_frac, 0),
            fixed(n.density_15c_kg_per_l, 3),
            fixed(units.mass_flow(n.peak_fuel_flow_kg_per_s.likely), 1),
            fixed(units.mass_flow(n.peak_fuel_flow_kg_per_s.high), 1),
            fixed(units.volume_flow(n.peak_fuel_flow_l_per_h.high), 1),
            if i == 0 { String::new() } else { signed(more, 0) },
            fixed(n.injector_need_cc_per_min.ceil(), 0),
            fixed(n.injector_need_lb_per_h, 1),
            fixed(units.volume_flow(n.pump_need_l_per_h), 0),
        ]);
    }
    let note = "A fuel of uncertain content stands twice: as likely, and at the high end of its range. Sizes are those of the high end of the flow; the pump has its reserve in it.";
    heading("What each fuel needs") + &table.render() + &wrap("  ", note)
}

fn mechanical(f: &Fueling, units: Units) -> String {
    let mut columns =
        vec![Column::words("figure"), Column::number("highest", ""), Column::number("at rpm", "")];
    columns.extend(["production", "sport", "race"].map(|class| Column::number(class, "")));
    columns.extend([Column::words("class"), Column::words("stated limit")]);
    let mut table = Table::new(columns);
    let mut sources = String::new();
    for m in &f.mechanical {
        let figure = shown(m.figure, m.value, units);
        let show = |x: f64| shown(m.figure, x, units).value;
        let bands = m.figure.bands(f.has_several_inlets);
        let mut cells =
            vec![format!("{}, {}", figure.short, figure.unit), figure.value, fixed(m.speed_rpm, 0)];
        cells.extend(bands.map(|b| format!("{}-{}", show(b.low), show(b.high))));
        cells.extend([
            m.standing.short_title().to_owned(),
            m.stated_limit
                .map_or_else(|| "none".to_owned(), |x| show(x) + if m.is_met { "" } else { ", passed" }),
        ]);
        table.row(cells);
        sources += &wrap("  ", &format!("{}: {}.", figure.name, bands[0].source));
    }
    let note = "Piston speed and acceleration at the highest speed of the scenario; bands of piston speed are at peak power. Acceleration is r w2 (1 + r/l), at top dead centre. Peak pressure is that of the mean cycle. Class: the humblest whose band reaches the value; stock: production engines; beyond: past race engines.";
    heading("Mechanical limits") + &table.render() + &wrap("  ", note) + &sources
}

fn by_speed(n: &FuelNeed, units: Units) -> String {
    let (volume_unit, _) = units.volume_flow_unit();
    let mut columns = vec![
        Column::number("rpm", ""),
        Column::number("VE", ""),
        Column::number("air", units.mass_flow_unit()),
        Column::number("likely", units.mass_flow_unit()).under("fuel by mass"),
        Column::number("high", units.mass_flow_unit()).under("fuel by mass"),
        Column::number("likely", volume_unit).under("fuel by volume"),
        Column::number("high", volume_unit).under("fuel by volume"),
    ];
    let has_duty = n.curve.iter().any(|p| p.injector_duty_frac.is_some());
    if has_duty {
        columns.push(Column::number("likely", "%").under("injectors open"));
        columns.push(Column::number("high", "%").under("injectors open"));
    }
    let mut table = Table::new(columns);
    for p in &n.curve {
        let mut cells = vec![
            fixed(p.speed_rpm, 0),
            fixed(p.volumetric_efficiency, 2),
            fixed(units.mass_flow(p.air_flow_kg_per_s.likely), 0),
            fixed(units.mass_flow(p.fuel_flow_kg_per_s.likely), 1),
            fixed(units.mass_flow(p.fuel_flow_kg_per_s.high), 1),
            fixed(units.volume_flow(p.fuel_flow_l_per_h.likely), 1),
            fixed(units.volume_flow(p.fuel_flow_l_per_h.high), 1),
        ];
        if let Some(duty) = p.injector_duty_frac {
            cells.extend([percent(duty.likely, 0), percent(duty.high, 0)]);
        }
        table.row(cells);
    }
    let content = if n.is_high_content { ", the high end of its range" } else { "" };
    let title = format!(
        "{} with {} % ethanol{content}, lambda {}",
        n.fuel,
        percent(n.ethanol_vol_frac, 0),
        fixed(n.lambda, 2)
    );
    heading(&title) + &table.render()
}

fn assumed(f: &Fueling, units: Units) -> Vec<String> {
    let supply = &f.supply;
    let mut lines = vec![
        format!(
            "Injectors are rated at {} with a fluid of {} kg/L (1 lb/h is {} cc/min); flow goes with the root of the pressure across them, {} in use, and mass with the root of the density.",
            pressure_words(supply.rated_pressure_kpa, units),
            fixed(supply.rated_density_kg_per_l, 2),
            fixed(6e4 / (supply.rated_density_kg_per_l * LB_PER_H_PER_KG_PER_S), 2),
            pressure_words(supply.fuel_pressure_kpa, units)
        ),
        format!(
            "Duty limit {} % and pump reserve {} %, from the scenario or common practice (no source). Liquid of 15 C; hot fuel takes 2 to 3 % more volume, out of the reserve.",
            percent(supply.duty_limit_frac, 0),
            percent(supply.pump_reserve_frac, 0)
        ),
        "Left out: dead time of the injectors, cold start, enrichment in transients, what a pump loses with pressure and voltage. State the pump at the pressure in use.".to_owned(),
    ];
    if supply.is_direct {
        lines.push("Direct injection: the injector may be open for a stroke or so and not the whole cycle; the pump is that of the low-pressure side, and the high-pressure pump is not sized.".to_owned());
    }
    lines
}
