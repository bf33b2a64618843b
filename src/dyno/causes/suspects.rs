//! Every cause in every size that is weighed: what it does to the curve and to the numbers beside it.
//!
//! The weights before the numbers are seen are a judgement, no source: what goes wrong in shops, and how often.

use super::Cause;
use super::honest::{Beside, is_corrected};
use crate::air::CorrectionStandard;
use crate::dyno::checks;
use crate::dyno::evidence::Evidence;
use crate::dyno::log::{LogCorrection, Place, Said};
use crate::dyno::unit::Quantity;
use nalgebra::DVector;

/// A cause of a certain size.
pub(super) struct Suspect {
    pub(super) cause: Cause,
    /// What it adds to the logarithm of torque at each point.
    pub(super) curve: DVector<f64>,
    /// Logarithm of power over torque times rpm that it makes.
    power_ratio: f64,
    /// Whether the air of the engine goes with the torque, so that air by fuel flow agrees.
    is_of_engine: bool,
    /// Logarithm of logged over computed factor that it makes.
    factor: f64,
    pub(super) ln_prior: f64,
    /// Variance of single points besides that of honest curves.
    pub(super) more: Option<Vec<f64>>,
}

/// Numbers of the log beside its curve.
pub(super) struct Numbers {
    power_ratio: Option<Beside>,
    air: Option<Beside>,
    factor: Option<Beside>,
}

impl Numbers {
    /// Of a log.
    pub(super) fn of(e: &Evidence<'_>) -> Self {
        Self {
            power_ratio: checks::power_ratio(e).map(Beside::power_ratio),
            air: checks::air_ratio(e).map(Beside::air),
            factor: checks::factor_ratio(e).map(Beside::factor),
        }
    }

    /// Logarithm of their density under a cause.
    pub(super) fn ln_density(&self, suspect: &Suspect) -> f64 {
        // Torque that the engine does not make is torque without air.
        let air = if suspect.is_of_engine { 0.0 } else { -suspect.curve.mean() };
        [(self.power_ratio, suspect.power_ratio), (self.air, air), (self.factor, suspect.factor)]
            .into_iter()
            .filter_map(|(number, expected)| Some(number?.ln_density(expected)))
            .sum()
    }
}

/// How often causes occur, against each other.
mod weight {
    pub(super) const NOTHING: f64 = 40.0;
    pub(super) const OTHER_ENGINE: f64 = 1.0;
    pub(super) const UNIT: f64 = 2.0;
    pub(super) const OTHER_CHANNELS: f64 = 1.0;
    /// Where the log states where it was taken, and where nobody does.
    pub(super) const PLACE: [f64; 2] = [1.0, 10.0];
    /// Where the log states whether it is corrected, and where nobody does.
    pub(super) const CORRECTED: [f64; 2] = [2.0, 5.0];
    pub(super) const OTHER_STANDARD: f64 = 4.0;
    pub(super) const FACTOR_BY_HAND: f64 = 4.0;
    pub(super) const GEAR: f64 = 3.0;
    pub(super) const SCALE: f64 = 4.0;
    pub(super) const ZERO_OFFSET: f64 = 1.0;
    pub(super) const PROGRESSIVE: f64 = 2.0;
    pub(super) const FORCED_INDUCTION: f64 = 0.3;
    pub(super) const PART_THROTTLE: f64 = 1.0;
}

/// Every cause in every size.
pub(super) fn all(e: &Evidence<'_>, numbers: &Numbers) -> Vec<Suspect> {
    let uniform = |ln: f64| DVector::from_element(e.points.len(), ln);
    let mut all = one(Cause::NothingWrong, uniform(0.0), weight::NOTHING).of_engine();
    all.extend(
        sizes(normal(0.10), weight::OTHER_ENGINE, |ln| {
            (Cause::OtherEngine { factor: ln.exp() }, uniform(ln))
        })
        .of_engine(),
    );
    all.extend(sizes(normal(0.18), weight::SCALE, |ln| (Cause::Scale { factor: ln.exp() }, uniform(ln))));
    all.extend(units(e));
    all.extend(channels(e, numbers));
    all.extend(place(e));
    all.extend(corrected(e));
    all.extend(factor(e, numbers));
    all.extend(gear(e));
    all.extend(offsets(e));
    all.extend(induction(e));
    all
}

