//! Slider-crank geometry and the volumes that set the compression ratio.

use crate::units::CompressionRatio;
use std::f64::consts::PI;

/// Bore, stroke, rod, and what they enclose. Crank angle is 0 at firing top dead centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Geometry {
    /// Number of cylinders [-], 1 to 16.
    pub cylinders: u32,
    /// Cylinder bore [m], 0.04 to 0.15.
    pub bore_m: f64,
    /// Piston stroke, twice the crank radius [m], 0.03 to 0.15.
    pub stroke_m: f64,
    /// Connecting-rod length between centres [m], more than the stroke times 1.2.
    pub rod_length_m: f64,
    /// Pin offset towards the major thrust side [m]; 0 for a centred pin.
    pub pin_offset_m: f64,
    /// Geometric compression ratio.
    pub compression_ratio: CompressionRatio,
}

/// Measured volumes of one cylinder, from which the ratio follows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeasuredVolumes {
    /// Combustion chamber in the head, valves and plug fitted [m3].
    pub chamber_m3: f64,
    /// Piston crown above its flat deck, reliefs taken off: dome positive, dish negative [m3].
    pub dome_m3: f64,
    /// Piston deck below block deck at top dead centre [m]; negative when it stands out.
    pub deck_clearance_m: f64,
    /// Bore of the compressed head gasket [m].
    pub gasket_bore_m: f64,
    /// Thickness of the compressed head gasket [m].
    pub gasket_thickness_m: f64,
    /// Crevice above the top ring [m3].
    pub crevice_m3: f64,
}

impl MeasuredVolumes {
    /// Clearance volume at top dead centre [m3] for the given bore [m].
    pub fn clearance_m3(&self, bore_m: f64) -> f64 {
        self.chamber_m3 - self.dome_m3
            + 0.25 * PI * bore_m * bore_m * self.deck_clearance_m
            + 0.25 * PI * self.gasket_bore_m * self.gasket_bore_m * self.gasket_thickness_m
            + self.crevice_m3
    }

    /// Geometric compression ratio as a bare number [-], unchecked against its range.
    pub fn ratio(&self, bore_m: f64, stroke_m: f64) -> f64 {
        let clearance = self.clearance_m3(bore_m);
        1.0 + 0.25 * PI * bore_m * bore_m * stroke_m / clearance
    }
}

impl Geometry {
    /// Piston crown area [m2].
    pub fn piston_area_m2(&self) -> f64 {
        0.25 * PI * self.bore_m * self.bore_m
    }

    /// Swept volume of one cylinder [m3] (bore area times stroke; pin offset changes it by less than 0.1 %).
    pub fn swept_volume_m3(&self) -> f64 {
        self.piston_area_m2() * self.stroke_m
    }

    /// Displacement of the engine [m3].
    pub fn displacement_m3(&self) -> f64 {
        self.swept_volume_m3() * f64::from(self.cylinders)
    }

    /// Clearance volume of one cylinder [m3].
    pub fn clearance_volume_m3(&self) -> f64 {
        self.swept_volume_m3() / (self.compression_ratio.get() - 1.0)
    }

    /// Distance of the piston below top dead centre [m] at a crank angle [rad].
    ///
    /// s = sqrt((r+l)^2 - e^2) - r cos(theta) - sqrt(l^2 - (r sin(theta) - e)^2), exact slider-crank
    /// with pin offset e (derivation by plane geometry).
    #[inline]
    pub fn piston_drop_m(&self, crank_angle_rad: f64) -> f64 {
        let (sin, cos) = crank_angle_rad.sin_cos();
        self.piston_drop_of(sin, cos)
    }

    #[inline]
    fn piston_drop_of(&self, sin: f64, cos: f64) -> f64 {
        let (r, l, e) = (0.5 * self.stroke_m, self.rod_length_m, self.pin_offset_m);
        let side = r * sin - e;
        ((r + l).powi(2) - e * e).sqrt() - r * cos - (l * l - side * side).sqrt()
    }

    /// Cylinder volume [m3] at a crank angle [rad].
    #[inline]
    pub fn volume_m3(&self, crank_angle_rad: f64) -> f64 {
        self.clearance_volume_m3() + self.piston_area_m2() * self.piston_drop_m(crank_angle_rad)
    }

    /// Mean piston speed [m/s] at an engine speed [rpm].
    pub fn mean_piston_speed_m_per_s(&self, speed_rpm: f64) -> f64 {
        2.0 * self.stroke_m * speed_rpm / 60.0
    }

    /// Largest piston acceleration, at top dead centre [m/s2]: r w^2 (1 + r/l), centred pin.
    pub fn peak_piston_acceleration_m_per_s2(&self, speed_rpm: f64) -> f64 {
        let (r, w) = (0.5 * self.stroke_m, speed_rpm * PI / 30.0);
        r * w * w * (1.0 + r / self.rod_length_m)
    }
}
