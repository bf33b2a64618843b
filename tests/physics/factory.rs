//! The factory check of the knock side: margins at MBT of real engines on the fuel that their makers require, VE matched to
//! their rating.
//!
//! Makers choose the compression so that knock limits the engine on its required fuel by little: some 0 to 8 deg at low rpm,
//! rarely more than 4 % of torque; direct-injected engines of 12 to 13:1 on regular run 10 deg and more late (common
//! practice, no source). A sound model finds margins that depend neither on the kind of engine nor on its VE. Nothing is
//! fitted to these rows. Run with `UPDATE_DOCS=1` to write the table into the docs.

use crate::common::engines::rows::{CLASSES, Engine, Set, catalogue, is_of};
use crate::common::engines::rules::{Told, job};
use crate::common::kept;
use crate::kinds::{deviation, line_slope, matched_shifts, mean};
use endgas::engine::BuildKind;
use endgas::estimate::tuned::Tuned;
use endgas::units::power_of_torque_kw;
use rayon::prelude::*;

/// One rated point of an engine.
struct At {
    volumetric_efficiency: f64,
    margin_at_mbt: f64,
    retard_deg: f64,
    lost_percent: f64,
}

/// An engine at peak torque and at peak power.
struct Rated {
    engine: Engine,
    points: [At; 2],
}

fn at(engine: &Engine, speed_rpm: f64, torque_nm: f64) -> At {
    let peaks = engine.peaks(Told::All).unwrap();
    let job = job(engine, peaks, vec![speed_rpm]);
    let fuel = job.fuels[0].in_use(&job.weather).unwrap();
    let shifts = matched_shifts(&job, &fuel, speed_rpm, torque_nm);
    let found = Tuned::new(&job, job.setting(), ("", &fuel), speed_rpm, shifts).unwrap();
    At {
        volumetric_efficiency: found.point.trapped.volumetric_efficiency,
        margin_at_mbt: found.octane_margin(&found.mbt),
        retard_deg: found.mbt.spark_deg_btdc - found.used.spark_deg_btdc,
        lost_percent: 100.0 * (1.0 - found.used.bmep_bar() / found.mbt.bmep_bar()),
    }
}

/// Every engine of which the catalogue has torque with its speed.
fn rated() -> Vec<Rated> {
    let engines: Vec<Engine> =
        catalogue().into_iter().filter(|e| e.torque_nm.is_some() && e.torque_rpm.is_some()).collect();
    let one = |engine: Engine| {
        let power_nm = engine.power_kw / power_of_torque_kw(1.0, engine.power_rpm);
        let points = [
            at(&engine, engine.torque_rpm.unwrap(), engine.torque_nm.unwrap()),
            at(&engine, engine.power_rpm, power_nm),
        ];
        Rated { engine, points }
    };
    engines.into_par_iter().map(one).collect()
}

fn of(rows: &[&Rated], i: usize, what: fn(&At) -> f64) -> Vec<f64> {
    rows.iter().map(|row| what(&row.points[i])).collect()
}

/// Slope of the margin over VE, per 0.1, with its standard error.
fn slope(rows: &[&Rated], i: usize) -> (f64, f64) {
    let (slope, error) =
        line_slope(&of(rows, i, |p| p.volumetric_efficiency), &of(rows, i, |p| p.margin_at_mbt));
    (0.1 * slope, 0.1 * error)
}

/// The engines of 1985, of which the catalogue has no torque and no required fuel: margin at peak power on regular.
fn of_1985() -> String {
    let of_kind = |kind: BuildKind| -> Vec<f64> {
        let is_one = |e: &Engine| e.set == Set::Imports85 && e.kind == kind;
        let margin =
            |e: &Engine| at(e, e.power_rpm, e.power_kw / power_of_torque_kw(1.0, e.power_rpm)).margin_at_mbt;
        catalogue().iter().filter(|e| is_one(e)).map(margin).collect()
    };
    let [carburetted, injected] = [BuildKind::CarburettedTwoValve, BuildKind::InjectedTwoValve].map(of_kind);
    format!(
        "- Engines of 1985 at peak power, regular assumed: {} carburetted {:+.1} (sd {:.1}), {} injected {:+.1} (sd {:.1}).\n",
        carburetted.len(),
        mean(&carburetted),
        deviation(&carburetted),
        injected.len(),
        mean(&injected),
        deviation(&injected),
    )
}

