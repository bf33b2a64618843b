//! Scatter of the rows: taken away by smoothing, or left in; and the difference between pulls.

use super::{CheckOutcome, measure};
use crate::dyno::check::{Interval, Lack};
use crate::dyno::evidence::{Evidence, mean};
use crate::dyno::finding::{Finding, RowFinding};
use crate::dyno::loess::median;
use crate::dyno::log::{Pull, PullPoint};

/// Rows and spacing from which scatter can be told from the curve itself [-, rpm].
const LEAST_ROWS: usize = 20;
const MOST_SPACING_RPM: f64 = 120.0;
/// Row-to-row scatter that a dyno leaves in its rows, lowest [%] (common practice, no source: 0.2 to 2 % as
/// measured).
const LEAST_SCATTER_PERCENT: f64 = 0.05;
/// A row off its neighbours by as much is a spike, and by as much is no torque of an engine [%]
/// (common practice, no source).
pub(crate) const SPIKE_PERCENT: f64 = 4.0;
const WILD_PERCENT: f64 = 15.0;
/// Standard deviations of the rows beyond which a row is a spike [-]: 1 of 20 000 by chance, where pulls have some hundred rows.
const OF_SCATTER: f64 = 4.0;
/// Rows as near to a dip belong to it [rpm].
const EDGE_RPM: f64 = 60.0;
/// Difference between pulls of a warm engine, and the most of one engine on one day [%]
/// (common practice, no source).
const REPEATS_PERCENT: f64 = 2.5;
const REPEATS_CREDIBLE_PERCENT: f64 = 8.0;
/// Fall of torque from pull to pull that is no heat soak: about two standard deviations of three pulls that repeat within 0.6 %
/// [%] (common practice, no source).
const FALLS_PERCENT: f64 = 0.8;
/// Pulls that differ by less are copies of one pull [%] (common practice, no source).
pub(crate) const COPY_PERCENT: f64 = 0.05;

/// A row off the curve through its neighbours.
struct Residual {
    line: u64,
    speed_rpm: f64,
    /// Scaled so that independent scatter keeps its size [% of torque].
    percent: f64,
}

/// Each row against the cubic through the two rows before it and the two after it.
fn residuals(e: &Evidence<'_>, pull: &Pull) -> Vec<Residual> {
    // The edge of a dip is no spike.
    let in_dip = |p: &PullPoint| e.bumps().iter().any(|bump| bump.holds(p.speed_rpm, EDGE_RPM));
    let mut points = pull.points.clone();
    points.sort_by(|a, b| a.speed_rpm.total_cmp(&b.speed_rpm));
    points.dedup_by(|a, b| a.speed_rpm == b.speed_rpm);
    points
        .windows(5)
        .filter(|w| !w.iter().any(in_dip))
        .filter_map(|w| {
            let [a, b, at, c, d] = w else { return None };
            let near = [a, b, c, d];
            // Lagrange's weight of a neighbour at the speed of the row.
            let weight = |i: usize| {
                let others = near.iter().enumerate().filter(|(j, _)| *j != i);
                let own = near[i].speed_rpm;
                others.map(|(_, o)| (at.speed_rpm - o.speed_rpm) / (own - o.speed_rpm)).product::<f64>()
            };
            let weights = [0, 1, 2, 3].map(weight);
            let through: f64 = weights.iter().zip(near).map(|(w, p)| w * p.torque_nm).sum();
            let size = (1.0 + weights.iter().map(|w| w * w).sum::<f64>()).sqrt();
            let percent = 100.0 * (at.torque_nm - through) / size / through;
            percent.is_finite().then_some(Residual { line: at.line, speed_rpm: at.speed_rpm, percent })
        })
        .collect()
}

/// Whether rows are many and close enough to show scatter.
pub(super) fn is_dense(pull: &Pull) -> bool {
    let (low, high) = pull.speed_range_rpm();
    let rows = pull.points.len();
    rows >= LEAST_ROWS && (high - low) / (rows as f64) <= MOST_SPACING_RPM
}

