//! Numbers side by side: what is computed with one number, written once, is computed with four in one vector register.
//!
//! No product and sum are fused, and no step depends on what the processor can do, so that four numbers side by side come out
//! the same to the last bit on every processor.

use fearless_simd::{
    Bytes, ExtractToken, Select, Simd, SimdBase, SimdFloat, SimdMask, f64x4, mask64x4, u64x4,
};
use std::ops::{Add, BitAnd, Div, Mul, Neg, Not, Sub};

/// Most numbers side by side.
pub const MOST: usize = 4;

/// One number, or several side by side.
pub trait Lanes:
    Copy
    + Neg<Output = Self>
    + Add<Output = Self>
    + Add<f64, Output = Self>
    + Sub<Output = Self>
    + Sub<f64, Output = Self>
    + Mul<Output = Self>
    + Mul<f64, Output = Self>
    + Div<Output = Self>
    + Div<f64, Output = Self>
{
    /// How many there are, at most [`MOST`].
    const WIDTH: usize;
    /// A yes or no for each.
    type Mask: Copy + BitAnd<Output = Self::Mask> + Not<Output = Self::Mask>;
    /// What shows that the processor can.
    type Token: Copy;

    /// The numbers that `each` gives for its place.
    fn gathered(token: Self::Token, each: impl FnMut(usize) -> f64) -> Self;
    /// The number at a place.
    fn lane(self, place: usize) -> f64;
    /// The same number everywhere.
    #[must_use]
    fn everywhere(self, value: f64) -> Self;
    /// Exponential function, argument within +/-700 (beyond that as there): within 4e-13 of its value.
    #[must_use]
    fn exp(self) -> Self;
    /// Natural logarithm of positive normal numbers: within 1e-14 of its value or 1e-15, whichever is more. Of other numbers it is of
    /// no meaning.
    #[must_use]
    fn ln(self) -> Self;
    /// Square root.
    #[must_use]
    fn sqrt(self) -> Self;
    /// The greater of each number and another.
    #[must_use]
    fn at_least(self, least: f64) -> Self;
    /// Where each number is less than the other.
    fn is_below(self, other: Self) -> Self::Mask;
    /// The first where the mask says so, else the second.
    #[must_use]
    fn select(mask: Self::Mask, then: Self, otherwise: Self) -> Self;
    /// Whether the mask says yes everywhere.
    fn all(mask: Self::Mask) -> bool;
    /// Four cubics with their slopes, at the number of each place: `[values, slopes]`.
    ///
    /// # Arguments
    /// - `of`: the cubics of a place; their constants, then their linear coefficients, and so on
    fn cubics<'c>(self, of: impl Fn(usize) -> &'c [[f64; 4]; 4]) -> [[Self; 4]; 2];

    /// The first set of numbers where the mask says so, else the second.
    #[inline(always)]
    fn pick<const N: usize>(mask: Self::Mask, then: &[Self; N], otherwise: &[Self; N]) -> [Self; N] {
        if Self::all(mask) {
            *then
        } else if Self::all(!mask) {
            *otherwise
        } else {
            let mut picked = *then;
            for i in 0..N {
                picked[i] = Self::select(mask, then[i], otherwise[i]);
            }
            picked
        }
    }
}

impl Lanes for f64 {
    const WIDTH: usize = 1;
    type Mask = bool;
    type Token = ();

    #[inline(always)]
    fn gathered((): (), mut each: impl FnMut(usize) -> f64) -> Self {
        each(0)
    }

    #[inline(always)]
    fn lane(self, _place: usize) -> f64 {
        self
    }

    #[inline(always)]
    fn everywhere(self, value: f64) -> Self {
        value
    }

    #[inline(always)]
    fn exp(self) -> Self {
        f64::exp(self)
    }

    #[inline(always)]
    fn ln(self) -> Self {
        f64::ln(self)
    }

    #[inline(always)]
    fn sqrt(self) -> Self {
        f64::sqrt(self)
    }

    #[inline(always)]
    fn at_least(self, least: f64) -> Self {
        f64::max(self, least)
    }

    #[inline(always)]
    fn is_below(self, other: Self) -> bool {
        self < other
    }

    #[inline(always)]
    fn select(mask: bool, then: Self, otherwise: Self) -> Self {
        if mask { then } else { otherwise }
    }

    #[inline(always)]
    fn all(mask: bool) -> bool {
        mask
    }

