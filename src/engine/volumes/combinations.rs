//! Combinations of parts that reach a target ratio and keep the squish clearance in its usual range.
//!
//! As a shop goes about it (common practice, no source): the squish clearance is set first, by deck and gasket, then
//! the rest of the ratio is made by another piston, or by the head.

use super::squish::{ALUMINIUM_SQUISH_M, DOME_SHARES, TIGHT_SQUISH_M};
use super::wanted::{DEEP_CUT_M, WayKind, crown_fault, head_face_m2};
use super::{MeasuredVolumes, VolumesJob};
use crate::engine::Geometry;
use schemars::JsonSchema;
use serde::Serialize;

/// Compressed gaskets that are commonly sold [m], thin to thick. Common practice, no source.
pub const COMMON_GASKETS_M: [f64; 7] = [0.7e-3, 0.9e-3, 1.0e-3, 1.2e-3, 1.3e-3, 1.5e-3, 1.8e-3];
/// Squish clearance that a combination leaves the tightest cylinder [m], least and most: steel rods with tight parts
/// to aluminium rods. Common practice, no source.
pub const SQUISH_RANGE_M: (f64, f64) = (TIGHT_SQUISH_M.0, ALUMINIUM_SQUISH_M);
/// Squish clearance aimed at [m].
const SQUISH_AIM_M: f64 = TIGHT_SQUISH_M.1;
/// Least cut for which a shop sets up a head or block [m]. Common practice, no source.
const LEAST_CUT_M: f64 = 0.05e-3;
/// Most combinations shown.
const MOST: usize = 3;
/// Difference of lengths that is none [m].
const NO_LENGTH_M: f64 = 1e-9;

/// One part of a combination and what it becomes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Change {
    /// The part that is changed.
    pub kind: WayKind,
    /// What the part must become [m3], when it is a volume.
    pub volume_m3: Option<f64>,
    /// What the part must become, or the cut [m], when it is a length.
    pub length_m: Option<f64>,
    /// Whether `length_m` is only the least cut, for the chamber at the head face was not measured.
    pub at_least: bool,
}

/// What to mind of a combination.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum CombinationRemark {
    /// The squish clearance is for steel rods and measured pistons only.
    TightSquish,
    /// The dome is so large a share of the chamber that it slows the burn.
    DomeSlowsBurn,
    /// The head cut is taken over the whole gasket bore, the widest that the chamber can be at the face.
    HeadFaceNotMeasured,
    /// Metal comes out of the chamber: its walls may get thin.
    ChamberWalls,
}

/// Parts that together reach the target ratio; two or more of them change.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Combination {
    /// The parts, in the order in which a shop does them.
    pub changes: Vec<Change>,
    /// Ratio reached, from the volumes then [-].
    pub compression_ratio: f64,
    /// Squish clearance then, deck clearance plus gasket, of the tightest cylinder [m].
    pub squish_clearance_m: f64,
    /// Dome over chamber volume then [-]; negative for a dish.
    pub dome_share_frac: f64,
    /// How much closer intake and exhaust valves come to the piston, along the cylinder axis [m]: cuts plus what the
    /// gasket is thinner; negative when they are farther away. Along a valve inclined by an angle it is so much times
    /// its cosine. The reliefs of another piston are not counted.
    pub valves_closer_m: f64,
    /// What to mind.
    pub remarks: Vec<CombinationRemark>,
}

/// Why there is no combination.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum NoCombination {
    /// The squish clearance is where it should be; one part alone makes the ratio, or none can.
    SquishIsSet,
    /// Neither a deck cut nor a common gasket brings the squish clearance into its range.
    SquishOutOfReach,
    /// What is left once the squish clearance is set takes more than piston and head can give.
    RestTooMuch,
}

/// An engine and the ratio wanted of it.
struct Shop<'a> {
    geometry: &'a Geometry,
    now: &'a MeasuredVolumes,
    ratio: f64,
    /// Squish clearance of the tightest cylinder now [m].
    tightest_m: f64,
    /// Clearance volume to be added for the ratio [m3].
    change_m3: f64,
}

/// The parts as they would be, and what was cut to get there [m].
#[derive(Clone, Copy)]
struct Plan {
    then: MeasuredVolumes,
    deck_cut_m: f64,
    head_cut_m: f64,
}

