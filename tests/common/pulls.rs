//! Invented pulls: a hidden build, driven on a dynamometer that scatters.
//!
//! The hidden build is the scenario's with its filling, burn, wall heat, charge temperature and driveline loss moved
//! within their bands, and a ripple on the filling that the estimate knows nothing of. Everything is drawn from a
//! seed, so that the same seed makes the same rows.

use endgas::air::{CorrectionStandard, Weather};
use endgas::engine::{Breathing, Driveline};
use endgas::estimate::Job;
use endgas::estimate::point::{FuelInUse, Point, Shifts};
use endgas::estimate::spark::{best_torque_spark, knock_limited_spark};
use endgas::estimate::uncertainty::Input;
use endgas::fuel::FuelLibrary;
use endgas::knock::sensitivity_weight;
use endgas::scenario;
use endgas::units::rpm_to_rad_per_s;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use std::f64::consts::PI;

/// Spacing of the speeds at which the hidden build is run [rpm].
const NODE_RPM: f64 = 250.0;
/// Standard deviation over half of a 10-90 band.
const SIGMA: f64 = 1.0 / 1.281_55;

/// The job of a shipped scenario on its first fuel and a day.
pub fn job(name: &str, day: Option<(f64, f64, f64)>) -> Job {
    let path = format!("{}/scenarios/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).unwrap();
    let scenario = scenario::read(name, &text).unwrap();
    let mut job = scenario.job(&FuelLibrary::shipped().unwrap(), 400, 1).unwrap();
    job.fuels.truncate(1);
    if let Some((celsius, pressure_pa, humidity)) = day {
        job.weather = Weather::new(celsius + 273.15, pressure_pa, humidity).unwrap();
    }
    job
}

/// Random numbers of a seed.
pub struct Draws(ChaCha8Rng);

impl Draws {
    pub fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    pub fn uniform(&mut self) -> f64 {
        self.0.random()
    }

    /// A standard normal deviate, near enough: twelve uniform numbers less six.
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }
}

/// What is hidden: how the build differs from the scenario's likely one.
#[derive(Clone, Copy, Debug)]
pub struct Hidden {
    pub shifts: Shifts,
    /// Size and phase of the ripple on filling.
    pub ripple: [f64; 2],
    pub loss: f64,
    /// Speed at which the engine fills best, over that of the scenario.
    pub peak_shift: f64,
    /// Filling at the highest over that at the middle speed, less one.
    pub tilt: f64,
    /// Friction over that of the law.
    pub friction: f64,
    /// Octane numbers that the engine asks for beyond the model.
    pub octane: f64,
}

impl Hidden {
    /// A build near the likely one, with nothing hidden.
    pub fn likely(job: &Job) -> Self {
        let loss = job.build.driveline.loss_band().likely;
        Self {
            shifts: Shifts::NONE,
            ripple: [0.0, 0.0],
            loss,
            peak_shift: 1.0,
            tilt: 0.0,
            friction: 1.0,
            octane: 0.0,
        }
    }

    /// Filling over the scenario's at a speed.
    pub fn filling(&self, job: &Job, speed: f64) -> f64 {
        let (from, to) = (job.speeds_rpm[0], *job.speeds_rpm.last().unwrap());
        let [size, phase] = self.ripple;
        let ripple = 1.0 + size * (2.0 * PI * speed / 3100.0 + phase).sin();
        let tilt = 1.0 + self.tilt * (2.0 * (speed - from) / (to - from) - 1.0);
        self.shifts.breathing * ripple * tilt * filling_ratio(job, self.peak_shift, speed)
    }

    /// As [`Self::drawn`], with tilt, friction and knock drawn too.
    pub fn drawn_whole(job: &Job, draws: &mut Draws) -> Self {
        let mut hidden = Self::drawn(job, draws);
        hidden.tilt = 0.04 * SIGMA * draws.normal();
        hidden.friction = 1.0 + Input::Friction.half_width() * SIGMA * draws.normal();
        hidden.octane = Input::KnockModel.half_width() * SIGMA * draws.normal();
        hidden
    }

    /// A build near the likely one.
    pub fn near(job: &Job) -> Self {
        let loss = job.build.driveline.loss_band().likely;
        let shifts = Shifts { breathing: 1.01, burn_speed: 1.03, heat: 0.95, ..Shifts::NONE };
        Self { shifts, ripple: [0.012, 0.7], loss: loss - 0.005, ..Self::likely(job) }
    }

