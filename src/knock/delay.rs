//! Ignition delay of the end gas.

/// A published ignition-delay law, evaluated in the inner loop.
pub trait DelayLaw: Copy {
    /// Delay [s] of gas of octane number 100 at a pressure [Pa] and temperature [K].
    fn delay_at_100_s(&self, pressure_pa: f64, temperature_k: f64) -> f64;

    /// Exponent b of the octane number: delay = delay at 100 times (ON / 100)^b [-].
    fn octane_exponent(&self) -> f64;
}

/// The Douaud-Eyzat form with endgas's own multiplier, octane exponent and speed damping.
///
/// tau = m A (ON/100)^b p^-1.7 exp(3800/T), A = 17.68 ms atm^1.7 (p in atm, T in K)
///
/// # Source
/// Form, A, the pressure exponent and 3800 K: Douaud and Eyzat, SAE 780080 (1978), by way of
/// Heywood 1988, ch. 9 (`from memory`). The paper prints b = 3.402. The multiplier, b and the damping are
/// endgas's: see [`Fit`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DouaudEyzat {
    scale_s: f64,
    octane_exponent: f64,
}

/// Constants of the knock model that are fitted, not published.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit {
    /// Multiplier on the published delay [-].
    pub delay_multiplier: f64,
    /// Exponent of the octane number [-].
    pub octane_exponent: f64,
    /// Delay grows shorter with speed as (speed / 3000 rpm)^-damping [-]. It stands for
    /// end-gas heating by turbulence that the model leaves out, and is a calibration, not physics.
    pub speed_damping: f64,
}

impl Fit {
    /// The shipped constants. `tests/physics/knock_fit.rs` fits them and says to which rows.
    pub const SHIPPED: Self = Self { delay_multiplier: 1.252, octane_exponent: 4.616, speed_damping: 0.3068 };
}

/// Speed at which the damping is 1 [rpm].
const DAMPING_SPEED_RPM: f64 = 3000.0;

impl DouaudEyzat {
    /// Law at an engine speed.
    pub fn new(fit: &Fit, speed_rpm: f64) -> Self {
        const A_S: f64 = 17.68e-3;
        let damping = (speed_rpm / DAMPING_SPEED_RPM).powf(-fit.speed_damping);
        Self {
            scale_s: A_S * fit.delay_multiplier * damping * crate::constants::ATMOSPHERE_PA.powf(1.7),
            octane_exponent: fit.octane_exponent,
        }
    }
}

impl DelayLaw for DouaudEyzat {
    #[inline]
    fn delay_at_100_s(&self, pressure_pa: f64, temperature_k: f64) -> f64 {
        self.scale_s * (3800.0 / temperature_k - 1.7 * pressure_pa.ln()).exp()
    }

    fn octane_exponent(&self) -> f64 {
        self.octane_exponent
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    // HAND: p 40 atm, T 850 K, ON 100: 17.68 * 40^-1.7 * exp(3800/850) = 2.92100 ms, multiplier 1, 3000 rpm.
    #[test]
    fn printed_law_by_hand() {
        let fit = Fit { delay_multiplier: 1.0, octane_exponent: 3.402, speed_damping: 0.4 };
        let law = DouaudEyzat::new(&fit, 3000.0);
        assert_relative_eq!(law.delay_at_100_s(40.0 * 101_325.0, 850.0), 2.921_003e-3, max_relative = 1e-6);
        assert!(DouaudEyzat::new(&fit, 6000.0).delay_at_100_s(4e6, 850.0) < law.delay_at_100_s(4e6, 850.0));
    }
}
