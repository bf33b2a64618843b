//! Ways to a goal as a shop proposes them: parts alone, parts together, and the cheapest that reach it.

use super::costs::Costs;
use super::outcome::Outcome;
use super::parts::{GAIN_RANGE, Lever, Part, PartSet};
use super::result::{BuildReading, Idle, Way};
use super::trials::PartTrials;
use super::verdict::BuildDepth;
use crate::engine::Figure;
use crate::engine::practice::{FuelGrade, PracticeClass};
use crate::estimate::sweep::in_order;
use crate::estimate::{Band, EstimateError};
use crate::units::CompressionRatio;

/// Steps of compression ratio, up to [`HIGHEST_RATIO`].
const RATIO_STEPS: [f64; 5] = [0.5, 1.0, 1.5, 2.0, 3.0];
/// Power within which a lower ratio makes no measurable difference, relative [-].
const MEASURABLE: f64 = 0.003;
/// Factors on rpm of a race build, up to the piston speed that its parts are for, and the least worth the work.
const RPM_FACTORS: [f64; 2] = [1.10, 1.20];
const LEAST_RPM_FACTOR: f64 = 1.03;
/// Most rpm over as built, the shift of the other parts in it [-]: valve gear and block were made for less (judgement).
const LARGEST_SHIFT: f64 = 1.30;
/// Mean piston speed at the highest rpm up to which an engine made for the street is built with a race top end [m/s]: within race
/// engines, whose crank, block and rods are made for more (judgement).
const STREET_BLOCK_M_PER_S: f64 = 25.0;
/// How many sets are run at once while one that reaches the goal is sought.
const AT_ONCE: usize = 2;

/// Every way on one fuel.
pub(super) struct Ways<'a> {
    trials: &'a PartTrials<'a>,
    costs: &'a Costs,
    wheel_power_kw: f64,
    fuel: usize,
}

/// What is found on one fuel.
#[derive(Debug, Default)]
pub(super) struct Found {
    /// The cheapest parts that reach the goal in the likely case.
    pub(super) way: Option<Way>,
    /// The most that parts make.
    pub(super) most: Option<Way>,
}

impl<'a> Ways<'a> {
    pub(super) fn new(
        trials: &'a PartTrials<'a>,
        costs: &'a Costs,
        wheel_power_kw: f64,
        fuel: usize,
    ) -> Self {
        Self { trials, costs, wheel_power_kw, fuel }
    }

    /// Whether there is anything to fit to the top end short of a race one.
    fn has_top_end(&self) -> bool {
        self.trials.top_end.next_step.is_some()
    }

    fn none(&self) -> PartSet {
        PartSet::none(self.fuel)
    }

    /// All of the top-end work.
    fn top_end(&self) -> PartSet {
        let is = self.has_top_end();
        PartSet { cam: is, head: is, intake_exhaust: is, ..self.none() }
    }

    /// Steps of ratio to no more than builders run in this class of engine on this fuel.
    fn ratio_steps(&self) -> impl Iterator<Item = f64> {
        let job = self.trials.job;
        let now = job.build.geometry.compression_ratio.get();
        let grade = FuelGrade::of(&self.trials.fuels[self.fuel].blend);
        let highest = PracticeClass::of(&job.build).band(grade).high;
        RATIO_STEPS
            .into_iter()
            .filter(move |step| now + step <= highest + 1e-9 && CompressionRatio::new(now + step).is_ok())
    }

    /// The step of ratio that a set makes most of, the least of those that make no measurable difference, within the stated limits
    /// where one is; none where a higher ratio wins nothing, because knock pulls timing.
    fn best_ratio(&self, set: &PartSet) -> Result<Option<PartSet>, EstimateError> {
        let without = self.trials.run(set)?;
        let sets: Vec<PartSet> =
            self.ratio_steps().map(|ratio_step| PartSet { ratio_step, ..*set }).collect();
        let readings = in_order(&sets, |set| self.trials.run(set))?;
        let is_within = |reading: &BuildReading| self.trials.limits_passed(reading, self.fuel).is_empty();
        let any_within = readings.iter().any(is_within);
        let usable: Vec<(&PartSet, &BuildReading)> = sets
            .iter()
            .zip(&readings)
            .filter(|(_, reading)| self.has_timing(reading) && (!any_within || is_within(reading)))
            .collect();
        let most = usable.iter().map(|(_, reading)| reading.wheel_power_kw).fold(0.0, f64::max);
        let least = usable.iter().find(|(_, r)| r.wheel_power_kw >= (1.0 - MEASURABLE) * most);
        let gains =
            |reading: &BuildReading| reading.wheel_power_kw > (1.0 + MEASURABLE) * without.wheel_power_kw;
        Ok(least.filter(|(_, reading)| gains(reading)).map(|(set, _)| **set))
    }

