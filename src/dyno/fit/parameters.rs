//! What is fitted, in deviates: -1, 0 and 1 are the 10th, 50th and 90th percentile of what was known before.

use crate::estimate::uncertainty::{INPUTS, Input, Z_90};
use nalgebra::DVector;

/// Half width of the 10-90 % band of a straight tilt of VE over the speeds of the scenario, at either end [-]
/// (common practice, no source).
pub(super) const TILT: f64 = 0.04;
/// Knots of the shape of VE over the speeds of the scenario.
pub(super) const KNOTS: usize = 8;
/// Half width of the 10-90 % band of VE at one knot, the neighbours left alone [-] (common practice, no source:
/// waves in intake and exhaust that a band or a sheet does not know of).
pub(super) const KNOT: f64 = 0.02;

/// Standard deviation of a parameter in deviates.
pub(super) const SIGMA: f64 = 1.0 / Z_90;

/// Places of the parameters in the vector.
pub(super) const SCALE: usize = 0;
pub(super) const TILTED: usize = 1;
const FIRST_KNOT: usize = 2;
const FIRST_INPUT: usize = FIRST_KNOT + KNOTS;
/// Error that all rows of the pulls share.
pub(super) const READING: usize = FIRST_INPUT + INPUTS - 1;
/// Number of parameters.
pub(super) const COUNT: usize = READING + 1;

/// Place of an input of the estimate; [`Input::Breathing`] is [`SCALE`].
pub(super) fn place_of(input: Input) -> usize {
    if input == Input::Breathing { SCALE } else { FIRST_INPUT + input as usize - 1 }
}

/// A quantity by its 10th, 50th and 90th percentile, as a parabola in the deviate: smooth through all three.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Smooth {
    likely: f64,
    linear: f64,
    square: f64,
}

impl Smooth {
    /// Through three percentiles.
    pub(super) fn through(low: f64, likely: f64, high: f64) -> Self {
        Self { likely, linear: 0.5 * (high - low), square: 0.5 * (high + low) - likely }
    }

    /// Value at a deviate; the parabola is followed by its own end where it would turn.
    pub(super) fn at(&self, deviate: f64) -> f64 {
        let turn = if self.square == 0.0 { f64::INFINITY } else { self.linear / (2.0 * self.square.abs()) };
        let d = deviate.clamp(-turn, turn);
        self.likely + d * (self.linear + d * self.square)
    }
}

/// Speeds of the scenario, on which tilt and knots are laid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Span {
    /// Lowest and highest speed [rpm].
    pub(super) from_rpm: f64,
    /// Highest speed [rpm].
    pub(super) to_rpm: f64,
    /// How far the shape may go, over a free one [-].
    pub(super) freedom: f64,
}

impl Span {
    /// How the logarithm of VE answers to the shape parameters at a speed: tilt, then knots.
    pub(super) fn shape(&self, speed_rpm: f64) -> [f64; 1 + KNOTS] {
        let share = ((speed_rpm - self.from_rpm) / (self.to_rpm - self.from_rpm)).clamp(0.0, 1.0);
        let mut row = [0.0; 1 + KNOTS];
        row[0] = self.freedom * TILT * (2.0 * share - 1.0);
        let place = share * (KNOTS - 1) as f64;
        let below = (place.floor() as usize).min(KNOTS - 2);
        let part = place - below as f64;
        row[1 + below] = self.freedom * KNOT * (1.0 - part);
        row[2 + below] = self.freedom * KNOT * part;
        row
    }

    /// Logarithm of VE over that of the scenario by shape alone.
    pub(super) fn ln_shape(&self, parameters: &DVector<f64>, speed_rpm: f64) -> f64 {
        self.shape(speed_rpm).iter().enumerate().map(|(i, slope)| slope * parameters[TILTED + i]).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// HAND: 9, 12, 14 %: 0.12 + 0.025 d - 0.005 d^2.
    #[test]
    fn three_percentiles_are_met() {
        let loss = Smooth::through(0.09, 0.12, 0.14);
        for (deviate, value) in [(-1.0, 0.09), (0.0, 0.12), (1.0, 0.14), (0.5, 0.13125), (9.0, 0.15125)] {
            assert_relative_eq!(loss.at(deviate), value, epsilon = 1e-12);
        }
    }

    /// HAND: a tilt of one deviate is -4 % at the lowest and +4 % at the highest speed; knots join in lines.
    #[test]
    fn shape_is_laid_over_the_speeds() {
        let span = Span { from_rpm: 1000.0, to_rpm: 8000.0, freedom: 1.0 };
        let mut p = DVector::zeros(COUNT);
        p[TILTED] = 1.0;
        assert_relative_eq!(span.ln_shape(&p, 1000.0), -0.04, epsilon = 1e-12);
        assert_relative_eq!(span.ln_shape(&p, 8000.0), 0.04, epsilon = 1e-12);
        p[TILTED] = 0.0;
        p[FIRST_KNOT + 2] = 1.0;
        assert_relative_eq!(span.ln_shape(&p, 3000.0), 0.02, epsilon = 1e-12);
        assert_relative_eq!(span.ln_shape(&p, 3500.0), 0.01, epsilon = 1e-12);
        assert_relative_eq!(span.ln_shape(&p, 4000.0), 0.0, epsilon = 1e-12);
    }

    #[test]
    fn every_input_has_its_place() {
        let mut places: Vec<usize> = Input::ALL.iter().map(|input| place_of(*input)).collect();
        places.sort_unstable();
        places.dedup();
        assert_eq!(places.len(), INPUTS);
        assert_eq!(places.last(), Some(&(READING - 1)));
    }
}