/// Up to three combinations of a job, no two of the same parts, in the order in which a shop prefers them: deck and
/// gasket alone; then for each way to set the squish clearance another piston, or the head. Where no head alone can give
/// the rest, head and piston share it.
///
/// # Errors
/// [`NoCombination`] when there is none.
pub(super) fn combinations(
    job: &VolumesJob<'_>,
    now: &MeasuredVolumes,
    ratio: f64,
) -> Result<Vec<Combination>, NoCombination> {
    let (geometry, tightest_m) = (job.geometry, job.tightest_squish_m(now));
    let change_m3 = now.clearance_change_for_ratio_m3(geometry.bore_m, geometry.stroke_m, ratio);
    let shop = Shop { geometry, now, ratio, tightest_m, change_m3 };
    let setups = shop.setups();
    let made = setups.iter().flat_map(|setup| [shop.with_piston(setup), shop.with_head(setup)]);
    let mut plans: Vec<Plan> = [shop.deck_and_gasket()].into_iter().chain(made).flatten().collect();
    if !setups.iter().any(|setup| shop.with_head(setup).is_some()) {
        let second = plans.len().min(1);
        plans.splice(second..second, shop.with_head_and_piston(&setups));
    }
    let found: Vec<_> = plans.iter().take(MOST).map(|plan| shop.combination(plan)).collect();
    if !found.is_empty() {
        Ok(found)
    } else if !setups.is_empty() {
        Err(NoCombination::RestTooMuch)
    } else if shop.is_in_range(now) {
        Err(NoCombination::SquishIsSet)
    } else {
        Err(NoCombination::SquishOutOfReach)
    }
}

