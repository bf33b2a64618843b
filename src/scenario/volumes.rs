//! As meant: `[engine.volumes]`, the measured volumes, each cylinder's where they are given.

use super::parts::{MOST_CYLINDERS, cc_to_m3, mm_to_m};
use crate::engine::volumes::{MeasuredVolumes, Tolerances, ring_land_crevice_m3};
use crate::input::{Expected, KeyWay, Section};
use crate::units::{Allowed, CompressionRatio, Unit};
use std::f64::consts::PI;

/// The mean cylinder, and each cylinder where a measurement is given by cylinder.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Volumes {
    pub mean: MeasuredVolumes,
    pub by_cylinder: Vec<MeasuredVolumes>,
}

/// A measurement that is given once for all cylinders or as a list, one entry per cylinder.
struct VolumeKeys {
    once: &'static str,
    list: &'static str,
    allowed: Allowed,
}

const CHAMBER: VolumeKeys = VolumeKeys {
    once: "chamber_cc",
    list: "chamber_cc_by_cylinder",
    allowed: Unit::CubicCentimetre.of(5.0..=250.0),
};
const DOME: VolumeKeys = VolumeKeys {
    once: "dome_cc",
    list: "dome_cc_by_cylinder",
    allowed: Unit::CubicCentimetre.of(-60.0..=60.0),
};
const DECK: VolumeKeys = VolumeKeys {
    once: "deck_clearance_mm",
    list: "deck_clearance_mm_by_cylinder",
    allowed: Unit::Millimetre.of(-2.0..=5.0),
};

/// Values of a measurement: one, or one per cylinder.
struct Values(Vec<f64>);

impl Values {
    fn mean(&self) -> f64 {
        self.0.iter().sum::<f64>() / self.0.len() as f64
    }

    /// The value of a cylinder, from 0.
    fn of(&self, cylinder: usize) -> f64 {
        self.0.get(cylinder).or(self.0.first()).copied().unwrap_or_default()
    }

    fn is_list(&self) -> bool {
        self.0.len() > 1
    }
}

fn values(s: &mut Section<'_, '_>, measurement: &VolumeKeys, cylinders: Option<u32>) -> Option<Values> {
    let VolumeKeys { once, list, allowed } = measurement;
    let (fewest, most) = cylinders.map_or((1, MOST_CYLINDERS), |count| (count, count));
    let length = fewest as usize..=most as usize;
    let ways = format!("{allowed}; or give the list {list}");
    s.one_of(
        Some((once, Expected::OneOf(ways))),
        &[
            KeyWay {
                words: once,
                keys: &[once],
                read: &|s| s.number(once, *allowed).map(|value| Values(vec![value])),
            },
            KeyWay {
                words: list,
                keys: &[list],
                read: &|s| s.numbers(list, length.clone(), *allowed).map(Values),
            },
        ],
    )
}

/// `[engine.volumes]`; the bore is that of `[engine]` [mm].
pub(super) fn volumes(s: &mut Section<'_, '_>, bore: Option<f64>, cylinders: Option<u32>) -> Option<Volumes> {
    let chamber = values(s, &CHAMBER, cylinders);
    let dome = values(s, &DOME, cylinders);
    let relief = s.optional_number("relief_cc", Unit::CubicCentimetre.of(0.0..=30.0));
    let deck = values(s, &DECK, cylinders);
    let gasket_bore = s.number("gasket_bore_mm", Unit::Millimetre.of(40.0..=160.0));
    let thickness = s.number("gasket_thickness_mm", Unit::Millimetre.of(0.1..=4.0));
    let crevice = crevice_m3(s, bore);
    let face = head_face_m2(s, gasket_bore);
    let tolerances = tolerances(s);
    gasket_clears_bore(s, bore, gasket_bore);
    pistons_clear_head(s, deck.as_ref(), thickness);
    let (chamber, dome, deck) = (chamber?, dome?, deck?);
    let of = |chamber_cc: f64, dome_cc: f64, deck_mm: f64| -> Option<MeasuredVolumes> {
        Some(MeasuredVolumes {
            chamber_m3: cc_to_m3(chamber_cc),
            dome_m3: cc_to_m3(dome_cc),
            relief_m3: cc_to_m3(relief.unwrap_or(0.0)),
            deck_clearance_m: mm_to_m(deck_mm),
            gasket_bore_m: mm_to_m(gasket_bore?),
            gasket_thickness_m: mm_to_m(thickness?),
            crevice_m3: crevice?,
            head_face_m2: face,
            tolerances,
        })
    };
    let is_list = chamber.is_list() || dome.is_list() || deck.is_list();
    let count = if is_list { cylinders? as usize } else { 0 };
    let each: Option<Vec<_>> = (0..count).map(|i| of(chamber.of(i), dome.of(i), deck.of(i))).collect();
    Some(Volumes { mean: of(chamber.mean(), dome.mean(), deck.mean())?, by_cylinder: each? })
}

