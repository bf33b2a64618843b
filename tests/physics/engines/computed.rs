//! Real engines breathing through pipes of usual sizes, beside what their catalogues say.
//!
//! Nothing of the gas dynamics is fitted to these rows but the runner lengths of the kinds, which were moved once, by kind, so that
//! torque does not all come too late (`src/engine/pipework.rs`), and the levels of `src/engine/computed_level.rs`, which are found here.

use super::ENOUGH_ROWS;
use crate::common::engines::compared::percentile;
use crate::common::engines::rows::{CLASSES, Engine, catalogue, is_of};
use crate::common::engines::rules::{Told, job};
use crate::common::kept;
use crate::kinds::mean;
use endgas::engine::{Breathing, Computed, Follows, Injection, OnPipes, PipesLevel, Pipework};
use endgas::estimate::Job;
use endgas::estimate::breath::BuildBreath;
use endgas::estimate::computed::ReferenceJob;
use endgas::estimate::point::{FuelInUse, Point, Shifts};
use endgas::estimate::tuned::Tuned;
use endgas::pipes::usual_cam;
use endgas::units::power_of_torque_kw;
use rayon::prelude::*;
use std::sync::Arc;

/// Rpm at which a row is run, over that of peak power; the nearest to peak torque makes place for it.
const SHARES: [f64; 5] = [0.50, 0.68, 0.84, 1.0, 1.18];

/// What the pipes of one row say at a peak.
#[derive(Clone, Copy)]
struct AtPeak {
    /// Logarithm of the VE that the catalogue's torque or power asks over the computed one.
    asked: f64,
    /// Pipes less closed formulas: temperature at the effective closing [K], residual [-], pumping mean effective
    /// pressure [bar].
    temperature_k: f64,
    residual_frac: f64,
    pumping_bar: f64,
}

/// One row.
struct Found {
    engine: Engine,
    power: AtPeak,
    torque: Option<AtPeak>,
    /// Rpm of the computed peaks over those of the catalogue.
    power_rpm: f64,
    torque_rpm: Option<f64>,
}

/// The fuels of all rows, that for which VE is stated first; the day is the same for all.
struct Fuels(Vec<(String, FuelInUse)>);

impl Fuels {
    fn new(engines: &[Engine]) -> Self {
        let of = |engine: &Engine| job(engine, engine.peaks(Told::All).unwrap(), vec![engine.power_rpm]);
        let first = of(&engines[0]);
        let (blend, lambda) = first.setting().reference;
        let reference = FuelInUse::new(blend.clone(), lambda, &first.weather).unwrap();
        let mut fuels = vec![(String::new(), reference)];
        for engine in engines {
            if fuels.iter().all(|(name, _)| *name != engine.fuel) {
                let job = of(engine);
                fuels.push((engine.fuel.clone(), job.fuels[0].in_use(&job.weather).unwrap()));
            }
        }
        Self(fuels)
    }

    fn reference(&self) -> &FuelInUse {
        &self.0[0].1
    }

    fn of(&self, engine: &Engine) -> &FuelInUse {
        &self.0.iter().find(|(name, _)| *name == engine.fuel).unwrap().1
    }
}

fn speeds_rpm(engine: &Engine) -> Vec<f64> {
    let mut speeds: Vec<f64> = SHARES.iter().map(|share| share * engine.power_rpm).collect();
    if let Some(rpm) = engine.torque_rpm.filter(|rpm| *rpm < 0.97 * engine.power_rpm) {
        let off = |other: &f64| (other - rpm).abs();
        let nearest =
            speeds.iter_mut().filter(|n| **n != engine.power_rpm).min_by(|a, b| off(a).total_cmp(&off(b)));
        *nearest.unwrap() = rpm;
        speeds.sort_by(f64::total_cmp);
    }
    speeds
}

