//! Measured volumes of a cylinder: the compression ratio they give, how well it is known, and what
//! a part must become for another ratio.
//!
//! Static ratio = 1 + swept / clearance; clearance = chamber - dome + reliefs + deck + gasket +
//! crevice, every volume that of one cylinder with the piston at top dead centre.

mod cam_sheet;
mod combinations;
mod cranking;
mod cylinders;
mod octane;
mod sheet;
pub mod squish;
mod tolerance;
mod wanted;

pub use cam_sheet::{CamSheet, EventRow, LobeSheet};
pub use combinations::{
    COMMON_GASKETS_M, Change, Combination, CombinationRemark, NoCombination, SQUISH_RANGE_M,
};
pub use cranking::{CRANKING_EXPONENTS, CrankingPressure, SEATED_LATER_DEG, cranking_pressure};
pub use cylinders::{Cylinder, Spread};
pub use octane::{OctaneChange, OctaneSlope, PUBLISHED_OCTANE_PER_RATIO};
pub use sheet::{Measured, Measurement, USUAL_CREVICE_M3, VolumesCaution, VolumesJob, VolumesSheet, Wanted};
pub use squish::VolumesRemark;
pub use tolerance::{MeasuredPart, RatioShare, Tolerances};
pub use wanted::{USUAL_GASKETS_M, WantedRatio, Way, WayFault, WayKind};

use std::f64::consts::PI;

/// Measured volumes of one cylinder, from which the ratio follows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeasuredVolumes {
    /// Combustion chamber in the head, valves and plug fitted [m3].
    pub chamber_m3: f64,
    /// Piston crown above its flat deck: dome positive, dish negative [m3].
    pub dome_m3: f64,
    /// Valve reliefs cut into the crown [m3], 0 or more; 0 when the dome has them taken off already.
    pub relief_m3: f64,
    /// Piston deck below block deck at top dead centre [m]; negative when it stands out.
    pub deck_clearance_m: f64,
    /// Bore of the compressed head gasket [m].
    pub gasket_bore_m: f64,
    /// Thickness of the compressed head gasket [m].
    pub gasket_thickness_m: f64,
    /// Crevice above the top ring [m3]; see [`ring_land_crevice_m3`].
    pub crevice_m3: f64,
    /// Area of the chamber at the head face [m2]: what a cut of the head takes per depth; none when
    /// it was not measured.
    pub head_face_m2: Option<f64>,
    /// How well each of them, the bore and the stroke are known.
    pub tolerances: Tolerances,
}

/// Area of a circle [m2] of a diameter [m].
fn area_m2(diameter_m: f64) -> f64 {
    0.25 * PI * diameter_m * diameter_m
}

/// Crevice between the top land and the bore, above the top ring [m3].
///
/// pi (B - c) c h: the ring of width c and height h inside the bore B.
///
/// # Arguments
/// - `bore_m`: cylinder bore B [m]
/// - `land_height_m`: from the crown to the top of the top ring, h [m]
/// - `radial_clearance_m`: between land and bore on one side, c [m]
///
/// # Source
/// Geometry of an annulus.
pub fn ring_land_crevice_m3(bore_m: f64, land_height_m: f64, radial_clearance_m: f64) -> f64 {
    PI * (bore_m - radial_clearance_m) * radial_clearance_m * land_height_m
}

/// Clearance volume [m3] that a ratio [-], above 1, leaves over a swept volume [m3].
pub fn clearance_for_ratio_m3(swept_m3: f64, ratio: f64) -> f64 {
    swept_m3 / (ratio - 1.0)
}

impl MeasuredVolumes {
    /// Clearance volume at top dead centre [m3] for the given bore [m].
    pub fn clearance_m3(&self, bore_m: f64) -> f64 {
        self.chamber_m3 - self.dome_m3
            + self.relief_m3
            + self.deck_volume_m3(bore_m)
            + self.gasket_volume_m3()
            + self.crevice_m3
    }

    /// Volume between piston deck and block deck [m3]; negative when the piston stands out.
    pub fn deck_volume_m3(&self, bore_m: f64) -> f64 {
        area_m2(bore_m) * self.deck_clearance_m
    }

    /// Volume inside the compressed head gasket [m3].
    pub fn gasket_volume_m3(&self) -> f64 {
        area_m2(self.gasket_bore_m) * self.gasket_thickness_m
    }

    /// Squish clearance, from the piston deck to a flat head face [m]: deck clearance plus gasket.
    pub fn squish_clearance_m(&self) -> f64 {
        self.deck_clearance_m + self.gasket_thickness_m
    }

    /// Geometric compression ratio as a bare number [-], unchecked against its range; see
    /// [`Self::dome_for_ratio_m3`] for an example.
    pub fn ratio(&self, bore_m: f64, stroke_m: f64) -> f64 {
        1.0 + area_m2(bore_m) * stroke_m / self.clearance_m3(bore_m)
    }

