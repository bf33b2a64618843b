//! What known points of an engine show: samples conditioned on what was heard, and on torque over timing.
//!
//! A large pool of samples is weighted by how likely each makes what was observed, and drawn again by its weights
//! (sampling importance resampling; Rubin, Bayesian Statistics 3, 1988, `from memory`). An observation was made on another fill
//! of fuel and perhaps on a sister engine: content and octane of the fuel, mixture and the spread of engines of one model are
//! drawn for it afresh, so those bands stay as they are.

use super::analysis::{PointAnalysis, PreparedFuel};
use super::change::JobChange;
use super::error::EstimateError;
use super::job::Job;
use super::learned::{HeardKnock, KnownRemark, Learned};
use super::sampling::{brake_bar, cycle_inputs, octane_margin};
use super::uncertainty::{Input, Sample, Z_90, latin_hypercube};
use crate::air::Weather;
use crate::engine::Cooling;
use crate::fuel::PumpFuel;
use crate::knock::ln_speed;
use crate::units::{CompressionRatio, Lambda};
use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use statrs::distribution::{ContinuousCDF, Normal};

/// Samples that are weighted, and samples that are kept.
const POOL: usize = 12_288;
const KEPT: usize = 2_000;
/// Standard deviation of octane margin at which a person hears the first knock [-]: one degree of timing (judgement, no
/// source).
const HEARD_OCTANE: f64 = 0.8;
/// What a chassis dynamometer repeats [-]: standard deviation of one torque of a timing swing over the others, and of the
/// mean of a few pulls of one day (common practice, no source).
pub const DYNO_REPEATS: f64 = 0.005;
/// Share below which what was heard at a point is too unlikely by all else to be taken without a word [-].
const UNLIKELY: f64 = 0.05;
/// Independent samples below which a band says little.
const FEWEST_EFFECTIVE: f64 = 100.0;
/// What is drawn afresh for an observation.
const OF_THE_DAY: [Input; 4] = [Input::EthanolContent, Input::FuelOctane, Input::Mixture, Input::KnockEngine];

impl HeardKnock {
    /// Likelihood at an octane margin, at most 1.
    fn likelihood(self, margin: f64) -> f64 {
        let normal = Normal::standard();
        match self {
            Self::None => normal.cdf(margin / HEARD_OCTANE),
            Self::Trace => (-0.5 * (margin / HEARD_OCTANE).powi(2)).exp(),
            Self::Knock => normal.cdf(-margin / HEARD_OCTANE),
        }
    }
}

/// Where an observation was made; its fuel looked up, or as it was typed.
#[derive(Clone, Debug, PartialEq)]
pub struct Observed<F = PumpFuel> {
    /// What messages call it: its place in the scenario.
    pub name: String,
    /// Fuel that was run.
    pub fuel: F,
    /// Mixture that was run; the fuel's best-power mixture where none is known.
    pub lambda: Option<Lambda>,
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Compression ratio, where it was another than the build's.
    pub compression_ratio: Option<CompressionRatio>,
    /// Intake air [K], where it was another than the day's.
    pub air_temperature_k: Option<f64>,
    /// Coolant [K], where it was another than the build's.
    pub coolant_temperature_k: Option<f64>,
}

/// A point of the engine, or of a sister engine, at which someone listened.
#[derive(Clone, Debug, PartialEq)]
pub struct KnownPoint<F = PumpFuel> {
    /// Where.
    pub at: Observed<F>,
    /// Timing [deg before top dead centre].
    pub spark_deg_btdc: f64,
    /// What was heard.
    pub heard: HeardKnock,
}

/// Torque at several timings at one speed.
#[derive(Clone, Debug, PartialEq)]
pub struct TimingSwing<F = PumpFuel> {
    /// Where.
    pub at: Observed<F>,
    /// Timings [deg before top dead centre] with the torque at each, in any one unit; three or more.
    pub points: Vec<(f64, f64)>,
}

/// An observation ready to be compared: the engine as it was, and its fuel.
struct Scene {
    job: Job,
    fuel: PreparedFuel,
}

impl Scene {
    fn new(job: &Job, at: &Observed) -> Result<Self, EstimateError> {
        let ratio = at.compression_ratio.map(JobChange::CompressionRatio);
        let air = at.air_temperature_k.map(|temperature_k| Weather { temperature_k, ..job.weather });
        let head = match (at.coolant_temperature_k, job.build.combustion.cooling) {
            (Some(kelvin), Cooling::Liquid { coolant_temperature_k }) => {
                Some(JobChange::HotterHead(kelvin - coolant_temperature_k))
            }
            _ => None,
        };
        let changes = [ratio, air.map(JobChange::Weather), head];
        let job = changes.into_iter().flatten().fold(job.clone(), |job, change| job.with(change));
        let fuel = PreparedFuel::new(&job, &at.fuel, at.lambda.map(|lambda| lambda.get()))?;
        Ok(Self { job, fuel })
    }

