//! Ratios over a limit: which limit, on which blend, and what would fix it.

use super::feasible::{Checked, Ends};
use super::job::ChooseError;
use super::limit::{Limit, LimitState};
use super::result::{Failing, OutOfLimits};
use super::watch::Watch;
use crate::units::CompressionRatio;

/// Step at which ratios below the range asked are tried.
const STEP_BELOW: f64 = 0.25;

/// How far above the highest ratio within the limits they are stated [ratio].
const BEYOND: f64 = 0.5;

/// The parts of the range asked that are over a limit.
///
/// # Errors
/// As [`Watch::readings`].
pub(super) fn out_of_limits(
    watch: &Watch<'_>,
    ranges: &[Ends],
    (lowest, highest): (f64, f64),
) -> Result<Vec<OutOfLimits>, ChooseError> {
    let mut gaps = Vec::new();
    let mut from = lowest;
    for (start, end) in ranges {
        gaps.push((from, start.ratio, None, Some(start.ratio)));
        from = end.ratio;
    }
    gaps.push((from, highest, ranges.last().map(|range| range.1.ratio), None));
    for i in 1..gaps.len().saturating_sub(1) {
        gaps[i].2 = Some(gaps[i].0);
    }
    gaps.into_iter()
        .filter(|(from, to, ..)| to - from > 1e-6)
        .map(|(from_ratio, to_ratio, below, above)| {
            // What would allow half a ratio more; with nothing allowed at all, the lowest ratio is the nearest to being so.
            let at_ratio = if below.is_some() { (from_ratio + BEYOND).min(to_ratio) } else { from_ratio };
            let nearest_ratio = match below.or(above) {
                Some(ratio) => Some(ratio),
                None => kept_below(watch, from_ratio)?,
            };
            let failing = failing(watch, at_ratio)?;
            Ok(OutOfLimits { from_ratio, to_ratio, at_ratio, failing, nearest_ratio })
        })
        .collect()
}

/// Highest ratio below the range asked that keeps every limit; none down to the least of the model.
fn kept_below(watch: &Watch<'_>, lowest: f64) -> Result<Option<f64>, ChooseError> {
    let least = *CompressionRatio::RANGE.start();
    let mut ratio = lowest;
    while ratio > least {
        ratio = (ratio - STEP_BELOW).max(least);
        if Checked::new(watch, ratio)?.all_kept() {
            return Ok(Some(ratio));
        }
    }
    Ok(None)
}

/// The limits exceeded at a ratio, each with the content from which it is kept.
fn failing(watch: &Watch<'_>, ratio: f64) -> Result<Vec<Failing>, ChooseError> {
    let readings = watch.readings(ratio, true)?;
    let states = watch.states(&readings);
    let over = watch.limits.iter().zip(states).filter(|(_, state)| !state.kept());
    let failing = |(limit, state): (&Limit, LimitState)| Failing {
        state,
        least_ethanol_vol_frac: least_content(&readings.by_content(limit)),
    };
    Ok(over.map(failing).collect())
}

/// Content from which a limit is kept up to the highest, straight between the watched ones; none when the highest
/// does not keep it.
fn least_content(states: &[LimitState]) -> Option<f64> {
    let kept = states.iter().rev().take_while(|state| state.kept()).count();
    let first = states.len() - kept;
    let above = states.get(first)?;
    let Some(below) = first.checked_sub(1).map(|i| &states[i]) else { return Some(above.ethanol_vol_frac) };
    let share = below.excess / (below.excess - above.excess);
    Some(below.ethanol_vol_frac + share * (above.ethanol_vol_frac - below.ethanol_vol_frac))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::choose::limit::LimitKind;

    fn states(excess: &[(f64, f64)]) -> Vec<LimitState> {
        let state = |(content, excess): &(f64, f64)| LimitState {
            kind: LimitKind::TorqueLoss,
            allowed: 0.05,
            found: 0.05 + excess / 100.0,
            ethanol_vol_frac: *content,
            speed_rpm: 4000.0,
            excess: *excess,
        };
        excess.iter().map(state).collect()
    }

    // HAND: 3 at 20 %, -1 at 40 %: zero at 20 + 20 * 3 / 4 = 35 %.
    #[test]
    fn the_least_content_lies_between_the_last_that_fails_and_the_first_that_does_not() {
        let found = least_content(&states(&[(0.0, 6.0), (0.2, 3.0), (0.4, -1.0), (0.6, -4.0)]));
        assert!((found.unwrap() - 0.35).abs() < 1e-12);
        assert_eq!(least_content(&states(&[(0.0, 6.0), (0.2, 3.0)])), None);
        assert_eq!(least_content(&states(&[(0.1, -6.0), (0.2, -3.0)])), Some(0.1));
        assert_eq!(least_content(&states(&[(0.0, -6.0), (0.2, 3.0)])), None, "the strongest must keep it");
    }
}
