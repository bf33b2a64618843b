//! How far the engine goes mechanically, beside the bands of its class.

use crate::engine::{Figure, Standing};
use crate::estimate::Job;
use crate::estimate::tuned::Tuned;
use crate::units::PA_PER_BAR;
use schemars::JsonSchema;
use serde::Serialize;

/// A mechanical figure at its highest.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MechanicalLimit {
    /// Which figure; the value is in the unit it names.
    pub figure: Figure,
    /// Highest value: mean piston speed [m/s], piston acceleration [m/s2] or cylinder pressure [bar].
    pub value: f64,
    /// Rpm of that value [rpm].
    pub speed_rpm: f64,
    /// Fuel of that value; null where the fuel plays no part.
    pub fuel: Option<String>,
    /// Where it stands.
    pub standing: Standing,
    /// Limit stated in the scenario, in the same unit; null without one.
    pub stated_limit: Option<f64>,
    /// Whether the stated limit is kept; true without one.
    pub is_met: bool,
}

/// Mean piston speed and piston acceleration at the highest rpm, and the highest cylinder pressure.
pub(super) fn mechanical(job: &Job, curves: &[(&str, &[Tuned<'_>])]) -> Vec<MechanicalLimit> {
    let geometry = &job.build.geometry;
    let limits = job.build.limits;
    let several = job.build.valves.has_several_inlets();
    let top = job.speeds_rpm.last().copied().unwrap_or_default();
    let row = |figure: Figure, value: f64, speed_rpm: f64, fuel: Option<String>, stated: Option<f64>| {
        MechanicalLimit {
            figure,
            value,
            speed_rpm,
            fuel,
            standing: figure.standing(value, several),
            stated_limit: stated,
            is_met: stated.is_none_or(|limit| value <= limit),
        }
    };
    let mut rows = vec![
        row(
            Figure::MeanPistonSpeed,
            geometry.mean_piston_speed_m_per_s(top),
            top,
            None,
            limits.mean_piston_speed_m_per_s,
        ),
        row(Figure::PistonAcceleration, geometry.peak_piston_acceleration_m_per_s2(top), top, None, None),
    ];
    let all = curves.iter().flat_map(|(name, curve)| curve.iter().map(move |p| (*name, p)));
    let highest = all.max_by(|a, b| a.1.used.peak_pressure_bar.total_cmp(&b.1.used.peak_pressure_bar));
    if let Some((fuel, point)) = highest {
        let stated = limits.peak_pressure_pa.map(|pa| pa / PA_PER_BAR);
        let (value, speed) = (point.used.peak_pressure_bar, point.point.speed_rpm());
        rows.push(row(Figure::PeakPressure, value, speed, Some(fuel.to_owned()), stated));
    }
    rows
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;
    use crate::fuel::FuelLibrary;
    use crate::scenario;

    /// HAND: a limit one part in a thousand above the figure is kept, one so much below it is not.
    #[test]
    fn a_stated_limit_is_kept_up_to_its_value() {
        let library = FuelLibrary::shipped().unwrap();
        let mut job = scenario::read("demo", scenario::DEMO).unwrap().job(&library, 50, 1).unwrap();
        let top = *job.speeds_rpm.last().unwrap();
        let found = job.build.geometry.mean_piston_speed_m_per_s(top);
        for (times, is_met) in [(1.001, true), (0.999, false)] {
            job.build.limits.mean_piston_speed_m_per_s = Some(times * found);
            let row = &mechanical(&job, &[])[0];
            assert_eq!((row.figure, row.is_met), (Figure::MeanPistonSpeed, is_met), "{times}");
        }
    }
}