fn one(cause: Cause, curve: DVector<f64>, weight: f64) -> Vec<Suspect> {
    vec![Suspect {
        cause,
        curve,
        power_ratio: 0.0,
        is_of_engine: false,
        factor: 0.0,
        ln_prior: weight.ln(),
        more: None,
    }]
}

/// The same cause in several sizes, with their weights.
fn sizes(sizes: Vec<(f64, f64)>, weight: f64, of: impl Fn(f64) -> (Cause, DVector<f64>)) -> Vec<Suspect> {
    let sum: f64 = sizes.iter().map(|(_, weight)| weight).sum();
    let each = |(size, own): (f64, f64)| {
        let (cause, curve) = of(size);
        one(cause, curve, weight * own / sum)
    };
    sizes.into_iter().flat_map(each).collect()
}

/// Sizes about 0 by a standard deviation, out to three of them.
fn normal(deviation: f64) -> Vec<(f64, f64)> {
    const STEPS: i32 = 24;
    let at = |i: i32| {
        let z = 3.0 * f64::from(i) / f64::from(STEPS);
        (z * deviation, (-0.5 * z * z).exp())
    };
    (-STEPS..=STEPS).filter(|i| *i != 0).map(at).collect()
}

/// Sizes between two, all alike.
fn even(from: f64, to: f64) -> Vec<(f64, f64)> {
    const STEPS: usize = 40;
    (0..=STEPS).map(|i| (from + (to - from) * i as f64 / STEPS as f64, 1.0)).collect()
}

/// What holds for all sizes of a cause.
trait OfAll {
    /// The engine itself makes the torque.
    fn of_engine(self) -> Self;
}

impl OfAll for Vec<Suspect> {
    fn of_engine(mut self) -> Self {
        for suspect in &mut self {
            suspect.is_of_engine = true;
        }
        self
    }
}

fn units(e: &Evidence<'_>) -> Vec<Suspect> {
    let unit = |quantity| e.log.columns.iter().find(|c| c.quantity == quantity).map(|c| c.unit);
    let (torque, power) = (unit(Quantity::Torque), unit(Quantity::Power));
    let mix_up = |(is, labelled, ratio): (&'static str, &'static str, f64)| {
        let is_torque = torque == Some(labelled);
        if !is_torque && power != Some(labelled) {
            return None;
        }
        // Torque is read where it is logged, else made from power.
        let ln = match (is_torque, torque.is_some()) {
            (true, _) => -ratio.ln(),
            (false, true) => 0.0,
            (false, false) => ratio.ln(),
        };
        let curve = DVector::from_element(e.points.len(), ln);
        let mut found = one(Cause::Unit { is, labelled }, curve, weight::UNIT);
        if torque.is_some() && power.is_some() {
            found.iter_mut().for_each(|suspect| suspect.power_ratio = ratio.ln());
        }
        Some(found)
    };
    checks::MIX_UPS.into_iter().filter_map(mix_up).flatten().collect()
}

/// Torque and power of different channels: either of them may be the wrong one, by any ratio.
fn channels(e: &Evidence<'_>, numbers: &Numbers) -> Vec<Suspect> {
    /// How far they may differ, either way, in the logarithm.
    const MOST: f64 = 2.0;
    let Some(number) = numbers.power_ratio else { return Vec::new() };
    let ln = number.found();
    let weight = weight::OTHER_CHANNELS / (number.ln_density(ln).exp() * 2.0 * MOST);
    let either = [0.0, -ln].map(|of_torque| {
        let curve = DVector::from_element(e.points.len(), of_torque);
        let mut found = one(Cause::OtherChannels { ratio: ln.exp() }, curve, 0.5 * weight);
        found.iter_mut().for_each(|suspect| suspect.power_ratio = ln);
        found
    });
    either.into_iter().flatten().collect()
}

