//! Which ratios keep every limit.

use super::job::ChooseError;
use super::limit::LimitState;
use super::watch::{Readings, Watch};
use crate::estimate::search::root;

/// How closely the end of a limit is searched [ratio].
const TOLERANCE: f64 = 0.004;

/// Limits at one ratio.
pub(super) struct Checked {
    pub(super) ratio: f64,
    pub(super) readings: Readings,
    pub(super) states: Vec<LimitState>,
}

impl Checked {
    /// Checks every limit of a watch at a ratio.
    ///
    /// # Errors
    /// As [`Watch::readings`].
    pub(super) fn new(watch: &Watch<'_>, ratio: f64) -> Result<Self, ChooseError> {
        let readings = watch.readings(ratio, false)?;
        let states = watch.states(&readings);
        Ok(Self { ratio, readings, states })
    }

    /// Whether every limit is kept.
    pub(super) fn all_kept(&self) -> bool {
        self.states.iter().all(LimitState::kept)
    }

    /// The limit most passed, or nearest to it.
    pub(super) fn tightest(&self) -> Option<LimitState> {
        self.states.iter().copied().max_by(|a, b| a.excess.total_cmp(&b.excess))
    }
}

/// One end of a range of ratios that keeps the limits.
#[derive(Clone, Copy, Debug)]
pub(super) struct RangeEnd {
    pub(super) ratio: f64,
    /// The limit that ends it; none at the end of the range asked.
    pub(super) limit: Option<LimitState>,
}

/// A range of ratios that keeps the limits, from its lower to its upper end.
pub(super) type Ends = (RangeEnd, RangeEnd);

/// Ranges of ratio that keep every limit, rising; each from its lower to its upper end.
///
/// # Arguments
/// - `checked`: the limits at some ratios, rising; between two neighbours a limit is taken to be crossed at most once
///
/// # Errors
/// As [`Watch::readings`], or of the root finder.
pub(super) fn feasible(watch: &Watch<'_>, checked: &[Checked]) -> Result<Vec<Ends>, ChooseError> {
    let mut ranges = Vec::new();
    let Some(first) = checked.first() else { return Ok(ranges) };
    let mut open = first.all_kept().then_some(RangeEnd { ratio: first.ratio, limit: None });
    for pair in checked.windows(2) {
        let (a, b) = (&pair[0], &pair[1]);
        match (a.all_kept(), b.all_kept()) {
            (true, false) => {
                let end = crossing(watch, a, b)?;
                ranges.extend(open.take().map(|start| (start, end)));
            }
            (false, true) => open = Some(crossing(watch, b, a)?),
            _ => {}
        }
    }
    if let (Some(start), Some(last)) = (open, checked.last()) {
        ranges.push((start, RangeEnd { ratio: last.ratio, limit: None }));
    }
    Ok(ranges)
}

/// Last ratio from one that keeps every limit towards one that does not, and the limit that is met there.
fn crossing(watch: &Watch<'_>, kept: &Checked, passed: &Checked) -> Result<RangeEnd, ChooseError> {
    let tightest = |ratio: f64| -> Result<f64, argmin::core::Error> {
        let checked = Checked::new(watch, ratio).map_err(argmin::core::Error::new)?;
        Ok(checked.tightest().map_or(-1.0, |state| state.excess))
    };
    let low = kept.ratio.min(passed.ratio);
    let high = kept.ratio.max(passed.ratio);
    let ratio = root(tightest, (low, high), TOLERANCE).map_err(ChooseError::from_search)?;
    let limit = Checked::new(watch, ratio)?.tightest();
    // One step back, so that what is called kept is kept.
    let inside = ratio + 2.0 * TOLERANCE * (kept.ratio - ratio).signum();
    Ok(RangeEnd { ratio: inside.clamp(low, high), limit })
}
