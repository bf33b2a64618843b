//! How a build breathes through its own cam, ports and pipes, as the gas dynamics of `pipes/` have computed it at some speeds.
//!
//! It is computed once, on the reference day and fuel (`estimate/computed.rs`). Other fuels, days, ratios and timings follow as they
//! do for a measured table: residual gas, pumping and charge temperature keep what the pipes add to the closed formulas.

use super::breathing::interpolate;
use super::follows::{Follow, Follows};
use super::port_flow::BenchSheet;
use super::{BuildKind, Cam, Pipework, Valves};

/// A size of pipes and valves that is not known exactly and moves VE.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PipeInput {
    /// Effective length of the runner, what its open end adds included.
    RunnerLength,
    /// Effective length of the primary, what its open end adds included.
    PrimaryLength,
    /// Flow through the valves.
    ValveFlow,
    /// Friction along the pipes, which damps their waves.
    WaveDamping,
}

/// Half of the 10-90 % band of a length that is stated, relative [-]: where port and end begin, and what an open end adds, 0.3 of a
/// radius either way (common practice, no source).
const STATED_LENGTH: f64 = 0.05;
/// The same of a length that is taken as usual of a kind (common practice, no source).
const USUAL_LENGTH: f64 = 0.20;
/// The same of valve flow: from a bench sheet, one bench against another; as usual of a kind (common practice, no source).
const BENCH_FLOW: f64 = 0.03;
const USUAL_FLOW: f64 = 0.06;
/// The same of wave damping, of its logarithm: half as much again (common practice, no source).
const DAMPING: f64 = 0.4;

impl PipeInput {
    /// Every one.
    pub const ALL: [Self; 4] = [Self::RunnerLength, Self::PrimaryLength, Self::ValveFlow, Self::WaveDamping];
}

/// Where VE lies against what is computed from pipes, as a pull has shown it.
#[derive(Clone, Debug, PartialEq)]
pub struct PipesLevel {
    /// VE over the computed one [-].
    pub factor: f64,
    /// Half of its 10-90 % band with all that it follows held, the sizes of the pipes let loose [-]; none where no pull has shown it:
    /// then it is as usual, and the sizes move VE besides.
    pub half_width: Option<f64>,
    /// Speeds of what it follows [rpm], rising.
    pub follows_rpm: Vec<f64>,
    /// What else it goes with, at these speeds.
    pub follows: Follows,
}

impl PipesLevel {
    /// As computed.
    pub const AS_COMPUTED: Self =
        Self { factor: 1.0, half_width: None, follows_rpm: Vec::new(), follows: Follows(Vec::new()) };

    /// Change of the logarithm of VE with each [`Follow`] at a speed [-].
    pub(super) fn follows_at(&self, speed_rpm: f64) -> [f64; Follow::ALL.len()] {
        let of =
            |with| self.follows.of(with).map_or(0.0, |list| interpolate(&self.follows_rpm, list, speed_rpm));
        Follow::ALL.map(of)
    }
}

/// Cam, ports and pipes of a build, and what of them was stated.
#[derive(Clone, Debug, PartialEq)]
pub struct OnPipes {
    /// The kind of build that says what is usual where nothing is stated.
    pub kind: BuildKind,
    /// Sizes of the pipes.
    pub pipework: Pipework,
    /// The cam: that of the card, or the usual one with the events of the valves.
    pub cam: Cam,
    /// Flow of the inlet over lift, where a bench sheet has it.
    pub bench: Option<BenchSheet>,
    /// Flow through the valves over that of the sheet, or as usual [-]; sheet and mean flow coefficient have it in them.
    pub flow_factor: f64,
    /// Whether the cam is that of a card.
    pub has_card: bool,
    /// Whether the lengths of runner and primary are stated.
    pub has_lengths: (bool, bool),
    /// Where VE lies against what is computed from them.
    pub level: PipesLevel,
}

impl OnPipes {
    /// Flow of the inlet times a factor [-], by the mean coefficient of the valves and by the bench sheet.
    pub(crate) fn flow_times(&mut self, valves: &mut Valves, factor: f64) {
        valves.mean_flow_coefficient *= factor;
        self.bench = self.bench.take().map(|sheet| sheet.times(factor));
    }

