//! Real engines breathing through pipes of usual sizes, beside what their catalogues say.
//!
//! Nothing of the gas dynamics is fitted to these rows but the runner lengths of the kinds, which were moved once, by kind, so that
//! torque does not all come too late (`src/engine/pipework.rs`). The kinds' own bands, by contrast, were found from ratings.

use super::rows::{Engine, catalogue};
use super::rules::{Told, job};
use super::{ENOUGH_ROWS, percentile};
use crate::common::kept;
use crate::kinds::{CLASSES, is_of};
use endgas::engine::{Breathing, Follows, Pipework};
use endgas::estimate::breath::{BuildBreath, breathe};
use endgas::estimate::estimate;
use endgas::estimate::point::FuelInUse;
use endgas::pipes::usual_cam;
use rayon::prelude::*;

/// Computed over stated, of one row.
struct Found {
    engine: Engine,
    /// Power at the rpm of peak power.
    power: f64,
    /// Torque at that of peak torque.
    torque: Option<f64>,
}

/// How a row breathes at some rpm.
fn breaths(engine: &Engine, speeds_rpm: &[f64]) -> Vec<BuildBreath> {
    let job = job(engine, engine.peaks(Told::All).unwrap(), speeds_rpm.to_vec());
    let (build, setting) = (&job.build, job.setting());
    let (blend, lambda) = setting.reference;
    let fuel = FuelInUse::new(blend.clone(), lambda, &job.weather).unwrap();
    let pipework = Pipework::usual(engine.kind, engine.injection, &build.geometry, &build.valves);
    let cam = usual_cam(&build.valves).unwrap();
    speeds_rpm.iter().map(|n| breathe(setting, &fuel, (&pipework, &cam), *n).unwrap()).collect()
}

/// The row with the VE that its pipes give, and all else as where the bands of the kinds are tried.
fn found(engine: &Engine) -> Found {
    let mut speeds_rpm = vec![engine.power_rpm];
    // A table needs two.
    speeds_rpm
        .insert(0, engine.torque_rpm.filter(|rpm| *rpm < engine.power_rpm).unwrap_or(0.9 * engine.power_rpm));
    let efficiency = breaths(engine, &speeds_rpm).iter().map(|b| b.volumetric_efficiency).collect();
    let mut job = job(engine, engine.peaks(Told::All).unwrap(), speeds_rpm.clone());
    job.build.breathing = Breathing::Table {
        speed_rpm: speeds_rpm,
        volumetric_efficiency: efficiency,
        spread: 0.1,
        follows: Follows::default(),
    };
    job.samples = 40;
    let curve = &estimate(&job).unwrap().fuels[0].curve;
    let at_power = &curve[1];
    Found {
        engine: engine.clone(),
        power: at_power.crank_torque_nm.likely * engine.power_rpm * std::f64::consts::PI
            / 30e3
            / engine.power_kw,
        torque: engine
            .torque_nm
            .filter(|_| engine.torque_rpm.is_some())
            .map(|nm| curve[0].crank_torque_nm.likely / nm),
    }
}

fn line(what: &str, errors: &[f64]) -> String {
    let within = errors.iter().filter(|e| e.abs() <= 8.0).count();
    format!(
        "| {what} | {} | {:+.1} | {:.1} | {:.1} | {:.0} |\n",
        errors.len(),
        percentile(errors.iter().copied(), 50),
        percentile(errors.iter().map(|e| e.abs()), 50),
        percentile(errors.iter().map(|e| e.abs()), 80),
        100.0 * within as f64 / errors.len() as f64
    )
}

/// The level that was aimed at, within 8 % for two rows in three, is not reached: the table says by how much. What is held is that
/// no kind is off by more than it was, so that the gas dynamics cannot get worse unseen.
#[test]
fn usual_pipes_breathe_as_near_to_real_engines_as_the_docs_say() {
    let all: Vec<Found> = catalogue().par_iter().map(found).collect();
    let mut text = String::from(
        "| rows | n | median, signed, % | median error, % | 80th percentile, % | within 8 %, % |\n|---|---|---|---|---|---|\n",
    );
    for class in CLASSES {
        let of_class: Vec<&Found> = all.iter().filter(|f| is_of(class, &f.engine)).collect();
        let errors = |of: fn(&Found) -> Option<f64>| -> Vec<f64> {
            of_class.iter().filter_map(|f| of(f)).map(|ratio| 100.0 * (ratio - 1.0)).collect()
        };
        for (what, errors) in [("power", errors(|f| Some(f.power))), ("torque", errors(|f| f.torque))] {
            if errors.len() >= ENOUGH_ROWS {
                let middle = percentile(errors.iter().map(|e| e.abs()), 50);
                assert!(middle < 25.0, "{}, {what}: {middle:.1} %", class.0);
                text += &line(&format!("{}, {what}", class.0), &errors);
            }
        }
    }
    let power: Vec<f64> = all.iter().map(|f| 100.0 * (f.power - 1.0)).collect();
    let torque: Vec<f64> = all.iter().filter_map(|f| f.torque).map(|t| 100.0 * (t - 1.0)).collect();
    text += &line("all, power", &power);
    text += &line("all, torque", &torque);
    println!("{text}");
    kept::keep("pipes table", &text);
}
