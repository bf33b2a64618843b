//! A goal as aligned text, the answer first.

use super::words::{answer, chance_words, digits, error_words, power_words, verdict_word};
use crate::engine::{Figure, Standing};
use crate::estimate::Band;
use crate::goal::{BuildChange, BuildReading, DemandPoint, FuelChance, Goal};
use crate::report::Units;
use crate::report::columns::Columns;
use crate::report::quantity::Dimension::{self, MassFlow, PistonSpeed, Power, Pressure, Pure, SpecificPower};
use crate::report::quantity::fixed;
use crate::report::screen::{Part, Text};
use crate::report::table::{head, heading, points, shorten, wrap};
use crate::report::words::{Say, cautions, said};

/// Most characters of a fuel name and of a change.
const NAME_LIMIT: usize = 26;
const CHANGE_LIMIT: usize = 47;

const DEMAND: &str = "demand";
const BANDS: &str = "bands";
const CHANGES: &str = "changes";
const PLANS: &str = "plans";
const UNCERTAINTY: &str = "uncertainty";

/// The parts of the text.
pub(super) const PARTS: &[Part] = &[
    Part { name: DEMAND, shows: "what you need at each rpm" },
    Part { name: BANDS, shows: "production, sport and race engines beside it" },
    Part { name: CHANGES, shows: "what each change is worth alone" },
    Part { name: PLANS, shows: "the combinations of changes, with their readings" },
    Part { name: UNCERTAINTY, shows: "what the estimate rests on" },
];

/// Most characters of the name of a scenario on its line.
const SCENARIO_LIMIT: usize = 40;

/// The whole text.
pub(super) fn render(goal: &Goal, units: Units) -> Text {
    let mut out = Text::default();
    let wanted = format!(
        "{}: {} at the wheels, judged on {}, the first fuel of the list",
        shorten(&goal.scenario, SCENARIO_LIMIT),
        power_words(goal.wheel_power_kw, units),
        goal.fuel
    );
    out.screen(&wrap("", &wanted));
    let lines: String = answer(goal, units).iter().map(|line| wrap("  ", line)).collect();
    out.screen(&(heading("Answer") + &lines));
    out.screen(&chances(goal, units));
    out.cautions(cautions::GOAL);
    let title = format!("What you need at each rpm on {}, likely driveline loss", goal.fuel);
    let table = demand_columns(goal, units).text(&goal.demand);
    out.part(DEMAND, &title, &(table + &wrap("  ", DEMAND_NOTE)));
    out.part(BANDS, "Bands of production, sport and race engines", &bands(goal, units));
    changes(goal, units, &mut out);
    together(goal, units, &mut out);
    out.part(UNCERTAINTY, "What the estimate rests on", &basis(goal, units));
    out
}

fn basis(goal: &Goal, units: Units) -> String {
    let (breathing, driveline) = (goal.breathing_source.say(units), goal.driveline_source.say(units));
    let samples =
        format!("{}, seed {}; low and high are the 10th and 90th percentile", goal.samples, goal.seed);
    head(&[
        ("Note", goal.note.as_str()),
        ("Breathing", breathing.as_str()),
        ("Driveline", driveline.as_str()),
        ("Samples", samples.as_str()),
    ])
}

/// Each fuel's chance of reaching the goal as built.
pub(in crate::report) fn chance_columns(goal: &Goal, units: Units) -> Columns<'_, (usize, &FuelChance)> {
    let mut c = Columns::<(usize, &FuelChance)>::new(units);
    c.words("fuel", |(_, chance)| chance.fuel.clone()).at_most(NAME_LIMIT);
    c.group_of("peak wheel power as built");
    let lowest = goal.chances.iter().map(|chance| chance.wheel_power_kw.low).fold(f64::INFINITY, f64::min);
    c.band("", Power, |(_, chance)| Some(chance.wheel_power_kw)).digits(digits(lowest));
    c.number("at", Pure, |(_, chance)| chance.speed_rpm).below("rpm");
    c.group("cases that reach it");
    c.cells("share", |(_, chance)| chance_words(chance.chance_frac, goal.samples));
    c.cells("std error", |(_, chance)| error_words(chance.chance_standard_error_frac));
    c.group("");
    let verdict = |(i, chance): &(usize, &FuelChance)| if *i == 0 { goal.verdict } else { chance.verdict };
    c.words("verdict", move |row| verdict_word(verdict(row)).to_owned());
    c
}

fn chances(goal: &Goal, units: Units) -> String {
    let table = chance_columns(goal, units).text(goal.chances.iter().enumerate());
    heading("Chance of the engine as built") + &table + &wrap("  ", THRESHOLDS)
}

const THRESHOLDS: &str = "Already reached: 90 % of cases or more; likely: the likely case; possible: 10 % or more; unlikely: less; not credible: less, and no combination of credible changes does. Errors in points.";