    /// Factor on a size when it stands at its 90th percentile [-].
    pub fn high_factor(&self, input: PipeInput) -> f64 {
        let length = |is_stated| if is_stated { STATED_LENGTH } else { USUAL_LENGTH };
        match input {
            PipeInput::RunnerLength => 1.0 + length(self.has_lengths.0),
            PipeInput::PrimaryLength => 1.0 + length(self.has_lengths.1),
            PipeInput::ValveFlow => 1.0 + if self.bench.is_some() { BENCH_FLOW } else { USUAL_FLOW },
            PipeInput::WaveDamping => DAMPING.exp(),
        }
    }
}

/// What the pipes do at one speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ComputedPoint {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Volumetric efficiency on the reference fuel in dry air of 25 C [-].
    pub volumetric_efficiency: f64,
    /// Half of the 10-90 % band of the level, relative [-].
    pub half_width: f64,
    /// Change of the logarithm of volumetric efficiency when a size stands at its 90th percentile [-], by [`PipeInput::ALL`].
    pub changes: [f64; PipeInput::ALL.len()],
    /// The same when valve events that are not stated stand at theirs; 0 where they are.
    pub by_events: f64,
    /// What the pipes add to the closed formulas of the gas exchange.
    pub exchange: ExchangeOnPipes,
}

/// What pipes add to the closed formulas of the gas exchange.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ExchangeOnPipes {
    /// Residual gas over that of the closed formula [-].
    pub residual_ratio: f64,
    /// Added to the mean pressure on the piston over the exhaust stroke [Pa].
    pub exhaust_added_pa: f64,
    /// Added to the same over the intake stroke [Pa].
    pub intake_added_pa: f64,
    /// Added to the temperature of the fresh charge [K].
    pub fresh_added_k: f64,
}

impl ExchangeOnPipes {
    /// Nothing: the closed formulas as they are.
    pub const NONE: Self =
        Self { residual_ratio: 1.0, exhaust_added_pa: 0.0, intake_added_pa: 0.0, fresh_added_k: 0.0 };
}

/// A share of the way from one number to another.
fn between(from: f64, to: f64, share: f64) -> f64 {
    from + share * (to - from)
}

impl ComputedPoint {
    fn towards(&self, other: &Self, share: f64) -> Self {
        let mix = |of: fn(&Self) -> f64| between(of(self), of(other), share);
        Self {
            speed_rpm: mix(|p| p.speed_rpm),
            volumetric_efficiency: mix(|p| p.volumetric_efficiency),
            half_width: mix(|p| p.half_width),
            changes: std::array::from_fn(|i| between(self.changes[i], other.changes[i], share)),
            by_events: mix(|p| p.by_events),
            exchange: ExchangeOnPipes {
                residual_ratio: mix(|p| p.exchange.residual_ratio),
                exhaust_added_pa: mix(|p| p.exchange.exhaust_added_pa),
                intake_added_pa: mix(|p| p.exchange.intake_added_pa),
                fresh_added_k: mix(|p| p.exchange.fresh_added_k),
            },
        }
    }
}

/// Breathing computed from cam, ports and pipes.
#[derive(Clone, Debug, PartialEq)]
pub struct Computed {
    /// What it was computed for.
    pub on: OnPipes,
    /// At rising speeds, two or more; the ends hold outside.
    pub points: Vec<ComputedPoint>,
    /// Where events that are not stated have been put, in deviates [-].
    pub events_deviate: f64,
}

impl Computed {
    /// At a speed [rpm].
    pub fn at(&self, speed_rpm: f64) -> ComputedPoint {
        let after = self.points.partition_point(|p| p.speed_rpm <= speed_rpm).clamp(1, self.points.len() - 1);
        let (low, high) = (&self.points[after - 1], &self.points[after]);
        let share = (speed_rpm - low.speed_rpm) / (high.speed_rpm - low.speed_rpm);
        low.towards(high, share.clamp(0.0, 1.0))
    }

    /// Volumetric efficiency at a point, with the events where they have been put, at its level [-].
    pub(super) fn filling(&self, at: &ComputedPoint) -> f64 {
        self.on.level.factor * at.volumetric_efficiency * (self.events_deviate * at.by_events).exp()
    }

