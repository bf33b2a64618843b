//! Is the stated correction one that the day allows?

use super::{CheckOutcome, measure};
use crate::air::{self, CorrectionStandard};
use crate::dyno::check::{Interval, Lack};
use crate::dyno::evidence::Evidence;
use crate::dyno::finding::Finding;
use crate::dyno::log::LogCorrection;

/// Factors for which standards are meant [-]: ISO 1585, from memory; editions of SAE J1349 state 3 to 7 %.
const FACTORS: Interval = Interval::between(0.93, 1.07);
/// Factors beyond which no inhabited place has weather to justify them [-] (common practice, no source).
const CREDIBLE: Interval = Interval::between(0.85, 1.30);
/// Logged over computed factor that rounding and the place of the sensor explain, and the most that can be
/// believed [-]: 1 % is 3 K or 1 kPa (common practice, no source).
const LOGGED: f64 = 0.01;
const LOGGED_CREDIBLE: f64 = 0.025;

/// The standard by which the log is corrected, and its factor on the day of the pull.
fn stated(e: &Evidence<'_>) -> Result<(CorrectionStandard, air::Correction), Lack> {
    let LogCorrection::By(standard) = e.log.correction else { return Err(Lack::Correction) };
    if !e.weather_is_known() {
        return Err(Lack::Weather);
    }
    Ok((standard, standard.factor(&e.yardstick.job().weather)))
}

/// The factor of the stated standard in this weather against its range.
pub(super) fn range(e: &Evidence<'_>) -> CheckOutcome {
    let (standard, air::Correction { factor, outside }) = stated(e)?;
    // A day outside the range of the standard is never consistent, whatever its factor.
    let consistent = if outside.is_some() { Interval::about(1.0, 0.0) } else { FACTORS };
    measure(factor, consistent, CREDIBLE, Finding::CorrectionRange { standard, outside })
}

/// The mean factor of the log over that of the stated standard in this weather; none where one of them is not there.
pub(in crate::dyno) fn factor_ratio(e: &Evidence<'_>) -> Option<f64> {
    let (_, air::Correction { factor, .. }) = stated(e).ok()?;
    Some(e.log.mean(|p| p.correction_factor)? / factor)
}

/// Standards that give a factor in this weather.
fn that_give(e: &Evidence<'_>, factor: f64) -> impl Iterator<Item = CorrectionStandard> {
    /// As near as logs round.
    const WITHIN: f64 = 0.003;
    let weather = &e.yardstick.job().weather;
    let all = CorrectionStandard::ALL.into_iter().filter(|_| e.weather_is_known());
    all.filter(move |standard| (factor / standard.factor(weather).factor - 1.0).abs() < WITHIN)
}

/// The factor in the log over that of the standard in this weather; over 1 where the figures are said to be as measured.
pub(super) fn logged(e: &Evidence<'_>) -> CheckOutcome {
    let logged = e.log.mean(|p| p.correction_factor).ok_or(Lack::Factor)?;
    let (consistent, credible) = (Interval::about(1.0, LOGGED), Interval::about(1.0, LOGGED_CREDIBLE));
    if e.log.correction == LogCorrection::None {
        let standards = that_give(e, logged).collect();
        // A factor may be shown and not applied.
        return measure(logged, consistent, Interval::ALL, Finding::FactorBeside { logged, standards });
    }
    let (standard, air::Correction { factor: computed, .. }) = stated(e)?;
    let undone = e.scale() * computed / logged;
    let is_off = !consistent.holds(logged / computed);
    let other = that_give(e, logged).find(|other| is_off && *other != standard);
    let finding = Finding::CorrectionLogged { standard, logged, computed, undone, other };
    measure(logged / computed, consistent, credible, finding)
}
