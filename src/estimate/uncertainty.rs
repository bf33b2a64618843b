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
pub const Z_90: f64 = 1.281_551_565_544_6;
/// Deviates beyond this are cut off: the bands say nothing of such tails.
const Z_LIMIT: f64 = 2.6;

/// An uncertain input.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
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
    /// Where torque and power peak; its band is that of the breathing source.
    Powerband,
    /// Octane requirement of this engine against others of its model.
    KnockEngine,
    /// Octane requirement away from 3000 rpm, per unit of ln speed.
    KnockSpeed,
    /// Valve events, where they are not stated.
    ValveEvents,
    /// Bore and stroke, where the displacement alone is stated.
    BoreAndStroke,
    /// Effective length of the inlet runner, where VE is computed from pipes; so the three below.
    RunnerLength,
    /// Effective length of the exhaust primary.
    PrimaryLength,
    /// Flow through the valves.
    ValveFlow,
    /// Friction along the pipes.
    WaveDamping,
}

/// Fewest samples from which percentiles are read.
pub const LEAST_SAMPLES: usize = 20;

/// Number of uncertain inputs.
pub const INPUTS: usize = 20;

/// One draw: a standard normal deviate per input, scaled so that 1 is the 90th percentile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample([f64; INPUTS]);

impl Sample {
    /// Deviates of all inputs, in the order of [`Input::ALL`].
    pub fn of(deviates: [f64; INPUTS]) -> Self {
        Self(deviates)
    }

    /// Deviates of all inputs, in the order of [`Input::ALL`].
    pub fn deviates(&self) -> &[f64; INPUTS] {
        &self.0
    }

    /// Deviate of an input: -1 at its 10th, 0 at its 50th, 1 at its 90th percentile.
    pub fn deviate(&self, input: Input) -> f64 {
        self.0[input as usize]
    }

    /// The same with some inputs as another sample has them.
    pub fn with(mut self, other: &Self, inputs: &[Input]) -> Self {
        for input in inputs {
            self.0[*input as usize] = other.0[*input as usize];
        }
        self
    }

    /// The same with the deviate of one input put in its place.
    pub fn with_deviate(mut self, input: Input, deviate: f64) -> Self {
        self.0[input as usize] = deviate;
        self
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

    /// The 90th percentile of a sum of all inputs is exactly the square root of their number, in deviates; its
    /// error over seeds must fall as samples grow and not be worse than that of plain draws.
    #[test]
    fn percentiles_converge_as_samples_grow() {
        let error = |count: usize| {
            let square = |seed: u64| {
                let mut sums: Vec<f64> =
                    latin_hypercube(count, seed).iter().map(|s| s.0.iter().sum::<f64>()).collect();
                sums.sort_by(f64::total_cmp);
                (sums[count * 9 / 10] / (INPUTS as f64).sqrt() - 1.0).powi(2)
            };
            ((1..=20).map(square).sum::<f64>() / 20.0).sqrt()
        };
        let (few, some, many) = (error(100), error(400), error(6400));
        // HAND: standard error of a 90th percentile, sqrt(0.9 0.1 / n) / 0.1755 over 1.2816: 13 % at 100,
        // 6.7 % at 400, 1.7 % at 6400 of plain draws.
        assert!(few < 0.14 && some < 0.07 && many < 0.02, "{few} {some} {many}");
        assert!(many < 0.5 * some && some < few, "{few} {some} {many}");
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
