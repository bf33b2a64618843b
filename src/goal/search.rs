//! The fewest changes that reach a goal in the likely case, and the least costly of equals.
//!
//! Every combination of at most one change per lever is looked at, by number of changes. One that holds
//! a smaller one that already reaches the goal is no candidate, so that taking any change away from the
//! combination found misses the goal.

use super::change::LEVERS;
use super::result::{BuildReading, ChangePlan, Most};
use super::share_at_or_above;
use super::trials::{CYCLE_LEVERS, ChangeSet, ChangeTrials, Run, Scope};
use crate::estimate::EstimateError;
use crate::estimate::sweep::in_order;
use std::collections::BTreeMap;

/// Cost of a gentler combination over that of the fewest changes, at most [-].
const GENTLER: f64 = 0.9;

/// What a search finds.
#[derive(Debug, Default)]
pub(super) struct Found {
    pub(super) plan: Option<ChangePlan>,
    pub(super) gentler: Option<ChangePlan>,
    pub(super) most: Option<Most>,
}

/// The part of a combination for which the cycle is run.
type CyclePart = [usize; CYCLE_LEVERS];

fn cycle_part(combination: &ChangeSet) -> CyclePart {
    std::array::from_fn(|lever| combination[lever])
}

/// Searches the combinations of changes of some trials.
///
/// # Errors
/// As [`ChangeTrials::runs`].
pub(super) fn search(trials: &ChangeTrials<'_>, wheel_power_kw: f64) -> Result<Found, EstimateError> {
    let mut search = Search { trials, wheel_power_kw, runs: BTreeMap::new(), reaching: Vec::new() };
    let base = search.base()?;
    let (mut beyond_limits, mut short): (Option<ChangePlan>, Vec<(ChangeSet, f64)>) = (None, Vec::new());
    for count in 1..=LEVERS {
        let tried = search.tried(count)?;
        short.extend(tried.iter().map(|(combination, reading)| (*combination, reading.wheel_power_kw)));
        let (within, beyond) = search.best_of(tried, &base)?;
        if let Some(plan) = within {
            let gentler = search.gentler(&plan, &base)?;
            return Ok(Found { plan: Some(plan), gentler, most: None });
        }
        beyond_limits = beyond_limits.or(beyond);
    }
    if beyond_limits.is_some() {
        return Ok(Found { plan: beyond_limits, ..Found::default() });
    }
    short.sort_by(|(_, a), (_, b)| b.total_cmp(a));
    for (combination, _) in &short {
        if let Some(ChangePlan { changes, reading, .. }) = search.plan(combination, 0.0)? {
            return Ok(Found { most: Some(Most { changes, reading }), ..Found::default() });
        }
    }
    Ok(Found::default())
}

struct Search<'a> {
    trials: &'a ChangeTrials<'a>,
    wheel_power_kw: f64,
    runs: BTreeMap<CyclePart, Vec<Run>>,
    /// Combinations that reach the goal with a safe timing everywhere, but pass a limit of the scenario.
    reaching: Vec<ChangeSet>,
}

