//! The curves of a setting, quick or with bands, ready for a page.

use super::base::Base;
use super::control::Control;
use super::refusal::Refusal;
use super::setting::Setting;
use crate::estimate::likely_curve::{LikelyCurve, likely_curve};
use crate::estimate::tuned::Tuned;
use crate::estimate::{Band, CurvePoint, Estimate, FuelChoice, Job, Notice, estimate};
use crate::units::k_to_celsius;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// A number with its 10-90 % band; the band is null while only the likely case is known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct LiveBand {
    /// 10th percentile.
    pub low: Option<f64>,
    /// Likely case, or the 50th percentile where there is a band.
    pub likely: f64,
    /// 90th percentile.
    pub high: Option<f64>,
}

impl LiveBand {
    fn alone(likely: f64) -> Self {
        Self { low: None, likely, high: None }
    }
}

impl From<Band> for LiveBand {
    fn from(band: Band) -> Self {
        Self { low: Some(band.low), likely: band.likely, high: Some(band.high) }
    }
}

/// One engine speed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct LivePoint {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Volumetric efficiency on dry air at ambient density, on this fuel [-].
    pub volumetric_efficiency: f64,
    /// Timing to start from, knock-free in 9 cases of 10 [deg before top dead centre]; null without samples, or where no
    /// timing in range is so.
    pub start_spark_deg_btdc: Option<f64>,
    /// Timing at the likely limit [deg before top dead centre].
    pub spark_deg_btdc: f64,
    /// MBT timing [deg before top dead centre].
    pub best_torque_spark_deg_btdc: f64,
    /// Whether a timing in range keeps the safety margin.
    pub keeps_reserve: bool,
    /// Octane margin at the timing used; its band is that of the margin, not about the likely case [-].
    pub octane_margin: LiveBand,
    /// Octane margin at MBT timing [-].
    pub best_torque_octane_margin: f64,
    /// Torque lost to retard, as a fraction of that at MBT timing [-].
    pub torque_lost_frac: f64,
    /// Share of samples that knock at the likely limit [-]; null without samples.
    pub knock_probability: Option<f64>,
    /// Share of samples that knock at the timing to start from [-]; null without such a timing.
    pub start_knock_probability: Option<f64>,
    /// Octane margin at the timing to start from [-]; null without such a timing.
    pub start_octane_margin: Option<LiveBand>,
    /// Torque at the flywheel at the likely limit [N m].
    pub crank_torque_nm: LiveBand,
    /// Power at the wheels at the likely limit [kW].
    pub wheel_power_kw: LiveBand,
    /// Torque at the flywheel at the timing to start from [N m]; null without such a timing.
    pub start_crank_torque_nm: Option<LiveBand>,
    /// Power at the wheels at the timing to start from [kW]; null without such a timing.
    pub start_wheel_power_kw: Option<LiveBand>,
}

/// The top of a curve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LivePeak {
    /// Rpm of the likely peak [rpm].
    pub speed_rpm: f64,
    /// Its band: kW at the wheels for power, N m at the flywheel for torque.
    pub of: LiveBand,
}

/// The least of something over rpm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Tightest {
    /// Where [rpm].
    pub speed_rpm: f64,
    /// Octane margin there [-].
    pub octane_margin: f64,
}

/// The most of something over rpm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Worst {
    /// Where [rpm].
    pub speed_rpm: f64,
    /// How much, in the unit of its key.
    pub most: f64,
}

/// Everything shown of one setting.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Curves {
    /// Whether the numbers are those of `endgas estimate`, with bands; else the likely case alone.
    pub sampled: bool,
    /// Name or recipe of the fuel.
    pub fuel: String,
    /// Ethanol content: lowest, likely and highest by volume [-].
    pub ethanol_vol_frac: LiveBand,
    /// Value of every control, moved or not, in the unit of its key.
    pub values: BTreeMap<&'static str, f64>,
    /// Points by rising rpm.
    pub curve: Vec<LivePoint>,
    /// Peak wheel power at the likely limit [kW].
    pub peak_power: LivePeak,
    /// Peak wheel power at the timing to start from [kW]; null without samples, or where some rpm has no such timing.
    pub start_peak_power: Option<LivePeak>,
    /// Most retard of the timing to start from, from MBT timing [deg]; null where `start_peak_power` is.
    pub start_retard_deg: Option<Worst>,
    /// Peak crank torque at the likely limit [N m].
    pub peak_torque: LivePeak,
    /// Worst octane margin at MBT timing.
    pub tightest_at_best_torque: Tightest,
    /// Worst octane margin at the likely limit.
    pub tightest_as_used: Tightest,
    /// Most retard of the likely limit from MBT timing [deg].
    pub spark_held_back_deg: Worst,
    /// Most torque lost to retard, as a fraction [-].
    pub torque_given_up_frac: Worst,
    /// Peak power lost to retard, as a fraction [-].
    pub peak_power_given_up_frac: f64,
    /// What should be known about this result, with bands only.
    pub notices: Vec<Notice>,
    /// Whether a limit of the scenario is not met, or no timing keeps the safety margin somewhere.
    pub limit_missed: bool,
}

