//! The retard and torque loss that production practice accepts, from which the limits of `choose` come.
//!
//! Every engine of the factory check runs on the fuel that its maker requires, VE matched to its rated torque, at peak torque, but
//! in the usual service conditions of `choose`: hot day, weak tank, deposits, the usual reserve. What nine of ten of a class stay
//! within is the limit of that class, at the knock limit and at the timing to start from alike.

use crate::common::engines::rows::{Engine, catalogue};
use crate::common::engines::rules::{Told, job};
use crate::common::kept;
use crate::kinds::matched_shifts;
use endgas::choose::{Ignition, Service, accepted};
use endgas::engine::practice::{FuelGrade, PracticeClass};
use endgas::estimate::analysis::{PointAnalysis, PreparedFuel};
use endgas::estimate::sampling::outcomes;
use endgas::estimate::start::{START_KNOCK_SHARE, knock_free_spark};
use rayon::prelude::*;

/// Reserve that a scenario keeps when it states none [octane numbers].
const RESERVE: f64 = 1.0;

/// Retard [deg] and torque lost to it [%].
type Late = (f64, f64);

struct Row {
    class: PracticeClass,
    grade: FuelGrade,
    ratio: f64,
    at_limit: Late,
    at_start: Late,
}

fn row(engine: &Engine) -> Row {
    let (torque_rpm, torque_nm) = (engine.torque_rpm.unwrap(), engine.torque_nm.unwrap());
    let mut job = job(engine, engine.peaks(Told::All).unwrap(), vec![torque_rpm]);
    let fuel = job.fuels[0].in_use(&job.weather).unwrap();
    let filling = matched_shifts(&job, &fuel, torque_rpm, torque_nm).breathing;
    let mut service = Service::usual(&job.weather);
    // Denser air stands for the filling that the rating shows.
    service.weather.pressure_pa *= filling;
    job.reserve_octane = RESERVE;
    let job = service.job(&job);
    let fuel = PreparedFuel::new(&job, &job.fuels[0].fuel, None).unwrap();
    let analysis = [PointAnalysis::new(&job, job.setting(), &fuel, torque_rpm).unwrap()];
    let margins =
        outcomes(&job, &fuel, &analysis, &job.draw(), 1.0, |outcomes| outcomes[0].node_margins).unwrap();
    let likely = &analysis[0].likely;
    let start = knock_free_spark(&job, &analysis[0], START_KNOCK_SHARE, &margins)
        .unwrap_or(job.spark_range.latest_deg_btdc);
    let late = |at: &endgas::estimate::point::AtSpark| {
        let lost = 1.0 - at.bmep_bar() / likely.mbt.bmep_bar();
        (likely.mbt.spark_deg_btdc - at.spark_deg_btdc, 100.0 * lost)
    };
    Row {
        class: PracticeClass::of(&job.build),
        grade: FuelGrade::of(&likely.point.fuel().blend),
        ratio: engine.compression_ratio,
        at_limit: late(&likely.used),
        at_start: late(&likely.point.at_spark(start)),
    }
}

fn ninth_of_ten(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    // As many as nine of ten lie at or below it.
    values[((0.9 * values.len() as f64).ceil() as usize).max(1) - 1]
}

/// Classes, and for direct injection the grade, with the rows of each.
fn groups(rows: &[Row]) -> Vec<(PracticeClass, FuelGrade, &'static str, Vec<&Row>)> {
    let mut groups = Vec::new();
    for class in PracticeClass::ALL {
        let grades: &[(FuelGrade, &str)] = if class == PracticeClass::FourValveDirect {
            &[(FuelGrade::Regular, "regular"), (FuelGrade::Premium, "premium")]
        } else {
            &[(FuelGrade::Premium, "all")]
        };
        for (grade, name) in grades {
            let of = |row: &&Row| row.class == class && (*name == "all" || row.grade == *grade);
            let rows: Vec<&Row> = rows.iter().filter(of).collect();
            if !rows.is_empty() {
                groups.push((class, *grade, *name, rows));
            }
        }
    }
    groups
}

#[test]
fn default_limits_are_what_nine_of_ten_makers_stay_within() {
    let engines: Vec<Engine> =
        catalogue().into_iter().filter(|e| e.torque_nm.is_some() && e.torque_rpm.is_some()).collect();
    let rows: Vec<Row> = engines.par_iter().map(row).collect();
    let mut text = String::from(
        "| class | fuel | engines | ratio | retard at the knock limit, deg | torque lost, % | retard at the start timing, deg | torque lost, % |\n|---|---|---|---|---|---|---|---|\n",
    );
    let (mut seen, mut off) = (0, Vec::new());
    for (class, grade, name, rows) in groups(&rows) {
        let ninth = |of: &dyn Fn(&Row) -> f64| ninth_of_ten(rows.iter().map(|row| of(row)).collect());
        let found = [
            (ninth(&|r| r.at_limit.0), ninth(&|r| r.at_limit.1)),
            (ninth(&|r| r.at_start.0), ninth(&|r| r.at_start.1)),
        ];
        let lowest = rows.iter().map(|r| r.ratio).fold(f64::INFINITY, f64::min);
        let highest = rows.iter().map(|r| r.ratio).fold(0.0, f64::max);
        text += &format!("| {} | {name} | {} | {lowest} to {highest} |", class.words(), rows.len());
        for (late, ignition) in found.into_iter().zip([Ignition::KnockControl, Ignition::OneMap]) {
            let shipped = accepted(class, grade, ignition);
            let percent = 100.0 * shipped.torque_lost_frac;
            // Shipped to half a degree and half a per cent, and rows as recalled.
            if (late.0 - shipped.retard_deg).abs() > 0.5 || (late.1 - percent).abs() > 0.5 {
                off.push(format!("{class:?} {name}: {late:?} {shipped:?}"));
            }
            text += &format!(" {:.1} | {:.1} |", late.0, late.1);
        }
        text += "\n";
        seen += rows.len();
    }
    assert_eq!(seen, rows.len(), "every row counts in one group");
    println!("{text}");
    assert!(off.is_empty(), "{off:#?}");
    kept::keep("accepted table", &text);
}
