//! What the builder should know beside the numbers of a choice.

use super::job::ChooseJob;
use super::limit::LimitKind;
use super::result::{Bound, Choice};
use crate::estimate::Notice;
use crate::estimate::notices::of_own_knock;

/// What the builder should know of a choice; the report says it.
#[derive(Clone, Debug, PartialEq)]
pub enum ChoiceNotice {
    /// Breathing, friction and burn speed are held at every ratio.
    HeldAtEveryRatio,
    /// No peak pressure is stated, so none is checked.
    NoPeakPressure,
    /// What the knock margins rest on.
    Knock(Notice),
    /// The most power lies at the highest ratio asked.
    MostPowerAtEnd {
        /// That ratio [-].
        ratio: f64,
    },
    /// The lowest ratio asked makes no measurable difference either.
    LowestMayDo,
}

/// Notices on a finished choice.
pub(super) fn notices(ask: &ChooseJob, choice: &Choice) -> Vec<ChoiceNotice> {
    let mut notices = vec![ChoiceNotice::HeldAtEveryRatio];
    if !choice.stood.limits.iter().any(|limit| limit.kind == LimitKind::PeakPressure) {
        notices.push(ChoiceNotice::NoPeakPressure);
    }
    notices.extend(of_own_knock(&ask.job).into_iter().map(ChoiceNotice::Knock));
    if let Some(order) = &choice.order {
        if order.above == Bound::EndOfRange {
            notices.push(ChoiceNotice::MostPowerAtEnd { ratio: order.most_power_ratio });
        }
        if order.same_from <= choice.lowest_ratio {
            notices.push(ChoiceNotice::LowestMayDo);
        }
    }
    notices
}
