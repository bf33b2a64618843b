//! Why a curve lies where it lies: named causes, ranked by how likely each makes the numbers.
//!
//! Every cause shifts the curve and the numbers beside it (power over torque times rpm, air by fuel flow, logged
//! correction factor) in its own way. Bayes' rule over all of them, each averaged over how large it may be, gives its
//! share. The verdict does not come from here: it rests on how far honest pulls lie from the estimate.

mod honest;
mod local;
mod suspects;

use super::evidence::Evidence;
use super::log::Place;
use super::powerband::{self, Moved};
pub(super) use local::rank as rank_local;

use honest::Honest;
use nalgebra::DVector;
use schemars::JsonSchema;
use serde::Serialize;
use suspects::{Numbers, Suspect};

/// What may make a curve differ from the estimate.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Cause {
    /// An honest pull of an engine within the range of the estimate.
    NothingWrong,
    /// The engine's powerband lies elsewhere than the scenario says.
    Powerband {
        /// Its rpm over that of the scenario [-].
        factor: f64,
    },
    /// Displacement or breathing is not that of the scenario.
    OtherEngine {
        /// Torque over that of the scenario [-].
        factor: f64,
    },
    /// A column is labelled with the wrong unit; units as [`crate::units::Unit::symbol`] has them.
    Unit {
        /// What its numbers are.
        is: &'static str,
        /// What its heading says.
        labelled: &'static str,
    },
    /// Torque and power are not of one channel, or torque is that of the axle.
    OtherChannels {
        /// Power over torque times rpm [-].
        ratio: f64,
    },
    /// Figures of this place are read as those of the other.
    Place {
        /// Where they were taken.
        taken: Place,
    },
    /// The figures are corrected once more than stated.
    Corrected {
        /// Least and greatest factor of the standards that could have done it [-].
        factors: [f64; 2],
        /// Whether they are stated to be corrected once.
        twice: bool,
    },
    /// The logged factor is that of another standard than stated.
    OtherStandard {
        /// The standard whose factor it is.
        used: &'static str,
        /// Other standards with the same factor in this weather.
        #[serde(skip)]
        also: [Option<&'static str>; 2],
        /// The standard that is stated.
        stated: &'static str,
    },
    /// The logged factor is that of no standard in this weather.
    FactorByHand {
        /// Logged over computed factor [-].
        factor: f64,
    },
    /// Rpm is logged too high or too low: gear, ratio of roller to engine rpm, pick-up.
    Gear {
        /// Logged over true rpm [-].
        factor: f64,
    },
    /// Every torque alike too high or low: inertia of the rollers, calibration.
    Scale {
        /// Logged over true torque [-].
        factor: f64,
    },
    /// The same torque is added at every rpm: zero of the load cell.
    ZeroOffset {
        /// Torque added, over the highest of the estimate [-].
        share: f64,
    },
    /// Reads progressively high or low with rpm: coast-down loss added, windage.
    Progressive {
        /// Torque added at the highest rpm, over the true one [-].
        at_top_frac: f64,
    },
    /// The engine is not naturally aspirated.
    ForcedInduction {
        /// Torque over that of the scenario [-].
        factor: f64,
    },
    /// The throttle did not open fully, or the intake is blocked.
    PartThrottle {
        /// Torque lost at the highest rpm [-].
        lost_frac: f64,
    },
}

impl Cause {
    /// Whether it is of the scale of torque or rpm, which a fit would take over.
    pub(super) fn is_of_scale(&self) -> bool {
        !matches!(
            self,
            Self::NothingWrong
                | Self::Powerband { .. }
                | Self::OtherEngine { .. }
                | Self::PartThrottle { .. }
        )
    }
}

/// A cause with its weight.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RankedCause {
    /// What may be the cause; its size is the likeliest.
    pub cause: Cause,
    /// Its share of the probability of all causes [-].
    pub share: f64,
    /// Root mean square of what is left of the deviation of torque with the cause undone [-].
    pub left_frac: f64,
}

/// The causes, and the powerband that a pull of no fault but its scale shows.
pub(super) struct Ranking {
    /// Most probable first; all of them.
    pub(super) causes: Vec<RankedCause>,
    /// None where the powerband is not fitted.
    pub(super) moved: Option<Moved>,
}

/// A cause of a certain size, with a powerband, weighed.
struct Weighed<'a> {
    suspect: &'a Suspect,
    moved: Option<&'a Moved>,
    ln_weight: f64,
    left_frac: f64,
}