fn unsaid(weights: [f64; 2], said: Said) -> f64 {
    weights[usize::from(said == Said::Nobody)]
}

fn place(e: &Evidence<'_>) -> Vec<Suspect> {
    let kept = e
        .estimated
        .iter()
        .map(|p| (e.yardstick.torque_nm(p, Place::Wheel).likely / p.crank_torque_nm.likely).ln());
    let kept = DVector::from_iterator(e.points.len(), kept);
    let (taken, curve) = match e.log.place {
        Place::Wheel => (Place::Crank, -kept),
        Place::Crank => (Place::Wheel, kept),
    };
    one(Cause::Place { taken }, curve, unsaid(weight::PLACE, e.log.place_said))
}

/// Least change by a standard that is weighed [-].
const LEAST_CORRECTION: f64 = 0.02;

/// Figures that a standard has corrected once more than stated.
fn corrected(e: &Evidence<'_>) -> Vec<Suspect> {
    let weather = &e.yardstick.job().weather;
    let standards = CorrectionStandard::ALL.into_iter().map(|standard| standard.factor(weather).factor);
    let logged = e.log.mean(|p| p.correction_factor).filter(|_| !is_corrected(e));
    let known = standards.filter(|_| e.weather_is_known());
    let factors: Vec<f64> =
        known.chain(logged).filter(|factor| (factor - 1.0).abs() >= LEAST_CORRECTION).collect();
    let least = factors.iter().copied().fold(f64::INFINITY, f64::min);
    let most = factors.iter().copied().fold(0.0, f64::max);
    let cause = Cause::Corrected { factors: [least, most], twice: is_corrected(e) };
    let weight = unsaid(weight::CORRECTED, e.log.correction_said);
    sizes(factors.into_iter().map(|factor| (factor, 1.0)).collect(), weight, |factor| {
        (cause, DVector::from_element(e.points.len(), factor.ln()))
    })
}

/// A logged factor that is not that of the stated standard.
fn factor(e: &Evidence<'_>, numbers: &Numbers) -> Vec<Suspect> {
    /// How far a factor by hand may be off, either way, in the logarithm.
    const BY_HAND: f64 = 0.3;
    let (LogCorrection::By(stated), Some(number)) = (e.log.correction, numbers.factor) else {
        return Vec::new();
    };
    let weather = &e.yardstick.job().weather;
    let computed = stated.factor(weather).factor;
    let off = |ln: f64, cause: Cause, weight: f64| {
        let mut found = one(cause, DVector::from_element(e.points.len(), ln), weight);
        found.iter_mut().for_each(|suspect| suspect.factor = ln);
        found
    };
    // Standards that differ by no more than sensors do cannot be told apart.
    const APART: f64 = 0.01;
    /// Those with one factor on the day are one cause, as near as logs round.
    const ALIKE: f64 = 0.003;
    let others: Vec<(CorrectionStandard, f64)> = CorrectionStandard::ALL
        .into_iter()
        .map(|used| (used, (used.factor(weather).factor / computed).ln()))
        .filter(|(used, ln)| *used != stated && ln.abs() > APART)
        .collect();
    let mut all: Vec<Suspect> = Vec::new();
    for (i, (used, ln)) in others.iter().enumerate() {
        let is_alike = |other: &&(CorrectionStandard, f64)| (other.1 - ln).abs() < ALIKE;
        if others[..i].iter().any(|other| is_alike(&other)) {
            continue;
        }
        let mut same = others[i + 1..].iter().filter(is_alike).map(|(standard, _)| standard.title());
        let also = [same.next(), same.next()];
        let cause = Cause::OtherStandard { used: used.title(), also, stated: stated.title() };
        all.extend(off(*ln, cause, weight::OTHER_STANDARD));
    }
    let by_hand = Cause::FactorByHand { factor: number.found().exp() };
    let density = number.ln_density(number.found()).exp() * 2.0 * BY_HAND;
    all.extend(off(number.found(), by_hand, weight::FACTOR_BY_HAND / density));
    all
}

