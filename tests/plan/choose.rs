//! The choice of compression against a dense scan, its laws, and the demo.

mod dense;
mod random_build;
use endgas::choose::result::{Bound, Choice, RatioRow, VariantKind};
use endgas::choose::{ChooseError, ChooseJob, Ignition, LateLimits, LimitKind, choose, ratio_to_order};
use endgas::fuel::FuelLibrary;
use endgas::scenario::{self, DEMO};
use endgas::units::CompressionRatio;
use random_build::random_ask;

fn ratio(value: f64) -> CompressionRatio {
    CompressionRatio::new(value).unwrap()
}

/// The demo's question, on few speeds and samples so that many can be asked.
fn demo() -> ChooseJob {
    let scenario = scenario::read("demo", DEMO).unwrap();
    let library = FuelLibrary::shipped().unwrap();
    let mut job = scenario.job(&library, 50, 1).unwrap();
    job.speeds_rpm = vec![4500.0, 7000.0];
    scenario.choose_job(job, &library).unwrap()
}

/// The same on 91 AKI and E85 alone.
fn two_fuels() -> ChooseJob {
    let mut ask = demo();
    ask.job.fuels.drain(1..3);
    ask.weights.drain(1..3);
    ask
}

fn found(ask: &ChooseJob) -> Choice {
    choose(ask, &|_| {}).unwrap()
}

fn ordered(ask: &ChooseJob) -> f64 {
    ratio_to_order(ask).unwrap().unwrap()
}

const NO_LIMIT: LateLimits = LateLimits::Stated { retard_deg: None, torque_lost_frac: None };

/// Weights for the fuels of the demo: premium-91, premium-93, e30, e85.
fn weighted(weights: [f64; 4]) -> ChooseJob {
    let mut ask = demo();
    for (own, weight) in ask.weights.iter_mut().zip(weights) {
        (own.weight, own.likelihood) = (weight, 1.0);
    }
    ask
}

/// HAND: weights 2 and 1, likelihoods 0.25 and 0.5: products 0.5 and 0.5, so half each; 1 and 1 with 0.25 and 0.75 as the
/// likelihoods; a fuel that is never filled counts for nothing.
#[test]
fn a_fuel_counts_by_weight_and_likelihood() {
    let mut ask = two_fuels();
    for (weights, likelihoods, shares) in [
        ([2.0, 1.0], [0.25, 0.5], [0.5, 0.5]),
        ([1.0, 1.0], [0.25, 0.75], [0.25, 0.75]),
        ([1.0, 1.0], [0.0, 0.4], [0.0, 1.0]),
    ] {
        for (own, (weight, likelihood)) in ask.weights.iter_mut().zip(weights.into_iter().zip(likelihoods)) {
            (own.weight, own.likelihood) = (weight, likelihood);
        }
        assert_eq!(ask.shares().unwrap(), shares, "{weights:?}, {likelihoods:?}");
    }
}

#[test]
fn an_ignition_that_knows_less_of_the_fuel_makes_less_of_it() {
    let choice = found(&demo());
    for row in &choice.curve {
        let limit = row.weighted_power_kw.likely;
        let start = row.start_weighted_power_kw.unwrap().likely;
        // A cubic over the grid is not its own maximum to the last digit.
        assert!(start <= limit * 1.001, "{}: {start} {limit}", row.compression_ratio);
        for state in &row.fuels {
            assert!(state.start_retard_deg.unwrap() >= state.retard_deg - 0.1, "{state:?}");
            // One in ten at each of two speeds.
            assert!(state.start_knock_probability.unwrap() <= 0.21, "{state:?}");
        }
    }
    let [control, own, one] = &choice.ignitions[..] else { panic!("three ignitions") };
    for (i, fuel) in choice.fuels.iter().enumerate() {
        let here = [control, own, one].map(|worth| worth.power_kw_here[i]);
        assert!(here[0] >= here[1] * 0.999 && here[1] >= here[2] * 0.999, "{}: {here:?}", fuel.name);
    }
    // With one map E85 is timed for 91 AKI, and a fuel sensor gives it back.
    assert!(one.power_kw_here[3] < 0.99 * own.power_kw_here[3], "{one:?} {own:?}");
    assert!(one.power_kw_here[0] > 0.995 * own.power_kw_here[0], "the weakest fuel loses nothing");
    let ratios = [control, own, one].map(|worth| worth.compression_ratio.unwrap());
    assert!(ratios[0] >= ratios[1] && ratios[1] >= ratios[2] - 0.05, "{ratios:?}");
}

