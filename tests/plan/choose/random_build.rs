//! Invented builds of many kinds, by seed.

use endgas::air::Weather;
use endgas::choose::{
    BlendRange, ChoiceLimits, ChooseJob, Ignition, LateLimits, Objective, Service, Weighting,
};
use endgas::engine::{Breathing, BuildKind, Chamber, PeakSpeeds};
use endgas::estimate::job::FuelChoice;
use endgas::fuel::FuelLibrary;
use endgas::knock::Deposits;
use endgas::units::CompressionRatio;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// A question about a random build on two fuels, at three speeds.
pub fn random_ask(seed: u64) -> ChooseJob {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut between = |low: f64, high: f64| low + (high - low) * random.random::<f64>();
    let library = FuelLibrary::shipped().unwrap();
    let mut job = crate::common::job::demo();
    let build = &mut job.build;
    build.geometry.bore_m = between(0.075, 0.105);
    build.geometry.stroke_m = build.geometry.bore_m * between(0.75, 1.05);
    build.geometry.rod_length_m = build.geometry.stroke_m * between(1.5, 1.9);
    build.valves.inlet_diameter_m = build.geometry.bore_m * between(0.36, 0.40);
    build.valves.exhaust_diameter_m = build.valves.inlet_diameter_m * 0.85;
    build.valves.inlet_closes_deg_abdc = between(45.0, 75.0);
    build.valves.overlap_deg = between(10.0, 70.0);
    build.combustion.burn_speed = between(0.8, 1.2);
    build.combustion.chamber =
        [Chamber::PentRoof, Chamber::Wedge, Chamber::Hemispherical][between(0.0, 2.999) as usize];
    let peak_speed_rpm = between(4000.0, 7000.0);
    let kinds = [BuildKind::ProductionFourValve, BuildKind::SportFourValve, BuildKind::Race];
    let peaks = PeakSpeeds::Both { torque_rpm: peak_speed_rpm, power_rpm: 1.25 * peak_speed_rpm };
    let kind = kinds[between(0.0, 2.999) as usize];
    let closes_deg_abdc = build.valves.inlet_closes_deg_abdc;
    build.breathing = Breathing::Band { kind, peaks, closes_deg_abdc };
    build.limits.peak_pressure_pa = Some(between(80e5, 120e5));
    job.weather = Weather::new(between(280.0, 305.0), between(92e3, 102e3), between(0.1, 0.9)).unwrap();
    job.speeds_rpm = [0.75, 1.0, 1.2].map(|share| share * peak_speed_rpm).to_vec();
    job.samples = 60;
    let bases = ["premium-91", "premium-93", "euro-95", "euro-98", "regular-87"];
    let base = library.resolve(bases[between(0.0, 4.999) as usize]).unwrap();
    let strong = library.resolve(["e85", "e30", "e100"][between(0.0, 2.999) as usize]).unwrap();
    job.fuels = [base.clone(), strong].map(|fuel| FuelChoice { fuel, lambda: None }).to_vec();
    let lowest = between(8.5, 10.5);
    let weight = |w: f64| Weighting { weight: w, likelihood: 1.0 };
    ChooseJob {
        objective: if between(0.0, 1.0) < 0.5 {
            Objective::PeakPower
        } else {
            Objective::MeanPower { from_rpm: 0.7 * peak_speed_rpm, to_rpm: 1.3 * peak_speed_rpm }
        },
        weights: vec![weight(between(0.2, 2.0)), weight(between(0.2, 2.0))],
        range: BlendRange {
            base,
            low_vol_frac: between(0.0, 0.2),
            high_vol_frac: between(0.3, 0.9),
            lambda: None,
        },
        ignition: Ignition::ALL[seed as usize % Ignition::ALL.len()],
        ignition_stated: true,
        service: Service {
            weather: Weather::new(between(300.0, 316.0), between(95e3, 103e3), between(0.05, 0.4)).unwrap(),
            weather_stated: true,
            deposits: if between(0.0, 1.0) < 0.5 { Deposits::Usual } else { Deposits::Clean },
            weak_tank_octane: between(0.0, 2.0),
            heat_soak_k: between(0.0, 10.0),
        },
        measurable_frac: between(0.003, 0.01),
        lowest: CompressionRatio::new(lowest).unwrap(),
        highest: CompressionRatio::new(lowest + between(3.5, 6.0)).unwrap(),
        pistons: Vec::new(),
        limits: ChoiceLimits {
            late: if between(0.0, 1.0) < 0.5 {
                LateLimits::Practice
            } else {
                LateLimits::Stated {
                    retard_deg: Some(between(6.0, 14.0)),
                    torque_lost_frac: Some(between(0.02, 0.07)),
                }
            },
            knock_probability: between(0.05, 0.2),
        },
        volumes: None,
        job,
    }
}
