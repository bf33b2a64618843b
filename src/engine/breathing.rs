//! Volumetric efficiency over speed: a measured table, the band of a kind of build, port flow and cam, or computed on its pipes.

use super::closing::Closings;
use super::computed::{Computed, ExchangeOnPipes, PipeInput};
use super::follows::{Follow, Follows};
use super::kind::{BuildKind, KindFigures};
use super::port_flow::{PortFlow, choke};
use super::{Build, Geometry, Injection, Valves};
use crate::constants::plain_air;
use std::sync::Arc;

/// Where volumetric efficiency comes from. It is stated on dry air at ambient density, with
/// gasoline at best-power mixture; the effect of another fuel is computed, not stated.
#[derive(Clone, Debug, PartialEq)]
pub enum Breathing {
    /// Measured or assumed values over speed, with a relative spread.
    Table {
        /// Engine speeds [rpm], rising.
        speed_rpm: Vec<f64>,
        /// Volumetric efficiency at each speed [-].
        volumetric_efficiency: Vec<f64>,
        /// Relative half-width of the 10-90 % band [-].
        spread: f64,
        /// What else the values go with, when they were found from a pull.
        follows: Follows,
    },
    /// What real engines of a kind reach.
    Band {
        /// The kind of build.
        kind: BuildKind,
        /// Where its torque and power peak.
        peaks: PeakSpeeds,
        /// Inlet closing with which they peak there [deg after bottom dead centre, at about 1 mm of lift].
        closes_deg_abdc: f64,
    },
    /// Port flow and cam, through the mean inlet Mach index.
    PortFlow(PortFlow),
    /// Computed from cam, ports and pipes.
    Computed(Arc<Computed>),
}

/// Speeds at which torque and power peak [rpm], as far as they are known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PeakSpeeds {
    /// That of peak torque.
    Torque(f64),
    /// That of peak power.
    Power(f64),
    /// Both, torque below power.
    Both {
        /// Peak torque.
        torque_rpm: f64,
        /// Peak power.
        power_rpm: f64,
    },
}

/// How far a stated peak may lie from where it is, relative, as half of a 10-90 % band: tops are flat and catalogues round
/// (common practice, no source).
const STATED_SPEED_HALF_WIDTH: f64 = 0.03;

/// Power peak from the torque peak alone: the ratio of the two in real engines, and the piston speed at which engines of the
/// kind peak, joined with this weight on the first. It leaves the least error over all rows that have both speeds: 5 to 11 %
/// standard deviation by kind, against 6 to 17 % by the ratio alone (`tests/physics/kinds.rs`).
const BY_RATIO: f64 = 0.4;

impl PeakSpeeds {
    /// Speeds of peak torque and of peak power [rpm]; one that is not stated follows as in real engines of the kind.
    ///
    /// # Arguments
    /// - `piston_speed_per_rpm`: mean piston speed per rpm [m/s per rpm]
    /// - `deviate`: of where the powerband lies: -1 at its 10th, 0 at its 50th, 1 at its 90th percentile
    pub fn resolved(&self, figures: &KindFigures, piston_speed_per_rpm: f64, deviate: f64) -> (f64, f64) {
        let (low, likely, high) = figures.speed_ratio;
        let stated = (STATED_SPEED_HALF_WIDTH * deviate).exp();
        match *self {
            Self::Torque(rpm) => {
                let by_ratio = rpm / likely;
                let by_piston_speed = figures.piston_speed_m_per_s / piston_speed_per_rpm;
                let joined = by_ratio.powf(BY_RATIO) * by_piston_speed.powf(1.0 - BY_RATIO);
                let power_rpm = joined * (figures.power_speed_half_width * deviate).exp();
                (rpm * stated, stated * power_rpm.clamp(rpm / MOST_RATIO, rpm / LEAST_RATIO))
            }
            Self::Power(rpm) => {
                // Beyond the band the ratio goes on in its logarithm.
                let off = if deviate < 0.0 { likely / low } else { high / likely };
                let ratio = likely * off.powf(deviate);
                (rpm * stated * ratio.clamp(LEAST_RATIO, MOST_RATIO), rpm * stated)
            }
            Self::Both { torque_rpm, power_rpm } => (torque_rpm * stated, power_rpm * stated),
        }
    }

