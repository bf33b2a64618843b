//! The ratio to order of a weighting within the limits of a watch.

use super::curve::{Curve, Timed};
use super::feasible::{End, Ends};
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

/// The curve as one weighting and one timing see it.
#[derive(Clone, Copy)]
pub(super) struct View<'a> {
    pub(super) curve: &'a Curve<'a>,
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
            let same = self.same(most_power, power, &ends);
            let stepped = (same.0 * ORDERED_STEPS - 1e-6).ceil() / ORDERED_STEPS;
            let ratio = if stepped <= same.1 { stepped } else { same.0 };
            Solution { ratio, same, most_power, ends }
        }))
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

    /// Lowest and highest ratio about that of the most power [kW], within the limits, that cannot be told from it.
    fn same(&self, most_power: f64, power_kw: f64, ends: &Ends) -> (f64, f64) {
        let least = (1.0 - self.measurable_frac) * power_kw;
        let reach = |step: f64, end: f64| {
            let mut ratio = most_power;
            while (end - ratio) * step > 0.0 {
                let next = if step > 0.0 { (ratio + step).min(end) } else { (ratio + step).max(end) };
                if self.objective_kw(next) < least {
                    break;
                }
                ratio = next;
            }
            ratio
        };
        (reach(-SAME_STEP, ends.0.ratio), reach(SAME_STEP, ends.1.ratio))
    }
}

impl Solution {
    /// What ends the most power towards lower and towards higher ratios.
    pub(super) fn bounds(&self) -> (Bound, Bound) {
        let bound = |end: &End| {
            if (end.ratio - self.most_power).abs() > AT_END {
                return Bound::Power;
            }
            end.limit.map_or(Bound::EndOfRange, Bound::Limit)
        };
        (bound(&self.ends.0), bound(&self.ends.1))
    }
}
