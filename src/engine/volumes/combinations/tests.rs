//! Combinations by hand.

use super::super::OctaneSlope;
use super::super::tests::parts;
use super::*;
use crate::units::CompressionRatio;
use approx::assert_relative_eq;

/// Combinations of the parts by hand of 84 bore and 90 stroke: 498.759 cc swept, 55.417 cm2 of piston.
fn found(now: &MeasuredVolumes, ratio: f64) -> Result<Vec<Combination>, NoCombination> {
    let now_ratio = now.ratio(0.084, 0.090);
    let geometry = Geometry {
        cylinders: 4,
        bore_m: 0.084,
        stroke_m: 0.090,
        rod_length_m: 0.145,
        pin_offset_m: 0.0,
        compression_ratio: CompressionRatio::new(now_ratio).unwrap(),
    };
    let octane = OctaneSlope { per_ratio: 4.0, speed_rpm: 4000.0, fuel: "premium-91".to_owned() };
    let job = VolumesJob {
        scenario: "hand",
        geometry: &geometry,
        inlet_closes_deg_abdc: 55.0,
        inlet_seats_deg_abdc: 70.0,
        cam: None,
        air_pressure_pa: 1e5,
        volumes: Some(now),
        by_cylinder: &[],
        octane: &octane,
        wanted: None,
    };
    combinations(&job, now, ratio)
}

fn kinds(combination: &Combination) -> Vec<WayKind> {
    combination.changes.iter().map(|change| change.kind).collect()
}

/// HAND: 57.4454 cc now, ratio 9.682, squish 1.5 mm (0.5 deck, 1.0 gasket). 10.2:1 takes 498.759 / 9.2 = 54.2129 cc,
/// 3.2325 cc less.
///
/// 1. Deck and gasket: a 0.9 gasket takes 0.56745 cc, the deck the other 2.66505 cc over 55.417 cm2: 0.4809 mm, squish
///    0.9191 mm. With 0.7 the cut is 0.276 and squish 0.924, nearer the aim of 1.0. No other is in range.
/// 2. Deck cut 0.5 to squish 1.0 takes 2.77090 cc; the piston the other 0.4616: dome 2.4616 cc, 4.9 % of 50 cc.
/// 3. The head the same 0.4616 cc over 56.745 cm2 (gasket bore): 0.0813 mm at least.
#[test]
fn raised_by_hand() {
    let found = found(&parts(), 10.2).unwrap();
    let [one, two, three] = found.as_slice() else { panic!("{found:?}") };
    assert_eq!(kinds(one), [WayKind::DeckCut, WayKind::Gasket]);
    assert_relative_eq!(one.changes[0].length_m.unwrap() * 1e3, 0.2761, epsilon = 1e-4);
    assert_eq!(one.changes[1].length_m, Some(0.7e-3));
    assert_relative_eq!(one.squish_clearance_m * 1e3, 0.9239, epsilon = 1e-4);
    assert_relative_eq!(one.valves_closer_m * 1e3, 0.5761, epsilon = 1e-4);
    assert_eq!(one.remarks, [CombinationRemark::TightSquish]);
    assert_eq!(kinds(two), [WayKind::DeckCut, WayKind::Dome]);
    assert_relative_eq!(two.changes[0].length_m.unwrap(), 0.5e-3, max_relative = 1e-9);
    assert_relative_eq!(two.changes[1].volume_m3.unwrap() * 1e6, 2.4616, epsilon = 2e-4);
    assert_relative_eq!(two.dome_share_frac, 0.04923, epsilon = 1e-5);
    assert!(two.remarks.is_empty());
    assert_eq!(kinds(three), [WayKind::DeckCut, WayKind::HeadCut]);
    assert_relative_eq!(three.changes[1].length_m.unwrap() * 1e3, 0.0813, epsilon = 1e-4);
    assert!(three.changes[1].at_least);
    assert_eq!(three.remarks, [CombinationRemark::HeadFaceNotMeasured]);
    for combination in [two, three] {
        assert_relative_eq!(combination.squish_clearance_m, 1.0e-3, max_relative = 1e-9);
    }
    for combination in [one, two, three] {
        assert_relative_eq!(combination.compression_ratio, 10.2, max_relative = 1e-9);
    }
}

