//! Laws of measured volumes over random engines.

use crate::common::cases::cases;
use approx::assert_relative_eq;
use endgas::engine::Geometry;
use endgas::engine::volumes::{
    Combination, MeasuredVolumes, OctaneSlope, SEATED_LATER_DEG, SQUISH_RANGE_M, Tolerances, VolumesJob,
    VolumesSheet, Wanted, Way, WayKind, ring_land_crevice_m3,
};
use endgas::units::CompressionRatio;
use proptest::prelude::*;
use std::f64::consts::PI;

/// An engine and the parts that make its ratio.
#[derive(Clone, Copy, Debug)]
struct Engine {
    geometry: Geometry,
    parts: MeasuredVolumes,
}

fn engine() -> impl Strategy<Value = Engine> {
    let lengths = (70.0..105.0_f64, 65.0..105.0_f64, 1.5..1.9_f64, 7.5..15.0_f64);
    let parts = (-8.0..8.0_f64, 0.0..4.0_f64, -0.2..0.8_f64, 0.5..2.0_f64, 0.0..1.5_f64);
    (lengths, parts).prop_map(|((bore, stroke, rod, ratio), (dome, relief, deck, gasket, crevice))| {
        let (bore_m, stroke_m) = (bore * 1e-3, stroke * 1e-3);
        let mut parts = MeasuredVolumes {
            chamber_m3: 0.0,
            dome_m3: dome * 1e-6,
            relief_m3: relief * 1e-6,
            deck_clearance_m: deck * 1e-3,
            gasket_bore_m: bore_m + 1.5e-3,
            gasket_thickness_m: gasket * 1e-3,
            crevice_m3: crevice * 1e-6,
            head_face_m2: Some(0.6 * bore_m * bore_m),
            tolerances: Tolerances::USUAL,
        };
        parts.chamber_m3 = 40e-6;
        parts.chamber_m3 = parts.chamber_for_ratio_m3(bore_m, stroke_m, ratio);
        let geometry = Geometry {
            cylinders: 4,
            bore_m,
            stroke_m,
            rod_length_m: rod * stroke_m,
            pin_offset_m: 0.0,
            compression_ratio: CompressionRatio::new(ratio).unwrap(),
        };
        Engine { geometry, parts }
    })
}

fn octane() -> OctaneSlope {
    OctaneSlope { per_ratio: 4.0, speed_rpm: 4000.0, fuel: "premium-91".to_owned() }
}

impl Engine {
    fn ratio(&self, parts: &MeasuredVolumes) -> f64 {
        parts.ratio(self.geometry.bore_m, self.geometry.stroke_m)
    }

    fn sheet(&self, by_cylinder: &[MeasuredVolumes], wanted: Option<f64>) -> VolumesSheet {
        VolumesSheet::new(&VolumesJob {
            scenario: "random",
            geometry: &self.geometry,
            inlet_closes_deg_abdc: 55.0,
            inlet_seats_deg_abdc: 55.0 + SEATED_LATER_DEG,
            cam: None,
            air_pressure_pa: 99.0e3,
            volumes: Some(&self.parts),
            by_cylinder,
            octane: &octane(),
            wanted: wanted
                .map(|ratio| Wanted { ratio: CompressionRatio::new(ratio).unwrap(), octane_per_ratio: 5.0 }),
        })
    }

    /// The parts after one of them was changed.
    fn changed(&self, kind: WayKind, volume_m3: Option<f64>, length_m: Option<f64>) -> MeasuredVolumes {
        let mut parts = self.parts;
        let face_m2 = parts.head_face_m2.unwrap_or(0.25 * PI * parts.gasket_bore_m.powi(2));
        let (volume_m3, length_m) = (volume_m3.unwrap_or(0.0), length_m.unwrap_or(0.0));
        match kind {
            WayKind::Dome => parts.dome_m3 = volume_m3,
            WayKind::Gasket => parts.gasket_thickness_m = length_m,
            WayKind::DeckCut => parts.deck_clearance_m -= length_m,
            WayKind::HeadCut => parts.chamber_m3 -= face_m2 * length_m,
            WayKind::Chamber => parts.chamber_m3 = volume_m3,
        }
        parts
    }

    /// The engine after all parts of a combination were changed.
    fn combined(&self, combination: &Combination) -> Self {
        combination.changes.iter().fold(*self, |engine, change| Self {
            parts: engine.changed(change.kind, change.volume_m3, change.length_m),
            ..engine
        })
    }

    /// How much closer the valves come with other parts, a head cut aside [m].
    fn deck_and_gasket_closer_m(&self, then: &MeasuredVolumes) -> f64 {
        self.parts.squish_clearance_m() - then.squish_clearance_m()
    }
}