impl Base {
    /// The likely case of a setting, in milliseconds: what is shown while a control moves.
    ///
    /// # Errors
    /// [`Refusal`] when the setting is not allowed or does not run.
    pub fn likely(&self, setting: &Setting) -> Result<Curves, Refusal> {
        let job = self.job(setting)?;
        let choice = job.fuels.first().ok_or_else(|| Refusal::whole("there is no fuel"))?;
        let fuel = choice.in_use(&job.weather)?;
        let curve = likely_curve(&job, (&choice.fuel.name, &fuel))?;
        let points = curve.points.iter().map(|point| LivePoint::likely(&curve, point)).collect();
        Curves::new(self, setting, &job, points, curve.peak_power_lost_frac())
    }

    /// The whole estimate of a setting, with bands: what `endgas estimate` says of the saved scenario.
    ///
    /// # Errors
    /// [`Refusal`] when the setting is not allowed or does not run.
    pub fn sampled(&self, setting: &Setting) -> Result<Curves, Refusal> {
        let job = self.job(setting)?;
        let Estimate { fuels, notices, limit_missed, .. } = estimate(&job)?;
        let fuel = fuels.first().ok_or_else(|| Refusal::whole("there is no fuel"))?;
        let points = fuel.curve.iter().map(LivePoint::sampled).collect();
        let mut curves = Curves::new(self, setting, &job, points, fuel.peak_power_lost_frac)?;
        curves.sampled = true;
        curves.peak_power =
            LivePeak { speed_rpm: fuel.peak_power.speed_rpm, of: fuel.peak_power.wheel.into() };
        curves.peak_torque =
            LivePeak { speed_rpm: fuel.peak_torque.speed_rpm, of: fuel.peak_torque.crank.into() };
        curves.start_peak_power =
            fuel.start_peak_power.map(|peak| LivePeak { speed_rpm: peak.speed_rpm, of: peak.wheel.into() });
        curves.start_retard_deg = fuel.start_peak_power.and_then(|_| start_retard_deg(&curves.curve));
        (curves.notices, curves.limit_missed) = (notices, limit_missed);
        Ok(curves)
    }

    /// Value of every control as a job has it.
    fn values(&self, setting: &Setting, job: &Job) -> BTreeMap<&'static str, f64> {
        let effective = self.effective(setting);
        let value = |control: Control| match control {
            Control::CompressionRatio => job.build.geometry.compression_ratio.get(),
            Control::Ethanol => job.fuels.first().map_or(0.0, |f| 100.0 * f.fuel.ethanol.likely),
            Control::Lambda => job.fuels.first().map_or(1.0, FuelChoice::lambda_run),
            Control::Reserve => job.reserve_octane,
            Control::AirTemperature => k_to_celsius(job.weather.temperature_k),
            Control::Pressure => job.weather.pressure_pa / 1000.0,
            Control::Humidity => 100.0 * job.weather.relative_humidity,
            Control::TopSpeed => job.speeds_rpm.last().copied().unwrap_or_default(),
            Control::Filling => effective.get(Control::Filling).unwrap_or_default(),
            Control::Loss => 100.0 * job.build.driveline.loss_band().likely,
        };
        // A millionth of a unit is rounding of the conversion there and back.
        Control::ALL.into_iter().map(|c| (c.key(), (value(c) * 1.0e6).round() / 1.0e6)).collect()
    }
}