    /// The same speeds, so many times as high: those of an engine that is scaled.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        match self {
            Self::Torque(rpm) => Self::Torque(rpm * factor),
            Self::Power(rpm) => Self::Power(rpm * factor),
            Self::Both { torque_rpm, power_rpm } => {
                Self::Both { torque_rpm: torque_rpm * factor, power_rpm: power_rpm * factor }
            }
        }
    }
}

/// Least and most that the speed of peak torque is of that of peak power [-]: beyond, one of the two is wrong.
pub const LEAST_RATIO: f64 = 0.3;
pub(crate) const MOST_RATIO: f64 = 0.98;

/// What VE depends on besides speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Intake {
    /// Mean inlet Mach index per rpm [-/rpm].
    pub mach_index_per_rpm: f64,
    /// Inlet flow area over piston area [-]: head area times mean flow coefficient.
    pub flow_share: f64,
    /// Mean piston speed per rpm [m/s per rpm].
    pub piston_speed_per_rpm: f64,
    /// Effective inlet closing [deg after bottom dead centre].
    pub inlet_closes_deg_abdc: f64,
    /// Crank radius over rod length [-].
    pub crank_to_rod: f64,
    /// Where the fuel is injected.
    pub injection: Injection,
}

/// Mean inlet Mach index per rpm [-/rpm]: Z = (Ap / (Ai Ci)) Sp / c, with the speed of sound of air at a temperature [K].
///
/// Taylor, The Internal-Combustion Engine in Theory and Practice (`from memory`).
pub fn mach_index_per_rpm(geometry: &Geometry, valves: &Valves, air_temperature_k: f64) -> f64 {
    let sound = (plain_air::GAMMA * plain_air::GAS_CONSTANT_J_PER_KG_K * air_temperature_k).sqrt();
    geometry.mean_piston_speed_m_per_s(1.0) / (flow_share(geometry, valves) * sound)
}

/// Inlet flow area over piston area [-]: head area times mean flow coefficient.
pub(super) fn flow_share(geometry: &Geometry, valves: &Valves) -> f64 {
    valves.inlet_area_m2() * valves.mean_flow_coefficient / geometry.piston_area_m2()
}

impl Build {
    /// What VE depends on besides speed, in air of a temperature [K].
    pub fn intake(&self, air_temperature_k: f64) -> Intake {
        Intake {
            mach_index_per_rpm: mach_index_per_rpm(&self.geometry, &self.valves, air_temperature_k),
            flow_share: flow_share(&self.geometry, &self.valves),
            piston_speed_per_rpm: self.geometry.mean_piston_speed_m_per_s(1.0),
            inlet_closes_deg_abdc: self.valves.inlet_closes_deg_abdc,
            crank_to_rod: 0.5 * self.geometry.stroke_m / self.geometry.rod_length_m,
            injection: self.injection,
        }
    }
}

/// Speed of best VE beyond that of peak torque, as a share of the way to peak power [-]: friction and pumping grow with
/// speed and draw the torque peak below it.
const BEST_BEYOND_TORQUE: f64 = 0.15;
/// Relative slope of VE in relative speed at peak power [-]: with friction, pumping and burn it makes torque fall there as
/// fast as speed grows, which is what a power peak is.
const SLOPE_AT_PEAK_POWER: f64 = 0.65;
/// Growth of that slope beyond, whatever the ratio of the two peaks: torque bends there about as much as the two measured curves of
/// `tests/data/engines` bend over their last 1000 rpm, which end at peak power (`tests/physics/engines.rs`).
const CURVATURE_BEYOND: f64 = 2.75;

/// Filling of a kind of build with its peaks at two speeds.
struct PeakedCurve {
    best_rpm: f64,
    power_rpm: f64,
    at_best: f64,
    kept: f64,
    exponent: f64,
    low_speed_curvature: f64,
}

