//! How the curves of a point over timing answer to each uncertain input: a quadratic in the input at a few timings.
//!
//! Slopes change slowly over timing, rpm and compression ratio: they are run at a few timings and speeds and read between them by a
//! cubic, and a choice of ratio runs them at three ratios and reads between those by a parabola. The error against slopes run
//! everywhere is bounded below, that against the cycle itself in `tests/physics/response_surrogate.rs`.

use super::analysis::PreparedFuel;
use super::interpolate::{NearestCubic, lagrange_weights};
use super::point::{AtSpark, FuelInUse, Point, PointInputs, PointSetting, Shifts, Timings};
use super::response::{CYCLE_INPUTS, NODES};
use super::tuned::Tuned;
use super::uncertainty::Input;
use crate::engine::{Build, UnmeasuredPart};
use rayon::prelude::*;

/// Timings at which slopes are run against MBT timing [deg], most advanced first.
const OFFSETS_DEG: [f64; TIMINGS] = [8.0, 1.0, -6.0, -15.0, -26.0, -38.0];
const TIMINGS: usize = 6;

/// What is kept of one run: ln of net mean effective pressure, ln of the integral, peak pressure.
pub(super) type Kept = [f64; 3];

pub(super) fn kept(run: &AtSpark) -> Kept {
    [run.imep_net_bar.max(1e-3).ln(), run.integral_at_100.max(1e-12).ln(), run.peak_pressure_bar]
}

/// Quadratic in one input about its likely value, at some timings.
#[derive(Clone, Copy, Debug)]
pub(super) struct Quadratic<const N: usize> {
    pub(super) likely: f64,
    pub(super) linear: [Kept; N],
    pub(super) square: [Kept; N],
}

/// One for each input that enters the cycle; none where the input is known.
pub(super) type Quadratics<const N: usize> = [Option<Quadratic<N>>; CYCLE_INPUTS];

/// The slopes of one point.
#[derive(Clone, Debug)]
pub struct Slopes {
    /// Their timings against MBT timing [deg], most advanced first.
    offsets_deg: [f64; TIMINGS],
    inputs: Quadratics<TIMINGS>,
}

impl Slopes {
    /// Runs the inputs of a point one by one.
    ///
    /// # Arguments
    /// - `latest_deg`: the latest timing they are asked for, against MBT timing [deg]
    pub fn new(likely: &Tuned<'_>, fuel: &PreparedFuel, latest_deg: f64) -> Self {
        let offsets_deg = stretched(&OFFSETS_DEG, 3, latest_deg);
        let runs = Runs { likely, sparks: offsets_deg.map(|offset| likely.mbt.spark_deg_btdc + offset) };
        Self { offsets_deg, inputs: runs.inputs(fuel) }
    }

    /// The slopes at the timings of a response grid, against MBT timing [deg].
    pub(super) fn at(&self, offsets_deg: &[f64; NODES]) -> Quadratics<NODES> {
        let cubics = offsets_deg.map(|offset| NearestCubic::new(&self.offsets_deg, offset));
        let read = |from: &[Kept; TIMINGS]| {
            cubics.map(|cubic| std::array::from_fn(|k| cubic.of(|timing| from[timing][k])))
        };
        self.inputs.map(|input| {
            input.map(|q| Quadratic { likely: q.likely, linear: read(&q.linear), square: read(&q.square) })
        })
    }

    /// Slopes of nothing at the same timings, for the same inputs.
    fn zero(&self) -> Self {
        let none = |q: Quadratic<TIMINGS>| Quadratic {
            likely: q.likely,
            linear: [[0.0; 3]; TIMINGS],
            square: [[0.0; 3]; TIMINGS],
        };
        Self { offsets_deg: self.offsets_deg, inputs: self.inputs.map(|input| input.map(none)) }
    }

    /// Adds a multiple of the slopes of another point at the same timings, for the same inputs.
    fn add(&mut self, weight: f64, other: &Self) {
        for (own, other) in self.inputs.iter_mut().flatten().zip(other.inputs.iter().flatten()) {
            add_scaled(&mut own.linear, weight, &other.linear);
            add_scaled(&mut own.square, weight, &other.square);
        }
    }
}

