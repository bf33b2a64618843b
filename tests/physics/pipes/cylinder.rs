//! A cylinder between two pipes. The engine is invented.

use super::{GAS, ROOM};
use endgas::engine::Geometry;
use endgas::engine::cam::{CardLift, DurationAt, Lobe, LobeCard};
use endgas::engine::port_flow::BenchSheet;
use endgas::pipes::{
    Beyond, Breath, Breather, Duct, FlowCurve, Opening, PerfectGas, Pipe, PipeGas, Released, Room, Side,
    ValveGear, Volume,
};
use endgas::units::CompressionRatio;

/// Half a litre with four valves, 34 and 29 mm, on cams of 238 and 230 deg at 1 mm.
fn four_valve() -> Breather {
    let geometry = Geometry {
        cylinders: 1,
        bore_m: 0.086,
        stroke_m: 0.086,
        rod_length_m: 0.145,
        pin_offset_m: 0.0,
        compression_ratio: CompressionRatio::new(10.5).unwrap(),
    };
    let gear = |diameter_m: f64, duration_deg: f64, lift_m: f64, centre_deg: f64| ValveGear {
        count: 2,
        diameter_m,
        lobe: Lobe::new(&LobeCard {
            duration_deg,
            counted: DurationAt::Valve1Mm,
            advertised: None,
            lift: CardLift::Valve(lift_m),
            rocker_ratio: 1.0,
            lash_m: Some(0.25e-3),
        })
        .unwrap(),
        centre_deg,
        flow: FlowCurve::Usual { greatest: 0.65 },
    };
    let pipe = |length_m: f64, diameter_m: f64, wall_temperature_k: f64| Pipe {
        length_m,
        first_diameter_m: diameter_m,
        last_diameter_m: diameter_m,
        wall_temperature_k,
        friction_factor: 0.03,
    };
    Breather {
        gas: GAS,
        crank: geometry.slider_crank(),
        bore_m: geometry.bore_m,
        stroke_m: geometry.stroke_m,
        inlet: gear(0.034, 238.0, 0.0098, 112.0),
        exhaust: gear(0.029, 230.0, 0.0092, -112.0),
        runner: pipe(0.35, 0.042, 330.0),
        primary: pipe(0.70, 0.038, 700.0),
        plenum: Room::Still(ROOM),
        collector: Room::Still(ROOM),
        runner_open_frac: 1.0,
        wall_temperature_k: 420.0,
        heat_factor: 1.0,
        cell_m: 0.03,
    }
}

fn breath(breather: &Breather, speed_rpm: f64) -> Breath {
    breather.settled(speed_rpm, |_| Released { temperature_k: 1550.0 }).unwrap()
}

/// Rpm of the highest VE, in steps of 500.
fn best_rpm(breather: &Breather) -> f64 {
    let speeds = (6..=17).map(|i| 500.0 * f64::from(i));
    let all: Vec<(f64, f64)> = speeds.map(|n| (n, breath(breather, n).volumetric_efficiency)).collect();
    all.into_iter().max_by(|a, b| a.1.total_cmp(&b.1)).unwrap().0
}

/// VE of such engines lies between 0.75 and 1.2 (common engine data, no source), residual gas at full load between 1 and 10 %,
/// and pumping costs work that grows with rpm.
#[test]
fn a_four_valve_engine_breathes_as_such_engines_do() {
    let engine = four_valve();
    let all: Vec<Breath> = [2000.0, 4000.0, 6000.0, 7500.0].map(|n| breath(&engine, n)).into();
    for found in &all {
        assert!((0.70..1.25).contains(&found.volumetric_efficiency), "{found:?}");
        assert!((0.01..0.10).contains(&found.trapped.burned_frac), "{found:?}");
        assert!((320.0..460.0).contains(&found.trapped.temperature_k), "{found:?}");
        assert!(
            found.ledger.missing_kg().iter().all(|kg| kg.abs() < 1e-3 * found.trapped.mass_kg),
            "{found:?}"
        );
    }
    let pumping_pa = |breath: &Breath| breath.exhaust_stroke_pa - breath.intake_stroke_pa;
    assert!(pumping_pa(&all[3]) > pumping_pa(&all[0]) && pumping_pa(&all[3]) > 30e3, "{all:?}");
}

/// A pipe tuned shorter sounds higher: the peak goes with about one over the root of the length of the column, from the valve
/// with the cylinder as a volume behind it.
#[test]
fn a_longer_runner_brings_the_peak_lower() {
    let with = |length_m: f64| {
        let engine = four_valve();
        best_rpm(&Breather { runner: Pipe { length_m, ..engine.runner.clone() }, ..engine })
    };
    let [short, middle, long] = [0.25, 0.35, 0.55].map(with);
    assert!(short > middle && middle > long, "{short} {middle} {long}");
    let ratio = short / long;
    assert!((1.15..1.7).contains(&ratio), "{short} {long}");
}

/// PUBLISHED: Taylor, The Internal-Combustion Engine in Theory and Practice (`from memory`): a late closing loses charge at low
/// rpm, where it is pushed back, and gains at high rpm.
#[test]
fn a_later_closing_trades_low_for_high_rpm() {
    let early = four_valve();
    let mut late = early.clone();
    late.inlet.centre_deg += 14.0;
    let gain =
        |n: f64| breath(&late, n).volumetric_efficiency / breath(&early, n).volumetric_efficiency - 1.0;
    let (low, high) = (gain(2000.0), gain(8000.0));
    assert!(low < -0.03 && high > low + 0.04, "{low} {high}");
}

