//! Heat from the gas to the cylinder walls.

use crate::lanes::Lanes;

/// Multiplier that endgas puts on both published laws [-].
///
/// Chosen between two rows of `tests/physics/accuracy.rs`: a loss to the walls of 12 to 25 % of fuel energy at full load, and
/// CA50 of best torque at 6 to 10 deg (both Heywood 1988; `from memory`). The published coefficients alone lose too
/// little heat; more than this would put best torque too late at low speed.
pub const WALL_HEAT_SCALE: f64 = 1.35;

/// A published law of the heat-transfer coefficient: h = scale (p w)^0.8 T^-b V^-c with w = w0 + w1 (p - pm), pm the motored
/// pressure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeatLaw<N = f64> {
    scale: N,
    /// w0 [m/s].
    velocity_m_per_s: N,
    /// w1 [m/(s Pa)].
    velocity_per_pa: N,
    temperature_exponent: N,
    volume_exponent: N,
}

/// Exponent of pressure times velocity in both laws.
const PRESSURE_EXPONENT: f64 = 0.8;

impl HeatLaw {
    /// Woschni's law in the form given by Heywood, for one cylinder and speed.
    ///
    /// h = 3.26 B^-0.2 p^0.8 T^-0.55 w^0.8 (m, kPa, K, m/s),
    /// w = 2.28 Sp + 3.24e-3 (Vd Tr / (pr Vr)) (p - pm).
    ///
    /// # Arguments
    /// - `factor`: multiplier on the coefficient [-]
    /// - `bore_m`, `mean_piston_speed_m_per_s`, `swept_volume_m3`: of the cylinder
    /// - `charge_mass_gas_constant_j_per_k`: charge mass times gas constant, pr Vr / Tr [J/K]
    ///
    /// # Source
    /// Woschni, SAE 670931 (1967); Heywood, Internal Combustion Engine Fundamentals, 1988, eq. 12.19
    /// (coefficients confirmed by reading, exponent of temperature `from memory`).
    pub fn woschni(
        factor: f64,
        bore_m: f64,
        mean_piston_speed_m_per_s: f64,
        swept_volume_m3: f64,
        charge_mass_gas_constant_j_per_k: f64,
    ) -> Self {
        Self {
            // p is in kPa in the published form: 1000^-0.8 brings it to Pa.
            scale: factor * WALL_HEAT_SCALE * 3.26 * bore_m.powf(-0.2) * 1000f64.powf(-PRESSURE_EXPONENT),
            velocity_m_per_s: 2.28 * mean_piston_speed_m_per_s,
            velocity_per_pa: 3.24e-3 * swept_volume_m3 / charge_mass_gas_constant_j_per_k,
            temperature_exponent: 0.55,
            volume_exponent: 0.0,
        }
    }

    /// Hohenberg's law, the alternative, for one speed.
    ///
    /// h = 130 V^-0.06 p^0.8 T^-0.4 (Sp + 1.4)^0.8 (m3, bar, K, m/s).
    ///
    /// # Arguments
    /// - `factor`: multiplier on the coefficient [-]
    ///
    /// # Source
    /// Hohenberg, SAE 790825 (1979); constants 1.4 and -0.06 `from memory`.
    pub fn hohenberg(factor: f64, mean_piston_speed_m_per_s: f64) -> Self {
        Self {
            // p is in bar in the published form.
            scale: factor * WALL_HEAT_SCALE * 130.0 * 1e-5f64.powf(PRESSURE_EXPONENT),
            velocity_m_per_s: mean_piston_speed_m_per_s + 1.4,
            velocity_per_pa: 0.0,
            temperature_exponent: 0.4,
            volume_exponent: 0.06,
        }
    }

    /// Coefficient [W/(m2 K)].
    ///
    /// # Arguments
    /// - `pressure_pa`, `temperature_k`: cylinder pressure and mean gas temperature
    /// - `excess_pressure_pa`: pressure above the motored one, 0 before the burn
    /// - `volume_m3`: cylinder volume
    pub fn coefficient_w_per_m2_k(
        &self,
        pressure_pa: f64,
        temperature_k: f64,
        excess_pressure_pa: f64,
        volume_m3: f64,
    ) -> f64 {
        self.of_logarithms(pressure_pa.ln(), temperature_k, excess_pressure_pa, volume_m3.ln())
    }

    /// Several side by side.
    #[inline(always)]
    pub(super) fn beside<N: Lanes>(token: N::Token, of: impl Fn(usize) -> Self) -> HeatLaw<N> {
        let each = |get: fn(&Self) -> f64| N::gathered(token, |lane| get(&of(lane)));
        HeatLaw {
            scale: each(|law| law.scale),
            velocity_m_per_s: each(|law| law.velocity_m_per_s),
            velocity_per_pa: each(|law| law.velocity_per_pa),
            temperature_exponent: each(|law| law.temperature_exponent),
            volume_exponent: each(|law| law.volume_exponent),
        }
    }
}

impl<N: Lanes> HeatLaw<N> {
    /// The coefficient where ln p [Pa] and ln V [m3] are known.
    #[inline(always)]
    pub(super) fn of_logarithms(&self, ln_p: N, temperature_k: N, excess_pressure_pa: N, ln_volume: N) -> N {
        let velocity = self.velocity_m_per_s + self.velocity_per_pa * excess_pressure_pa.at_least(0.0);
        let exponent = (ln_p + velocity.ln()) * PRESSURE_EXPONENT
            - self.temperature_exponent * temperature_k.ln()
            - self.volume_exponent * ln_volume;
        self.scale * exponent.exp()
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
        let law = HeatLaw::woschni(1.0 / WALL_HEAT_SCALE, 0.086, 10.0, 5e-4, 0.17);
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
        let law = HeatLaw::hohenberg(1.0 / WALL_HEAT_SCALE, 10.0);
        assert_relative_eq!(
            law.coefficient_w_per_m2_k(30e5, 1000.0, 0.0, 1e-4),
            1517.624,
            max_relative = 1e-6
        );
    }
}