impl Shop<'_> {
    fn raises(&self) -> bool {
        self.change_m3 < 0.0
    }

    /// Squish clearance of the tightest cylinder with changed parts [m].
    fn squish_m(&self, then: &MeasuredVolumes) -> f64 {
        self.tightest_m + then.squish_clearance_m() - self.now.squish_clearance_m()
    }

    fn is_in_range(&self, then: &MeasuredVolumes) -> bool {
        let (least, most) = SQUISH_RANGE_M;
        (least - NO_LENGTH_M..=most + NO_LENGTH_M).contains(&self.squish_m(then))
    }

    fn off_aim_m(&self, then: &MeasuredVolumes) -> f64 {
        (self.squish_m(then) - SQUISH_AIM_M).abs()
    }

    /// Deepest deck cut [m]: the tightest piston at zero deck, and no deep cut; none when there is nothing to cut or no
    /// reason to, the ratio being lowered and the squish clearance not too wide.
    fn deepest_deck_cut_m(&self) -> Option<f64> {
        let has_reason = self.raises() || self.tightest_m > SQUISH_RANGE_M.1;
        let room_m = (self.tightest_m - self.now.gasket_thickness_m).min(DEEP_CUT_M);
        (has_reason && room_m >= LEAST_CUT_M).then_some(room_m)
    }

    fn set_up(&self, deck_cut_m: f64, gasket_thickness_m: f64) -> Plan {
        let deck_clearance_m = self.now.deck_clearance_m - deck_cut_m;
        let then = MeasuredVolumes { deck_clearance_m, gasket_thickness_m, ..*self.now };
        Plan { then, deck_cut_m, head_cut_m: 0.0 }
    }

    /// The plan with the common gasket that brings the squish clearance nearest the aim after a deck cut [m]; none
    /// when that is the gasket there is.
    fn with_common_gasket(&self, deck_cut_m: f64) -> Option<Plan> {
        let plans = COMMON_GASKETS_M.map(|gasket_m| self.set_up(deck_cut_m, gasket_m));
        let nearest =
            plans.into_iter().min_by(|a, b| self.off_aim_m(&a.then).total_cmp(&self.off_aim_m(&b.then)));
        nearest.filter(|plan| self.has_another_gasket(&plan.then))
    }

    fn has_another_gasket(&self, then: &MeasuredVolumes) -> bool {
        (then.gasket_thickness_m - self.now.gasket_thickness_m).abs() > NO_LENGTH_M
    }

    /// Decks and gaskets that bring the squish clearance into its range, as a shop prefers them: deck cut, gasket, both.
    fn setups(&self) -> Vec<Plan> {
        let deepest_m = self.deepest_deck_cut_m();
        let to_aim_m = deepest_m.map(|deepest_m| deepest_m.min(self.tightest_m - SQUISH_AIM_M));
        let deck = to_aim_m
            .filter(|cut_m| *cut_m >= LEAST_CUT_M)
            .map(|cut_m| self.set_up(cut_m, self.now.gasket_thickness_m));
        let both = deepest_m.and_then(|cut_m| self.with_common_gasket(cut_m));
        let all = [deck, self.with_common_gasket(0.0), both].into_iter().flatten();
        all.filter(|plan| self.is_in_range(&plan.then)).collect()
    }

    /// Another gasket and the deck cut that makes the ratio with it, of the squish clearance nearest the aim.
    fn deck_and_gasket(&self) -> Option<Plan> {
        let deepest_m = self.deepest_deck_cut_m()?;
        let (bore_m, stroke_m) = (self.geometry.bore_m, self.geometry.stroke_m);
        let plans = COMMON_GASKETS_M.into_iter().map(|gasket_m| {
            let uncut = self.set_up(0.0, gasket_m).then;
            let deck_m = uncut.deck_clearance_for_ratio_m(bore_m, stroke_m, self.ratio);
            self.set_up(self.now.deck_clearance_m - deck_m, gasket_m)
        });
        plans
            .filter(|plan| (LEAST_CUT_M..=deepest_m).contains(&plan.deck_cut_m))
            .filter(|plan| self.has_another_gasket(&plan.then) && self.is_in_range(&plan.then))
            .min_by(|a, b| self.off_aim_m(&a.then).total_cmp(&self.off_aim_m(&b.then)))
    }

    /// The rest made by another piston; none when no such piston can be built or its dome slows the burn much.
    fn with_piston(&self, setup: &Plan) -> Option<Plan> {
        let dome_m3 = setup.then.dome_for_ratio_m3(self.geometry.bore_m, self.geometry.stroke_m, self.ratio);
        let then = MeasuredVolumes { dome_m3, ..setup.then };
        let can_be_built = crown_fault(&then, self.geometry).is_none();
        (can_be_built && dome_m3 / then.chamber_m3 <= DOME_SHARES.1).then_some(Plan { then, ..*setup })
    }

    /// The rest made by the head: a cut where the ratio is raised, the chamber opened where it is lowered.
    fn with_head(&self, setup: &Plan) -> Option<Plan> {
        let (bore_m, stroke_m) = (self.geometry.bore_m, self.geometry.stroke_m);
        let chamber_m3 = setup.then.chamber_for_ratio_m3(bore_m, stroke_m, self.ratio);
        let cut_m = (setup.then.chamber_m3 - chamber_m3) / head_face_m2(self.now);
        let then = MeasuredVolumes { chamber_m3, ..setup.then };
        let fits = then.dome_m3 / chamber_m3 <= DOME_SHARES.1 && chamber_m3 > 0.0;
        if self.raises() {
            let can_be_cut = fits && (LEAST_CUT_M..=DEEP_CUT_M).contains(&cut_m);
            can_be_cut.then_some(Plan { then, head_cut_m: cut_m, ..*setup })
        } else {
            (fits && chamber_m3 > setup.then.chamber_m3).then_some(Plan { then, ..*setup })
        }
    }

    /// As deep a head cut as needs no asking and another piston for what it leaves, where the squish clearance is set
    /// by one of the plans or right already; none when the head face was not measured.
    fn with_head_and_piston(&self, setups: &[Plan]) -> Option<Plan> {
        let area_m2 = self.now.head_face_m2.filter(|_| self.raises())?;
        let as_is = self.set_up(0.0, self.now.gasket_thickness_m);
        let as_is = Some(as_is).filter(|plan| self.is_in_range(&plan.then));
        setups.iter().copied().chain(as_is).find_map(|setup| {
            let chamber_m3 = setup.then.chamber_m3 - DEEP_CUT_M * area_m2;
            let then = MeasuredVolumes { chamber_m3, ..setup.then };
            let cut = Plan { then, head_cut_m: DEEP_CUT_M, ..setup };
            self.with_piston(&cut).filter(|_| chamber_m3 > 0.0)
        })
    }

    fn combination(&self, plan: &Plan) -> Combination {
        let (now, then) = (self.now, &plan.then);
        let squish_clearance_m = self.squish_m(then);
        let dome_share_frac = then.dome_m3 / then.chamber_m3;
        let changes = self.changes(plan);
        let is_opened = changes.iter().any(|change| change.kind == WayKind::Chamber);
        let remarks = [
            (squish_clearance_m < SQUISH_AIM_M - NO_LENGTH_M, CombinationRemark::TightSquish),
            (dome_share_frac > DOME_SHARES.0, CombinationRemark::DomeSlowsBurn),
            (changes.iter().any(|change| change.at_least), CombinationRemark::HeadFaceNotMeasured),
            (is_opened, CombinationRemark::ChamberWalls),
        ];
        Combination {
            compression_ratio: then.ratio(self.geometry.bore_m, self.geometry.stroke_m),
            squish_clearance_m,
            dome_share_frac,
            valves_closer_m: plan.deck_cut_m + plan.head_cut_m + now.gasket_thickness_m
                - then.gasket_thickness_m,
            remarks: remarks.into_iter().filter(|(holds, _)| *holds).map(|(_, remark)| remark).collect(),
            changes,
        }
    }

    fn changes(&self, plan: &Plan) -> Vec<Change> {
        let (now, then) = (self.now, &plan.then);
        let length =
            |kind, length_m| Change { kind, volume_m3: None, length_m: Some(length_m), at_least: false };
        let volume =
            |kind, volume_m3| Change { kind, volume_m3: Some(volume_m3), length_m: None, at_least: false };
        let head_cut =
            Change { at_least: now.head_face_m2.is_none(), ..length(WayKind::HeadCut, plan.head_cut_m) };
        let is_opened = then.chamber_m3 > now.chamber_m3;
        [
            (plan.deck_cut_m > 0.0, length(WayKind::DeckCut, plan.deck_cut_m)),
            (self.has_another_gasket(then), length(WayKind::Gasket, then.gasket_thickness_m)),
            (plan.head_cut_m > 0.0, head_cut),
            (is_opened, volume(WayKind::Chamber, then.chamber_m3)),
            ((then.dome_m3 - now.dome_m3).abs() > 0.0, volume(WayKind::Dome, then.dome_m3)),
        ]
        .into_iter()
        .filter(|(holds, _)| *holds)
        .map(|(_, change)| change)
        .collect()
    }
}

#[cfg(test)]
mod tests;
