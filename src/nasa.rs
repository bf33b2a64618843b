//! The NASA seven-coefficient polynomial: the form in which fuels and gases carry
//! heat capacity, enthalpy and entropy (McBride, Gordon and Reno, NASA TM-4513, 1993).

use crate::constants::GAS_CONSTANT_J_PER_MOL_K as R;
use crate::lanes::Lanes;

/// Temperature at which every polynomial of the project changes range [K].
pub const BREAK_TEMPERATURE_K: f64 = 1000.0;

/// Molar NASA polynomial in two ranges, 200 to 1000 K and 1000 to 6000 K.
///
/// cp/R = a1 + a2 T + a3 T^2 + a4 T^3 + a5 T^4, with a6 and a7 the integration
/// constants of enthalpy and entropy. Enthalpy is absolute (formation enthalpy included).
/// All polynomials share one break, so mixtures are sums of coefficients.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Nasa7<N = f64> {
    /// Coefficients a1..a7 below [`BREAK_TEMPERATURE_K`].
    pub low: [N; 7],
    /// Coefficients a1..a7 above it.
    pub high: [N; 7],
}

impl<N: Lanes> Nasa7<N> {
    #[inline(always)]
    fn coefficients(&self, temperature_k: N) -> [N; 7] {
        let is_low = temperature_k.is_below(temperature_k.everywhere(BREAK_TEMPERATURE_K));
        N::pick(is_low, &self.low, &self.high)
    }

    /// Molar heat capacity at constant pressure [J/(mol K)].
    #[inline(always)]
    pub fn cp(&self, temperature_k: N) -> N {
        let (a, t) = (self.coefficients(temperature_k), temperature_k);
        (a[0] + t * (a[1] + t * (a[2] + t * (a[3] + t * a[4])))) * R
    }

    /// Molar enthalpy, formation enthalpy included [J/mol].
    #[inline(always)]
    pub fn enthalpy(&self, temperature_k: N) -> N {
        let (a, t) = (self.coefficients(temperature_k), temperature_k);
        let slope = a[1] * 0.5 + t * (a[2] * (1.0 / 3.0) + t * (a[3] * 0.25 + t * (a[4] * 0.2)));
        (t * (a[0] + t * slope) + a[5]) * R
    }
}

impl Nasa7 {
    /// The polynomial that is zero everywhere; the start of a sum.
    pub const ZERO: Self = Self { low: [0.0; 7], high: [0.0; 7] };

    /// Several side by side.
    #[inline(always)]
    pub(crate) fn beside<N: Lanes>(token: N::Token, of: impl Fn(usize) -> Self) -> Nasa7<N> {
        Nasa7 {
            low: std::array::from_fn(|i| N::gathered(token, |lane| of(lane).low[i])),
            high: std::array::from_fn(|i| N::gathered(token, |lane| of(lane).high[i])),
        }
    }

    /// Molar entropy at the standard pressure [J/(mol K)].
    #[inline]
    pub fn entropy(&self, temperature_k: f64) -> f64 {
        let (a, t) = (self.coefficients(temperature_k), temperature_k);
        R * (a[0] * t.ln() + t * (a[1] + t * (a[2] / 2.0 + t * (a[3] / 3.0 + t * a[4] / 4.0))) + a[6])
    }

    /// This polynomial plus `factor` times another, coefficient by coefficient.
    #[must_use]
    pub fn plus_scaled(&self, other: &Self, factor: f64) -> Self {
        let add = |a: &[f64; 7], b: &[f64; 7]| std::array::from_fn(|i| a[i] + factor * b[i]);
        Self { low: add(&self.low, &other.low), high: add(&self.high, &other.high) }
    }

    /// The same polynomial with every molar quantity multiplied by `factor`.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        Self::ZERO.plus_scaled(self, factor)
    }

    /// The same polynomial with its enthalpy raised by a constant [J/mol].
    #[must_use]
    pub fn with_enthalpy_shift(mut self, shift_j_per_mol: f64) -> Self {
        self.low[5] += shift_j_per_mol / R;
        self.high[5] += shift_j_per_mol / R;
        self
    }
}
