//! The checks, one function each.

mod axis;
mod correction;
mod figures;
mod fuel;
mod output;
mod scale;
mod scatter;
mod shape;

use super::check::{Check, CheckName, NotChecked};
use super::evidence::Evidence;

/// What a check comes to.
type Outcome = Result<Check, NotChecked>;

/// Every check, in the order shown.
pub(super) const ALL: [fn(&Evidence<'_>) -> Outcome; 19] = [
    figures::torque_times_speed,
    correction::range,
    correction::logged,
    scale::over_correction,
    output::mean_effective_pressure,
    output::volumetric_efficiency,
    fuel::air_from_fuel,
    fuel::consumption,
    fuel::mixture,
    output::driveline_loss,
    scale::curve_band,
    scale::uniform,
    shape::tilt,
    shape::peak_speed,
    shape::torque_fall,
    axis::gear_ratio,
    scatter::smoothing,
    scatter::spikes,
    scatter::repeatability,
];

fn skip(name: CheckName, why: impl Into<String>) -> Outcome {
    Err(NotChecked { name, why: why.into() })
}

fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) = values.fold((0.0, 0.0), |(s, n), v| (s + v, n + 1.0));
    (count > 0.0).then(|| sum / count)
}

/// The middle value; the lower of two middles.
fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values.get(values.len().checked_sub(1)? / 2).copied()
}

/// A ratio as a signed percentage in words.
fn percent_words(ratio: f64) -> String {
    let percent = 100.0 * (ratio - 1.0);
    let way = if percent < 0.0 { "below" } else { "above" };
    format!("{:.0} % {way}", percent.abs())
}