    fn analysis(&self, speed_rpm: f64) -> Result<PointAnalysis<'_>, EstimateError> {
        PointAnalysis::new(&self.job, self.job.setting(), &self.fuel, speed_rpm)
    }
}

/// Sample `i` as it was on the day of an observation: what is of that day is another's.
fn observed(pool: &[Sample], i: usize, observation: usize) -> Sample {
    let other = (i + pool.len() / 3 + 97 * observation + 1) % pool.len();
    pool[i].with(&pool[other], &OF_THE_DAY)
}

/// Octane margins of every sample of a pool at a known point: as it was observed, and with the sample's own fill and
/// engine.
fn margins(
    job: &Job,
    point: &KnownPoint,
    number: usize,
    pool: &[Sample],
) -> Result<Vec<[f64; 2]>, EstimateError> {
    let scene = Scene::new(job, &point.at)?;
    let analysis = scene.analysis(point.at.speed_rpm)?;
    let sparks = &analysis.response.sparks_deg_btdc;
    // A cubic is worth nothing outside its nodes.
    let spark = point.spark_deg_btdc.clamp(sparks[sparks.len() - 1], sparks[0]);
    let margin = |sample: &Sample| octane_margin(&analysis, &scene.fuel, sample, spark);
    let both = |i: usize| Ok([margin(&observed(pool, i, number))?, margin(&pool[i])?]);
    (0..pool.len()).into_par_iter().map(both).collect()
}

/// ln of the likelihood of a timing swing for every sample of a pool: the shape of torque over timing alone counts.
fn ln_swing(
    job: &Job,
    swing: &TimingSwing,
    number: usize,
    pool: &[Sample],
) -> Result<Vec<f64>, EstimateError> {
    let scene = Scene::new(job, &swing.at)?;
    let analysis = scene.analysis(swing.at.speed_rpm)?;
    let one = |i: usize| {
        let sample = observed(pool, i, number);
        let inputs = cycle_inputs(&analysis.likely.point, &analysis.breathing, &scene.fuel, &sample);
        let curves = analysis.response.at(&inputs);
        let brake = brake_bar(&analysis, &sample, &curves);
        // Each measured torque over the sample's own; their scale is free.
        let over: Vec<f64> =
            swing.points.iter().map(|(spark, torque)| torque / curves.at(&brake, *spark)).collect();
        let scale = over.iter().sum::<f64>() / over.len() as f64;
        let squares: f64 = over.iter().map(|o| ((o / scale - 1.0) / DYNO_REPEATS).powi(2)).sum();
        -0.5 * squares
    };
    Ok((0..pool.len()).into_par_iter().map(one).collect())
}

fn weights(ln_likelihoods: &[f64]) -> Vec<f64> {
    let top = ln_likelihoods.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = ln_likelihoods.iter().map(|l| (l - top).exp()).collect();
    let sum: f64 = weights.iter().sum();
    weights.into_iter().map(|w| w / sum).collect()
}

/// Number of independent samples that weighted ones are worth (Kish 1965, `from memory`).
fn effective(weights: &[f64]) -> f64 {
    1.0 / weights.iter().map(|w| w * w).sum::<f64>()
}

fn mean(weights: &[f64], values: impl Iterator<Item = f64>) -> f64 {
    weights.iter().zip(values).map(|(w, v)| w * v).sum()
}

/// Draws `count` indices by weights, evenly spread over them, in random order.
fn resampled(weights: &[f64], count: usize, random: &mut ChaCha8Rng) -> Vec<usize> {
    let offset: f64 = random.random();
    let (mut drawn, mut reached, mut index) = (Vec::with_capacity(count), weights[0], 0);
    for i in 0..count {
        let place = (i as f64 + offset) / count as f64;
        while reached < place && index + 1 < weights.len() {
            index += 1;
            reached += weights[index];
        }
        drawn.push(index);
    }
    drawn.shuffle(random);
    drawn
}

/// Half width of the 10-90 % band of weighted values, as of a normal spread.
fn half_width(weights: &[f64], values: &[f64]) -> f64 {
    let middle = mean(weights, values.iter().copied());
    Z_90 * mean(weights, values.iter().map(|v| (v - middle).powi(2))).sqrt()
}

