//! Octane numbers of blends against the rows: every residual is printed, none is hidden.

use super::octane_rows::{BLEND_ROWS, on_base, regular, residual_rows};
use super::rows::{LIBRARY, row};
use endgas::fuel::OctaneRating;
use endgas::fuel::octane::{OCTANE_BLENDING, OctaneConcern};

fn sold(name: &str) -> OctaneRating {
    LIBRARY.resolve(name).unwrap().blend().unwrap().octane
}

/// PUBLISHED, mostly from memory (see the basis column). Neat ethanol is from one of its sources; the
/// interaction of RON is fitted to the rows of `BLEND_ROWS` (see `octane_fit.rs`).
#[test]
fn octane_residuals_are_within_the_stated_bounds() {
    let median = |sizes: &[(f64, &str)]| sizes[sizes.len() / 2].0;
    let mut sizes: Vec<(f64, &str)> = Vec::new();
    println!("{:<14} {:>8} {:>8} {:>8}  basis", "row", "printed", "ours", "residual");
    for (id, ours) in residual_rows() {
        let row = row(id);
        let residual = ours - row.middle();
        println!("{id:<14} {:>8.1} {ours:>8.1} {residual:>8.2}  {}", row.middle(), row.basis);
        sizes.push((residual.abs(), id));
    }
    sizes.sort_by(|a, b| a.0.total_cmp(&b.0));
    let blends: Vec<(f64, &str)> = sizes.iter().copied().filter(|(_, id)| !id.contains("ETOH_")).collect();
    let (worst, worst_id) = sizes[sizes.len() - 1];
    println!(
        "median {:.2}, of blends alone {:.2}, worst {worst:.2} ({worst_id})",
        median(&sizes),
        median(&blends)
    );
    assert!(median(&sizes) <= 1.5 && median(&blends) <= 1.5);
    // The E30 of one series and a neat MON two above most sources are 2.5 and 2.3 low.
    assert!(worst <= 2.6, "worst {worst} at {worst_id}");
    assert_eq!(sizes.len(), 26);
}

/// The grades as sold: the bases were solved for these rows, so this holds by choice. RON and MON
/// of the EU grades are the minimum of the grade.
#[test]
fn grades_as_sold_have_their_octane() {
    for (name, ron, mon) in [
        ("regular-87", "M_REG_RON", "M_REG_MON"),
        ("premium-91", "M_PRE91_RON", "M_PRE91_MON"),
        ("premium-93", "M_PRE93_RON", "M_PRE93_MON"),
    ] {
        let octane = sold(name);
        assert!((octane.ron - row(ron).middle()).abs() < 0.1, "{name}: {octane:?}");
        assert!((octane.mon - row(mon).middle()).abs() < 0.1, "{name}: {octane:?}");
    }
    for (name, ron, mon) in [("euro-95", 95.0, 85.0), ("euro-98", 98.0, 88.0)] {
        let octane = sold(name);
        assert!((octane.ron - ron).abs() < 0.1 && (octane.mon - mon).abs() < 0.1, "{name}: {octane:?}");
    }
}

/// Scale definitions and the spread of published toluene values.
#[test]
fn pure_hydrocarbons_have_their_octane() {
    for (name, ron, mon) in [
        ("isooctane", "IC8_RON", "IC8_MON"),
        ("n-heptane", "NC7_RON", "NC7_MON"),
        ("toluene", "TOL_RON", "TOL_MON"),
    ] {
        let octane = sold(name);
        assert_eq!((octane.ron, octane.mon), (row(ron).middle(), row(mon).middle()), "{name}");
    }
}

/// E85 as sold lies in the published spread of E85 (RON 102 to 108, MON 85 to 90) at every content
/// it may have from the annual average up.
#[test]
fn e85_as_sold_lies_in_the_published_spread() {
    let e85 = LIBRARY.resolve("e85").unwrap();
    for content in [0.74, 0.79, 0.83] {
        let octane = e85.blend_at(content).unwrap().octane;
        assert!((102.0..=108.0).contains(&octane.ron), "{content}: {octane:?}");
        assert!((85.0..=90.0).contains(&octane.mon), "{content}: {octane:?}");
    }
    // At the lowest legal content the weak base pulls it below: the safe side.
    assert!(e85.blend_at(0.51).unwrap().octane.ron < 102.0);
}

