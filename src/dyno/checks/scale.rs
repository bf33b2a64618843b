//! The measured curve as a whole against the estimate: points in the band, and one factor on all of them.

use super::{CheckOutcome, measure};
use crate::air::CorrectionStandard;
use crate::dyno::check::{Interval, Lack};
use crate::dyno::evidence::{CONSISTENT, CREDIBLE, Evidence};
use crate::dyno::finding::{CurveFinding, Finding};
use crate::dyno::log::LogCorrection;

/// Share of points within the limits of the level that a curve of one build keeps [-] (common practice, no source: the
/// points of one curve move together).
const SHARE_INSIDE: f64 = 0.5;
/// Least distance of a correction factor from 1 that can show [-] (common practice, no source).
const LEAST_CORRECTION: f64 = 0.03;

/// Share of points within the consistent limits [%].
pub(super) fn curve_band(e: &Evidence<'_>) -> CheckOutcome {
    let points = e.points.len();
    let within = |half_widths: f64| {
        let inside = e.expected().filter(|(p, expected)| {
            let to = |end: f64| 1.0 + half_widths * (end / p.estimate_likely_torque_nm - 1.0);
            let ratio = p.torque_nm / expected;
            ratio >= to(p.estimate_low_torque_nm) && ratio <= to(p.estimate_high_torque_nm)
        });
        inside.count()
    };
    let (inside, near) = (within(CONSISTENT), within(CREDIBLE));
    let ratios = e.expected().map(|(p, expected)| (p.torque_nm / expected, p.speed_rpm));
    let worst = ratios.max_by(|a, b| a.0.ln().abs().total_cmp(&b.0.ln().abs()));
    let (worst_ratio, worst_speed_rpm) = worst.unwrap_or((1.0, 0.0));
    let share = |count: usize| count as f64 / points as f64;
    let most = Interval::from(100.0 * SHARE_INSIDE);
    // Where most points lie beyond what is credible, the share within that is the number to tell.
    let counts_near = share(near) < SHARE_INSIDE;
    let (value, credible) = if counts_near { (share(near), most) } else { (share(inside), Interval::ALL) };
    let finding = Finding::Curve(CurveFinding::Band {
        inside,
        near,
        points,
        counts_near,
        worst_ratio,
        worst_speed_rpm,
    });
    measure(100.0 * value, most, credible, finding)
}

/// One factor on all torques.
pub(super) fn uniform(e: &Evidence<'_>) -> CheckOutcome {
    let [consistent, credible] = e.limits();
    measure(e.scale(), consistent, credible, Finding::Curve(CurveFinding::Scale))
}

/// A uniform excess that is the factor of a standard: measured over expected torque.
pub(super) fn over_correction(e: &Evidence<'_>) -> CheckOutcome {
    if !e.weather_is_known() {
        return Err(Lack::Weather);
    }
    let weather = &e.yardstick.job().weather;
    let factors = CorrectionStandard::ALL.into_iter().map(|standard| standard.factor(weather).factor);
    let that_show = factors.filter(|factor| (factor - 1.0).abs() >= LEAST_CORRECTION);
    let [least, most] =
        that_show.fold([f64::INFINITY, 0.0], |[low, high], f| [f64::min(low, f), f64::max(high, f)]);
    if least > most {
        return Err(Lack::CorrectionThatShows);
    }
    let (scale, [expected, credible]) = (e.scale(), e.limits());
    // Divided by a factor of these the curve must be one that the estimate expects.
    let is_near = expected.holds(scale / least) || expected.holds(scale / most);
    let consistent = if is_near { expected } else { Interval::ALL };
    let corrected = e.log.correction != LogCorrection::None;
    let finding = Finding::OverCorrection { factors: [least, most], is_near, corrected };
    measure(scale, consistent, credible, finding)
}
