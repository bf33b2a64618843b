//! Fuel supply: flows against hand values, sizes against published figures, limits and laws.

use crate::common::cases::cases;
use crate::common::job;
use approx::assert_relative_eq;
use endgas::engine::{Figure, Standing};
use endgas::estimate::{FuelChoice, Job, estimate};
use endgas::fuel::FuelLibrary;
use endgas::fueling::{FuelSystem, Fueling, fueling};
use endgas::scenario::DEMO;
use endgas::units::Lambda;
use proptest::prelude::*;

fn found(job: &Job, system: &FuelSystem) -> Fueling {
    fueling(job, system).unwrap()
}

fn on(specs: &[&str], lambda: f64) -> Job {
    let library = FuelLibrary::shipped().unwrap();
    let choice = |spec: &&str| FuelChoice {
        fuel: library.measured(spec).unwrap(),
        lambda: Some(Lambda::new(lambda).unwrap()),
    };
    Job { fuels: specs.iter().map(choice).collect(), ..job::demo() }
}

/// The likely flows are those of the estimate, but for the median of the samples (0.5 %).
#[test]
fn likely_flows_are_those_of_the_estimate() {
    let job = job::demo();
    let (flows, estimate) = (found(&job, &FuelSystem::default()), estimate(&job).unwrap());
    for fuel in &estimate.fuels {
        let need = flows.needs.iter().find(|n| n.fuel == fuel.name && !n.is_high_content).unwrap();
        for (p, q) in need.curve.iter().zip(&fuel.curve) {
            assert_eq!(p.speed_rpm, q.speed_rpm);
            assert_relative_eq!(p.air_flow_kg_per_s.likely, q.air_flow_kg_per_s, max_relative = 0.005);
            assert_relative_eq!(p.fuel_flow_kg_per_s.likely, q.fuel_flow_kg_per_s, max_relative = 0.005);
            assert!(p.fuel_flow_kg_per_s.low < p.fuel_flow_kg_per_s.likely);
            assert!(p.fuel_flow_kg_per_s.likely < p.fuel_flow_kg_per_s.high);
        }
    }
}

/// HAND: the band of a sport engine at peak power is +3.2 %, its powerband 3 % about where it is stated, worth some 2.5 % of
/// filling at 7500 rpm; lambda 0.88 -0.02, +2.33 %: joined by their squares +4.7 %, the samples 1 % about it.
#[test]
fn the_high_end_holds_filling_and_mixture() {
    let need = &found(&on(&["premium-91"], 0.88), &FuelSystem::default()).needs[0];
    let flow = need.peak_fuel_flow_kg_per_s;
    assert_relative_eq!(flow.high / flow.likely, 1.047, epsilon = 0.01);
}

/// HAND: volume at equal lambda and air goes as 1 / (air-fuel ratio x density). Gasoline with 10 % ethanol,
/// 14.1 and 0.742 kg/L, against E85, 9.8 and 0.781: 10.462 / 7.654 = 1.367. With 14.1 and 0.720 it is 1.326,
/// with 14.7 and 0.755 (no ethanol) 1.450: 32 to 45 %. Pump E85 with less ethanol takes less.
#[test]
fn e85_takes_about_37_percent_more_volume() {
    let flows = found(&on(&["premium-91", "e85 at 85 %", "e85 at 51 %"], 0.87), &FuelSystem::default());
    let volume = |i: usize| flows.needs[i].peak_fuel_flow_l_per_h.likely;
    let more = volume(1) / volume(0) - 1.0;
    assert!((0.32..=0.45).contains(&more), "{more}");
    assert!(volume(2) < volume(1) && volume(2) > volume(0));
    assert_eq!(flows.injector_worst.fuel, flows.needs[1].fuel);
}

