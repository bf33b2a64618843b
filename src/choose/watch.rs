//! The blends that must be stood, watched at any ratio.

use super::job::{ChooseError, ChooseJob};
use super::kept::{Sampled, Worst, kept_share, quantile};
use super::limit::{BlendReading, Limit, LimitKind, LimitState};
use super::reading::{Bench, reading, sampled_row, worst_over_speed};
use crate::estimate::analysis::PreparedFuel;
use crate::estimate::job::{FuelChoice, Job};
use crate::estimate::search::minimum;
use crate::estimate::uncertainty::Sample;
use crate::fuel::pump::{ContentRange, best_power_lambda};
use rayon::prelude::*;

/// Ethanol contents at which a range is watched before its worst is searched.
const CONTENTS: usize = 7;
/// How closely the worst content is searched [-].
const CONTENT_TOLERANCE: f64 = 0.005;
/// A content between the watched ones is worth watching when it is worse by this much, on the scale of a
/// limit's excess.
const WORTH_WATCHING: f64 = 0.02;

/// Blends and days, with the limits to be kept.
pub(super) struct Watch<'a> {
    ask: &'a ChooseJob,
    /// The job on each day: the worst first, then its own day where that counts.
    days: Vec<Job>,
    /// What is blended; its content is set for each watched blend.
    choice: FuelChoice,
    /// Watched blends of each day, by rising content.
    blends: Vec<Vec<PreparedFuel>>,
    pub(super) limits: Vec<Limit>,
    samples: &'a [Sample],
    /// Samples of the weakest blend, where a share of them must keep a limit.
    sampled: Option<Sampled>,
}

/// All readings of one ratio: by day, blend and speed.
pub(super) struct Readings(Vec<Vec<Vec<BlendReading>>>);

/// What one blend comes to over all speeds on the worst day.
#[derive(Clone, Copy, Debug)]
pub(super) struct BlendProfile {
    pub(super) ethanol_vol_frac: f64,
    pub(super) best_torque_margin: f64,
    pub(super) retard_deg: f64,
    pub(super) torque_lost_frac: f64,
}

/// Most of a quantity over some readings.
fn most(row: &[BlendReading], of: impl Fn(&BlendReading) -> f64) -> f64 {
    row.iter().map(of).fold(f64::NEG_INFINITY, f64::max)
}

impl Readings {
    /// State of a limit for each blend in the likely case, by rising content, over the days.
    fn by_content(&self, limit: &Limit) -> Vec<LimitState> {
        let blends = self.0.first().map_or(0, Vec::len);
        (0..blends).filter_map(|i| limit.worst(self.0.iter().flat_map(|day| day[i].iter()))).collect()
    }

    /// Each blend on the worst day, by rising content.
    pub(super) fn profiles(&self) -> Vec<BlendProfile> {
        let profile = |row: &Vec<BlendReading>| BlendProfile {
            ethanol_vol_frac: row.first().map_or(0.0, |r| r.ethanol_vol_frac),
            best_torque_margin: -most(row, |r| -r.best_torque_margin),
            retard_deg: most(row, |r| r.retard_deg),
            torque_lost_frac: most(row, |r| r.torque_lost_frac),
        };
        self.0.first().map(|day| day.iter().map(profile).collect()).unwrap_or_default()
    }

    /// Index of the blend with the least octane margin on the worst day.
    pub(super) fn weakest(&self) -> usize {
        let profiles = self.profiles();
        let margin = |i: &usize| profiles[*i].best_torque_margin;
        (0..profiles.len()).min_by(|a, b| margin(a).total_cmp(&margin(b))).unwrap_or(0)
    }
}