    #[inline(always)]
    fn cubics<'c>(self, of: impl Fn(usize) -> &'c [[f64; 4]; 4]) -> [[Self; 4]; 2] {
        let (c, x) = (of(0), self);
        [
            std::array::from_fn(|k| c[0][k] + x * (c[1][k] + x * (c[2][k] + x * c[3][k]))),
            std::array::from_fn(|k| c[1][k] + x * (2.0 * c[2][k] + x * (3.0 * c[3][k]))),
        ]
    }
}

/// ln 2 in two parts, the first with zeros at its end, so that whole multiples of it are exact.
const LN_2_HIGH: f64 = f64::from_bits(0x3fe6_2e42_fee0_0000);
const LN_2_LOW: f64 = std::f64::consts::LN_2 - LN_2_HIGH;
/// Added to a number below 2^51 it leaves the nearest whole number in the low bits.
const TO_WHOLE: f64 = 6_755_399_441_055_744.0;
/// 2^52, in whose low bits a whole number below it stands.
const WHOLE: f64 = 4_503_599_627_370_496.0;
const MANTISSA_BITS: u32 = 52;
const MANTISSA: u64 = (1 << MANTISSA_BITS) - 1;
const ONE: u64 = 1.0_f64.to_bits();

impl<S: Simd> Lanes for f64x4<S> {
    const WIDTH: usize = 4;
    type Mask = mask64x4<S>;
    type Token = S;

    #[inline(always)]
    fn gathered(token: S, each: impl FnMut(usize) -> f64) -> Self {
        Self::from_fn(token, each)
    }

    #[inline(always)]
    fn lane(self, place: usize) -> f64 {
        self[place]
    }

    #[inline(always)]
    fn everywhere(self, value: f64) -> Self {
        Self::splat(self.token(), value)
    }

    /// 2^n times Taylor's series to the tenth power of what is left, at most half of ln 2.
    #[inline(always)]
    fn exp(self) -> Self {
        let x = self.max(-700.0).min(700.0);
        let shifted = x * std::f64::consts::LOG2_E + TO_WHOLE;
        let whole = shifted - TO_WHOLE;
        let f = x - whole * LN_2_HIGH - whole * LN_2_LOW;
        let f2 = f * f;
        let f4 = f2 * f2;
        let low = (f + 1.0) + f2 * (f * (1.0 / 6.0) + 0.5);
        let middle = (f * (1.0 / 120.0) + 1.0 / 24.0) + f2 * (f * (1.0 / 5040.0) + 1.0 / 720.0);
        let high = (f * (1.0 / 362_880.0) + 1.0 / 40_320.0) + f2 * (1.0 / 3_628_800.0);
        let series = low + f4 * (middle + f4 * high);
        let power: u64x4<S> = (shifted.bitcast::<u64x4<S>>() << MANTISSA_BITS) + ONE;
        series * power.bitcast::<Self>()
    }

    /// n ln 2 and the series of the inverse hyperbolic tangent for what is left, between the roots of a half and of two.
    #[inline(always)]
    fn ln(self) -> Self {
        let bits: u64x4<S> = self.bitcast();
        let exponent: Self = ((bits >> MANTISSA_BITS) | WHOLE.to_bits()).bitcast();
        let mantissa: Self = ((bits & MANTISSA) | ONE).bitcast();
        let is_high = mantissa.simd_gt(std::f64::consts::SQRT_2);
        let m = is_high.select(mantissa * 0.5, mantissa);
        let exponent = exponent - (WHOLE + 1023.0);
        let exponent = is_high.select(exponent + 1.0, exponent);
        let s = (m - 1.0) / (m + 1.0);
        let s2 = s * s;
        let s4 = s2 * s2;
        let low = (s2 * (2.0 / 5.0) + 2.0 / 3.0) + s4 * (s2 * (2.0 / 9.0) + 2.0 / 7.0);
        let high = (s2 * (2.0 / 13.0) + 2.0 / 11.0) + s4 * (s2 * (2.0 / 17.0) + 2.0 / 15.0);
        let rest = s2 * s * (low + s4 * s4 * high);
        exponent * LN_2_HIGH + (s * 2.0 + (rest + exponent * LN_2_LOW))
    }

    #[inline(always)]
    fn sqrt(self) -> Self {
        SimdFloat::sqrt(self)
    }

    #[inline(always)]
    fn at_least(self, least: f64) -> Self {
        self.max(least)
    }

    #[inline(always)]
    fn is_below(self, other: Self) -> Self::Mask {
        self.simd_lt(other)
    }

    #[inline(always)]
    fn select(mask: Self::Mask, then: Self, otherwise: Self) -> Self {
        Select::select(mask, then, otherwise)
    }

