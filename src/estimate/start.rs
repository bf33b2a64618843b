//! The timing to start from: the most advanced one, no further than the likely limit, at which few samples knock.

use super::analysis::PointAnalysis;
use super::band::{Band, band};
use super::interpolate::NearestCubic;
use super::job::Job;
use super::response::NODES;
use super::sampling::SampleOutcome;

/// Share of samples that may knock at the timing to start from [-]: it is knock-free in 9 cases of 10.
pub const START_KNOCK_SHARE: f64 = 0.10;
/// How closely the timing is searched [deg].
const TOLERANCE_DEG: f64 = 0.01;

/// Share of samples that knock at a timing of the response grid [-].
///
/// # Arguments
/// - `margins`: octane margins of each sample at the timings of the grid [-]
pub fn knock_share(sparks_deg_btdc: &[f64; NODES], margins: &[[f64; NODES]], spark_deg_btdc: f64) -> f64 {
    let cubic = NearestCubic::new(sparks_deg_btdc, spark_deg_btdc);
    share_knocking(margins.iter().map(|sample| cubic.of(|node| sample[node])))
}

/// Share of octane margins that are below 0 [-].
pub(super) fn share_knocking(margins: impl ExactSizeIterator<Item = f64>) -> f64 {
    let samples = margins.len();
    margins.filter(|margin| *margin < 0.0).count() as f64 / samples as f64
}

/// Most advanced timing, at most the one used, at which no more than a share of the samples knocks
/// [deg before top dead centre]; none when even the most retarded timing of the range, or of the grid, is not so.
///
/// # Arguments
/// - `share`: of the samples, 0 to 1 [-]
/// - `margins`: octane margins of each sample at the timings of the grid [-]
pub fn knock_free_spark(
    job: &Job,
    analysis: &PointAnalysis<'_>,
    share: f64,
    margins: &[[f64; NODES]],
) -> Option<f64> {
    let sparks = &analysis.response.sparks_deg_btdc;
    let free = |spark: f64| knock_share(sparks, margins, spark) <= share;
    let mut knocks = analysis.likely.used.spark_deg_btdc;
    if free(knocks) {
        return Some(knocks);
    }
    let mut found = job.spark_range.latest_deg_btdc.max(sparks[NODES - 1]);
    if found >= knocks || !free(found) {
        return None;
    }
    while knocks - found > TOLERANCE_DEG {
        let middle = 0.5 * (found + knocks);
        if free(middle) { found = middle } else { knocks = middle }
    }
    Some(found)
}

/// The samples of one speed, all run at the timing to start from, as a fixed map would run them.
#[derive(Clone, Debug)]
pub struct StartPoint {
    /// The timing [deg before top dead centre].
    pub spark_deg_btdc: f64,
    /// Share of samples that knock there [-].
    pub knock_probability: f64,
    /// Octane margin of each sample [-].
    margins: Vec<f64>,
    /// Torque at the flywheel of each sample [N m].
    crank_torque_nm: Vec<f64>,
    /// Torque at the wheels of each sample, referred to crank speed [N m].
    wheel_torque_nm: Vec<f64>,
}

impl StartPoint {
    /// Runs the samples of one speed at its timing to start from; none when there is no such timing.
    ///
    /// # Arguments
    /// - `outcomes`: of every sample at this speed, in their order
    pub fn new<'o>(
        job: &Job,
        analysis: &PointAnalysis<'_>,
        outcomes: impl Iterator<Item = &'o SampleOutcome> + Clone,
    ) -> Option<Self> {
        let margins: Vec<[f64; NODES]> = outcomes.clone().map(|o| o.node_margins).collect();
        let spark_deg_btdc = knock_free_spark(job, analysis, START_KNOCK_SHARE, &margins)?;
        Some(Self::at(analysis, outcomes, spark_deg_btdc))
    }

    /// Runs the samples of one speed at a timing [deg before top dead centre], at the latest of the grid where it is later.
    ///
    /// # Arguments
    /// - `outcomes`: of every sample at this speed, in their order
    pub fn at<'o>(
        analysis: &PointAnalysis<'_>,
        outcomes: impl Iterator<Item = &'o SampleOutcome> + Clone,
        spark_deg_btdc: f64,
    ) -> Self {
        let sparks = &analysis.response.sparks_deg_btdc;
        let spark_deg_btdc = spark_deg_btdc.max(sparks[NODES - 1]);
        let cubic = NearestCubic::new(sparks, spark_deg_btdc);
        let margins: Vec<f64> = outcomes.clone().map(|o| cubic.of(|i| o.node_margins[i])).collect();
        Self {
            spark_deg_btdc,
            knock_probability: share_knocking(margins.iter().copied()),
            margins,
            crank_torque_nm: outcomes.clone().map(|o| cubic.of(|i| o.node_crank_torque_nm[i])).collect(),
            wheel_torque_nm: outcomes.map(|o| cubic.of(|i| o.node_wheel_torque_nm[i])).collect(),
        }
    }

    /// Torque at the wheels of each sample, referred to crank speed [N m].
    pub fn wheel_torque_nm(&self) -> &[f64] {
        &self.wheel_torque_nm
    }

    /// Torque at the flywheel of each sample [N m].
    pub(super) fn each_crank_torque_nm(&self) -> &[f64] {
        &self.crank_torque_nm
    }

    /// Octane margin over the samples [-]; about 0 at its low end wherever knock sets the timing.
    pub fn octane_margin(&self) -> Band {
        band(self.margins.iter().copied())
    }

    /// Torque at the flywheel over the samples [N m].
    pub fn crank_torque_nm(&self) -> Band {
        band(self.crank_torque_nm.iter().copied())
    }

    /// Power at the wheels over the samples [kW].
    pub fn wheel_power_kw(&self, analysis: &PointAnalysis<'_>) -> Band {
        band(self.wheel_torque_nm.iter().map(|nm| analysis.power_kw(*nm)))
    }
}

/// The timing to start from at every speed of a fuel.
#[derive(Clone, Debug)]
pub struct StartCurve<'a> {
    /// The points, by rising speed.
    pub analyses: &'a [PointAnalysis<'a>],
    /// By rising speed; none where no timing of the range is knock-free in 9 cases of 10.
    pub points: Vec<Option<StartPoint>>,
}

impl<'a> StartCurve<'a> {
    /// Runs the samples at the timing to start from at every speed.
    ///
    /// # Arguments
    /// - `rows`: outcomes of each sample, one per speed
    pub fn new(job: &Job, analyses: &'a [PointAnalysis<'a>], rows: &[Vec<SampleOutcome>]) -> Self {
        let at = |(i, a): (usize, &PointAnalysis<'_>)| {
            StartPoint::new(job, a, rows.iter().map(move |row| &row[i]))
        };
        Self { analyses, points: analyses.iter().enumerate().map(at).collect() }
    }

    /// Share of samples that knock at one speed or more [-]; none when some speed has no timing to start from.
    pub fn knock_somewhere(&self) -> Option<f64> {
        let points = self.everywhere()?;
        let samples = points.first().map_or(0, |(_, start)| start.margins.len());
        let least = |s: usize| points.iter().map(|(_, start)| start.margins[s]).fold(f64::INFINITY, f64::min);
        Some(share_knocking((0..samples).map(least)))
    }

    /// Every point with its timing to start from; none when some speed has none.
    pub(super) fn everywhere(&self) -> Option<Vec<(&'a PointAnalysis<'a>, &StartPoint)>> {
        self.analyses.iter().zip(&self.points).map(|(a, start)| Some((a, start.as_ref()?))).collect()
    }
}
