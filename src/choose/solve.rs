//! The ratio to order of a weighting within the limits of a watch.

use super::curve::{PowerCurve, Timed};
use super::feasible::{Ends, RangeEnd};
use super::job::ChooseError;
use super::result::Bound;
use crate::estimate::search::minimum;

/// How closely the most power is searched [ratio].
const TOLERANCE: f64 = 0.005;
/// An optimum this near to an end of its range is ended by it [ratio].
const AT_END: f64 = 0.02;
/// Step at which ratios are tried for being the same [ratio].
const SAME_STEP: f64 = 0.02;
/// Steps in which pistons are ordered, in each unit of ratio.
const ORDERED_STEPS: f64 = 10.0;
/// The same where the limits leave less than one such step.
const FINE_STEPS: f64 = 100.0;

/// The curve as one weighting and one timing see it.
#[derive(Clone, Copy)]
pub(super) struct View<'a> {
    pub(super) curve: &'a PowerCurve<'a>,
    pub(super) shares: &'a [f64],
    pub(super) timed: Timed,
    /// Difference of power that cannot be measured [-].
    pub(super) measurable_frac: f64,
}

/// The ratio to order, and what it rests on.
#[derive(Clone, Copy, Debug)]
pub(super) struct Solution {
    /// The ratio to order [-]: the lowest as good as the best, to the step in which pistons are ordered.
    pub(super) ratio: f64,
    /// Lowest and highest ratio within the limits of which a dynamometer does not tell the power from the most.
    pub(super) same: (f64, f64),
    /// Ratio of the most power within the limits [-].
    pub(super) most_power: f64,
    /// Ends of the range of ratios, within the limits, in which it lies.
    pub(super) ends: Ends,
}

impl View<'_> {
    /// Mean over the samples of the weighted power [kW].
    pub(super) fn objective_kw(&self, ratio: f64) -> f64 {
        self.curve.objective_kw(self.timed, self.shares, ratio)
    }

    /// The ratio to order within the given ranges; none without a range. Each range is searched between its ends and its
    /// nodes, so that a curve of several tops is not mistaken.
    ///
    /// # Errors
    /// [`ChooseError::Search`].
    pub(super) fn solve(&self, ranges: &[Ends]) -> Result<Option<Solution>, ChooseError> {
        let mut best: Option<(f64, f64, Ends)> = None;
        for ends in ranges {
            let found = self.most_power(*ends)?;
            let power = self.objective_kw(found);
            if best.is_none_or(|(most, ..)| power > most) {
                best = Some((power, found, *ends));
            }
        }
        Ok(best.map(|(power, most_power, ends)| {
            let least = (1.0 - self.measurable_frac) * power;
            let same = (self.lowest(ranges, least, most_power), self.highest(&ends, least, most_power));
            let stepped = [ORDERED_STEPS, FINE_STEPS].map(|steps| (same.0 * steps - 1e-6).ceil() / steps);
            let ratio = stepped.into_iter().find(|ratio| *ratio <= same.1).unwrap_or(same.0);
            Solution { ratio, same, most_power, ends }
        }))
    }

    /// Lowest ratio of all ranges with a mean weighted power [kW] or more, at most that of the most power.
    fn lowest(&self, ranges: &[Ends], least_kw: f64, most_power: f64) -> f64 {
        for (from, to) in ranges {
            let steps = ((to.ratio - from.ratio) / SAME_STEP).ceil() as usize;
            let ratios = (0..=steps).map(|i| (from.ratio + SAME_STEP * i as f64).min(to.ratio));
            let mut below = ratios.take_while(|ratio| *ratio < most_power);
            if let Some(found) = below.find(|ratio| self.objective_kw(*ratio) >= least_kw) {
                return found;
            }
        }
        most_power
    }

    /// Highest ratio up to the end of the range of the most power that keeps a mean weighted power [kW].
    fn highest(&self, ends: &Ends, least_kw: f64, most_power: f64) -> f64 {
        let mut ratio = most_power;
        while ratio < ends.1.ratio {
            let next = (ratio + SAME_STEP).min(ends.1.ratio);
            if self.objective_kw(next) < least_kw {
                break;
            }
            ratio = next;
        }
        ratio
    }

    /// Ratio of the most power between two ends.
    fn most_power(&self, ends: Ends) -> Result<f64, ChooseError> {
        let power = |ratio: f64| self.objective_kw(ratio);
        let (low, high) = (ends.0.ratio, ends.1.ratio);
        let mut tried: Vec<f64> = vec![low];
        tried.extend(self.curve.ratios().into_iter().filter(|r| *r > low && *r < high));
        tried.push(high);
        let top = (0..tried.len()).max_by(|a, b| power(tried[*a]).total_cmp(&power(tried[*b]))).unwrap_or(0);
        let around = (tried[top.saturating_sub(1)], tried[(top + 1).min(tried.len() - 1)]);
        if around.1 - around.0 <= TOLERANCE {
            return Ok(tried[top]);
        }
        let inside =
            minimum(|ratio| Ok(-power(ratio)), around, 1e-6, TOLERANCE).map_err(ChooseError::from_search)?;
        // The minimiser never reaches the ends themselves.
        Ok(if power(inside) > power(tried[top]) { inside } else { tried[top] })
    }
}

impl Solution {
    /// What ends the most power towards lower and towards higher ratios.
    pub(super) fn bounds(&self) -> (Bound, Bound) {
        let bound = |end: &RangeEnd| {
            if (end.ratio - self.most_power).abs() > AT_END {
                return Bound::Power;
            }
            end.limit.map_or(Bound::EndOfRange, Bound::Limit)
        };
        (bound(&self.ends.0), bound(&self.ends.1))
    }
}
