//! The filling of every kind of build, found again from ratings of real engines.
//!
//! For each row of `tests/data/engines` that filling is sought with which the model makes the rated power at its speed,
//! and the rated torque at its own, on the fuel that the maker requires, at the timing that knock allows. Its
//! logarithm over that of the shipped band is what the row says. Levels, what is kept at peak power, and how the power peak
//! follows from the torque peak are those of all rows of a kind, each row counting alike: their means must be nothing here. The
//! slopes over piston speed are those of the kinds drawn towards their common 0.9 % per m/s by their standard errors; what is left
//! of a slope must be within twice its error. Race engines have no rows.

use crate::common::engines::rows::{CLASSES, Engine, catalogue, is_of};
use crate::common::engines::rules::{Told, job};
use crate::common::kept;
use endgas::engine::{BuildKind, Figure, Injection, PeakSpeeds};
use endgas::estimate::Job;
use endgas::estimate::point::{FuelInUse, Shifts};
use endgas::estimate::tuned::Tuned;
use endgas::units::power_of_torque_kw;
use rayon::prelude::*;

/// What one row says.
struct Said {
    engine: Engine,
    /// Mean piston speed at peak power less that of the kind [m/s].
    off_m_per_s: f64,
    /// Logarithm of filling over that of the band at peak power, and at peak torque where known.
    at_power: f64,
    at_torque: Option<f64>,
    /// Logarithm of the power peak over what follows from the torque peak, where known.
    power_speed: Option<f64>,
    /// Logarithm of the power peak over the torque peak, where known.
    apart: Option<f64>,
    /// Brake specific consumption at rated power with that filling [g/kWh].
    consumption: f64,
    /// Volumetric efficiency at peak torque: what the rated torque implies, or the rated power where that alone is known [-].
    best_filling: f64,
    /// Brake mean effective pressure of the rated torque [bar].
    bmep_bar: Option<f64>,
}

/// Filling over that of the band with which a job makes a torque at a speed on a fuel.
pub(crate) fn matched_shifts(job: &Job, fuel: &FuelInUse, speed_rpm: f64, torque_nm: f64) -> Shifts {
    let mut shifts = Shifts::NONE;
    // Torque goes with filling to a power somewhat above 1: a few steps find it to 1e-4.
    for _ in 0..7 {
        let found = Tuned::new(job, job.setting(), ("", fuel), speed_rpm, shifts).unwrap();
        shifts.breathing *= (torque_nm / found.crank_torque_nm()).powf(0.85);
    }
    shifts
}

/// Logarithm of filling over that of the band with which the row makes a torque at a speed, and consumption there [g/kWh].
fn implied(engine: &Engine, peaks: PeakSpeeds, speed_rpm: f64, torque_nm: f64) -> (f64, f64) {
    let job = job(engine, peaks, vec![speed_rpm]);
    let fuel = job.fuels[0].in_use(&job.weather).unwrap();
    let shifts = matched_shifts(&job, &fuel, speed_rpm, torque_nm);
    let found = Tuned::new(&job, job.setting(), ("", &fuel), speed_rpm, shifts).unwrap();
    let power_kw = power_of_torque_kw(found.crank_torque_nm(), speed_rpm);
    (shifts.breathing.ln(), 3.6e6 * found.point.fuel_flow_kg_per_s() / power_kw)
}

fn said(engine: Engine) -> Said {
    let peaks = engine.peaks(Told::All).unwrap();
    let torque_nm = engine.power_kw / power_of_torque_kw(1.0, engine.power_rpm);
    let (at_power, consumption) = implied(&engine, peaks, engine.power_rpm, torque_nm);
    let figures = engine.kind.figures(engine.injection);
    let resolved = |p: PeakSpeeds| p.resolved(figures, engine.stroke_m / 30.0, 0.0);
    let at_torque =
        engine.torque_nm.zip(engine.torque_rpm).map(|(nm, rpm)| implied(&engine, peaks, rpm, nm).0);
    let Job { build, weather, .. } = job(&engine, peaks, vec![engine.power_rpm]);
    let band = build.breathing.at(resolved(peaks).0, &build.intake(weather.temperature_k)).likely;
    Said {
        off_m_per_s: engine.stroke_m * engine.power_rpm / 30.0 - figures.piston_speed_m_per_s,
        at_power,
        consumption,
        at_torque,
        power_speed: engine.peaks(Told::TorqueSpeed).map(|p| (engine.power_rpm / resolved(p).1).ln()),
        apart: engine.torque_rpm.map(|rpm| (engine.power_rpm / rpm).ln()),
        best_filling: band * at_torque.unwrap_or(at_power).exp(),
        bmep_bar: engine.torque_nm.map(|nm| build.geometry.bmep_bar(nm)),
        engine,
    }
}