/// The residuals of every pull that is dense enough; [`Lack::Rows`] when none is.
fn residuals_of_dense(e: &Evidence<'_>) -> Result<Vec<Vec<Residual>>, Lack> {
    let dense = e.log.pulls.iter().filter(|pull| is_dense(pull));
    let found: Vec<_> =
        dense.map(|pull| residuals(e, pull)).filter(|residuals| !residuals.is_empty()).collect();
    if found.is_empty() { Err(Lack::Rows) } else { Ok(found) }
}

/// Scatter of rows as a standard deviation, by the median [%].
fn scatter_percent(rows: &[Residual]) -> Option<f64> {
    /// Standard deviation over median of absolute deviations, normal distribution.
    const BY_MEDIAN: f64 = 1.4826;
    median(rows.iter().map(|r| BY_MEDIAN * r.percent.abs()).collect())
}

/// Least scatter of the pulls, as a standard deviation by the median [%].
pub(super) fn smoothing(e: &Evidence<'_>) -> CheckOutcome {
    let pulls = residuals_of_dense(e)?;
    let value = pulls.iter().filter_map(|rows| scatter_percent(rows)).fold(f64::INFINITY, f64::min);
    measure(value, Interval::from(LEAST_SCATTER_PERCENT), Interval::ALL, Finding::Rows(RowFinding::Scatter))
}

/// The row that stands farthest off its neighbours [%].
pub(super) fn spikes(e: &Evidence<'_>) -> CheckOutcome {
    let all: Vec<Residual> = residuals_of_dense(e)?.into_iter().flatten().collect();
    // A pull that scatters much has no spike at 4 %.
    let most = SPIKE_PERCENT.max(OF_SCATTER * scatter_percent(&all).unwrap_or_default());
    let beyond = all.iter().filter(|r| r.percent.abs() > most).count();
    // The first of equals.
    let worst = all.iter().rev().max_by(|a, b| a.percent.abs().total_cmp(&b.percent.abs()));
    let Residual { line, speed_rpm, percent } = *worst.ok_or(Lack::Rows)?;
    let finding = Finding::Rows(RowFinding::Spikes { beyond, rows: all.len(), line, speed_rpm });
    measure(percent.abs(), Interval::up_to(most), Interval::up_to(WILD_PERCENT.max(most)), finding)
}

/// Mean difference between the highest and the lowest pull [%].
pub(super) fn repeatability(e: &Evidence<'_>) -> CheckOutcome {
    let pulls = e.log.pulls.len();
    if pulls < 2 {
        return Err(Lack::SecondPull);
    }
    let spread = mean(e.points.iter().map(|p| p.pull_spread_frac)).ok_or(Lack::FiniteNumber)?;
    let consistent = Interval::between(COPY_PERCENT, REPEATS_PERCENT);
    let credible = Interval::up_to(REPEATS_CREDIBLE_PERCENT);
    measure(100.0 * spread, consistent, credible, Finding::Rows(RowFinding::Repeat { pulls }))
}

/// Mean fall of torque from pull to pull where each is lower than the one before, else 0 [%].
pub(super) fn order(e: &Evidence<'_>) -> CheckOutcome {
    let pulls = e.log.pulls.len();
    if pulls < 3 {
        return Err(Lack::ThirdPull);
    }
    let ln_torque = |pull: usize| {
        let rows = e.points.iter().filter_map(|p| e.pull_torque_at(pull, p.speed_rpm));
        mean(rows.map(f64::ln)).ok_or(Lack::FiniteNumber)
    };
    let levels: Vec<f64> = (0..pulls).map(ln_torque).collect::<Result<_, _>>()?;
    let falls = levels.windows(2).all(|pair| pair[1] < pair[0]);
    let whole = levels[0] - levels[pulls - 1];
    let value = if falls { 100.0 * whole / (pulls - 1) as f64 } else { 0.0 };
    let air_k = |pull: &Pull| mean(pull.points.iter().filter_map(|p| p.air_temperature_k));
    let ends = e.log.pulls.last().zip(e.log.pulls.first());
    let air_rise_k = ends.and_then(|(last, first)| Some(air_k(last)? - air_k(first)?));
    let off_first_percent = levels.iter().map(|level| 100.0 * (level - levels[0]).exp_m1()).collect();
    let finding = Finding::Rows(RowFinding::Order { off_first_percent, air_rise_k });
    measure(value, Interval::up_to(FALLS_PERCENT), Interval::ALL, finding)
}
