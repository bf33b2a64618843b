//! The blends that the engine has to run on, watched at any ratio.

use super::job::{ChooseError, ChooseJob};
use super::limit::{BlendReading, Limit, LimitState};
use super::reading::{SampledBlend, sampled_row, start_margin};
use super::slopes::{LikelyPoint, SlopedFuel, read_rows, run_row};
use crate::estimate::EstimateError;
use crate::estimate::analysis::PreparedFuel;
use crate::estimate::job::{FuelChoice, Job};
use crate::estimate::search::minimum;
use crate::estimate::sweep::in_order;
use crate::estimate::uncertainty::Sample;
use crate::fuel::pump::{ContentRange, best_power_lambda};

/// Ethanol contents at which a range is watched before its worst is searched.
const CONTENTS: usize = 7;
/// How closely the worst content is searched [-].
const CONTENT_TOLERANCE: f64 = 0.005;
/// Contents as near as this are one [-].
const SAME_CONTENT: f64 = 1e-6;
/// A content between the watched ones is worth watching when it is worse by this much, on the scale of a
/// limit's excess.
const WORTH_WATCHING: f64 = 0.02;

/// Blends and days, with the limits to be kept.
pub(super) struct Watch<'a> {
    ask: &'a ChooseJob,
    /// The job on each day: under the service conditions first, then its own day where that counts.
    days: Vec<Job>,
    /// What is blended; its content is set for each watched blend.
    choice: FuelChoice,
    /// Watched blends of each day, by rising content.
    blends: Vec<Vec<SlopedFuel>>,
    pub(super) limits: Vec<Limit>,
    samples: &'a [Sample],
    /// Speed of peak torque [rpm], from which an ignition without knock control is sampled.
    torque_rpm: f64,
}

/// The samples in use, and the speed of peak torque [rpm].
pub(super) type Judged<'a> = (&'a [Sample], f64);

/// All readings of one ratio: by day, blend and speed.
pub(super) struct Readings(Vec<Vec<Vec<BlendReading>>>);

/// Most of a quantity over some readings.
pub(super) fn most(row: &[BlendReading], of: impl Fn(&BlendReading) -> f64) -> f64 {
    row.iter().map(of).fold(f64::NEG_INFINITY, f64::max)
}

impl Readings {
    /// State of a limit for each blend, by rising content, over the days.
    pub(super) fn by_content(&self, limit: &Limit) -> Vec<LimitState> {
        let blends = self.0.first().map_or(0, Vec::len);
        (0..blends).filter_map(|i| limit.worst(self.0.iter().flat_map(|day| day[i].iter()))).collect()
    }

    /// Each blend at every speed under the service conditions, by rising content.
    pub(super) fn in_service(&self) -> &[Vec<BlendReading>] {
        self.0.first().map_or(&[], Vec::as_slice)
    }

    /// Index of the blend with the least octane margin under the service conditions.
    fn weakest(&self) -> usize {
        let least = |row: &[BlendReading]| -most(row, |r| -r.best_torque_margin);
        let rows = self.in_service().iter().map(|row| least(row)).enumerate();
        rows.min_by(|a, b| a.1.total_cmp(&b.1)).map_or(0, |(i, _)| i)
    }

    /// The weakest blend, and its reading of most retard below a speed [rpm] under the service conditions; none where no
    /// speed is lower.
    pub(super) fn weakest_below(&self, speed_rpm: f64) -> Option<&BlendReading> {
        let row = self.in_service().get(self.weakest())?;
        row.iter().filter(|r| r.speed_rpm < speed_rpm).max_by(|a, b| a.retard_deg.total_cmp(&b.retard_deg))
    }

    /// Ethanol content of the weakest blend by volume [-].
    pub(super) fn weakest_content(&self) -> f64 {
        self.in_service()[self.weakest()].first().map_or(0.0, |r| r.ethanol_vol_frac)
    }
}

impl<'a> Watch<'a> {
    /// Watches the blend range of a choice.
    ///
    /// # Errors
    /// [`ChooseError`] when a blend of the range cannot be made.
    pub(super) fn of_range(ask: &'a ChooseJob, judged: Judged<'a>) -> Result<Self, ChooseError> {
        let range = &ask.range;
        let (low, high) = (range.low_vol_frac, range.high_vol_frac);
        let last = if high > low { CONTENTS - 1 } else { 0 };
        let share = |i: usize| if last == 0 { 0.0 } else { i as f64 / last as f64 };
        let contents = (0..=last).map(|i| low + share(i) * (high - low)).collect();
        Self::new(ask, blended(ask), contents, judged)
    }

    /// Watches some contents of the blend range, rising, by the slopes that another watch has run for them.
    ///
    /// # Errors
    /// As [`Self::of_range`].
    pub(super) fn of_contents(
        ask: &'a ChooseJob,
        contents: Vec<f64>,
        judged: Judged<'a>,
        other: &Watch<'_>,
    ) -> Result<Self, ChooseError> {
        let mut watch = Self::new(ask, blended(ask), contents, judged)?;
        let with_slopes = |fuel: SlopedFuel| match &other.blends[0][other.nearest(fuel.content())] {
            known if (known.content() - fuel.content()).abs() < SAME_CONTENT => fuel.with_slopes_of(known),
            _ => fuel,
        };
        if let Some(day) = watch.blends.first_mut() {
            *day = std::mem::take(day).into_iter().map(with_slopes).collect();
        }
        Ok(watch)
    }