/// How a row breathes at some rpm, and what is kept of it.
fn breaths(engine: &Engine, speeds_rpm: &[f64]) -> (Vec<BuildBreath>, Computed) {
    let job = job(engine, engine.peaks(Told::All).unwrap(), speeds_rpm.to_vec());
    let build = &job.build;
    let on = OnPipes {
        kind: engine.kind,
        pipework: Pipework::usual(engine.kind, engine.injection, &build.geometry, &build.valves),
        cam: usual_cam(&build.valves).unwrap(),
        bench: None,
        flow_factor: 1.0,
        level: PipesLevel::AS_COMPUTED,
        has_card: false,
        has_lengths: (false, false),
    };
    ReferenceJob::of(&job, engine.kind).unwrap().without_level(&on, speeds_rpm).unwrap()
}

/// Place of the highest point, by the parabola through it and its neighbours; the end where it stands there.
fn peak_rpm(points: &[(f64, f64)]) -> f64 {
    let best = (0..points.len()).max_by(|a, b| points[*a].1.total_cmp(&points[*b].1)).unwrap();
    if best == 0 || best + 1 == points.len() {
        return points[best].0;
    }
    let [(x0, y0), (x1, y1), (x2, y2)] = [points[best - 1], points[best], points[best + 1]];
    let (rise, fall) = ((y1 - y0) / (x1 - x0), (y2 - y1) / (x2 - x1));
    0.5 * (x0 + x1) + rise / (rise - fall) * 0.5 * (x2 - x0)
}

/// The row with what its pipes say, and all else as where the bands of the kinds are tried.
fn found(engine: &Engine, fuels: &Fuels) -> Found {
    let speeds = speeds_rpm(engine);
    let (breaths, computed) = breaths(engine, &speeds);
    let mut job = job(engine, engine.peaks(Told::All).unwrap(), speeds.clone());
    let mut formulas = job.clone();
    formulas.build.breathing = Breathing::Table {
        speed_rpm: speeds.clone(),
        volumetric_efficiency: breaths.iter().map(|b| b.volumetric_efficiency).collect(),
        spread: 0.1,
        follows: Follows::default(),
    };
    job.build.breathing = Breathing::Computed(Arc::new(computed));
    let fuel = fuels.of(engine);
    let torque = |rpm: f64, breathing: f64| {
        let shifts = Shifts { breathing, ..Shifts::NONE };
        Tuned::new(&job, job.setting(), ("", fuel), rpm, shifts).unwrap().crank_torque_nm()
    };
    let curve: Vec<(f64, f64)> = speeds.iter().map(|rpm| (*rpm, torque(*rpm, 1.0))).collect();
    let power: Vec<(f64, f64)> = curve.iter().map(|(rpm, nm)| (*rpm, rpm * nm)).collect();
    let at = |rpm: f64, nm: f64| {
        let breath =
            breaths.iter().min_by(|a, b| (a.speed_rpm - rpm).abs().total_cmp(&(b.speed_rpm - rpm).abs()));
        at_peak(&formulas, fuels.reference(), breath.unwrap(), |factor| torque(rpm, factor) / nm)
    };
    let power_nm = engine.power_kw / power_of_torque_kw(1.0, engine.power_rpm);
    Found {
        engine: engine.clone(),
        power: at(engine.power_rpm, power_nm),
        torque: engine.torque_rpm.zip(engine.torque_nm).map(|(rpm, nm)| at(rpm, nm)),
        power_rpm: peak_rpm(&power) / engine.power_rpm,
        torque_rpm: engine.torque_rpm.map(|rpm| peak_rpm(&curve) / rpm),
    }
}

fn at_peak(
    job: &Job,
    reference: &FuelInUse,
    breath: &BuildBreath,
    torque_over_wanted: impl Fn(f64) -> f64,
) -> AtPeak {
    // Torque goes with VE to a power somewhat above 1: two steps find it to 1e-3.
    let once = torque_over_wanted(1.0).powf(-0.85);
    let asked = once * torque_over_wanted(once).powf(-0.85);
    let point = Point::new(job.setting(), reference, breath.speed_rpm, Shifts::NONE);
    let formula_bar = point.at_spark(point.near_mbt_spark()).pmep_bar;
    let pumping_bar = 1e-5 * (breath.breath.exhaust_stroke_pa - breath.breath.intake_stroke_pa);
    AtPeak {
        asked: asked.ln(),
        temperature_k: breath.closing_temperature_k(&point) - point.trapped.temperature_k,
        residual_frac: breath.breath.trapped.burned_frac - point.trapped.residual_frac,
        pumping_bar: pumping_bar - formula_bar,
    }
}