/// The crevice above the top ring [m3], stated or from the ring land; 0 when neither is given.
fn crevice_m3(s: &mut Section<'_, '_>, bore: Option<f64>) -> Option<f64> {
    const LAND: [&str; 2] = ["ring_land_height_mm", "ring_land_clearance_mm"];
    let stated = s.one_of(
        None,
        &[
            KeyWay {
                words: "crevice_cc",
                keys: &["crevice_cc"],
                read: &|s| s.optional_number("crevice_cc", Unit::CubicCentimetre.of(0.0..=5.0)).map(cc_to_m3),
            },
            KeyWay {
                words: "the ring land",
                keys: &LAND,
                read: &|s| {
                    let height = s.optional_number(LAND[0], Unit::Millimetre.of(1.0..=20.0));
                    let clearance = s.optional_number(LAND[1], Unit::Millimetre.of(0.02..=1.5));
                    for (key, other) in [(LAND[0], LAND[1]), (LAND[1], LAND[0])] {
                        s.goes_with(key, other, &format!("the ring land needs {other} as well"));
                    }
                    Some(ring_land_crevice_m3(mm_to_m(bore?), mm_to_m(height?), mm_to_m(clearance?)))
                },
            },
        ],
    );
    let is_given = s.has("crevice_cc") || LAND.into_iter().any(|key| s.has(key));
    if is_given { stated } else { Some(0.0) }
}

/// Area of the chamber at the head face [m2] from what a cut takes.
fn head_face_m2(s: &mut Section<'_, '_>, gasket_bore: Option<f64>) -> Option<f64> {
    const KEY: &str = "head_cut_cc_per_mm";
    let by_cut = s.optional_number(KEY, Unit::CubicCentimetrePerMillimetre.of(0.3..=20.0))?;
    let most = 0.25e-3 * PI * gasket_bore?.powi(2);
    if by_cut > most {
        let why = format!("the gasket bore encloses {most:.2} cc per mm, and the chamber cannot be wider");
        s.contradiction(KEY, &why, None);
    }
    Some(cc_to_m3(by_cut) / mm_to_m(1.0))
}

/// What is stated of tolerances, or what is usual. Reliefs and crevice that are not stated have none.
fn tolerances(s: &mut Section<'_, '_>) -> Tolerances {
    let usual = Tolerances::USUAL;
    let has_crevice = s.has("crevice_cc") || s.has("ring_land_height_mm");
    let has_relief = s.has("relief_cc");
    let mut where_given = |key, is_given, usual_m3| {
        let stated = s.optional_si(key, Unit::CubicCentimetre.of(0.0..=5.0));
        stated.unwrap_or(if is_given { usual_m3 } else { 0.0 })
    };
    let relief_m3 = where_given("relief_tolerance_cc", has_relief, usual.relief_m3);
    let crevice_m3 = where_given("crevice_tolerance_cc", has_crevice, usual.crevice_m3);
    // One that is wrong is noted; what is usual then does no harm.
    let mut known = |key, unit: Unit, most, usual_si: f64| {
        let stated = s.si_or(key, unit.of(0.0..=most), unit.written(usual_si)).filter(|_| s.has(key));
        stated.unwrap_or(usual_si)
    };
    let chamber_m3 = known("chamber_tolerance_cc", Unit::CubicCentimetre, 10.0, usual.chamber_m3);
    let dome_m3 = known("dome_tolerance_cc", Unit::CubicCentimetre, 10.0, usual.dome_m3);
    let mut mm = |key, most, usual_m: f64| known(key, Unit::Millimetre, most, usual_m);
    Tolerances {
        chamber_m3,
        dome_m3,
        relief_m3,
        deck_clearance_m: mm("deck_clearance_tolerance_mm", 1.0, usual.deck_clearance_m),
        gasket_bore_m: mm("gasket_bore_tolerance_mm", 5.0, usual.gasket_bore_m),
        gasket_thickness_m: mm("gasket_thickness_tolerance_mm", 1.0, usual.gasket_thickness_m),
        crevice_m3,
        bore_m: mm("bore_tolerance_mm", 1.0, usual.bore_m),
        stroke_m: mm("stroke_tolerance_mm", 1.0, usual.stroke_m),
    }
}

