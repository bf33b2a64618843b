//! Dips and humps of a pull against its own smooth curve.

use super::scatter::is_dense;
use super::{CheckOutcome, measure};
use crate::dyno::bump::{Bump, Signs};
use crate::dyno::causes::rank_local;
use crate::dyno::check::{Interval, Lack};
use crate::dyno::evidence::Evidence;
use crate::dyno::finding::{Finding, RowFinding};
use crate::dyno::knock::knocking;
use crate::dyno::loess::{median, smooth};
use crate::dyno::log::{Log, Pull, PullPoint};
use nalgebra::{DMatrix, DVector};

/// Half width of the window of the smooth curve [rpm]: waves of intake and exhaust are wider than this, dips narrower
/// (common practice, no source).
const HALF_WIDTH_RPM: f64 = 1000.0;
/// Rows closer together are taken as one [rpm], and a dip is looked for in the median of as many as lie in so much [rpm].
const APART_RPM: f64 = 25.0;
const MEDIAN_RPM: f64 = 200.0;
/// Torque off the smooth curve that waves of intake and exhaust make [%] (common practice, no source), and the same in
/// standard deviations of the pull about its own curve.
const DIP_PERCENT: f64 = 4.0;
const OF_SCATTER: f64 = 4.5;
/// Share of the limit at which a dip begins and ends.
const EDGE: f64 = 0.4;
/// Rows on either side of a dip with which it is compared lie as near [rpm].
const BESIDE_RPM: f64 = 400.0;

/// Torque of a row, or of several close together, over rpm.
struct Point {
    speed_rpm: f64,
    ln_torque: f64,
    line: u64,
}

/// The worst dip or hump [%], signed.
pub(super) fn dips(e: &Evidence<'_>) -> CheckOutcome {
    let found = e.scan.as_ref().ok_or(Lack::Rows)?;
    let worst = found.bumps.iter().map(|b| 100.0 * b.off_frac).max_by(|a, b| a.abs().total_cmp(&b.abs()));
    let limit = Interval::about(0.0, found.limit_percent);
    let finding = Finding::Rows(RowFinding::Dips(found.bumps.clone()));
    measure(worst.unwrap_or(found.widest_percent), limit, Interval::ALL, finding)
}

/// What a log shows of dips and humps.
pub(in crate::dyno) struct Scan {
    /// By rising rpm.
    pub(in crate::dyno) bumps: Vec<Bump>,
    /// Least limit of the pulls [%].
    limit_percent: f64,
    /// Farthest off the smooth curve of all pulls, signed [%].
    widest_percent: f64,
}

/// Looks for dips and humps in every pull; none where no pull has rows enough.
///
/// # Arguments
/// - `likely_nm`: torque of the estimate at an rpm, none outside it
pub(in crate::dyno) fn scan(log: &Log, likely_nm: &dyn Fn(f64) -> Option<f64>) -> Option<Scan> {
    let dense: Vec<&Pull> = log.pulls.iter().filter(|pull| is_dense(pull)).collect();
    let mut all = Scan { bumps: Vec::new(), limit_percent: f64::INFINITY, widest_percent: 0.0 };
    for pull in &dense {
        let own = of_pull(pull, likely_nm);
        all.limit_percent = all.limit_percent.min(own.limit_percent);
        if own.widest_percent.abs() > all.widest_percent.abs() {
            all.widest_percent = own.widest_percent;
        }
        own.bumps.into_iter().for_each(|bump| join(&mut all.bumps, bump));
    }
    for bump in &mut all.bumps {
        bump.of_pulls = dense.len();
        bump.causes = rank_local(bump);
    }
    all.bumps.sort_by(|a, b| a.from_rpm.total_cmp(&b.from_rpm));
    (!dense.is_empty()).then_some(all)
}

/// Takes a dip together with that of another pull at the same rpm; the deeper one is told.
fn join(bumps: &mut Vec<Bump>, bump: Bump) {
    let meets = |other: &&mut Bump| {
        other.is_dip() == bump.is_dip() && other.from_rpm <= bump.to_rpm && bump.from_rpm <= other.to_rpm
    };
    let Some(other) = bumps.iter_mut().find(meets) else { return bumps.push(bump) };
    let (from_rpm, to_rpm) = (other.from_rpm.min(bump.from_rpm), other.to_rpm.max(bump.to_rpm));
    let pulls = other.pulls + bump.pulls;
    if bump.off_frac.abs() > other.off_frac.abs() {
        *other = bump;
    }
    (other.from_rpm, other.to_rpm, other.pulls) = (from_rpm, to_rpm, pulls);
}

