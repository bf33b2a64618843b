//! The fit in rows: each parameter before and after, and what cannot be told apart.

use super::model::{MeasuredTorque, Model};
use super::parameters::{COUNT, READING, SCALE, SIGMA, TILTED, place_of};
use super::pipes::PipeSizes;
use super::posterior::{BeforeAfter, Posterior, filling_slopes};
use super::result::{FittedParameter, Parameter, TiedPair};
use crate::engine::{Computed, PipeInput};
use crate::estimate::Band;
use crate::estimate::distributions::Width;
use crate::estimate::sampling::input_of_pipes;
use crate::estimate::uncertainty::{Input, Z_90};
use nalgebra::DVector;

/// Correlation beyond which two parameters count as not told apart [-].
const ALIKE: f64 = 0.9;
/// 10-90 band of a quantity by its mean and standard deviation, through a function that rises.
pub(super) fn band((mean, sd): (f64, f64), show: impl Fn(f64) -> f64) -> Band {
    Band { low: show(mean - Z_90 * sd), likely: show(mean), high: show(mean + Z_90 * sd) }
}

/// Everything that makes the rows.
pub(super) struct Summary<'a> {
    pub(super) model: &'a Model<'a>,
    pub(super) readings: &'a [MeasuredTorque],
    pub(super) posterior: &'a Posterior,
    /// The pipes of the scenario, where their sizes are fitted.
    pub(super) pipes: Option<&'a Computed>,
}

/// Inputs that are shown, driveline and burn first, then what else bears on torque.
const SHOWN: [Input; 7] = [
    Input::Driveline,
    Input::BurnSpeed,
    Input::Friction,
    Input::Heat,
    Input::ChargeTemperature,
    Input::Mixture,
    Input::KnockModel,
];
/// Inputs that may be tied to each other or to VE.
const TIED: [Input; 9] = [
    Input::Driveline,
    Input::Friction,
    Input::Heat,
    Input::BurnSpeed,
    Input::KnockModel,
    Input::RunnerLength,
    Input::PrimaryLength,
    Input::ValveFlow,
    Input::WaveDamping,
];

fn row(what: Parameter, known: BeforeAfter, show: impl Fn(f64) -> f64) -> FittedParameter {
    let width_ratio = known.after.1 / known.before.1;
    FittedParameter { what, before: band(known.before, &show), after: band(known.after, &show), width_ratio }
}

impl Summary<'_> {
    /// A weighted sum over the speeds read of the logarithm of VE over that of the scenario.
    fn filling(&self, weights: &[f64]) -> BeforeAfter {
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
    pub(super) fn alone(&self, place: usize) -> BeforeAfter {
        let mut axis = DVector::zeros(COUNT);
        axis[place] = 1.0;
        self.posterior.known((0.0, &axis), (self.posterior.mean[place], &axis))
    }

    /// Level and tilt of VE over the speeds read.
    fn filling_rows(&self) -> [FittedParameter; 2] {
        let speeds: Vec<f64> = self.readings.iter().map(|r| self.model.speeds_rpm()[r.index]).collect();
        let count = speeds.len() as f64;
        let middle = speeds.iter().sum::<f64>() / count;
        let square: f64 = speeds.iter().map(|n| (n - middle).powi(2)).sum();
        let range = speeds.last().zip(speeds.first()).map_or(0.0, |(to, from)| to - from);
        let level = vec![1.0 / count; speeds.len()];
        let tilt: Vec<f64> = speeds.iter().map(|n| range * (n - middle) / square).collect();
        [
            row(Parameter::FillingLevel, self.filling(&level), f64::exp),
            row(Parameter::FillingTilt, self.filling(&tilt), |x| 100.0 * x.exp_m1()),
        ]
    }

    fn input_row(&self, input: Input) -> FittedParameter {
        let (known, what) = (self.alone(place_of(input)), Parameter::Input(input));
        match input.distribution().width {
            Width::Relative(half) => row(what, known, |d| 1.0 + d * half),
            Width::Absolute(half) => row(what, known, |d| d * half),
            // Of these inputs the driveline alone has a band that is stated.
            Width::Stated => row(what, known, |d| 100.0 * self.model.loss(d)),
        }
    }

    /// Every parameter that is shown, VE first.
    pub(super) fn parameters(&self) -> Vec<FittedParameter> {
        let sizes =
            self.pipes.into_iter().flat_map(|pipes| PipeInput::ALL.map(|size| self.size_row(pipes, size)));
        let inputs = SHOWN.into_iter().map(|input| self.input_row(input));
        self.filling_rows().into_iter().chain(sizes).chain(inputs).collect()
    }

    fn size_row(&self, pipes: &Computed, size: PipeInput) -> FittedParameter {
        let input = input_of_pipes(size);
        let show = |deviate| PipeSizes::size_at(&pipes.on, size, deviate);
        row(Parameter::Input(input), self.alone(place_of(input)), show)
    }

    /// Pairs that the readings cannot tell apart.
    pub(super) fn alike(&self) -> Vec<TiedPair> {
        let inputs = TIED.map(|input| (place_of(input), Parameter::Input(input)));
        let named: Vec<(usize, Parameter)> = [(SCALE, Parameter::Filling), (TILTED, Parameter::FillingTilt)]
            .into_iter()
            .chain(inputs)
            .chain([(READING, Parameter::DynoReading)])
            .filter(|(place, _)| self.posterior.is_touched(*place))
            .collect();
        let mut pairs = Vec::new();
        for (i, (a, first)) in named.iter().copied().enumerate() {
            for (b, second) in named[i + 1..].iter().copied() {
                let correlation_held = self.posterior.correlation_held(a, b);
                if correlation_held.abs() > ALIKE {
                    let correlation = self.posterior.correlation(a, b);
                    pairs.push(TiedPair { first, second, correlation_held, correlation });
                }
            }
        }
        pairs
    }

    /// Half width of the 10-90 band of the driveline loss after the fit, over the loss [-].
    pub(super) fn loss_spread(&self) -> f64 {
        let after = band(self.alone(place_of(Input::Driveline)).after, |d| self.model.loss(d));
        0.5 * (after.high - after.low) / after.likely
    }

    /// Change of the loss per deviate at the fit [-].
    pub(super) fn loss_slope(&self) -> f64 {
        let at = self.posterior.mean[place_of(Input::Driveline)];
        (self.model.loss(at + SIGMA * 0.1) - self.model.loss(at - SIGMA * 0.1)) / (SIGMA * 0.2)
    }
}
