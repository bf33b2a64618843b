//! Is the stated correction one that the day allows?

use super::{Outcome, skip};
use crate::dyno::check::{Check, CheckName, Interval, Measure};
use crate::dyno::evidence::Evidence;
use crate::dyno::log::Correction;

/// Factors for which standards are meant [-]: ISO 1585, from memory; editions of SAE J1349 state 3 to 7 %.
const FACTORS: [f64; 2] = [0.93, 1.07];
/// Factors beyond which no inhabited place has weather to justify them [-] (common practice, no source).
const CREDIBLE: [f64; 2] = [0.85, 1.30];
/// Logged over computed factor that rounding and the place of the sensor explain, and the most that can be
/// believed [-]: 1 % is 3 K or 1 kPa (common practice, no source).
const LOGGED: f64 = 0.01;
const LOGGED_CREDIBLE: f64 = 0.025;

const UNKNOWN_DAY: &str = "air temperature and pressure of the pull are not known";

/// The factor of the stated standard on the day against its range.
pub(super) fn range(e: &Evidence<'_>) -> Outcome {
    let name = CheckName::CorrectionRange;
    let Correction::By(standard) = e.log.correction else {
        return skip(name, "the figures are as measured");
    };
    if !e.weather_is_known() {
        return skip(name, UNKNOWN_DAY);
    }
    let found = standard.factor(&e.yardstick.job().weather);
    let consistent = match &found.outside {
        // A day outside the range of the standard is never consistent, whatever its factor.
        Some(_) => Interval::between(1.0, 1.0),
        None => Interval::between(FACTORS[0], FACTORS[1]),
    };
    let measure = Measure {
        what: "factor of the stated standard on the day",
        value: found.factor,
        unit: "-",
        decimals: 3,
        consistent,
        credible: Interval::between(CREDIBLE[0], CREDIBLE[1]),
        source: "0.93 to 1.07: ISO 1585 (from memory); beyond 0.85 to 1.30 common practice, no source",
    };
    let title = standard.title();
    let reason = match found.outside {
        Some(outside) => format!("The day lies outside the range of the standard: {outside}."),
        None => format!("{title} corrects this day by {:.3}.", found.factor),
    };
    let look = "Figures as measured, with the weather of the pull; corrected figures of such a day are not comparable.";
    Ok(Check::new(name, measure, reason, look))
}

/// The factor in the log against that of the standard on the day.
pub(super) fn logged(e: &Evidence<'_>) -> Outcome {
    let name = CheckName::CorrectionLogged;
    let Some(logged) = e.log.mean(|p| p.correction_factor) else {
        return skip(name, "the log has no correction factor");
    };
    let Correction::By(standard) = e.log.correction else {
        return skip(name, "the figures are stated to be as measured");
    };
    if !e.weather_is_known() {
        return skip(name, UNKNOWN_DAY);
    }
    let computed = standard.factor(&e.yardstick.job().weather).factor;
    let measure = Measure {
        what: "logged over computed correction factor",
        value: logged / computed,
        unit: "-",
        decimals: 3,
        consistent: Interval::between(1.0 - LOGGED, 1.0 + LOGGED),
        credible: Interval::between(1.0 - LOGGED_CREDIBLE, 1.0 + LOGGED_CREDIBLE),
        source: "1 % is 3 K or 1 kPa of sensor error (common practice, no source)",
    };
    let title = standard.title();
    let reason = format!(
        "The log corrects by {logged:.3}; {title} gives {computed:.3} on this day: the figures are {} what the day justifies. With the logged factor undone instead, torque is {} the likely estimate.",
        super::percent_words(logged / computed),
        super::percent_words(e.scale() * computed / logged)
    );
    let reason = if measure.consistent.holds(measure.value) {
        format!("The log corrects by {logged:.3}; {title} gives {computed:.3} on this day.")
    } else {
        reason
    };
    let look = "Weather station and standard of the dyno, a factor typed in by hand, air temperature read in a hot engine bay.";
    Ok(Check::new(name, measure, reason, look))
}