/// What is left of each row with the mean of the others.
fn left_out(asked: &[f64]) -> Vec<f64> {
    let (n, sum) = (asked.len() as f64, asked.iter().sum::<f64>());
    asked.iter().map(|own| (sum - own) / (n - 1.0) - own).collect()
}

/// Median size of errors [%], and share within 8 % [%].
fn sizes(logs: &[f64]) -> (f64, f64) {
    let percent: Vec<f64> = logs.iter().map(|log| 100.0 * (log.exp() - 1.0).abs()).collect();
    let within = percent.iter().filter(|e| **e <= 8.0).count() as f64 / percent.len() as f64;
    (percentile(percent.into_iter(), 50), 100.0 * within)
}

fn half_width(logs: &[f64]) -> f64 {
    let at = |percent| percentile(logs.iter().copied(), percent).exp();
    0.5 * (at(90) - at(10))
}

/// A line of the table; gives back what is left of the rows.
fn line(table: &mut String, what: &str, asked: &[f64]) -> Vec<f64> {
    let raw: Vec<f64> = asked.iter().map(|asked| -asked).collect();
    let left = left_out(asked);
    let signed = 100.0 * (percentile(raw.iter().copied(), 50).exp() - 1.0);
    let ((raw_size, raw_within), (size, within)) = (sizes(&raw), sizes(&left));
    *table += &format!(
        "| {what} | {} | {signed:+.1} | {raw_size:.1} | {raw_within:.0} | {:.3} | {size:.1} | {within:.0} | {:.1} |\n",
        asked.len(),
        mean(asked).exp(),
        100.0 * half_width(&left),
    );
    left
}

/// A figure of the library is that of the rows, as far as it is written there.
fn same(wrong: &mut Vec<String>, what: &str, shipped: f64, found: f64) {
    if (shipped - found).abs() >= 0.002 {
        wrong.push(format!("{what}: {shipped:.3}, rows say {found:.3}"));
    }
}

