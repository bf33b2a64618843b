//! A goal as aligned text, the answer first.

use super::words::{
    answer, chance_words, demand_words, depth_words, digits, idle_word, power, power_words, short_parts,
    verdict_word,
};
use crate::engine::{Figure, Standing};
use crate::estimate::Band;
use crate::goal::{BuildDepth, BuildReading, DemandPoint, FuelChance, Goal, GoalVerdict, Lever, Part, Way};
use crate::report::Units;
use crate::report::columns::Columns;
use crate::report::quantity::Dimension::{
    self, MassFlow, PistonSpeed, Power, Pressure, Pure, Share, SpecificPower,
};
use crate::report::quantity::fixed;
use crate::report::screen::{self, Text};
use crate::report::table::{head, heading, points, shorten, wrap};
use crate::report::words::{Say, cautions, said};

/// Most characters of a fuel name and of a way.
const NAME_LIMIT: usize = 16;
const WAY_LIMIT: usize = 31;
const TAKES_LIMIT: usize = 30;

const DEMAND: &str = "demand";
const BANDS: &str = "bands";
const WAYS: &str = "ways";
const PLANS: &str = "plans";
const UNCERTAINTY: &str = "uncertainty";

/// The parts of the text.
pub(super) const PARTS: &[screen::Part] = &[
    screen::Part { name: DEMAND, shows: "what you need at each rpm" },
    screen::Part { name: BANDS, shows: "production, sport and race engines beside it" },
    screen::Part {
        name: WAYS,
        shows: "how verdicts and ways are found; the ways, where the target is reached",
    },
    screen::Part { name: PLANS, shows: "the cheapest parts and the most, with their readings" },
    screen::Part { name: UNCERTAINTY, shows: "what the estimate rests on" },
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
    ways(goal, units, &mut out);
    out.cautions(cautions::GOAL);
    let title = format!("What you need at each rpm on {}, likely driveline loss", goal.fuel);
    let table = demand_columns(goal, units).text(&goal.demand);
    let own = wrap("  ", &demand_words(&goal.own_peak, units));
    out.part(DEMAND, &title, &(own + &table + &wrap("  ", DEMAND_NOTE)));
    out.part(BANDS, "Bands of production, sport and race engines", &bands(goal, units));
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

/// Each fuel's chance of reaching the goal as built, its verdict, and what it takes.
pub(in crate::report) fn chance_columns(goal: &Goal, units: Units) -> Columns<'_, &FuelChance> {
    let mut c = Columns::<&FuelChance>::new(units);
    c.words("fuel", |chance| chance.fuel.clone()).at_most(NAME_LIMIT);
    c.group_of("wheel, as built");
    let lowest = goal.chances.iter().map(|chance| chance.wheel_power_kw.low).fold(f64::INFINITY, f64::min);
    c.band("", Power, |chance| Some(chance.wheel_power_kw)).digits(digits(lowest));
    c.group("");
    c.cells("chance", |chance| chance_words(chance.chance_frac, goal.samples));
    c.words("verdict", |chance| verdict_word(chance.verdict).to_owned());
    c.words("cheapest way there", move |chance| takes(chance, units)).at_most(TAKES_LIMIT);
    c
}

/// What a fuel takes to reach the goal, in few words.
fn takes(chance: &FuelChance, units: Units) -> String {
    match (&chance.way, &chance.most) {
        (Some(way), _) => short_parts(&way.parts),
        (None, Some(most)) => format!("at most {}", power(most.reading.wheel_power_kw, units)),
        (None, None) => "as built".to_owned(),
    }
}

fn chances(goal: &Goal, units: Units) -> String {
    heading("By fuel") + &chance_columns(goal, units).text(&goal.chances)
}

const THRESHOLDS: &str = "Top-end work: cam, head, intake, exhaust; full build: pistons for more ratio too; race build: rods, valve gear and bearings for more rpm, or a race top end. Doubtful: a race build reaches it in 10 % of cases or more; not credible: in fewer. Already reached: 90 % of cases or more.";

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

/// Ways as a shop lists them, the race build last.
pub(in crate::report) fn rows(goal: &Goal) -> impl Iterator<Item = &Way> {
    let most = goal.chances.first().and_then(|chance| chance.most.as_ref());
    goal.ways.iter().chain(most.filter(|most| most.depth == BuildDepth::Race))
}

/// What ways are worth and what they take.
pub(in crate::report) fn way_columns(goal: &Goal, units: Units) -> Columns<'_, &Way> {
    let mut c = Columns::<&Way>::new(units);
    c.words("way", move |way| way_words(way, units)).at_most(WAY_LIMIT);
    c.group_of("wheel power won");
    c.band("", Power, |way| Some(way.wheel_power_gain_kw))
        .digits(digits(goal.as_it_is.wheel_power_kw))
        .signed();
    c.group("");
    c.cells("cost", |way| fixed(way.cost, if way.cost < 100.0 { 1 } else { 0 }));
    c.number("knock", Pure, |way| way.octane_margin_change).below("margin").digits(1).signed();
    c.number("peak", Pressure, |way| way.reading.peak_pressure_bar).digits(0);
    c.number("piston", PistonSpeed, |way| way.reading.top_mean_piston_speed_m_per_s).marked(|way| mark(way));
    c.number("low rpm", Share, |way| way.low_rpm_torque_change_frac).digits(0).signed();
    c.words("idle", |way| idle_word(way.idle).to_owned());
    c
}