    #[inline(always)]
    fn all(mask: Self::Mask) -> bool {
        mask.all_true()
    }

    #[inline(always)]
    fn cubics<'c>(self, of: impl Fn(usize) -> &'c [[f64; 4]; 4]) -> [[Self; 4]; 2] {
        let [a, b, c, d] =
            [cubic(self, 0, of(0)), cubic(self, 1, of(1)), cubic(self, 2, of(2)), cubic(self, 3, of(3))];
        [transposed([a[0], b[0], c[0], d[0]]), transposed([a[1], b[1], c[1], d[1]])]
    }
}

/// Four cubics with their slopes at the number of one place.
#[inline(always)]
fn cubic<S: Simd>(x: f64x4<S>, place: usize, of: &[[f64; 4]; 4]) -> [f64x4<S>; 2] {
    let token = x.token();
    let x = x.everywhere(x[place]);
    let (c0, c1) = (f64x4::from_slice(token, &of[0]), f64x4::from_slice(token, &of[1]));
    let (c2, c3) = (f64x4::from_slice(token, &of[2]), f64x4::from_slice(token, &of[3]));
    [c0 + x * (c1 + x * (c2 + x * c3)), c1 + x * (c2 * 2.0 + x * (c3 * 3.0))]
}

#[inline(always)]
fn transposed<S: Simd>([a, b, c, d]: [f64x4<S>; 4]) -> [f64x4<S>; 4] {
    let (ac, bd) = ((a.zip_low(c), a.zip_high(c)), (b.zip_low(d), b.zip_high(d)));
    [ac.0.zip_low(bd.0), ac.0.zip_high(bd.0), ac.1.zip_low(bd.1), ac.1.zip_high(bd.1)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use fearless_simd::{Level, dispatch};

    /// The most that a function of four numbers differs from that of one, as a share of its value where that is above 1e-1.
    fn off(four: impl Fn([f64; 4]) -> [f64; 4], one: fn(f64) -> f64, from: f64, by: f64) -> f64 {
        let mut most = 0.0_f64;
        for i in 0..20_000 {
            let x = [0.0, 0.25, 0.5, 0.75].map(|part| from + (f64::from(i) + part) * by);
            for (found, x) in four(x).into_iter().zip(x) {
                most =
                    most.max((found - one(x)).abs() / one(x).abs().max(0.1 * f64::from(one(x).abs() > 1e-3)));
            }
        }
        most
    }

    fn exp4(x: [f64; 4]) -> [f64; 4] {
        dispatch!(Level::new(), simd => Lanes::exp(f64x4::from_fn(simd, |i| x[i])).into())
    }

    fn ln4(x: [f64; 4]) -> [f64; 4] {
        dispatch!(Level::new(), simd => Lanes::ln(f64x4::from_fn(simd, |i| x[i])).into())
    }

    #[test]
    fn exponential_and_logarithm_are_those_of_one_number() {
        assert!(off(exp4, f64::exp, -690.0, 0.069) < 4e-13, "{:e}", off(exp4, f64::exp, -690.0, 0.069));
        assert!(off(exp4, f64::exp, -1.0, 1e-4) < 4e-13);
        assert!(off(ln4, f64::ln, 1e-3, 1e-3) < 1e-14, "{:e}", off(ln4, f64::ln, 1e-3, 1e-3));
        assert!(off(ln4, f64::ln, 0.5, 1e-4) < 1e-14, "{:e}", off(ln4, f64::ln, 0.5, 1e-4));
        assert!(off(ln4, f64::ln, 1.0, 5e4) < 1e-14);
        assert_eq!(exp4([-5000.0; 4])[0], exp4([-700.0; 4])[0]);
    }

    #[test]
    fn cubics_of_four_are_those_of_one() {
        let c: [[[f64; 4]; 4]; 4] = std::array::from_fn(|p| {
            std::array::from_fn(|i| {
                std::array::from_fn(|k| 1.0 + p as f64 - 0.3 * i as f64 + 0.17 * (k * k) as f64)
            })
        });
        let x = [0.1, 0.4, 0.7, 0.95];
        let four: [[[f64; 4]; 4]; 2] = dispatch!(Level::new(), simd => {
            f64x4::from_fn(simd, |i| x[i]).cubics(|place| &c[place]).map(|values| values.map(<[f64; 4]>::from))
        });
        for place in 0..4 {
            let one = x[place].cubics(|_| &c[place]);
            for which in 0..2 {
                for k in 0..4 {
                    assert_eq!(four[which][k][place], one[which][k]);
                }
            }
        }
    }
}