fn of_pull(pull: &Pull, likely_nm: &dyn Fn(f64) -> Option<f64>) -> Scan {
    let mut points = points(pull);
    let mut bumps = Vec::new();
    // What falls at the top and stays down would pull the end of the smooth curve along.
    if let Some(float) = fall(&points, likely_nm) {
        points.retain(|p| p.speed_rpm < float.from_rpm);
        bumps.push(float);
    }
    let pairs: Vec<(f64, f64)> = points.iter().map(|p| (p.speed_rpm, p.ln_torque)).collect();
    let off: Vec<f64> = pairs.iter().zip(smooth(&pairs, HALF_WIDTH_RPM)).map(|(p, c)| p.1 - c).collect();
    let off = running_median(&points, &off);
    let scatter = 1.4826 * median(off.iter().map(|x| x.abs()).collect()).unwrap_or_default();
    let limit = f64::max(0.01 * DIP_PERCENT, OF_SCATTER * scatter);
    let widest = off.iter().copied().max_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or_default();
    bumps.extend(runs(&off, limit).map(|run| bump(&points, &off, run)));
    for bump in &mut bumps {
        bump.signs = signs(pull, bump);
    }
    Scan { bumps, limit_percent: 100.0 * limit, widest_percent: 100.0 * widest.exp_m1() }
}

/// The rows of a pull by rising rpm, those close together as one.
fn points(pull: &Pull) -> Vec<Point> {
    let mut rows: Vec<&PullPoint> = pull.points.iter().collect();
    rows.sort_by(|a, b| a.speed_rpm.total_cmp(&b.speed_rpm));
    let mut points: Vec<Point> = Vec::new();
    let mut near: Vec<&PullPoint> = Vec::new();
    let mut close = |near: &mut Vec<&PullPoint>| {
        near.sort_by(|a, b| a.torque_nm.total_cmp(&b.torque_nm));
        let Some(middle) = near.get(near.len() / 2) else { return };
        let speed_rpm = near.iter().map(|p| p.speed_rpm).sum::<f64>() / near.len() as f64;
        points.push(Point { speed_rpm, ln_torque: middle.torque_nm.ln(), line: middle.line });
        near.clear();
    };
    for row in rows {
        if near.first().is_some_and(|first| row.speed_rpm - first.speed_rpm >= APART_RPM) {
            close(&mut near);
        }
        near.push(row);
    }
    close(&mut near);
    points
}

/// Median of each value and its neighbours: one row is a spike and no dip.
fn running_median(points: &[Point], values: &[f64]) -> Vec<f64> {
    let range =
        points.last().zip(points.first()).map_or(0.0, |(last, first)| last.speed_rpm - first.speed_rpm);
    let spacing = range / points.len().max(1) as f64;
    let half = ((0.5 * MEDIAN_RPM / spacing).round() as usize).clamp(1, 4);
    let at = |i: usize| {
        let near = &values[i.saturating_sub(half)..(i + half + 1).min(values.len())];
        median(near.to_vec()).unwrap_or_default()
    };
    (0..values.len()).map(at).collect()
}

/// Stretches of values of one sign that reach a limit, out to where they begin and end.
fn runs(values: &[f64], limit: f64) -> impl Iterator<Item = std::ops::Range<usize>> {
    let is_same =
        |a: &f64, b: &f64| (*a > EDGE * limit, *a < -EDGE * limit) == (*b > EDGE * limit, *b < -EDGE * limit);
    let mut from = 0;
    let stretches: Vec<std::ops::Range<usize>> = values
        .chunk_by(is_same)
        .map(|chunk| {
            from += chunk.len();
            from - chunk.len()..from
        })
        .collect();
    stretches.into_iter().filter(move |run| values[run.clone()].iter().any(|x| x.abs() >= limit))
}

fn bump(points: &[Point], off: &[f64], run: std::ops::Range<usize>) -> Bump {
    let deepest = run.clone().max_by(|a, b| off[*a].abs().total_cmp(&off[*b].abs())).unwrap_or(run.start);
    Bump {
        from_rpm: points[run.start].speed_rpm,
        to_rpm: points[run.end - 1].speed_rpm,
        at_rpm: points[deepest].speed_rpm,
        off_frac: off[deepest].exp_m1(),
        returns: run.end < points.len(),
        ..Bump::at(points[deepest].line)
    }
}

impl Bump {
    /// One of a single pull whose place is not yet told.
    fn at(line: u64) -> Self {
        Self {
            from_rpm: 0.0,
            to_rpm: 0.0,
            at_rpm: 0.0,
            off_frac: 0.0,
            returns: true,
            pulls: 1,
            of_pulls: 1,
            line,
            signs: Signs::default(),
            causes: Vec::new(),
        }
    }
}