impl<'a> Watch<'a> {
    /// Watches the blend range of a choice.
    ///
    /// # Errors
    /// [`ChooseError`] when a blend of the range cannot be made.
    pub(super) fn of_range(ask: &'a ChooseJob, samples: &'a [Sample]) -> Result<Self, ChooseError> {
        let range = &ask.range;
        let (low, high) = (range.low_vol_frac, range.high_vol_frac);
        let last = if high > low { CONTENTS - 1 } else { 0 };
        let share = |i: usize| if last == 0 { 0.0 } else { i as f64 / last as f64 };
        let contents = (0..=last).map(|i| low + share(i) * (high - low)).collect();
        let choice = FuelChoice { fuel: range.base.clone(), lambda: range.lambda };
        Self::new(ask, choice, contents, samples)
    }

    /// Watches one fuel of the choice at the contents it may have.
    ///
    /// # Errors
    /// As [`Self::of_range`].
    pub(super) fn of_fuel(
        ask: &'a ChooseJob,
        choice: &FuelChoice,
        samples: &'a [Sample],
    ) -> Result<Self, ChooseError> {
        let content = choice.fuel.ethanol;
        let contents = if content.is_known() {
            vec![content.likely]
        } else {
            vec![content.low, content.likely, content.high]
        };
        Self::new(ask, choice.clone(), contents, samples)
    }

    fn new(
        ask: &'a ChooseJob,
        choice: FuelChoice,
        contents: Vec<f64>,
        samples: &'a [Sample],
    ) -> Result<Self, ChooseError> {
        let limits = Limit::asked(&ask.limits, &ask.job);
        let mut days = vec![ask.job.clone()];
        if let Some(worst) = ask.worst_weather {
            days[0].weather = worst;
            // Cylinder pressure is highest in dense air, which need not be the worst for knock.
            if ask.job.build.limits.peak_pressure_pa.is_some() {
                days.push(ask.job.clone());
            }
        }
        let mut watch = Self { ask, days, choice, blends: Vec::new(), limits, samples, sampled: None };
        watch.blends = (0..watch.days.len())
            .map(|day| contents.par_iter().map(|c| watch.prepared(day, *c)).collect::<Result<_, _>>())
            .collect::<Result<_, _>>()?;
        Ok(watch)
    }

    /// The blend of one content on one day.
    fn prepared(&self, day: usize, content: f64) -> Result<PreparedFuel, ChooseError> {
        let mut fuel = self.choice.fuel.clone();
        fuel.name = format!("{} at {:.0} % ethanol", fuel.name, 100.0 * content);
        fuel.ethanol = ContentRange::known(content);
        let lambda = self.choice.lambda.map_or_else(|| best_power_lambda(content), |lambda| lambda.get());
        Ok(PreparedFuel::new(&self.days[day], &fuel, Some(lambda))?)
    }

    /// Readings of every watched blend, day and speed at a ratio. Where the probability of knock is limited, the
    /// weakest blend is sampled, or every blend when `all_sampled`.
    ///
    /// # Errors
    /// [`ChooseError`] when a point lies outside the model.
    pub(super) fn readings(&self, ratio: f64, all_sampled: bool) -> Result<Readings, ChooseError> {
        let mut readings = Readings(Vec::with_capacity(self.days.len()));
        for (job, blends) in self.days.iter().zip(&self.blends) {
            let job = job.at_ratio(ratio)?;
            readings.0.push(rows(&job, &blends.iter().collect::<Vec<_>>(), ratio)?);
        }
        if let Some(share) = self.ask.limits.knock_probability {
            let job = self.days[0].at_ratio(ratio)?;
            let weakest = readings.weakest();
            for (i, fuel) in self.blends[0].iter().enumerate().filter(|(i, _)| all_sampled || *i == weakest) {
                let bench = Bench { job: &job, fuel, samples: self.samples };
                readings.0[0][i] = sampled_row(&bench, share).map_err(ChooseError::at(ratio))?;
            }
        }
        Ok(readings)
    }

