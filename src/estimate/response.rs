//! How one operating point answers to timing and to its uncertain inputs.
//!
//! Running every sample through the cycle at every timing would cost seconds. Instead the cycle is
//! run on a grid of timings as likely, and twice for each input that enters the cycle on a coarser one
//! ([`super::slopes`]), and the logarithms of net work and of the ignition integral, and the peak pressure, are kept as a
//! quadratic in each input at each timing. Inputs act independently in the logarithm. The error
//! against the cycle itself is bounded in `tests/physics/response_surrogate.rs`.

use super::interpolate::{CubicPiece, cubic_through_nearest};
use super::point::{AtSpark, FuelInUse, Shifts};
use super::slopes::{Kept, Quadratics, Slopes, kept, stretched};
use super::tuned::Tuned;

/// Timings of the grid against MBT timing [deg], most advanced first.
const OFFSETS_DEG: [f64; NODES] = [8.0, 3.0, -2.0, -7.0, -13.0, -20.0, -28.0, -38.0];
/// Number of timings of the grid.
pub const NODES: usize = 8;
/// Inputs that enter the cycle: breathing, burn speed, heat, charge temperature, lambda, ethanol, unmeasured valve events,
/// unmeasured bore and stroke.
pub const CYCLE_INPUTS: usize = 8;

/// Values of the cycle's inputs for one sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CycleInputs {
    /// Multipliers and shift that the point takes.
    pub shifts: Shifts,
    /// Air-fuel equivalence ratio [-].
    pub lambda: f64,
    /// Ethanol content by volume [-].
    pub ethanol_vol_frac: f64,
    /// Deviates of unmeasured valve events and of unmeasured bore and stroke.
    pub unmeasured: [f64; 2],
}

impl CycleInputs {
    pub(super) fn values(&self) -> [f64; CYCLE_INPUTS] {
        let s = &self.shifts;
        let [events, bore] = self.unmeasured;
        let (lambda, ethanol) = (self.lambda, self.ethanol_vol_frac);
        [s.breathing, s.burn_speed, s.heat, s.charge_temperature_k, lambda, ethanol, events, bore]
    }
}

/// A fuel as likely and at the ends of its uncertain mixture and content.
#[derive(Clone, Debug)]
pub struct FuelVariants {
    /// As likely.
    pub likely: FuelInUse,
    /// At lambda below and above the likely one.
    pub mixture: [FuelInUse; 2],
    /// At the lowest and highest content sold, where that is uncertain.
    pub content: Option<[FuelInUse; 2]>,
}

/// The response of one operating point.
#[derive(Clone, Debug)]
pub struct Response {
    /// Timings of the grid [deg before top dead centre], most advanced first.
    pub sparks_deg_btdc: [f64; NODES],
    base: [Kept; NODES],
    pub(super) inputs: Quadratics<NODES>,
}

/// Timings of the grid against MBT timing [deg] that reach the one used.
///
/// # Arguments
/// - `used_deg`: against MBT timing [deg]
fn grid(used_deg: f64) -> [f64; NODES] {
    stretched(&OFFSETS_DEG, NODES - 3, used_deg)
}

/// Curves over the timing grid for one sample.
#[derive(Clone, Copy, Debug)]
pub struct SparkCurves {
    sparks: [f64; NODES],
    /// Net mean effective pressure [bar].
    pub imep_net_bar: [f64; NODES],
    /// ln of the ignition integral at octane number 100 [-].
    pub ln_integral: [f64; NODES],
    /// Peak pressure [bar].
    pub peak_pressure_bar: [f64; NODES],
}

impl Response {
    /// Runs the grid about MBT timing.
    ///
    /// # Arguments
    /// - `likely`: the point; the grid reaches the timing it uses
    /// - `slopes`: its own, or those of its speed and ratio
    pub fn new(likely: &Tuned<'_>, slopes: &Slopes) -> Self {
        let mut timings = likely.point.timings();
        Self::read(likely, slopes, |spark| timings.at_spark(spark))
    }

    /// The same where `run` reads the point at a timing [deg before top dead centre].
    pub fn read(likely: &Tuned<'_>, slopes: &Slopes, mut run: impl FnMut(f64) -> AtSpark) -> Self {
        let offsets = grid(likely.used.spark_deg_btdc - likely.mbt.spark_deg_btdc);
        let sparks_deg_btdc = offsets.map(|offset| likely.mbt.spark_deg_btdc + offset);
        let base = sparks_deg_btdc.map(|spark| kept(&run(spark)));
        Self { sparks_deg_btdc, base, inputs: slopes.at(&offsets) }
    }

