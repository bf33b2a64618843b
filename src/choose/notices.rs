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
    let has = |kind| choice.stood.limits.iter().any(|limit| limit.kind == kind);
    if !has(LimitKind::PeakPressure) {
        notices.push("No peak pressure is stated: limits.peak_pressure_bar is not checked.".to_owned());
    }
    notices.extend(of_own_knock(&ask.job));
    if let Some(order) = &choice.order
        && order.above == Bound::EndOfRange
    {
        notices.push(format!(
            "The most power lies at the highest ratio asked, {:.1}:1: a wider range may move the order.",
            order.most_power_ratio
        ));
    }
    if choice.order.as_ref().is_some_and(|order| order.same_from <= choice.lowest_ratio) {
        notices.push(
            "The lowest ratio asked makes no measurable difference either: a lower one may do.".to_owned(),
        );
    }
    notices
}