/// Over random builds: the order agrees with that of a dense scan that computes each ratio by itself through the estimate, by the
/// same rule, to a fifth of a ratio, or the scan's rule holds there within its step.
#[test]
fn the_order_agrees_with_a_dense_scan() {
    let mut with_limit = 0;
    for seed in 1..4 {
        let ask = random_ask(seed);
        let choice = found(&ask);
        let scanned = dense::order(&ask, 0.25);
        match (&choice.order, scanned) {
            (Some(order), Some(scanned)) => {
                assert!(
                    (order.compression_ratio - scanned).abs() <= 0.2 + 1e-9,
                    "seed {seed}, {:?}: {} ordered, the scan says {scanned:.2}",
                    ask.ignition,
                    order.compression_ratio
                );
                with_limit += i32::from(matches!(order.above, Bound::Limit(_)));
            }
            (None, Some(scanned)) => panic!("seed {seed}: the scan orders {scanned}"),
            (Some(order), None) => panic!("seed {seed}: {} is over a limit", order.compression_ratio),
            (None, None) => assert!(!choice.out_of_limits.is_empty()),
        }
    }
    assert!(with_limit > 0, "no order ends at a limit: the limits are not tested");
}

#[test]
fn more_weight_on_pump_fuel_asks_for_less_ratio() {
    let mut last = f64::INFINITY;
    let of = |weights| {
        let mut ask = weighted(weights);
        ask.limits.late = NO_LIMIT;
        ask.highest = ratio(16.0);
        ordered(&ask)
    };
    for weight in [0.0, 0.5, 4.0, 1e3] {
        let ratio = of([weight, 0.0, 0.0, 1.0]);
        assert!(ratio <= last + 0.02, "weight {weight}: {ratio} after {last}");
        last = ratio;
    }
    assert!(of([0.0, 0.0, 0.0, 1.0]) > last + 1.0, "E85 alone must ask for much more than pump fuel, {last}");
}

#[test]
fn limits_bind_as_they_are_set() {
    let with = |retard_deg, torque_lost_frac| {
        let mut ask = two_fuels();
        ask.ignition = Ignition::KnockControl;
        ask.limits.late = LateLimits::Stated { retard_deg, torque_lost_frac };
        ask
    };
    let mut last = 0.0;
    for allowed in [0.005, 0.015, 0.03] {
        let choice = found(&with(None, Some(allowed)));
        let order = choice.order.as_ref().unwrap();
        assert!(order.same_to > last + 0.3, "{allowed}: {} after {last}", order.same_to);
        let Bound::Limit(state) = order.above else { panic!("the limit must be what ends it") };
        assert_eq!(state.kind, LimitKind::TorqueLoss);
        assert!((state.found - allowed).abs() < 1e-3, "{state:?}");
        assert!((state.ethanol_vol_frac - 0.10).abs() < 1e-9, "the weakest blend is the worst here");
        assert!(state.speed_rpm >= choice.stood.limits_from_rpm);
        last = order.same_to;
    }
    // A milder hot day leaves room for more.
    let mut mild = with(None, Some(0.03));
    mild.service.weather = mild.job.weather;
    let top = |ask: &ChooseJob| found(ask).order.unwrap().same_to;
    assert!(top(&mild) > last + 0.1);
    // Of two limits the tighter one binds.
    let (retard, torque) = (top(&with(Some(9.0), None)), top(&with(None, Some(0.02))));
    assert!((top(&with(Some(9.0), Some(0.02))) - retard.min(torque)).abs() < 0.03, "{retard} {torque}");
}

#[test]
fn the_service_conditions_each_cost_ratio_and_changes_move_it_the_right_way() {
    let mut ask = demo();
    // The timing of a map steps from sample to sample: with 50 an order may step by 0.2.
    ask.job.samples = 200;
    ask.service.heat_soak_k = 8.0;
    let choice = found(&ask);
    let here = choice.order.as_ref().unwrap().compression_ratio;
    for variant in &choice.variants {
        let Some(there) = variant.compression_ratio else { panic!("{variant:?}") };
        let sign = match variant.kind {
            VariantKind::GradeLower { .. }
            | VariantKind::Hotter { .. }
            | VariantKind::HeatSoak { .. }
            | VariantKind::BetterFilling { .. }
            | VariantKind::NeedsMore { .. } => -1.0,
            VariantKind::Ignition { ignition } if ignition != Ignition::KnockControl => -1.0,
            _ => 1.0,
        };
        assert!(sign * (there - here) > -0.11, "{variant:?} from {here}");
    }
    let of = |kind: fn(&VariantKind) -> bool| {
        choice.variants.iter().find(|v| kind(&v.kind)).unwrap().compression_ratio.unwrap()
    };
    // Two octane numbers are half a ratio or so (3 to 6 per ratio, see the accuracy table), and as much again for the slope of power.
    let grade = here - of(|kind| matches!(kind, VariantKind::GradeLower { .. }));
    assert!((0.2..0.9).contains(&grade), "{grade}");
    let more = of(|kind| matches!(kind, VariantKind::NeedsMore { .. }));
    assert!(more < here - grade, "4.5 octane numbers cost more than 2");
    // Each variant is the answer to its own question.
    let mut clean = ask.clone();
    clean.service.weak_tank_octane = 0.0;
    let of_variant = of(|kind| matches!(kind, VariantKind::NoWeakTank));
    assert!((ordered(&clean) - of_variant).abs() < 0.11, "{} {of_variant}", ordered(&clean));
}