proptest! {
    #![proptest_config(cases(256, 1))]

    #[test]
    fn each_way_makes_the_wanted_ratio(engine in engine(), wanted in 7.0..16.0_f64) {
        let sheet = engine.sheet(&[], Some(wanted));
        let found = sheet.wanted.unwrap();
        prop_assert_eq!(found.ways.len(), 5);
        for way in &found.ways {
            let then = engine.changed(way.kind, way.volume_m3, way.length_m);
            // A way that cannot be built is still the solution of the sum, so that the reason is true.
            assert_relative_eq!(engine.ratio(&then), wanted, max_relative = 1e-9);
            let head_cut_m = way.length_m.filter(|_| way.kind == WayKind::HeadCut).unwrap_or(0.0);
            let closer_m = head_cut_m + engine.deck_and_gasket_closer_m(&then);
            assert_relative_eq!(way.valves_closer_m, closer_m, epsilon = 1e-12);
            if way.impossible.is_none() {
                let moved = matches!(way.kind, WayKind::Gasket | WayKind::DeckCut);
                let squish_m = if moved { then.squish_clearance_m() } else { engine.parts.squish_clearance_m() };
                assert_relative_eq!(way.squish_clearance_m, squish_m, max_relative = 1e-9);
                prop_assert!(!moved || squish_m >= 0.5e-3);
            } else {
                prop_assert!(way.remarks.is_empty());
            }
        }
        let is_cut = |way: &&Way| matches!(way.kind, WayKind::DeckCut | WayKind::HeadCut);
        if wanted < engine.geometry.compression_ratio.get() {
            prop_assert!(found.ways.iter().filter(is_cut).all(|way| way.impossible.is_some()));
        }
    }

    #[test]
    fn each_combination_makes_the_wanted_ratio_and_can_be_built(
        engine in engine(), wanted in 7.0..16.0_f64, face_measured in any::<bool>(),
    ) {
        let mut engine = engine;
        engine.parts.head_face_m2 = engine.parts.head_face_m2.filter(|_| face_measured);
        let found = engine.sheet(&[], Some(wanted)).wanted.unwrap();
        prop_assert_eq!(found.combinations.is_empty(), found.no_combination.is_some());
        prop_assert!(found.combinations.len() <= 3);
        for combination in &found.combinations {
            let then = engine.combined(combination).parts;
            let changes = &combination.changes;
            prop_assert!(changes.len() >= 2, "{combination:?}");
            assert_relative_eq!(engine.ratio(&then), wanted, epsilon = 0.005);
            assert_relative_eq!(combination.compression_ratio, engine.ratio(&then), max_relative = 1e-9);
            let squish_m = then.squish_clearance_m();
            assert_relative_eq!(combination.squish_clearance_m, squish_m, max_relative = 1e-9);
            prop_assert!(SQUISH_RANGE_M.0 - 1e-9 <= squish_m && squish_m <= SQUISH_RANGE_M.1 + 1e-9);
            assert_relative_eq!(combination.dome_share_frac, then.dome_m3 / then.chamber_m3, epsilon = 1e-9);
            let of = |kind| changes.iter().find(|change| change.kind == kind).and_then(|change| change.length_m);
            let cuts = [of(WayKind::DeckCut), of(WayKind::HeadCut)];
            let thinner_m = engine.parts.gasket_thickness_m - then.gasket_thickness_m;
            let closer_m = cuts.iter().flatten().sum::<f64>() + thinner_m;
            assert_relative_eq!(combination.valves_closer_m, closer_m, epsilon = 1e-12);
            // What can be built: no deep cut, no piston cut out of the block, metal in dish and chamber.
            prop_assert!(cuts.iter().flatten().all(|cut_m| (0.0..=0.5e-3 + 1e-9).contains(cut_m)));
            prop_assert!(cuts[0].is_none() || then.deck_clearance_m >= -1e-9);
            prop_assert!(then.chamber_m3 > 0.0);
            if changes.iter().any(|change| change.kind == WayKind::Dome) {
                prop_assert!(combination.dome_share_frac <= 0.2 + 1e-9);
                prop_assert!(-then.dome_m3 / engine.geometry.piston_area_m2() <= 6.0e-3 + 1e-9);
            }
            for change in changes {
                prop_assert_eq!(change.at_least, change.kind == WayKind::HeadCut && !face_measured);
            }
        }
        let mut kinds: Vec<Vec<_>> =
            found.combinations.iter().map(|c| c.changes.iter().map(|change| change.kind as u8).collect()).collect();
        kinds.sort();
        kinds.dedup();
        prop_assert_eq!(kinds.len(), found.combinations.len(), "no two change the same parts");
    }

    #[test]
    fn more_volume_is_less_ratio_and_more_dome_is_more(engine in engine(), step in 0.01..1.0_f64) {
        let (p, cc, mm) = (engine.parts, step * 1e-6, step * 1e-4);
        let now = engine.ratio(&p);
        for more in [
            MeasuredVolumes { chamber_m3: p.chamber_m3 + cc, ..p },
            MeasuredVolumes { relief_m3: p.relief_m3 + cc, ..p },
            MeasuredVolumes { deck_clearance_m: p.deck_clearance_m + mm, ..p },
            MeasuredVolumes { gasket_bore_m: p.gasket_bore_m + mm, ..p },
            MeasuredVolumes { gasket_thickness_m: p.gasket_thickness_m + mm, ..p },
            MeasuredVolumes { crevice_m3: p.crevice_m3 + cc, ..p },
        ] {
            prop_assert!(engine.ratio(&more) < now, "{more:?}");
        }
        let higher_dome = MeasuredVolumes { dome_m3: p.dome_m3 + cc, ..p };
        prop_assert!(engine.ratio(&higher_dome) > now);
        let (low, high) = (step * 1e-3, 2.0 * step * 1e-3);
        let land = |clearance_m| ring_land_crevice_m3(engine.geometry.bore_m, 6.0e-3, clearance_m);
        prop_assert!(land(low) < land(high));
    }

    #[test]
    fn tolerances_scale_the_band(engine in engine(), factor in 0.0..3.0_f64) {
        let u = Tolerances::USUAL;
        let scaled = Tolerances {
            chamber_m3: u.chamber_m3 * factor,
            dome_m3: u.dome_m3 * factor,
            relief_m3: u.relief_m3 * factor,
            deck_clearance_m: u.deck_clearance_m * factor,
            gasket_bore_m: u.gasket_bore_m * factor,
            gasket_thickness_m: u.gasket_thickness_m * factor,
            crevice_m3: u.crevice_m3 * factor,
            bore_m: u.bore_m * factor,
            stroke_m: u.stroke_m * factor,
        };
        let (bore_m, stroke_m) = (engine.geometry.bore_m, engine.geometry.stroke_m);
        let one = engine.parts.ratio_tolerance(bore_m, stroke_m);
        let many = MeasuredVolumes { tolerances: scaled, ..engine.parts }.ratio_tolerance(bore_m, stroke_m);
        assert_relative_eq!(many, factor * one, max_relative = 1e-9);
    }

    #[test]
    fn cylinders_agree_with_their_mean(engine in engine(), off in prop::collection::vec(-1.0..1.0_f64, 4)) {
        let mean_off = off.iter().sum::<f64>() / 4.0;
        let each: Vec<_> = off
            .iter()
            .map(|cc| {
                let chamber_m3 = engine.parts.chamber_m3 + (cc - mean_off) * 1e-6;
                MeasuredVolumes { chamber_m3, ..engine.parts }
            })
            .collect();
        let sheet = engine.sheet(&each, None);
        let mean_m3 = sheet.by_cylinder.iter().map(|c| c.clearance_m3).sum::<f64>() / 4.0;
        assert_relative_eq!(mean_m3, sheet.clearance_m3, max_relative = 1e-9);
        let spread = sheet.spread.unwrap();
        for (cylinder, parts) in sheet.by_cylinder.iter().zip(&each) {
            prop_assert!(cylinder.compression_ratio <= spread.highest_ratio);
            prop_assert!(cylinder.compression_ratio >= spread.lowest_ratio);
            let chamber_m3 = parts.chamber_m3 + cylinder.to_mean_m3;
            let levelled = engine.ratio(&MeasuredVolumes { chamber_m3, ..*parts });
            assert_relative_eq!(levelled, sheet.compression_ratio, max_relative = 1e-9);
        }
        let apart = spread.highest_ratio - spread.lowest_ratio;
        prop_assert!(spread.highest_to_mean_m3 >= -1e-12);
        assert_relative_eq!(spread.octane.likely, 4.0 * apart, epsilon = 1e-12);
        // The harmonic mean: no cylinder set has a mean ratio below that of the mean clearance.
        let arithmetic = sheet.by_cylinder.iter().map(|c| c.compression_ratio).sum::<f64>() / 4.0;
        prop_assert!(arithmetic >= sheet.compression_ratio - 1e-9);
    }

    #[test]
    fn later_closing_is_less_effective_ratio_and_less_pressure(
        engine in engine(), first in 10.0..80.0_f64, later in 1.0..20.0_f64,
    ) {
        let g = engine.geometry;
        let (early, late) = (g.ratio_from_inlet_closing(first), g.ratio_from_inlet_closing(first + later));
        prop_assert!(late < early && early < g.compression_ratio.get() && late > 1.0);
        let at = |closes_deg| {
            let job = VolumesJob {
                scenario: "random",
                geometry: &g,
                inlet_closes_deg_abdc: closes_deg,
                inlet_seats_deg_abdc: closes_deg + SEATED_LATER_DEG,
                cam: None,
                air_pressure_pa: 99.0e3,
                volumes: None,
                by_cylinder: &[],
                octane: &octane(),
                wanted: None,
            };
            VolumesSheet::new(&job).cranking
        };
        let (early, late) = (at(first), at(first + later));
        prop_assert!(late.likely_gauge_pa < early.likely_gauge_pa);
        prop_assert!(late.low_gauge_pa > 0.0 && late.low_gauge_pa < late.high_gauge_pa);
        // Heat and leakage keep it below the adiabatic pressure of air at the full ratio.
        prop_assert!(early.high_pa < 99.0e3 * g.compression_ratio.get().powf(1.4));
    }
}