fn gasket_clears_bore(s: &mut Section<'_, '_>, bore: Option<f64>, gasket_bore: Option<f64>) {
    if let (Some(bore), Some(gasket)) = (bore, gasket_bore)
        && gasket < bore
    {
        let why = format!("the gasket would reach into the cylinder, whose bore_mm is {bore}");
        s.contradiction("gasket_bore_mm", &why, None);
    }
}

fn pistons_clear_head(s: &mut Section<'_, '_>, deck: Option<&Values>, thickness: Option<f64>) {
    let (Some(deck), Some(thickness)) = (deck, thickness) else { return };
    if deck.0.iter().any(|deck| deck + thickness <= 0.0) {
        let key = if deck.is_list() { DECK.list } else { DECK.once };
        let why = format!("with gasket_thickness_mm = {thickness} the piston would touch the head");
        let hint = "it is positive when the piston stops below the deck".to_owned();
        s.contradiction(key, &why, Some(hint));
    }
}

/// Widest half of the 10-90 % band of a ratio from measured volumes [-] (common practice, no source).
const MOST_RATIO_TOLERANCE: f64 = 1.5;

/// The ratio that measured volumes give, that of the mean clearance volume of all cylinders; noted
/// when it, or that of one cylinder, is outside the range. Lengths in mm.
pub(super) fn measured_ratio(
    s: &mut Section<'_, '_>,
    measured: Option<&Volumes>,
    bore: Option<f64>,
    stroke: Option<f64>,
) -> Option<f64> {
    let (measured, bore_m, stroke_m) = (measured?, mm_to_m(bore?), mm_to_m(stroke?));
    let mean = ratio_in_range(s, &measured.mean, "the volumes leave", bore_m, stroke_m)?;
    let tolerance = measured.mean.ratio_tolerance(bore_m, stroke_m);
    if tolerance > MOST_RATIO_TOLERANCE {
        let why = format!(
            "the tolerances leave the ratio {mean:.2} uncertain by {tolerance:.2} either way; more than {MOST_RATIO_TOLERANCE} says nothing of it"
        );
        s.contradiction(
            "volumes",
            &why,
            Some("measure again, or check the unit of the tolerances".to_owned()),
        );
        return None;
    }
    for (i, cylinder) in measured.by_cylinder.iter().enumerate() {
        let whose = format!("the volumes of cylinder {} leave", i + 1);
        ratio_in_range(s, cylinder, &whose, bore_m, stroke_m)?;
    }
    Some(mean)
}

fn ratio_in_range(
    s: &mut Section<'_, '_>,
    volumes: &MeasuredVolumes,
    whose: &str,
    bore_m: f64,
    stroke_m: f64,
) -> Option<f64> {
    let clearance_cc = volumes.clearance_m3(bore_m) * 1.0e6;
    if clearance_cc <= 0.0 {
        let why = format!("{whose} {clearance_cc:.1} cc above the piston at top dead centre");
        let hint = "a dome takes volume away and is positive; a dish is negative".to_owned();
        s.contradiction("volumes", &why, Some(hint));
        return None;
    }
    let ratio = volumes.ratio(bore_m, stroke_m);
    let range = CompressionRatio::RANGE;
    if !range.contains(&ratio) {
        let (low, high) = (range.start(), range.end());
        let why = format!(
            "{whose} {clearance_cc:.1} cc and so give a compression ratio of {ratio:.2}, outside {low} to {high}"
        );
        let hint = "a dome is positive, a dish negative; volumes are those of one cylinder".to_owned();
        s.contradiction("volumes", &why, Some(hint));
        return None;
    }
    Some(ratio)
}
