//! Whatever is done to a scenario's text: no panic, and what is accepted is finite and in range.

use crate::common::cases::cases;
use endgas::engine::{Breathing, PeakSpeeds};
use endgas::scenario::{DEMO, MOST_FUELS, MOST_SPEEDS, Scenario, read};
use endgas::units::{CompressionRatio, Lambda};
use proptest::prelude::*;

/// One change to a text.
#[derive(Clone, Debug)]
enum Change {
    /// Replace the number after the n-th equals sign.
    Number(usize, String),
    /// Put text in at a character position.
    Insert(usize, String),
    /// Take characters away.
    Remove(usize, usize),
    /// Leave a line out.
    DropLine(usize),
    /// Say a line twice.
    RepeatLine(usize),
    /// Swap two lines.
    SwapLines(usize, usize),
}

fn apply(text: &str, change: &Change) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    let count = lines.len().max(1);
    let mut chars: Vec<char> = text.chars().collect();
    match change {
        Change::Number(nth, number) => {
            let with_value: Vec<usize> = (0..lines.len()).filter(|i| lines[*i].contains(" = ")).collect();
            if let Some(&i) = with_value.get(nth % with_value.len().max(1)) {
                let key = lines[i].split(" = ").next().unwrap_or_default().to_owned();
                lines[i] = format!("{key} = {number}");
            }
            return lines.join("\n");
        }
        Change::Insert(at, what) => {
            let at = at % (chars.len() + 1);
            chars.splice(at..at, what.chars());
        }
        Change::Remove(at, length) => {
            let at = at % (chars.len() + 1);
            chars.drain(at..(at + length).min(chars.len()));
        }
        Change::DropLine(i) if !lines.is_empty() => {
            lines.remove(i % count);
            return lines.join("\n");
        }
        Change::RepeatLine(i) if !lines.is_empty() => {
            lines.insert(i % count, lines[i % count].clone());
            return lines.join("\n");
        }
        Change::SwapLines(i, k) if !lines.is_empty() => {
            lines.swap(i % count, k % count);
            return lines.join("\n");
        }
        _ => {}
    }
    chars.into_iter().collect()
}

fn change() -> impl Strategy<Value = Change> {
    let number = prop_oneof![
        any::<f64>().prop_map(|value| format!("{value:?}")),
        (-200.0..20_000.0_f64).prop_map(|value| format!("{value:.3}")),
        any::<i64>().prop_map(|value| value.to_string()),
        Just("99999999999999999999999999999999999999999999".to_owned()),
        Just("0xffff_ffff".to_owned()),
        Just("[1, [2, {a = 3}]]".to_owned()),
        Just("1979-05-27".to_owned()),
    ];
    let piece = prop_oneof!["\\PC{0,6}", "[\\[\\]{}=.,\"'#\n\t0-9a-z_-]{1,6}", Just("\u{0}".to_owned())];
    prop_oneof![
        3 => (any::<usize>(), number).prop_map(|(nth, number)| Change::Number(nth, number)),
        1 => (any::<usize>(), piece).prop_map(|(at, what)| Change::Insert(at, what)),
        1 => (any::<usize>(), 1_usize..40).prop_map(|(at, length)| Change::Remove(at, length)),
        1 => any::<usize>().prop_map(Change::DropLine),
        1 => any::<usize>().prop_map(Change::RepeatLine),
        1 => (any::<usize>(), any::<usize>()).prop_map(|(i, k)| Change::SwapLines(i, k)),
    ]
}

