//! The one verdict on a goal and a fuel, which headline, rows, page and JSON all say.

use super::parts::Lever;
use super::result::Way;
use schemars::JsonSchema;
use serde::Serialize;

/// Chance from which a goal counts as already reached [-]: nine samples of ten.
pub const REACHED_SHARE: f64 = 0.90;
/// Chance with the most that parts make from which it is doubtful, and below which it is not credible [-].
pub const DOUBTFUL_SHARE: f64 = 0.10;

/// What is said of a goal on one fuel, in one word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum GoalVerdict {
    /// Not even one in ten race builds of this engine reaches it.
    NotCredible,
    /// A race build of this engine reaches it at the high end of its range alone.
    Doubtful,
    /// More rpm or a race top end reach it in the likely case.
    NeedsRaceBuild,
    /// A higher ratio reaches it in the likely case, with or without top-end work.
    NeedsFullBuild,
    /// Cam, head, intake and exhaust, or some of them, reach it in the likely case.
    NeedsTopEndWork,
    /// The engine as built reaches it in the likely case.
    Likely,
    /// Nine in ten engines as built reach it.
    AlreadyReached,
}

/// How deep a set of parts goes into the engine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum BuildDepth {
    /// Another fuel, and no parts in the engine.
    Fuel,
    /// Cam, head, intake, exhaust.
    TopEnd,
    /// Pistons too.
    Full,
    /// Rods, valve gear and bearings, or a race top end.
    Race,
}

impl BuildDepth {
    /// How deep some parts go.
    pub(super) fn of(levers: &[Lever]) -> Self {
        let of = |lever: &Lever| match lever {
            Lever::Fuel => Self::Fuel,
            Lever::Cam | Lever::Head | Lever::IntakeExhaust => Self::TopEnd,
            Lever::Ratio => Self::Full,
            Lever::Rpm | Lever::RaceTopEnd => Self::Race,
        };
        levers.iter().map(of).max().unwrap_or(Self::Fuel)
    }
}

/// The verdict on a goal and a fuel.
///
/// # Arguments
/// - `chance_frac`: share of engines as built that reach it [-]
/// - `is_reached`: whether the likely one does
/// - `way`: the cheapest parts that reach it in the likely case
/// - `most`: the most that parts make
pub(super) fn verdict(
    chance_frac: f64,
    is_reached: bool,
    way: Option<&Way>,
    most: Option<&Way>,
) -> GoalVerdict {
    match (is_reached, way) {
        (true, _) if chance_frac >= REACHED_SHARE => GoalVerdict::AlreadyReached,
        (true, _) => GoalVerdict::Likely,
        (false, Some(way)) => match way.depth {
            BuildDepth::Fuel | BuildDepth::TopEnd => GoalVerdict::NeedsTopEndWork,
            BuildDepth::Full => GoalVerdict::NeedsFullBuild,
            BuildDepth::Race => GoalVerdict::NeedsRaceBuild,
        },
        (false, None) if most.is_some_and(|most| most.chance_frac >= DOUBTFUL_SHARE) => GoalVerdict::Doubtful,
        (false, None) => GoalVerdict::NotCredible,
    }
}