/// Adds a multiple of some numbers to others.
fn add_scaled<const N: usize>(to: &mut [Kept; N], weight: f64, from: &[Kept; N]) {
    for (to, from) in to.iter_mut().flatten().zip(from.iter().flatten()) {
        *to += weight * from;
    }
}

/// Offsets whose late end, all beyond the one of an index, is stretched to reach a later timing: a cubic is worth nothing outside its
/// nodes.
pub(super) fn stretched<const N: usize>(offsets: &[f64; N], beyond: usize, latest: f64) -> [f64; N] {
    let (from, to) = (offsets[beyond], offsets[N - 1]);
    let stretch = ((latest - from) / (to - from)).max(1.0);
    offsets.map(|offset| if offset < from { from + stretch * (offset - from) } else { offset })
}

/// How far apart the speeds are at which slopes are run, at most [ln rpm].
const LN_SPEED_STEP: f64 = 0.3;
/// Fewest speeds that are read between.
const LEAST_SPEEDS: usize = 4;

/// The slopes of one fuel over rpm and compression ratio: a cubic through the nearest speeds, a parabola through three ratios.
#[derive(Clone, Debug)]
pub struct SlopeTable<const RATIOS: usize> {
    speeds_rpm: Vec<f64>,
    ratios: [f64; RATIOS],
    /// By speed, then ratio.
    slopes: Vec<[Slopes; RATIOS]>,
}

/// Those of some rising speeds [rpm] at which slopes are run, by index: the first, the last, and evenly between them; all of them
/// where they are few.
pub fn slope_speeds(speeds_rpm: &[f64]) -> Vec<usize> {
    let [Some(first), Some(last)] = [speeds_rpm.first(), speeds_rpm.last()] else { return Vec::new() };
    let steps = ((last / first).ln() / LN_SPEED_STEP).ceil().max((LEAST_SPEEDS - 1) as f64);
    let wanted = (0..=steps as usize).map(|i| first * (last / first).powf(i as f64 / steps));
    let near = |wanted: f64| {
        let off = |i: &usize| (speeds_rpm[*i] / wanted).ln().abs();
        (0..speeds_rpm.len()).min_by(|a, b| off(a).total_cmp(&off(b)))
    };
    let mut chosen: Vec<usize> = wanted.filter_map(near).collect();
    chosen.dedup();
    if chosen.len() < LEAST_SPEEDS { (0..speeds_rpm.len()).collect() } else { chosen }
}

impl<const RATIOS: usize> SlopeTable<RATIOS> {
    /// Runs the slopes of a fuel at some speeds, each at some ratios.
    ///
    /// # Arguments
    /// - `ratios`: rising [-]
    /// - `likely`: the points of [`slope_speeds`], by rising speed, then ratio
    pub fn new(ratios: [f64; RATIOS], likely: &[[&Tuned<'_>; RATIOS]], fuel: &PreparedFuel) -> Self {
        let latest_deg = likely.iter().flatten().map(|at| -at.retard_deg()).fold(0.0, f64::min);
        let run = |at: &[&Tuned<'_>; RATIOS]| at.map(|at| Slopes::new(at, fuel, latest_deg));
        Self {
            speeds_rpm: likely.iter().filter_map(|at| at.first()).map(|at| at.speed_rpm()).collect(),
            ratios,
            slopes: likely.par_iter().map(run).collect(),
        }
    }

    /// The slopes at a speed [rpm] and a ratio [-] within those that were run.
    #[must_use]
    pub fn at(&self, speed_rpm: f64, ratio: f64) -> Slopes {
        let weights = lagrange_weights(&self.ratios, ratio);
        let mut mixed = self.slopes[0][0].zero();
        for (speed, along) in self.speed_weights(speed_rpm) {
            for (slopes, weight) in self.slopes[speed].iter().zip(weights) {
                mixed.add(along * weight, slopes);
            }
        }
        mixed
    }

    /// Indices of the nearest speeds with the weight of each; the speed itself where all of them were run.
    fn speed_weights(&self, speed_rpm: f64) -> Vec<(usize, f64)> {
        if let Some(own) = self.speeds_rpm.iter().position(|speed| *speed == speed_rpm) {
            return vec![(own, 1.0)];
        }
        NearestCubic::new(&self.speeds_rpm, speed_rpm).weights().collect()
    }
}

/// The runs of one point, its inputs moved one by one.
struct Runs<'r, 'a, const N: usize> {
    likely: &'r Tuned<'a>,
    sparks: [f64; N],
}

/// An input at a low and a high value, and its three values.
type Pair<'b> = ([PointInputs<'b>; 2], [f64; 3]);

impl<const N: usize> Runs<'_, '_, N> {
    /// Each input at a low and a high value, on its own, all side by side.
    fn inputs(&self, fuel: &PreparedFuel) -> Quadratics<N> {
        self.inputs_by(fuel, |inputs| self.likely.point.beside(inputs))
    }

