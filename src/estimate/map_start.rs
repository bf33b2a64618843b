//! The timing to start from in a cell of a map.
//!
//! A grid of runs for every cell, as [`super::response`] makes it, would take several times as long as the map itself.
//! Here each input that enters the cycle is run by itself, once, at the likely limit of the cell, and ln of the ignition
//! integral is taken as linear in it. The octane numbers by which the case that knocks first of ten then lies below the
//! likely case are kept in hand at the timing to start from.

use super::analysis::PreparedFuel;
use super::band::band;
use super::error::EstimateError;
use super::point::{FuelInUse, Point, PointInputs, PointSetting, Shifts, Timings};
use super::response::{CYCLE_INPUTS, CycleInputs};
use super::sampling::{SampledFuel, cycle_inputs};
use super::uncertainty::{Input, Sample};
use crate::engine::UnmeasuredPart;

/// A fuel of a map with its samples drawn.
pub(super) struct MapFuel<'a> {
    fuel: &'a PreparedFuel,
    samples: Vec<(&'a Sample, SampledFuel)>,
}

impl<'a> MapFuel<'a> {
    /// Draws the fuel of every sample.
    ///
    /// # Errors
    /// [`EstimateError::Fuel`] when a sampled content makes no blend.
    pub(super) fn new(fuel: &'a PreparedFuel, samples: &'a [Sample]) -> Result<Self, EstimateError> {
        let samples = samples.iter().map(|sample| Ok((sample, SampledFuel::new(fuel, sample)?)));
        Ok(Self { fuel, samples: samples.collect::<Result<_, EstimateError>>()? })
    }

    /// The likely fuel.
    pub(super) fn likely(&self) -> &'a FuelInUse {
        self.fuel.likely()
    }

    /// Octane numbers by which the sample that knocks first of ten lies below the likely case at a timing [-].
    ///
    /// # Arguments
    /// - `point`: the likely case on the likely fuel
    /// - `shifts`: those of `point`
    /// - `likely_margin`: octane margin of the likely case at that timing [-]
    pub(super) fn octane_shortfall(
        &self,
        (point, shifts): (&Point<'_>, Shifts),
        spark_deg_btdc: f64,
        likely_margin: f64,
    ) -> f64 {
        let line = self.line((point, shifts), spark_deg_btdc);
        let breathing = point.breathing();
        let margins = self.samples.iter().map(|(sample, drawn)| {
            let inputs = cycle_inputs(point, &breathing, self.fuel, sample).values();
            drawn.knock(point, sample).margin(line.at(&inputs))
        });
        likely_margin - band(margins).low
    }

    /// ln of the ignition integral at a timing as linear in each input.
    fn line(&self, (point, likely): (&Point<'_>, Shifts), spark_deg_btdc: f64) -> SlopeLine {
        let (setting, variants, fuel) = (point.setting(), &self.fuel.variants, self.likely());
        let on_fuel = |fuel, step: f64| Some((PointInputs { setting, fuel, shifts: likely }, step));
        let shift = |edit: fn(&mut Shifts, f64), step: f64| {
            let mut shifts = likely;
            edit(&mut shifts, step);
            Some((PointInputs { setting, fuel, shifts }, step))
        };
        let (_, most_filling) = point.breathing().whole_ratios();
        let unmeasured = [UnmeasuredPart::ValveEvents, UnmeasuredPart::BoreAndStroke]
            .map(|part| setting.build.with_unmeasured(part, 1.0));
        let [events, bore] = unmeasured.each_ref().map(|build| {
            let setting = PointSetting { build: build.as_ref()?, ..setting };
            Some((PointInputs { setting, fuel, shifts: likely }, 1.0))
        });
        let steps = [
            shift(|s, step| s.breathing *= 1.0 + step, most_filling - 1.0),
            shift(|s, step| s.burn_speed += step, Input::BurnSpeed.half_width()),
            shift(|s, step| s.heat += step, Input::Heat.half_width()),
            shift(|s, step| s.charge_temperature_k += step, Input::ChargeTemperature.half_width()),
            on_fuel(&variants.mixture[1], variants.mixture[1].lambda - fuel.lambda),
            variants.content.as_ref().and_then(|[least, _]| {
                on_fuel(least, least.blend.ethanol_vol_frac - fuel.blend.ethanol_vol_frac)
            }),
            events,
            bore,
        ];
        let mut inputs = vec![PointInputs { setting, fuel, shifts: likely }];
        inputs.extend(steps.iter().flatten().map(|(moved, _)| *moved));
        let mut points = vec![*point];
        points.extend(point.beside(&inputs));
        let timed: Vec<_> = points.into_iter().map(|point| (point, [spark_deg_btdc])).collect();
        let runs = Timings::of_all(&timed);
        let mut found = runs.iter().map(|[run]| run.integral_at_100.max(1e-12).ln());
        let (own, base) = (found.next().unwrap_or_default(), found.next().unwrap_or_default());
        SlopeLine {
            ln_integral: own,
            likely: CycleInputs {
                shifts: likely,
                lambda: fuel.lambda,
                ethanol_vol_frac: fuel.blend.ethanol_vol_frac,
                unmeasured: [0.0; 2],
            }
            .values(),
            slopes: steps.map(|step| {
                let of_step = |(_, step): (_, f64)| Some((found.next()? - base) / step);
                step.and_then(of_step).unwrap_or_default()
            }),
        }
    }
}

/// ln of the ignition integral as linear in each input of the cycle.
struct SlopeLine {
    ln_integral: f64,
    likely: [f64; CYCLE_INPUTS],
    slopes: [f64; CYCLE_INPUTS],
}

impl SlopeLine {
    fn at(&self, inputs: &[f64; CYCLE_INPUTS]) -> f64 {
        let parts = self.slopes.iter().zip(inputs).zip(&self.likely);
        self.ln_integral + parts.map(|((slope, value), likely)| slope * (value - likely)).sum::<f64>()
    }
}
