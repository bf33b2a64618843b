//! What a part must become for a target ratio, and whether it can be built.

use super::combinations::{Combination, NoCombination, combinations};
use super::squish::{self, LEAST_SQUISH_M, VolumesRemark};
use super::{CrankingPressure, MeasuredVolumes, OctaneChange, VolumesJob, Wanted, cranking_pressure};
use crate::engine::Geometry;
use schemars::JsonSchema;
use serde::Serialize;

/// Compressed gaskets that are commonly sold [m]. Common practice, no source.
pub const USUAL_GASKETS_M: (f64, f64) = (0.4e-3, 2.5e-3);
/// Thickest compressed gasket, or stack of it and a plate, that this tool takes [m]; as the
/// scenario key.
const THICKEST_GASKET_M: f64 = 4.0e-3;
/// Mean depth of a dish over the whole bore above which a usual crown is too thin [m].
/// Common practice, no source.
const DEEPEST_DISH_M: f64 = 6.0e-3;
/// Cut of a head or deck above which a shop asks how much the part has left [m].
/// Common practice, no source.
pub(super) const DEEP_CUT_M: f64 = 0.5e-3;

/// The part that is changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum WayKind {
    /// Another piston crown: `volume_m3` is its dome, negative for a dish.
    Dome,
    /// Another head gasket: `length_m` is its compressed thickness.
    Gasket,
    /// Metal off the block deck: `length_m` is the cut.
    DeckCut,
    /// Metal off the head face: `length_m` is the cut.
    HeadCut,
    /// Metal out of the chamber: `volume_m3` is the chamber then.
    Chamber,
}

/// One way to the target ratio, all other parts held.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Way {
    /// The part that is changed.
    pub kind: WayKind,
    /// What the part must become [m3], when it is a volume.
    pub volume_m3: Option<f64>,
    /// What the part must become, or the cut [m], when it is a length.
    pub length_m: Option<f64>,
    /// Whether `length_m` is only the least cut, for the chamber at the head face was not measured.
    pub at_least: bool,
    /// Squish clearance then, deck clearance plus gasket, of the tightest cylinder [m].
    pub squish_clearance_m: f64,
    /// How much closer intake and exhaust valves come to the piston, along the cylinder axis [m]: the cut, or what the
    /// gasket is thinner; negative when they are farther away. Along a valve inclined by an angle it is so much times
    /// its cosine. The reliefs of another piston are not counted.
    pub valves_closer_m: f64,
    /// Why it cannot be done; null when it can.
    pub impossible: Option<WayFault>,
    /// What to mind; empty when it cannot be done.
    pub remarks: Vec<VolumesRemark>,
}

/// Why a way to a target ratio cannot be gone; the report says it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum WayFault {
    /// The dome is larger than the chamber.
    DomeOverChamber,
    /// The dish is deeper than a usual crown takes.
    DishTooDeep {
        /// Its mean depth over the whole bore [m].
        depth_m: f64,
    },
    /// The gasket would have to be of no thickness or less.
    NoGasketThinEnough,
    /// The gasket would have to be thicker than any taken here.
    GasketTooThick {
        /// The thickest [m].
        most_m: f64,
    },
    /// Nothing would be left of the chamber.
    NoChamberLeft,
    /// The chamber would have to become smaller by itself.
    ChamberOnlyGrows,
    /// A cut only raises the ratio.
    CutOnlyRaises,
    /// The piston would stand into the head.
    PistonInHead {
        /// By this much [m].
        by_m: f64,
    },
    /// The piston would come so near to the head that it hits it.
    PistonHitsHead {
        /// Squish clearance then [m].
        clearance_m: f64,
    },
}

/// The ways to a target ratio.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WantedRatio {
    /// Target geometric ratio [-].
    pub compression_ratio: f64,
    /// Clearance volume that makes it [m3].
    pub clearance_m3: f64,
    /// Clearance volume to be added [m3]; negative to be taken away.
    pub clearance_change_m3: f64,
    /// Ratio from inlet closing then [-].
    pub ratio_from_inlet_closing: f64,
    /// Compression pressure at cranking speed then.
    pub cranking: CrankingPressure,
    /// Octane requirement against now.
    pub octane: OctaneChange,
    /// One entry per part that could be changed; empty when no volumes were measured.
    pub ways: Vec<Way>,
    /// Up to three combinations of parts that keep the squish clearance in its usual range; the CSV form leaves them
    /// out.
    pub combinations: Vec<Combination>,
    /// Why there is no combination; null when there is one or no volumes were measured.
    pub no_combination: Option<NoCombination>,
}

