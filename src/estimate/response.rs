//! How one operating point answers to timing and to its uncertain inputs.
//!
//! Running every sample through the cycle at every timing would cost seconds. Instead the cycle is
//! run on a grid of timings, once as likely and twice for each input that enters the cycle, and
//! the logarithms of net work and of the ignition integral, and the peak pressure, are kept as a
//! quadratic in each input at each timing. Inputs act independently in the logarithm. The error
//! against the cycle itself is bounded in `tests/physics/response_surrogate.rs`.

use super::interpolate::cubic_through_nearest;
use super::point::{AtSpark, FuelInUse, Point, PointSetting, Shifts};
use super::uncertainty::Input;
use crate::engine::UnmeasuredPart;

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

/// What the grid keeps of one run: ln of net mean effective pressure, ln of the integral, peak pressure.
type Kept = [f64; 3];

fn kept(run: &AtSpark) -> Kept {
    [run.imep_net_bar.max(1e-3).ln(), run.integral_at_100.max(1e-12).ln(), run.peak_pressure_bar]
}

/// Quadratic in one input about its likely value.
#[derive(Clone, Copy, Debug)]
struct Quadratic {
    likely: f64,
    linear: [Kept; NODES],
    square: [Kept; NODES],
}

/// The response of one operating point.
#[derive(Clone, Debug)]
pub struct Response {
    /// Timings of the grid [deg before top dead centre], most advanced first.
    pub sparks_deg_btdc: [f64; NODES],
    base: [Kept; NODES],
    inputs: [Option<Quadratic>; CYCLE_INPUTS],
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

/// Timings of the grid about those of best torque and in use [deg before top dead centre]: its late end is
/// stretched where a timing is held back beyond it, for a cubic is worth nothing outside its nodes.
fn grid((best, used): (f64, f64)) -> [f64; NODES] {
    let (from, to) = (OFFSETS_DEG[NODES - 3], OFFSETS_DEG[NODES - 1]);
    let stretch = ((used - best - from) / (to - from)).max(1.0);
    OFFSETS_DEG.map(|offset| best + if offset < from { from + stretch * (offset - from) } else { offset })
}

impl Response {
    /// Runs the grid about MBT timing.
    ///
    /// # Arguments
    /// - `sparks`: of best torque, and the one used [deg before top dead centre]; the grid reaches both
    /// - `breathing`: ends of the band of VE over its likely value [-]
    pub fn new(
        setting: PointSetting<'_>,
        fuel: &FuelVariants,
        speed_rpm: f64,
        sparks: (f64, f64),
        breathing: (f64, f64),
    ) -> Self {
        let sparks = grid(sparks);
        let run_of = |setting: PointSetting<'_>, fuel: &FuelInUse, shifts: Shifts| {
            let point = Point::new(setting, fuel, speed_rpm, shifts);
            sparks.map(|spark| kept(&point.at_spark(spark)))
        };
        let run = |fuel: &FuelInUse, shifts: Shifts| run_of(setting, fuel, shifts);
        let base = run(&fuel.likely, Shifts::NONE);
        let shifted = |low: Shifts, high: Shifts, (x0, x1, x2): (f64, f64, f64)| {
            Some(Quadratic::through(&base, &run(&fuel.likely, low), &run(&fuel.likely, high), (x0, x1, x2)))
        };
        let about = |half: f64| (1.0 - half, 1.0, 1.0 + half);
        let with = |edit: &dyn Fn(&mut Shifts, f64), x: f64| {
            let mut shifts = Shifts::NONE;
            edit(&mut shifts, x);
            shifts
        };
        let shift = |edit: &dyn Fn(&mut Shifts, f64), x: (f64, f64, f64)| {
            shifted(with(edit, x.0), with(edit, x.2), x)
        };
        let pair = |[low, high]: &[FuelInUse; 2], x: (f64, f64, f64)| {
            Quadratic::through(&base, &run(low, Shifts::NONE), &run(high, Shifts::NONE), x)
        };
        let unmeasured = |part: UnmeasuredPart| {
            let at = |deviate: f64| {
                let build = setting.build.with_unmeasured(part, deviate)?;
                Some(run_of(PointSetting { build: &build, ..setting }, &fuel.likely, Shifts::NONE))
            };
            let (x0, x1, x2) = (-1.5, 0.0, 1.5);
            Some(Quadratic::through(&base, &at(x0)?, &at(x2)?, (x0, x1, x2)))
        };
        let burn_speed = setting.build.unmeasured.burn_speed_half_width(Input::BurnSpeed.half_width());
        let inputs = [
            shift(&|s, x| s.breathing = x, (breathing.0, 1.0, breathing.1)),
            shift(&|s, x| s.burn_speed = x, about(1.5 * burn_speed)),
            shift(&|s, x| s.heat = x, about(1.5 * Input::Heat.half_width())),
            shift(
                &|s, x| s.charge_temperature_k = x,
                (
                    -1.5 * Input::ChargeTemperature.half_width(),
                    0.0,
                    1.5 * Input::ChargeTemperature.half_width(),
                ),
            ),
            Some(pair(&fuel.mixture, (fuel.mixture[0].lambda, fuel.likely.lambda, fuel.mixture[1].lambda))),
            fuel.content.as_ref().map(|content| {
                let of = |f: &FuelInUse| f.blend.ethanol_vol_frac;
                pair(content, (of(&content[0]), of(&fuel.likely), of(&content[1])))
            }),
            unmeasured(UnmeasuredPart::ValveEvents),
            unmeasured(UnmeasuredPart::BoreAndStroke),
        ];
        Self { sparks_deg_btdc: sparks, base, inputs }
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

impl Quadratic {
    /// Parabola through three values of each kept number at x = (low, likely, high).
    fn through(base: &[Kept; NODES], low: &[Kept; NODES], high: &[Kept; NODES], x: (f64, f64, f64)) -> Self {
        let (a, b) = (x.0 - x.1, x.2 - x.1);
        let (mut linear, mut square) = ([[0.0; 3]; NODES], [[0.0; 3]; NODES]);
        for n in 0..NODES {
            for k in 0..3 {
                let (fa, fb) = (low[n][k] - base[n][k], high[n][k] - base[n][k]);
                square[n][k] = (fb / b - fa / a) / (b - a);
                linear[n][k] = fa / a - square[n][k] * a;
            }
        }
        Self { likely: x.1, linear, square }
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
        let last = self.sparks[NODES - 1];
        let (mut high, mut low) = (best, last);
        for spark in self.sparks.iter().copied().filter(|s| *s < best) {
            if self.at(&self.ln_integral, spark) <= limit {
                low = spark;
                break;
            }
            high = spark;
        }
        if high <= last {
            return last;
        }
        for _ in 0..30 {
            let middle = 0.5 * (low + high);
            if self.at(&self.ln_integral, middle) <= limit {
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
        assert_eq!(grid((30.0, 10.0)), [38.0, 33.0, 28.0, 23.0, 17.0, 10.0, 2.0, -8.0]);
        assert_eq!(grid((30.0, -26.0)), [38.0, 33.0, 28.0, 23.0, 17.0, 10.0, -6.0, -26.0]);
    }
}