#[test]
fn a_share_that_may_knock_costs_ratio_without_knock_control() {
    let with = |knock_probability| {
        let mut ask = two_fuels();
        ask.job.samples = 100;
        ask.limits.knock_probability = knock_probability;
        found(&ask).order.unwrap().same_to
    };
    let (strict, loose) = (with(0.05), with(0.30));
    assert!(strict < loose - 0.5, "{strict} {loose}");
}

#[test]
fn the_worst_blend_is_found_at_whichever_end_it_lies() {
    // Toluene has more octane than ethanol: its worst blend holds much ethanol.
    let mut ask = weighted([1.0, 0.0, 0.0, 1.0]);
    ask.range.base = FuelLibrary::shipped().unwrap().resolve("toluene").unwrap();
    (ask.range.low_vol_frac, ask.range.high_vol_frac) = (0.0, 0.85);
    ask.highest = ratio(18.0);
    ask.ignition = Ignition::KnockControl;
    ask.limits.late = LateLimits::Stated { retard_deg: Some(1.0), torque_lost_frac: None };
    let choice = found(&ask);
    let map = &choice.margin_map;
    let mut held_back = 0;
    for column in 0..map.compression_ratio.len() {
        let worst = (0..map.ethanol_vol_frac.len())
            .min_by(|a, b| {
                map.best_torque_octane_margin[*a][column]
                    .total_cmp(&map.best_torque_octane_margin[*b][column])
            })
            .unwrap();
        let near = |row: &&RatioRow| (row.compression_ratio - map.compression_ratio[column]).abs() < 1e-5;
        let state = choice.curve.iter().find(near).unwrap();
        let retard = state.limits.iter().find(|l| l.kind == LimitKind::Retard).unwrap();
        if retard.found > 0.0 {
            held_back += 1;
            // Retard and margin at MBT need not agree on the worst to the last blend, where margins are nearly equal.
            let near = (0..map.ethanol_vol_frac.len())
                .min_by(|a, b| {
                    let off = |i: usize| (map.ethanol_vol_frac[i] - retard.ethanol_vol_frac).abs();
                    off(*a).total_cmp(&off(*b))
                })
                .unwrap();
            let margin = |i: usize| map.best_torque_octane_margin[i][column];
            assert!(margin(near) < margin(worst) + 1.5, "{retard:?}: {} of {}", margin(near), margin(worst));
        }
    }
    assert!(held_back > 0, "no blend is held back: the test sees nothing");
}

#[test]
fn what_is_over_a_limit_says_what_would_fix_it() {
    let mut ask = two_fuels();
    ask.ignition = Ignition::KnockControl;
    let stated = |most| LateLimits::Stated { retard_deg: None, torque_lost_frac: Some(most) };
    ask.limits.late = stated(0.01);
    ask.pistons.clear();
    (ask.lowest, ask.highest) = (ratio(13.5), ratio(15.0));
    let choice = found(&ask);
    assert!(choice.order.is_none() && choice.half_steps.is_empty() && choice.variants.is_empty());
    let part = &choice.out_of_limits[0];
    assert_eq!((part.from_ratio, part.to_ratio, part.at_ratio), (13.5, 15.0, 13.5));
    let failing = &part.failing[0];
    assert_eq!(failing.state.kind, LimitKind::TorqueLoss);
    // Each way out is tried.
    let nearest = part.nearest_ratio.unwrap();
    let mut lower = ask.clone();
    lower.lowest = ratio(nearest - 0.6);
    assert!((found(&lower).order.unwrap().same_to - nearest).abs() < 0.3, "less ratio");
    let mut stronger = ask.clone();
    stronger.range.low_vol_frac = failing.least_ethanol_vol_frac.unwrap() + 0.01;
    assert!(ordered(&stronger) >= 13.5, "more ethanol");
    ask.limits.late = stated(failing.state.found + 1e-3);
    assert!(ordered(&ask) >= 13.5, "a wider limit");
}

#[test]
fn regret_is_nothing_at_home() {
    let choice = found(&demo());
    assert_eq!(choice.regret.len(), 5);
    for (i, row) in choice.regret.iter().enumerate().skip(1) {
        let lost = row.on[i - 1].power_lost_frac.unwrap();
        // Its own order is no more than what cannot be measured below its most power.
        assert!((-1e-4..0.0051).contains(&lost), "{i}: {lost}");
    }
    let ratios: Vec<f64> = choice.regret[1..].iter().map(|row| row.compression_ratio.unwrap()).collect();
    assert!(ratios.windows(2).all(|w| w[1] >= w[0] - 0.11), "by rising octane: {ratios:?}");
}