    /// Half of the 10-90 % band of the level at a point, relative [-].
    pub(super) fn half_width(&self, at: &ComputedPoint) -> f64 {
        self.on.level.half_width.unwrap_or(at.half_width)
    }

    /// Lowest and highest speed [rpm].
    pub fn span_rpm(&self) -> (f64, f64) {
        (self.points[0].speed_rpm, self.points[self.points.len() - 1].speed_rpm)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::{Geometry, Injection};
    use crate::pipes::usual_cam;
    use crate::units::CompressionRatio;
    use approx::assert_relative_eq;

    fn computed() -> Computed {
        let geometry = Geometry {
            cylinders: 4,
            bore_m: 0.086,
            stroke_m: 0.086,
            rod_length_m: 0.142,
            pin_offset_m: 0.0,
            compression_ratio: CompressionRatio::written(10.0),
        };
        let kind = BuildKind::SportFourValve;
        let valves = kind.usual_valves(Injection::Port, 0.086);
        let point = |speed_rpm: f64, volumetric_efficiency: f64| ComputedPoint {
            speed_rpm,
            volumetric_efficiency,
            half_width: 0.06,
            changes: [0.02, -0.01, 0.01, 0.0],
            by_events: 0.01,
            exchange: ExchangeOnPipes::NONE,
        };
        Computed {
            on: OnPipes {
                kind,
                pipework: Pipework::usual(kind, Injection::Port, &geometry, &valves),
                cam: usual_cam(&valves).unwrap(),
                bench: None,
                flow_factor: 1.0,
                has_card: false,
                has_lengths: (true, false),
                level: PipesLevel::AS_COMPUTED,
            },
            points: vec![point(2000.0, 0.8), point(4000.0, 1.0), point(6000.0, 0.9)],
            events_deviate: 0.0,
        }
    }

    /// HAND: half way 0.9 and 0.95; the ends hold.
    #[test]
    fn lines_join_the_speeds_and_the_ends_hold() {
        let computed = computed();
        for (rpm, ve) in [(1000.0, 0.8), (2000.0, 0.8), (3000.0, 0.9), (5000.0, 0.95), (9000.0, 0.9)] {
            assert_relative_eq!(computed.at(rpm).volumetric_efficiency, ve, epsilon = 1e-12);
        }
    }

    /// HAND: one deviate later of 0.01 makes 0.8 into 0.8 e^0.01.
    #[test]
    fn events_that_are_not_stated_move_it() {
        let mut computed = computed();
        computed.events_deviate = 1.0;
        assert_relative_eq!(computed.filling(&computed.at(2000.0)), 0.808_040, epsilon = 1e-6);
    }

    /// HAND: 2 % above 0.9 is 0.918; half way between 1 % at 2000 and 3 % at 4000 rpm is 2 %, and the ends hold.
    #[test]
    fn a_pull_sets_level_and_what_goes_with_it() {
        let mut computed = computed();
        computed.on.level = PipesLevel {
            factor: 1.02,
            half_width: Some(0.01),
            follows_rpm: vec![2000.0, 4000.0],
            follows: Follows(vec![(Follow::Friction, vec![0.01, 0.03])]),
        };
        let at = computed.at(3000.0);
        assert_relative_eq!(computed.filling(&at), 0.918, epsilon = 1e-12);
        assert_relative_eq!(computed.half_width(&at), 0.01);
        let friction = |rpm| computed.on.level.follows_at(rpm)[Follow::Friction as usize];
        assert_relative_eq!(friction(3000.0), 0.02, epsilon = 1e-12);
        assert_relative_eq!(friction(9000.0), 0.03, epsilon = 1e-12);
        assert_relative_eq!(computed.on.level.follows_at(3000.0)[Follow::Heat as usize], 0.0);
    }

    /// HAND: 5 % of a stated length, 20 % of a usual one.
    #[test]
    fn what_is_stated_is_narrower() {
        let on = computed().on;
        assert_relative_eq!(on.high_factor(PipeInput::RunnerLength), 1.05);
        assert_relative_eq!(on.high_factor(PipeInput::PrimaryLength), 1.20);
        assert!(on.high_factor(PipeInput::WaveDamping) > 1.4);
    }
}
