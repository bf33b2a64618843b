//! A scan of compression ratio through the estimate alone, sharing nothing with the choice but the question and the figures of
//! production practice.

use endgas::choose::{ChooseJob, Ignition, LateLimits, accepted};
use endgas::engine::practice::{FuelGrade, PracticeClass};
use endgas::estimate::Job;
use endgas::estimate::analysis::{PointAnalysis, PreparedFuel};
use endgas::estimate::point::AtSpark;
use endgas::estimate::sampling::{SampleOutcome, outcomes};
use endgas::estimate::start::{StartPoint, knock_free_spark, knock_share};
use endgas::estimate::uncertainty::latin_hypercube;
use endgas::fuel::pump::{ContentRange, best_power_lambda};
use endgas::units::{CompressionRatio, PA_PER_BAR};

/// Contents watched between the ends of the range.
const CONTENTS: usize = 3;

/// The ratio to order by the rule of the choice, to the step of the scan and straight between its ratios; none without one.
pub fn order(ask: &ChooseJob, step: f64) -> Option<f64> {
    let (low, high) = (ask.lowest.get(), ask.highest.get());
    let count = ((high - low) / step).ceil() as usize;
    let ratios: Vec<f64> = (0..=count).map(|i| (low + step * i as f64).min(high)).collect();
    let excess: Vec<f64> = ratios.iter().map(|ratio| excess(ask, *ratio)).collect();
    let over = excess.iter().position(|excess| *excess > 0.0).unwrap_or(ratios.len());
    if over == 0 {
        return None;
    }
    let mut within: Vec<(f64, f64)> =
        ratios[..over].iter().map(|ratio| (*ratio, power_kw(ask, *ratio))).collect();
    if over < ratios.len() {
        let share = excess[over - 1] / (excess[over - 1] - excess[over]);
        let end = ratios[over - 1] + share * (ratios[over] - ratios[over - 1]);
        within.push((end, power_kw(ask, end)));
    }
    let least = (1.0 - ask.measurable_frac) * within.iter().map(|point| point.1).fold(0.0, f64::max);
    let first = within.iter().position(|point| point.1 >= least)?;
    let Some(below) = first.checked_sub(1).map(|i| within[i]) else { return Some(low) };
    let share = (least - below.1) / (within[first].1 - below.1);
    Some(below.0 + share * (within[first].0 - below.0))
}

fn at(job: &Job, ratio: f64) -> Job {
    let mut job = job.clone();
    job.build.geometry.compression_ratio = CompressionRatio::new(ratio).unwrap();
    job
}

fn curve<'a>(job: &'a Job, fuel: &'a PreparedFuel) -> Vec<PointAnalysis<'a>> {
    job.speeds_rpm.iter().map(|speed| PointAnalysis::new(job, job.setting(), fuel, *speed).unwrap()).collect()
}

