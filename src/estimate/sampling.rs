//! The samples carried through one fuel's curve.

use super::analysis::{PointAnalysis, PreparedFuel};
use super::error::EstimateError;
use super::interpolate::NearestCubic;
use super::job::Job;
use super::point::{Point, Shifts};
use super::response::{CycleInputs, NODES, SparkCurves};
use super::uncertainty::{Input, Sample};
use crate::engine::breathing::VolumetricEfficiency;
use crate::engine::{Driveline, Follow, PipeInput};
use crate::knock::{ln_integral_allowed, ln_speed, sensitivity_weight};
use rayon::prelude::*;

/// One sample at one speed.
#[derive(Clone, Copy, Debug)]
pub struct SampleOutcome {
    /// Torque at the flywheel [N m].
    pub crank_torque_nm: f64,
    /// Torque at the wheels referred to crank speed [N m].
    pub wheel_torque_nm: f64,
    /// Octane margin at the timing of the likely case [-].
    pub margin: f64,
    /// Octane margin at MBT timing of the likely case [-].
    pub mbt_margin: f64,
    /// Octane margin at each timing of the response grid [-].
    pub node_margins: [f64; NODES],
    /// Torque at the flywheel at each timing of the response grid [N m].
    pub node_crank_torque_nm: [f64; NODES],
    /// Torque at the wheels at each timing of the response grid, referred to crank speed [N m].
    pub node_wheel_torque_nm: [f64; NODES],
}

/// What one sample resists of knock at a point.
#[derive(Clone, Copy, Debug)]
pub struct SampledKnock {
    /// Octane index of the fuel less what this engine needs beyond the model [-].
    octane: f64,
    exponent: f64,
}

impl SampledKnock {
    /// Octane margin at ln of the ignition integral at octane number 100 [-].
    pub fn margin(&self, ln_integral: f64) -> f64 {
        self.octane - requirement_of_ln(ln_integral, self.exponent)
    }
}

/// [`crate::knock::octane_requirement`] from the logarithm of the integral: one exponential in place of that and a power.
fn requirement_of_ln(ln_integral: f64, octane_exponent: f64) -> f64 {
    100.0 * (ln_integral / octane_exponent).exp()
}

/// What of a sample is the same at every speed of a fuel.
pub struct SampledFuel {
    ron: f64,
    sensitivity: f64,
}

impl SampledFuel {
    /// Draws the octane number of a fuel.
    ///
    /// # Errors
    /// [`EstimateError::Fuel`] when the sampled content makes no blend.
    pub fn new(fuel: &PreparedFuel, sample: &Sample) -> Result<Self, EstimateError> {
        let blend = fuel
            .pump
            .blend_at(ethanol_content(fuel, sample))
            .map_err(|source| EstimateError::Fuel { fuel: fuel.pump.name.clone(), source })?;
        let (ron, band) = (blend.octane.ron, blend.octane_band);
        Ok(Self {
            ron: sample.between(Input::FuelOctane, ron - band.below, ron, ron + band.above),
            sensitivity: blend.gasoline_sensitivity,
        })
    }

    /// What a sample resists of knock with this fuel.
    ///
    /// # Arguments
    /// - `point`: where it runs
    pub fn knock(&self, point: &Point<'_>, sample: &Sample) -> SampledKnock {
        let setting = point.setting();
        let off = |input: Input| sample.deviate(input) * input.half_width();
        let weight = sensitivity_weight(setting.build.injection) + off(Input::SensitivityWeight);
        // What known points have shown of the model is in the samples themselves.
        let need = setting.need.allowed
            + off(Input::KnockModel)
            + off(Input::KnockEngine)
            + off(Input::KnockSpeed) * ln_speed(point.speed_rpm());
        SampledKnock {
            octane: self.ron - weight * self.sensitivity - need,
            exponent: setting.fit.octane_exponent,
        }
    }
}

/// Ethanol content of one sample by volume [-].
fn ethanol_content(fuel: &PreparedFuel, sample: &Sample) -> f64 {
    let content = fuel.pump.ethanol;
    if fuel.variants.content.is_none() {
        return content.likely;
    }
    let drawn = sample.between(Input::EthanolContent, content.low, content.likely, content.high);
    drawn.clamp(content.low, content.high)
}

/// The uncertain input that VE found from a pull goes with.
pub const fn input_followed(with: Follow) -> Input {
    match with {
        Follow::BurnSpeed => Input::BurnSpeed,
        Follow::Heat => Input::Heat,
        Follow::ChargeTemperature => Input::ChargeTemperature,
        Follow::Friction => Input::Friction,
        Follow::Driveline => Input::Driveline,
        Follow::KnockModel => Input::KnockModel,
        Follow::SensitivityWeight => Input::SensitivityWeight,
    }
}