impl PeakedCurve {
    fn new(figures: &KindFigures, (torque_rpm, power_rpm): (f64, f64), piston_speed_per_rpm: f64) -> Self {
        let best_rpm = torque_rpm + BEST_BEYOND_TORQUE * (power_rpm - torque_rpm);
        let kept = figures.filling_kept(torque_rpm / power_rpm);
        Self {
            best_rpm,
            power_rpm,
            at_best: figures.filling_at_peak_power(piston_speed_per_rpm * power_rpm) / kept,
            kept,
            exponent: SLOPE_AT_PEAK_POWER * (1.0 - best_rpm / power_rpm) / (1.0 - kept),
            low_speed_curvature: figures.low_speed_curvature,
        }
    }

    /// Volumetric efficiency at a speed [-].
    fn at(&self, speed_rpm: f64) -> f64 {
        if speed_rpm < self.best_rpm {
            let off = 1.0 - speed_rpm / self.best_rpm;
            return self.at_best * (1.0 - self.low_speed_curvature * off * off);
        }
        if speed_rpm > self.power_rpm {
            let beyond = speed_rpm / self.power_rpm - 1.0;
            let fall = 1.0 + beyond * (SLOPE_AT_PEAK_POWER + CURVATURE_BEYOND * beyond);
            return self.at_best * self.kept / fall;
        }
        let along = (speed_rpm - self.best_rpm) / (self.power_rpm - self.best_rpm);
        self.at_best / (1.0 + (1.0 / self.kept - 1.0) * along.powf(self.exponent))
    }
}

/// Volumetric efficiency at one speed: the likely value and the relative 10-90 % band about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VolumetricEfficiency {
    /// Likely value [-].
    pub likely: f64,
    /// 10th percentile over likely [-], below 1.
    pub low_ratio: f64,
    /// 90th percentile over likely [-], above 1.
    pub high_ratio: f64,
    /// Least and greatest over likely while the powerband lies within its own 10-90 % band [-].
    pub moved: (f64, f64),
    /// Change of the logarithm when another input stands at its 90th percentile [-], by [`Follow::ALL`].
    pub follows: [f64; Follow::ALL.len()],
    /// The same when a size of pipes and valves stands at its 90th percentile, by [`PipeInput::ALL`].
    pub pipes: [f64; PipeInput::ALL.len()],
}

impl VolumetricEfficiency {
    /// Without anything that it follows.
    fn alone(likely: f64, (low_ratio, high_ratio): (f64, f64)) -> Self {
        let (follows, pipes) = ([0.0; Follow::ALL.len()], [0.0; PipeInput::ALL.len()]);
        Self { likely, low_ratio, high_ratio, moved: (1.0, 1.0), follows, pipes }
    }

    /// 10th and 90th percentile over likely with all that it follows let loose and the powerband moved [-].
    pub fn whole_ratios(&self) -> (f64, f64) {
        let followed: f64 = self.follows.iter().chain(&self.pipes).map(|c| c * c).sum();
        let wider = |half: f64| (half * half + followed).sqrt();
        (
            (1.0 - wider(1.0 - self.low_ratio)) * self.moved.0,
            (1.0 + wider(self.high_ratio - 1.0)) * self.moved.1,
        )
    }
}

/// Filling of a band at a speed, with its powerband where a deviate puts it.
///
/// # Arguments
/// - `closes_deg_abdc`: inlet closing with which it peaks there [deg after bottom dead centre]
fn band_filling(
    kind: BuildKind,
    (peaks, closes_deg_abdc): (&PeakSpeeds, f64),
    speed_rpm: f64,
    intake: &Intake,
    deviate: f64,
) -> f64 {
    let figures = kind.figures(intake.injection);
    let speeds = peaks.resolved(figures, intake.piston_speed_per_rpm, deviate);
    let curve = PeakedCurve::new(figures, speeds, intake.piston_speed_per_rpm);
    let closings = Closings {
        now_deg: intake.inlet_closes_deg_abdc,
        stated_deg: closes_deg_abdc,
        usual_deg: figures.usual_inlet_closes_deg_abdc,
        crank_to_rod: intake.crank_to_rod,
    };
    let usual = curve.at(speed_rpm) * closings.factor(speed_rpm / curve.best_rpm);
    // Ratings were had with usual valves: smaller ones choke more than those, larger ones less.
    let open = |flow_share: f64| {
        choke(intake.mach_index_per_rpm * speed_rpm * intake.flow_share / flow_share).max(LEAST_OPEN)
    };
    (usual * open(intake.flow_share) / open(figures.usual_flow_share())).max(LEAST_FILLING)
}