    /// Whether a reading has a safe timing wherever the engine as built has one.
    fn has_timing(&self, reading: &BuildReading) -> bool {
        reading.wheel_power_kw > 0.0
            && (reading.has_safe_spark || !self.trials.as_built[self.fuel].has_safe_spark)
    }

    /// Factors on rpm for a set, rising: up to the end of sport engines in piston speed; with a race top end to that of race engines,
    /// for a block made for the street not quite.
    fn rpm_factors(&self, set: &PartSet) -> Vec<f64> {
        let job = self.trials.job;
        let [_, sport, race] = Figure::MeanPistonSpeed.bands(job.build.valves.has_several_inlets());
        let top_end = &self.trials.top_end;
        let end = match set.race_top_end {
            false if top_end.race_step.is_some() => sport.high,
            true if top_end.is_for_street => STREET_BLOCK_M_PER_S,
            _ => race.high,
        };
        let top = job.build.geometry.mean_piston_speed_m_per_s(self.trials.top_rpm(set));
        // To a whole per cent, inside the end.
        let end = (100.0 * (end / top).min(LARGEST_SHIFT / set.shift())).floor() / 100.0;
        if end < LEAST_RPM_FACTOR {
            return Vec::new();
        }
        RPM_FACTORS.into_iter().filter(|factor| *factor < end - 0.02).chain([end]).collect()
    }

    /// Every set of parts on this fuel, ratio at its best with the whole top end.
    fn sets(&self) -> Result<Vec<PartSet>, EstimateError> {
        let ratio_step = self.best_ratio(&self.top_end())?.map_or(0.0, |set| set.ratio_step);
        let ratios: &[f64] = if ratio_step > 0.0 { &[0.0, ratio_step] } else { &[0.0] };
        let mut sets = Vec::new();
        for ratio_step in ratios {
            let base = PartSet { ratio_step: *ratio_step, ..self.none() };
            if self.has_top_end() {
                let with = |bits: u8| PartSet {
                    cam: bits & 1 > 0,
                    head: bits & 2 > 0,
                    intake_exhaust: bits & 4 > 0,
                    ..base
                };
                sets.extend((0..8).map(with));
            } else {
                sets.push(base);
            }
            // More rpm is for an engine that fills there.
            let mut races = vec![PartSet { ratio_step: *ratio_step, ..self.top_end() }];
            if self.trials.top_end.race_step.is_some() {
                races.push(PartSet { race_top_end: true, ..base });
                sets.push(PartSet { race_top_end: true, ..base });
            }
            for race in races {
                sets.extend(
                    self.rpm_factors(&race).into_iter().map(|rpm_factor| PartSet { rpm_factor, ..race }),
                );
            }
        }
        sets.retain(|set| *set != self.none());
        sets.sort_by(|a, b| self.cost(a).total_cmp(&self.cost(b)));
        Ok(sets)
    }

    /// Cost of the parts of a set, the fuel apart.
    fn cost(&self, set: &PartSet) -> f64 {
        set.levers(self.fuel).into_iter().map(|lever| self.costs.of(lever)).sum()
    }

    /// The cheapest set that reaches the goal in the likely case, within the stated limits where one is; else the most.
    ///
    /// # Errors
    /// As [`PartTrials::run`].
    pub(super) fn search(&self) -> Result<Found, EstimateError> {
        let sets = self.sets()?;
        let is_race = |set: &&PartSet| BuildDepth::of(&set.levers(self.fuel)) == BuildDepth::Race;
        // The deepest builds first: where they fall short, nothing cheaper reaches it.
        let deep: Vec<PartSet> = match sets.iter().any(|set| is_race(&set)) {
            true => sets.iter().filter(is_race).copied().collect(),
            false => sets.clone(),
        };
        let most = match self.most_of(&deep)? {
            None => self.most_of(&sets)?,
            found => found,
        };
        let Some((most, reading)) = most else { return Ok(Found::default()) };
        let is_short = reading.wheel_power_kw < self.wheel_power_kw;
        let most = Some(self.way(&most, reading));
        if is_short {
            return Ok(Found { way: None, most });
        }
        let mut beyond = None;
        for some in sets.chunks(AT_ONCE) {
            for (set, reading) in some.iter().zip(in_order(some, |set| self.trials.run(set))?) {
                if reading.wheel_power_kw < self.wheel_power_kw || !self.has_timing(&reading) {
                    continue;
                }
                let way = self.way(set, reading);
                if way.limits_passed.is_empty() {
                    return Ok(Found { way: Some(way), most });
                }
                beyond = beyond.or(Some(way));
            }
        }
        Ok(Found { way: beyond, most })
    }

