//! A wanted wheel power: what it asks, its chance, and the fewest changes that reach it.

use crate::common::cases::cases;
use crate::common::job;
use approx::assert_relative_eq;
use endgas::engine::Standing;
use endgas::estimate::{Job, estimate};
use endgas::goal::{Goal, GoalError, GoalVerdict, Lever, goal};
use endgas::scenario::DEMO;
use proptest::prelude::*;

fn shipped(name: &str) -> Job {
    let path = format!("{}/scenarios/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    job::from_text(&std::fs::read_to_string(path).unwrap())
}

const SHIPPED: [&str; 4] = ["circuit-2400", "street-2000", "big-eight-6200", "ported-four-1800"];

/// A goal at the likely wheel power of the estimate asks for the mean effective pressure, filling, air and fuel
/// that the estimate has at its speed of peak power: within 1 %, the median of the samples against the likely case.
#[test]
fn the_likely_power_asks_for_what_the_estimate_has() {
    for name in SHIPPED {
        let job = shipped(name);
        let found = estimate(&job).unwrap();
        let fuel = &found.fuels[0];
        let at = fuel.curve.iter().find(|p| p.speed_rpm == fuel.peak_power.speed_rpm).unwrap();
        let goal = goal(&job, fuel.peak_power.wheel.likely).unwrap();
        let own = &goal.own_peak;
        assert_relative_eq!(own.bmep_bar.likely, at.bmep_bar, max_relative = 0.01);
        assert_relative_eq!(own.build_bmep_bar, at.bmep_bar, max_relative = 1e-9);
        assert_relative_eq!(own.volumetric_efficiency, at.volumetric_efficiency, max_relative = 0.015);
        assert_relative_eq!(own.fuel_flow_kg_per_s, at.fuel_flow_kg_per_s, max_relative = 0.015);
        assert!(goal.reached_in_likely_case && goal.verdict == GoalVerdict::Likely, "{name}");
        assert!(goal.plan.is_none() && goal.most.is_none());
    }
}

/// HAND: air = VE x density of dry air x displacement x speed / 2 for a four-stroke. Dry air of 25 C and 99 kPa
/// with 40 % of 3.17 kPa of vapour: (99 000 - 1268) / (287.05 298.15) = 1.1419 kg/m3; 2.4004 L; 7500 rpm is 125
/// per second: 0.1713 kg/s times VE.
#[test]
fn air_flow_is_filling_times_density_times_half_the_speed() {
    let goal = goal(&job::demo(), 170.0).unwrap();
    for p in goal.demand.iter().chain([&goal.own_peak]) {
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
fn chance_falls_as_the_goal_rises() {
    for name in [SHIPPED[0], SHIPPED[2]] {
        let mut job = shipped(name);
        job.samples = 200;
        let base = estimate(&job).unwrap().fuels[0].peak_power.wheel;
        let mut last = vec![1.0; job.fuels.len()];
        let mut seen = Vec::new();
        for step in 0..6 {
            let wanted = base.low * 0.9 + f64::from(step) * 0.32 * (base.high - base.low);
            let goal = goal(&job, wanted).unwrap();
            for (chance, last) in goal.chances.iter().zip(&mut last) {
                assert!(chance.chance_frac <= *last, "{name} at {wanted}");
                *last = chance.chance_frac;
                let n = goal.samples as f64;
                let error = (chance.chance_frac * (1.0 - chance.chance_frac) / n).sqrt();
                assert_relative_eq!(chance.chance_standard_error_frac, error, max_relative = 1e-12);
            }
            seen.push(goal.chances[0].chance_frac);
        }
        assert!(seen[0] > 0.9 && *seen.last().unwrap() < 0.2, "{name}: {seen:?}");
        // The median reaches itself, by the meaning of a median.
        let half = goal(&job, base.likely).unwrap().chances[0].chance_frac;
        assert_relative_eq!(half, 0.5, epsilon = 0.03);
    }
}

/// Factors on the likely power of the demo and what must be said of them.
#[test]
fn verdicts_come_in_their_order() {
    let mut job = job::demo();
    job.fuels.truncate(2);
    let wheel = estimate(&job).unwrap().fuels[0].peak_power.wheel;
    for (wanted, verdict) in [
        (wheel.low * 0.97, GoalVerdict::AlreadyReached),
        (wheel.likely * 0.98, GoalVerdict::Likely),
        (wheel.likely * 1.04, GoalVerdict::Possible),
        (wheel.likely * 1.25, GoalVerdict::Unlikely),
        (wheel.likely * 2.0, GoalVerdict::NotCredible),
    ] {
        let goal = goal(&job, wanted).unwrap();
        assert_eq!(goal.verdict, verdict, "{wanted}");
        assert_eq!(goal.reached_in_likely_case, verdict >= GoalVerdict::Likely);
        assert_eq!(goal.plan.is_some(), matches!(verdict, GoalVerdict::Possible | GoalVerdict::Unlikely));
        assert_eq!(goal.most.is_some(), verdict == GoalVerdict::NotCredible);
        if let Some(most) = &goal.most {
            assert!(most.reading.wheel_power_kw < wanted && most.reading.peak_bmep_bar <= 15.8);
        }
    }
}

/// The job with what the plan says done to it by other means than the search: a scenario text.
fn changed(changes: &[(&str, &str)]) -> Job {
    let text = changes.iter().fold(DEMO.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "{from}");
        text.replace(from, to)
    });
    job::from_text(&text)
}

/// What a change is worth is what an estimate of the changed scenario says, to 1.5 % (bands of the samples
/// shift a little with the build).
#[test]
fn a_change_is_worth_what_the_changed_scenario_makes() {
    let goal = goal(&job::demo(), 160.0).unwrap();
    let worth = |starts: &str| {
        let change = goal.changes.iter().find(|c| c.change.to_string().starts_with(starts));
        change.unwrap_or_else(|| panic!("{starts}")).reading.clone()
    };
    for (title, changes) in [
        ("compression ratio 11.5", vec![("compression_ratio = 12.5", "compression_ratio = 11.5")]),
        ("fuel e85", vec![("[\"premium-91\", \"premium-93\", \"e30\", \"e85\"]", "[\"e85\"]")]),
        ("VE of a race engine", vec![("kind = \"sport-four-valve\"", "kind = \"race\"")]),
        (
            "move the powerband up 10 %",
            vec![
                ("peak_torque_rpm = 5800", "peak_torque_rpm = 6380"),
                ("peak_power_rpm = 7300", "peak_power_rpm = 8030"),
                ("to_rpm = 7500", "to_rpm = 8250"),
            ],
        ),
        ("driveline at the end", vec![("# measured_loss_percent = 15", "measured_loss_percent = 11 #")]),
    ] {
        let found = estimate(&changed(&changes)).unwrap().fuels[0].peak_power;
        let reading = worth(title);
        assert_relative_eq!(reading.wheel_power_kw, found.wheel.likely, max_relative = 0.015);
        assert_relative_eq!(reading.speed_rpm, found.speed_rpm, max_relative = 0.04);
    }
    // HAND: friction down by a fifth gives back a fifth of the friction pressure, and the driveline takes its share.
    let at = &estimate(&job::demo()).unwrap().fuels[0].curve[10];
    let gain = worth("friction").wheel_power_kw / goal.as_it_is.wheel_power_kw - 1.0;
    let crank = 0.2 * at.fmep_bar / at.bmep_bar;
    assert!((0.98 * crank..1.15 * crank).contains(&gain), "{gain} against {crank}");
}

/// A plan reaches the goal with one change per lever, and no single change would have done.
fn is_minimal(job: &Job, goal: &Goal) -> Result<(), TestCaseError> {
    let Some(plan) = &goal.plan else { return Ok(()) };
    if let Some(gentler) = &goal.gentler {
        prop_assert!(gentler.changes.len() > plan.changes.len() && gentler.cost < 0.9 * plan.cost);
        prop_assert!(
            gentler.reading.wheel_power_kw >= goal.wheel_power_kw && gentler.limits_passed.is_empty()
        );
        // It does not hold the fewest and more.
        prop_assert!(!plan.changes.iter().all(|change| gentler.changes.contains(change)));
    }
    prop_assert!(plan.reading.wheel_power_kw >= goal.wheel_power_kw);
    prop_assert!(plan.reading.has_safe_spark || !goal.as_it_is.has_safe_spark);
    let mut levers = plan.levers.clone();
    levers.dedup();
    prop_assert_eq!(levers.len(), plan.changes.len(), "one change per lever");
    // Single changes that reach it within every limit leave no room for two.
    if plan.changes.len() > 1 && plan.limits_passed.is_empty() {
        for change in &goal.changes {
            let reaches = change.reading.wheel_power_kw >= goal.wheel_power_kw;
            let limits = job.build.limits;
            let passes =
                limits.peak_pressure_pa.is_some_and(|pa| change.reading.peak_pressure_bar > pa / 1e5)
                    || limits
                        .mean_piston_speed_m_per_s
                        .is_some_and(|v| change.reading.top_mean_piston_speed_m_per_s > v);
            prop_assert!(
                !reaches || !change.is_credible || !change.reading.has_safe_spark || passes,
                "{} alone reaches {}",
                change.change,
                goal.wheel_power_kw
            );
            prop_assert!(!(reaches && plan.changes.contains(&change.change)), "{} alone does", change.change);
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(cases(8, 1000))]

    /// Over random builds and goals: finite, in order, consistent, and no larger a plan than needed.
    #[test]
    fn random_builds_and_goals(
        ratio in 9.0..13.5f64,
        kind in prop::sample::select(vec!["production-four-valve", "sport-four-valve", "race"]),
        layout in prop::sample::select(vec!["front-manual", "rear-automatic", "all-wheel"]),
        top in 6500.0..8500.0f64,
        wanted in 0.6..2.2f64,
        bound in any::<bool>(),
    ) {
        let mut changes = vec![
            ("compression_ratio = 12.5", format!("compression_ratio = {ratio:.2}")),
            ("kind = \"sport-four-valve\"", format!("kind = \"{kind}\"")),
            ("layout = \"rear-manual\"", format!("layout = \"{layout}\"")),
            ("to_rpm = 7500", format!("to_rpm = {top:.0}")),
            ("peak_torque_rpm = 5800", format!("peak_torque_rpm = {:.0}", 0.75 * top)),
            ("peak_power_rpm = 7300", format!("peak_power_rpm = {:.0}", 0.95 * top)),
            ("[\"premium-91\", \"premium-93\", \"e30\", \"e85\"]", "[\"premium-91\", \"e85\"]".to_owned()),
            ("from_rpm = 2500", "from_rpm = 3500".to_owned()),
            ("step_rpm = 500", "step_rpm = 1000".to_owned()),
        ];
        if !bound {
            changes.push(("peak_pressure_bar = 110.0", "peak_pressure_bar = 250.0".to_owned()));
            changes.push(("mean_piston_speed_m_per_s = 23.0", "mean_piston_speed_m_per_s = 40.0".to_owned()));
        }
        let changes: Vec<(&str, &str)> = changes.iter().map(|(a, b)| (*a, b.as_str())).collect();
        let mut job = changed(&changes);
        job.samples = 60;
        let likely = estimate(&job).unwrap().fuels[0].peak_power.wheel.likely;
        let goal = goal(&job, wanted * likely).unwrap();
        let reached = wanted <= 1.0;
        prop_assert_eq!(goal.reached_in_likely_case, reached);
        prop_assert_eq!(goal.verdict >= GoalVerdict::Likely, reached);
        prop_assert!(goal.plan.is_none() || goal.most.is_none());
        prop_assert_eq!(goal.plan.is_some() || goal.most.is_some(), !reached);
        prop_assert_eq!(goal.verdict == GoalVerdict::NotCredible, !reached && goal.plan.is_none() && goal.chances[0].chance_frac < 0.1);
        prop_assert!(goal.demand.iter().all(|p| p.volumetric_efficiency.is_finite() && p.volumetric_efficiency > 0.0));
        prop_assert!(goal.changes.iter().all(|c| c.reading.wheel_power_kw.is_finite()));
        for lever in [Lever::Ratio, Lever::Fuel, Lever::Filling, Lever::Driveline, Lever::Friction] {
            prop_assert!(goal.changes.iter().any(|c| c.lever == lever), "{:?}", lever);
        }
        if let Some(most) = &goal.most {
            prop_assert!(most.reading.wheel_power_kw < goal.wheel_power_kw);
        }
        is_minimal(&job, &goal)?;
    }
}

/// A plan of three, each change taken away in a scenario of its own and estimated: none reaches the goal, all three
/// together do (to 1.5 %, as single changes).
#[test]
fn taking_a_change_away_misses_the_goal() {
    let goal = goal(&job::demo(), 165.0).unwrap();
    let plan = goal.plan.unwrap();
    assert_eq!(plan.levers, [Lever::Filling], "{:?}", plan.changes);
    assert!(plan.changes[0].to_string().starts_with("VE of a race engine"), "{:?}", plan.changes);
    let changes = [vec![("kind = \"sport-four-valve\"", "kind = \"race\"")]];
    let likely = |left_out: Option<usize>| {
        let kept: Vec<_> = changes
            .iter()
            .enumerate()
            .filter(|(i, _)| Some(*i) != left_out)
            .flat_map(|(_, c)| c.clone())
            .collect();
        estimate(&changed(&kept)).unwrap().fuels[0].peak_power.wheel.likely
    };
    assert_relative_eq!(likely(None), plan.reading.wheel_power_kw, max_relative = 0.015);
    for i in 0..changes.len() {
        assert!(likely(Some(i)) < 165.0, "without {}: {}", plan.changes[i], likely(Some(i)));
    }
}

/// The more is asked, the more changes it takes; when none keep the limits of the scenario, fewer may pass them.
#[test]
fn more_is_asked_and_no_fewer_changes_do_it() {
    let job = job::demo();
    let mut counts = Vec::new();
    for wanted in [154.0, 160.0, 170.0, 180.0, 190.0, 200.0, 210.0] {
        let goal = goal(&job, wanted).unwrap();
        is_minimal(&job, &goal).unwrap();
        let plan = goal.plan.unwrap();
        assert!(plan.chance_frac >= 0.45, "{wanted}: {}", plan.chance_frac);
        counts.push((!plan.limits_passed.is_empty(), plan.changes.len()));
    }
    assert!(counts.is_sorted(), "{counts:?}");
    assert!(!counts[0].0 && counts[counts.len() - 1].0, "{counts:?}");
    assert!(counts[0].1 == 1 && counts.iter().any(|(_, count)| *count >= 3), "{counts:?}");
}

#[test]
fn powers_outside_the_range_are_refused() {
    for wrong in [0.0, 1.9, 2000.1, f64::NAN, f64::INFINITY, -3.0] {
        assert!(matches!(goal(&job::demo(), wrong), Err(GoalError::Power { .. })), "{wrong}");
    }
}
