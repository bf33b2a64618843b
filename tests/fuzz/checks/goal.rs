//! Target powers.

use super::run::{Run, is_document, taken};
use super::schema::Schema;
use super::{one_in, within};
use endgas::estimate::estimate;
use endgas::goal::{Goal, GoalVerdict};
use endgas::report::Shown as _;
use endgas::scenario::typed::POWER;
use std::sync::LazyLock;

static SCHEMA: LazyLock<Schema> = LazyLock::new(|| Schema::of(&Goal::schema()));
/// What is wanted where the first line does not say [kW].
const WANTED_KW: f64 = 160.0;

/// What `goal` makes of a scenario; its first line may hold the target, as "# 300 hp".
pub fn goal(bytes: &[u8]) {
    let Some(Run { typed, scenario, job }) = Run::of(bytes) else { return };
    let wanted_kw = if typed.is_empty() { Some(WANTED_KW) } else { taken(POWER.read(&typed)) };
    let wanted_kw = wanted_kw.unwrap_or(WANTED_KW);
    let Some(found) = taken(estimate(&job)) else { return };
    let Some(goal) = taken(endgas::goal::goal(&job, &found, &scenario.costs, wanted_kw)) else { return };
    let json = is_document(&goal, &SCHEMA);
    is_goal(&goal);
    assert_eq!(goal.wheel_power_kw, wanted_kw);
    if one_in(8, bytes) {
        let again = endgas::goal::goal(&job, &found, &scenario.costs, wanted_kw).unwrap();
        assert_eq!(json, is_document(&again, &SCHEMA), "judged again it is another");
    }
}

/// Chances, costs and verdicts of a goal.
pub(super) fn is_goal(goal: &Goal) {
    for fuel in &goal.chances {
        within("chance", fuel.chance_frac, 0.0..=1.0);
        // What reaches it already needs nothing.
        assert!(fuel.verdict != GoalVerdict::AlreadyReached || fuel.way.is_none(), "{}", fuel.fuel);
    }
    assert_eq!(goal.chances[0].verdict, goal.verdict);
    let with_parts = goal.chances.iter().flat_map(|fuel| fuel.way.iter().chain(&fuel.most));
    for way in goal.ways.iter().chain(with_parts) {
        within("chance", way.chance_frac, 0.0..=1.0);
        within("cost", way.cost, 0.0..=1e12);
        let (gain, power) = (way.wheel_power_gain_kw, way.wheel_power_kw);
        assert!(power.low <= power.likely && power.likely <= power.high, "{power:?}");
        assert!(gain.low <= gain.high && power.low >= 0.0, "{gain:?} {power:?}");
        assert_eq!(way.parts.len(), way.levers.len());
    }
}