/// Cells of 30 mm are within 1 % of cells of 10 mm.
#[test]
fn coarse_cells_are_good_enough() {
    let coarse = four_valve();
    let fine = Breather { cell_m: 0.01, ..coarse.clone() };
    for n in [3500.0, 6500.0] {
        let [a, b] = [&coarse, &fine].map(|engine| breath(engine, n).volumetric_efficiency);
        assert!((a / b - 1.0).abs() < 0.01, "{n}: {a} {b}");
    }
}

/// With short pipes no wave helps: VE falls as the inlet Mach index rises beyond 0.6, as in Taylor's curve (`from memory`).
#[test]
fn a_small_valve_chokes_the_engine() {
    let mut engine = four_valve();
    engine.inlet.diameter_m = 0.022;
    for pipe in [&mut engine.runner, &mut engine.primary] {
        pipe.length_m = 0.1;
    }
    let [low, high] = [3000.0, 8000.0].map(|n| breath(&engine, n).volumetric_efficiency);
    assert!(high < 0.88 * low, "{low} {high}");
}

/// A plenum that opens wide, and one without end, are still air; a small throttle costs charge, the more the faster the engine turns.
#[test]
fn a_throttle_costs_charge_and_a_wide_one_does_not() {
    let with = |volume_m3: f64, opening_m2: f64| {
        let volume = Volume { volume_m3, opening_m2, beyond: ROOM, sharers: 4 };
        Breather { plenum: Room::Volume(volume), ..four_valve() }
    };
    let efficiency = |engine: &Breather, n: f64| breath(engine, n).volumetric_efficiency;
    let still = four_valve();
    for n in [3000.0, 6500.0] {
        let wide = efficiency(&with(0.5, 0.1), n) / efficiency(&still, n);
        assert!((wide - 1.0).abs() < 0.005, "{n}: {wide}");
    }
    let kept = [3000.0, 6500.0].map(|n| efficiency(&with(0.002, 0.7e-3), n) / efficiency(&still, n));
    assert!(kept[0] < 1.02 && kept[1] < 0.9 && kept[1] < kept[0] - 0.05, "{kept:?}");
}

/// What comes in leaves again: over a cycle that repeats, masses of all that share a volume balance within 0.1 % of the charge.
#[test]
fn mass_balances_with_plenum_and_collector() {
    let volume =
        |volume_m3, opening_m2| Room::Volume(Volume { volume_m3, opening_m2, beyond: ROOM, sharers: 4 });
    let engine = Breather { plenum: volume(2e-3, 2e-3), collector: volume(6e-3, 2e-3), ..four_valve() };
    for n in [2500.0, 6000.0] {
        let found = breath(&engine, n);
        assert!(
            found.ledger.missing_kg().iter().all(|kg| kg.abs() < 1e-3 * found.trapped.mass_kg),
            "{n}: {found:?}"
        );
    }
}

/// Held at a lift of its sheet between the room of the bench and its depression, a valve passes the flow of the sheet, and beyond the
/// last lift as much as there. The sheet is invented. Tolerance: the pipe before the valve has no walls that rub.
#[test]
fn a_valve_passes_the_flow_of_its_bench_sheet() {
    let sheet = BenchSheet {
        depression_pa: 7.0e3,
        lift_m: vec![0.0025, 0.005, 0.0075, 0.010],
        flow_m3_per_s: vec![0.028, 0.055, 0.074, 0.084],
    };
    let air = PerfectGas { gas_constant_j_per_kg_k: 287.0, cv_j_per_kg_k: 717.5 };
    let gas = PipeGas { fresh: air, burned: air };
    let room = Beyond { pressure_pa: 101_325.0, temperature_k: 293.15, burned_frac: 0.0 };
    let density = room.pressure_pa / (287.0 * room.temperature_k);
    let valves = ValveGear { flow: FlowCurve::Bench(sheet.clone()), ..four_valve().inlet };
    let beyond_last = (0.013, 0.084);
    let lifts = sheet.lift_m.into_iter().zip(sheet.flow_m3_per_s).chain([beyond_last]);
    for (lift_m, flow_m3_per_s) in lifts {
        let pipe = Pipe { friction_factor: 0.0, ..four_valve().runner };
        let mut port = Duct::new(gas, pipe, 20, &room);
        let open = Opening { beyond: room, open_frac: 1.0 };
        let valve = Opening {
            beyond: Beyond { pressure_pa: room.pressure_pa - 7.0e3, ..room },
            open_frac: valves.effective_area_at_m2(lift_m) / port.area_m2(Side::Last),
        };
        let (mut passed_kg, mut time_s) = (0.0, 0.0);
        while time_s < 0.3 {
            let step_s = port.longest_step_s();
            passed_kg = port.advance(step_s, &open, &valve).last[0] / step_s;
            time_s += step_s;
        }
        let found = passed_kg / density / flow_m3_per_s;
        assert!((found - 1.0).abs() < 1e-3, "{lift_m}: {found}");
    }
}
