//! An invented estimate for the tests of this module. No number here comes from an engine.

use crate::air::{CorrectedFor, CorrectionStandard, Outside, OutsideStandard};
use crate::engine::breathing::BreathingSource;
use crate::engine::{Driveline, Layout, LimitPassed};
use crate::estimate::result::FuelSamples;
use crate::estimate::uncertainty::Input;
use crate::estimate::{
    Assumed, Band, CurvePoint, Driver, Estimate, FuelEstimate, LadderRung, LeverChange, LeverWorth, Notice,
    Peak, PowerCorrection, Rung, TracePoint,
};
use std::f64::consts::PI;

const DISPLACEMENT_M3: f64 = 0.0025;

/// speed, VE, timing used, MBT timing, knock-limited timing, octane requirement, BMEP.
type FixtureRow = (f64, f64, f64, f64, Option<f64>, f64, f64);

const PUMP_A: [FixtureRow; 6] = [
    (2000.0, 0.86, 12.5, 21.5, Some(12.5), 94.0, 10.4),
    (3000.0, 0.92, 18.0, 24.5, Some(18.0), 94.0, 11.6),
    (4000.0, 0.97, 22.5, 27.0, Some(22.5), 94.0, 12.5),
    (5000.0, 1.00, 27.5, 29.0, Some(27.5), 94.0, 12.9),
    (6000.0, 0.98, 30.5, 30.5, Some(31.5), 93.2, 12.2),
    (7000.0, 0.91, 31.5, 31.5, Some(35.0), 91.6, 10.7),
];

const PUMP_B: [FixtureRow; 6] = [
    (2000.0, 0.88, 20.5, 20.5, Some(26.0), 101.9, 11.6),
    (3000.0, 0.94, 23.5, 23.5, Some(31.5), 100.6, 12.5),
    (4000.0, 0.99, 26.0, 26.0, Some(37.0), 99.1, 13.3),
    (5000.0, 1.02, 28.0, 28.0, Some(41.5), 97.8, 13.5),
    (6000.0, 1.00, 29.5, 29.5, Some(45.0), 96.4, 12.7),
    (7000.0, 0.93, 30.5, 30.5, Some(45.0), 95.1, 11.2),
];

/// The invented estimate: two fuels, six speeds.
pub fn estimate() -> Estimate {
    Estimate {
        scenario: "invented 2.5 litre four".to_owned(),
        note: "All numbers are invented to test the report; no engine has been built like this.".to_owned(),
        compression_ratio: 12.5,
        effective_compression_ratio: 10.87,
        displacement_m3: DISPLACEMENT_M3,
        breathing_source: BreathingSource::Table { spread_frac: 0.03, has_follows: false },
        driveline_source: Driveline {
            layout: Layout::FrontManual,
            measured_loss: None,
            measured_loss_spread: None,
        },
        air_temperature_k: 298.15,
        air_pressure_pa: 99_000.0,
        relative_humidity: 0.4,
        reserve_octane: 1.0,
        samples: 256,
        seed: 7,
        fuels: vec![gasoline(), blend()],
        notices: vec![
            Notice::LimitPassed {
                passed: LimitPassed::PistonSpeed { found_m_per_s: 21.0, allowed_m_per_s: 20.0 },
                fuel: "pump-a".to_owned(),
                speed_rpm: 7000.0,
            },
            Notice::BmepInDoubt { found_pa: 16.0e5, credible_pa: 15.8e5 },
        ],
        limit_missed: true,
        assumed: vec![Assumed::Rod { length_m: 0.150 }, Assumed::Driveline],
        corrections: vec![
            PowerCorrection { standard: "SAE J1349 (2004 and later)", factor: 1.0, outside: None },
            PowerCorrection {
                standard: "ISO 1585",
                factor: 1.125,
                outside: Some(OutsideStandard {
                    standard: CorrectionStandard::Iso1585,
                    found: vec![Outside {
                        quantity: CorrectedFor::Factor,
                        value: 1.125,
                        low: 0.93,
                        high: 1.07,
                    }],
                }),
            },
        ],
    }
}

fn gasoline() -> FuelEstimate {
    let curve: Vec<CurvePoint> = PUMP_A.iter().map(|row| point(row, 95.0, 250.0)).collect();
    FuelEstimate {
        name: "pump-a".to_owned(),
        title: "Invented pump gasoline".to_owned(),
        ethanol_vol_frac: 0.1,
        ron: 95.5,
        mon: 86.5,
        afr_stoich: 14.1,
        lhv_j_per_kg: 41.8e6,
        hov_j_per_kg: 0.4e6,
        peak_power: peak(&curve, |p| (p.crank_power_kw, p.wheel_power_kw)),
        start_peak_power: Some(peak(&curve, start_power)),
        peak_torque: peak(&curve, |p| (p.crank_torque_nm, wheel_torque(p))),
        curve,
        tightest_index: 0,
        peak_power_lost_frac: 0.012,
        ladder: ladder(),
        drivers: drivers(),
        levers: levers(),
        trace: trace(62.0),
        trace_speed_rpm: 5000.0,
        sample_peak_wheel_kw: Vec::new(),
        samples: FuelSamples::default(),
    }
}