/// Conditions the samples of a job on what is known of its engine; `None` when nothing is.
///
/// # Errors
/// [`EstimateError::Of`] an observation whose fuel, mixture or speed is outside the model.
pub fn learn(
    job: &Job,
    known: &[KnownPoint],
    swings: &[TimingSwing],
) -> Result<Option<Learned>, EstimateError> {
    if known.is_empty() && swings.is_empty() {
        return Ok(None);
    }
    let mut random = ChaCha8Rng::seed_from_u64(job.seed);
    let mut job = job.clone();
    let mut pool = latin_hypercube(POOL, job.seed);
    let mut remarks = Vec::new();
    let mut burn_speed = 1.0;
    if !swings.is_empty() {
        burn_speed = learn_burn(&job, swings, &mut pool, &mut random, &mut remarks)?;
        JobChange::BurnSpeed(burn_speed).apply(&mut job);
    }
    let margins: Vec<Vec<[f64; 2]>> = known
        .iter()
        .enumerate()
        .map(|(n, point)| margins(&job, point, n, &pool).map_err(EstimateError::of(&point.at.name)))
        .collect::<Result<_, _>>()?;
    let likelihoods: Vec<Vec<f64>> = known
        .iter()
        .zip(&margins)
        .map(|(p, m)| m.iter().map(|m| p.heard.likelihood(m[0])).collect())
        .collect();
    let ln_all: Vec<f64> =
        (0..pool.len()).map(|i| likelihoods.iter().map(|l| l[i].max(1e-300).ln()).sum()).collect();
    let weighted = weights(&ln_all);
    let off = |i: usize| pool[i].deviate(Input::KnockSpeed) * Input::KnockSpeed.half_width();
    let per_ln = mean(&weighted, (0..pool.len()).map(off));
    let even = vec![1.0 / pool.len() as f64; pool.len()];
    let mut octane = 0.0;
    for (point, margins) in known.iter().zip(&margins) {
        let own: Vec<f64> = margins.iter().map(|m| m[1]).collect();
        // Before and after: what the likely case must move by.
        let shown = mean(&even, own.iter().copied()) - mean(&weighted, own.iter().copied());
        octane += (shown - per_ln * ln_speed(point.at.speed_rpm)) / known.len() as f64;
        remarks.push(KnownRemark::Octane {
            at: point.at.name.clone(),
            beyond_model: shown,
            half_width: half_width(&weighted, &own),
            half_width_before: half_width(&even, &own),
        });
    }
    remarks.extend(contradictions(known, &likelihoods));
    if effective(&weighted) < FEWEST_EFFECTIVE {
        remarks.push(KnownRemark::FewCases { cases: effective(&weighted), of: POOL });
    }
    let samples = resampled(&weighted, KEPT, &mut random).into_iter().map(|i| pool[i]).collect();
    Ok(Some(Learned { samples, octane, octane_per_ln_speed: per_ln, burn_speed, remarks }))
}

/// Burn speed over the build's as timing swings show it; the pool is drawn again about it.
fn learn_burn(
    job: &Job,
    swings: &[TimingSwing],
    pool: &mut Vec<Sample>,
    random: &mut ChaCha8Rng,
    remarks: &mut Vec<KnownRemark>,
) -> Result<f64, EstimateError> {
    let mut ln_all = vec![0.0; pool.len()];
    for (number, swing) in swings.iter().enumerate() {
        let ln = ln_swing(job, swing, number, pool).map_err(EstimateError::of(&swing.at.name))?;
        for (sum, ln) in ln_all.iter_mut().zip(ln) {
            *sum += ln;
        }
    }
    let weighted = weights(&ln_all);
    let half = Input::BurnSpeed.half_width();
    let factor = 1.0 + half * mean(&weighted, pool.iter().map(|s| s.deviate(Input::BurnSpeed)));
    remarks.push(KnownRemark::BurnSpeed(factor));
    if effective(&weighted) < FEWEST_EFFECTIVE {
        remarks.push(KnownRemark::SwingOfAnotherShape);
    }
    *pool = resampled(&weighted, pool.len(), random)
        .into_iter()
        .map(|i| {
            let own = 1.0 + half * pool[i].deviate(Input::BurnSpeed);
            pool[i].with_deviate(Input::BurnSpeed, (own / factor - 1.0) / half)
        })
        .collect();
    Ok(factor)
}

/// Points at which what was heard is unlikely by the model and all other points, each with the point it goes least with.
fn contradictions(known: &[KnownPoint], likelihoods: &[Vec<f64>]) -> Vec<KnownRemark> {
    let count = likelihoods.first().map_or(0, Vec::len);
    let mut found = Vec::new();
    for (i, point) in known.iter().enumerate() {
        let others: Vec<f64> = (0..count)
            .map(|s| (0..known.len()).filter(|j| *j != i).map(|j| likelihoods[j][s]).product())
            .collect();
        let sum: f64 = others.iter().sum();
        let share = others.iter().zip(&likelihoods[i]).map(|(o, own)| o * own).sum::<f64>() / sum.max(1e-300);
        if share >= UNLIKELY {
            continue;
        }
        let joint = |j: usize| {
            let pair: f64 = likelihoods[i].iter().zip(&likelihoods[j]).map(|(a, b)| a * b).sum();
            pair / likelihoods[j].iter().sum::<f64>().max(1e-300)
        };
        let against = (0..known.len())
            .filter(|j| *j != i)
            .min_by(|a, b| joint(*a).total_cmp(&joint(*b)))
            .map(|j| known[j].at.name.clone());
        found.push(KnownRemark::Contradiction {
            at: point.at.name.clone(),
            heard: point.heard,
            spark_deg_btdc: point.spark_deg_btdc,
            against,
        });
    }
    found
}