/// One part in full, several by how deep they go.
fn way_words(way: &Way, units: Units) -> String {
    match way.parts.as_slice() {
        [Part::Head] => "ported head, larger valves".to_owned(),
        [part] => part.say(units),
        _ if way.depth == BuildDepth::TopEnd => depth_words(way.depth).to_owned(),
        parts => short_parts(parts)
            .replace(depth_words(BuildDepth::TopEnd), "top end")
            .replace("race top end", "race top"),
    }
}

fn mark(way: &Way) -> &'static str {
    match (way.reading.has_safe_spark, way.limits_passed.is_empty(), way.reading.is_held_to_race) {
        (false, ..) => "K",
        (true, false, _) => "L",
        (true, true, true) => "R",
        (true, true, false) => "",
    }
}

fn ways(goal: &Goal, units: Units, out: &mut Text) {
    let table = way_columns(goal, units).text(rows(goal));
    let title = format!("What a shop would do on {}, and what it takes", goal.fuel);
    if goal.verdict >= GoalVerdict::Likely {
        out.part(WAYS, &title, &table);
    } else {
        out.screen(&(heading(&title) + &table));
    }
    out.part(
        WAYS,
        "How verdicts and ways are found",
        &(wrap("  ", THRESHOLDS) + &wrap("  ", &format!("{} {COSTS}", way_note(goal)))),
    );
}

/// What stands behind the table of ways.
pub(in crate::report) fn way_note(goal: &Goal) -> String {
    let costs = if goal.costs_are_stated {
        "Cost: as stated."
    } else {
        "Cost: cam and springs fitted is 1 (common practice, no source)."
    };
    let marks = [
        ("K", "K: no timing keeps the safety margin at some rpm."),
        ("L", "L: over a stated limit."),
        ("R", "R: held to the end of race engines in BMEP or power over displacement."),
    ];
    let shown = marks.iter().filter(|(letter, _)| rows(goal).any(|way| mark(way) == *letter));
    let shown: Vec<&str> = shown.map(|(_, words)| *words).collect();
    let has_ratio = rows(goal).any(|way| way.levers.contains(&Lever::Ratio));
    let ratio = if has_ratio { String::new() } else { format!(" {NO_RATIO}") };
    format!("{WAY_NOTE}{ratio} {costs} {}", shown.join(" ")).trim_end().to_owned()
}

/// Where costs are stated.
const COSTS: &str = "Costs of your own go into [costs] of the scenario.";

const WAY_NOTE: &str = "Won: likely case with the timing tuned anew, and half and one and a half times as much. What cam, head, intake and exhaust win is the step in VE from this kind of engine to the next, half of it where that is race engines, split 40, 35 and 25 % (judgement). Knock margin: the change of the least margin at MBT timing; peak: cylinder pressure; piston: mean speed at the highest rpm; low rpm: torque at half the rpm of peak power as built.";

const NO_RATIO: &str =
    "No higher ratio: builders run no more on this fuel, or knock takes what it would win.";

/// A reading beside the engine as built: what it is called and what it reads.
type ReadingRow<'a> = (&'static str, &'a BuildReading);

/// Readings beside that of the engine as built.
fn reading_columns<'a>(base: &'a BuildReading, units: Units) -> Columns<'a, ReadingRow<'a>> {
    let mut c = Columns::<ReadingRow<'_>>::new(units);
    c.words("", |(name, _)| (*name).to_owned());
    c.number("wheel", Power, |(_, r)| r.wheel_power_kw).digits(digits(base.wheel_power_kw));
    c.number("at", Pure, |(_, r)| r.speed_rpm).below("rpm");
    c.number("limit", Pure, |(_, r)| r.top_rpm).below("rpm");
    c.number("BMEP", Pressure, |(_, r)| r.bmep_bar);
    c.number("VE", Pure, |(_, r)| r.volumetric_efficiency).digits(2);
    c.number("octane", Pure, |(_, r)| r.best_torque_octane_margin).below("margin").digits(1).signed();
    c.number("peak", Pressure, |(_, r)| r.peak_pressure_bar).digits(0);
    c.number("piston", PistonSpeed, |(_, r)| r.mean_piston_speed_m_per_s);
    c.number("fuel", MassFlow, |(_, r)| r.fuel_flow_kg_per_s).digits(1);
    c
}

/// The cheapest parts that reach the goal, and the most that parts make, on the judged fuel.
fn together(goal: &Goal, units: Units, out: &mut Text) {
    let Some(own) = goal.chances.first() else { return };
    let found = [("Cheapest parts that reach it", &own.way), ("The most that parts make", &own.most)];
    let base = &goal.as_it_is;
    for (title, way) in found {
        let Some(way) = way else { continue };
        let rows = [("as built", base), ("with the parts", &way.reading)];
        let parts = points(said(&way.parts, units).iter().map(String::as_str));
        out.part(
            PLANS,
            title,
            &(parts + &reading_columns(base, units).text(rows) + &wrap("  ", READING_NOTE)),
        );
    }
}

const READING_NOTE: &str = "Likely case. Wheel, BMEP, VE, piston speed and fuel at peak power; octane margin and peak pressure: the worst of the rpm run, at MBT timing and at the timing used. Where several sets of parts reach the target the one that costs least is shown, within the stated limits where one keeps them.";