fn blend() -> FuelEstimate {
    let curve: Vec<CurvePoint> = PUMP_B.iter().map(|row| point(row, 107.0, 345.0)).collect();
    FuelEstimate {
        name: "pump-b".to_owned(),
        title: "Invented ethanol blend".to_owned(),
        ethanol_vol_frac: 0.75,
        ron: 106.0,
        mon: 89.0,
        afr_stoich: 10.2,
        lhv_j_per_kg: 30.1e6,
        hov_j_per_kg: 0.8e6,
        peak_power: peak(&curve, |p| (p.crank_power_kw, p.wheel_power_kw)),
        start_peak_power: Some(peak(&curve, start_power)),
        peak_torque: peak(&curve, |p| (p.crank_torque_nm, wheel_torque(p))),
        curve,
        tightest_index: 0,
        peak_power_lost_frac: 0.0,
        ladder: ladder(),
        drivers: drivers(),
        levers: levers(),
        trace: trace(74.0),
        trace_speed_rpm: 5000.0,
        sample_peak_wheel_kw: Vec::new(),
        samples: FuelSamples::default(),
    }
}

fn point(row: &FixtureRow, octane_index: f64, bsfc_g_per_kwh: f64) -> CurvePoint {
    let &(speed_rpm, volumetric_efficiency, spark, best, knock_limited_spark, requirement, bmep_bar) = row;
    let torque_nm = bmep_bar * 1.0e5 * DISPLACEMENT_M3 / (4.0 * PI);
    let power_kw = torque_nm * speed_rpm * PI / 30.0e3;
    let margin = octane_index - requirement;
    // 3.1 octane numbers lie between the likely case and the one in ten that knocks first; 1.6 deg make one.
    let start = round(spark - 1.6 * (3.1 - margin).max(0.0), 1);
    let start_torque_nm = torque_nm * (1.0 - 0.0006 * ((best - start).powi(2) - (best - spark).powi(2)));
    let knock_probability = round((0.5 - 0.13 * margin).max(0.0), 3);
    CurvePoint {
        speed_rpm,
        volumetric_efficiency,
        lambda: 0.88,
        spark_deg_btdc: spark,
        best_torque_spark_deg_btdc: best,
        knock_limited_spark_deg_btdc: knock_limited_spark,
        cautious_spark_deg_btdc: Some(start),
        knock_limited: spark < best,
        ca50_deg_atdc: round(8.0 + 1.1 * (best - spark), 2),
        knock_integral: round((requirement / octane_index).powi(5), 4),
        octane_index,
        octane_requirement: requirement,
        octane_margin: round(margin, 3),
        octane_margin_band: margin_band(margin),
        best_torque_octane_margin: round(margin - 0.9 * (best - spark), 3),
        knock_margin_index: round(octane_index / requirement, 4),
        spark_margin_deg: round(1.1 * margin, 2),
        knock_probability,
        torque_lost_frac: round(0.0006 * (best - spark).powi(2), 4),
        imep_net_bar: round(bmep_bar + 1.5, 2),
        fmep_bar: 1.5,
        pmep_bar: 0.3,
        bmep_bar,
        peak_pressure_bar: round(6.1 * bmep_bar, 1),
        peak_pressure_deg_atdc: 14.5,
        efficiency_brake: 0.335,
        heat_loss_frac: 0.2,
        residual_frac: 0.04,
        exhaust_temperature_k: 1100.0,
        bsfc_g_per_kwh,
        air_flow_kg_per_s: round(volumetric_efficiency * 1.155 * DISPLACEMENT_M3 * speed_rpm / 120.0, 5),
        fuel_flow_kg_per_s: round(bsfc_g_per_kwh * power_kw / 3.6e6, 6),
        mean_piston_speed_m_per_s: round(0.003 * speed_rpm, 2),
        mechanical_efficiency: bmep_bar / round(bmep_bar + 1.5, 2),
        crank_torque_nm: band(torque_nm, 0.05, 1),
        crank_power_kw: band(power_kw, 0.05, 1),
        wheel_power_kw: band(0.855 * power_kw, 0.07, 1),
        start_knock_probability: Some(knock_probability.min(0.1)),
        start_octane_margin_band: Some(margin_band(margin.max(3.1))),
        start_crank_torque_nm: Some(band(start_torque_nm, 0.05, 1)),
        start_wheel_power_kw: Some(band(0.855 * power_kw * start_torque_nm / torque_nm, 0.07, 1)),
        octane_per_deg: 0.9,
    }
}