/// Rpm that is k times the true one: rollers measure power rightly, so that torque is a k-th of the true one.
fn gear(e: &Evidence<'_>) -> Vec<Suspect> {
    /// Factors that are looked for [-], and those that the powerband explains as well.
    const MOST: f64 = 1.8;
    const NEAR: f64 = 0.06;
    /// Share of the points that must lie within the rpm of the estimate, once rpm is set right [-].
    const REACHED: f64 = 0.6;
    /// Variance where the estimate does not reach.
    const UNKNOWN: f64 = 0.02;
    let range = e.yardstick.speed_range_rpm();
    let sizes: Vec<f64> =
        even(-MOST.ln(), MOST.ln()).into_iter().map(|(ln, _)| ln).filter(|ln| ln.abs() >= NEAR).collect();
    let weight = weight::GEAR / sizes.len() as f64;
    let at = |ln: f64| {
        let factor = ln.exp();
        let reached =
            e.points.iter().filter(|p| (range.0..=range.1).contains(&(p.speed_rpm / factor))).count();
        if (reached as f64) < REACHED * e.points.len() as f64 {
            return None;
        }
        let mut more = Vec::with_capacity(e.points.len());
        let curve = e.points.iter().map(|p| {
            let speed = p.speed_rpm / factor;
            let inside = speed.clamp(range.0, range.1);
            more.push(UNKNOWN * ((speed / inside).ln() / 0.1).powi(2));
            // Beyond the estimate power goes on as it ends.
            let torque = e.yardstick.likely_torque_nm(inside, e.log.place)? * inside / speed;
            Some((torque / factor / p.estimate_likely_torque_nm).ln())
        });
        let curve: Option<Vec<f64>> = curve.collect();
        let mut found = one(Cause::Gear { factor }, DVector::from_vec(curve?), weight);
        for suspect in &mut found {
            // Power and fuel are right, and so is the air: torque and the swept volume per time are wrong alike.
            suspect.is_of_engine = true;
            suspect.more = Some(more.clone());
        }
        Some(found)
    };
    sizes.into_iter().filter_map(at).flatten().collect()
}

/// Torque that is added: the same at every rpm, or growing with rpm.
fn offsets(e: &Evidence<'_>) -> Vec<Suspect> {
    let likely = || e.points.iter().map(|p| p.estimate_likely_torque_nm);
    let highest = likely().fold(0.0, f64::max);
    let ln = |added: f64| (1.0 + added.max(-0.9)).ln();
    let count = e.points.len();
    let mut all = sizes(normal(0.10), weight::ZERO_OFFSET, |share| {
        let curve = DVector::from_iterator(count, likely().map(|nm| ln(share * highest / nm)));
        (Cause::ZeroOffset { share }, curve)
    });
    all.extend(sizes(normal(0.15), weight::PROGRESSIVE, |at_top_frac| {
        let curve = e.shares_of_top_rpm().map(|share| ln(at_top_frac * share * share));
        (Cause::Progressive { at_top_frac }, DVector::from_iterator(count, curve))
    }));
    all
}

/// An engine that is blown, or that is not given its air.
fn induction(e: &Evidence<'_>) -> Vec<Suspect> {
    let count = e.points.len();
    let mut all = sizes(even(1.3_f64.ln(), 2.5_f64.ln()), weight::FORCED_INDUCTION, |ln| {
        (Cause::ForcedInduction { factor: ln.exp() }, DVector::from_element(count, ln))
    });
    all.extend(sizes(even(0.08, 0.7), weight::PART_THROTTLE, |lost_frac| {
        // Little where the engine asks for little air: a throttle chokes with the square of the flow.
        let curve = e.shares_of_top_rpm().map(|share| (1.0 - lost_frac * share * share).ln());
        (Cause::PartThrottle { lost_frac }, DVector::from_iterator(count, curve))
    }));
    all.of_engine()
}
