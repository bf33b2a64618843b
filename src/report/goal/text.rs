//! A goal as aligned text, the answer first.

use super::words::{answer, chance_words, digits, error_words, power_words, verdict_word};
use crate::engine::Figure;
use crate::goal::{Goal, Reading};
use crate::report::Units;
use crate::report::quantity::{fixed, signed};
use crate::report::table::{Column, Table, band_columns, head, shorten, wrap};
use crate::report::text::{band_cells, heading, list};

/// Most characters of a fuel name and of a change.
const NAME_LIMIT: usize = 26;
const CHANGE_LIMIT: usize = 47;

/// The whole text.
pub(super) fn render(goal: &Goal, units: Units) -> String {
    let mut out = header(goal, units);
    out += &heading("Answer");
    out.extend(answer(goal, units).iter().map(|line| wrap("  ", line)));
    out += &chances(goal, units);
    out += &demand(goal, units);
    out += &bands(goal, units);
    out += &changes(goal, units);
    out += &together(goal, units);
    out += &list("Cautions", goal.cautions.iter().copied());
    out
}

fn header(goal: &Goal, units: Units) -> String {
    let wanted = format!(
        "{} at the wheels, judged on {}, the first fuel of the list",
        power_words(goal.wheel_power_kw, units),
        goal.fuel
    );
    let samples =
        format!("{}, seed {}; low and high are the 10th and 90th percentile", goal.samples, goal.seed);
    head(&[
        ("Scenario", goal.scenario.as_str()),
        ("Note", goal.note.as_str()),
        ("Goal", wanted.as_str()),
        ("Breathing", goal.breathing_source.as_str()),
        ("Driveline", goal.driveline_source.as_str()),
        ("Samples", samples.as_str()),
    ])
}

fn chances(goal: &Goal, units: Units) -> String {
    let power = format!("peak wheel power as it is, {}", units.power_unit());
    let mut columns = vec![Column::words("fuel")];
    columns.extend(band_columns(&power));
    columns.push(Column::number("at", "rpm").under(&power));
    columns.push(Column::number("share", "").under("samples that reach it"));
    columns.push(Column::number("std error", "").under("samples that reach it"));
    columns.push(Column::words("verdict"));
    let mut table = Table::new(columns);
    for (i, chance) in goal.chances.iter().enumerate() {
        let verdict = if i == 0 { goal.verdict } else { chance.verdict };
        let wheel = chance.wheel_power_kw;
        let mut cells = vec![shorten(&chance.fuel, NAME_LIMIT)];
        cells.extend(band_cells(wheel, |kw| units.power(kw), digits(wheel.low)));
        cells.extend([
            fixed(chance.speed_rpm, 0),
            chance_words(chance.chance_frac, goal.samples),
            error_words(chance.chance_standard_error_frac),
            verdict_word(verdict).to_owned(),
        ]);
        table.row(cells);
    }
    heading("Chance of the build as it is") + &table.render() + &wrap("  ", THRESHOLDS)
}

const THRESHOLDS: &str = "Already reached: 90 % of the samples or more; likely: the likely case reaches it; possible: 10 % or more; unlikely: less; not credible: less, and no combination of credible changes reaches it in the likely case. Standard errors are in points.";

