//! Scatter of the rows: taken away by smoothing, or left in; and the difference between pulls.

use super::{Outcome, mean, median, skip};
use crate::dyno::check::{Check, CheckName, Interval, Measure};
use crate::dyno::evidence::{Evidence, top};
use crate::dyno::log::Pull;

/// Rows and spacing from which scatter can be told from the curve itself [-, rpm].
const LEAST_ROWS: usize = 20;
const MOST_SPACING_RPM: f64 = 120.0;
/// Row-to-row scatter that a dyno leaves in its rows, lowest [%] (common practice, no source: 0.2 to 2 % as
/// measured).
const LEAST_SCATTER_PERCENT: f64 = 0.05;
/// A row off its neighbours by as much is a spike, and by as much is no torque of an engine [%]
/// (common practice, no source).
const SPIKE_PERCENT: f64 = 4.0;
const WILD_PERCENT: f64 = 15.0;
/// Difference between pulls of a warm engine, and the most of one engine on one day [%]
/// (common practice, no source).
const REPEATS_PERCENT: f64 = 2.5;
const REPEATS_CREDIBLE_PERCENT: f64 = 8.0;
/// Pulls that differ by less are copies of one pull [%] (common practice, no source).
const COPY_PERCENT: f64 = 0.05;

/// A row off the curve through its neighbours.
struct Residual {
    line: u64,
    speed_rpm: f64,
    /// Scaled so that independent scatter keeps its size [% of torque].
    percent: f64,
}

/// Each row against the cubic through the two rows before it and the two after it.
fn residuals(pull: &Pull) -> Vec<Residual> {
    let mut points = pull.points.clone();
    points.sort_by(|a, b| a.speed_rpm.total_cmp(&b.speed_rpm));
    points.dedup_by(|a, b| a.speed_rpm == b.speed_rpm);
    points
        .windows(5)
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
fn is_dense(pull: &Pull) -> bool {
    let (low, high) = pull.speed_range_rpm();
    let rows = pull.points.len();
    rows >= LEAST_ROWS && (high - low) / (rows as f64) <= MOST_SPACING_RPM
}

fn dense<'a>(e: &'a Evidence<'_>) -> Vec<&'a Pull> {
    e.log.pulls.iter().filter(|pull| is_dense(pull)).collect()
}

const TOO_FEW: &str =
    "fewer than 20 rows, or more than 120 rpm between them: scatter cannot be told from the curve";

/// Least scatter of the pulls, as a standard deviation by the median.
pub(super) fn smoothing(e: &Evidence<'_>) -> Outcome {
    /// Standard deviation over median of absolute deviations, normal distribution.
    const BY_MEDIAN: f64 = 1.4826;
    let name = CheckName::Smoothing;
    let scatter = |pull: &&Pull| {
        median(residuals(pull).iter().map(|r| r.percent.abs()).collect()).map(|m| BY_MEDIAN * m)
    };
    let found: Vec<f64> = dense(e).iter().filter_map(scatter).collect();
    let Some(value) = found.iter().copied().min_by(f64::total_cmp) else { return skip(name, TOO_FEW) };
    let measure = Measure {
        what: "scatter of a row about its neighbours, least of the pulls",
        value,
        unit: "%",
        decimals: 3,
        consistent: Interval::from(LEAST_SCATTER_PERCENT),
        credible: Interval::ALL,
        source: "0.2 to 2 % as measured, 0.05 % after usual smoothing (common practice, no source)",
    };
    let reason = if measure.consistent.holds(value) {
        format!("Rows scatter by {value:.2} % about their neighbours, as a measurement does.")
    } else {
        format!(
            "Rows scatter by {value:.3} % about their neighbours, far less than a measurement does: the curve is smoothed so hard that dips and peaks are gone and pulls cannot be told apart."
        )
    };
    let look = "Export with the least smoothing; peaks of the smoothed curve may be lower and wider than the true ones.";
    Ok(Check::new(name, measure, reason, look))
}

/// The row that stands farthest off its neighbours.
pub(super) fn spikes(e: &Evidence<'_>) -> Outcome {
    let name = CheckName::Spikes;
    let all: Vec<Residual> = dense(e).iter().flat_map(|pull| residuals(pull)).collect();
    let sizes: Vec<f64> = all.iter().map(|r| r.percent.abs()).collect();
    let Some(worst) = all.get(top(&sizes)) else { return skip(name, TOO_FEW) };
    let beyond = sizes.iter().filter(|s| **s > SPIKE_PERCENT).count();
    let measure = Measure {
        what: "torque of the row farthest off its neighbours",
        value: worst.percent.abs(),
        unit: "%",
        decimals: 1,
        consistent: Interval::up_to(SPIKE_PERCENT),
        credible: Interval::up_to(WILD_PERCENT),
        source: "4 % and 15 % of torque (common practice, no source)",
    };
    let reason = if beyond == 0 {
        format!("No row is more than {:.1} % off its neighbours.", worst.percent.abs())
    } else {
        format!(
            "{beyond} of {} rows are more than {SPIKE_PERCENT:.0} % off their neighbours, the worst in line {} at {:.0} rpm by {:.1} %.",
            all.len(),
            worst.line,
            worst.speed_rpm,
            worst.percent.abs()
        )
    };
    let look = "Wheel slip, misfire, speed pick-up; read no peak off a spike.";
    Ok(Check::new(name, measure, reason, look))
}

/// Mean difference between the highest and the lowest pull.
pub(super) fn repeatability(e: &Evidence<'_>) -> Outcome {
    let name = CheckName::Repeatability;
    if e.log.pulls.len() < 2 {
        return skip(name, "there is one pull");
    }
    let Some(spread) = mean(e.points.iter().map(|p| p.pull_spread_frac)) else {
        return skip(name, "no speeds are compared");
    };
    let value = 100.0 * spread;
    let measure = Measure {
        what: "highest less lowest pull, mean over speed",
        value,
        unit: "%",
        decimals: 2,
        consistent: Interval::between(COPY_PERCENT, REPEATS_PERCENT),
        credible: Interval::up_to(REPEATS_CREDIBLE_PERCENT),
        source: "1 to 2.5 % between pulls of a warm engine (common practice, no source)",
    };
    let reason = if value < COPY_PERCENT {
        format!("The {} pulls differ by {value:.3} %: they are copies of one pull.", e.log.pulls.len())
    } else {
        format!("The {} pulls differ by {value:.1} % in the mean.", e.log.pulls.len())
    };
    let look = "Oil and inlet temperature before each pull, tyre slip, spark pulled back by heat; average only pulls that agree.";
    Ok(Check::new(name, measure, reason, look))
}
