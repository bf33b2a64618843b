//! Ignition delay of the end gas.

use crate::lanes::Lanes;
use crate::units::PA_PER_BAR;

/// Constants of the knock model that are fitted, not published.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KnockFit {
    /// Delay of octane number 100, stoichiometric, dry and without residual gas, at [`REFERENCE_PRESSURE_PA`],
    /// [`REFERENCE_TEMPERATURE_K`] and [`DAMPING_SPEED_RPM`] [s].
    pub reference_delay_s: f64,
    /// Exponent n of pressure, delay as p^-n [-].
    pub pressure_exponent: f64,
    /// Apparent activation temperature of gasoline [K].
    pub activation_temperature_k: f64,
    /// Exponent b of the octane number [-].
    pub octane_exponent: f64,
    /// Delay grows shorter with speed as (speed / 3000 rpm)^-damping [-]. It stands for what the
    /// model leaves out, and is a calibration, not physics.
    pub speed_damping: f64,
    /// Exponent a of the fuel-air ratio, delay as phi^a [-].
    ///
    /// Constant-volume chemistry gives -0.96 to -0.80 (row `CHEM_PHI`), with which an engine would need most octane at lambda
    /// 0.87 and hardly less at 0.80. Engines need most at 0.95 and 2 octane numbers less per unit of air-fuel ratio on
    /// either side (SAE 960497, abstract): what is fitted is what is left for the delay once the model has cooled the charge,
    /// slowed the burn and lowered the pressure.
    pub fuel_air_exponent: f64,
    /// Apparent activation temperature of ethanol [K], from its RON and MON: `tests/physics/octane_tests.rs`.
    pub ethanol_activation_temperature_k: f64,
    /// Temperature at which ethanol counts by its RON [K], at [`RON_TEST_PRESSURE_PA`].
    pub ron_test_temperature_k: f64,
}

/// Pressure at which the delay is stated [Pa].
pub const REFERENCE_PRESSURE_PA: f64 = 40.0 * PA_PER_BAR;
/// Temperature at which the delay is stated [K].
pub const REFERENCE_TEMPERATURE_K: f64 = 850.0;
/// Speed at which the damping is 1 [rpm].
pub const DAMPING_SPEED_RPM: f64 = 3000.0;

impl KnockFit {
    /// The shipped constants: `tests/physics/knock_fit.rs` and `tests/physics/octane_tests.rs` find them and say from what.
    pub const SHIPPED: Self = Self {
        reference_delay_s: 2.972e-3,
        pressure_exponent: 1.360,
        activation_temperature_k: 3625.0,
        octane_exponent: 4.071,
        speed_damping: 0.2457,
        fuel_air_exponent: 0.0475,
        ethanol_activation_temperature_k: 9040.0,
        ron_test_temperature_k: 844.0,
    };
}

/// What of the end gas besides pressure and temperature sets its delay.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EndGas {
    /// Air-fuel equivalence ratio [-].
    pub lambda: f64,
    /// Residual gas by mass [-].
    pub residual_frac: f64,
    /// Water vapour that came with the air, by moles of the charge [-].
    pub water_mole_frac: f64,
    /// Ethanol by moles of the fuel that has octane numbers [-].
    pub ethanol_mole_frac: f64,
}

/// What a mole fraction of water adds to the delay, over the delay [-]: 1 + 1.7 x.
///
/// # Source
/// The same mechanisms, 3 mol %: 1.043 to 1.068 (row `CHEM_WATER_TAU`).
pub const WATER_FACTOR: f64 = 1.7;

/// Exponent of the oxygen that residual gas takes the place of: delay as (1 - residual)^-1.6.
///
/// # Source
/// End-gas runs of the same mechanisms: 0.25 to 0.5 octane numbers per per cent of residual gas beyond what its heat capacity
/// does (row `CHEM_RES`), 0.36 of them with this exponent; exponents of oxygen near -1.4 are published for iso-octane (He
/// et al., Combust. Flame 2005, `from memory`).
pub const RESIDUAL_EXPONENT: f64 = -1.6;

/// Exponent of pressure of ethanol's delay, as p^-0.81.
///
/// # Source
/// CRECK mechanism with alcohols, 20 to 60 bar: -0.81 (row `CHEM_NPRF`); shock tubes -0.83 (Cancino et al., Energy Fuels
/// 2010, `from memory`).
pub const ETHANOL_PRESSURE_EXPONENT: f64 = 0.81;