pub(crate) fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

pub(crate) fn deviation(values: &[f64]) -> f64 {
    let middle = mean(values);
    (values.iter().map(|v| (v - middle).powi(2)).sum::<f64>() / (values.len() as f64 - 1.0)).sqrt()
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let n = values.len();
    0.5 * (values[(n - 1) / 2] + values[n / 2])
}

/// Slope over piston speed that is left, with its standard error [per m/s].
fn slope(rows: &[&Said]) -> (f64, f64) {
    let of = |value: fn(&Said) -> f64| rows.iter().map(|s| value(s)).collect::<Vec<_>>();
    line_slope(&of(|s| s.off_m_per_s), &of(|s| s.at_power))
}

/// Slope of the straight line through points by least squares, with its standard error.
pub(crate) fn line_slope(x: &[f64], y: &[f64]) -> (f64, f64) {
    let (off, level) = (mean(x), mean(y));
    let squares: f64 = x.iter().map(|x| (x - off).powi(2)).sum();
    let slope = x.iter().zip(y).map(|(x, y)| (x - off) * (y - level)).sum::<f64>() / squares;
    let left: f64 = x.iter().zip(y).map(|(x, y)| (y - level - slope * (x - off)).powi(2)).sum();
    (slope, (left / (x.len() as f64 - 2.0) / squares).sqrt())
}

/// What the rows of one third are missed by when the level is that of the other two, all three thirds in turn: median size and
/// signed median [%].
fn left_out(values: &[f64]) -> (f64, f64) {
    let errors: Vec<f64> = values
        .iter()
        .enumerate()
        .map(|(i, value)| {
            let others = values.iter().enumerate().filter(|(j, _)| j % 3 != i % 3).map(|(_, v)| *v);
            100.0 * ((mean(&others.collect::<Vec<_>>()) - value).exp() - 1.0)
        })
        .collect();
    (median(errors.iter().map(|e| e.abs()).collect()), median(errors))
}

/// Consumption of two-valve engines at rated power, beside 265 to 330 g/kWh of rich full load (common engine data, no source).
fn two_valve_consumption(all: &[Said]) -> String {
    let is_four = |s: &&Said| s.engine.kind as usize >= BuildKind::ProductionFourValve as usize;
    let mut found: Vec<f64> = all.iter().filter(|s| !is_four(s)).map(|s| s.consumption).collect();
    found.sort_by(f64::total_cmp);
    let (n, last) = (found.len(), found[found.len() - 1]);
    let beyond = found.iter().filter(|c| **c > 330.0).count();
    let is_low =
        |s: &&Said| s.engine.compression_ratio <= 8.5 && s.engine.stroke_m * s.engine.power_rpm >= 450.0;
    assert!(
        all.iter().filter(|s| s.consumption > 330.0).all(|s| is_low(&s)),
        "ratio and piston speed as the docs say"
    );
    assert!(found[0] > 265.0 && last < 350.0 && 10 * beyond < n, "{found:?}");
    format!(
        "\nConsumption of the {n} two-valve engines at rated power with that VE, rich: {:.0} to {last:.0} g/kWh, median {:.0}; \
         {beyond} above 330 (265 to 330: common engine data, no source), all of ratio 8.5 or less at 15 m/s or more.\n",
        found[0],
        median(found.clone())
    )
}

/// Rows of which so many are needed before a kind's shape or band is judged.
const ENOUGH: usize = 10;

/// Share of values within a band [-], printed.
fn share_within(what: &str, values: &[f64], (low, high): (f64, f64)) -> f64 {
    let share = values.iter().filter(|v| (low..=high).contains(*v)).count() as f64 / values.len() as f64;
    println!("{what}: {share:.2} of {} within {low} to {high}", values.len());
    share
}