impl WantedRatio {
    /// The ways of a job to a ratio.
    pub(super) fn new(job: &VolumesJob<'_>, wanted: Wanted) -> Self {
        let (geometry, ratio) = (job.geometry, wanted.ratio);
        let raise = ratio.get() - geometry.compression_ratio.get();
        let combined = job.volumes.map(|parts| combinations(job, parts, ratio.get()));
        let no_combination = combined.as_ref().and_then(|found| found.as_ref().err().copied());
        let then = Geometry { compression_ratio: ratio, ..*geometry };
        let seated = then.ratio_from_inlet_closing(job.inlet_seats_deg_abdc);
        let clearance_m3 = then.clearance_volume_m3();
        Self {
            compression_ratio: ratio.get(),
            clearance_m3,
            clearance_change_m3: clearance_m3 - geometry.clearance_volume_m3(),
            ratio_from_inlet_closing: then.ratio_from_inlet_closing(job.inlet_closes_deg_abdc),
            cranking: cranking_pressure(job.air_pressure_pa, seated),
            octane: OctaneChange::of_ratio(raise, wanted.octane_per_ratio),
            ways: job.volumes.map(|parts| ways(job, parts, ratio.get())).unwrap_or_default(),
            combinations: combined.and_then(Result::ok).unwrap_or_default(),
            no_combination,
        }
    }
}

fn ways(job: &VolumesJob<'_>, parts: &MeasuredVolumes, ratio: f64) -> Vec<Way> {
    let geometry = job.geometry;
    let (bore_m, stroke_m) = (geometry.bore_m, geometry.stroke_m);
    let change_m3 = parts.clearance_change_for_ratio_m3(bore_m, stroke_m, ratio);
    let thickness_m = parts.gasket_thickness_for_ratio_m(bore_m, stroke_m, ratio);
    let deck_m = parts.deck_clearance_for_ratio_m(bore_m, stroke_m, ratio);
    let now_m = job.tightest_squish_m(parts);
    let mut ways = vec![
        Way { squish_clearance_m: now_m, ..dome(parts, geometry, ratio) },
        Way {
            valves_closer_m: parts.gasket_thickness_m - thickness_m,
            ..gasket(thickness_m, now_m + thickness_m - parts.gasket_thickness_m)
        },
        deck_cut(parts, parts.deck_clearance_m - deck_m, now_m + deck_m - parts.deck_clearance_m),
        Way { squish_clearance_m: now_m, ..head_cut(parts, change_m3) },
        Way {
            squish_clearance_m: now_m,
            ..chamber(parts, parts.chamber_for_ratio_m3(bore_m, stroke_m, ratio))
        },
    ];
    for way in &mut ways {
        let is_closer = matches!(way.kind, WayKind::Gasket | WayKind::DeckCut);
        if way.impossible.is_some() {
            way.remarks.clear();
        } else if is_closer {
            way.remarks.extend(squish::remark(way.squish_clearance_m));
        }
    }
    ways
}

fn way(kind: WayKind) -> Way {
    Way {
        kind,
        volume_m3: None,
        length_m: None,
        at_least: false,
        squish_clearance_m: 0.0,
        valves_closer_m: 0.0,
        impossible: None,
        remarks: Vec::new(),
    }
}

fn dome(parts: &MeasuredVolumes, geometry: &Geometry, ratio: f64) -> Way {
    let dome_m3 = parts.dome_for_ratio_m3(geometry.bore_m, geometry.stroke_m, ratio);
    let then = MeasuredVolumes { dome_m3, ..*parts };
    let impossible = crown_fault(&then, geometry);
    let remarks =
        if impossible.is_none() { squish::crown_remark(&then).into_iter().collect() } else { vec![] };
    Way { volume_m3: Some(dome_m3), impossible, remarks, ..way(WayKind::Dome) }
}