/// Pressure at which ethanol counts by its RON [Pa]; the temperature that goes with it is [`KnockFit::ron_test_temperature_k`].
pub const RON_TEST_PRESSURE_PA: f64 = 26.0 * PA_PER_BAR;

/// Delay of a blend of gasoline and ethanol in an end gas, as an exponential of ln p and 1/T.
///
/// For octane number 100:
///
/// ln tau = ln tau_g + w [ (n - n_e) ln(p / p_RON) + (T_e - T_a) (1/T - 1/T_RON) ]
///
/// tau_g = tau_ref (p/40 bar)^-n exp(T_a (1/T - 1/850 K)) phi^a (1 + 1.7 x_water) (1 - x_res)^-1.6 (N/3000)^-d
///
/// with w the mole fraction of ethanol. Logarithms of the delays of gasoline and ethanol mix by moles; the rating sets the
/// level in the RON test, and the two laws how the blend departs from it where the end gas is hotter or cooler at a pressure.
/// A fuel of octane index OI has (OI/100)^b times that delay.
///
/// # Source
/// Form for gasoline: Douaud and Eyzat, SAE 780080 (1978), by way of Heywood 1988, ch. 9 (`from memory`), with constants
/// fitted anew, see [`KnockFit`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BlendDelay<N = f64> {
    /// ln of the delay at 1 Pa and infinite temperature.
    ln_scale: N,
    pressure_exponent: N,
    activation_temperature_k: N,
    octane_exponent: N,
}

impl<N: Lanes> BlendDelay<N> {
    /// ln of the delay [s] of gas of octane number 100 at a pressure [Pa] and temperature [K].
    #[inline(always)]
    pub fn ln_delay_at_100(&self, pressure_pa: N, temperature_k: N) -> N {
        self.ln_scale + self.activation_temperature_k / temperature_k
            - self.pressure_exponent * pressure_pa.ln()
    }
}

impl BlendDelay {
    /// Law of an end gas at an engine speed [rpm].
    pub fn new(fit: &KnockFit, gas: &EndGas, speed_rpm: f64) -> Self {
        let w = gas.ethanol_mole_frac;
        let pressure_by = w * (fit.pressure_exponent - ETHANOL_PRESSURE_EXPONENT);
        let temperature_by = w * (fit.ethanol_activation_temperature_k - fit.activation_temperature_k);
        let gasoline = fit.reference_delay_s.ln() + fit.pressure_exponent * REFERENCE_PRESSURE_PA.ln()
            - fit.activation_temperature_k / REFERENCE_TEMPERATURE_K
            - fit.fuel_air_exponent * gas.lambda.ln()
            + (WATER_FACTOR * gas.water_mole_frac).ln_1p()
            + RESIDUAL_EXPONENT * (-gas.residual_frac).ln_1p()
            - fit.speed_damping * (speed_rpm / DAMPING_SPEED_RPM).ln();
        Self {
            ln_scale: gasoline
                - pressure_by * RON_TEST_PRESSURE_PA.ln()
                - temperature_by / fit.ron_test_temperature_k,
            pressure_exponent: fit.pressure_exponent - pressure_by,
            activation_temperature_k: fit.activation_temperature_k + temperature_by,
            octane_exponent: fit.octane_exponent,
        }
    }

    /// Delay [s] of gas of octane number 100 at a pressure [Pa] and temperature [K].
    pub fn delay_at_100_s(&self, pressure_pa: f64, temperature_k: f64) -> f64 {
        self.ln_delay_at_100(pressure_pa, temperature_k).exp()
    }

    /// Several side by side.
    #[inline(always)]
    pub(super) fn beside<N: Lanes>(token: N::Token, of: impl Fn(usize) -> Self) -> BlendDelay<N> {
        BlendDelay {
            ln_scale: N::gathered(token, |lane| of(lane).ln_scale),
            pressure_exponent: N::gathered(token, |lane| of(lane).pressure_exponent),
            activation_temperature_k: N::gathered(token, |lane| of(lane).activation_temperature_k),
            octane_exponent: N::gathered(token, |lane| of(lane).octane_exponent),
        }
    }

