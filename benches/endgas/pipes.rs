//! One cylinder breathing through two pipes.

use divan::{Bencher, black_box};
use endgas::engine::Geometry;
use endgas::engine::cam::{CardLift, DurationAt, Lobe, LobeCard};
use endgas::pipes::{Beyond, Breather, FlowCurve, PerfectGas, Pipe, PipeGas, Released, Room, ValveGear};
use endgas::units::CompressionRatio;

/// Half a litre with four valves; invented.
fn breather() -> Breather {
    let geometry = Geometry {
        cylinders: 1,
        bore_m: 0.086,
        stroke_m: 0.086,
        rod_length_m: 0.145,
        pin_offset_m: 0.0,
        compression_ratio: CompressionRatio::new(10.5).unwrap(),
    };
    let card = LobeCard {
        duration_deg: 234.0,
        counted: DurationAt::Valve1Mm,
        advertised: None,
        lift: CardLift::Valve(0.0095),
        rocker_ratio: 1.0,
        lash_m: Some(0.25e-3),
    };
    let (lobe, flow) = (Lobe::new(&card).unwrap(), FlowCurve::Usual { greatest: 0.65 });
    let pipe = |length_m: f64, diameter_m: f64, wall_temperature_k: f64| Pipe {
        length_m,
        first_diameter_m: diameter_m,
        last_diameter_m: diameter_m,
        wall_temperature_k,
        friction_factor: 0.03,
    };
    let room = Beyond { pressure_pa: 100e3, temperature_k: 300.0, burned_frac: 0.0 };
    Breather {
        gas: PipeGas {
            fresh: PerfectGas { gas_constant_j_per_kg_k: 287.05, cv_j_per_kg_k: 722.0 },
            burned: PerfectGas { gas_constant_j_per_kg_k: 289.0, cv_j_per_kg_k: 930.0 },
        },
        crank: geometry.slider_crank(),
        bore_m: geometry.bore_m,
        stroke_m: geometry.stroke_m,
        inlet: ValveGear { count: 2, diameter_m: 0.034, lobe, centre_deg: 112.0, flow: flow.clone() },
        exhaust: ValveGear { count: 2, diameter_m: 0.029, lobe, centre_deg: -112.0, flow },
        runner: pipe(0.35, 0.042, 330.0),
        primary: pipe(0.70, 0.038, 700.0),
        plenum: Room::Still(room),
        collector: Room::Still(room),
        runner_open_frac: 1.0,
        wall_temperature_k: 420.0,
        heat_factor: 1.0,
        cell_m: 0.03,
    }
}

#[divan::bench(args = [2000.0, 4000.0, 7000.0])]
fn breath(bencher: Bencher<'_, '_>, speed_rpm: f64) {
    let breather = breather();
    bencher.bench(|| breather.settled(black_box(speed_rpm), |_| Released { temperature_k: 1550.0 }).unwrap());
}