    /// Samples the weakest blend at some ratios, so that from then on the asked share of the samples must keep the
    /// limits of retard and torque; nothing when neither is asked.
    ///
    /// # Errors
    /// As [`Self::readings`].
    pub(super) fn sample_weakest(&mut self, ratios: Vec<f64>) -> Result<(), ChooseError> {
        let limits = &self.ask.limits;
        if limits.retard_deg.is_none() && limits.torque_lost_frac.is_none() {
            return Ok(());
        }
        let middle = 0.5 * (self.ask.lowest.get() + self.ask.highest.get());
        let weakest = self.readings(middle, false)?.weakest();
        self.sampled = Some(Sampled::new(self, weakest, ratios)?);
        Ok(())
    }

    /// Share of samples that keep the limits of retard and torque on the weakest blend [-]; none when neither is asked.
    ///
    /// # Errors
    /// As [`Self::readings`].
    pub(super) fn kept_share(&self, ratio: f64) -> Result<Option<f64>, ChooseError> {
        let share = |sampled: &Sampled| Ok(kept_share(&sampled.at(self, ratio)?, &self.ask.limits));
        self.sampled.as_ref().map(share).transpose()
    }

    /// State of every limit at a ratio whose readings are given.
    ///
    /// # Errors
    /// As [`Self::readings`].
    pub(super) fn states(&self, ratio: f64, readings: &Readings) -> Result<Vec<LimitState>, ChooseError> {
        let likely = readings.0.iter().flatten().flatten();
        let states = self.limits.iter().filter_map(|limit| limit.worst(likely.clone()));
        let Some(sampled) = &self.sampled else { return Ok(states.collect()) };
        let samples = sampled.at(self, ratio)?;
        Ok(states.map(|state| self.over_samples(state, &samples)).collect())
    }

    /// State of a limit for each blend at a ratio, by rising content, over the days; sampled where the limit is.
    ///
    /// # Errors
    /// As [`Self::readings`].
    pub(super) fn states_by_content(
        &self,
        limit: &Limit,
        ratio: f64,
        readings: &Readings,
    ) -> Result<Vec<LimitState>, ChooseError> {
        let states = readings.by_content(limit);
        if self.sampled.is_none() || !matches!(limit.kind, LimitKind::Retard | LimitKind::TorqueLoss) {
            return Ok(states);
        }
        let sampled = states.into_iter().enumerate();
        sampled.map(|(i, state)| Ok(self.over_samples(state, &self.sampled_blend(ratio, i)?))).collect()
    }

    /// A state with what the asked share of some samples stays below, where that is worse than the likely case.
    fn over_samples(&self, state: LimitState, samples: &[Worst]) -> LimitState {
        match quantile(samples, state.kind, self.ask.limits.confidence) {
            Some(found) if found > state.found => state.with_found(found),
            _ => state,
        }
    }

    /// Spark held back and torque lost of each sample, the most over speed, on one blend of the worst day.
    ///
    /// # Errors
    /// As [`Self::readings`].
    pub(super) fn sampled_blend(&self, ratio: f64, blend: usize) -> Result<Vec<Worst>, ChooseError> {
        let job = self.days[0].at_ratio(ratio)?;
        let bench = Bench { job: &job, fuel: &self.blends[0][blend], samples: self.samples };
        worst_over_speed(&bench).map_err(ChooseError::at(ratio))
    }