#[test]
fn a_piston_over_the_limit_never_ranks_above_one_within() {
    let mut ask = demo();
    ask.pistons = [14.5, 10.0, 12.0, 14.0, 11.0].map(ratio).to_vec();
    let choice = found(&ask);
    let rank = |i: usize| &choice.pistons[i];
    let within = choice.pistons.iter().filter(|piston| piston.row.within_limits).count();
    assert!((1..choice.pistons.len()).contains(&within), "{within} within: the test sees one side only");
    for i in 1..choice.pistons.len() {
        let (a, b) = (rank(i - 1), rank(i));
        assert_eq!((a.place, b.place), (i, i + 1));
        assert!(a.row.within_limits >= b.row.within_limits);
        if a.row.within_limits == b.row.within_limits {
            let mean = |row: &RatioRow| row.fitted_weighted_power_kw.likely;
            assert!(mean(&a.row) > mean(&b.row) * 0.995, "rank {i} has less power than the next");
        }
    }
}

#[test]
fn the_order_is_the_lowest_that_no_dyno_tells_from_the_most_power() {
    let choice = found(&demo());
    let order = choice.order.as_ref().unwrap();
    assert!(order.same_from <= order.compression_ratio && order.compression_ratio < order.same_from + 0.101);
    assert!(order.same_from <= order.most_power_ratio && order.most_power_ratio <= order.same_to);
    let mut ask = demo();
    ask.measurable_frac = 0.02;
    assert!(ordered(&ask) < order.compression_ratio - 0.2, "a coarser dyno orders less");
    // 12.5:1 stands on the curve, tunable on 91 AKI at some loss (common practice, no source).
    let tunable = choice.curve.iter().find(|row| row.compression_ratio == 12.5).unwrap();
    let lost = |fuel: usize| tunable.fuels[fuel].torque_lost_frac;
    assert!((0.005..0.08).contains(&lost(0)), "{}", lost(0));
    assert!(lost(3) < 0.005, "E85 runs within half a per cent of the torque at MBT timing there");
}

#[test]
fn other_samples_order_the_same() {
    let of = |seed: u64, ignition: Ignition| {
        let mut ask = two_fuels();
        ask.job.samples = 400;
        (ask.job.seed, ask.ignition) = (seed, ignition);
        ordered(&ask)
    };
    for ignition in [Ignition::KnockControl, Ignition::OneMap] {
        let orders = [1, 2].map(|seed| of(seed, ignition));
        let (low, high) =
            (orders.iter().copied().fold(99.0, f64::min), orders.iter().copied().fold(0.0, f64::max));
        assert!(high - low <= 0.2 + 1e-9, "{ignition:?}: {orders:?}");
    }
}

#[test]
fn threads_and_repetition_change_nothing() {
    let ask = two_fuels();
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| found(&ask))
    };
    let alone = on(1);
    assert_eq!(alone, on(3));
    let mut other = ask.clone();
    other.job.seed = 2;
    assert_ne!(found(&other), alone);
}

#[test]
fn progress_rises_to_the_end() {
    let seen = std::sync::Mutex::new(Vec::new());
    choose(&demo(), &|share| seen.lock().unwrap().push(share)).unwrap();
    let mut seen = seen.into_inner().unwrap();
    assert!(seen.len() > 60 && seen.iter().all(|share| (0.0..=1.0).contains(share)));
    seen.sort_by(f64::total_cmp);
    assert!(*seen.last().unwrap() > 0.6);
}

#[test]
fn questions_that_do_not_hold_together_are_refused() {
    let mut ask = demo();
    ask.weights.iter_mut().for_each(|w| w.weight = 0.0);
    assert!(matches!(choose(&ask, &|_| {}), Err(ChooseError::Weights { .. })));
    let mut ask = demo();
    ask.highest = ask.lowest;
    assert!(matches!(choose(&ask, &|_| {}), Err(ChooseError::Span { .. })));
    let mut ask = demo();
    ask.objective = endgas::choose::Objective::MeanPower { from_rpm: 100.0, to_rpm: 200.0 };
    assert!(matches!(choose(&ask, &|_| {}), Err(ChooseError::Band { .. })));
    let mut ask = demo();
    ask.lowest = ratio(12.2);
    assert!(matches!(choose(&ask, &|_| {}), Err(ChooseError::Piston { .. })));
    let mut ask = demo();
    (ask.range.low_vol_frac, ask.range.high_vol_frac) = (0.8, 0.2);
    assert!(matches!(choose(&ask, &|_| {}), Err(ChooseError::Range { .. })));
}