impl Curves {
    /// What follows from the points.
    fn new(
        base: &Base,
        setting: &Setting,
        job: &Job,
        curve: Vec<LivePoint>,
        peak_power_given_up_frac: f64,
    ) -> Result<Self, Refusal> {
        let none = || Refusal::whole("there is no speed");
        let top = |of: &dyn Fn(&LivePoint) -> f64| {
            let better = |a: &LivePoint, b: &LivePoint| of(b) > of(a);
            curve.iter().copied().reduce(|a, b| if better(&a, &b) { b } else { a }).ok_or_else(none)
        };
        let power = top(&|p| p.wheel_power_kw.likely)?;
        let torque = top(&|p| p.crank_torque_nm.likely)?;
        let best = top(&|p| -p.best_torque_octane_margin)?;
        let used = top(&|p| -p.octane_margin.likely)?;
        let held_back = |p: &LivePoint| (p.best_torque_spark_deg_btdc - p.spark_deg_btdc).max(0.0);
        let (held, lost) = (top(&held_back)?, top(&|p| p.torque_lost_frac)?);
        let content = job.fuels.first().map(|f| (f.fuel.name.clone(), f.fuel.ethanol));
        let (fuel, ethanol) = content.ok_or_else(|| Refusal::whole("there is no fuel"))?;
        Ok(Self {
            sampled: false,
            fuel,
            ethanol_vol_frac: LiveBand {
                low: Some(ethanol.low),
                likely: ethanol.likely,
                high: Some(ethanol.high),
            },
            values: base.values(setting, job),
            start_peak_power: None,
            start_retard_deg: None,
            peak_power: LivePeak {
                speed_rpm: power.speed_rpm,
                of: LiveBand::alone(power.wheel_power_kw.likely),
            },
            peak_torque: LivePeak {
                speed_rpm: torque.speed_rpm,
                of: LiveBand::alone(torque.crank_torque_nm.likely),
            },
            tightest_at_best_torque: Tightest {
                speed_rpm: best.speed_rpm,
                octane_margin: best.best_torque_octane_margin,
            },
            tightest_as_used: Tightest {
                speed_rpm: used.speed_rpm,
                octane_margin: used.octane_margin.likely,
            },
            spark_held_back_deg: Worst { speed_rpm: held.speed_rpm, most: held_back(&held) },
            torque_given_up_frac: Worst { speed_rpm: lost.speed_rpm, most: lost.torque_lost_frac },
            peak_power_given_up_frac,
            notices: Vec::new(),
            limit_missed: !curve.iter().all(|p| p.keeps_reserve),
            curve,
        })
    }
}

/// Where the timing to start from is most retarded from MBT timing.
fn start_retard_deg(curve: &[LivePoint]) -> Option<Worst> {
    let retards = curve.iter().filter_map(|p| {
        let most = (p.best_torque_spark_deg_btdc - p.start_spark_deg_btdc?).max(0.0);
        Some(Worst { speed_rpm: p.speed_rpm, most })
    });
    retards.max_by(|a, b| a.most.total_cmp(&b.most))
}

impl LivePoint {
    /// A point of a likely curve: what rests on samples is left at none.
    fn likely(curve: &LikelyCurve<'_>, p: &Tuned<'_>) -> Self {
        Self {
            speed_rpm: p.speed_rpm(),
            volumetric_efficiency: p.point.trapped.volumetric_efficiency,
            spark_deg_btdc: p.used.spark_deg_btdc,
            best_torque_spark_deg_btdc: p.mbt.spark_deg_btdc,
            keeps_reserve: p.keeps_reserve(),
            octane_margin: LiveBand::alone(p.octane_margin(&p.used)),
            best_torque_octane_margin: p.mbt_octane_margin(),
            torque_lost_frac: p.torque_lost_frac(),
            crank_torque_nm: LiveBand::alone(p.crank_torque_nm()),
            wheel_power_kw: LiveBand::alone(curve.wheel_power_kw(p)),
            ..Self::default()
        }
    }

    /// A point of an estimate.
    fn sampled(p: &CurvePoint) -> Self {
        let Band { low, high, .. } = p.octane_margin_band;
        Self {
            speed_rpm: p.speed_rpm,
            volumetric_efficiency: p.volumetric_efficiency,
            start_spark_deg_btdc: p.cautious_spark_deg_btdc,
            spark_deg_btdc: p.spark_deg_btdc,
            best_torque_spark_deg_btdc: p.best_torque_spark_deg_btdc,
            keeps_reserve: p.knock_limited_spark_deg_btdc.is_some(),
            octane_margin: LiveBand { low: Some(low), likely: p.octane_margin, high: Some(high) },
            best_torque_octane_margin: p.best_torque_octane_margin,
            torque_lost_frac: p.torque_lost_frac,
            knock_probability: Some(p.knock_probability),
            start_knock_probability: p.start_knock_probability,
            start_octane_margin: p.start_octane_margin_band.map(LiveBand::from),
            crank_torque_nm: p.crank_torque_nm.into(),
            wheel_power_kw: p.wheel_power_kw.into(),
            start_crank_torque_nm: p.start_crank_torque_nm.map(LiveBand::from),
            start_wheel_power_kw: p.start_wheel_power_kw.map(LiveBand::from),
        }
    }
}