    /// A build drawn from the bands of the estimate, friction left alone.
    pub fn drawn(job: &Job, draws: &mut Draws) -> Self {
        let intake = job.build.intake(job.weather.temperature_k);
        let breathing = job.build.breathing.at(0.5 * (job.speeds_rpm[0] + job.speeds_rpm[4]), &intake);
        let mut between = |low: f64, likely: f64, high: f64| {
            let z = draws.normal() * SIGMA;
            likely + z * if z < 0.0 { likely - low } else { high - likely }
        };
        let mut about = |likely: f64, half: f64| between(likely - half, likely, likely + half);
        let burn_speed = about(1.0, Input::BurnSpeed.half_width());
        let heat = about(1.0, Input::Heat.half_width());
        let charge_temperature_k = about(0.0, Input::ChargeTemperature.half_width());
        let band = job.build.driveline.loss_band();
        let loss = between(band.low, band.likely, band.high);
        let breathing = between(breathing.low_ratio, 1.0, breathing.high_ratio);
        let shifts = Shifts { breathing, burn_speed, heat, charge_temperature_k, ..Shifts::NONE };
        Self { shifts, ripple: [0.015, 2.0 * PI * draws.uniform()], loss, ..Self::likely(job) }
    }
}

/// Filling with its peaks moved over filling as the scenario has it.
fn filling_ratio(job: &Job, peak_shift: f64, speed: f64) -> f64 {
    let Breathing::Band { kind, peaks, closes_deg_abdc } = job.build.breathing else { return 1.0 };
    let moved = Breathing::Band { kind, peaks: peaks.scaled(peak_shift), closes_deg_abdc };
    let intake = job.build.intake(job.weather.temperature_k);
    moved.at(speed, &intake).likely / job.build.breathing.at(speed, &intake).likely
}

/// The hidden build's full-load curve.
pub struct Truth {
    /// Speed [rpm], wheel torque [N m], fuel flow [kg/s].
    nodes: Vec<[f64; 3]>,
    pub lambda: f64,
}

impl Truth {
    /// Runs the hidden build at its own best spark, as a tuner would set it.
    pub fn new(job: &Job, hidden: &Hidden) -> Self {
        let choice = &job.fuels[0];
        let lambda = choice.lambda.map_or(choice.fuel.best_power_lambda, |l| l.get());
        let fuel = FuelInUse::new(choice.fuel.blend().unwrap(), lambda, &job.weather).unwrap();
        let octane = fuel.blend.octane_index(sensitivity_weight(job.build.injection)) - hidden.octane;
        let (from, to) = (job.speeds_rpm[0], *job.speeds_rpm.last().unwrap());
        let steps = ((to - from) / NODE_RPM).round() as usize;
        let crank: Vec<[f64; 3]> = (0..=steps)
            .map(|i| {
                let speed = from + i as f64 * NODE_RPM;
                let shifts = Shifts { breathing: hidden.filling(job, speed), ..hidden.shifts };
                let point = Point::new(job.setting(), &fuel, speed, shifts);
                let best = best_torque_spark(&point, job.spark_range).unwrap();
                let spark = best.spark_deg_btdc;
                let limit =
                    knock_limited_spark(&point, spark, octane, job.reserve_octane, job.spark_range).unwrap();
                let used = point.at_spark(limit.unwrap_or(job.spark_range.latest_deg_btdc).min(spark));
                let geometry = &job.build.geometry;
                let brake_bar = used.imep_net_bar - hidden.friction * used.fmep_bar;
                let torque = brake_bar * 1e5 * geometry.displacement_m3() / (4.0 * PI);
                let cycles_per_s = f64::from(geometry.cylinders) * speed / 120.0;
                [speed, torque, point.trapped.fuel_kg * cycles_per_s]
            })
            .collect();
        let peak = crank.iter().max_by(|a, b| (a[0] * a[1]).total_cmp(&(b[0] * b[1]))).unwrap()[1];
        let wheel = |n: &[f64; 3]| [n[0], Driveline::wheel_torque_nm(n[1], hidden.loss, peak), n[2]];
        Self { nodes: crank.iter().map(wheel).collect(), lambda }
    }

    /// Two pulls without any scatter, a row at every node.
    pub fn rows(&self) -> Vec<Reading> {
        let row = |pull: usize| {
            self.nodes.iter().map(move |[speed_rpm, torque_nm, fuel_flow_kg_per_s]| Reading {
                pull,
                speed_rpm: *speed_rpm,
                torque_nm: *torque_nm,
                lambda: self.lambda,
                fuel_flow_kg_per_s: *fuel_flow_kg_per_s,
            })
        };
        row(0).chain(row(1)).collect()
    }

    /// Highest wheel power at the speeds of a job [kW].
    pub fn peak_power_kw(&self, job: &Job) -> f64 {
        job.speeds_rpm.iter().map(|n| self.at(*n)[0] * rpm_to_rad_per_s(*n) / 1e3).fold(0.0, f64::max)
    }

