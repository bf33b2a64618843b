//! What the builder should know beside the numbers of a choice.

use super::job::ChooseJob;
use super::limit::LimitKind;
use super::result::{Bound, Choice};
use crate::estimate::notices::of_own_knock;

/// Notices on a finished choice.
pub(super) fn notices(ask: &ChooseJob, choice: &Choice) -> Vec<String> {
    let mut notices = vec![
        "Breathing, friction and the burn-speed factor are held the same at every ratio. A high dome and deep valve reliefs slow the burn and shroud the plug: the gain of the highest ratios is then less than shown.".to_owned(),
    ];
    if ask.worst_weather.is_none() {
        notices.push(
            "No worst weather is stated: the limits are checked in the weather of the scenario. State choose.worst_weather for the hottest, driest day the engine may see.".to_owned(),
        );
    }
    let has = |kind| choice.stood.limits.iter().any(|limit| limit.kind == kind);
    if !has(LimitKind::PeakPressure) {
        notices.push("No peak pressure is stated: limits.peak_pressure_bar is not checked.".to_owned());
    }
    if has(LimitKind::KnockProbability) {
        notices.push("The limit of knock probability holds back the spark of the weakest blend in the worst weather, and what that costs counts against the limits of retard and torque. Power is that at the spark each sample allows, as a tuner would find it; the knock probability of each fuel on the day is that at the likely spark.".to_owned());
    }
    notices.extend(of_own_knock(&ask.job));
    if let Some(best) = &choice.best {
        for (bound, end) in [(best.below, "lowest"), (best.above, "highest")] {
            if bound == Bound::EndOfRange {
                notices.push(format!(
                    "The best lies at the {end} ratio asked, {:.2}:1: a wider range may hold a better one.",
                    best.compression_ratio
                ));
            }
        }
    }
    notices
}