/// Factor below which choking is not carried, and VE below which no curve of a band falls, both far beyond any
/// peak [-].
const LEAST_OPEN: f64 = 0.2;
const LEAST_FILLING: f64 = 0.15;

impl Breathing {
    /// Volumetric efficiency at a speed.
    ///
    /// # Arguments
    /// - `speed_rpm`: engine speed [rpm]
    /// - `intake`: what it depends on besides, used by band and port flow
    pub fn at(&self, speed_rpm: f64, intake: &Intake) -> VolumetricEfficiency {
        match self {
            Self::Table { speed_rpm: speeds, volumetric_efficiency, spread, follows } => {
                let likely = interpolate(speeds, volumetric_efficiency, speed_rpm);
                VolumetricEfficiency {
                    follows: Follow::ALL.map(|with| {
                        follows.of(with).map_or(0.0, |changes| interpolate(speeds, changes, speed_rpm))
                    }),
                    ..VolumetricEfficiency::alone(likely, (1.0 - spread, 1.0 + spread))
                }
            }
            Self::Band { kind, peaks, closes_deg_abdc } => {
                let stated = (peaks, *closes_deg_abdc);
                let figures = kind.figures(intake.injection);
                let (torque_rpm, power_rpm) = peaks.resolved(figures, intake.piston_speed_per_rpm, 0.0);
                let (at_power, at_torque) = figures.half_widths;
                let along = ((speed_rpm - torque_rpm) / (power_rpm - torque_rpm)).clamp(0.0, 1.0);
                let half = at_torque + (at_power - at_torque) * along;
                let likely = band_filling(*kind, stated, speed_rpm, intake, 0.0);
                let ends = [-1.0, 1.0].map(|z| band_filling(*kind, stated, speed_rpm, intake, z) / likely);
                VolumetricEfficiency {
                    moved: (ends[0].min(ends[1]).min(1.0), ends[0].max(ends[1]).max(1.0)),
                    ..VolumetricEfficiency::alone(likely, (1.0 - half, 1.0 + half))
                }
            }
            Self::PortFlow(flow) => VolumetricEfficiency::alone(
                flow.likely(intake.mach_index_per_rpm * speed_rpm, intake.inlet_closes_deg_abdc),
                flow.band_ratios(),
            ),
            Self::Computed(computed) => {
                let at = computed.at(speed_rpm);
                let half = computed.half_width(&at);
                VolumetricEfficiency {
                    follows: computed.on.level.follows_at(speed_rpm),
                    pipes: at.changes,
                    ..VolumetricEfficiency::alone(computed.filling(&at), (1.0 - half, 1.0 + half))
                }
            }
        }
    }

    /// What it says of the gas exchange besides, at a speed [rpm].
    pub fn exchange(&self, speed_rpm: f64) -> ExchangeOnPipes {
        match self {
            Self::Computed(computed) => computed.at(speed_rpm).exchange,
            Self::Table { .. } | Self::Band { .. } | Self::PortFlow(_) => ExchangeOnPipes::NONE,
        }
    }

    /// The kind of build that it names.
    pub fn kind(&self) -> Option<BuildKind> {
        match self {
            Self::Band { kind, .. } => Some(*kind),
            Self::Computed(computed) => Some(computed.on.kind),
            Self::Table { .. } | Self::PortFlow(_) => None,
        }
    }