    /// The samples in use.
    pub(super) fn samples(&self) -> &'a [Sample] {
        self.samples
    }

    /// Searches, for every limit, for a content between the watched ones that is worse than they are at a ratio, and
    /// watches it from then on.
    ///
    /// # Returns
    /// Whether such a content was found.
    ///
    /// # Errors
    /// As [`Self::readings`].
    pub(super) fn find_worst(&mut self, ratio: f64) -> Result<bool, ChooseError> {
        let readings = self.readings(ratio, false)?;
        let mut found = Vec::new();
        for limit in &self.limits {
            let states = readings.by_content(limit);
            let excess = |content: f64| self.excess_at(limit, ratio, content);
            found.extend(worse_between(&states, excess)?);
        }
        let is_new = !found.is_empty();
        for content in found {
            for day in 0..self.days.len() {
                let fuel = self.prepared(day, content)?;
                let at = self.blends[day].partition_point(|b| b.likely().blend.ethanol_vol_frac < content);
                self.blends[day].insert(at, fuel);
            }
        }
        Ok(is_new)
    }

    /// Excess of a limit on one content, the most over days and speeds.
    fn excess_at(&self, limit: &Limit, ratio: f64, content: f64) -> Result<f64, ChooseError> {
        let mut most = f64::NEG_INFINITY;
        for (day, job) in self.days.iter().enumerate() {
            let job = job.at_ratio(ratio)?;
            let rows = rows(&job, &[&self.prepared(day, content)?], ratio)?;
            most = rows.iter().flatten().map(|r| limit.excess(r)).fold(most, f64::max);
        }
        Ok(most)
    }
}

/// Blends at every speed, one row per blend.
fn rows(job: &Job, blends: &[&PreparedFuel], ratio: f64) -> Result<Vec<Vec<BlendReading>>, ChooseError> {
    let speeds = &job.speeds_rpm;
    let pairs: Vec<(&PreparedFuel, f64)> =
        blends.iter().flat_map(|fuel| speeds.iter().map(move |speed| (*fuel, *speed))).collect();
    let found: Vec<_> = pairs.par_iter().map(|(fuel, speed)| reading(job, fuel, *speed)).collect();
    let readings = found.into_iter().collect::<Result<Vec<_>, _>>().map_err(ChooseError::at(ratio))?;
    Ok(readings.chunks(speeds.len()).map(<[BlendReading]>::to_vec).collect())
}

/// A content whose excess is greater than that of every watched one, between the neighbours of the worst of them.
fn worse_between(
    states: &[LimitState],
    excess: impl Fn(f64) -> Result<f64, ChooseError>,
) -> Result<Option<f64>, ChooseError> {
    let worst = |a: &usize, b: &usize| states[*a].excess.total_cmp(&states[*b].excess);
    let Some(top) = (0..states.len()).max_by(worst) else { return Ok(None) };
    if top == 0 || top + 1 >= states.len() {
        return Ok(None);
    }
    let between = (states[top - 1].ethanol_vol_frac, states[top + 1].ethanol_vol_frac);
    let kept = |content: f64| excess(content).map(|e| -e).map_err(argmin::core::Error::new);
    let content =
        minimum(kept, between, CONTENT_TOLERANCE, CONTENT_TOLERANCE).map_err(ChooseError::from_search)?;
    Ok((excess(content)? > states[top].excess + WORTH_WATCHING).then_some(content))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::choose::limit::LimitKind;

    fn state(content: f64, excess: f64) -> LimitState {
        LimitState {
            kind: LimitKind::Retard,
            allowed: 0.0,
            found: 0.0,
            ethanol_vol_frac: content,
            speed_rpm: 3000.0,
            excess,
        }
    }

    // HAND: 3 - 40 (c - 0.37)^2 is greatest at 0.37.
    #[test]
    fn the_worst_content_between_the_watched_ones_is_found() {
        let excess = |c: f64| 3.0 - 40.0 * (c - 0.37).powi(2);
        let states: Vec<_> = [0.0, 0.2, 0.4, 0.6, 0.8].map(|c| state(c, excess(c))).to_vec();
        let found = worse_between(&states, |c| Ok(excess(c))).unwrap().unwrap();
        assert!((found - 0.37).abs() < 0.01, "{found}");
    }

    #[test]
    fn a_worst_content_at_an_end_needs_no_search() {
        let states: Vec<_> = [0.0, 0.4, 0.8].map(|c| state(c, -c)).to_vec();
        let never = |_| -> Result<f64, ChooseError> { panic!("searched") };
        assert!(worse_between(&states, never).unwrap().is_none());
        assert!(worse_between(&states[..1], never).unwrap().is_none());
    }
}