/// A fall of torque near the top that does not come back: a bend of measured over estimated torque, which an honest engine has to some
/// degree where waves and the rpm of its peak differ from the estimate's.
fn fall(points: &[Point], likely_nm: &dyn Fn(f64) -> Option<f64>) -> Option<Bump> {
    /// Rpm below the bend that are looked at, and least and most of them above it [rpm].
    const BELOW_RPM: f64 = 800.0;
    const ABOVE_RPM: std::ops::RangeInclusive<f64> = 200.0..=700.0;
    const LEAST_POINTS: usize = 10;
    /// Fall at the top that counts [-], and the same over its own standard error (common practice, no source).
    const FALL: f64 = -0.10;
    const SURE: f64 = -6.0;
    let top = points.last()?;
    let bend = |from: &Point| {
        let near = points.iter().filter(|p| p.speed_rpm >= from.speed_rpm - BELOW_RPM);
        let ln_ratio =
            |p: &Point| Some((p.speed_rpm - from.speed_rpm, p.ln_torque - likely_nm(p.speed_rpm)?.ln()));
        let pairs: Vec<(f64, f64)> = near.filter_map(ln_ratio).collect();
        if pairs.len() < LEAST_POINTS {
            return None;
        }
        let slopes =
            DMatrix::from_fn(pairs.len(), 3, |i, j| [1.0, 1e-3 * pairs[i].0, 1e-3 * pairs[i].0.max(0.0)][j]);
        let y = DVector::from_iterator(pairs.len(), pairs.iter().map(|pair| pair.1));
        let inverse = (slopes.transpose() * &slopes).cholesky()?.inverse();
        let found = &inverse * (slopes.transpose() * &y);
        let left = (&y - &slopes * &found).norm_squared() / (pairs.len() - 3) as f64;
        let error = (left * inverse[(2, 2)]).sqrt();
        let ln_fall = 1e-3 * found[2] * (top.speed_rpm - from.speed_rpm);
        Some((from.speed_rpm, ln_fall.exp_m1(), found[2] / error.max(f64::MIN_POSITIVE)))
    };
    let bends = points.iter().filter(|p| ABOVE_RPM.contains(&(top.speed_rpm - p.speed_rpm))).filter_map(bend);
    let (from_rpm, off_frac, sure) = bends.min_by(|a, b| a.2.total_cmp(&b.2))?;
    (off_frac < FALL && sure < SURE).then(|| Bump {
        from_rpm,
        to_rpm: top.speed_rpm,
        at_rpm: top.speed_rpm,
        off_frac,
        returns: false,
        ..Bump::at(top.line)
    })
}

/// What else a pull shows at a dip.
fn signs(pull: &Pull, bump: &Bump) -> Signs {
    let inside = |p: &PullPoint| bump.holds(p.speed_rpm, 0.0);
    let beside = |p: &PullPoint| !inside(p) && bump.holds(p.speed_rpm, BESIDE_RPM);
    let middle = |rows: &dyn Fn(&PullPoint) -> bool, of: &dyn Fn(&PullPoint) -> Option<f64>| {
        median(pull.points.iter().filter(|p| rows(p)).filter_map(of).collect())
    };
    let differs = |of: &dyn Fn(&PullPoint) -> Option<f64>| Some(middle(&inside, of)? - middle(&beside, of)?);
    let over =
        |of: &dyn Fn(&PullPoint) -> Option<f64>| Some(middle(&inside, of)? / middle(&beside, of)? - 1.0);
    let heard: Vec<bool> = knocking(pull)
        .into_iter()
        .zip(&pull.points)
        .filter(|(_, p)| bump.holds(p.speed_rpm, 100.0))
        .filter_map(|(knocks, _)| knocks)
        .collect();
    Signs {
        knocks: (!heard.is_empty()).then(|| heard.contains(&true)),
        timing_deg: differs(&|p| p.timing_deg_btdc),
        lambda: differs(&|p| p.lambda),
        rpm_step_ratio: widest_step(pull, &inside, &beside),
        power_frac: over(&|p| Some(p.power_beside_torque_w? / (p.torque_nm * p.speed_rpm))),
        fuel_frac: over(&|p| Some(p.fuel_flow_kg_per_s? / p.speed_rpm)),
    }
}

/// Widest step of rpm from row to row inside a dip over the usual one beside it.
fn widest_step(
    pull: &Pull,
    inside: &dyn Fn(&PullPoint) -> bool,
    beside: &dyn Fn(&PullPoint) -> bool,
) -> Option<f64> {
    let steps = |of: &dyn Fn(&PullPoint) -> bool| -> Vec<f64> {
        let pairs = pull.points.windows(2).filter(|pair| of(&pair[0]) && of(&pair[1]));
        pairs.map(|pair| (pair[1].speed_rpm - pair[0].speed_rpm).abs()).collect()
    };
    let usual = median(steps(beside)).filter(|step| *step > 0.0)?;
    steps(inside).into_iter().reduce(f64::max).map(|widest| widest / usual)
}
