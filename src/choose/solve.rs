//! The best ratio of a weighting within the limits of a watch.

use super::curve::Curve;
use super::feasible::{End, Ends};
use super::job::ChooseError;
use super::result::Bound;
use crate::estimate::Band;
use crate::estimate::sampling::band;
use crate::estimate::search::minimum;

/// How closely the best is searched [ratio].
const TOLERANCE: f64 = 0.005;
/// An optimum this near to an end of its range is ended by it [ratio].
const AT_END: f64 = 0.02;
/// Power that a chassis dynamometer does not tell apart, as a share [-] (repeatability of a pull on one day, common
/// practice, no source).
const REPEATABILITY: f64 = 0.005;
/// Step at which ratios are tried for being the same [ratio].
const SAME_STEP: f64 = 0.02;

/// The best ratio of one weighting.
#[derive(Clone, Copy, Debug)]
pub(super) struct Solution {
    pub(super) ratio: f64,
    /// Ends of the range of ratios, within the limits, in which it lies.
    pub(super) ends: Ends,
}

/// Ratio of the highest mean weighted power within the given ranges; none without a range. Each range is searched
/// between its ends and its nodes, so that a curve of several tops is not mistaken.
///
/// # Errors
/// [`ChooseError::Search`].
pub(super) fn solve(
    curve: &Curve<'_>,
    shares: &[f64],
    ranges: &[Ends],
) -> Result<Option<Solution>, ChooseError> {
    let power = |ratio: f64| curve.objective_kw(shares, ratio);
    let mut best: Option<(f64, Solution)> = None;
    for ends in ranges {
        let (low, high) = (ends.0.ratio, ends.1.ratio);
        let mut tried: Vec<f64> = vec![low];
        tried.extend(curve.ratios().into_iter().filter(|r| *r > low && *r < high));
        tried.push(high);
        let top = (0..tried.len()).max_by(|a, b| power(tried[*a]).total_cmp(&power(tried[*b]))).unwrap_or(0);
        let around = (tried[top.saturating_sub(1)], tried[(top + 1).min(tried.len() - 1)]);
        let mut found = tried[top];
        if around.1 - around.0 > TOLERANCE {
            let inside = minimum(|ratio| Ok(-power(ratio)), around, 1e-6, TOLERANCE)
                .map_err(ChooseError::from_search)?;
            // The minimiser never reaches the ends themselves.
            if power(inside) > power(found) {
                found = inside;
            }
        }
        if best.as_ref().is_none_or(|(most, _)| power(found) > *most) {
            best = Some((power(found), Solution { ratio: found, ends: *ends }));
        }
    }
    Ok(best.map(|(_, solution)| solution))
}

impl Solution {
    /// What ends the best towards lower and towards higher ratios.
    pub(super) fn bounds(&self) -> (Bound, Bound) {
        let bound = |end: &End| {
            if (end.ratio - self.ratio).abs() > AT_END {
                return Bound::Power;
            }
            end.limit.map_or(Bound::EndOfRange, Bound::Limit)
        };
        (bound(&self.ends.0), bound(&self.ends.1))
    }

    /// Lowest and highest ratio about the best, within the limits, at which the mean weighted power is lower by less
    /// than a dynamometer tells apart.
    pub(super) fn same(&self, curve: &Curve<'_>, shares: &[f64]) -> (f64, f64) {
        let least = (1.0 - REPEATABILITY) * curve.objective_kw(shares, self.ratio);
        let reach = |step: f64, end: f64| {
            let mut ratio = self.ratio;
            while (end - ratio) * step > 0.0 {
                let next = if step > 0.0 { (ratio + step).min(end) } else { (ratio + step).max(end) };
                if curve.objective_kw(shares, next) < least {
                    break;
                }
                ratio = next;
            }
            ratio
        };
        (reach(-SAME_STEP, self.ends.0.ratio), reach(SAME_STEP, self.ends.1.ratio))
    }

    /// Best ratio of each sample by itself within the same limits, as a band: what the unknowns could make of it.
    pub(super) fn of_samples(&self, curve: &Curve<'_>, shares: &[f64]) -> Band {
        let (from, to) = (self.ends.0.ratio, self.ends.1.ratio);
        let steps = ((to - from) / SAME_STEP).ceil() as usize;
        let ratios = (0..=steps).map(|i| (from + SAME_STEP * i as f64).min(to));
        let mut best: Vec<(f64, f64)> = Vec::new();
        for ratio in ratios {
            let powers = curve.weighted_kw(shares, ratio);
            best.resize(powers.len(), (f64::NEG_INFINITY, ratio));
            for (best, power) in best.iter_mut().zip(powers) {
                if power > best.0 {
                    *best = (power, ratio);
                }
            }
        }
        band(best.into_iter().map(|(_, ratio)| ratio))
    }
}