    /// Change of clearance volume [m3] that makes a ratio: negative when volume has to go.
    ///
    /// # Arguments
    /// - `bore_m`, `stroke_m`: of the cylinder [m]
    /// - `ratio`: wanted geometric compression ratio [-], above 1
    pub fn clearance_change_for_ratio_m3(&self, bore_m: f64, stroke_m: f64, ratio: f64) -> f64 {
        clearance_for_ratio_m3(area_m2(bore_m) * stroke_m, ratio) - self.clearance_m3(bore_m)
    }

    /// Dome volume [m3] that makes a ratio, all else held; negative is a dish.
    ///
    /// Reliefs stay what they are. Whether such a piston can be built is not judged here, see
    /// [`Self::clearance_change_for_ratio_m3`] for the arguments.
    ///
    /// # Example
    /// HAND: 498.759 cc swept at 11:1 leave 49.876 cc, 5.124 cc less than the 55 cc that these make,
    /// so that a flat crown becomes a dome of 5.124 cc.
    /// ```
    /// use endgas::engine::volumes::{MeasuredVolumes, Tolerances};
    /// let parts = MeasuredVolumes {
    ///     chamber_m3: 55.0e-6,
    ///     dome_m3: 0.0,
    ///     relief_m3: 0.0,
    ///     deck_clearance_m: 0.0,
    ///     gasket_bore_m: 0.085,
    ///     gasket_thickness_m: 0.0,
    ///     crevice_m3: 0.0,
    ///     head_face_m2: None,
    ///     tolerances: Tolerances::USUAL,
    /// };
    /// let dome_m3 = parts.dome_for_ratio_m3(0.084, 0.090, 11.0);
    /// assert!((dome_m3 * 1e6 - 5.124).abs() < 0.001);
    /// ```
    pub fn dome_for_ratio_m3(&self, bore_m: f64, stroke_m: f64, ratio: f64) -> f64 {
        self.dome_m3 - self.clearance_change_for_ratio_m3(bore_m, stroke_m, ratio)
    }

    /// Chamber volume [m3] that makes a ratio, all else held; see [`Self::dome_for_ratio_m3`].
    pub fn chamber_for_ratio_m3(&self, bore_m: f64, stroke_m: f64, ratio: f64) -> f64 {
        self.chamber_m3 + self.clearance_change_for_ratio_m3(bore_m, stroke_m, ratio)
    }

    /// Compressed gasket thickness [m] that makes a ratio, all else held; negative when no gasket can.
    pub fn gasket_thickness_for_ratio_m(&self, bore_m: f64, stroke_m: f64, ratio: f64) -> f64 {
        let change_m3 = self.clearance_change_for_ratio_m3(bore_m, stroke_m, ratio);
        self.gasket_thickness_m + change_m3 / area_m2(self.gasket_bore_m)
    }

    /// Deck clearance [m] that makes a ratio, all else held; negative when the piston stands out.
    pub fn deck_clearance_for_ratio_m(&self, bore_m: f64, stroke_m: f64, ratio: f64) -> f64 {
        let change_m3 = self.clearance_change_for_ratio_m3(bore_m, stroke_m, ratio);
        self.deck_clearance_m + change_m3 / area_m2(bore_m)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// HAND: 84 bore, 90 stroke is 498.759 cc swept; the clearance is summed on paper below.
    pub(super) fn parts() -> MeasuredVolumes {
        MeasuredVolumes {
            chamber_m3: 50.0e-6,
            dome_m3: 2.0e-6,
            relief_m3: 0.0,
            deck_clearance_m: 0.0005,
            gasket_bore_m: 0.085,
            gasket_thickness_m: 0.001,
            crevice_m3: 1.0e-6,
            head_face_m2: None,
            tolerances: Tolerances::USUAL,
        }
    }

    #[test]
    fn measured_volumes_give_the_ratio() {
        // 50 - 2 + pi/4 8.4^2 0.05 (2.7709) + pi/4 8.5^2 0.1 (5.6745) + 1 = 57.4454 cc
        assert_relative_eq!(parts().clearance_m3(0.084) * 1e6, 57.4454, max_relative = 1e-5);
        assert_relative_eq!(parts().ratio(0.084, 0.090), 1.0 + 498.759 / 57.4454, max_relative = 1e-5);
    }

    #[test]
    fn reliefs_add_what_a_dome_takes_away() {
        let cut = MeasuredVolumes { relief_m3: 2.0e-6, ..parts() };
        let flat = MeasuredVolumes { dome_m3: 0.0, ..parts() };
        assert_relative_eq!(cut.clearance_m3(0.084), flat.clearance_m3(0.084), max_relative = 1e-12);
    }

    /// HAND: land 6 mm high, 0.3 mm clear of an 84 mm bore: pi 83.7 x 0.3 x 6 = 473.3 mm3.
    #[test]
    fn a_ring_land_is_an_annulus() {
        assert_relative_eq!(ring_land_crevice_m3(0.084, 0.006, 0.0003) * 1e9, 473.3, max_relative = 1e-4);
        let (outer, inner) = (area_m2(0.084), area_m2(0.084 - 2.0 * 0.0003));
        let by_areas = (outer - inner) * 0.006;
        assert_relative_eq!(ring_land_crevice_m3(0.084, 0.006, 0.0003), by_areas, max_relative = 1e-12);
    }
}
