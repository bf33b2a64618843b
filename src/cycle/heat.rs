//! Heat from the gas to the cylinder walls.

/// A published heat-transfer coefficient law, evaluated in the inner loop.
pub trait HeatLaw: Copy {
    /// Coefficient [W/(m2 K)].
    ///
    /// # Arguments
    /// - `pressure_pa`, `temperature_k`: cylinder pressure and mean gas temperature
    /// - `excess_pressure_pa`: pressure above the motored one, 0 before the burn
    /// - `volume_m3`: cylinder volume
    fn coefficient_w_per_m2_k(
        &self,
        pressure_pa: f64,
        temperature_k: f64,
        excess_pressure_pa: f64,
        volume_m3: f64,
    ) -> f64;
}

/// Multiplier that endgas puts on both published laws [-].
///
/// Chosen between two rows of `tests/physics/accuracy.rs`: a loss to the walls of 12 to 25 % of fuel energy at full load, and
/// CA50 of best torque at 6 to 10 deg (both Heywood 1988; `from memory`). The published coefficients alone lose too
/// little heat; more than this would put best torque too late at low speed.
pub const WALL_HEAT_SCALE: f64 = 1.35;

/// Woschni's law in the form given by Heywood.
///
/// h = 3.26 B^-0.2 p^0.8 T^-0.55 w^0.8 (m, kPa, K, m/s),
/// w = 2.28 Sp + 3.24e-3 (Vd Tr / (pr Vr)) (p - pm).
///
/// # Source
/// Woschni, SAE 670931 (1967); Heywood, Internal Combustion Engine Fundamentals, 1988, eq. 12.19
/// (coefficients confirmed by reading, exponent of temperature `from memory`).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Woschni {
    scale: f64,
    piston_velocity_m_per_s: f64,
    combustion_velocity_per_pa: f64,
}

impl Woschni {
    /// Law for one cylinder and speed.
    ///
    /// # Arguments
    /// - `factor`: multiplier on the coefficient [-]
    /// - `bore_m`, `mean_piston_speed_m_per_s`, `swept_volume_m3`: of the cylinder
    /// - `charge_mass_gas_constant_j_per_k`: charge mass times gas constant, pr Vr / Tr [J/K]
    pub fn new(
        factor: f64,
        bore_m: f64,
        mean_piston_speed_m_per_s: f64,
        swept_volume_m3: f64,
        charge_mass_gas_constant_j_per_k: f64,
    ) -> Self {
        Self {
            // p is in kPa in the published form: 1000^-0.8 brings it to Pa.
            scale: factor * WALL_HEAT_SCALE * 3.26 * bore_m.powf(-0.2) * 1000f64.powf(-0.8),
            piston_velocity_m_per_s: 2.28 * mean_piston_speed_m_per_s,
            combustion_velocity_per_pa: 3.24e-3 * swept_volume_m3 / charge_mass_gas_constant_j_per_k,
        }
    }
}

impl HeatLaw for Woschni {
    #[inline]
    fn coefficient_w_per_m2_k(
        &self,
        pressure_pa: f64,
        temperature_k: f64,
        excess_pressure_pa: f64,
        _volume_m3: f64,
    ) -> f64 {
        let velocity =
            self.piston_velocity_m_per_s + self.combustion_velocity_per_pa * excess_pressure_pa.max(0.0);
        self.scale * (0.8 * (pressure_pa * velocity).ln() - 0.55 * temperature_k.ln()).exp()
    }
}

/// Hohenberg's law, the alternative.
///
/// h = 130 V^-0.06 p^0.8 T^-0.4 (Sp + 1.4)^0.8 (m3, bar, K, m/s).
///
/// # Source
/// Hohenberg, SAE 790825 (1979); constants 1.4 and -0.06 `from memory`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hohenberg {
    scale: f64,
}

impl Hohenberg {
    /// Law for one speed; `factor` multiplies the coefficient [-].
    pub fn new(factor: f64, mean_piston_speed_m_per_s: f64) -> Self {
        Self {
            scale: factor * WALL_HEAT_SCALE * 130.0 * (1e-5f64 * (mean_piston_speed_m_per_s + 1.4)).powf(0.8),
        }
    }
}

impl HeatLaw for Hohenberg {
    #[inline]
    fn coefficient_w_per_m2_k(
        &self,
        pressure_pa: f64,
        temperature_k: f64,
        _excess_pressure_pa: f64,
        volume_m3: f64,
    ) -> f64 {
        self.scale * (0.8 * pressure_pa.ln() - 0.4 * temperature_k.ln() - 0.06 * volume_m3.ln()).exp()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    // HAND: B 0.086 m, Sp 10 m/s, 30 bar, 1000 K, no excess pressure:
    // 3.26 * 0.086^-0.2 * 3000^0.8 * 1000^-0.55 * 22.8^0.8 = 879.757 W/(m2 K).
    #[test]
    fn woschni_by_hand() {
        let law = Woschni::new(1.0 / WALL_HEAT_SCALE, 0.086, 10.0, 5e-4, 0.17);
        assert_relative_eq!(
            law.coefficient_w_per_m2_k(30e5, 1000.0, 0.0, 1e-4),
            879.757,
            max_relative = 1e-6
        );
        assert!(law.coefficient_w_per_m2_k(30e5, 1000.0, 10e5, 1e-4) > 880.0);
    }

    // HAND: 130 * (1e-4)^-0.06 * 30^0.8 * 1000^-0.4 * 11.4^0.8 = 1517.624 W/(m2 K).
    #[test]
    fn hohenberg_by_hand() {
        let law = Hohenberg::new(1.0 / WALL_HEAT_SCALE, 10.0);
        assert_relative_eq!(
            law.coefficient_w_per_m2_k(30e5, 1000.0, 0.0, 1e-4),
            1517.624,
            max_relative = 1e-6
        );
    }
}
