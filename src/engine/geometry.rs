//! Slider-crank geometry.

use crate::lanes::Lanes;
use crate::units::{CompressionRatio, PA_PER_BAR};
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

impl Geometry {
    /// Piston crown area [m2].
    pub fn piston_area_m2(&self) -> f64 {
        0.25 * PI * self.bore_m * self.bore_m
    }

    /// Swept volume of one cylinder [m3] (bore area times stroke; a pin offset changes it by less than 0.1 %).
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

    /// Volume swept from inlet valve closing to top dead centre [m3], by the exact slider-crank.
    ///
    /// # Arguments
    /// - `inlet_closes_deg_abdc`: inlet valve closing [deg after bottom dead centre], 0 to 180
    pub fn swept_from_inlet_closing_m3(&self, inlet_closes_deg_abdc: f64) -> f64 {
        let closing = (inlet_closes_deg_abdc - 180.0).to_radians();
        self.slider_crank().volume_m3(closing) - self.clearance_volume_m3()
    }

    /// Ratio from inlet valve closing [-]: cylinder volume there over clearance volume; see
    /// [`Self::swept_from_inlet_closing_m3`].
    pub fn ratio_from_inlet_closing(&self, inlet_closes_deg_abdc: f64) -> f64 {
        1.0 + self.swept_from_inlet_closing_m3(inlet_closes_deg_abdc) / self.clearance_volume_m3()
    }

    /// The slider-crank of one cylinder, ready for fast evaluation.
    pub fn slider_crank(&self) -> SliderCrank {
        let (crank, rod, offset) = (0.5 * self.stroke_m, self.rod_length_m, self.pin_offset_m);
        SliderCrank {
            crank_m: crank,
            rod_squared_m2: rod * rod,
            offset_m: offset,
            top_m: ((crank + rod).powi(2) - offset * offset).sqrt(),
            piston_area_m2: self.piston_area_m2(),
            clearance_m3: self.clearance_volume_m3(),
        }
    }

    /// Torque of a brake mean effective pressure [N m]: T = bmep V / (4 pi), four-stroke.
    pub fn torque_nm(&self, bmep_bar: f64) -> f64 {
        bmep_bar * PA_PER_BAR * self.displacement_m3() / (4.0 * PI)
    }

    /// Brake mean effective pressure of a torque [bar]; the inverse of [`Self::torque_nm`].
    pub fn bmep_bar(&self, torque_nm: f64) -> f64 {
        torque_nm * 4.0 * PI / self.displacement_m3() / PA_PER_BAR
    }

    /// Greatest piston acceleration [m/s2] at an engine speed [rpm]: r w^2 (1 + r/l), at top dead centre.
    ///
    /// Exact for a centred pin and a rod longer than the crank (slider-crank, any text on machine dynamics);
    /// a pin offset as the scenario allows changes it by less than 1 %.
    pub fn peak_piston_acceleration_m_per_s2(&self, speed_rpm: f64) -> f64 {
        let (crank, speed_rad_per_s) = (0.5 * self.stroke_m, speed_rpm * PI / 30.0);
        crank * speed_rad_per_s * speed_rad_per_s * (1.0 + crank / self.rod_length_m)
    }

    /// Mean piston speed [m/s] at an engine speed [rpm].
    pub fn mean_piston_speed_m_per_s(&self, speed_rpm: f64) -> f64 {
        2.0 * self.stroke_m * speed_rpm / 60.0
    }
}

/// Piston motion of one cylinder. Crank angle is in radians, 0 at firing top dead centre of the crank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SliderCrank<N = f64> {
    crank_m: N,
    rod_squared_m2: N,
    offset_m: N,
    top_m: N,
    piston_area_m2: N,
    clearance_m3: N,
}

impl<N: Lanes> SliderCrank<N> {
    /// [`SliderCrank::volume_and_slope`] of sine and cosine of the crank angle.
    #[inline(always)]
    pub(crate) fn volume_and_slope_at(&self, sin: N, cos: N) -> (N, N) {
        let (rs, rc) = (self.crank_m * sin, self.crank_m * cos);
        let side = rs - self.offset_m;
        let rod = (self.rod_squared_m2 - side * side).sqrt();
        let drop = self.top_m - rc - rod;
        (self.clearance_m3 + self.piston_area_m2 * drop, self.piston_area_m2 * (rs + side * rc / rod))
    }
}

