//! Making an estimate from a job.

use super::analysis::{PointAnalysis, PreparedFuel, swings};
use super::band::band;
use super::curve_point::CurvePoint;
use super::error::EstimateError;
use super::job::{Job, LEAST_SAMPLES};
use super::ladder::loss_ladder;
use super::levers::levers;
use super::notices::notices;
use super::result::{Driver, Estimate, FuelEstimate, FuelSamples, Peak, PowerCorrection, TracePoint};
use super::sampling::{SampleOutcome, outcomes};
use super::start::{StartCurve, StartPoint};
use super::sweep::{in_order, top_index};
use super::tuned::{peak_power_lost_frac, torque_at_peak_power_nm};
use super::uncertainty::{Input, Sample, rank_correlation};
use crate::air::{CorrectionStandard, Weather};
use crate::engine::Driveline;
use crate::units::PA_PER_BAR;

/// Estimates power and knock margin of a build on its fuels.
///
/// # Errors
/// [`EstimateError`] when a fuel, mixture or speed is outside the model.
///
/// # Example
/// ```
/// use endgas::{estimate::estimate, fuel::FuelLibrary, scenario};
/// let mut job = scenario::read("demo", scenario::DEMO)?.job(&FuelLibrary::shipped()?, 50, 1)?;
/// job.speeds_rpm = vec![4000.0, 7000.0];
/// let result = estimate(&job)?;
/// let fuel = &result.fuels[0];
/// assert_eq!(fuel.curve.len(), 2);
/// assert!((110.0..190.0).contains(&fuel.peak_power.wheel.likely));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn estimate(job: &Job) -> Result<Estimate, EstimateError> {
    estimate_with(job, &job.draw())
}

/// The same with samples that are drawn already.
///
/// # Errors
/// As [`estimate`].
pub(super) fn estimate_with(job: &Job, samples: &[Sample]) -> Result<Estimate, EstimateError> {
    if job.fuels.is_empty() || job.speeds_rpm.is_empty() || job.samples < LEAST_SAMPLES {
        return Err(job.empty());
    }
    let fuels = PreparedFuel::of_job(job)?;
    let analyses = PointAnalysis::over_speeds(job, &fuels, || {})?;
    let curves: Vec<&[PointAnalysis<'_>]> = analyses.chunks(job.speeds_rpm.len()).collect();
    let runs: Vec<_> = fuels.iter().zip(&curves).collect();
    let found = in_order(&runs, |(fuel, curve)| {
        // The drag torque of the driveline is set at peak power on each fuel: the other fuels play no part.
        let peak_power_torque = torque_at_peak_power_nm(curve.iter().map(|a| &a.likely));
        FuelRun { job, fuel, curve, samples, peak_power_torque }.estimate()
    })?;
    Ok(whole(job, &analyses, found))
}

fn whole(job: &Job, analyses: &[PointAnalysis<'_>], fuels: Vec<FuelEstimate>) -> Estimate {
    let geometry = &job.build.geometry;
    let (notices, limit_missed) = notices(job, analyses, &fuels);
    Estimate {
        scenario: job.scenario.clone(),
        note: job.note.clone(),
        compression_ratio: geometry.compression_ratio.get(),
        effective_compression_ratio: geometry
            .ratio_from_inlet_closing(job.build.valves.inlet_closes_deg_abdc),
        displacement_m3: geometry.displacement_m3(),
        breathing_source: job.build.breathing_source(),
        driveline_source: job.build.driveline,
        air_temperature_k: job.weather.temperature_k,
        air_pressure_pa: job.weather.pressure_pa,
        relative_humidity: job.weather.relative_humidity,
        reserve_octane: job.reserve_octane,
        samples: job.samples,
        seed: job.seed,
        fuels,
        notices,
        limit_missed,
        corrections: corrections(&job.weather),
        assumed: job.assumed.clone(),
    }
}

/// Factors of the standards in force, for power at the flywheel.
fn corrections(weather: &Weather) -> Vec<PowerCorrection> {
    let factor = |standard: CorrectionStandard| {
        let found = standard.factor(weather);
        PowerCorrection { standard: standard.title(), factor: found.factor, outside: found.outside }
    };
    [CorrectionStandard::SaeJ1349, CorrectionStandard::Iso1585].map(factor).to_vec()
}

/// One fuel of the estimate.
struct FuelRun<'a> {
    job: &'a Job,
    fuel: &'a PreparedFuel,
    curve: &'a [PointAnalysis<'a>],
    samples: &'a [Sample],
    peak_power_torque: f64,
}