    /// Volumetric efficiency with the powerband where a deviate puts it, over the likely one [-].
    ///
    /// # Arguments
    /// - `deviate`: -1 at the 10th, 1 at the 90th percentile of where the powerband may lie
    pub fn moved_by(&self, deviate: f64, speed_rpm: f64, intake: &Intake) -> f64 {
        match self {
            Self::Band { kind, peaks, closes_deg_abdc } => {
                let at = |z: f64| band_filling(*kind, (peaks, *closes_deg_abdc), speed_rpm, intake, z);
                at(deviate) / at(0.0)
            }
            Self::Table { .. } | Self::PortFlow(_) | Self::Computed(_) => 1.0,
        }
    }
}

/// Where a volumetric efficiency comes from; the report says it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BreathingSource {
    /// A table of the scenario.
    Table {
        /// Half width of its band [-].
        spread_frac: f64,
        /// Whether what a pull could not tell from it moves with it.
        has_follows: bool,
    },
    /// A kind of build.
    Kind {
        /// Which.
        kind: BuildKind,
        /// How its fuel gets in.
        injection: Injection,
        /// The speeds as stated.
        peaks: PeakSpeeds,
        /// Speeds of peak torque and peak power [rpm].
        speeds_rpm: (f64, f64),
        /// Likely volumetric efficiency at its best, near peak torque [-].
        best: f64,
        /// The same at peak power [-].
        at_peak_power: f64,
    },
    /// Flow of the ports and the cam.
    PortFlow(PortFlow),
    /// Computed from cam, ports and pipes.
    Computed {
        /// The kind that says what is usual.
        kind: BuildKind,
        /// How the fuel gets in.
        injection: Injection,
        /// Whether the cam is that of a card.
        has_card: bool,
        /// Best volumetric efficiency [-] and where it is [rpm].
        best: (f64, f64),
        /// Half of the 10-90 % band of the level there, relative [-].
        half_width: f64,
    },
}

impl Build {
    /// Where the volumetric efficiency comes from.
    pub fn breathing_source(&self) -> BreathingSource {
        match &self.breathing {
            Breathing::Table { spread, follows, .. } => {
                BreathingSource::Table { spread_frac: *spread, has_follows: !follows.is_empty() }
            }
            Breathing::Band { kind, peaks, .. } => {
                let figures = kind.figures(self.injection);
                let piston_speed_per_rpm = self.geometry.mean_piston_speed_m_per_s(1.0);
                let speeds = peaks.resolved(figures, piston_speed_per_rpm, 0.0);
                let curve = PeakedCurve::new(figures, speeds, piston_speed_per_rpm);
                BreathingSource::Kind {
                    kind: *kind,
                    injection: self.injection,
                    peaks: *peaks,
                    speeds_rpm: speeds,
                    best: curve.at_best,
                    at_peak_power: curve.at_best * curve.kept,
                }
            }
            Breathing::PortFlow(flow) => BreathingSource::PortFlow(*flow),
            Breathing::Computed(computed) => {
                let best = computed
                    .points
                    .iter()
                    .max_by(|a, b| a.volumetric_efficiency.total_cmp(&b.volumetric_efficiency))
                    .map_or((0.0, 0.0, 0.0), |p| (computed.filling(p), p.speed_rpm, computed.half_width(p)));
                BreathingSource::Computed {
                    kind: computed.on.kind,
                    injection: self.injection,
                    has_card: computed.on.has_card,
                    best: (best.0, best.1),
                    half_width: best.2,
                }
            }
        }
    }
}

/// Linear interpolation; the end values hold outside.
pub(crate) fn interpolate(x: &[f64], y: &[f64], at: f64) -> f64 {
    let above = x.partition_point(|v| *v <= at);
    match (above.checked_sub(1).and_then(|i| Some((x.get(i)?, y.get(i)?))), x.get(above).zip(y.get(above))) {
        (Some((x0, y0)), Some((x1, y1))) => y0 + (y1 - y0) * (at - x0) / (x1 - x0),
        (Some((_, y0)), None) => *y0,
        (None, Some((_, y1))) => *y1,
        (None, None) => 0.0,
    }
}

#[cfg(test)]
mod tests;