/// HAND: fuel kg/s over density 0.752 kg/L, four injectors, 85 %: cc/min = kg/s 6e7 / (4 0.85 sqrt(752 720)).
#[test]
fn sizes_follow_from_the_high_flow() {
    let flows = found(&on(&["premium-91"], 0.88), &FuelSystem::default());
    let need = &flows.needs[0];
    let (flow, density) = (need.peak_fuel_flow_kg_per_s.high, need.density_15c_kg_per_l * 1e3);
    let by_hand = flow * 6e7 / (4.0 * 0.85 * (density * 720.0).sqrt());
    assert_relative_eq!(need.injector_need_cc_per_min, by_hand, max_relative = 1e-9);
    assert_relative_eq!(need.injector_need_cc_per_min / need.injector_need_lb_per_h, 10.50, epsilon = 0.005);
    assert_relative_eq!(need.pump_need_l_per_h, 1.2 * flow / density * 3.6e6, max_relative = 1e-9);
    // HAND: 0.50 lb/(hp h) (common practice, no source) is 304 g/kWh: 100 kW take 30.4 kg/h, at 0.755 kg/L
    // 40.3 L/h or 671 cc/min. This engine makes 166 kW and lies below that, which is on the safe side.
    let cc_per_min = need.peak_fuel_flow_l_per_h.likely * 1e3 / 60.0;
    let rule = 670.0 * 1.66;
    assert!((0.85 * rule..1.05 * rule).contains(&cc_per_min), "{cc_per_min} against {rule}");
}

/// HAND: r 43.7 mm, l 150 mm, 7500 rpm is 785.40 rad/s: 0.0437 785.4^2 (1 + 0.29133) = 34 810 m/s2; piston speed
/// 2 0.0874 125 = 21.85 m/s.
#[test]
fn mechanical_figures_by_hand() {
    let flows = found(&job::demo(), &FuelSystem::default());
    let row = |figure: Figure| flows.mechanical.iter().find(|m| m.figure == figure).unwrap();
    assert_relative_eq!(row(Figure::PistonAcceleration).value, 34_810.0, max_relative = 1e-3);
    assert_relative_eq!(row(Figure::MeanPistonSpeed).value, 21.85, max_relative = 1e-9);
    assert_eq!(row(Figure::MeanPistonSpeed).standing, Standing::Sport);
    assert!(row(Figure::PeakPressure).value > 60.0 && row(Figure::PeakPressure).value < 110.0);
    assert!(!flows.limit_missed && flows.mechanical.iter().all(|m| m.is_met));
    let tight =
        job::from_text(&DEMO.replace("mean_piston_speed_m_per_s = 23.0", "mean_piston_speed_m_per_s = 20.0"));
    let flows = found(&tight, &FuelSystem::default());
    assert!(flows.limit_missed && flows.mechanical.iter().any(|m| !m.is_met));
}

#[test]
fn stated_parts_are_judged_on_the_worst_case() {
    let job = job::demo();
    let need = found(&job, &FuelSystem::default());
    let stated = |share: f64| FuelSystem {
        injector_flow_m3_per_s: Some(share * need.injector_worst.need / 6e7),
        rated_pressure_pa: Some(300e3),
        fuel_pressure_pa: Some(300e3),
        pump_flow_m3_per_s: Some(share * need.pump_worst.need / 3.6e6),
        ..FuelSystem::default()
    };
    let enough = found(&job, &stated(1.001));
    assert!(enough.stated_injectors.unwrap().is_enough && enough.stated_pump.unwrap().is_enough);
    assert!(!enough.limit_missed);
    let short = found(&job, &stated(0.999));
    let (injectors, pump) = (short.stated_injectors.unwrap(), short.stated_pump.unwrap());
    assert!(!injectors.is_enough && !pump.is_enough && short.limit_missed);
    // HAND: 0.999 of the need at a duty limit of 0.85 and a reserve of 0.20.
    assert_relative_eq!(injectors.highest_duty_frac, 0.85 / 0.999, max_relative = 1e-9);
    assert_relative_eq!(pump.reserve_frac, 1.2 * 0.999 - 1.0, max_relative = 1e-9);
    // The duty of the table tops out at the same value.
    let highest = short
        .needs
        .iter()
        .flat_map(|n| &n.curve)
        .map(|p| p.injector_duty_frac.unwrap().high)
        .fold(0.0, f64::max);
    assert_relative_eq!(highest, injectors.highest_duty_frac, max_relative = 1e-9);
    // What is short at the likely flow of the weakest blend is not what is judged: likely duty is below the limit.
    assert!(short.needs[0].curve.iter().all(|p| p.injector_duty_frac.unwrap().likely < 0.85));
}

