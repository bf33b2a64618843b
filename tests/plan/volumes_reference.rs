//! Compression ratios against worked examples, published and by hand, and against exact evaluation.

use approx::assert_relative_eq;
use endgas::engine::Geometry;
use endgas::engine::volumes::{MeasuredVolumes, Tolerances, clearance_for_ratio_m3};
use endgas::units::{CompressionRatio, M_PER_INCH};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use statrs::distribution::{ContinuousCDF as _, Normal};

/// One worked example, lengths in inches, volumes in cc.
struct Example {
    source: &'static str,
    bore_in: f64,
    stroke_in: f64,
    chamber_cc: f64,
    dish_cc: f64,
    deck_in: f64,
    gasket_in: f64,
    printed_ratio: f64,
    /// Half of the last printed digit, and the rounding of the figures that go in.
    tolerance: f64,
}

/// PUBLISHED: each example with its numbers as printed; the gasket bore is the bore in all.
const EXAMPLES: [Example; 2] = [
    Example {
        source: "\"Compression ratio rules\", Circle Track, 2004 (read)",
        bore_in: 4.0,
        stroke_in: 3.48,
        chamber_cc: 70.0,
        dish_cc: 5.0,
        deck_in: 0.050,
        gasket_in: 0.020,
        printed_ratio: 9.01,
        tolerance: 0.006,
    },
    Example {
        source: "\"Calculating compression\", Circle Track, 2011 (read)",
        bore_in: 4.0,
        stroke_in: 3.48,
        chamber_cc: 64.0,
        dish_cc: 5.0,
        deck_in: 0.033,
        gasket_in: 0.020,
        printed_ratio: 9.97,
        tolerance: 0.006,
    },
];

#[test]
fn published_examples_come_out_as_printed() {
    for example in EXAMPLES {
        let bore_m = example.bore_in * M_PER_INCH;
        let parts = MeasuredVolumes {
            chamber_m3: example.chamber_cc * 1e-6,
            dome_m3: -example.dish_cc * 1e-6,
            relief_m3: 0.0,
            deck_clearance_m: example.deck_in * M_PER_INCH,
            gasket_bore_m: bore_m,
            gasket_thickness_m: example.gasket_in * M_PER_INCH,
            crevice_m3: 0.0,
            head_face_m2: None,
            tolerances: Tolerances::USUAL,
        };
        let ratio = parts.ratio(bore_m, example.stroke_in * M_PER_INCH);
        let off = (ratio - example.printed_ratio).abs();
        assert!(off < example.tolerance, "{ratio} is not {} of {}", example.printed_ratio, example.source);
    }
}

/// HAND: bore 85, stroke 83 mm: 0.785398 8.5^2 = 56.7450 cm2, times 8.3 is 470.984 cc. Deck 0.4 mm 2.2698 cc;
/// gasket 87 mm, 1.1 mm: 59.4468 0.11 = 6.5391 cc. Clearance 44 - 7 (dome) + 4.5 (reliefs) + 2.2698 + 6.5391
/// + 1 (crevice) = 51.3089 cc; ratio 1 + 470.984 / 51.3089 = 10.1794.
#[test]
fn every_volume_counts_as_by_hand() {
    let parts = MeasuredVolumes {
        chamber_m3: 44e-6,
        dome_m3: 7e-6,
        relief_m3: 4.5e-6,
        deck_clearance_m: 0.4e-3,
        gasket_bore_m: 87e-3,
        gasket_thickness_m: 1.1e-3,
        crevice_m3: 1e-6,
        head_face_m2: None,
        tolerances: Tolerances::USUAL,
    };
    assert_relative_eq!(parts.clearance_m3(85e-3) * 1e6, 51.3089, epsilon = 2e-4);
    assert_relative_eq!(parts.ratio(85e-3, 83e-3), 10.1794, epsilon = 2e-4);
}