    /// Wheel torque [N m] and fuel flow [kg/s] at a speed.
    fn at(&self, speed: f64) -> [f64; 2] {
        let last = self.nodes.len() - 1;
        let i = (((speed - self.nodes[0][0]) / NODE_RPM).floor().max(0.0) as usize).min(last - 1);
        let share = (speed - self.nodes[i][0]) / NODE_RPM;
        let mix = |k: usize| self.nodes[i][k] + share * (self.nodes[i + 1][k] - self.nodes[i][k]);
        [mix(1), mix(2)]
    }
}

/// One row as measured, of the day.
#[derive(Clone, Copy, Debug)]
pub struct Reading {
    pub pull: usize,
    pub speed_rpm: f64,
    pub torque_nm: f64,
    pub lambda: f64,
    pub fuel_flow_kg_per_s: f64,
}

impl Reading {
    pub fn power_w(&self) -> f64 {
        self.torque_nm * rpm_to_rad_per_s(self.speed_rpm)
    }
}

/// Pulls over the speeds of the job, each a little off the others, every row with scatter.
pub fn pulls(job: &Job, truth: &Truth, count: usize, draws: &mut Draws) -> Vec<Reading> {
    let (from, to) = (job.speeds_rpm[0] + 60.0, job.speeds_rpm.last().unwrap() - 20.0);
    let mut rows = Vec::new();
    for pull in 0..count {
        let scale = 1.0 + 0.006 * draws.normal();
        let (mut speed, mut slow) = (from + 40.0 * draws.uniform(), 0.0);
        while speed < to {
            let [torque, flow] = truth.at(speed);
            slow = 0.8 * slow + 0.003 * draws.normal();
            let scatter = 1.0 + slow + 0.004 * draws.normal();
            rows.push(Reading {
                pull,
                speed_rpm: speed,
                torque_nm: torque * scale * scatter,
                lambda: truth.lambda + 0.006 * draws.normal(),
                fuel_flow_kg_per_s: flow * (1.0 + 0.006 * draws.normal()),
            });
            speed += 45.0 + 10.0 * draws.uniform();
        }
    }
    rows
}

/// What may be done to honest readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    None,
    /// A correction factor of 9 % more than the day's, entered by hand.
    OverCorrected,
    /// Figures as measured are in truth corrected, on a day that a standard changes much.
    CorrectedAlready,
    /// Driven in a gear 30 % shorter than the one entered.
    WrongGear,
    /// A running mean over 25 rows, three times.
    OverSmoothed,
    /// Numbers in lb ft under a heading of N m.
    LbFtAsNm,
    /// Everything 22 % up.
    Inflated,
}

/// Honest readings with a fault put in; the factor is what the log then says of its correction.
pub fn with_fault(rows: &[Reading], fault: Fault, weather: &Weather) -> Vec<Reading> {
    let scaled = |factor: f64| -> Vec<Reading> {
        rows.iter().map(|r| Reading { torque_nm: r.torque_nm * factor, ..*r }).collect()
    };
    match fault {
        Fault::None | Fault::LbFtAsNm => rows.to_vec(),
        Fault::OverCorrected => scaled(1.09),
        Fault::Inflated => scaled(1.22),
        Fault::CorrectedAlready => scaled(CorrectionStandard::SaeJ1349.factor(weather).factor),
        Fault::WrongGear => rows
            .iter()
            .map(|r| Reading { speed_rpm: r.speed_rpm * 1.3, torque_nm: r.torque_nm / 1.3, ..*r })
            .collect(),
        Fault::OverSmoothed => (0..3).fold(rows.to_vec(), |rows, _| smoothed(&rows)),
    }
}

pub fn smoothed(rows: &[Reading]) -> Vec<Reading> {
    let half = 12;
    (0..rows.len())
        .map(|i| {
            let mut near: Vec<&Reading> = Vec::new();
            // The same number of rows on either side, all of one pull; speed goes with torque.
            for k in 0..=half {
                let pair = [i.checked_sub(k), Some(i + k)];
                let pair: Vec<&Reading> = pair.into_iter().flatten().filter_map(|j| rows.get(j)).collect();
                if pair.len() < 2 || pair.iter().any(|r| r.pull != rows[i].pull) {
                    break;
                }
                near.extend(pair);
            }
            let mean = |of: fn(&Reading) -> f64| near.iter().map(|r| of(r)).sum::<f64>() / near.len() as f64;
            Reading { torque_nm: mean(|r| r.torque_nm), speed_rpm: mean(|r| r.speed_rpm), ..rows[i] }
        })
        .collect()
}