    /// ln of the ignition integral at octane number 100 for one sample, as [`Self::at`] has it [-].
    pub fn ln_integrals(&self, inputs: &CycleInputs) -> [f64; NODES] {
        let mut found = self.base.map(|[_, ln_integral, _]| ln_integral);
        for (quadratic, value) in self.inputs.iter().zip(inputs.values()) {
            let Some(q) = quadratic else { continue };
            let x = value - q.likely;
            for (node, (linear, square)) in found.iter_mut().zip(q.linear.iter().zip(&q.square)) {
                *node += x * (linear[1] + x * square[1]);
            }
        }
        found
    }

    /// Curves for one sample.
    pub fn at(&self, inputs: &CycleInputs) -> SparkCurves {
        let mut kept = self.base;
        for (quadratic, value) in self.inputs.iter().zip(inputs.values()) {
            let Some(q) = quadratic else { continue };
            let x = value - q.likely;
            for (node, (linear, square)) in kept.iter_mut().zip(q.linear.iter().zip(&q.square)) {
                for k in 0..3 {
                    node[k] += x * (linear[k] + x * square[k]);
                }
            }
        }
        SparkCurves {
            sparks: self.sparks_deg_btdc,
            imep_net_bar: kept.map(|k| k[0].exp()),
            ln_integral: kept.map(|k| k[1]),
            peak_pressure_bar: kept.map(|k| k[2]),
        }
    }
}

impl SparkCurves {
    /// Value of a curve at a timing, by the cubic through the four nearest nodes.
    pub fn at(&self, curve: &[f64; NODES], spark: f64) -> f64 {
        cubic_through_nearest(&self.sparks, curve, spark)
    }

    /// Timing of the highest value of a curve, by the parabola through the highest node and its neighbours.
    pub fn best_spark(&self, curve: &[f64; NODES]) -> f64 {
        let mut top = 1;
        for i in 2..NODES - 1 {
            if curve[i] > curve[top] {
                top = i;
            }
        }
        let s = &self.sparks[top - 1..=top + 1];
        let f = &curve[top - 1..=top + 1];
        let (left, right) = ((f[1] - f[0]) / (s[1] - s[0]), (f[2] - f[1]) / (s[2] - s[1]));
        let curvature = (right - left) / (s[2] - s[0]);
        if curvature >= 0.0 {
            return s[1];
        }
        let slope = left + curvature * (s[1] - s[0]);
        (s[1] - 0.5 * slope / curvature).clamp(s[2], s[0])
    }

    /// Most advanced timing, at most `best`, at which ln of the integral is at most `limit`;
    /// the most retarded node when none is.
    pub fn limited_spark(&self, limit: f64, best: f64) -> f64 {
        if self.at(&self.ln_integral, best) <= limit {
            return best;
        }
        let before = self.sparks.iter().take_while(|spark| **spark >= best).count();
        let Some(end) = (before..NODES).find(|node| self.ln_integral[*node] <= limit) else {
            return self.sparks[NODES - 1];
        };
        let high = if end == before { best } else { self.sparks[end - 1] };
        let piece = CubicPiece::to_node(&self.sparks, &self.ln_integral, end);
        let (mut high, mut low) = (high, self.sparks[end]);
        for _ in 0..30 {
            let middle = 0.5 * (low + high);
            if piece.at(middle) <= limit {
                low = middle;
            } else {
                high = middle;
            }
            if high - low < 0.01 {
                break;
            }
        }
        low
    }

    /// Most advanced timing of the grid at which ln of the integral is at most `limit`: the timing at
    /// which a margin is used up, capped at the end of the grid.
    pub fn spark_at_limit(&self, limit: f64) -> f64 {
        self.limited_spark(limit, self.sparks[0])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // HAND: 20 deg back the usual grid is kept; 56 deg back its last two gaps, of 8 and 10 deg, are twice as wide.
    #[test]
    fn the_grid_reaches_the_spark_in_use() {
        assert_eq!(grid(-20.0), OFFSETS_DEG);
        assert_eq!(grid(-56.0), [8.0, 3.0, -2.0, -7.0, -13.0, -20.0, -36.0, -56.0]);
    }
}
