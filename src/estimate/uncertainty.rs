//! What is not known, as distributions, and Latin hypercube samples of it.
//!
//! Each input has a median and a 10-90 % band; between and beyond, it is normal on each side of the
//! median (two half-normals joined). The samples are drawn once per estimate and used for every
//! fuel and speed, so differences between fuels do not carry sampling noise.

use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use statrs::distribution::{ContinuousCDF, Normal};

/// Standard normal deviate of the 90th percentile.
const Z_90: f64 = 1.281_551_565_544_6;
/// Deviates beyond this are cut off: the bands say nothing of such tails.
const Z_LIMIT: f64 = 2.6;

/// An uncertain input.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(usize)]
pub enum Input {
    /// Volumetric efficiency over its likely value; its band is that of the breathing source.
    Breathing,
    /// Burn speed over the build's.
    BurnSpeed,
    /// Wall heat over the build's.
    Heat,
    /// Fresh charge temperature [K].
    ChargeTemperature,
    /// Mixture (lambda).
    Mixture,
    /// Ethanol content of the fuel as sold.
    EthanolContent,
    /// Friction over the law's.
    Friction,
    /// Driveline loss; its band is that of the layout.
    Driveline,
    /// Octane requirement of the knock model against a real engine.
    KnockModel,
    /// Octane of the fuel against its rating or blend rule.
    FuelOctane,
    /// Weight of sensitivity in the octane index.
    SensitivityWeight,
}

/// Number of uncertain inputs.
pub const INPUTS: usize = 11;

impl Input {
    /// All inputs in the order of their discriminants.
    pub const ALL: [Self; INPUTS] = [
        Self::Breathing,
        Self::BurnSpeed,
        Self::Heat,
        Self::ChargeTemperature,
        Self::Mixture,
        Self::EthanolContent,
        Self::Friction,
        Self::Driveline,
        Self::KnockModel,
        Self::FuelOctane,
        Self::SensitivityWeight,
    ];

    /// Name in the trade's words.
    pub fn title(self) -> &'static str {
        match self {
            Self::Breathing => "volumetric efficiency",
            Self::BurnSpeed => "burn speed",
            Self::Heat => "heat to the walls",
            Self::ChargeTemperature => "charge temperature",
            Self::Mixture => "mixture (lambda)",
            Self::EthanolContent => "ethanol content",
            Self::Friction => "friction",
            Self::Driveline => "driveline loss",
            Self::KnockModel => "knock model",
            Self::FuelOctane => "octane of the fuel",
            Self::SensitivityWeight => "sensitivity weight K",
        }
    }
}

/// Half-width of the 10-90 % band of the inputs that have the same one everywhere.
///
/// Sources, in order:
/// - burn speed: durations of one chamber shape vary by some 12 % (band of the 10-90 % duration of four-valve
///   chambers, 16 to 25 deg about 20; Heywood 1988 and common practice, no source);
/// - heat: 25 % in the coefficient of Woschni's law (common practice, no source);
/// - charge temperature: 8 K at inlet closing (common practice, no source);
/// - mixture: 0.02 lambda held on a dynamometer (common practice, no source);
/// - friction: 20 % of the law (spread of published friction laws; common practice, no source);
/// - knock model: 4 octane numbers uncalibrated; cars of one model differ by up to 6 (Gasoline FAQ,
///   B. Hamilton 1996, section 6.16);
/// - sensitivity weight: 0.2 (Kalghatgi SAE 2001-01-3584, spread of K at full load; `from memory`).
pub mod half_width {
    /// Relative [-].
    pub const BURN_SPEED: f64 = 0.12;
    /// Relative [-].
    pub const HEAT: f64 = 0.25;
    /// [K].
    pub const CHARGE_TEMPERATURE_K: f64 = 8.0;
    /// Lambda [-].
    pub const MIXTURE: f64 = 0.02;
    /// Relative [-].
    pub const FRICTION: f64 = 0.20;
    /// Octane numbers [-].
    pub const KNOCK_MODEL: f64 = 4.0;
    /// K [-].
    pub const SENSITIVITY_WEIGHT: f64 = 0.2;
}

/// One draw: a standard normal deviate per input, scaled so that 1 is the 90th percentile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample([f64; INPUTS]);