/// The uncertain input that a size of pipes and valves is.
pub const fn input_of_pipes(size: PipeInput) -> Input {
    match size {
        PipeInput::RunnerLength => Input::RunnerLength,
        PipeInput::PrimaryLength => Input::PrimaryLength,
        PipeInput::ValveFlow => Input::ValveFlow,
        PipeInput::WaveDamping => Input::WaveDamping,
    }
}

/// Factor on VE of one sample by its own band, by where the powerband lies and by its pipes [-].
///
/// # Arguments
/// - `breathing`: that of the point
pub fn own_ve_factor(point: &Point<'_>, breathing: &VolumetricEfficiency, sample: &Sample) -> f64 {
    let by_pipes = PipeInput::ALL.iter().zip(breathing.pipes);
    let ln: f64 = by_pipes.map(|(size, change)| change * sample.deviate(input_of_pipes(*size))).sum();
    sample.between(Input::Breathing, breathing.low_ratio, 1.0, breathing.high_ratio)
        * point.powerband_factor(sample.deviate(Input::Powerband))
        * ln.exp()
}

/// Factor on VE of one sample by the inputs that it goes with [-].
fn followed(breathing: &VolumetricEfficiency, sample: &Sample) -> f64 {
    let changes = Follow::ALL.iter().zip(breathing.follows);
    changes.map(|(with, change)| change * sample.deviate(input_followed(*with))).sum::<f64>().exp()
}

/// What one sample puts into the cycle at one point.
///
/// # Arguments
/// - `breathing`: that of the point
pub fn cycle_inputs(
    point: &Point<'_>,
    breathing: &VolumetricEfficiency,
    fuel: &PreparedFuel,
    sample: &Sample,
) -> CycleInputs {
    let burn_speed = point.setting().build.unmeasured.burn_speed_half_width(Input::BurnSpeed.half_width());
    CycleInputs {
        shifts: Shifts {
            breathing: own_ve_factor(point, breathing, sample) * followed(breathing, sample),
            burn_speed: 1.0 + burn_speed * sample.deviate(Input::BurnSpeed),
            heat: sample.about(Input::Heat, 1.0),
            charge_temperature_k: sample.about(Input::ChargeTemperature, 0.0),
            ..Shifts::NONE
        },
        lambda: sample.about(Input::Mixture, fuel.likely().lambda),
        ethanol_vol_frac: ethanol_content(fuel, sample),
        unmeasured: [Input::ValveEvents, Input::BoreAndStroke].map(|input| sample.deviate(input)),
    }
}

/// Brake mean effective pressure at every node of the grid for one sample [bar].
pub(super) fn brake_bar(analysis: &PointAnalysis<'_>, sample: &Sample, curves: &SparkCurves) -> [f64; NODES] {
    let build = analysis.likely.point.setting().build;
    let factor = sample.about(Input::Friction, 1.0);
    let speed = analysis.likely.point.speed_rpm();
    let piston_speed = build.geometry.mean_piston_speed_m_per_s(speed);
    std::array::from_fn(|i| {
        let friction = build.friction.fmep_bar(
            curves.peak_pressure_bar[i],
            piston_speed,
            speed,
            analysis.likely.used.pmep_bar,
        );
        curves.imep_net_bar[i] - factor * friction
    })
}

/// One fuel's samples at work.
struct Sampling<'a> {
    job: &'a Job,
    fuel: &'a PreparedFuel,
    peak_power_torque_nm: f64,
}

impl Sampling<'_> {
    /// One sample at one speed: the timing is tuned to the sample, as a tuner would; the margin is
    /// that of the likely timing.
    fn outcome(
        &self,
        analysis: &PointAnalysis<'_>,
        drawn: &SampledFuel,
        sample: &Sample,
        loss: f64,
    ) -> SampleOutcome {
        let inputs = cycle_inputs(&analysis.likely.point, &analysis.breathing, self.fuel, sample);
        let curves = analysis.response.at(&inputs);
        let brake = brake_bar(analysis, sample, &curves);
        let knock = drawn.knock(&analysis.likely.point, sample);
        // Requirement + need beyond it + reserve = index, solved for the integral.
        let limit = ln_integral_allowed((knock.octane - self.job.reserve_octane).max(1.0), knock.exponent);
        let range = self.job.spark_range;
        let best = curves.best_spark(&brake).clamp(range.latest_deg_btdc, range.earliest_deg_btdc);
        let spark = curves.limited_spark(limit, best).max(range.latest_deg_btdc);
        let crank = analysis.torque_nm(curves.at(&brake, spark));
        let node_crank_torque_nm = brake.map(|bar| analysis.torque_nm(bar));
        let wheel = |crank_nm: f64| Driveline::wheel_torque_nm(crank_nm, loss, self.peak_power_torque_nm);
        let margin = |ln_integral: f64| knock.margin(ln_integral);
        let margin_at = |cubic: &NearestCubic| margin(cubic.of(|node| curves.ln_integral[node]));
        SampleOutcome {
            crank_torque_nm: crank,
            wheel_torque_nm: wheel(crank),
            margin: margin_at(&analysis.used_cubic),
            mbt_margin: margin_at(&analysis.mbt_cubic),
            node_margins: curves.ln_integral.map(margin),
            node_crank_torque_nm,
            node_wheel_torque_nm: node_crank_torque_nm.map(wheel),
        }
    }
}