    /// Exponent b of the octane number: delay = delay at 100 times (ON / 100)^b [-].
    pub fn octane_exponent(&self) -> f64 {
        self.octane_exponent
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const DRY: EndGas =
        EndGas { lambda: 1.0, residual_frac: 0.0, water_mole_frac: 0.0, ethanol_mole_frac: 0.0 };
    const FIT: KnockFit = KnockFit {
        reference_delay_s: 3e-3,
        pressure_exponent: 1.5,
        activation_temperature_k: 4000.0,
        octane_exponent: 4.0,
        speed_damping: 0.4,
        fuel_air_exponent: -0.9,
        ethanol_activation_temperature_k: 17_000.0,
        ron_test_temperature_k: 870.0,
    };

    fn delay_s(gas: EndGas, speed_rpm: f64, bar: f64, temperature_k: f64) -> f64 {
        BlendDelay::new(&FIT, &gas, speed_rpm).delay_at_100_s(bar * PA_PER_BAR, temperature_k)
    }

    // HAND: 3 ms at 40 bar and 850 K; at 80 bar 3 / 2^1.5 = 1.060 660 ms; at 900 K 3 exp(4000 (1/900 - 1/850)) =
    // 3 exp(-0.261 438) = 2.309 831 ms; at 6000 rpm 3 / 2^0.4 = 2.273 575 ms.
    #[test]
    fn gasoline_by_hand() {
        let at = |bar, kelvin| delay_s(DRY, 3000.0, bar, kelvin);
        assert_relative_eq!(at(40.0, 850.0), 3e-3, max_relative = 1e-12);
        assert_relative_eq!(at(80.0, 850.0), 1.060_660e-3, max_relative = 1e-6);
        assert_relative_eq!(at(40.0, 900.0), 2.309_831e-3, max_relative = 1e-6);
        assert_relative_eq!(delay_s(DRY, 6000.0, 40.0, 850.0), 2.273_575e-3, max_relative = 1e-6);
    }

    // HAND: lambda 0.9: 3 * 0.9^0.9 = 2.728 597 ms; 5 % residual: 3 / 0.95^1.6 = 3.256 597 ms; 3 mol % water: 3 * 1.051.
    #[test]
    fn composition_by_hand() {
        let at = |gas| delay_s(gas, 3000.0, 40.0, 850.0);
        assert_relative_eq!(at(EndGas { lambda: 0.9, ..DRY }), 2.728_597e-3, max_relative = 1e-5);
        assert_relative_eq!(at(EndGas { residual_frac: 0.05, ..DRY }), 3.256_597e-3, max_relative = 1e-5);
        assert_relative_eq!(at(EndGas { water_mole_frac: 0.03, ..DRY }), 3.153e-3, max_relative = 1e-9);
    }

    #[test]
    fn ethanol_is_rated_in_the_ron_test_and_follows_its_own_law_elsewhere() {
        let neat = EndGas { ethanol_mole_frac: 1.0, ..DRY };
        let (bar, kelvin) = (RON_TEST_PRESSURE_PA / PA_PER_BAR, FIT.ron_test_temperature_k);
        let at = |gas, bar, kelvin| delay_s(gas, 3000.0, bar, kelvin);
        assert_relative_eq!(at(neat, bar, kelvin), at(DRY, bar, kelvin), max_relative = 1e-12);
        // Cooler it stands longer than its rating, hotter it gives way sooner.
        assert!(at(neat, bar, kelvin - 30.0) > at(DRY, bar, kelvin - 30.0));
        assert!(at(neat, bar, kelvin + 30.0) < at(DRY, bar, kelvin + 30.0));
        let slope = (at(neat, bar, 800.0) / at(neat, bar, 900.0)).ln() / (1.0 / 800.0 - 1.0 / 900.0);
        assert_relative_eq!(slope, FIT.ethanol_activation_temperature_k, max_relative = 1e-9);
        // Half by moles lies halfway in the logarithm.
        let half = at(EndGas { ethanol_mole_frac: 0.5, ..DRY }, 60.0, 800.0).ln();
        assert_relative_eq!(
            half,
            0.5 * (at(neat, 60.0, 800.0).ln() + at(DRY, 60.0, 800.0).ln()),
            max_relative = 1e-12
        );
    }
}
