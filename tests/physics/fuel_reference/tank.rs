//! Filling a tank: laws of mixing, and volumes as typed.

use super::rows::LIBRARY;
use crate::common::cases::cases;
use approx::assert_relative_eq;
use endgas::fuel::fill::{read_percent, read_volume_m3};
use endgas::fuel::tank::{Fill, mix, top_up};
use endgas::fuel::{FuelError, PumpFuel};
use proptest::prelude::*;

const FUELS: [&str; 6] = ["premium-91", "e85", "e30", "e100-hydrous", "ethanol-denatured", "regular-87"];

fn fuel(name: &str) -> PumpFuel {
    LIBRARY.resolve(name).unwrap()
}

fn fills() -> impl Strategy<Value = Vec<Fill>> {
    let one = (0..FUELS.len(), 0.1..80.0_f64)
        .prop_map(|(i, litres)| Fill { fuel: fuel(FUELS[i]), volume_m3: litres * 1e-3 });
    prop::collection::vec(one, 1..6)
}

proptest! {
    #![proptest_config(cases(256, 1))]

    #[test]
    fn the_order_of_filling_does_not_matter(fills in fills()) {
        let forward = mix("tank", &fills).unwrap();
        let reversed: Vec<Fill> = fills.iter().rev().cloned().collect();
        let backward = mix("tank", &reversed).unwrap();
        assert_relative_eq!(forward.ethanol.likely, backward.ethanol.likely, max_relative = 1e-12);
        let (a, b) = (forward.blend().unwrap(), backward.blend().unwrap());
        assert_relative_eq!(a.octane.ron, b.octane.ron, max_relative = 1e-12);
        assert_relative_eq!(a.lhv_j_per_kg, b.lhv_j_per_kg, max_relative = 1e-12);
        assert_relative_eq!(a.density_15c_kg_per_m3, b.density_15c_kg_per_m3, max_relative = 1e-12);
    }

    /// Filling one after the other is filling all at once.
    #[test]
    fn mixing_in_two_steps_is_mixing_at_once(fills in fills(), cut in 0..6_usize) {
        let (first, rest) = fills.split_at(cut.min(fills.len() - 1).max(1).min(fills.len()));
        let volume_m3 = first.iter().map(|f| f.volume_m3).sum();
        let mut steps = vec![Fill { fuel: mix("tank", first).unwrap(), volume_m3 }];
        steps.extend_from_slice(rest);
        let (once, twice) = (mix("tank", &fills).unwrap(), mix("tank", &steps).unwrap());
        assert_relative_eq!(once.ethanol.low, twice.ethanol.low, max_relative = 1e-9);
        assert_relative_eq!(once.ethanol.high, twice.ethanol.high, max_relative = 1e-9);
        assert_relative_eq!(once.blend().unwrap().octane.ron, twice.blend().unwrap().octane.ron, max_relative = 1e-9);
    }

    #[test]
    fn the_content_lies_between_the_parts(fills in fills()) {
        let tank = mix("tank", &fills).unwrap();
        let ends = |pick: fn(&PumpFuel) -> f64| {
            let all = fills.iter().map(|f| pick(&f.fuel));
            all.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)))
        };
        let inside = |value: f64, (low, high): (f64, f64)| (low - 1e-12..=high + 1e-12).contains(&value);
        prop_assert!(inside(tank.ethanol.low, ends(|f| f.ethanol.low)));
        prop_assert!(inside(tank.ethanol.likely, ends(|f| f.ethanol.likely)));
        prop_assert!(inside(tank.ethanol.high, ends(|f| f.ethanol.high)));
        prop_assert!(tank.ethanol.low <= tank.ethanol.likely && tank.ethanol.likely <= tank.ethanol.high);
    }

    /// What is computed to be added brings the tank to the wanted content.
    #[test]
    fn the_inverse_undoes_the_forward(fills in fills(), share in 0.0..0.95_f64) {
        let added = fuel("e85");
        let before = mix("tank", &fills).unwrap().ethanol.likely;
        let wanted = before + share * (added.ethanol.likely - before);
        let top = top_up(&fills, &added, wanted, None).unwrap();
        let all = [fills, vec![top.added.clone()]].concat();
        assert_relative_eq!(mix("tank", &all).unwrap().ethanol.likely, wanted, epsilon = 1e-9);
        assert_relative_eq!(top.fuel.ethanol.likely, wanted, epsilon = 1e-9);
    }

    #[test]
    fn no_text_of_a_volume_makes_it_panic(text in "\\PC{0,30}") {
        let _ = (LIBRARY.fill(&text), read_volume_m3(&text), read_percent(&text));
    }
}

