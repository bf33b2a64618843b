//! The samples carried through one fuel's curve.

use super::analysis::{PointAnalysis, PreparedFuel};
use super::job::{EstimateError, Job};
use super::point::Shifts;
use super::response::{Curves, CycleInputs, NODES};
use super::result::{Band, Driver};
use super::uncertainty::{INPUTS, Input, Sample, half_width, rank_correlation};
use crate::engine::Driveline;
use rayon::prelude::*;
use statrs::statistics::{Data, OrderStatistics};

/// One sample at one speed.
#[derive(Clone, Copy, Debug)]
pub struct Outcome {
    /// Torque at the crank [N m].
    pub crank_torque_nm: f64,
    /// Torque at the wheels referred to crank speed [N m].
    pub wheel_torque_nm: f64,
    /// Octane margin at the spark of the likely case [-].
    pub margin: f64,
}

/// 10th, 50th and 90th percentile of some values.
pub fn band(values: impl Iterator<Item = f64>) -> Band {
    let mut data = Data::new(values.collect::<Vec<f64>>());
    Band { low: data.percentile(10), likely: data.percentile(50), high: data.percentile(90) }
}

/// What of a sample is the same at every speed of a fuel.
struct SampledFuel {
    lambda: f64,
    ethanol_vol_frac: f64,
    ron: f64,
    sensitivity: f64,
}

impl SampledFuel {
    fn new(fuel: &PreparedFuel, sample: &Sample) -> Result<Self, EstimateError> {
        let content = fuel.pump.ethanol;
        let likely = fuel.likely();
        let ethanol_vol_frac = if fuel.variants.content.is_some() {
            sample
                .between(Input::EthanolContent, content.low, content.likely, content.high)
                .clamp(content.low, content.high)
        } else {
            content.likely
        };
        let octane = fuel
            .pump
            .blend_at(ethanol_vol_frac)
            .map_err(|source| EstimateError::Fuel { fuel: fuel.pump.name.clone(), source })?
            .octane;
        let half = likely.blend.octane_half_width;
        Ok(Self {
            lambda: sample.between(
                Input::Mixture,
                likely.lambda - half_width::MIXTURE,
                likely.lambda,
                likely.lambda + half_width::MIXTURE,
            ),
            ethanol_vol_frac,
            ron: octane.ron + sample.deviate(Input::FuelOctane) * half,
            sensitivity: octane.sensitivity(),
        })
    }
}

fn shifts(sample: &Sample, breathing: (f64, f64)) -> Shifts {
    let about = |input: Input, half: f64| sample.between(input, 1.0 - half, 1.0, 1.0 + half);
    Shifts {
        breathing: sample.between(Input::Breathing, breathing.0, 1.0, breathing.1),
        burn_speed: about(Input::BurnSpeed, half_width::BURN_SPEED),
        heat: about(Input::Heat, half_width::HEAT),
        charge_temperature_k: sample.deviate(Input::ChargeTemperature) * half_width::CHARGE_TEMPERATURE_K,
    }
}

/// Friction of every node of the grid for one sample [bar].
fn brake_bar(analysis: &PointAnalysis<'_>, sample: &Sample, curves: &Curves) -> [f64; NODES] {
    let build = analysis.point.setting().build;
    let factor = sample.between(Input::Friction, 1.0 - half_width::FRICTION, 1.0, 1.0 + half_width::FRICTION);
    let speed = analysis.point.speed_rpm();
    let piston_speed = build.geometry.mean_piston_speed_m_per_s(speed);
    std::array::from_fn(|i| {
        let friction =
            build.friction.fmep_bar(curves.peak_pressure_bar[i], piston_speed, speed, analysis.used.pmep_bar);
        curves.imep_net_bar[i] - factor * friction
    })
}

/// One sample at one speed: the spark is tuned to the sample, as a tuner would; the margin is
/// that of the likely spark.
fn outcome(
    job: &Job,
    analysis: &PointAnalysis<'_>,
    fuel: &SampledFuel,
    sample: &Sample,
    loss: f64,
    peak_torque: f64,
) -> Outcome {
    let setting = analysis.point.setting();
    let speed = analysis.point.speed_rpm();
    let breathing = setting.build.breathing.at(speed, analysis.point.exchange.mach_index / speed);
    let curves = analysis.response.at(&CycleInputs {
        shifts: shifts(sample, (breathing.low_ratio, breathing.high_ratio)),
        lambda: fuel.lambda,
        ethanol_vol_frac: fuel.ethanol_vol_frac,
    });
    let brake = brake_bar(analysis, sample, &curves);
    let weight = analysis.sensitivity_weight
        + sample.deviate(Input::SensitivityWeight) * half_width::SENSITIVITY_WEIGHT;
    let index = fuel.ron - weight * fuel.sensitivity;
    let model_error = sample.deviate(Input::KnockModel) * half_width::KNOCK_MODEL;
    let exponent = setting.fit.octane_exponent;
    // Requirement + error + reserve = index, solved for the integral.
    let limit = exponent * ((index - job.reserve_octane - model_error).max(1.0) / 100.0).ln();
    let best = curves.best_spark(&brake);
    let spark = curves.limited_spark(limit, best).max(job.spark_range.latest_deg_btdc).min(best);
    let crank = analysis.torque_nm(curves.at(&brake, spark));
    let at_likely = curves.at(&curves.ln_integral, analysis.used.spark_deg_btdc);
    let requirement = 100.0 * (at_likely / exponent).exp() + model_error;
    Outcome {
        crank_torque_nm: crank,
        wheel_torque_nm: Driveline::wheel_torque_nm(crank, loss, peak_torque),
        margin: index - requirement,
    }
}

/// All samples of one fuel: one row per sample, one outcome per speed.
///
/// # Errors
/// [`EstimateError::Fuel`] when a sampled content makes no blend.
pub fn outcomes(
    job: &Job,
    fuel: &PreparedFuel,
    analyses: &[PointAnalysis<'_>],
    samples: &[Sample],
    peak_power_torque_nm: f64,
) -> Result<Vec<Vec<Outcome>>, EstimateError> {
    let loss = job.build.driveline.loss_band();
    samples
        .par_iter()
        .map(|sample| {
            let sampled = SampledFuel::new(fuel, sample)?;
            let loss = sample.between(Input::Driveline, loss.low, loss.likely, loss.high).max(0.0);
            Ok(analyses
                .iter()
                .map(|a| outcome(job, a, &sampled, sample, loss, peak_power_torque_nm))
                .collect())
        })
        .collect()
}

/// Rank correlation of every input with peak wheel power and with the tightest margin, strongest on power first.
pub fn drivers(samples: &[Sample], peak_power: &[f64], tightest_margin: &[f64]) -> Vec<Driver> {
    let mut drivers: Vec<Driver> = Vec::with_capacity(INPUTS);
    for input in Input::ALL {
        let deviates: Vec<f64> = samples.iter().map(|s| s.deviate(input)).collect();
        drivers.push(Driver {
            name: input.title(),
            power_rank_correlation: rank_correlation(&deviates, peak_power),
            margin_rank_correlation: rank_correlation(&deviates, tightest_margin),
        });
    }
    drivers.sort_by(|a, b| b.power_rank_correlation.abs().total_cmp(&a.power_rank_correlation.abs()));
    drivers
}