fn margin_band(margin: f64) -> Band {
    Band { low: round(margin - 3.1, 3), likely: round(margin + 0.1, 3), high: round(margin + 2.9, 3) }
}

/// The point of the curve with the highest crank value of a pair (crank, wheel).
fn peak(curve: &[CurvePoint], pair: impl Fn(&CurvePoint) -> (Band, Band)) -> Peak {
    let best = curve.iter().max_by(|a, b| pair(a).0.likely.total_cmp(&pair(b).0.likely)).unwrap();
    let (crank, wheel) = pair(best);
    Peak { speed_rpm: best.speed_rpm, crank, wheel }
}

/// Power at the flywheel and at the wheels at the timing to start from.
fn start_power(point: &CurvePoint) -> (Band, Band) {
    let wheel = point.start_wheel_power_kw.unwrap();
    (band(wheel.likely / 0.855, 0.05, 1), wheel)
}

fn wheel_torque(point: &CurvePoint) -> Band {
    band(0.855 * point.crank_torque_nm.likely, 0.07, 1)
}

fn ladder() -> Vec<LadderRung> {
    let rungs = [
        (Rung::AirStandard, 24.8, 0.636),
        (Rung::FuelAir, 19.6, 0.503),
        (Rung::Burn, 16.4, 0.421),
        (Rung::WallHeat, 15.2, 0.39),
        (Rung::Pumping, 14.1, 0.362),
        (Rung::Friction, 12.2, 0.313),
        (Rung::Driveline, 10.4, 0.267),
    ];
    rungs
        .map(|(rung, mean_effective_pressure_bar, efficiency)| LadderRung {
            rung,
            mean_effective_pressure_bar,
            efficiency,
        })
        .to_vec()
}

fn levers() -> Vec<LeverWorth> {
    vec![
        lever(LeverChange::RatioLower { step: 0.1 }, 0.4, -0.002),
        lever(LeverChange::AirCooler { by_k: 10.0 }, 0.8, 0.005),
    ]
}

fn lever(change: LeverChange, octane_margin_change: f64, torque_change_frac: f64) -> LeverWorth {
    LeverWorth { change, octane_margin_change, torque_change_frac }
}

fn drivers() -> Vec<Driver> {
    let rows = [
        (Input::Breathing, 0.81, -0.12, 9.0, -0.5),
        (Input::Driveline, -0.52, 0.0, -5.8, 0.0),
        (Input::Friction, -0.21, 0.02, -2.3, 0.1),
        (Input::Heat, -0.14, 0.11, -1.6, 0.4),
        (Input::ChargeTemperature, 0.08, -0.09, 0.9, -0.4),
        (Input::KnockModel, 0.04, 0.88, 0.4, 3.5),
        (Input::FuelOctane, 0.03, 0.35, 0.3, 1.4),
    ];
    rows.map(
        |(input, power_rank_correlation, margin_rank_correlation, power_swing_kw, margin_swing_octane)| {
            Driver {
                input,
                power_rank_correlation,
                margin_rank_correlation,
                power_swing_kw,
                margin_swing_octane,
            }
        },
    )
    .to_vec()
}

/// A made-up pressure curve: a compression hump and a burn hump.
fn trace(burn_bar: f64) -> Vec<TracePoint> {
    (-130..=130)
        .step_by(2)
        .map(|angle| {
            let crank_angle_deg = f64::from(angle);
            let compression = 22.0 / (1.0 + (crank_angle_deg / 26.0).powi(2)).powf(1.3);
            let late = (crank_angle_deg - 16.0) / if angle < 16 { 14.0 } else { 26.0 };
            let burn = burn_bar / (1.0 + late * late).powi(if angle < 16 { 4 } else { 2 });
            TracePoint {
                crank_angle_deg,
                pressure_bar: round(1.0 + compression + burn, 2),
                unburned_temperature_k: 700.0,
                burned_temperature_k: 2400.0,
                burn_fraction: 0.5,
            }
        })
        .collect()
}

fn band(likely: f64, half: f64, decimals: i32) -> Band {
    Band {
        low: round(likely * (1.0 - half), decimals),
        likely: round(likely, decimals),
        high: round(likely * (1.0 + half), decimals),
    }
}

fn round(value: f64, decimals: i32) -> f64 {
    let scale = 10f64.powi(decimals);
    (value * scale).round() / scale
}