/// Octane margin of one sample at a timing [deg before top dead centre] of the response grid [-].
///
/// # Errors
/// [`EstimateError::Fuel`] when the sampled content makes no blend.
pub fn octane_margin(
    analysis: &PointAnalysis<'_>,
    fuel: &PreparedFuel,
    sample: &Sample,
    spark_deg_btdc: f64,
) -> Result<f64, EstimateError> {
    let point = &analysis.likely.point;
    let curves = analysis.response.at(&cycle_inputs(point, &analysis.breathing, fuel, sample));
    let knock = SampledFuel::new(fuel, sample)?.knock(point, sample);
    Ok(knock.margin(curves.at(&curves.ln_integral, spark_deg_btdc)))
}

/// Crank torque of one sample at one speed, its timing tuned to it [N m].
///
/// # Errors
/// [`EstimateError::Fuel`] when the sampled content makes no blend.
pub fn crank_torque_nm(
    job: &Job,
    fuel: &PreparedFuel,
    analysis: &PointAnalysis<'_>,
    sample: &Sample,
) -> Result<f64, EstimateError> {
    let drawn = SampledFuel::new(fuel, sample)?;
    let sampling = Sampling { job, fuel, peak_power_torque_nm: 1.0 };
    Ok(sampling.outcome(analysis, &drawn, sample, 0.0).crank_torque_nm)
}

/// Octane margin of every sample of one fuel at each timing of the response grid [-]: by sample, then speed, as [`outcomes`] has it.
///
/// # Errors
/// As [`outcomes`].
pub fn node_margins(
    fuel: &PreparedFuel,
    analyses: &[PointAnalysis<'_>],
    samples: &[Sample],
) -> Result<Vec<Vec<[f64; NODES]>>, EstimateError> {
    let of_sample = |sample: &Sample| {
        let drawn = SampledFuel::new(fuel, sample)?;
        let margins = |a: &PointAnalysis<'_>| {
            let knock = drawn.knock(&a.likely.point, sample);
            let inputs = cycle_inputs(&a.likely.point, &a.breathing, fuel, sample);
            a.response.ln_integrals(&inputs).map(|ln_integral| knock.margin(ln_integral))
        };
        Ok(analyses.iter().map(margins).collect())
    };
    samples.par_iter().map(of_sample).collect()
}

/// All samples of one fuel: what `keep` makes of the outcomes of each, one per speed, in the order of the samples.
///
/// # Errors
/// [`EstimateError::Fuel`] when a sampled content makes no blend.
pub fn outcomes<T: Send>(
    job: &Job,
    fuel: &PreparedFuel,
    analyses: &[PointAnalysis<'_>],
    samples: &[Sample],
    peak_power_torque_nm: f64,
    keep: impl Fn(Vec<SampleOutcome>) -> T + Sync,
) -> Result<Vec<T>, EstimateError> {
    let loss = job.build.driveline.loss_band();
    let sampling = Sampling { job, fuel, peak_power_torque_nm };
    samples
        .par_iter()
        .map(|sample| {
            let drawn = SampledFuel::new(fuel, sample)?;
            let loss = sample.between(Input::Driveline, loss.low, loss.likely, loss.high).max(0.0);
            Ok(keep(analyses.iter().map(|a| sampling.outcome(a, &drawn, sample, loss)).collect()))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::knock::octane_requirement;

    #[test]
    fn the_requirement_of_a_logarithm_is_that_of_its_integral() {
        for (integral, exponent) in [(0.3_f64, 3.4), (1.0, 3.4), (4.7, 2.9)] {
            let off = requirement_of_ln(integral.ln(), exponent) - octane_requirement(integral, exponent);
            assert!(off.abs() < 1e-11, "{integral}: {off}");
        }
    }
}