/// What the goal asks at each rpm: for a person, and with keys for a program.
pub(super) fn demand_columns(goal: &Goal, units: Units) -> Columns<'_, &DemandPoint> {
    let mut c = Columns::<&DemandPoint>::new(units);
    c.words("", move |_| goal.fuel.clone()).key("fuel", 0).hidden();
    c.number("", Power, move |_| goal.wheel_power_kw).key("target_wheel_power", 2).hidden();
    c.number("rpm", Pure, |p| p.speed_rpm).key("speed_rpm", 0);
    let lowest = goal.demand.iter().map(|p| p.crank_power_kw.low).fold(f64::INFINITY, f64::min);
    let crank = c.number("crank", Power, |p| p.crank_power_kw.likely);
    crank.digits(digits(lowest)).key("crank_power_likely", 2);
    ends(&mut c, "crank_power", Power, 2, |p| p.crank_power_kw);
    c.group_of("BMEP");
    c.number("needed", Pressure, |p| p.bmep_bar.likely).key("bmep_likely", 3);
    ends(&mut c, "bmep", Pressure, 3, |p| p.bmep_bar);
    c.number("as built", Pressure, |p| p.build_bmep_bar).key("build_bmep", 3);
    class(&mut c, "class", "bmep_class", |p| p.bmep_standing);
    c.group("VE");
    let ve = c.number("needed", Pure, |p| p.volumetric_efficiency).digits(2);
    ve.marked(|p| if p.fuel_allows_it { "" } else { "*" }).key("volumetric_efficiency", 4);
    class(&mut c, "class", "volumetric_efficiency_class", |p| p.volumetric_efficiency_standing);
    c.flag("fuel_allows_it", |p| p.fuel_allows_it);
    c.group("flow");
    c.number("air", MassFlow, |p| p.air_flow_kg_per_s).key("air_flow", 2);
    c.number("fuel", MassFlow, |p| p.fuel_flow_kg_per_s).digits(1).key("fuel_flow", 3);
    c.group("piston speed");
    c.number("mean", PistonSpeed, |p| p.mean_piston_speed_m_per_s).key("mean_piston_speed", 2);
    class(&mut c, "class", "mean_piston_speed_class", |p| p.mean_piston_speed_standing);
    c.number("", SpecificPower, |p| p.specific_power_kw_per_l).key("specific_power", 3).hidden();
    class(&mut c, "", "specific_power_class", |p| p.specific_power_standing);
    c
}

/// Where a figure stands: a short word for a person, that of the JSON for a program; without a head for a program alone.
fn class(c: &mut Columns<'_, &DemandPoint>, head: &str, key: &str, standing: fn(&DemandPoint) -> Standing) {
    if !head.is_empty() {
        c.words(head, move |p| standing(p).short_title().to_owned());
    }
    c.words("", move |p| standing(p).key().to_owned()).key(key, 0).hidden();
}

/// Low and high end of what the range of the driveline loss asks, for a program.
fn ends(
    c: &mut Columns<'_, &DemandPoint>,
    key: &str,
    dimension: Dimension,
    digits: usize,
    band: fn(&DemandPoint) -> Band,
) {
    c.number("", dimension, move |p| band(p).low).key(&format!("{key}_low"), digits).hidden();
    c.number("", dimension, move |p| band(p).high).key(&format!("{key}_high"), digits).hidden();
}

const DEMAND_NOTE: &str = "Class: the lowest class that covers it; stock: production engines; beyond: past the end of race engines. The bands of BMEP and VE are those of the best rpm of an engine: at peak power VE is usually 0.85 to 0.97 of its best (common practice, no source), so that a class there is the least. VE and flows are those at the timing that knock then allows; *: knock on this fuel leaves no timing for it, or it is far beyond the build, and they are in proportion to the engine as built.";

fn bands(goal: &Goal, units: Units) -> String {
    let figures: [(Figure, &str, Dimension, usize); 4] = [
        (Figure::Bmep, "peak BMEP", Pressure, Pressure.unit(units).digits),
        (Figure::VolumetricEfficiency, "peak VE", Pure, 2),
        (Figure::MeanPistonSpeed, "piston speed at peak power", PistonSpeed, PistonSpeed.unit(units).digits),
        (
            Figure::SpecificPower,
            "crank power over displacement",
            SpecificPower,
            SpecificPower.unit(units).digits,
        ),
    ];
    let mut sources: Vec<&str> = Vec::new();
    for (figure, ..) in figures {
        let source = figure.bands(goal.has_several_inlets)[0].source;
        if !sources.contains(&source) {
            sources.push(source);
        }
    }
    let nth = |source: &str| sources.iter().position(|s| *s == source).map_or(0, |i| i + 1);
    let mut c = Columns::<(Figure, &str, Dimension, usize)>::new(units);
    c.words("band of", move |(_, name, dimension, _)| match dimension.unit(units).symbol {
        "" => (*name).to_owned(),
        unit => format!("{name}, {unit}"),
    });
    for (i, class) in ["production", "sport", "race"].into_iter().enumerate() {
        c.cells(class, move |(figure, _, dimension, digits)| {
            let (band, unit) = (figure.bands(goal.has_several_inlets)[i], dimension.unit(units));
            format!("{} to {}", fixed(unit.of(band.low), *digits), fixed(unit.of(band.high), *digits))
        });
    }
    c.words("source", |(figure, ..)| format!("[{}]", nth(figure.bands(goal.has_several_inlets)[0].source)));
    let table = c.text(figures);
    let sources: String = (1..).zip(&sources).map(|(i, s)| wrap(&format!("  [{i}] "), s)).collect();
    let (own, specific) = (&goal.own_peak, SpecificPower.unit(units));
    let words = format!(
        "The goal is {} {} at the flywheel of {}: {}.",
        specific.words(own.specific_power_kw_per_l),
        specific.symbol,
        units.displacement_words(goal.displacement_m3),
        own.specific_power_standing.title()
    );
    table + &sources + &wrap("  ", &words)
}