    /// The same with points settled by `settle`.
    fn inputs_by(
        &self,
        fuel: &PreparedFuel,
        settle: impl for<'b> Fn(&[PointInputs<'b>]) -> Vec<Point<'b>>,
    ) -> Quadratics<N> {
        let setting = self.likely.point.setting();
        let unmeasured = [UnmeasuredPart::ValveEvents, UnmeasuredPart::BoreAndStroke].map(|part| {
            let [low, _, high] = about(0.0, SPREAD);
            Some([setting.build.with_unmeasured(part, low)?, setting.build.with_unmeasured(part, high)?])
        });
        let pairs = self.pairs(fuel, &unmeasured);
        let mut inputs = vec![PointInputs { setting, fuel: fuel.likely(), shifts: Shifts::NONE }];
        inputs.extend(pairs.iter().flatten().flat_map(|(moved, _)| *moved));
        let points: Vec<_> = settle(&inputs).into_iter().map(|point| (point, self.sparks)).collect();
        let runs = Timings::of_all(&points);
        let runs: Vec<[Kept; N]> = runs.iter().map(|run| run.each_ref().map(kept)).collect();
        let mut ends = runs[1..].chunks_exact(2);
        pairs.map(|pair| {
            let ((_, values), [low, high]) = (pair?, ends.next()?) else { return None };
            Some(Quadratic::through(&runs[0], low, high, values))
        })
    }

    /// What each input moves; none where it is known.
    fn pairs<'b>(
        &'b self,
        fuel: &'b PreparedFuel,
        unmeasured: &'b [Option<[Build; 2]>; 2],
    ) -> [Option<Pair<'b>>; CYCLE_INPUTS] {
        let setting = self.likely.point.setting();
        let own = fuel.likely();
        let shift = |edit: fn(&mut Shifts, f64), x: [f64; 3]| {
            let with = |x: f64| {
                let mut shifts = Shifts::NONE;
                edit(&mut shifts, x);
                PointInputs { setting, fuel: own, shifts }
            };
            Some(([with(x[0]), with(x[2])], x))
        };
        let of_fuel = |ends: &'b [FuelInUse; 2], value: fn(&FuelInUse) -> f64| {
            let moved = ends.each_ref().map(|fuel| PointInputs { setting, fuel, shifts: Shifts::NONE });
            (moved, [value(&ends[0]), value(own), value(&ends[1])])
        };
        let of_build = |ends: &'b Option<[Build; 2]>| {
            let with = |build| PointInputs {
                setting: PointSetting { build, ..setting },
                fuel: own,
                shifts: Shifts::NONE,
            };
            Some((ends.as_ref()?.each_ref().map(with), about(0.0, SPREAD)))
        };
        let burn_speed = setting.build.unmeasured.burn_speed_half_width(Input::BurnSpeed.half_width());
        let (least_ve, most_ve) = self.likely.point.breathing().whole_ratios();
        [
            shift(|s, x| s.breathing = x, [least_ve, 1.0, most_ve]),
            shift(|s, x| s.burn_speed = x, about(1.0, SPREAD * burn_speed)),
            shift(|s, x| s.heat = x, about(1.0, SPREAD * Input::Heat.half_width())),
            shift(
                |s, x| s.charge_temperature_k = x,
                about(0.0, SPREAD * Input::ChargeTemperature.half_width()),
            ),
            Some(of_fuel(&fuel.variants.mixture, |fuel| fuel.lambda)),
            fuel.variants
                .content
                .as_ref()
                .map(|content| of_fuel(content, |fuel| fuel.blend.ethanol_vol_frac)),
            of_build(&unmeasured[0]),
            of_build(&unmeasured[1]),
        ]
    }
}