    /// The set of some that makes the most with a safe timing.
    fn most_of(&self, sets: &[PartSet]) -> Result<Option<(PartSet, BuildReading)>, EstimateError> {
        let read = in_order(sets, |set| Ok::<_, EstimateError>((*set, self.trials.run(set)?)))?;
        let usable = read.into_iter().filter(|(_, reading)| self.has_timing(reading));
        Ok(usable.max_by(|(_, a), (_, b)| a.wheel_power_kw.total_cmp(&b.wheel_power_kw)))
    }

    /// What each part is worth alone, then top-end work, full build and the least race build: in the order of a shop.
    ///
    /// # Errors
    /// As [`PartTrials::run`].
    pub(super) fn table(&self) -> Result<Vec<Way>, EstimateError> {
        let none = self.none();
        let mut sets = Vec::new();
        if self.has_top_end() {
            sets.push(PartSet { cam: true, ..none });
            sets.push(PartSet { head: true, ..none });
            sets.push(PartSet { intake_exhaust: true, ..none });
        }
        let ratio = self.best_ratio(&none)?;
        sets.extend(ratio);
        sets.extend((0..self.trials.fuels.len()).filter(|f| *f != self.fuel).map(PartSet::none));
        let top_end = self.top_end();
        if self.has_top_end() {
            sets.push(top_end);
            sets.extend(self.best_ratio(&top_end)?);
        }
        let rpm = self.rpm_factors(&top_end).first().copied();
        sets.extend(rpm.map(|rpm_factor| PartSet { rpm_factor, ..top_end }));
        let readings = in_order(&sets, |set| self.trials.run(set))?;
        Ok(sets.iter().zip(readings).map(|(set, reading)| self.way(set, reading)).collect())
    }

    /// What is said of a set.
    fn way(&self, set: &PartSet, reading: BuildReading) -> Way {
        let judged = self.fuel;
        let built = &self.trials.as_built[judged];
        let levers = set.levers(judged);
        let gain = reading.wheel_power_kw - built.wheel_power_kw;
        let ends = GAIN_RANGE.map(|share| share * gain);
        let samples = &self.trials.estimate.fuels[judged].sample_peak_wheel_kw;
        let Outcome { wheel_power_kw, chance_frac } =
            Outcome::new(samples, gain / built.wheel_power_kw, self.wheel_power_kw);
        let low_torque = reading.low_rpm_torque_nm / built.low_rpm_torque_nm - 1.0;
        Way {
            parts: levers.iter().map(|lever| self.part(*lever, set)).collect(),
            depth: BuildDepth::of(&levers),
            cost: levers.iter().map(|lever| self.costs.of(*lever)).sum(),
            wheel_power_gain_kw: Band { low: ends[0].min(ends[1]), likely: gain, high: ends[0].max(ends[1]) },
            wheel_power_kw: Band { likely: reading.wheel_power_kw, ..wheel_power_kw },
            chance_frac,
            octane_margin_change: reading.best_torque_octane_margin - built.best_torque_octane_margin,
            low_rpm_torque_change_frac: if low_torque.is_finite() { low_torque } else { 0.0 },
            rod_load_rise_frac: (reading.top_rpm / built.top_rpm).powi(2) - 1.0,
            idle: Idle::of(&levers),
            limits_passed: self.trials.limits_passed(&reading, judged),
            levers,
            reading,
        }
    }

    fn part(&self, lever: Lever, set: &PartSet) -> Part {
        match lever {
            Lever::Cam => Part::Cam,
            Lever::Head => Part::Head,
            Lever::IntakeExhaust => Part::IntakeExhaust,
            Lever::RaceTopEnd => Part::RaceTopEnd,
            Lever::Ratio => {
                let now = self.trials.job.build.geometry.compression_ratio.get();
                Part::Ratio { ratio: now + set.ratio_step, step: set.ratio_step }
            }
            Lever::Fuel => Part::Fuel { name: self.trials.job.fuels[set.fuel].fuel.name.clone() },
            Lever::Rpm => {
                Part::Rpm { to_rpm: self.trials.top_rpm(set), needs_cam: !set.cam && !set.race_top_end }
            }
        }
    }
}