fn demand(goal: &Goal, units: Units) -> String {
    let (piston, piston_decimals) = units.piston_speed_unit();
    let bmep = format!("BMEP, {}", units.pressure_unit());
    let mut columns = vec![Column::number("rpm", "")];
    columns.push(Column::number("crank", units.power_unit()));
    columns.push(Column::number("asked", "").under(&bmep));
    columns.push(Column::number("as it is", "").under(&bmep));
    columns.push(Column::words("class").under(&bmep));
    columns.push(Column::number("asked", "").under("filling (VE)"));
    columns.push(Column::words("class").under("filling (VE)"));
    columns.push(Column::number("air", units.mass_flow_unit()).under("flow"));
    columns.push(Column::number("fuel", units.mass_flow_unit()).under("flow"));
    columns.push(Column::number("piston", piston).under("speed"));
    columns.push(Column::words("class").under("speed"));
    let mut table = Table::new(columns);
    for p in &goal.demand {
        table.row(vec![
            fixed(p.speed_rpm, 0),
            fixed(units.power(p.crank_power_kw.likely), digits(p.crank_power_kw.low)),
            fixed(units.pressure(p.bmep_bar.likely), units.mep_decimals()),
            fixed(units.pressure(p.build_bmep_bar), units.mep_decimals()),
            p.bmep_standing.short_title().to_owned(),
            format!("{}{}", fixed(p.volumetric_efficiency, 2), if p.fuel_allows_it { " " } else { "*" }),
            p.volumetric_efficiency_standing.short_title().to_owned(),
            fixed(units.mass_flow(p.air_flow_kg_per_s), 0),
            fixed(units.mass_flow(p.fuel_flow_kg_per_s), 1),
            fixed(units.piston_speed(p.mean_piston_speed_m_per_s), piston_decimals),
            p.mean_piston_speed_standing.short_title().to_owned(),
        ]);
    }
    let title = format!("What it asks at each speed on {}, likely driveline loss", goal.fuel);
    heading(&title) + &table.render() + &wrap("  ", DEMAND_NOTE)
}

const DEMAND_NOTE: &str = "Class: the humblest whose band still reaches the value; stock: production engines; beyond: past the end of race engines. The bands of BMEP and filling are those of the best speed of an engine: at peak power filling is usually 0.85 to 0.97 of its best (common practice, no source), so that a class there is the least. Filling and flows are those at the spark that knock then allows; *: knock on this fuel leaves no spark for it, or it is far beyond the build, and they are in proportion to the build as it is.";

