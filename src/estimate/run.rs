//! Making an estimate from a job.

use super::analysis::{PointAnalysis, PreparedFuel};
use super::job::{EstimateError, Job, LEAST_SAMPLES};
use super::ladder::loss_ladder;
use super::levers::levers;
use super::likely::torque_at_peak_power_nm;
use super::notices::{CAUTIONS, notices};
use super::result::{Band, CurvePoint, Estimate, FuelEstimate, Peak, PowerCorrection, TracePoint};
use super::sampling::{Outcome, band, drivers, outcomes};
use super::start::{Start, StartCurve};
use super::uncertainty::Sample;
use crate::air::{CorrectionStandard, Weather};
use crate::engine::Driveline;
use crate::units::PA_PER_BAR;
use rayon::prelude::*;

/// Estimates power and knock margin of a build on its fuels.
///
/// # Errors
/// [`EstimateError`] when a fuel, mixture or speed is outside the model.
pub fn estimate(job: &Job) -> Result<Estimate, EstimateError> {
    if job.fuels.is_empty() || job.speeds_rpm.is_empty() || job.samples < LEAST_SAMPLES {
        let (fuels, speeds, samples) = (job.fuels.len(), job.speeds_rpm.len(), job.samples);
        return Err(EstimateError::Empty { fuels, speeds, samples });
    }
    // Parallel results are gathered first, so that the error reported is the first in order.
    let fuels: Vec<PreparedFuel> = job
        .fuels
        .par_iter()
        .map(|choice| PreparedFuel::new(job, &choice.fuel, choice.lambda.map(|l| l.get())))
        .collect::<Vec<_>>()
        .into_iter()
        .collect::<Result<_, _>>()?;
    let setting = job.setting();
    let pairs: Vec<(&PreparedFuel, f64)> =
        fuels.iter().flat_map(|fuel| job.speeds_rpm.iter().map(move |speed| (fuel, *speed))).collect();
    let analyses: Vec<PointAnalysis<'_>> = pairs
        .par_iter()
        .map(|(fuel, speed)| PointAnalysis::new(job, setting, fuel, *speed))
        .collect::<Vec<_>>()
        .into_iter()
        .collect::<Result<_, _>>()?;
    let curves: Vec<&[PointAnalysis<'_>]> = analyses.chunks(job.speeds_rpm.len()).collect();
    let samples = job.draw();
    let found = fuels
        .iter()
        .zip(&curves)
        .map(|(fuel, curve)| {
            // The drag torque of the driveline is set at peak power on each fuel: the other fuels play no part.
            let peak_power_torque = torque_at_peak_power_nm(curve.iter().map(|a| &a.likely));
            FuelRun { job, fuel, curve, samples: &samples, peak_power_torque }.estimate()
        })
        .collect::<Result<Vec<_>, _>>()?;
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
        driveline_source: job.build.driveline.source(),
        air_temperature_k: job.weather.temperature_k,
        air_pressure_pa: job.weather.pressure_pa,
        relative_humidity: job.weather.relative_humidity,
        reserve_octane: job.reserve_octane,
        samples: job.samples,
        seed: job.seed,
        fuels,
        notices,
        cautions: CAUTIONS.to_vec(),
        limit_missed,
        corrections: corrections(&job.weather),
    }
}

/// Factors of the standards in force, for power at the crank.
fn corrections(weather: &Weather) -> Vec<PowerCorrection> {
    let factor = |standard: CorrectionStandard| {
        let found = standard.factor(weather);
        PowerCorrection {
            standard: standard.title(),
            factor: found.factor,
            outside: found.outside.map(String::from),
        }
    };
    [CorrectionStandard::SaeJ1349, CorrectionStandard::Iso1585].map(factor).to_vec()
}