/// Bands by which a pull or a goal is judged hold about nine in ten of the rows: brake mean effective pressure of each kind, best
/// filling of each class.
fn bands_hold_nine_in_ten(all: &[Said]) {
    const NINE_IN_TEN: std::ops::RangeInclusive<f64> = 0.84..=0.97;
    for class in CLASSES {
        let bmep: Vec<f64> =
            all.iter().filter(|s| is_of(class, &s.engine)).filter_map(|s| s.bmep_bar).collect();
        if bmep.len() >= ENOUGH {
            let band = class.1.figures(class.2.unwrap_or(Injection::Port)).bmep_bar;
            assert!(NINE_IN_TEN.contains(&share_within(class.0, &bmep, band)), "{}: BMEP", class.0);
        }
    }
    let filling = |what: &str, kinds: &[BuildKind], four_valve, class: usize| {
        let rows: Vec<f64> =
            all.iter().filter(|s| kinds.contains(&s.engine.kind)).map(|s| s.best_filling).collect();
        let band = Figure::VolumetricEfficiency.bands(four_valve)[class];
        assert!(NINE_IN_TEN.contains(&share_within(what, &rows, (band.low, band.high))), "{what}: filling");
    };
    let series = [BuildKind::CarburettedTwoValve, BuildKind::InjectedTwoValve];
    filling("two-valve production", &series, false, 0);
    filling("four-valve production", &[BuildKind::ProductionFourValve], true, 0);
    filling("sport", &[BuildKind::SportFourValve, BuildKind::Motorcycle], true, 1);
}

/// Level, slope and peak speeds of a kind are those of its rows; gives back what they say of the level at peak power.
fn hold(kind: &str, rows: &[&Said]) -> Vec<f64> {
    let of = |what: fn(&Said) -> Option<f64>| rows.iter().filter_map(|s| what(s)).collect::<Vec<f64>>();
    let (power, torque, speed) = (of(|s| Some(s.at_power)), of(|s| s.at_torque), of(|s| s.power_speed));
    let (slope, error) = slope(rows);
    println!("{kind}: {} rows, slope left {slope:+.4} +/- {error:.4}", rows.len());
    for (what, values) in [("at power", &power), ("at torque", &torque), ("power speed", &speed)] {
        println!("  {what}: {} rows {:+.3} sd {:.3}", values.len(), mean(values), deviation(values));
    }
    assert!(mean(&power).abs() < 0.006, "{kind}: level at power");
    assert!(slope.abs() < 2.0 * error, "{kind}: slope");
    if torque.len() >= ENOUGH {
        assert!(mean(&torque).abs() < 0.010, "{kind}: level at torque");
        assert!(mean(&speed).abs() < 0.025, "{kind}: power speed");
    }
    power
}

/// The power peak that follows from the torque peak scatters less by ratio and piston speed joined than by the ratio alone.
fn joined_speeds_scatter_less(all: &[Said]) {
    let (mut joined, mut by_ratio_alone) = (0.0, 0.0);
    for class in CLASSES {
        let of = |what: fn(&Said) -> Option<f64>| -> Vec<f64> {
            all.iter().filter(|s| is_of(class, &s.engine)).filter_map(what).collect()
        };
        let (speed, apart) = (of(|s| s.power_speed), of(|s| s.apart));
        if speed.len() >= ENOUGH {
            let (one, other) = (deviation(&speed), deviation(&apart));
            println!("{}: power speed sd {one:.3}, by the ratio alone {other:.3}", class.0);
            joined += speed.len() as f64 * one * one;
            by_ratio_alone += speed.len() as f64 * other * other;
        }
    }
    assert!(joined < 0.7 * by_ratio_alone, "{joined} against {by_ratio_alone}");
}

#[test]
fn levels_and_slopes_are_those_of_the_rows() {
    let all: Vec<Said> = catalogue().into_par_iter().map(said).collect();
    bands_hold_nine_in_ten(&all);
    let mut table = String::from(
        "| kind | rows | VE at peak power | at piston speed, m/s | per m/s, % | at best | rows left out: median error, % | signed, % |\n\
         |---|---|---|---|---|---|---|---|\n",
    );
    for class in CLASSES {
        let rows: Vec<&Said> = all.iter().filter(|s| is_of(class, &s.engine)).collect();
        let power = hold(class.0, &rows);
        let figures = class.1.figures(class.2.unwrap_or(Injection::Port));
        let (size, signed) = left_out(&power);
        table += &format!(
            "| {} | {} | {:.3} | {:.1} | {:.1} | {:.2} | {size:.1} | {signed:+.1} |\n",
            class.0,
            rows.len(),
            figures.at_peak_power,
            figures.piston_speed_m_per_s,
            100.0 * figures.by_piston_speed_per_m_per_s,
            figures.best_filling().1,
        );
    }
    joined_speeds_scatter_less(&all);
    table += &two_valve_consumption(&all);
    println!("{table}");
    kept::keep("kinds table", &table);
}