#[test]
fn direct_injection_has_a_stroke_to_inject() {
    let text =
        std::fs::read_to_string(format!("{}/scenarios/big-eight-6200.toml", env!("CARGO_MANIFEST_DIR")));
    let flows = found(&job::from_text(&text.unwrap()), &FuelSystem::default());
    assert!(flows.supply.is_direct && flows.supply.duty_limit_frac == 0.25);
    assert!(flows.supply.fuel_pressure_kpa > 10_000.0);
    // Each fuel at its likely content, e85 at its high end as well.
    assert!(flows.needs.iter().any(|n| n.is_high_content && n.ethanol_vol_frac > 0.8));
}

proptest! {
    #![proptest_config(cases(24, 100))]

    /// Over random systems and builds: more pressure, injectors or duty ask for a smaller injector by the law;
    /// what is sized from the need is enough, what is smaller is not; all is finite.
    #[test]
    fn sizes_obey_their_laws(
        count in 1..=16u32,
        rated in 200.0..500.0f64,
        used in 200.0..700.0f64,
        duty in 0.3..0.95f64,
        reserve in 0.0..0.6f64,
        top in 4000.0..8000.0f64,
        ratio in 9.0..12.5f64,
        share in 0.5..1.5f64,
    ) {
        let text = DEMO
            .replace("to_rpm = 7500", &format!("to_rpm = {top:.0}"))
            .replace("step_rpm = 500", "step_rpm = 1500")
            .replace("compression_ratio = 12.5", &format!("compression_ratio = {ratio:.2}"))
            .replace("mean_piston_speed_m_per_s = 23.0", "mean_piston_speed_m_per_s = 40.0")
            .replace("[\"premium-91\", \"premium-93\", \"e30\", \"e85\"]", "[\"premium-91\", \"e85\"]");
        let job = job::from_text(&text);
        let usual = found(&job, &FuelSystem::default());
        let system = FuelSystem {
            injector_count: Some(count),
            rated_pressure_pa: Some(rated * 1e3),
            fuel_pressure_pa: Some(used * 1e3),
            duty_limit: Some(duty),
            pump_reserve: Some(reserve),
            ..FuelSystem::default()
        };
        let need = found(&job, &system);
        let law = 4.0 * 0.85 / (f64::from(count) * duty) * (rated / used).sqrt();
        prop_assert!((need.injector_worst.need / usual.injector_worst.need / law - 1.0).abs() < 1e-9);
        prop_assert!((need.pump_worst.need / usual.pump_worst.need / ((1.0 + reserve) / 1.2) - 1.0).abs() < 1e-9);
        // The strongest blend sets both.
        prop_assert!(need.injector_worst.ethanol_vol_frac > 0.8 && need.pump_worst.ethanol_vol_frac > 0.8);
        let stated = FuelSystem {
            injector_flow_m3_per_s: Some(share * need.injector_worst.need / 6e7),
            pump_flow_m3_per_s: Some(share * need.pump_worst.need / 3.6e6),
            ..system
        };
        let judged = found(&job, &stated);
        prop_assert_eq!(judged.stated_injectors.unwrap().is_enough, share >= 1.0);
        prop_assert_eq!(judged.stated_pump.unwrap().is_enough, share >= 1.0);
        prop_assert_eq!(judged.limit_missed, share < 1.0);
        for p in judged.needs.iter().flat_map(|n| &n.curve) {
            prop_assert!(p.fuel_flow_l_per_h.high.is_finite() && p.fuel_flow_l_per_h.low > 0.0);
        }
    }
}