fn assert_in_range(s: &Scenario) {
    let within = |what: &str, value: f64, low: f64, high: f64| {
        // One part in 1e12 for the conversion of units.
        let slack = 1e-12 * high.abs().max(low.abs());
        assert!((low - slack..=high + slack).contains(&value), "{what} = {value} is outside {low} to {high}");
    };
    let g = &s.build.geometry;
    within("cylinders", f64::from(g.cylinders), 1.0, 16.0);
    within("bore_m", g.bore_m, 0.04, 0.15);
    within("stroke_m", g.stroke_m, 0.03, 0.15);
    within("rod_length_m", g.rod_length_m, 1.2 * g.stroke_m, 0.4);
    within("pin_offset_m", g.pin_offset_m, -0.005, 0.005);
    let ratio = CompressionRatio::RANGE;
    within("compression_ratio", g.compression_ratio.get(), *ratio.start(), *ratio.end());
    let v = &s.build.valves;
    within("inlet_count", f64::from(v.inlet_count), 1.0, 3.0);
    within("exhaust_count", f64::from(v.exhaust_count), 1.0, 2.0);
    within("inlet_diameter_m", v.inlet_diameter_m, 0.010, 0.080);
    within("exhaust_diameter_m", v.exhaust_diameter_m, 0.010, 0.080);
    within("mean_flow_coefficient", v.mean_flow_coefficient, 0.2, 0.6);
    within("inlet_closes_deg_abdc", v.inlet_closes_deg_abdc, 10.0, 100.0);
    within("exhaust_opens_deg_bbdc", v.exhaust_opens_deg_bbdc, 10.0, 100.0);
    within("overlap_deg", v.overlap_deg, 0.0, 150.0);
    if let Breathing::Band { peaks, .. } = s.build.breathing {
        match peaks {
            PeakSpeeds::Torque(rpm) | PeakSpeeds::Power(rpm) => within("peak", rpm, 500.0, 15_000.0),
            PeakSpeeds::Both { torque_rpm, power_rpm } => {
                within("peak_torque_rpm", torque_rpm, 500.0, power_rpm);
                within("peak_power_rpm", power_rpm, torque_rpm, 15_000.0);
            }
        }
    }
    let c = &s.build.combustion;
    within("burn_speed", c.burn_speed, 0.6, 1.5);
    within("heat_factor", c.heat_factor, 0.0, 2.0);
    within("wall_temperature_k", c.wall_temperature_k, 380.0, 563.5);
    within("measured_loss", s.build.driveline.measured_loss.unwrap_or(0.1), 0.02, 0.40);
    within("temperature_k", s.weather.temperature_k, 253.15, 323.15);
    within("pressure_pa", s.weather.pressure_pa, 5.0e4, 1.1e5);
    within("relative_humidity", s.weather.relative_humidity, 0.0, 1.0);
    within("fuels", s.fuels.len() as f64, 1.0, MOST_FUELS as f64);
    within("speeds", s.speeds_rpm.len() as f64, 1.0, MOST_SPEEDS as f64);
    for lambda in s.fuels.iter().filter_map(|fuel| fuel.lambda) {
        within("lambda", lambda.get(), *Lambda::RANGE.start(), *Lambda::RANGE.end());
    }
    s.speeds_rpm.iter().for_each(|speed| within("speed_rpm", *speed, 500.0, 15_000.0));
    assert!(s.speeds_rpm.windows(2).all(|pair| pair[0] < pair[1]), "{:?}", s.speeds_rpm);
    within("reserve_octane", s.spark.reserve_octane, 0.0, 10.0);
    within("earliest", s.spark.earliest_deg_btdc, s.spark.latest_deg_btdc, 80.0);
    for cost in [s.costs.cam, s.costs.head, s.costs.intake_exhaust, s.costs.ratio, s.costs.fuel, s.costs.rpm]
    {
        within("cost", cost, 0.0, 1e6);
    }
    let f = &s.fueling;
    within("injector_count", f64::from(f.injector_count.unwrap_or(1)), 1.0, 32.0);
    within("injector_flow", f.injector_flow_m3_per_s.unwrap_or(1e-5), 50.0 / 6e7, 6000.0 / 6e7);
    within("rated_pressure", f.rated_pressure_pa.unwrap_or(3e5), 1e5, 4e7);
    within("fuel_pressure", f.fuel_pressure_pa.unwrap_or(3e5), 1e5, 4e7);
    within("rated_density", f.rated_density_kg_per_m3.unwrap_or(720.0), 600.0, 1000.0);
    within("duty_limit", f.duty_limit.unwrap_or(0.85), 0.05, 1.0);
    within("pump_flow", f.pump_flow_m3_per_s.unwrap_or(1e-4), 10.0 / 3.6e6, 2000.0 / 3.6e6);
    within("pump_reserve", f.pump_reserve.unwrap_or(0.2), 0.0, 1.0);
    assert!(
        f.injector_flow_m3_per_s.is_none() || f.rated_pressure_pa.is_some() && f.fuel_pressure_pa.is_some()
    );
    assert!(f.pump_flow_m3_per_s.is_none() || f.fuel_pressure_pa.is_some());
    within("latest", s.spark.latest_deg_btdc, -40.0, 40.0);
}

proptest! {
    #![proptest_config(cases(2000, 1))]

    #[test]
    fn changed_text_is_refused_with_reasons_or_in_range(changes in prop::collection::vec(change(), 1..4)) {
        let text = changes.iter().fold(DEMO.to_owned(), |text, change| apply(&text, change));
        match read("changed", &text) {
            Ok(scenario) => assert_in_range(&scenario),
            Err(problems) => {
                prop_assert!(!problems.0.is_empty());
                let lines = text.split('\n').count();
                prop_assert!(problems.0.iter().all(|p| (1..=lines).contains(&p.line)), "{}", problems);
                prop_assert!(problems.to_string().lines().count() >= problems.0.len());
            }
        }
    }

    #[test]
    fn any_text_at_all_is_survived(text in "\\PC{0,200}") {
        let problems = read("any", &text).unwrap_err();
        prop_assert!(!problems.0.is_empty());
    }

    /// The run of speeds starts at the first, ends at the last and never steps wider than asked.
    #[test]
    fn speeds_cover_the_range(from in 500.0..8000.0_f64, span in 0.0..7000.0_f64, step in 130.0..2000.0_f64) {
        let to = from + span;
        let text = DEMO
            .replace("from_rpm = 2500", &format!("from_rpm = {from:?}"))
            .replacen("to_rpm = 7500", &format!("to_rpm = {to:?}"), 1)
            .replace("step_rpm = 500", &format!("step_rpm = {step:?}"));
        let speeds = read("speeds", &text).unwrap().speeds_rpm;
        prop_assert_eq!(speeds.last().copied(), Some(to));
        prop_assert!(speeds.len() == 1 || speeds[0] == from);
        prop_assert!(speeds.windows(2).all(|pair| pair[1] > pair[0] && pair[1] - pair[0] <= step * (1.0 + 1e-5)));
    }
}