impl FuelRun<'_> {
    fn estimate(&self) -> Result<FuelEstimate, EstimateError> {
        let outcomes =
            outcomes(self.job, self.fuel, self.curve, self.samples, self.peak_power_torque, |row| row)?;
        let start = StartCurve::new(self.job, self.curve, &outcomes);
        let top_power = top_index(self.curve, |a| a.power_kw(a.likely.crank_torque_nm()));
        let top_torque = top_index(self.curve, |a| a.likely.used.bmep_bar());
        let tightest = top_index(self.curve, |a| -a.likely.mbt_octane_margin());
        let peak = &self.curve[top_power].likely;
        let likely_loss = self.job.build.driveline.loss_band().likely;
        let torque = peak.crank_torque_nm();
        let wheel_share = Driveline::wheel_torque_nm(torque, likely_loss, self.peak_power_torque) / torque;
        let ladder = loss_ladder(&peak.point, &peak.used, wheel_share).map_err(|source| {
            let (fuel, lambda) = (self.fuel.pump.name.clone(), self.fuel.likely().lambda);
            EstimateError::Gas { fuel, lambda, source }
        })?;
        let blend = &self.fuel.likely().blend;
        let peak_power = self.peak(&outcomes, top_power, |a, torque| a.power_kw(torque));
        let wheel_peaks: Vec<f64> =
            outcomes.iter().map(|row| self.highest(row, |a, o| a.power_kw(o.wheel_torque_nm))).collect();
        let margins: Vec<f64> =
            outcomes.iter().map(|row| row.iter().map(|o| o.margin).fold(f64::INFINITY, f64::min)).collect();
        Ok(FuelEstimate {
            name: self.fuel.pump.name.clone(),
            title: self.fuel.pump.title.clone(),
            ethanol_vol_frac: blend.ethanol_vol_frac,
            ron: blend.octane.ron,
            mon: blend.octane.mon,
            afr_stoich: blend.afr_stoich,
            lhv_j_per_kg: blend.lhv_j_per_kg,
            hov_j_per_kg: blend.hov_j_per_kg,
            curve: self.points(&start, &outcomes),
            peak_power,
            start_peak_power: start_peak(&start),
            peak_torque: self.peak(&outcomes, top_torque, |_, torque| torque),
            tightest_index: tightest,
            peak_power_lost_frac: peak_power_lost_frac(self.curve.iter().map(|a| &a.likely)),
            ladder,
            levers: levers(self.job, self.fuel, &self.curve[tightest])?,
            drivers: drivers(self.samples, &wheel_peaks, &margins),
            trace: trace(&self.curve[top_torque]),
            trace_speed_rpm: self.curve[top_torque].likely.speed_rpm(),
            sample_peak_wheel_kw: wheel_peaks,
            samples: FuelSamples {
                wheel_power_kw: self.over_speeds(&outcomes, |a, o| a.power_kw(o.wheel_torque_nm)),
                peak_wheel_torque_nm: outcomes
                    .iter()
                    .map(|row| self.highest(row, |_, o| o.wheel_torque_nm))
                    .collect(),
                worst_mbt_margin: outcomes.iter().map(|row| row[tightest].mbt_margin).collect(),
            },
        })
    }

    /// Highest of a quantity over speed in one sample.
    fn highest(
        &self,
        row: &[SampleOutcome],
        quantity: impl Fn(&PointAnalysis<'_>, &SampleOutcome) -> f64,
    ) -> f64 {
        self.curve.iter().zip(row).map(|(a, o)| quantity(a, o)).fold(0.0, f64::max)
    }

    /// A quantity of every sample, speed by speed.
    fn over_speeds(
        &self,
        rows: &[Vec<SampleOutcome>],
        quantity: impl Fn(&PointAnalysis<'_>, &SampleOutcome) -> f64,
    ) -> Vec<Vec<f64>> {
        let of_speed = |(i, a)| rows.iter().map(|row| quantity(a, &row[i])).collect();
        self.curve.iter().enumerate().map(of_speed).collect()
    }

    /// Band of the samples' own peaks, of a quantity made from torque.
    fn peak(
        &self,
        rows: &[Vec<SampleOutcome>],
        top: usize,
        of: impl Fn(&PointAnalysis<'_>, f64) -> f64,
    ) -> Peak {
        Peak {
            speed_rpm: self.curve[top].likely.speed_rpm(),
            crank: band(rows.iter().map(|row| self.highest(row, |a, o| of(a, o.crank_torque_nm)))),
            wheel: band(rows.iter().map(|row| self.highest(row, |a, o| of(a, o.wheel_torque_nm)))),
        }
    }

    /// What is said of every speed.
    fn points(&self, start: &StartCurve<'_>, rows: &[Vec<SampleOutcome>]) -> Vec<CurvePoint> {
        let points = self.curve.iter().zip(&start.points).enumerate();
        points
            .map(|(i, (a, start))| CurvePoint::new(a, start.as_ref(), rows.iter().map(|row| &row[i])))
            .collect()
    }
}

/// Band of the samples' own power peaks at the timing to start from; none when some speed has no such timing.
fn start_peak(start: &StartCurve<'_>) -> Option<Peak> {
    let points = start.everywhere()?;
    let peaks_kw = |torque_nm: fn(&StartPoint) -> &[f64]| {
        let samples = points.first().map_or(0, |(_, start)| torque_nm(start).len());
        let powers = |s: usize| points.iter().map(move |(a, start)| a.power_kw(torque_nm(start)[s]));
        band((0..samples).map(|s| powers(s).fold(0.0, f64::max)))
    };
    let top = top_index(&points, |(a, start)| start.wheel_power_kw(a).likely);
    Some(Peak {
        speed_rpm: points[top].0.likely.speed_rpm(),
        crank: peaks_kw(StartPoint::each_crank_torque_nm),
        wheel: peaks_kw(StartPoint::wheel_torque_nm),
    })
}

/// What every input does to peak wheel power and to the tightest margin, strongest on power first.
fn drivers(samples: &[Sample], peak_power: &[f64], tightest_margin: &[f64]) -> Vec<Driver> {
    let (power, margin) = (swings(samples, peak_power), swings(samples, tightest_margin));
    let mut drivers = Input::ALL.map(|input| {
        let deviates: Vec<f64> = samples.iter().map(|s| s.deviate(input)).collect();
        Driver {
            input,
            power_rank_correlation: rank_correlation(&deviates, peak_power),
            margin_rank_correlation: rank_correlation(&deviates, tightest_margin),
            power_swing_kw: power[input as usize],
            margin_swing_octane: margin[input as usize],
        }
    });
    drivers.sort_by(|a, b| b.power_rank_correlation.abs().total_cmp(&a.power_rank_correlation.abs()));
    drivers.to_vec()
}

/// The closed cycle at the timing used.
fn trace(a: &PointAnalysis<'_>) -> Vec<TracePoint> {
    let mut trace = Vec::new();
    let burn = a.likely.point.burn(a.likely.used.spark_deg_btdc);
    a.likely.point.closed(&burn, |state| {
        trace.push(TracePoint {
            crank_angle_deg: state.crank_angle_deg,
            pressure_bar: state.pressure_pa / PA_PER_BAR,
            unburned_temperature_k: state.unburned_temperature_k,
            burned_temperature_k: state.burned_temperature_k,
            burn_fraction: state.burn_fraction,
        });
    });
    trace
}