/// HAND: 9:1 takes 498.759 / 8 = 62.3449 cc, 4.8995 cc more. Squish of 1.5 mm is too wide, so the deck is cut 0.5
/// (2.7709 cc): dish 2 - 4.8995 - 2.7709 = -5.6704 cc, or chamber 50 + 7.6704 = 57.6704 cc. Or a 0.7 gasket, squish
/// 1.2 (1.7024 cc): dish 2 - 4.8995 - 1.7024 = -4.6019 cc.
#[test]
fn lowered_by_hand() {
    let found = found(&parts(), 9.0).unwrap();
    let [one, two, three] = found.as_slice() else { panic!("{found:?}") };
    assert_eq!(kinds(one), [WayKind::DeckCut, WayKind::Dome]);
    assert_relative_eq!(one.changes[1].volume_m3.unwrap() * 1e6, -5.6704, epsilon = 2e-4);
    assert!(one.dome_share_frac < 0.0);
    assert_eq!(kinds(two), [WayKind::DeckCut, WayKind::Chamber]);
    assert_relative_eq!(two.changes[1].volume_m3.unwrap() * 1e6, 57.6704, epsilon = 2e-4);
    assert_eq!(two.remarks, [CombinationRemark::ChamberWalls]);
    assert_eq!(kinds(three), [WayKind::Gasket, WayKind::Dome]);
    assert_relative_eq!(three.changes[1].volume_m3.unwrap() * 1e6, -4.6019, epsilon = 2e-4);
    assert_relative_eq!(three.squish_clearance_m, 1.2e-3, max_relative = 1e-9);
}

/// HAND: squish 1.0 at zero deck is right already, so nothing is set; 12:1 takes 498.759 / 11 = 45.342 cc of 54.6745,
/// 9.333 less: half a millimetre of a head of 45 cm2 is 2.25 cc, the dome the other 7.083: 9.083 cc of 47.75.
#[test]
fn squish_that_is_right_stays_and_a_deep_cut_is_shared_with_the_piston() {
    let right = MeasuredVolumes { deck_clearance_m: 0.0, ..parts() };
    assert_eq!(found(&right, 12.0), Err(NoCombination::SquishIsSet));
    let measured = MeasuredVolumes { head_face_m2: Some(45e-4), ..right };
    let found = found(&measured, 12.0).unwrap();
    let [one] = found.as_slice() else { panic!("{found:?}") };
    assert_eq!(kinds(one), [WayKind::HeadCut, WayKind::Dome]);
    assert_eq!(one.changes[0].length_m, Some(DEEP_CUT_M));
    assert!(!one.changes[0].at_least);
    assert_relative_eq!(one.changes[1].volume_m3.unwrap() * 1e6, 9.083, epsilon = 2e-3);
    assert_relative_eq!(one.dome_share_frac, 9.083 / 47.75, epsilon = 1e-4);
    assert_eq!(one.remarks, [CombinationRemark::DomeSlowsBurn]);
}

#[test]
fn what_cannot_be_combined_says_why() {
    // HAND: with the piston 1.5 mm out of the block the thickest common gasket, 1.8, leaves 0.3 mm; with 3 mm of
    // deck, half a millimetre of cut and the thinnest gasket leave 3.2 mm.
    for deck_m in [-1.5e-3, 3.0e-3] {
        let parts = MeasuredVolumes { deck_clearance_m: deck_m, ..parts() };
        let ratio = parts.ratio(0.084, 0.090) + 0.5;
        assert_eq!(found(&parts, ratio), Err(NoCombination::SquishOutOfReach));
    }
    // HAND: 17:1 leaves 31.17 cc; the dome would have to be some 25 of 50 cc.
    assert_eq!(found(&parts(), 17.0), Err(NoCombination::RestTooMuch));
}