fn bands(goal: &Goal, units: Units) -> String {
    let mut columns = vec![Column::words("band of")];
    columns.extend(["production", "sport", "race"].map(|class| Column::number(class, "")));
    columns.push(Column::words("source"));
    let mut table = Table::new(columns);
    let (piston, piston_decimals) = units.piston_speed_unit();
    type Show<'a> = Box<dyn Fn(f64) -> String + 'a>;
    let figures: [(Figure, String, Show<'_>); 4] = [
        (
            Figure::Bmep,
            format!("peak BMEP, {}", units.pressure_unit()),
            Box::new(|x| fixed(units.pressure(x), units.mep_decimals())),
        ),
        (Figure::VolumetricEfficiency, "peak filling (VE)".to_owned(), Box::new(|x| fixed(x, 2))),
        (
            Figure::MeanPistonSpeed,
            format!("piston speed at peak power, {piston}"),
            Box::new(move |x| fixed(units.piston_speed(x), piston_decimals)),
        ),
        (
            Figure::SpecificPower,
            format!("crank power per litre, {}", units.power_unit()),
            Box::new(|x| fixed(units.power(x), 0)),
        ),
    ];
    let mut sources: Vec<&str> = Vec::new();
    for (figure, name, show) in figures {
        let bands = figure.bands(goal.has_several_inlets);
        let source = bands[0].source;
        let nth = sources.iter().position(|s| *s == source).unwrap_or_else(|| {
            sources.push(source);
            sources.len() - 1
        });
        let mut cells = vec![name];
        cells.extend(bands.map(|b| format!("{} to {}", show(b.low), show(b.high))));
        cells.push(format!("[{}]", nth + 1));
        table.row(cells);
    }
    let sources: String =
        sources.iter().enumerate().map(|(i, s)| wrap(&format!("  [{}] ", i + 1), s)).collect();
    let litres = 1e3 * goal.displacement_m3;
    let own = &goal.own_peak;
    let words = format!(
        "The goal is {} {} at the crank per litre of {} L: {}.",
        fixed(units.power(own.specific_power_kw_per_l), 0),
        units.power_unit(),
        fixed(litres, 2),
        own.specific_power_standing.title()
    );
    heading("Bands of production, sport and race engines") + &table.render() + &sources + &wrap("  ", &words)
}

fn reading_columns(first: &str, units: Units) -> Vec<Column> {
    let (piston, _) = units.piston_speed_unit();
    vec![
        Column::words(first),
        Column::number("likely", units.power_unit()).under("wheel"),
        Column::number("gain", units.power_unit()).under("wheel"),
        Column::number("octane", "margin"),
        Column::number("peak", units.pressure_unit()),
        Column::number("piston", piston),
        Column::number("fuel", units.mass_flow_unit()),
        Column::words(""),
    ]
}

fn reading_cells(name: &str, r: &Reading, base: &Reading, units: Units) -> Vec<String> {
    let (_, piston_decimals) = units.piston_speed_unit();
    let decimals = digits(base.wheel_power_kw);
    let gain = units.power(r.wheel_power_kw) - units.power(base.wheel_power_kw);
    vec![
        shorten(name, CHANGE_LIMIT),
        fixed(units.power(r.wheel_power_kw), decimals),
        signed(gain, 1),
        signed(r.best_torque_octane_margin, 1),
        fixed(units.pressure(r.peak_pressure_bar), 0),
        fixed(units.piston_speed(r.mean_piston_speed_m_per_s), piston_decimals),
        fixed(units.mass_flow(r.fuel_flow_kg_per_s), 1),
    ]
}

fn changes(goal: &Goal, units: Units) -> String {
    let base = &goal.as_it_is;
    let mut table = Table::new(reading_columns("change", units));
    let mut cells = reading_cells("as it is", base, base, units);
    cells[2] = String::new();
    table.row(cells);
    for change in &goal.changes {
        let mut cells = reading_cells(&change.title, &change.reading, base, units);
        let mark = match (change.is_credible, change.reading.has_safe_spark) {
            (_, false) => "K",
            (false, true) => "B",
            (true, true) => "",
        };
        cells.push(mark.to_owned());
        table.row(cells);
    }
    let note = "Likely case, spark tuned anew; valves and ports stay as they are. Octane margin: the tightest over speed at best-torque spark; below 0 knock holds the spark back. Peak: highest cylinder pressure over speed. Piston: mean speed, and fuel: flow, at peak power. VE: best over speed, in brackets as it is. K: no spark of the range keeps the reserve at some speed. B: past the end of a race band.";
    heading(&format!("What each change is worth alone, from {}", goal.fuel))
        + &table.render()
        + &wrap("  ", note)
}

/// The combinations that reach the goal, or the most that changes make together.
fn together(goal: &Goal, units: Units) -> String {
    let mut out = String::new();
    if let Some(most) = &goal.most {
        let title = "The most that credible changes make together";
        out += &combination(title, &most.changes, &most.reading, goal, units);
    }
    let plans = [
        ("Fewest changes that reach it", &goal.plan),
        ("Gentler: more changes, each going less far", &goal.gentler),
    ];
    for (title, plan) in plans {
        let Some(plan) = plan else { continue };
        out += &combination(title, &plan.changes, &plan.reading, goal, units);
        let chance = chance_words(plan.chance_frac, goal.samples);
        let words = format!(
            "Chance of reaching the goal so: {chance}, the samples of the build as it is scaled by the gain. Cost {}.",
            fixed(plan.cost, 2)
        );
        out += &wrap("  ", &words);
    }
    if goal.plan.is_some() {
        out += &wrap("  ", COST);
    }
    out
}

const COST: &str = "Taking any change away from the fewest misses the goal. Fewest changes come first, then least cost: how far each goes towards the end of its band (0 to 1), the relative rise of peak pressure and fuel flow, and a tenth of each octane number of margin given up.";

fn combination(title: &str, changes: &[String], reading: &Reading, goal: &Goal, units: Units) -> String {
    let base = &goal.as_it_is;
    let mut table = Table::new(reading_columns("", units));
    let mut cells = reading_cells("as it is", base, base, units);
    cells[2] = String::new();
    table.row(cells);
    table.row(reading_cells("with the changes", reading, base, units));
    list(title, changes.iter().map(String::as_str)) + &table.render()
}