/// Index of the greatest value; the first of equals.
fn top_index<T>(items: &[T], value: impl Fn(&T) -> f64) -> usize {
    let mut top = 0;
    for (i, item) in items.iter().enumerate() {
        if value(item) > value(&items[top]) {
            top = i;
        }
    }
    top
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
        let power = |a: &PointAnalysis<'_>, bmep: f64| a.power_kw(a.torque_nm(bmep));
        let top_power = top_index(self.curve, |a| power(a, a.likely.used.bmep_bar()));
        let top_torque = top_index(self.curve, |a| a.likely.used.bmep_bar());
        let best_power = self.curve.iter().map(|a| power(a, a.likely.best.bmep_bar())).fold(0.0, f64::max);
        let tightest =
            top_index(self.curve, |a| a.likely.requirement(&a.likely.best) - a.likely.octane_index);
        let peak = &self.curve[top_power];
        let likely_loss = self.job.build.driveline.loss_band().likely;
        let torque = peak.torque_nm(peak.likely.used.bmep_bar());
        let wheel_share = Driveline::wheel_torque_nm(torque, likely_loss, self.peak_power_torque) / torque;
        let ladder = loss_ladder(&peak.likely.point, &peak.likely.used, wheel_share).map_err(|source| {
            EstimateError::Gas {
                fuel: self.fuel.pump.name.clone(),
                lambda: self.fuel.likely().lambda,
                source,
            }
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
            start_peak_power: self.start_peak(&start),
            peak_torque: self.peak(&outcomes, top_torque, |_, torque| torque),
            tightest_index: tightest,
            peak_power_lost_frac: 1.0 - power(peak, peak.likely.used.bmep_bar()) / best_power,
            ladder,
            levers: levers(self.job, peak.likely.point.setting(), self.fuel, &self.curve[tightest])?,
            drivers: drivers(self.samples, &wheel_peaks, &margins),
            trace: trace(&self.curve[top_torque]),
            trace_speed_rpm: self.curve[top_torque].likely.point.speed_rpm(),
            sample_peak_wheel_kw: wheel_peaks,
        })
    }

    /// Highest of a quantity over speed in one sample.
    fn highest(&self, row: &[Outcome], quantity: impl Fn(&PointAnalysis<'_>, &Outcome) -> f64) -> f64 {
        self.curve.iter().zip(row).map(|(a, o)| quantity(a, o)).fold(0.0, f64::max)
    }

    /// Band of the samples' own peaks, of a quantity made from torque.
    fn peak(&self, rows: &[Vec<Outcome>], top: usize, of: impl Fn(&PointAnalysis<'_>, f64) -> f64) -> Peak {
        Peak {
            speed_rpm: self.curve[top].likely.point.speed_rpm(),
            crank: band(rows.iter().map(|row| self.highest(row, |a, o| of(a, o.crank_torque_nm)))),
            wheel: band(rows.iter().map(|row| self.highest(row, |a, o| of(a, o.wheel_torque_nm)))),
        }
    }

    /// What is said of every speed.
    fn points(&self, start: &StartCurve<'_>, rows: &[Vec<Outcome>]) -> Vec<CurvePoint> {
        let pairs = self.curve.iter().zip(&start.points).enumerate();
        pairs.map(|(i, (a, start))| self.curve_point((i, a, start.as_ref()), rows)).collect()
    }

    /// Band of the samples' own power peaks at the timing to start from.
    fn start_peak(&self, start: &StartCurve<'_>) -> Option<Peak> {
        let samples = start.powers_kw()?;
        let likely: Vec<f64> = (0..self.curve.len())
            .map(|i| band(samples.iter().map(|sample| sample.wheel_power_kw[i])).likely)
            .collect();
        let top = |powers: &Vec<f64>| powers.iter().copied().fold(0.0, f64::max);
        Some(Peak {
            speed_rpm: self.curve[top_index(&likely, |power| *power)].likely.point.speed_rpm(),
            crank: band(samples.iter().map(|sample| top(&sample.crank_power_kw))),
            wheel: band(samples.iter().map(|sample| top(&sample.wheel_power_kw))),
        })
    }

    fn curve_point(
        &self,
        (i, a, start): (usize, &PointAnalysis<'_>, Option<&Start>),
        rows: &[Vec<Outcome>],
    ) -> CurvePoint {
        let geometry = &self.job.build.geometry;
        let (speed_rpm, used, trapped) =
            (a.likely.point.speed_rpm(), &a.likely.used, &a.likely.point.trapped);
        let (air, fuel) = (a.likely.point.air_flow_kg_per_s(), a.likely.point.fuel_flow_kg_per_s());
        let power_kw = a.power_kw(a.torque_nm(used.bmep_bar()));
        let fuel_power_kw = fuel * self.fuel.likely().blend.lhv_j_per_kg / 1000.0;
        let requirement = a.likely.requirement(used);
        let crank = band(rows.iter().map(|row| row[i].crank_torque_nm));
        let wheel = band(rows.iter().map(|row| row[i].wheel_torque_nm));
        let to_power = |torque: Band| torque.times(a.power_kw(1.0));
        let knocking = rows.iter().filter(|row| row[i].margin < 0.0).count();
        CurvePoint {
            speed_rpm,
            volumetric_efficiency: trapped.volumetric_efficiency,
            lambda: self.fuel.likely().lambda,
            spark_deg_btdc: used.spark_deg_btdc,
            best_torque_spark_deg_btdc: a.likely.best.spark_deg_btdc,
            knock_limited_spark_deg_btdc: a.likely.knock_limited_spark,
            cautious_spark_deg_btdc: start.map(|s| s.spark_deg_btdc),
            knock_limited: used.spark_deg_btdc < a.likely.best.spark_deg_btdc,
            ca50_deg_atdc: used.ca50_deg_atdc,
            knock_integral: a.integral(),
            octane_index: a.likely.octane_index,
            octane_requirement: requirement,
            octane_margin: a.likely.octane_index - requirement,
            octane_margin_band: band(rows.iter().map(|row| row[i].margin)),
            best_torque_octane_margin: a.likely.octane_index - a.likely.requirement(&a.likely.best),
            knock_margin_index: a.likely.octane_index / requirement,
            spark_margin_deg: a.spark_margin_deg,
            knock_probability: knocking as f64 / rows.len() as f64,
            torque_lost_frac: 1.0 - used.bmep_bar() / a.likely.best.bmep_bar(),
            imep_net_bar: used.imep_net_bar,
            fmep_bar: used.fmep_bar,
            pmep_bar: used.pmep_bar,
            bmep_bar: used.bmep_bar(),
            peak_pressure_bar: used.peak_pressure_bar,
            peak_pressure_deg_atdc: used.peak_pressure_deg_atdc,
            efficiency_brake: power_kw / fuel_power_kw,
            heat_loss_frac: used.heat_loss_frac,
            residual_frac: trapped.residual_frac,
            exhaust_temperature_k: used.exhaust_temperature_k,
            bsfc_g_per_kwh: 3.6e6 * fuel / power_kw,
            air_flow_kg_per_s: air,
            fuel_flow_kg_per_s: fuel,
            mean_piston_speed_m_per_s: geometry.mean_piston_speed_m_per_s(speed_rpm),
            mechanical_efficiency: used.bmep_bar() / used.imep_net_bar,
            crank_torque_nm: crank,
            crank_power_kw: to_power(crank),
            wheel_power_kw: to_power(wheel),
            start_knock_probability: start.map(|s| s.knock_probability),
            start_octane_margin_band: start.map(Start::octane_margin),
            start_crank_torque_nm: start.map(Start::crank_torque_nm),
            start_wheel_power_kw: start.map(|s| s.wheel_power_kw(a)),
        }
    }
}

/// The closed cycle at the spark used.
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