/// HAND: at E10 x = 0.204 and x(1-x) = 0.1624; at E30 0.2500; at E85 0.0660.
#[test]
fn interaction_adds_its_stated_amount_to_ron_only() {
    for (content, factor) in [(0.10, 0.1624), (0.30, 0.2500), (0.85, 0.0660)] {
        let blend = on_base(88.0, 82.0, content);
        let lifted = blend.octane_at_z(15.0);
        assert!((lifted.ron - blend.octane_at_z(0.0).ron - 15.0 * factor).abs() < 0.01, "{content}");
        assert!((blend.octane.ron - blend.octane_at_z(0.0).ron - 7.0 * factor).abs() < 0.01, "{content}");
        assert_eq!(lifted.mon, blend.octane.mon);
    }
}

/// HAND: 1.5 with 7 x(1-x) below and 8 x(1-x) above in quadrature: at E30 hypot(1.5, 1.75) = 2.30 and
/// hypot(1.5, 2.00) = 2.50.
#[test]
fn the_band_is_that_of_a_rating_up_to_e10_and_wider_beyond() {
    for (content, below, above) in [(0.0, 1.5, 1.5), (0.10, 1.5, 1.5), (0.30, 2.305, 2.5), (0.85, 1.57, 1.59)]
    {
        let band = on_base(88.0, 82.0, content).octane_band;
        assert!(
            (band.below - below).abs() < 0.01 && (band.above - above).abs() < 0.01,
            "{content}: {band:?}"
        );
    }
}

/// The 10-90 band holds at least four rows in five; with these rows it holds all.
#[test]
fn published_blends_lie_in_the_stated_band() {
    let content = |id: &str| match id {
        "M_E85_RON" | "A12_95_E85" => 0.85,
        "RON_FLAT" => 0.45,
        _ if id.ends_with("10") => 0.10,
        _ if id.ends_with("20") => 0.20,
        "R_E40_RON" => 0.40,
        _ => 0.30,
    };
    for blend in &BLEND_ROWS {
        let band = on_base(88.0, 82.0, content(blend.id)).octane_band;
        let above = row(blend.id).middle() - (blend.ron)(OCTANE_BLENDING.z_ron);
        assert!((-band.below..=band.above).contains(&above), "{}: {above} against {band:?}", blend.id);
    }
}

/// The range of the rows is data and checked where a blend is used.
#[test]
fn blends_outside_the_rows_say_so() {
    let concerns = |spec: &str| LIBRARY.resolve(spec).unwrap().blend().unwrap().octane_concerns();
    assert!(concerns("premium-91").is_empty() && concerns("e30").is_empty());
    assert!(matches!(concerns("e85")[..], [OctaneConcern::AboveScale { .. }]));
    let weak = concerns("natural-gasoline 70 % + ethanol 30 %");
    assert!(matches!(weak[..], [OctaneConcern::Base { ron, .. }] if (ron - 70.0).abs() < 1e-9), "{weak:?}");
    let toluene = concerns("toluene 50 % + ethanol 50 %");
    assert!(toluene.iter().any(|c| matches!(c, OctaneConcern::Base { high, .. } if *high == 96.0)));
    assert!(concerns("premium-91 85 % + methanol 15 %").contains(&OctaneConcern::Methanol));
    assert!(concerns("e100").iter().all(|c| matches!(c, OctaneConcern::AboveScale { .. })));
}

/// Sensitivity rises from gasoline to ethanol, steepest at low content (direction: SAE
/// 2015-01-0763, abstract, read).
#[test]
fn sensitivity_rises_with_ethanol() {
    let steps: Vec<f64> = [0.0, 0.25, 0.5, 0.75, 1.0].map(|v| regular(v).sensitivity()).to_vec();
    let rises: Vec<f64> = steps.windows(2).map(|w| w[1] - w[0]).collect();
    assert!(rises.iter().all(|r| *r > 0.0) && rises.windows(2).all(|w| w[1] < w[0]), "{steps:?}");
}

/// HAND: RON 96, MON 86 give AKI 91, sensitivity 10, index 101 at K = -0.5.
#[test]
fn octane_rating_arithmetic() {
    let rating = OctaneRating { ron: 96.0, mon: 86.0 };
    assert_eq!((rating.aki(), rating.sensitivity()), (91.0, 10.0));
}