/// Timing of a fixed map at each speed, the latest of the range where none is knock-free often enough.
fn map(job: &Job, points: &[PointAnalysis<'_>], rows: &[Vec<SampleOutcome>], share: f64) -> Vec<f64> {
    let at = |(i, a): (usize, &PointAnalysis<'_>)| {
        let margins: Vec<_> = rows.iter().map(|row| row[i].node_margins).collect();
        knock_free_spark(job, a, share, &margins).unwrap_or(job.spark_range.latest_deg_btdc)
    };
    points.iter().enumerate().map(at).collect()
}

/// Mean over the samples of the weighted power with the ignition as fitted [kW].
fn power_kw(ask: &ChooseJob, ratio: f64) -> f64 {
    let job = at(&ask.job, ratio);
    let samples = latin_hypercube(job.samples, job.seed);
    let prepared = |choice: &endgas::estimate::FuelChoice| {
        PreparedFuel::new(&job, &choice.fuel, choice.lambda.map(|l| l.get())).unwrap()
    };
    let fuels: Vec<PreparedFuel> = job.fuels.iter().map(prepared).collect();
    let points: Vec<Vec<PointAnalysis<'_>>> = fuels.iter().map(|fuel| curve(&job, fuel)).collect();
    let rows: Vec<Vec<Vec<SampleOutcome>>> = fuels
        .iter()
        .zip(&points)
        .map(|(fuel, points)| {
            outcomes(&job, fuel, points, &samples, drag_at_nm(ask, fuel), |row| row).unwrap()
        })
        .collect();
    let maps: Vec<Vec<f64>> = points
        .iter()
        .zip(&rows)
        .map(|(points, rows)| map(&job, points, rows, ask.limits.knock_probability))
        .collect();
    let one: Vec<f64> = (0..job.speeds_rpm.len())
        .map(|i| maps.iter().map(|map| map[i]).fold(f64::INFINITY, f64::min))
        .collect();
    let mut mean = 0.0;
    for (f, share) in ask.shares().unwrap().into_iter().enumerate() {
        let torque = |i: usize, s: usize| match ask.ignition {
            Ignition::KnockControl => rows[f][s][i].wheel_torque_nm,
            Ignition::MapPerFuel => at_timing(&points[f][i], &rows[f], i, maps[f][i])[s],
            Ignition::OneMap => at_timing(&points[f][i], &rows[f], i, one[i])[s],
        };
        for s in 0..samples.len() {
            let powers: Vec<(f64, f64)> = points[f]
                .iter()
                .enumerate()
                .map(|(i, a)| (a.likely.point.speed_rpm(), a.power_kw(torque(i, s))))
                .collect();
            mean += share * ask.objective.power(&powers) / samples.len() as f64;
        }
    }
    mean
}

fn at_timing(point: &PointAnalysis<'_>, rows: &[Vec<SampleOutcome>], i: usize, spark: f64) -> Vec<f64> {
    StartPoint::at(point, rows.iter().map(|row| &row[i]), spark).wheel_torque_nm().to_vec()
}

/// Torque at peak power of a fuel at the scenario's own ratio, where the drag of the driveline is set [N m].
fn drag_at_nm(ask: &ChooseJob, fuel: &PreparedFuel) -> f64 {
    let own = curve(&ask.job, fuel);
    let power = |a: &PointAnalysis<'_>| a.likely.point.speed_rpm() * a.likely.used.bmep_bar();
    let most = own.iter().max_by(|a, b| power(a).total_cmp(&power(b))).unwrap();
    most.torque_nm(most.likely.used.bmep_bar())
}

/// By how much the worst limit is exceeded over the contents of the range, on the scale of one degree, 1 % of torque or 1 bar.
fn excess(ask: &ChooseJob, ratio: f64) -> f64 {
    let range = &ask.range;
    let most_pressure = ask.job.build.limits.peak_pressure_pa.map_or(f64::INFINITY, |pa| pa / PA_PER_BAR);
    let contents = (0..=CONTENTS).map(|i| {
        range.low_vol_frac + (range.high_vol_frac - range.low_vol_frac) * i as f64 / CONTENTS as f64
    });
    let torque_rpm = peak_torque_rpm(&ask.job);
    let mut most = f64::NEG_INFINITY;
    let mut weakest = (f64::INFINITY, 0.0);
    for content in contents {
        for (day, judges_knock) in [(ask.service.job(&ask.job), true), (ask.job.clone(), false)] {
            let job = at(&day, ratio);
            let fuel = blend(ask, &job, content);
            for a in curve(&job, &fuel) {
                most = most.max(a.likely.used.peak_pressure_bar - most_pressure);
                if !judges_knock {
                    continue;
                }
                let margin = a.likely.octane_margin(&a.likely.mbt);
                weakest = if margin < weakest.0 { (margin, content) } else { weakest };
                if a.likely.point.speed_rpm() >= torque_rpm && ask.ignition == Ignition::KnockControl {
                    most = most.max(late(ask, &a, &a.likely.used));
                }
            }
        }
    }
    if ask.ignition == Ignition::KnockControl {
        most
    } else {
        most.max(at_start(ask, ratio, weakest.1, torque_rpm))
    }
}

/// The same of a fixed map on one content.
fn at_start(ask: &ChooseJob, ratio: f64, content: f64, torque_rpm: f64) -> f64 {
    let job = at(&ask.service.job(&ask.job), ratio);
    let fuel = blend(ask, &job, content);
    let points = curve(&job, &fuel);
    let rows =
        outcomes(&job, &fuel, &points, &latin_hypercube(job.samples, job.seed), 1.0, |row| row).unwrap();
    let timings = map(&job, &points, &rows, ask.limits.knock_probability);
    let latest = job.spark_range.latest_deg_btdc;
    let mut most = f64::NEG_INFINITY;
    for (i, (a, spark)) in points.iter().zip(timings).enumerate() {
        if a.likely.point.speed_rpm() >= torque_rpm {
            let margins: Vec<_> = rows.iter().map(|row| row[i].node_margins).collect();
            let knocking = knock_share(&a.response.sparks_deg_btdc, &margins, latest);
            most = most.max(100.0 * (knocking - ask.limits.knock_probability));
            most = most.max(late(ask, a, &a.likely.point.at_spark(spark)));
        }
    }
    most
}

/// Retard and torque loss against what is allowed.
fn late(ask: &ChooseJob, a: &PointAnalysis<'_>, used: &AtSpark) -> f64 {
    let (retard_deg, torque_lost_frac) = match ask.limits.late {
        LateLimits::Stated { retard_deg, torque_lost_frac } => (retard_deg, torque_lost_frac),
        LateLimits::Practice => {
            let grade = FuelGrade::of(&ask.range.base.blend_at(ask.range.low_vol_frac).unwrap());
            let late = accepted(PracticeClass::of(&ask.job.build), grade, ask.ignition);
            (Some(late.retard_deg), Some(late.torque_lost_frac))
        }
    };
    let retard = a.likely.mbt.spark_deg_btdc - used.spark_deg_btdc;
    let lost = 1.0 - used.bmep_bar() / a.likely.mbt.bmep_bar();
    let over = |found: f64, most: Option<f64>| most.map_or(f64::NEG_INFINITY, |most| found - most);
    over(retard, retard_deg).max(100.0 * over(lost, torque_lost_frac))
}

fn blend(ask: &ChooseJob, job: &Job, content: f64) -> PreparedFuel {
    let mut pump = ask.range.base.clone();
    pump.ethanol = ContentRange::known(content);
    let lambda = ask.range.lambda.map_or_else(|| best_power_lambda(content), |l| l.get());
    PreparedFuel::new(job, &pump, Some(lambda)).unwrap()
}

/// Speed of most torque at MBT timing on the first fuel [rpm].
fn peak_torque_rpm(job: &Job) -> f64 {
    let choice = &job.fuels[0];
    let fuel = PreparedFuel::new(job, &choice.fuel, choice.lambda.map(|l| l.get())).unwrap();
    let points = curve(job, &fuel);
    let most = points.iter().max_by(|a, b| a.likely.mbt.bmep_bar().total_cmp(&b.likely.mbt.bmep_bar()));
    most.unwrap().likely.point.speed_rpm()
}