impl Sample {
    /// Deviate of an input: -1 at its 10th, 0 at its 50th, 1 at its 90th percentile.
    pub fn deviate(&self, input: Input) -> f64 {
        self.0[input as usize]
    }

    /// Value of an input whose 10th, 50th and 90th percentiles are given.
    pub fn between(&self, input: Input, low: f64, likely: f64, high: f64) -> f64 {
        let z = self.deviate(input);
        likely + z * if z < 0.0 { likely - low } else { high - likely }
    }
}

/// Latin hypercube of `count` samples: each input falls once into each of `count` equally likely
/// strata, in random order (McKay, Beckman and Conover, Technometrics 21, 1979).
pub fn latin_hypercube(count: usize, seed: u64) -> Vec<Sample> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let normal = Normal::standard();
    let mut samples = vec![Sample([0.0; INPUTS]); count];
    let mut strata: Vec<usize> = (0..count).collect();
    for input in 0..INPUTS {
        strata.shuffle(&mut random);
        for (sample, stratum) in samples.iter_mut().zip(&strata) {
            let within: f64 = random.random();
            let z = normal.inverse_cdf((*stratum as f64 + within) / count as f64);
            sample.0[input] = z.clamp(-Z_LIMIT, Z_LIMIT) / Z_90;
        }
    }
    samples
}

/// Spearman's rank correlation of two series of equal length [-]; 0 when either does not vary.
pub fn rank_correlation(a: &[f64], b: &[f64]) -> f64 {
    let (ra, rb) = (ranks(a), ranks(b));
    let middle = 0.5 * (a.len() as f64 - 1.0);
    let (mut ab, mut aa, mut bb) = (0.0, 0.0, 0.0);
    for (x, y) in ra.iter().zip(&rb) {
        let (x, y) = (x - middle, y - middle);
        ab += x * y;
        aa += x * x;
        bb += y * y;
    }
    if aa == 0.0 || bb == 0.0 { 0.0 } else { ab / (aa * bb).sqrt() }
}

/// Ranks from 0, ties sharing their mean.
fn ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|i, j| values[*i].total_cmp(&values[*j]));
    let mut ranks = vec![0.0; values.len()];
    let mut from = 0;
    while from < order.len() {
        let mut to = from;
        while to + 1 < order.len() && values[order[to + 1]] == values[order[from]] {
            to += 1;
        }
        for position in from..=to {
            ranks[order[position]] = 0.5 * (from + to) as f64;
        }
        from = to + 1;
    }
    ranks
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn each_stratum_is_hit_once_and_seeds_differ() {
        let samples = latin_hypercube(200, 7);
        let normal = Normal::standard();
        for input in Input::ALL {
            let mut hit = [false; 200];
            for sample in &samples {
                let p = normal.cdf(sample.deviate(input) * Z_90);
                let stratum = ((p * 200.0) as usize).min(199);
                // The clamped tails share their stratum's neighbours.
                if (2..198).contains(&stratum) {
                    assert!(!hit[stratum], "{input:?} twice in {stratum}");
                    hit[stratum] = true;
                }
            }
            assert!(hit.iter().filter(|h| **h).count() >= 195);
        }
        assert_eq!(samples, latin_hypercube(200, 7));
        assert_ne!(samples, latin_hypercube(200, 8));
    }

    #[test]
    fn percentiles_are_as_stated() {
        let mut values: Vec<f64> =
            latin_hypercube(1000, 3).iter().map(|s| s.between(Input::Friction, 0.8, 1.0, 1.3)).collect();
        values.sort_by(f64::total_cmp);
        assert_relative_eq!(values[100], 0.8, epsilon = 0.004);
        assert_relative_eq!(values[500], 1.0, epsilon = 0.004);
        assert_relative_eq!(values[900], 1.3, epsilon = 0.006);
    }

    // HAND: ranks (0, 1, 2, 3) against (0, 1, 3, 2): 1 - 6 * 2 / (4 * 15) = 0.8.
    #[test]
    fn rank_correlation_by_hand() {
        assert_relative_eq!(
            rank_correlation(&[1.0, 2.0, 5.0, 9.0], &[10.0, 20.0, 40.0, 30.0]),
            0.8,
            epsilon = 1e-12
        );
        assert_eq!(rank_correlation(&[1.0, 1.0, 1.0], &[1.0, 2.0, 3.0]), 0.0);
    }
}