/// PUBLISHED (from memory): W. W. Pulkrabek, Engineering Fundamentals of the Internal Combustion Engine,
/// example 2-1: six cylinders, 3.0 L, bore = stroke, ratio 9.5: bore 8.60 cm and 59 cc clearance.
#[test]
fn a_textbook_cylinder_has_its_clearance() {
    let bore_m = (4.0 * 0.5e-3 / std::f64::consts::PI).cbrt();
    assert_relative_eq!(bore_m, 0.0860, epsilon = 0.5e-4);
    assert_relative_eq!(clearance_for_ratio_m3(0.5e-3, 9.5) * 1e6, 59.0, epsilon = 0.5);
}

/// HAND: 100 bore, 100 stroke, 150 rod, closing 60 deg after bottom: the piston is
/// 50 (1 - cos 120) + 150 - sqrt(150^2 - (50 sin 120)^2) = 75 + 6.386 = 81.386 mm down, so 639.20 cc
/// swept; at 10:1 the clearance is 785.398 / 9 = 87.266 cc: 1 + 639.20 / 87.266 = 8.3247.
#[test]
fn the_ratio_from_inlet_closing_is_that_of_the_slider_crank() {
    let geometry = Geometry {
        cylinders: 4,
        bore_m: 0.1,
        stroke_m: 0.1,
        rod_length_m: 0.15,
        pin_offset_m: 0.0,
        compression_ratio: CompressionRatio::new(10.0).unwrap(),
    };
    assert_relative_eq!(geometry.ratio_from_inlet_closing(60.0), 8.3247, epsilon = 2e-4);
    assert_relative_eq!(geometry.ratio_from_inlet_closing(0.0), 10.0, epsilon = 1e-12);
}

/// Every measurement drawn from its own normal spread: the 10-90 band of the exact ratio is that of the
/// first-order sum within 2 %, some three times the noise of 40 000 samples.
#[test]
fn the_tolerance_is_the_band_of_sampled_measurements() {
    let (bore_m, stroke_m) = (0.086, 0.086);
    let parts = MeasuredVolumes {
        chamber_m3: 46.0e-6,
        dome_m3: 3.0e-6,
        relief_m3: 1.5e-6,
        deck_clearance_m: 0.25e-3,
        gasket_bore_m: 0.0875,
        gasket_thickness_m: 1.0e-3,
        crevice_m3: 0.5e-6,
        head_face_m2: None,
        tolerances: Tolerances::USUAL,
    };
    let normal = Normal::new(0.0, 1.0).unwrap();
    let p90 = normal.inverse_cdf(0.9);
    let mut rng = ChaCha8Rng::seed_from_u64(7);
    let mut off = |half_width: f64| half_width / p90 * normal.inverse_cdf(rng.random_range(1e-12..1.0));
    let t = parts.tolerances;
    let mut ratios: Vec<f64> = (0..40_000)
        .map(|_| {
            let drawn = MeasuredVolumes {
                chamber_m3: parts.chamber_m3 + off(t.chamber_m3),
                dome_m3: parts.dome_m3 + off(t.dome_m3),
                relief_m3: parts.relief_m3 + off(t.relief_m3),
                deck_clearance_m: parts.deck_clearance_m + off(t.deck_clearance_m),
                gasket_bore_m: parts.gasket_bore_m + off(t.gasket_bore_m),
                gasket_thickness_m: parts.gasket_thickness_m + off(t.gasket_thickness_m),
                crevice_m3: parts.crevice_m3 + off(t.crevice_m3),
                ..parts
            };
            drawn.ratio(bore_m + off(t.bore_m), stroke_m + off(t.stroke_m))
        })
        .collect();
    ratios.sort_by(f64::total_cmp);
    let half = 0.5 * (ratios[36_000] - ratios[4_000]);
    assert_relative_eq!(parts.ratio_tolerance(bore_m, stroke_m), half, max_relative = 0.02);
    assert_relative_eq!(ratios[20_000], parts.ratio(bore_m, stroke_m), max_relative = 5e-4);
}