impl Search<'_> {
    /// The engine as built, at the speeds of a search.
    fn base(&self) -> Result<BuildReading, EstimateError> {
        self.trials.run(&self.trials.variant(&[0; LEVERS]), Scope::Top)
    }

    /// Every credible combination of so many changes that holds none that reaches the goal already, run.
    fn tried(&mut self, count: usize) -> Result<Vec<(ChangeSet, BuildReading)>, EstimateError> {
        let fresh: Vec<ChangeSet> = combinations(&self.trials.sizes(), count)
            .into_iter()
            .filter(|c| !self.reaching.iter().any(|smaller| holds(c, smaller)))
            .collect();
        self.run_cycles(&fresh)?;
        let read = |c: &ChangeSet| {
            let variant = self.trials.variant(c);
            (*c, self.trials.reading(&variant, &self.runs[&cycle_part(c)]))
        };
        Ok(fresh.iter().map(read).filter(|(_, r)| self.trials.is_credible(r) && r.has_safe_spark).collect())
    }

    fn run_cycles(&mut self, combinations: &[ChangeSet]) -> Result<(), EstimateError> {
        let mut parts: Vec<CyclePart> =
            combinations.iter().map(cycle_part).filter(|p| !self.runs.contains_key(p)).collect();
        parts.sort_unstable();
        parts.dedup();
        let runs = in_order(&parts, |part| {
            let mut combination = [0; LEVERS];
            combination[..CYCLE_LEVERS].copy_from_slice(part);
            self.trials.runs(&self.trials.variant(&combination), Scope::Top)
        })?;
        self.runs.extend(parts.into_iter().zip(runs));
        Ok(())
    }

    /// Of the combinations that reach the goal: the least costly within the limits of the scenario, and the
    /// least costly of the others.
    fn best_of(
        &mut self,
        tried: Vec<(ChangeSet, BuildReading)>,
        base: &BuildReading,
    ) -> Result<(Option<ChangePlan>, Option<ChangePlan>), EstimateError> {
        let mut reaching: Vec<_> =
            tried.into_iter().filter(|(_, r)| r.wheel_power_kw >= self.wheel_power_kw).collect();
        reaching.sort_by(|(a, ra), (b, rb)| {
            self.trials.cost(a, ra, base).total_cmp(&self.trials.cost(b, rb, base))
        });
        let mut beyond = None;
        for (combination, reading) in &reaching {
            let cost = self.trials.cost(combination, reading, base);
            let Some(plan) = self.plan(combination, cost)? else { continue };
            self.reaching.push(*combination);
            if plan.limits_passed.is_empty() {
                // Nor is one of the others part of a larger one that is worth a look.
                self.reaching.extend(reaching.iter().map(|(c, _)| *c));
                return Ok((Some(plan), beyond));
            }
            beyond = beyond.or(Some(plan));
        }
        Ok((None, beyond))
    }

    /// The least costly combination of one or two changes more than a plan has, where it costs clearly less.
    fn gentler(
        &mut self,
        plan: &ChangePlan,
        base: &BuildReading,
    ) -> Result<Option<ChangePlan>, EstimateError> {
        let (mut best, mut cost) = (None, GENTLER * plan.cost);
        for count in plan.changes.len() + 1..=(plan.changes.len() + 2).min(LEVERS) {
            let tried = self.tried(count)?;
            if let (Some(found), _) = self.best_of(tried, base)?
                && found.cost < cost
            {
                cost = found.cost;
                best = Some(found);
            }
        }
        Ok(best)
    }

    /// A combination run over all speeds; none when it is then not credible or has no safe timing somewhere
    /// that the engine as built has.
    fn plan(&self, combination: &ChangeSet, cost: f64) -> Result<Option<ChangePlan>, EstimateError> {
        let variant = self.trials.variant(combination);
        let reading = self.trials.run(&variant, Scope::Whole)?;
        let unsafe_now = !reading.has_safe_spark && self.trials.as_it_is.has_safe_spark;
        if unsafe_now || !self.trials.is_credible(&reading) {
            return Ok(None);
        }
        let estimate = &self.trials.estimate.fuels[variant.fuel];
        let grown = reading.wheel_power_kw / estimate.peak_power.wheel.likely;
        Ok(Some(ChangePlan {
            changes: self.trials.chosen(combination).map(|change| change.what.clone()).collect(),
            levers: self.trials.chosen(combination).map(|change| change.lever).collect(),
            chance_frac: share_at_or_above(&estimate.sample_peak_wheel_kw, self.wheel_power_kw / grown),
            limits_passed: self.trials.limits_passed(&reading),
            cost,
            reading,
        }))
    }
}

/// Whether a combination holds all changes of another.
fn holds(combination: &ChangeSet, other: &ChangeSet) -> bool {
    combination.iter().zip(other).all(|(here, there)| *there == 0 || here == there)
}

/// All combinations of `count` levers, one change of each.
fn combinations(sizes: &[usize; LEVERS], count: usize) -> Vec<ChangeSet> {
    let mut all: Vec<ChangeSet> = vec![[0; LEVERS]];
    for (lever, size) in sizes.iter().enumerate() {
        all = all
            .into_iter()
            .flat_map(|c| {
                (0..=*size).map(move |nth| {
                    let mut next = c;
                    next[lever] = nth;
                    next
                })
            })
            .collect();
    }
    all.retain(|c| c.iter().filter(|nth| **nth > 0).count() == count);
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    // HAND: sizes 2, 1, 0, 0, 1, 0: four single changes; pairs 2 1 + 2 1 + 1 1 = 5; one triple per ratio: 2.
    #[test]
    fn combinations_are_counted() {
        let sizes = [2, 1, 0, 0, 1, 0];
        let counts: Vec<usize> = (1..=4).map(|count| combinations(&sizes, count).len()).collect();
        assert_eq!(counts, [4, 5, 2, 0]);
    }

    #[test]
    fn a_combination_holds_its_parts() {
        assert!(holds(&[1, 2, 0, 0, 1, 0], &[1, 0, 0, 0, 1, 0]));
        assert!(!holds(&[2, 2, 0, 0, 1, 0], &[1, 0, 0, 0, 1, 0]));
    }
}
