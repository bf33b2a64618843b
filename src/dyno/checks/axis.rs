//! A factor on the rpm axis: the wrong gear, or a wrong ratio of roller to engine rpm.

use super::{CheckOutcome, measure};
use crate::dyno::causes::Cause;
use crate::dyno::check::Interval;
use crate::dyno::evidence::Evidence;
use crate::dyno::finding::{CurveFinding, Finding};

/// Factors that the VE of the engine explains as well, and the most of them [-] (common practice, no source).
const CONSISTENT: Interval = Interval::between(0.92, 1.08);
const CREDIBLE: Interval = Interval::between(0.87, 1.15);
/// Shares of the probability of all causes from which a factor counts, and from which nothing else explains the curve [-].
const COUNTS: f64 = 0.5;
const ALONE: f64 = 0.95;

/// The factor on the rpm axis that explains the curve, logged over true rpm; 1 where other causes explain it as well.
pub(super) fn gear_ratio(e: &Evidence<'_>) -> CheckOutcome {
    let found = e.causes.iter().find_map(|ranked| match ranked.cause {
        Cause::Gear { factor } => Some((factor, ranked.share)),
        _ => None,
    });
    let (factor, share) = found.unwrap_or((1.0, 0.0));
    let value = if share >= COUNTS { factor } else { 1.0 };
    let credible = if share >= ALONE { CREDIBLE } else { Interval::ALL };
    measure(value, CONSISTENT, credible, Finding::Curve(CurveFinding::SpeedAxis { share }))
}
