//! What the gap between piston and head, and the shape of the crown, ask a builder to mind.

use super::MeasuredVolumes;
use crate::units::M_PER_INCH;

/// Squish clearance below which a piston hits the head whatever the rods are [m]: stretch, rock and
/// growth take more. Common practice, no source.
pub const LEAST_SQUISH_M: f64 = 0.5e-3;
/// Squish clearances that steel rods want [m]: below the first there is too little room at speed
/// (0.035 in), below the second it is tight (0.040 in). Common practice, no source.
pub const TIGHT_SQUISH_M: (f64, f64) = (0.9e-3, 1.0e-3);
/// Squish clearance that aluminium rods want [m]. Common practice, no source.
pub const ALUMINIUM_SQUISH_M: f64 = 1.3e-3;
/// Squish clearance above which squish does little [m]. Common practice, no source.
pub const LAZY_SQUISH_M: f64 = 1.5e-3;
/// Dome over chamber volume [-] above which it slows the burn, and slows it much. Common practice, no
/// source.
pub const DOME_SHARES: (f64, f64) = (0.10, 0.20);
/// Usual least clearances of valves to the piston [m], intake and exhaust (0.080 and 0.100 in). Common practice, no
/// source.
pub const LEAST_VALVE_CLEARANCES_M: (f64, f64) = (2.0e-3, 2.5e-3);
/// Reliefs over chamber volume [-] above which they are deep. Common practice, no source.
const DEEP_RELIEF_SHARE: f64 = 0.12;

/// A small length in both units that shops use.
pub(super) fn gap(length_m: f64) -> String {
    format!("{:.2} mm ({:.3} in)", length_m * 1e3, length_m / M_PER_INCH)
}

/// What to mind of a squish clearance [m]; none when it is where it should be.
pub(super) fn remark(squish_clearance_m: f64) -> Option<String> {
    let (tight, least) = TIGHT_SQUISH_M;
    let found = gap(squish_clearance_m);
    if squish_clearance_m < tight {
        Some(format!(
            "squish clearance of {found} is below the {} that steel rods want at speed (aluminium rods more, \
             some {}): the piston may hit the head",
            gap(tight),
            gap(ALUMINIUM_SQUISH_M)
        ))
    } else if squish_clearance_m < least {
        Some(format!("squish clearance of {found} is tight: for steel rods and measured pistons only"))
    } else if squish_clearance_m > LAZY_SQUISH_M {
        Some(format!(
            "squish clearance of {found} is over {}: squish does little, and the rim burns late",
            gap(LAZY_SQUISH_M)
        ))
    } else {
        None
    }
}

/// What to mind of dome and reliefs.
pub(super) fn crown_remark(parts: &MeasuredVolumes) -> Option<String> {
    let (dome, relief) = (parts.dome_m3 / parts.chamber_m3, parts.relief_m3 / parts.chamber_m3);
    let (some, much) = DOME_SHARES;
    if dome > some {
        let words = if dome > much { "slows the burn much" } else { "slows the burn" };
        Some(format!(
            "a dome of {:.0} % of the chamber {words} (over {:.0} %): a smaller chamber with a flatter crown is better",
            dome * 100.0,
            some * 100.0
        ))
    } else if relief > DEEP_RELIEF_SHARE {
        Some(format!(
            "reliefs of {:.0} % of the chamber are deep (over {:.0} %) and slow the burn",
            relief * 100.0,
            DEEP_RELIEF_SHARE * 100.0
        ))
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::parts;
    use super::*;

    #[test]
    fn the_gap_is_judged_on_both_sides() {
        assert!(remark(0.7e-3).unwrap().contains("hit the head"));
        assert!(remark(0.95e-3).unwrap().contains("tight"));
        assert_eq!(remark(1.2e-3), None);
        assert!(remark(1.8e-3).unwrap().contains("squish does little"));
    }

    #[test]
    fn a_high_dome_and_deep_reliefs_are_told() {
        let with = |dome_cc: f64, relief_cc: f64| {
            let changed = MeasuredVolumes { dome_m3: dome_cc * 1e-6, relief_m3: relief_cc * 1e-6, ..parts() };
            crown_remark(&changed).unwrap_or_default()
        };
        // HAND: of a 50 cc chamber.
        assert!(with(12.0, 0.0).contains("24 % of the chamber slows the burn much"));
        assert!(with(6.0, 0.0).contains("12 % of the chamber slows the burn (over"));
        assert!(with(0.0, 8.0).contains("reliefs of 16 %"));
        assert_eq!(with(2.0, 2.0), "");
    }
}