/// Why a crown cannot be built; none when it can.
pub(super) fn crown_fault(parts: &MeasuredVolumes, geometry: &Geometry) -> Option<WayFault> {
    let depth_m = -parts.dome_m3 / geometry.piston_area_m2();
    if parts.dome_m3 >= parts.chamber_m3 {
        Some(WayFault::DomeOverChamber)
    } else if depth_m > DEEPEST_DISH_M {
        Some(WayFault::DishTooDeep { depth_m })
    } else {
        None
    }
}

fn gasket(thickness_m: f64, squish_clearance_m: f64) -> Way {
    let impossible = if thickness_m <= 0.0 {
        Some(WayFault::NoGasketThinEnough)
    } else if thickness_m > THICKEST_GASKET_M {
        Some(WayFault::GasketTooThick { most_m: THICKEST_GASKET_M })
    } else {
        touches(squish_clearance_m)
    };
    let (thinnest, thickest) = USUAL_GASKETS_M;
    let is_usual = (thinnest..=thickest).contains(&thickness_m);
    let remarks = if is_usual { Vec::new() } else { vec![VolumesRemark::UnusualGasket] };
    Way { length_m: Some(thickness_m), squish_clearance_m, impossible, remarks, ..way(WayKind::Gasket) }
}

fn deck_cut(parts: &MeasuredVolumes, cut_m: f64, squish_clearance_m: f64) -> Way {
    let impossible = if cut_m < 0.0 { Some(WayFault::CutOnlyRaises) } else { touches(squish_clearance_m) };
    let mut remarks = cut_remarks(cut_m);
    if parts.deck_clearance_m < cut_m {
        remarks.push(VolumesRemark::PistonsStandOut { by_m: cut_m - parts.deck_clearance_m });
    }
    let valves_closer_m = cut_m;
    Way {
        length_m: Some(cut_m),
        squish_clearance_m,
        valves_closer_m,
        impossible,
        remarks,
        ..way(WayKind::DeckCut)
    }
}

/// The cut that takes `-change_m3` from the chamber: exact with a measured head face, else the least,
/// for the chamber at the face is no wider than the gasket bore.
fn head_cut(parts: &MeasuredVolumes, change_m3: f64) -> Way {
    let cut_m = -change_m3 / head_face_m2(parts);
    let impossible = if cut_m < 0.0 {
        Some(WayFault::CutOnlyRaises)
    } else if parts.chamber_m3 + change_m3 <= 0.0 {
        Some(WayFault::NoChamberLeft)
    } else {
        None
    };
    let at_least = parts.head_face_m2.is_none();
    let mut remarks = cut_remarks(cut_m);
    if at_least {
        remarks.push(VolumesRemark::HeadFaceNotMeasured);
    }
    let valves_closer_m = cut_m;
    Way { length_m: Some(cut_m), at_least, valves_closer_m, impossible, remarks, ..way(WayKind::HeadCut) }
}

/// Area of the chamber at the head face [m2]: as measured, or the most that it can be, the gasket bore.
pub(super) fn head_face_m2(parts: &MeasuredVolumes) -> f64 {
    parts.head_face_m2.unwrap_or_else(|| super::area_m2(parts.gasket_bore_m))
}

fn chamber(parts: &MeasuredVolumes, chamber_m3: f64) -> Way {
    let impossible = if chamber_m3 <= 0.0 {
        Some(WayFault::NoChamberLeft)
    } else if chamber_m3 < parts.chamber_m3 {
        Some(WayFault::ChamberOnlyGrows)
    } else {
        None
    };
    Way { volume_m3: Some(chamber_m3), impossible, ..way(WayKind::Chamber) }
}

fn touches(squish_clearance_m: f64) -> Option<WayFault> {
    if squish_clearance_m <= 0.0 {
        Some(WayFault::PistonInHead { by_m: -squish_clearance_m })
    } else if squish_clearance_m < LEAST_SQUISH_M {
        Some(WayFault::PistonHitsHead { clearance_m: squish_clearance_m })
    } else {
        None
    }
}

fn cut_remarks(cut_m: f64) -> Vec<VolumesRemark> {
    if cut_m > DEEP_CUT_M { vec![VolumesRemark::DeepCut] } else { Vec::new() }
}