/// How far an input is moved, over half of its 10-90 % band [-].
const SPREAD: f64 = 1.5;

fn about(likely: f64, half: f64) -> [f64; 3] {
    [likely - half, likely, likely + half]
}

impl<const N: usize> Quadratic<N> {
    /// Parabola through three values of each kept number at x = [low, likely, high].
    fn through(base: &[Kept; N], low: &[Kept; N], high: &[Kept; N], x: [f64; 3]) -> Self {
        let (a, b) = (x[0] - x[1], x[2] - x[1]);
        let (mut linear, mut square) = ([[0.0; 3]; N], [[0.0; 3]; N]);
        for n in 0..N {
            for k in 0..3 {
                let (fa, fb) = (low[n][k] - base[n][k], high[n][k] - base[n][k]);
                square[n][k] = (fb / b - fa / a) / (b - a);
                linear[n][k] = fa / a - square[n][k] * a;
            }
        }
        Self { likely: x[1], linear, square }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::estimate::analysis::PointAnalysis;
    use crate::estimate::job::Job;
    use crate::estimate::response::Response;
    use crate::estimate::sampling::cycle_inputs;
    use crate::estimate::uncertainty::latin_hypercube;
    use crate::fuel::FuelLibrary;
    use crate::knock::octane_requirement;

    /// Most differences over some samples, at MBT timing and 10 and 20 deg later: net work as a share, octane number.
    fn differences(at: &PointAnalysis<'_>, fuel: &PreparedFuel, other: &Response) -> (Vec<f64>, Vec<f64>) {
        let (mut work, mut octane) = (Vec::new(), Vec::new());
        let exponent = at.likely.point.setting().fit.octane_exponent;
        for sample in latin_hypercube(60, 3) {
            let inputs = cycle_inputs(&at.likely.point, &at.breathing, fuel, &sample);
            let (own, theirs) = (at.response.at(&inputs), other.at(&inputs));
            for later in [0.0, 10.0, 20.0] {
                let spark = at.likely.mbt.spark_deg_btdc - later;
                let net = [&own, &theirs].map(|c| c.at(&c.imep_net_bar, spark));
                let need =
                    [&own, &theirs].map(|c| octane_requirement(c.at(&c.ln_integral, spark).exp(), exponent));
                work.push((net[0] / net[1] - 1.0).abs());
                octane.push((need[0] - need[1]).abs());
            }
        }
        work.sort_by(f64::total_cmp);
        octane.sort_by(f64::total_cmp);
        (work, octane)
    }

    fn demo(ratio: f64) -> Job {
        let scenario = crate::scenario::read("demo", crate::scenario::DEMO).unwrap();
        scenario.job(&FuelLibrary::shipped().unwrap(), 20, 1).unwrap().at_ratio(ratio).unwrap()
    }

    fn prepared(job: &Job, name: &str) -> PreparedFuel {
        let choice = job.fuels.iter().find(|choice| choice.fuel.name == name).unwrap();
        PreparedFuel::new(job, &choice.fuel, None).unwrap()
    }

    fn tuned<'a>(job: &'a Job, fuel: &'a PreparedFuel, speed_rpm: f64) -> Tuned<'a> {
        Tuned::new(job, job.setting(), fuel.named(), speed_rpm, Shifts::NONE).unwrap()
    }

    /// The response of a point with slopes run at every timing of its grid in full steps, its charge settled by two cycles.
    fn dense(likely: &Tuned<'_>, fuel: &PreparedFuel) -> Response {
        let own = Slopes::new(likely, fuel, -likely.retard_deg());
        let mut response = Response::new(likely, &own);
        let sparks = response.sparks_deg_btdc;
        let speed_rpm = likely.speed_rpm();
        response.inputs = Runs { likely, sparks }.inputs_by(fuel, |all| {
            all.iter().map(|p| Point::new(p.setting, p.fuel, speed_rpm, p.shifts)).collect()
        });
        response
    }

    /// Differences that nine of ten samples and all of them keep to.
    fn held(which: &str, likely: Tuned<'_>, fuel: &PreparedFuel, slopes: &Slopes) {
        let dense = dense(&likely, fuel);
        let at = PointAnalysis::with_slopes(likely, fuel, slopes);
        let (work, octane) = differences(&at, fuel, &dense);
        let of = |v: &[f64]| (v[v.len() * 9 / 10], v[v.len() - 1]);
        let (work, octane) = (of(&work), of(&octane));
        // Seen: nine of ten within 0.025 % of net work and 0.10 octane numbers, the worst 0.08 % and 0.35; the bands are some 6 % and
        // 6 octane numbers wide on each side.
        assert!(work.0 < 4e-4 && work.1 < 2e-3, "{which}: {work:?}");
        assert!(octane.0 < 0.13 && octane.1 < 0.45, "{which}: {octane:?}");
    }

    /// Held to slopes run at every timing of the grid, and at the speed and ratio themselves.
    #[test]
    fn slopes_read_between_timings_speeds_and_ratios_are_those_run_there() {
        let ratios = [8.0, 11.5, 15.0];
        let (ends, job) = (ratios.map(demo), demo(12.3));
        for (name, speed_rpm) in [("premium-91", 2500.0), ("premium-91", 7500.0), ("e85", 5000.0)] {
            let fuel = prepared(&job, name);
            let likely = tuned(&job, &fuel, speed_rpm);
            held("timings", likely, &fuel, &Slopes::new(&likely, &fuel, -likely.retard_deg()));
            let [low, middle, high] = ends.each_ref().map(|job| tuned(job, &fuel, speed_rpm));
            let over = SlopeTable::new(ratios, &[[&low, &middle, &high]], &fuel);
            held("ratios", likely, &fuel, &over.at(speed_rpm, 12.3));
        }
        for name in ["premium-91", "e85"] {
            let fuel = prepared(&job, name);
            let all: Vec<_> = job.speeds_rpm.iter().map(|speed| tuned(&job, &fuel, *speed)).collect();
            let run = slope_speeds(&job.speeds_rpm);
            let nodes: Vec<_> = run.iter().map(|i| [&all[*i]]).collect();
            let over = SlopeTable::new([12.3], &nodes, &fuel);
            for (_, likely) in all.iter().enumerate().filter(|(i, _)| !run.contains(i)) {
                held("speeds", *likely, &fuel, &over.at(likely.speed_rpm(), 12.3));
            }
        }
    }

    // HAND: 6 steps of ln rpm between 2500 and 7500 would be of 0.18, 4 are of 0.27; two speeds are both run.
    #[test]
    fn slopes_are_run_at_speeds_that_are_near_enough() {
        let speeds: Vec<f64> = (0..11).map(|i| 2500.0 + 500.0 * f64::from(i)).collect();
        let chosen: Vec<f64> = slope_speeds(&speeds).into_iter().map(|i| speeds[i]).collect();
        assert_eq!(chosen, [2500.0, 3500.0, 4500.0, 5500.0, 7500.0]);
        assert_eq!(slope_speeds(&[4000.0, 7000.0]), [0, 1]);
        assert!(slope_speeds(&[]).is_empty());
    }
}
