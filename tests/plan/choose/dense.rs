//! A scan of compression ratio through the estimate alone, sharing nothing with the choice but the question.

use endgas::choose::ChooseJob;
use endgas::estimate::Job;
use endgas::estimate::analysis::{PointAnalysis, PreparedFuel};
use endgas::estimate::likely::LikelyPoint;
use endgas::estimate::point::{FuelInUse, Shifts};
use endgas::estimate::sampling::{Outcome, outcomes};
use endgas::estimate::uncertainty::latin_hypercube;
use endgas::fuel::pump::{ContentRange, best_power_lambda};
use endgas::knock::sensitivity_weight;
use endgas::units::{CompressionRatio, PA_PER_BAR};

/// One ratio of the scan.
pub struct Scanned {
    pub ratio: f64,
    /// Mean over the samples of the weighted power [kW].
    pub power_kw: f64,
    /// Whether every limit is kept, each taken times the given slack.
    pub kept: bool,
}

/// Contents watched between the ends of the range.
const CONTENTS: usize = 12;

/// Every `step` of the ratios asked.
pub fn scan(ask: &ChooseJob, step: f64, slack: f64) -> Vec<Scanned> {
    let (low, high) = (ask.lowest.get(), ask.highest.get());
    let count = ((high - low) / step).round() as usize;
    (0..=count).map(|i| point(ask, (low + step * i as f64).min(high), slack)).collect()
}

pub fn point(ask: &ChooseJob, ratio: f64, slack: f64) -> Scanned {
    let kept = kept(ask, ratio, slack) && kept_by_samples(ask, ratio, slack);
    Scanned { ratio, power_kw: power_kw(ask, ratio), kept }
}

fn at(job: &Job, ratio: f64) -> Job {
    let mut job = job.clone();
    job.build.geometry.compression_ratio = CompressionRatio::new(ratio).unwrap();
    job
}

fn curve<'a>(job: &'a Job, fuel: &'a PreparedFuel) -> Vec<PointAnalysis<'a>> {
    job.speeds_rpm.iter().map(|speed| PointAnalysis::new(job, job.setting(), fuel, *speed).unwrap()).collect()
}

fn power_kw(ask: &ChooseJob, ratio: f64) -> f64 {
    let job = at(&ask.job, ratio);
    let samples = latin_hypercube(job.samples, job.seed);
    let fuels: Vec<PreparedFuel> = job
        .fuels
        .iter()
        .map(|choice| PreparedFuel::new(&job, &choice.fuel, choice.lambda.map(|l| l.get())).unwrap())
        .collect();
    // Drag of the driveline is set at peak power of the first fuel at the scenario's own ratio.
    let drag_at = curve(&ask.job, &fuels[0])
        .iter()
        .map(|a| {
            (a.likely.point.speed_rpm() * a.likely.used.bmep_bar(), a.torque_nm(a.likely.used.bmep_bar()))
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .unwrap()
        .1;
    let shares = ask.shares().unwrap();
    let mut mean = 0.0;
    for (fuel, share) in fuels.iter().zip(shares) {
        let points = curve(&job, fuel);
        let rows = outcomes(&job, fuel, &points, &samples, drag_at, |row| row).unwrap();
        for row in &rows {
            let powers: Vec<(f64, f64)> = points
                .iter()
                .zip(row)
                .map(|(a, o)| (a.likely.point.speed_rpm(), a.power_kw(o.wheel_torque_nm)))
                .collect();
            mean += share * ask.objective.power(&powers) / rows.len() as f64;
        }
    }
    mean
}

/// The limits of retard, torque loss and pressure on every watched blend in the worst weather, pressure also on the day.
fn kept(ask: &ChooseJob, ratio: f64, slack: f64) -> bool {
    let range = &ask.range;
    let most_pressure = ask.job.build.limits.peak_pressure_pa.map(|pa| pa / PA_PER_BAR);
    (0..=CONTENTS).all(|i| {
        let content =
            range.low_vol_frac + (range.high_vol_frac - range.low_vol_frac) * i as f64 / CONTENTS as f64;
        let days =
            [Some(ask.worst_weather.unwrap_or(ask.job.weather)), most_pressure.map(|_| ask.job.weather)];
        days.into_iter().flatten().all(|weather| {
            let mut job = at(&ask.job, ratio);
            job.weather = weather;
            let lambda = range.lambda.map_or_else(|| best_power_lambda(content), |l| l.get());
            let fuel = FuelInUse::new(range.base.blend_at(content).unwrap(), lambda, &job.weather).unwrap();
            job.speeds_rpm.iter().all(|speed| {
                let planned =
                    LikelyPoint::new(&job, job.setting(), ("blend", &fuel), *speed, Shifts::NONE).unwrap();
                let retard = planned.best.spark_deg_btdc - planned.used.spark_deg_btdc;
                let lost = 1.0 - planned.used.bmep_bar() / planned.best.bmep_bar();
                let within =
                    |found: f64, most: Option<f64>| most.is_none_or(|most| found <= most * slack + 1e-6);
                planned.knock_limited_spark.is_some()
                    && within(retard, ask.limits.retard_deg)
                    && within(lost, ask.limits.torque_lost_frac)
                    && within(planned.used.peak_pressure_bar, most_pressure)
            })
        })
    })
}

/// Whether the asked share of the samples keeps the limits of retard and torque loss on the blend of the range with the
/// least octane index, in the worst weather.
fn kept_by_samples(ask: &ChooseJob, ratio: f64, slack: f64) -> bool {
    let (limits, range) = (&ask.limits, &ask.range);
    let mut job = at(&ask.job, ratio);
    job.weather = ask.worst_weather.unwrap_or(job.weather);
    let index = |content: f64| {
        range.base.blend_at(content).unwrap().octane_index(sensitivity_weight(job.build.injection))
    };
    let content = if index(range.low_vol_frac) < index(range.high_vol_frac) {
        range.low_vol_frac
    } else {
        range.high_vol_frac
    };
    let mut pump = range.base.clone();
    pump.ethanol = ContentRange::known(content);
    let lambda = range.lambda.map_or_else(|| best_power_lambda(content), |l| l.get());
    let fuel = PreparedFuel::new(&job, &pump, Some(lambda)).unwrap();
    let points = curve(&job, &fuel);
    let samples = latin_hypercube(job.samples, job.seed);
    let keeps = |of: fn(&Outcome) -> f64, most: Option<f64>| {
        let Some(most) = most else { return true };
        let worst = |row: Vec<Outcome>| row.iter().map(of).fold(0.0, f64::max);
        let mut rows = outcomes(&job, &fuel, &points, &samples, 1.0, worst).unwrap();
        rows.sort_by(f64::total_cmp);
        let at = ((rows.len() as f64 * limits.confidence) as usize).min(rows.len() - 1);
        rows[at] <= most * slack
    };
    keeps(|o| o.retard_deg, limits.retard_deg) && keeps(|o| o.torque_lost_frac, limits.torque_lost_frac)
}
