//! What the gap between piston and head, and the shape of the crown, ask a builder to mind.

use super::MeasuredVolumes;

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
pub const DEEP_RELIEF_SHARE: f64 = 0.12;

/// What to mind of measured volumes, or of a way to a target ratio; the report says it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum VolumesRemark {
    /// The squish clearance is below what steel rods want at speed, [`TIGHT_SQUISH_M`].
    SquishTooTight {
        /// Squish clearance [m].
        found_m: f64,
    },
    /// The squish clearance is for steel rods and measured pistons only.
    SquishTight {
        /// Squish clearance [m].
        found_m: f64,
    },
    /// The squish clearance is over [`LAZY_SQUISH_M`].
    SquishWide {
        /// Squish clearance [m].
        found_m: f64,
    },
    /// The dome is over the shares of [`DOME_SHARES`].
    DomeSlowsBurn {
        /// Dome over chamber volume [-].
        share: f64,
    },
    /// The valve reliefs are over [`DEEP_RELIEF_SHARE`].
    DeepReliefs {
        /// Reliefs over chamber volume [-].
        share: f64,
    },
    /// The gasket is none of those commonly sold, [`super::USUAL_GASKETS_M`].
    UnusualGasket,
    /// The pistons stand out of the block.
    PistonsStandOut {
        /// By this much [m].
        by_m: f64,
    },
    /// The head cut is taken over the whole gasket bore, the widest that the chamber can be at the face.
    HeadFaceNotMeasured,
    /// The cut is so deep that a shop asks how much metal the part has left.
    DeepCut,
}

/// What to mind of a squish clearance [m]; none when it is where it should be.
pub(super) fn remark(found_m: f64) -> Option<VolumesRemark> {
    let (tight, least) = TIGHT_SQUISH_M;
    if found_m < tight {
        Some(VolumesRemark::SquishTooTight { found_m })
    } else if found_m < least {
        Some(VolumesRemark::SquishTight { found_m })
    } else if found_m > LAZY_SQUISH_M {
        Some(VolumesRemark::SquishWide { found_m })
    } else {
        None
    }
}

/// What to mind of dome and reliefs.
pub(super) fn crown_remark(parts: &MeasuredVolumes) -> Option<VolumesRemark> {
    let (dome, relief) = (parts.dome_m3 / parts.chamber_m3, parts.relief_m3 / parts.chamber_m3);
    if dome > DOME_SHARES.0 {
        Some(VolumesRemark::DomeSlowsBurn { share: dome })
    } else if relief > DEEP_RELIEF_SHARE {
        Some(VolumesRemark::DeepReliefs { share: relief })
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::parts;
    use super::VolumesRemark::{DeepReliefs, DomeSlowsBurn, SquishTight, SquishTooTight, SquishWide};
    use super::*;

    #[test]
    fn the_gap_is_judged_on_both_sides() {
        assert_eq!(remark(0.7e-3), Some(SquishTooTight { found_m: 0.7e-3 }));
        assert_eq!(remark(0.95e-3), Some(SquishTight { found_m: 0.95e-3 }));
        assert_eq!(remark(1.2e-3), None);
        assert_eq!(remark(1.8e-3), Some(SquishWide { found_m: 1.8e-3 }));
    }

    #[test]
    fn a_high_dome_and_deep_reliefs_are_told() {
        let with = |dome_cc: f64, relief_cc: f64| {
            let changed = MeasuredVolumes { dome_m3: dome_cc * 1e-6, relief_m3: relief_cc * 1e-6, ..parts() };
            crown_remark(&changed)
        };
        let near = |found: f64, share: f64| (found - share).abs() < 1e-12;
        // HAND: of a 50 cc chamber.
        assert!(matches!(with(12.0, 0.0), Some(DomeSlowsBurn { share }) if near(share, 0.24)));
        assert!(matches!(with(6.0, 0.0), Some(DomeSlowsBurn { share }) if near(share, 0.12)));
        assert!(matches!(with(0.0, 8.0), Some(DeepReliefs { share }) if near(share, 0.16)));
        assert_eq!(with(2.0, 2.0), None);
    }
}