/// A reading beside the engine as built: what it is called, what it reads, and a mark.
type ChangeRow<'a> = (String, &'a BuildReading, &'static str);

/// Readings by change, from that of the engine as built.
pub(in crate::report) fn reading_columns<'a>(
    first: &str,
    base: &'a BuildReading,
    units: Units,
) -> Columns<'a, ChangeRow<'a>> {
    let mut c = Columns::<ChangeRow<'_>>::new(units);
    c.words(first, |(name, ..)| name.clone()).at_most(CHANGE_LIMIT);
    c.group("wheel");
    c.number("likely", Power, |(_, r, _)| r.wheel_power_kw).digits(digits(base.wheel_power_kw));
    let gain = |r: &BuildReading| (!std::ptr::eq(r, base)).then_some(r.wheel_power_kw - base.wheel_power_kw);
    c.maybe("gain", Power, move |(_, r, _)| gain(r)).digits(1).signed().or("");
    c.group("");
    c.number("octane", Pure, |(_, r, _)| r.best_torque_octane_margin).below("margin").digits(1).signed();
    c.number("peak", Pressure, |(_, r, _)| r.peak_pressure_bar).digits(0);
    c.number("piston", PistonSpeed, |(_, r, _)| r.mean_piston_speed_m_per_s);
    c.number("fuel", MassFlow, |(_, r, _)| r.fuel_flow_kg_per_s).digits(1);
    c.words("", |(.., mark)| (*mark).to_owned());
    c
}

/// The engine as built, then each change alone.
pub(in crate::report) fn readings(goal: &Goal, units: Units) -> impl Iterator<Item = ChangeRow<'_>> {
    let changes = goal.changes.iter().map(move |change| {
        let mark = match (change.is_credible, change.reading.has_safe_spark) {
            (_, false) => "K",
            (false, true) => "B",
            (true, true) => "",
        };
        (change.change.say(units), &change.reading, mark)
    });
    std::iter::once(("as built".to_owned(), &goal.as_it_is, "")).chain(changes)
}

fn changes(goal: &Goal, units: Units, out: &mut Text) {
    let table = reading_columns("change", &goal.as_it_is, units).text(readings(goal, units));
    let note = "Likely case, timing tuned anew; valves and ports stay as they are. Octane margin: the least over rpm at MBT timing; below 0 timing has to be pulled. Peak: highest cylinder pressure over rpm. Piston: mean speed, and fuel: flow, at peak power. VE: best over rpm, in brackets as built. K: no timing of the range keeps the safety margin at some rpm. B: past the end of a race band.";
    let title = format!("What each change is worth alone, from {}", goal.fuel);
    out.part(CHANGES, &title, &(table + &wrap("  ", note)));
}

/// The combinations that reach the goal, or the most that changes make together.
fn together(goal: &Goal, units: Units, out: &mut Text) {
    if let Some(most) = &goal.most {
        let title = "The most that credible changes make together";
        out.part(PLANS, title, &combination(&most.changes, &most.reading, goal, units));
    }
    let plans =
        [("Fewest changes that reach it", &goal.plan), ("Smaller changes that add up", &goal.gentler)];
    for (title, plan) in plans {
        let Some(plan) = plan else { continue };
        let chance = chance_words(plan.chance_frac, goal.samples);
        let words = format!(
            "Chance of reaching the goal so: {chance}, the cases of the engine as built scaled by the gain. Cost {}.",
            fixed(plan.cost, 2)
        );
        let body = combination(&plan.changes, &plan.reading, goal, units) + &wrap("  ", &words);
        out.part(PLANS, title, &body);
    }
    if goal.plan.is_some() {
        out.part(PLANS, "How plans are compared", &wrap("  ", COST));
    }
}

const COST: &str = "Taking any change away from the fewest misses the goal. Fewest changes come first, then least cost: how far each goes towards the end of its band (0 to 1), the relative rise of peak pressure and fuel flow, and a tenth of each octane number of margin lost.";

fn combination(changes: &[BuildChange], reading: &BuildReading, goal: &Goal, units: Units) -> String {
    let base = &goal.as_it_is;
    let rows = [("as built".to_owned(), base, ""), ("with the changes".to_owned(), reading, "")];
    points(said(changes, units).iter().map(String::as_str)) + &reading_columns("", base, units).text(rows)
}