/// Ranks every cause.
pub(super) fn rank(e: &Evidence<'_>) -> Ranking {
    let numbers = Numbers::of(e);
    let suspects = suspects::all(e, &numbers);
    let speeds: Vec<f64> = e.points.iter().map(|p| p.speed_rpm).collect();
    let powerbands = powerband::all(e.yardstick, &speeds);
    let Some(honest) = Honest::new(e, None) else { return Ranking { causes: Vec::new(), moved: None } };
    let weighed: Vec<Weighed<'_>> = suspects
        .iter()
        .flat_map(|suspect| {
            let own = suspect.more.as_ref().and_then(|more| Honest::new(e, Some(more)));
            weigh(e, (suspect, &numbers), own.as_ref().unwrap_or(&honest), &powerbands)
        })
        .collect();
    let best = |of: &dyn Fn(&Cause) -> bool| {
        let among = weighed.iter().filter(|w| of(&w.cause()));
        among.max_by(|a, b| a.ln_weight.total_cmp(&b.ln_weight))
    };
    let is_of_scale =
        |cause: &Cause| matches!(cause, Cause::NothingWrong | Cause::Powerband { .. } | Cause::Scale { .. });
    let moved = best(&is_of_scale).and_then(|w| w.moved).cloned();
    Ranking { causes: shares(&weighed), moved }
}

/// Standard deviation of the logarithm of the rpm of a powerband that a scenario states for a kind of build [-]
/// (common practice, no source: catalogues of a model year, a cam card of another head).
const POWERBAND: f64 = 0.07;
/// Logarithm of a factor on the powerband up to which it is where the scenario says.
const AS_STATED: f64 = 0.10;

/// A suspect with every powerband; with the scenario's alone where that is not open.
fn weigh<'a>(
    e: &Evidence<'_>,
    (suspect, numbers): (&'a Suspect, &Numbers),
    honest: &Honest,
    powerbands: &'a [Moved],
) -> Vec<Weighed<'a>> {
    let off = DVector::from_iterator(
        e.points.len(),
        e.points.iter().map(|p| (p.torque_nm / p.estimate_likely_torque_nm).ln()),
    ) - &suspect.curve;
    let beside = suspect.ln_prior + numbers.ln_density(suspect);
    let of = |moved: Option<&'a Moved>, ln_prior: f64| {
        let left = match moved {
            Some(moved) => &off - DVector::from_column_slice(&moved.ln_torque),
            None => off.clone(),
        };
        let left_frac = (left.norm_squared() / left.len() as f64).sqrt();
        Weighed { suspect, moved, ln_weight: ln_prior + beside + honest.ln_density(&left), left_frac }
    };
    if powerbands.is_empty() {
        return vec![of(None, 0.0)];
    }
    let ln_prior = |moved: &Moved| -0.5 * (moved.factor.ln() / POWERBAND).powi(2);
    let sum: f64 = powerbands.iter().map(|moved| ln_prior(moved).exp()).sum();
    powerbands.iter().map(|moved| of(Some(moved), ln_prior(moved) - sum.ln())).collect()
}

impl Weighed<'_> {
    /// The cause; a powerband elsewhere is one of its own where nothing else is wrong.
    fn cause(&self) -> Cause {
        match (self.suspect.cause, self.moved) {
            (Cause::NothingWrong, Some(moved)) if moved.factor.ln().abs() > AS_STATED => {
                Cause::Powerband { factor: moved.factor }
            }
            (cause, _) => cause,
        }
    }
}

/// Each kind of cause with its share and its likeliest size.
fn shares(weighed: &[Weighed<'_>]) -> Vec<RankedCause> {
    let most = weighed.iter().map(|w| w.ln_weight).fold(f64::NEG_INFINITY, f64::max);
    let mut sums: Vec<(&Weighed<'_>, f64)> = Vec::new();
    for w in weighed {
        let weight = (w.ln_weight - most).exp();
        match sums.iter_mut().find(|(other, _)| is_alike(&other.cause(), &w.cause())) {
            Some((best, sum)) => {
                *sum += weight;
                if w.ln_weight > best.ln_weight {
                    *best = w;
                }
            }
            None => sums.push((w, weight)),
        }
    }
    let total: f64 = sums.iter().map(|(_, sum)| sum).sum();
    let mut causes: Vec<RankedCause> = sums
        .into_iter()
        .map(|(w, sum)| RankedCause { cause: w.cause(), share: sum / total, left_frac: w.left_frac })
        .collect();
    causes.sort_by(|a, b| b.share.total_cmp(&a.share));
    causes
}

/// Whether two causes are the same but for their size.
fn is_alike(a: &Cause, b: &Cause) -> bool {
    match (a, b) {
        (Cause::Unit { .. }, Cause::Unit { .. })
        | (Cause::OtherStandard { .. }, Cause::OtherStandard { .. }) => a == b,
        _ => std::mem::discriminant(a) == std::mem::discriminant(b),
    }
}