/// The levels of the kinds are those of the rows; gives back the table.
fn levels(all: &[Found]) -> String {
    let mut table = String::from(
        "| rows | n | raw: signed median, % | median error, % | within 8 %, % | level | left out: median error, % | within 8 %, % | \
         10-90 half width, % |\n|---|---|---|---|---|---|---|---|---|\n",
    );
    let (mut power_left, mut torque_left, mut wrong) = (Vec::new(), Vec::new(), Vec::new());
    for class in CLASSES {
        let rows: Vec<&Found> = all.iter().filter(|f| is_of(class, &f.engine)).collect();
        let power: Vec<f64> = rows.iter().map(|f| f.power.asked).collect();
        let torque: Vec<f64> = rows.iter().filter_map(|f| f.torque).map(|t| t.asked).collect();
        let level = class.1.computed_level(class.2.unwrap_or(Injection::Port));
        let what = format!("{}, power", class.0);
        let left = line(&mut table, &what, &power);
        same(&mut wrong, &what, level.at_power, mean(&power).exp());
        same(&mut wrong, &what, level.half_width_at_power, half_width(&left));
        power_left.extend(left);
        // Without rows enough the level at peak torque is that at peak power.
        if torque.len() >= ENOUGH_ROWS {
            let what = format!("{}, torque", class.0);
            let left = line(&mut table, &what, &torque);
            same(&mut wrong, &what, level.at_torque, mean(&torque).exp());
            same(&mut wrong, &what, level.half_width_at_torque, half_width(&left));
            torque_left.extend(left);
        } else {
            same(&mut wrong, class.0, level.at_torque, level.at_power);
        }
    }
    for (what, left, raw) in [
        ("all, power", &power_left, all.iter().map(|f| -f.power.asked).collect::<Vec<f64>>()),
        ("all, torque", &torque_left, all.iter().filter_map(|f| f.torque).map(|t| -t.asked).collect()),
    ] {
        let ((raw_size, raw_within), (size, within)) = (sizes(&raw), sizes(left));
        table += &format!(
            "| {what} | {} | {:+.1} | {raw_size:.1} | {raw_within:.0} |  | {size:.1} | {within:.0} | {:.1} |\n",
            raw.len(),
            100.0 * (percentile(raw.iter().copied(), 50).exp() - 1.0),
            100.0 * half_width(left),
        );
        // Aimed at: two rows in three.
        assert!(within > 66.0, "{what}: {within:.0} % of the rows within 8 %");
    }
    println!("{table}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    table
}

fn peaks(all: &[Found]) -> String {
    let mut table = String::from(
        "| rows | n | torque peak: signed median, % | within 10 %, % | power peak: signed median, % | within 10 %, % |\n|---|---|---|---|---|---|\n",
    );
    let cells = |ratios: Vec<f64>| {
        if ratios.len() < ENOUGH_ROWS {
            return " | ".to_owned();
        }
        let within = ratios.iter().filter(|r| (*r - 1.0).abs() <= 0.1).count() as f64 / ratios.len() as f64;
        format!("{:+.0} | {:.0}", 100.0 * (percentile(ratios.iter().copied(), 50) - 1.0), 100.0 * within)
    };
    let mut add = |what: &str, rows: &[&Found]| {
        let torque = cells(rows.iter().filter_map(|f| f.torque_rpm).collect());
        let power = cells(rows.iter().map(|f| f.power_rpm).collect());
        table += &format!("| {what} | {} | {torque} | {power} |\n", rows.len());
    };
    for class in CLASSES {
        add(class.0, &all.iter().filter(|f| is_of(class, &f.engine)).collect::<Vec<_>>());
    }
    add("all", &all.iter().collect::<Vec<_>>());
    table
}

/// The table of what pipes say beside the closed formulas; their warmth by kind is that of the library.
fn exchange(all: &[Found]) -> String {
    let mut table = String::from(
        "| rows | n | temperature, K | residual share, % | pumping, bar |\n|---|---|---|---|---|\n",
    );
    for class in CLASSES {
        let rows: Vec<&Found> = all.iter().filter(|f| is_of(class, &f.engine)).collect();
        let at = [
            ("power", rows.iter().map(|f| f.power).collect::<Vec<AtPeak>>()),
            ("torque", rows.iter().filter_map(|f| f.torque).collect()),
        ];
        for (what, peaks) in at.iter().filter(|(_, peaks)| peaks.len() >= ENOUGH_ROWS) {
            let middle = |of: fn(&AtPeak) -> f64| percentile(peaks.iter().map(of), 50);
            let (torque_k, power_k) = class.1.computed_level(class.2.unwrap_or(Injection::Port)).warmer_k;
            let shipped = if *what == "torque" { torque_k } else { power_k };
            let found = middle(|p| p.temperature_k);
            assert!((shipped - found).abs() < 1.0, "{}, {what}: {shipped} K, rows say {found:.1} K", class.0);
            table += &format!(
                "| {}, {what} | {} | {:+.0} | {:+.1} | {:+.2} |\n",
                class.0,
                peaks.len(),
                middle(|p| p.temperature_k),
                middle(|p| 100.0 * p.residual_frac),
                middle(|p| p.pumping_bar)
            );
        }
    }
    table
}

/// The raw level that was aimed at, within 8 % for two rows in three, is not reached: the table says by how much. With a level of the
/// kind it is. The peaks that were aimed at, within 10 % for two rows in three, are in their table.
#[test]
fn usual_pipes_breathe_as_near_to_real_engines_as_the_docs_say() {
    let engines = catalogue();
    let fuels = Fuels::new(&engines);
    let all: Vec<Found> = engines.par_iter().map(|engine| found(engine, &fuels)).collect();
    let (peaks, exchange) = (peaks(&all), exchange(&all));
    println!("{peaks}\n{exchange}");
    let levels = levels(&all);
    kept::keep("pipes table", &levels);
    kept::keep("peaks table", &peaks);
    kept::keep("exchange table", &exchange);
}