const DIRECT: &str = "production four-valve, direct";
const FEWEST: usize = 5;

fn line(name: &str, rows: &[&Rated]) -> String {
    let mut text = format!("| {name} | {} |", rows.len());
    for i in 0..2 {
        let margin = of(rows, i, |p| p.margin_at_mbt);
        text += &format!(" {:+.1} | {:.1} |", mean(&margin), deviation(&margin));
    }
    let (retard, lost) = (of(rows, 0, |p| p.retard_deg), of(rows, 0, |p| p.lost_percent));
    text + &format!(" {:.1} | {:.1} |\n", mean(&retard), mean(&lost))
}

#[test]
fn makers_choose_ratios_that_the_model_finds_sound() {
    let all = rated();
    let mut text = String::from(
        "| kind | engines | margin at peak torque, ON | sd | at peak power, ON | sd | retard at peak torque, deg | torque lost to it, % |\n|---|---|---|---|---|---|---|---|\n",
    );
    // Carburetted engines of the catalogue were meant for less octane than today's regular.
    let modern: Vec<&Rated> =
        all.iter().filter(|r| r.engine.kind != BuildKind::CarburettedTwoValve).collect();
    let port: Vec<&Rated> = modern.iter().copied().filter(|r| !is_of(CLASSES[4], &r.engine)).collect();
    assert_eq!(CLASSES[4].0, DIRECT);
    // Each kind of five engines or more counts alike.
    let common = [0, 1].map(|i| {
        let of_kind = |class| {
            let rows: Vec<&Rated> = port.iter().copied().filter(|r| is_of(class, &r.engine)).collect();
            (rows.len() >= FEWEST).then(|| mean(&of(&rows, i, |p| p.margin_at_mbt)))
        };
        mean(&CLASSES.into_iter().filter_map(of_kind).collect::<Vec<_>>())
    });
    for class in CLASSES {
        let rows: Vec<&Rated> = all.iter().filter(|r| is_of(class, &r.engine)).collect();
        text += &line(class.0, &rows);
        if rows.len() < FEWEST {
            continue;
        }
        for (i, common) in common.iter().enumerate() {
            let margin = of(&rows, i, |p| p.margin_at_mbt);
            assert!(deviation(&margin) <= 4.1, "{}: {:.2}", class.0, deviation(&margin));
            let bias = mean(&margin) - common;
            if class.0 == DIRECT {
                assert!((-9.0..-4.0).contains(&bias), "{}: {bias:.1}", class.0);
            } else {
                assert!(bias.abs() <= 2.0, "{}: {bias:.1} from the others", class.0);
            }
        }
    }
    text += &line("all but carburetted and direct", &port);
    for (i, where_) in ["peak torque", "peak power"].into_iter().enumerate() {
        let (per_tenth, error) = slope(&port, i);
        text += &format!(
            "{}Margin at {where_} over VE, without carburetted and direct engines: {per_tenth:+.1} +/- {error:.1} octane numbers per 0.1.\n",
            if i == 0 { "\n- " } else { "- " }
        );
        assert!(per_tenth.abs() < 2.0, "{where_}: {per_tenth:.2}");
    }
    let far = |r: &&&Rated| r.points[0].retard_deg > 8.0 || r.points[0].lost_percent > 4.0;
    text += &format!(
        "- At peak torque the model retards {} of {} such engines by more than 8 deg or 4 % of torque; of the {} direct ones {}.\n",
        port.iter().filter(far).count(),
        port.len(),
        modern.len() - port.len(),
        modern.iter().filter(|r| is_of(CLASSES[4], &r.engine)).filter(far).count(),
    );
    text += &of_1985();
    println!("{text}");
    kept::keep("factory table", &text);
}
