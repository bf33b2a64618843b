//! A wanted wheel power: what it asks, its chance, and the cheapest parts that reach it.

use crate::common::cases::cases;
use crate::common::job;
use approx::assert_relative_eq;
use endgas::engine::Standing;
use endgas::estimate::{Estimate, Job, estimate};
use endgas::fuel::FuelLibrary;
use endgas::goal::{BuildDepth, Costs, Goal, GoalError, GoalVerdict, Idle, Lever, Way, goal};
use endgas::scenario::{self, DEMO};
use proptest::prelude::*;

fn shipped(name: &str) -> Job {
    let path = format!("{}/scenarios/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    job::from_text(&std::fs::read_to_string(path).unwrap())
}

/// A job on its first fuel with few samples, and its estimate.
fn quick(mut job: Job, samples: usize) -> (Job, Estimate) {
    job.fuels.truncate(1);
    job.samples = samples;
    let estimate = estimate(&job).unwrap();
    (job, estimate)
}

fn judged((job, estimate): &(Job, Estimate), wanted_kw: f64) -> Goal {
    goal(job, estimate, &Costs::USUAL, wanted_kw).unwrap()
}

fn likely_kw((_, estimate): &(Job, Estimate)) -> f64 {
    estimate.fuels[0].peak_power.wheel.likely
}

const SHIPPED: [&str; 4] = ["circuit-2400", "street-2000", "big-eight-6200", "ported-four-1800"];

/// A goal at the likely wheel power of the estimate asks for the mean effective pressure, filling, air and fuel
/// that the estimate has at its speed of peak power: within 1 %, the median of the samples against the likely case.
#[test]
fn the_likely_power_asks_for_what_the_estimate_has() {
    for name in SHIPPED {
        let found = quick(shipped(name), 400);
        let fuel = &found.1.fuels[0];
        let at = fuel.curve.iter().find(|p| p.speed_rpm == fuel.peak_power.speed_rpm).unwrap();
        let goal = judged(&found, likely_kw(&found));
        let own = &goal.own_peak;
        assert_relative_eq!(own.bmep_bar.likely, at.bmep_bar, max_relative = 0.01);
        assert_relative_eq!(own.build_bmep_bar, at.bmep_bar, max_relative = 1e-9);
        assert_relative_eq!(own.volumetric_efficiency, at.volumetric_efficiency, max_relative = 0.015);
        assert_relative_eq!(own.fuel_flow_kg_per_s, at.fuel_flow_kg_per_s, max_relative = 0.015);
        assert!(goal.reached_in_likely_case && goal.verdict == GoalVerdict::Likely, "{name}");
        assert!(goal.chances[0].way.is_none() && goal.chances[0].most.is_none());
    }
}

/// HAND: air = VE x density of dry air x displacement x speed / 2 for a four-stroke. Dry air of 25 C and 99 kPa
/// with 40 % of 3.17 kPa of vapour: (99 000 - 1268) / (287.05 298.15) = 1.1419 kg/m3; 2.4004 L; 7500 rpm is 125
/// per second: 0.1713 kg/s times VE.
#[test]
fn air_flow_is_filling_times_density_times_half_the_speed() {
    let run = quick(job::demo(), 20);
    let goal = judged(&run, 170.0);
    // The fuel is the air over lambda times the stoichiometric ratio.
    let air_over_fuel = run.0.fuels[0].lambda_run() * run.1.fuels[0].afr_stoich;
    for way in goal.ways.iter().map(|way| &way.reading).chain([&goal.as_it_is]) {
        let air = way.volumetric_efficiency * 1.1419 * 2.4004e-3 * way.speed_rpm / 120.0;
        // A fuel of its own among the ways has a ratio of its own.
        let is_near = (0.98..1.02).contains(&(air / way.fuel_flow_kg_per_s / air_over_fuel));
        assert!(is_near || way.fuel_flow_kg_per_s > 1.2 * air / air_over_fuel, "{way:?}");
    }
    for p in goal.demand.iter().chain([&goal.own_peak]) {
        assert_relative_eq!(p.air_flow_kg_per_s / p.fuel_flow_kg_per_s, air_over_fuel, max_relative = 1e-9);
        let by_hand = p.volumetric_efficiency * 1.1419 * 2.4004e-3 * p.speed_rpm / 120.0;
        assert_relative_eq!(p.air_flow_kg_per_s, by_hand, max_relative = 1e-3);
        // HAND: bmep = P 120 / (V N); piston speed 2 x 87.4 mm x N / 60.
        let bmep = p.crank_power_kw.likely * 1e3 * 120.0 / (2.4004e-3 * p.speed_rpm) / 1e5;
        assert_relative_eq!(p.bmep_bar.likely, bmep, max_relative = 1e-3);
        assert_relative_eq!(
            p.mean_piston_speed_m_per_s,
            2.0 * 0.0874 * p.speed_rpm / 60.0,
            max_relative = 1e-9
        );
        assert!(
            p.crank_power_kw.low < p.crank_power_kw.likely && p.crank_power_kw.likely < p.crank_power_kw.high
        );
    }
    // More speed asks for less filling and pressure.
    assert!(goal.demand.windows(2).all(|w| w[1].bmep_bar.likely < w[0].bmep_bar.likely));
    // HAND: 27 m/s, the end of race engines, is 9268 rpm on this stroke: nothing is asked beyond.
    assert!(
        goal.demand.iter().all(|p| p.speed_rpm <= 9268.0 && p.mean_piston_speed_standing <= Standing::Race)
    );
}

#[test]
fn chance_falls_and_verdicts_sink_as_the_goal_rises() {
    for name in [SHIPPED[0], SHIPPED[2]] {
        let mut job = shipped(name);
        (job.samples, job.fuels) = (200, vec![job.fuels[0].clone(), job.fuels.pop().unwrap()]);
        let estimate = estimate(&job).unwrap();
        let base = estimate.fuels[0].peak_power.wheel;
        let mut last = [(1.0, GoalVerdict::AlreadyReached); 2];
        let mut seen = Vec::new();
        for over in [0.8, 0.97, 1.0, 1.03, 1.2, 1.35, 1.5, 1.7, 2.2] {
            let goal = goal(&job, &estimate, &Costs::USUAL, over * base.likely).unwrap();
            for (chance, last) in goal.chances.iter().zip(&mut last) {
                assert!(chance.chance_frac <= last.0 && chance.verdict <= last.1, "{name} at {over}");
                *last = (chance.chance_frac, chance.verdict);
                let error = (chance.chance_frac * (1.0 - chance.chance_frac) / goal.samples as f64).sqrt();
                assert_relative_eq!(chance.chance_standard_error_frac, error, max_relative = 1e-12);
            }
            seen.push(goal.chances[0].chance_frac);
        }
        // The median reaches itself, by the meaning of a median.
        assert!(seen[0] > 0.9 && seen[8] == 0.0 && (seen[2] - 0.5).abs() < 0.03, "{name}: {seen:?}");
        assert!(last.iter().all(|(_, verdict)| *verdict == GoalVerdict::NotCredible), "{name}");
    }
}

/// Builds as shops see them: invented, each from few values.
fn from_words(
    kind: &str,
    bore: f64,
    stroke: f64,
    cylinders: u32,
    ratio: f64,
    peak_rpm: f64,
    fuel: &str,
) -> Job {
    let text = format!(
        "[engine]\ncylinders = {cylinders}\nbore_mm = {bore}\nstroke_mm = {stroke}\ncompression_ratio = {ratio}\n\
         [breathing]\nkind = \"{kind}\"\npeak_power_rpm = {peak_rpm}\n[fuels]\nrun = [\"{fuel}\"]\n\
         [speed]\nfrom_rpm = {from}\nto_rpm = {to}\nstep_rpm = {step}\n",
        from = 0.5 * peak_rpm,
        to = 1.1 * peak_rpm,
        step = 0.1 * peak_rpm,
    );
    scenario::read("test", &text).unwrap().job(&FuelLibrary::shipped().unwrap(), 40, 1).unwrap()
}

/// What builders of such engines would say (common practice, no source): 5 % is a cam, or intake and exhaust; 15 % is top-end work or,
/// for an engine that is sharp already, more; 40 % is a race build or out of reach; 2.6 times the power is out of reach.
#[test]
fn answers_are_those_of_a_practitioner() {
    use GoalVerdict::{Doubtful, NeedsRaceBuild, NeedsTopEndWork, NotCredible};
    for (kind, bore, stroke, cylinders, rpm, ratios) in [
        ("injected-two-valve", 101.6, 88.4, 8, 5200.0, [9.0, 9.5, 11.0]),
        ("production-four-valve", 86.0, 86.0, 4, 6200.0, [9.8, 10.5, 11.5]),
        ("sport-four-valve", 88.0, 82.0, 4, 7800.0, [10.2, 11.5, 12.5]),
        ("performance-two-valve", 96.0, 75.0, 2, 6800.0, [9.2, 10.0, 12.0]),
    ] {
        for (fuel, ratio) in ["regular-87", "premium-91", "e85"].into_iter().zip(ratios) {
            let found = quick(from_words(kind, bore, stroke, cylinders, ratio, rpm, fuel), 40);
            let at = |over: f64| judged(&found, over * likely_kw(&found));
            let what = format!("{kind} on {fuel}");
            let five = at(1.05);
            let way = five.chances[0].way.as_ref().unwrap();
            assert_eq!(five.verdict, NeedsTopEndWork, "{what}");
            assert!(way.cost <= 2.2 && way.levers.len() <= 2, "{what}: {:?}", way.levers);
            let fifteen = at(1.15);
            let way = fifteen.chances[0].way.as_ref().unwrap();
            assert!(way.levers.len() >= 2, "{what}: {:?}", way.levers);
            if kind != "sport-four-valve" {
                assert!(way.levers.contains(&Lever::Cam), "{what}: {:?}", way.levers);
                assert!(way.reading.top_mean_piston_speed_m_per_s < 25.0, "{what}");
            }
            let forty = at(1.40);
            assert!([NeedsRaceBuild, Doubtful, NotCredible].contains(&forty.verdict), "{what}");
            assert!([Doubtful, NotCredible].contains(&at(2.6).verdict), "{what}");
            for way in five.ways.iter().chain(&forty.chances[0].most) {
                makes_sense(way, &five, &what);
            }
        }
    }
}

/// What holds for every way.
fn makes_sense(way: &Way, goal: &Goal, what: &str) {
    let gain = way.wheel_power_gain_kw;
    assert!(gain.low <= gain.likely && gain.likely <= gain.high, "{what}: {:?}", way.levers);
    assert!(way.wheel_power_kw.low <= way.wheel_power_kw.likely, "{what}: {:?}", way.levers);
    assert!(way.wheel_power_kw.likely <= way.wheel_power_kw.high, "{what}: {:?}", way.levers);
    let has = |lever: Lever| way.levers.contains(&lever);
    let top_end = [Lever::Cam, Lever::Head, Lever::IntakeExhaust, Lever::RaceTopEnd, Lever::Rpm];
    if top_end.into_iter().any(has) {
        assert!(gain.likely > 0.01 * goal.as_it_is.wheel_power_kw, "{what}: {:?}", way.levers);
        // A ratio and a fuel may give some of it back.
        let back = if has(Lever::Ratio) { 0.02 } else { 0.0005 };
        assert!(
            way.low_rpm_torque_change_frac < back,
            "{what}: {:?} {}",
            way.levers,
            way.low_rpm_torque_change_frac
        );
    }
    if has(Lever::Cam) || has(Lever::RaceTopEnd) {
        assert!(way.idle != Idle::AsBuilt, "{what}");
    }
    let costs: f64 = way.levers.iter().map(|lever| Costs::USUAL.of(*lever)).sum();
    assert_relative_eq!(way.cost, costs, max_relative = 1e-12);
    assert!(way.rod_load_rise_frac >= -1e-12 && way.reading.peak_bmep_bar.is_finite());
}

/// A ratio is never lowered, and more of the parts never makes less.
#[test]
fn the_most_is_no_less_than_any_way() {
    let found = quick(shipped("street-2000"), 40);
    let goal = judged(&found, 1500.0);
    let most = goal.chances[0].most.as_ref().unwrap();
    assert_eq!((goal.verdict, most.depth), (GoalVerdict::NotCredible, BuildDepth::Race));
    let best = goal.ways.iter().map(|way| way.reading.wheel_power_kw).fold(0.0, f64::max);
    assert!(most.reading.wheel_power_kw >= best);
    assert!(most.reading.top_mean_piston_speed_m_per_s <= 25.0 + 1e-9);
}

/// Costs of the scenario set the order: where a cam costs more than the other two, it goes last.
#[test]
fn the_cheapest_parts_come_first() {
    let found = quick(shipped("street-2000"), 40);
    let wanted = 1.06 * likely_kw(&found);
    let usual = judged(&found, wanted);
    assert_eq!(usual.chances[0].way.as_ref().unwrap().levers, [Lever::Cam]);
    let costs = Costs { cam: 5000.0, head: 2500.0, intake_exhaust: 1900.0, is_stated: true, ..Costs::USUAL };
    let costs = Costs { ratio: 6e4, rpm: 7e4, race: 8e4, ..costs };
    let stated = goal(&found.0, &found.1, &costs, wanted).unwrap();
    let way = stated.chances[0].way.as_ref().unwrap();
    assert_eq!(way.levers, [Lever::Head, Lever::IntakeExhaust]);
    assert_eq!((way.cost, stated.costs_are_stated), (4400.0, true));
}

/// What a ratio, a fuel and no part at all are worth is what an estimate of the changed scenario says, to 1.5 % (bands of the samples
/// shift a little with the build).
#[test]
fn a_change_is_worth_what_the_changed_scenario_makes() {
    let street =
        |ratio: f64, fuel: &str| from_words("production-four-valve", 86.0, 86.0, 4, ratio, 6200.0, fuel);
    let mut job = street(10.0, "premium-91");
    job.fuels.extend(street(10.0, "e85").fuels);
    job.samples = 200;
    let estimated = estimate(&job).unwrap();
    let goal = goal(&job, &estimated, &Costs::USUAL, 90.0).unwrap();
    let worth = |lever: Lever| goal.ways.iter().find(|way| way.levers == [lever]).unwrap();
    let ratio = worth(Lever::Ratio);
    let step: f64 = ratio.parts[0].to_string()[6..].split(':').next().unwrap().parse().unwrap();
    for (way, mut changed) in [(ratio, street(step, "premium-91")), (worth(Lever::Fuel), street(10.0, "e85"))]
    {
        changed.samples = 200;
        let found = estimate(&changed).unwrap().fuels[0].peak_power.wheel.likely;
        assert_relative_eq!(way.reading.wheel_power_kw, found, max_relative = 0.015);
    }
    // The second fuel has the reading of its own estimate.
    let e85 = &estimated.fuels[1].peak_power.wheel;
    assert_relative_eq!(worth(Lever::Fuel).reading.wheel_power_kw, e85.likely, max_relative = 1e-9);
}

/// A stated limit of piston speed keeps the rpm of top-end work; a set that goes over it is taken only where none keeps it.
#[test]
fn stated_limits_are_kept_where_they_can_be() {
    let mut job = shipped("street-2000");
    job.build.limits.mean_piston_speed_m_per_s = Some(19.0);
    let found = quick(job, 40);
    let modest = judged(&found, 1.08 * likely_kw(&found));
    let way = modest.chances[0].way.as_ref().unwrap();
    assert!(way.limits_passed.is_empty() && way.reading.top_mean_piston_speed_m_per_s <= 19.0 + 1e-9);
    let bold = judged(&found, 1.35 * likely_kw(&found));
    let way = bold.chances[0].way.as_ref().unwrap();
    assert!(!way.limits_passed.is_empty() && way.depth == BuildDepth::Race);
}

proptest! {
    #![proptest_config(cases(6, 1000))]

    /// Over random builds and goals: finite, in order, consistent.
    #[test]
    fn random_builds_and_goals(
        ratio in 9.0..13.5f64,
        kind in prop::sample::select(vec!["production-four-valve", "sport-four-valve", "race"]),
        top in 6500.0..8500.0f64,
        wanted in 0.6..2.2f64,
    ) {
        let changes = [
            ("compression_ratio = 12.5", format!("compression_ratio = {ratio:.2}")),
            ("kind = \"sport-four-valve\"", format!("kind = \"{kind}\"")),
            ("to_rpm = 7500", format!("to_rpm = {top:.0}")),
            ("peak_torque_rpm = 5800", format!("peak_torque_rpm = {:.0}", 0.75 * top)),
            ("peak_power_rpm = 7300", format!("peak_power_rpm = {:.0}", 0.95 * top)),
            ("from_rpm = 2500", "from_rpm = 3500".to_owned()),
            ("step_rpm = 500", "step_rpm = 1000".to_owned()),
        ];
        let text = changes.iter().fold(DEMO.to_owned(), |text, (from, to)| text.replace(from, to));
        let found = quick(job::from_text(&text), 40);
        let goal = judged(&found, wanted * likely_kw(&found));
        let own = &goal.chances[0];
        let reached = wanted <= 1.0;
        prop_assert_eq!(goal.verdict, own.verdict);
        prop_assert_eq!(goal.reached_in_likely_case, reached);
        prop_assert_eq!(goal.verdict >= GoalVerdict::Likely, reached);
        prop_assert_eq!(own.way.is_some(), !reached && goal.verdict >= GoalVerdict::NeedsRaceBuild);
        if let Some(way) = &own.way {
            prop_assert!(way.reading.wheel_power_kw >= goal.wheel_power_kw && !way.levers.contains(&Lever::Fuel));
        }
        prop_assert!(goal.demand.iter().all(|p| p.volumetric_efficiency.is_finite() && p.volumetric_efficiency > 0.0));
        for way in goal.ways.iter().chain(&own.most).chain(&own.way) {
            makes_sense(way, &goal, kind);
        }
    }
}

#[test]
fn powers_outside_the_range_are_refused() {
    let found = quick(job::demo(), 20);
    for wrong in [0.0, 1.9, 2000.1, f64::NAN, f64::INFINITY, -3.0] {
        let refused = goal(&found.0, &found.1, &Costs::USUAL, wrong);
        assert!(matches!(refused, Err(GoalError::Power { .. })), "{wrong}");
    }
}

/// HAND: with a race top end an engine whose next step is racing goes to where race engines end in piston speed, 27 m/s, and not
/// to the 25 m/s of a block made for the street.
#[test]
fn a_race_top_end_goes_to_where_race_engines_end() {
    let mut job = shipped("circuit-2400");
    job.fuels.reverse();
    let goal = judged(&quick(job, 50), 400.0);
    let most = goal.chances[0].most.as_ref().unwrap();
    assert!(
        most.levers.contains(&Lever::RaceTopEnd) && most.levers.contains(&Lever::Rpm),
        "{:?}",
        most.levers
    );
    let speed = most.reading.top_mean_piston_speed_m_per_s;
    assert!((26.0..=27.0).contains(&speed), "{speed}");
}