    /// Watches one fuel of the choice at the contents it may have.
    ///
    /// # Errors
    /// As [`Self::of_range`].
    pub(super) fn of_fuel(
        ask: &'a ChooseJob,
        choice: &FuelChoice,
        judged: Judged<'a>,
    ) -> Result<Self, ChooseError> {
        let content = choice.fuel.ethanol;
        let contents = if content.is_known() {
            vec![content.likely]
        } else {
            vec![content.low, content.likely, content.high]
        };
        Self::new(ask, choice.clone(), contents, judged)
    }

    fn new(
        ask: &'a ChooseJob,
        choice: FuelChoice,
        contents: Vec<f64>,
        (samples, torque_rpm): Judged<'a>,
    ) -> Result<Self, ChooseError> {
        let mut days = vec![ask.service.job(&ask.job)];
        // Cylinder pressure is highest in dense air, which need not be the worst for knock.
        if ask.job.build.limits.peak_pressure_pa.is_some() {
            days.push(ask.job.clone());
        }
        let limits = Limit::asked(ask, torque_rpm)?;
        let mut watch = Self { ask, days, choice, blends: Vec::new(), limits, samples, torque_rpm };
        watch.blends = (0..watch.days.len())
            .map(|day| in_order(&contents, |content| watch.prepared(day, *content)))
            .collect::<Result<_, _>>()?;
        Ok(watch)
    }

    /// The blend of one content on one day.
    fn prepared(&self, day: usize, content: f64) -> Result<SlopedFuel, ChooseError> {
        let mut fuel = self.choice.fuel.clone();
        fuel.name = format!("{} at {:.0} % ethanol", fuel.name, 100.0 * content);
        fuel.ethanol = ContentRange::known(content);
        let lambda = self.choice.lambda.map_or_else(|| best_power_lambda(content), |lambda| lambda.get());
        let prepared = PreparedFuel::new(&self.days[day], &fuel, Some(lambda))?;
        Ok(SlopedFuel::new(prepared, (self.ask.lowest, self.ask.highest)))
    }

    /// Readings of every watched blend, day and speed at a ratio. Without knock control those of the weakest blend, or of every
    /// blend when `all_sampled`, are at its timing to start from.
    ///
    /// # Errors
    /// [`ChooseError`] when a point lies outside the model.
    pub(super) fn readings(&self, ratio: f64, all_sampled: bool) -> Result<Readings, ChooseError> {
        let mut readings = Readings(Vec::with_capacity(self.days.len()));
        for (job, blends) in self.days.iter().zip(&self.blends) {
            let job = job.at_ratio(ratio)?;
            let rows = read_rows(&job, blends).map_err(ChooseError::at(ratio))?;
            readings.0.push(rows.iter().map(|row| of_row(&job, row)).collect());
            if readings.0.len() == 1 && !self.ask.ignition.has_knock_control() {
                self.sample(&mut readings, &job, &rows, all_sampled).map_err(ChooseError::at(ratio))?;
            }
        }
        Ok(readings)
    }

    /// Puts readings at the timing to start from in place of those of the likely case, from peak torque on, of the weakest blend of
    /// the first day or of all of them.
    fn sample(
        &self,
        readings: &mut Readings,
        job: &Job,
        rows: &[Vec<LikelyPoint<'_>>],
        all_sampled: bool,
    ) -> Result<(), EstimateError> {
        let judged = job.speeds_rpm.partition_point(|speed| *speed < self.torque_rpm);
        let weakest = readings.weakest();
        for (i, row) in rows.iter().enumerate().filter(|(i, _)| all_sampled || *i == weakest) {
            let blend = SampledBlend { job, sloped: &self.blends[0][i], samples: self.samples };
            let row = sampled_row(&blend, &row[judged..], self.ask.limits.knock_probability)?;
            readings.0[0][i].splice(judged.., row);
        }
        Ok(())
    }

    /// Octane margin at MBT timing that the watched blend nearest to a content by volume [-] keeps at one speed [rpm] in all but the
    /// share of samples that may knock [-].
    ///
    /// # Errors
    /// As [`Self::readings`].
    pub(super) fn start_margin(&self, content: f64, ratio: f64, speed_rpm: f64) -> Result<f64, ChooseError> {
        let job = self.days[0].at_ratio(ratio)?;
        let sloped = &self.blends[0][self.nearest(content)];
        let blend = SampledBlend { job: &job, sloped, samples: self.samples };
        start_margin(&blend, speed_rpm, self.ask.limits.knock_probability).map_err(ChooseError::at(ratio))
    }

    /// Index of the watched blend nearest to a content by volume [-].
    fn nearest(&self, content: f64) -> usize {
        let off = |i: &usize| (self.blends[0][*i].content() - content).abs();
        (0..self.blends[0].len()).min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(0)
    }

    /// State of every limit in some readings.
    pub(super) fn states(&self, readings: &Readings) -> Vec<LimitState> {
        let all = readings.0.iter().flatten().flatten();
        self.limits.iter().filter_map(|limit| limit.worst(all.clone())).collect()
    }

    /// What it is judged by.
    pub(super) fn judged(&self) -> Judged<'a> {
        (self.samples, self.torque_rpm)
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
                let at = self.blends[day].partition_point(|b| b.content() < content);
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
            let fuel = self.prepared(day, content)?;
            let row = of_row(&job, &run_row(&job, &fuel).map_err(ChooseError::at(ratio))?);
            most = limit.worst(row.iter()).map_or(most, |state| most.max(state.excess));
        }
        Ok(most)
    }
}

/// What is blended of a choice.
fn blended(ask: &ChooseJob) -> FuelChoice {
    FuelChoice { fuel: ask.range.base.clone(), lambda: ask.range.lambda }
}

/// Readings of a fuel in the likely case.
fn of_row(job: &Job, row: &[LikelyPoint<'_>]) -> Vec<BlendReading> {
    row.iter().map(|at| BlendReading::of(job, at)).collect()
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
