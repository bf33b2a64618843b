//! The fit in rows: each parameter before and after, and what cannot be told apart.

use super::model::{Model, Reading};
use super::parameters::{COUNT, READING, SCALE, SIGMA, TILTED, place_of};
use super::posterior::{Known, Posterior, filling_slopes};
use super::result::{Alike, FittedParameter};
use crate::estimate::Band;
use crate::estimate::distributions::Width;
use crate::estimate::uncertainty::{Input, Z_90};
use nalgebra::DVector;

/// Correlation beyond which two parameters count as not told apart [-].
const ALIKE: f64 = 0.9;
/// Width ratios above which the pull is said to tell nothing, little and something.
const NOTHING: f64 = 0.97;
const LITTLE: f64 = 0.85;
const SOME: f64 = 0.5;

impl Known {
    /// Bands of a quantity, through a function that rises.
    pub(super) fn bands(self, show: impl Fn(f64) -> f64) -> (Band, Band) {
        let band = |(mean, sd): (f64, f64)| Band {
            low: show(mean - Z_90 * sd),
            likely: show(mean),
            high: show(mean + Z_90 * sd),
        };
        (band(self.before), band(self.after))
    }

    fn width_ratio(self) -> f64 {
        self.after.1 / self.before.1
    }
}

/// Everything that makes the rows.
pub(super) struct Summary<'a> {
    pub(super) model: &'a Model<'a>,
    pub(super) readings: &'a [Reading],
    pub(super) posterior: &'a Posterior,
}

fn told(ratio: f64) -> &'static str {
    match ratio {
        r if r > NOTHING => "nothing",
        r if r > LITTLE => "little",
        r if r > SOME => "something",
        _ => "much",
    }
}

impl Summary<'_> {
    fn row(
        &self,
        (name, unit, decimals): (&str, &'static str, usize),
        known: Known,
        show: impl Fn(f64) -> f64,
    ) -> FittedParameter {
        let (before, after) = known.bands(show);
        let width_ratio = known.width_ratio();
        FittedParameter {
            name: name.to_owned(),
            unit,
            decimals,
            before,
            after,
            width_ratio,
            told: told(width_ratio),
        }
    }

    /// A weighted sum over the speeds read of the logarithm of filling over that of the scenario.
    fn filling(&self, weights: &[f64]) -> Known {
        let mean = &self.posterior.mean;
        let sum = |slopes: &nalgebra::DMatrix<f64>| {
            let mut total = DVector::zeros(COUNT);
            for (reading, weight) in self.readings.iter().zip(weights) {
                total += slopes.row(reading.index).transpose() * *weight;
            }
            total
        };
        let value: f64 = self
            .readings
            .iter()
            .zip(weights)
            .map(|(r, weight)| weight * self.model.ln_filling(mean, r.index))
            .sum();
        let before = sum(&filling_slopes(self.model, &DVector::zeros(COUNT)));
        let after = sum(&filling_slopes(self.model, mean));
        self.posterior.known((0.0, &before), (value, &after))
    }

    /// A parameter alone, in deviates.
    pub(super) fn alone(&self, place: usize) -> Known {
        let mut axis = DVector::zeros(COUNT);
        axis[place] = 1.0;
        self.posterior.known((0.0, &axis), (self.posterior.mean[place], &axis))
    }

    /// Level and tilt of filling over the speeds read.
    fn filling_rows(&self) -> [FittedParameter; 2] {
        let speeds: Vec<f64> = self.readings.iter().map(|r| self.model.speeds_rpm()[r.index]).collect();
        let count = speeds.len() as f64;
        let middle = speeds.iter().sum::<f64>() / count;
        let square: f64 = speeds.iter().map(|n| (n - middle).powi(2)).sum();
        let range = speeds.last().zip(speeds.first()).map_or(0.0, |(to, from)| to - from);
        let level = vec![1.0 / count; speeds.len()];
        let tilt: Vec<f64> = speeds.iter().map(|n| range * (n - middle) / square).collect();
        [
            self.row(("filling, level", "x", 3), self.filling(&level), f64::exp),
            self.row(("filling, tilt", "%", 1), self.filling(&tilt), |x| 100.0 * x.exp_m1()),
        ]
    }

    fn input_row(&self, input: Input) -> Option<FittedParameter> {
        let known = self.alone(place_of(input));
        let title = input.title();
        match (input, input.distribution().width) {
            (Input::Driveline, _) => Some(self.row((title, "%", 1), known, |d| 100.0 * self.model.loss(d))),
            (_, Width::Relative(half)) => Some(self.row((title, "x", 2), known, |d| 1.0 + d * half)),
            (Input::ChargeTemperature, Width::Absolute(half)) => {
                Some(self.row((title, "K", 1), known, |d| d * half))
            }
            (Input::Mixture, Width::Absolute(half)) => {
                Some(self.row((title, "lambda", 3), known, |d| d * half))
            }
            (Input::KnockModel, Width::Absolute(half)) => {
                Some(self.row((title, "octane", 1), known, |d| d * half))
            }
            _ => None,
        }
    }

    /// Every parameter that is shown: filling, driveline, burn, then what else bears on torque.
    pub(super) fn parameters(&self) -> Vec<FittedParameter> {
        let [level, tilt] = self.filling_rows();
        let mut rows = vec![level, tilt];
        let inputs = [
            Input::Driveline,
            Input::BurnSpeed,
            Input::Friction,
            Input::Heat,
            Input::ChargeTemperature,
            Input::Mixture,
            Input::KnockModel,
        ];
        rows.extend(inputs.into_iter().filter_map(|input| self.input_row(input)));
        rows
    }

    /// Pairs that the readings cannot tell apart.
    pub(super) fn alike(&self) -> Vec<Alike> {
        let named: Vec<(usize, &str)> = [(SCALE, "filling"), (TILTED, "filling, tilt")]
            .into_iter()
            .chain(
                [Input::Driveline, Input::Friction, Input::Heat, Input::BurnSpeed, Input::KnockModel]
                    .map(|input| (place_of(input), input.title())),
            )
            .chain([(READING, "reading of the dyno")])
            .filter(|(place, _)| self.posterior.is_touched(*place))
            .collect();
        let mut pairs = Vec::new();
        for (i, (a, first)) in named.iter().enumerate() {
            for (b, second) in &named[i + 1..] {
                let held = self.posterior.correlation_held(*a, *b);
                if held.abs() > ALIKE {
                    pairs.push(Alike {
                        first: (*first).to_owned(),
                        second: (*second).to_owned(),
                        correlation_held: held,
                        correlation: self.posterior.correlation(*a, *b),
                    });
                }
            }
        }
        pairs
    }

    /// Half width of the 10-90 band of the driveline loss after the fit, over the loss [-].
    pub(super) fn loss_spread(&self) -> f64 {
        let (_, after) = self.alone(place_of(Input::Driveline)).bands(|d| self.model.loss(d));
        0.5 * (after.high - after.low) / after.likely
    }

    /// Change of the loss per deviate at the fit [-].
    pub(super) fn loss_slope(&self) -> f64 {
        let at = self.posterior.mean[place_of(Input::Driveline)];
        (self.model.loss(at + SIGMA * 0.1) - self.model.loss(at - SIGMA * 0.1)) / (SIGMA * 0.2)
    }
}