impl SliderCrank {
    /// Several side by side.
    #[inline(always)]
    pub(crate) fn beside<N: Lanes>(token: N::Token, of: impl Fn(usize) -> Self) -> SliderCrank<N> {
        let each = |get: fn(&Self) -> f64| N::gathered(token, |lane| get(&of(lane)));
        SliderCrank {
            crank_m: each(|crank| crank.crank_m),
            rod_squared_m2: each(|crank| crank.rod_squared_m2),
            offset_m: each(|crank| crank.offset_m),
            top_m: each(|crank| crank.top_m),
            piston_area_m2: each(|crank| crank.piston_area_m2),
            clearance_m3: each(|crank| crank.clearance_m3),
        }
    }

    /// Cylinder volume [m3] and its slope [m3/rad] at a crank angle [rad].
    ///
    /// Piston drop s = sqrt((r+l)^2 - e^2) - r cos(a) - sqrt(l^2 - (r sin(a) - e)^2), the exact
    /// slider-crank with pin offset e (plane geometry).
    #[inline]
    pub fn volume_and_slope(&self, crank_angle_rad: f64) -> (f64, f64) {
        let (sin, cos) = crank_angle_rad.sin_cos();
        self.volume_and_slope_at(sin, cos)
    }

    /// Cylinder volume [m3] at a crank angle [rad].
    #[inline]
    pub fn volume_m3(&self, crank_angle_rad: f64) -> f64 {
        self.volume_and_slope(crank_angle_rad).0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn geometry() -> Geometry {
        Geometry {
            cylinders: 4,
            bore_m: 0.0884,
            stroke_m: 0.0962,
            rod_length_m: 0.1505,
            pin_offset_m: 0.0,
            compression_ratio: CompressionRatio::new(12.5).unwrap(),
        }
    }

    #[test]
    fn ratio_is_bottom_over_top() {
        let crank = geometry().slider_crank();
        assert_relative_eq!(crank.volume_m3(PI) / crank.volume_m3(0.0), 12.5, epsilon = 1e-12);
    }

    // HAND: 60 deg after bottom the piston is 48.1 + 150.5 + 24.05 - sqrt(150.5^2 - 41.66^2) = 78.0 mm below top, 0.811 of
    // the stroke: 1 + 11.5 x 0.811 = 10.33.
    #[test]
    fn ratio_from_inlet_closing_counts_what_is_still_swept() {
        let geometry = geometry();
        assert_relative_eq!(geometry.ratio_from_inlet_closing(0.0), 12.5, max_relative = 1e-12);
        assert_relative_eq!(geometry.ratio_from_inlet_closing(60.0), 10.33, max_relative = 5e-4);
        assert_relative_eq!(geometry.ratio_from_inlet_closing(180.0), 1.0, max_relative = 1e-12);
    }

    #[test]
    fn slope_is_the_derivative_with_pin_offset() {
        let crank = Geometry { pin_offset_m: 0.001, ..geometry() }.slider_crank();
        for angle in [-2.1_f64, -0.7, 0.3, 1.9] {
            let d = 1e-6;
            let difference = (crank.volume_m3(angle + d) - crank.volume_m3(angle - d)) / (2.0 * d);
            assert_relative_eq!(crank.volume_and_slope(angle).1, difference, max_relative = 1e-7);
        }
    }

    // HAND: r = 48.1 mm, l = 150.5 mm, 7000 rpm is 733.04 rad/s: 0.0481 733.04^2 (1 + 48.1/150.5) = 34 107 m/s2.
    #[test]
    fn peak_acceleration_is_that_of_the_slider_crank() {
        let geometry = geometry();
        let found = geometry.peak_piston_acceleration_m_per_s2(7000.0);
        assert_relative_eq!(found, 34_106.8, max_relative = 1e-4);
        let (crank, step, speed) = (geometry.slider_crank(), 1e-3, 7000.0 * PI / 30.0);
        let position = |angle: f64| crank.volume_m3(angle) / geometry.piston_area_m2();
        let at = |angle: f64| {
            (position(angle + step) - 2.0 * position(angle) + position(angle - step)) / (step * step)
                * speed
                * speed
        };
        let greatest = (-180..180).map(|deg| at(f64::from(deg).to_radians()).abs()).fold(0.0, f64::max);
        assert_relative_eq!(greatest, found, max_relative = 1e-5);
    }

    // HAND: 2.4004 L at 12 bar: 12e5 2.4004e-3 / (4 pi) = 229.2 N m.
    #[test]
    fn torque_and_mean_effective_pressure_are_inverse() {
        let geometry = Geometry { bore_m: 0.0935, stroke_m: 0.0874, ..geometry() };
        assert_relative_eq!(geometry.torque_nm(12.0), 229.2, max_relative = 1e-3);
        assert_relative_eq!(geometry.bmep_bar(geometry.torque_nm(12.0)), 12.0, max_relative = 1e-12);
    }
}
