//! The timing to start from in a cell of a map.
//!
//! A grid of runs for every cell, as [`super::response`] makes it, would take several times as long as the map itself.
//! Here each input that enters the cycle is run by itself, once, at the likely limit of the cell, and ln of the ignition
//! integral is taken as linear in it. The octane numbers by which the case that knocks first of ten then lies below the
//! likely case are kept in hand at the timing to start from.

use super::analysis::PreparedFuel;
use super::band::band;
use super::error::EstimateError;
use super::point::{FuelInUse, Point, Shifts};
use super::response::{CYCLE_INPUTS, CycleInputs};
use super::sampling::{SampledFuel, cycle_inputs};
use super::uncertainty::{Input, Sample};
use crate::engine::UnmeasuredPart;
use crate::estimate::point::PointSetting;

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
        let ln_integral = |point: &Point<'_>| point.at_spark(spark_deg_btdc).integral_at_100.max(1e-12).ln();
        let base = ln_integral(&point.beside((point.setting(), self.likely()), likely, 1.0));
        let slope_of = |setting: PointSetting<'_>, fuel: &FuelInUse, shifts: Shifts, step: f64| {
            let moved = point.beside((setting, fuel), shifts, 1.0);
            (ln_integral(&moved) - base) / step
        };
        let slope =
            |fuel: &FuelInUse, shifts: Shifts, step: f64| slope_of(point.setting(), fuel, shifts, step);
        let of = |input: Input, edit: fn(&mut Shifts, f64)| {
            let mut shifts = likely;
            edit(&mut shifts, input.half_width());
            slope(self.likely(), shifts, input.half_width())
        };
        let (_, most_filling) = point.breathing().whole_ratios();
        let filled = Shifts { breathing: likely.breathing * most_filling, ..likely };
        let (variants, fuel) = (&self.fuel.variants, self.likely());
        let content = variants.content.as_ref().map_or(0.0, |[least, _]| {
            let step = least.blend.ethanol_vol_frac - fuel.blend.ethanol_vol_frac;
            slope(least, likely, step)
        });
        let unmeasured = |part: UnmeasuredPart| {
            let build = point.setting().build.with_unmeasured(part, 1.0);
            build.map_or(0.0, |build| {
                slope_of(PointSetting { build: &build, ..point.setting() }, fuel, likely, 1.0)
            })
        };
        SlopeLine {
            ln_integral: ln_integral(point),
            likely: CycleInputs {
                shifts: likely,
                lambda: fuel.lambda,
                ethanol_vol_frac: fuel.blend.ethanol_vol_frac,
                unmeasured: [0.0; 2],
            }
            .values(),
            slopes: [
                slope(fuel, filled, most_filling - 1.0),
                of(Input::BurnSpeed, |s, step| s.burn_speed += step),
                of(Input::Heat, |s, step| s.heat += step),
                of(Input::ChargeTemperature, |s, step| s.charge_temperature_k += step),
                slope(&variants.mixture[1], likely, variants.mixture[1].lambda - fuel.lambda),
                content,
                unmeasured(UnmeasuredPart::ValveEvents),
                unmeasured(UnmeasuredPart::BoreAndStroke),
            ],
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