/// HAND: 30 L at 10 % and 50 L at 74 % are 80 L at 50 %; a tank of 60 L comes to (3 + 22.2)/60 = 42 %.
#[test]
fn the_tank_sets_a_limit_and_the_range_is_told() {
    let tank = [LIBRARY.fill("30 L premium-91").unwrap()];
    let e85 = fuel("e85");
    let top = top_up(&tank, &e85, 0.50, Some(0.080)).unwrap();
    assert_relative_eq!(top.added.volume_m3, 0.050, max_relative = 1e-12);
    let error = top_up(&tank, &e85, 0.50, Some(0.060)).unwrap_err();
    assert!(
        matches!(error, FuelError::Unreachable { low_percent, high_percent, full: true, .. }
            if (low_percent - 10.0).abs() < 1e-9 && (high_percent - 42.0).abs() < 1e-9),
        "{error}"
    );
    assert!(matches!(top_up(&tank, &e85, 0.05, None), Err(FuelError::Unreachable { full: false, .. })));
    assert!(matches!(top_up(&tank, &e85, 0.74, None), Err(FuelError::Unreachable { .. })));
    assert!(matches!(top_up(&tank, &e85, 0.50, Some(0.020)), Err(FuelError::Overfull { .. })));
    // Downwards: ethanol-free base into E85.
    let rich = [LIBRARY.fill("10 L e85 at 80 %").unwrap()];
    let top = top_up(&rich, &fuel("base-premium-91"), 0.40, None).unwrap();
    assert_relative_eq!(top.added.volume_m3, 0.010, max_relative = 1e-12);
}

#[test]
fn volumes_and_contents_are_read_as_typed() {
    let fill = |text: &str| LIBRARY.fill(text).unwrap();
    // HAND: a US gallon is 231 cubic inches, 3.785 411 784 L.
    assert_relative_eq!(fill("10 gal e85").volume_m3, 0.037_854_117_84, max_relative = 1e-12);
    assert_relative_eq!(fill(" 2.5L  premium-91 70 % + e85 30 %").volume_m3, 0.002_5, max_relative = 1e-12);
    let measured = fill("20 L e85 at 71 %").fuel.ethanol;
    assert_eq!((measured.low, measured.likely, measured.high), (0.71, 0.71, 0.71));
    assert_eq!(fill("20 l e85 at 71").fuel.ethanol.likely, 0.71);
    for bad in [
        "",
        "20 L",
        "20 e85",
        "L e85",
        "-5 L e85",
        "0 L e85",
        "1e9 L e85",
        "nan L e85",
        "20 pt e85",
        "1.2.3 L e85",
        "20 L e85 at",
        "20 L e85 at x",
        "20 L e85 at 101 %",
        "20 L e100 at 90 %",
        "20 L zzzz",
        "99999 L e85",
    ] {
        assert!(LIBRARY.fill(bad).is_err(), "'{bad}' was accepted");
    }
    assert_eq!(read_percent("50 %"), Some(0.5));
    assert_eq!(
        (read_percent("-1"), read_percent("101"), read_percent("nan"), read_percent("%")),
        (None, None, None, None)
    );
    assert!(read_volume_m3("60 L").is_ok() && read_volume_m3("60 L e85").is_err());
}

/// 85 % of denatured ethanol in a blend is 83 % ethanol at most (AFDC, read: the upper limit of E85).
#[test]
fn denatured_ethanol_makes_the_upper_limit_of_e85() {
    let blend = LIBRARY.resolve("ethanol-denatured 85 % + natural-gasoline 15 %").unwrap();
    assert!((0.80..=0.835).contains(&blend.ethanol.likely) && (blend.ethanol.high - 0.833).abs() < 1e-9);
}
