//! Making a choice: the parts in order.

use super::curve::{MOST_ADDED, PowerCurve, Timed};
use super::explain::out_of_limits;
use super::feasible::{Checked, Ends, feasible};
use super::ignition::Ignition;
use super::job::{ChooseError, ChooseJob, LateLimits, Objective};
use super::limit::{BlendReading, Limit, most_excess};
use super::notices::notices;
use super::piston;
use super::progress::Progress;
use super::regret::regret;
use super::result::{
    AskedLimit, Choice, FittedIgnition, FuelAtRatio, HalfStep, IgnitionWorth, LowSpeed, MarginMap, Maximised,
    Order, Piston, RatioRow, StoodRange, Variant, VariantKind, WeighedFuel,
};
use super::solve::{Solution, View};
use super::variants::Variants;
use super::watch::{Watch, most};
use crate::estimate::band::band;
use crate::estimate::octane_per_ratio;
use crate::estimate::sweep::in_order;
use crate::estimate::tuned::{Tuned, peak_torque_speed_rpm};
use crate::estimate::uncertainty::Sample;
use crate::estimate::{Band, Job};

/// Step of the ratios that are shown.
const SHOWN_STEP: f64 = 0.5;
/// Step at which the limits are tried where nothing is shown.
const TRIED_STEP: f64 = 1.0;
/// What half a step is worth is told for this step [ratio].
const HALF: f64 = 0.5;
/// A ratio this near to a computed node needs none of its own [ratio].
const NEAR: f64 = 0.1;
/// Ratios as near as this are one [ratio].
const SAME_RATIO: f64 = 1e-6;

/// Share of the whole work at which the limits are searched.
const LIMITS: (f64, f64) = (0.45, 0.65);
/// Share of the whole work after the choices for one fuel.
const EACH_FUEL: f64 = 0.75;

/// Chooses the compression ratio; see [`ratio_to_order`] for an example of what is asked.
///
/// # Arguments
/// - `ask`: the build, the fuels and their weights, the blends and service conditions it has to run in, the limits
/// - `tell`: told the share of the work that is done, from any thread
///
/// # Errors
/// [`ChooseError`] when the question does not hold together or a point lies outside the model.
pub fn choose(ask: &ChooseJob, tell: &(dyn Fn(f64) + Sync)) -> Result<Choice, ChooseError> {
    let samples = ask.job.draw();
    let shares = ask.shares()?;
    let progress = Progress::new(tell);
    let Searched { watch, curve, checked, ranges, solution } =
        search(ask, &samples, &shares, SHOWN_STEP, &progress)?;
    let view = view(ask, &curve, &shares);
    Maker { ask, view, watch: &watch, solution, progress }.choice(checked, &ranges)
}

/// The ratio that [`choose`] orders, without all that it says beside it; none when no ratio is within the limits.
///
/// # Errors
/// As [`choose`].
///
/// # Example
/// ```
/// use endgas::{choose::ratio_to_order, fuel::FuelLibrary, scenario};
/// let library = FuelLibrary::shipped()?;
/// let demo = scenario::read("demo", scenario::DEMO)?;
/// let mut job = demo.job(&library, 20, 1)?;
/// job.fuels.truncate(1);
/// job.speeds_rpm = vec![5500.0, 7500.0];
/// let ratio = ratio_to_order(&demo.choose_job(job, &library)?)?.expect("some ratio is within the limits");
/// assert!((9.0..13.0).contains(&ratio));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn ratio_to_order(ask: &ChooseJob) -> Result<Option<f64>, ChooseError> {
    let (samples, shares) = (ask.job.draw(), ask.shares()?);
    let found = search(ask, &samples, &shares, TRIED_STEP, &Progress::new(&|_| {}))?.solution;
    Ok(found.map(|solution| solution.ratio))
}

/// The power, the limits, and the ratio to order.
struct Searched<'a> {
    watch: Watch<'a>,
    curve: PowerCurve<'a>,
    checked: Vec<Checked>,
    ranges: Vec<Ends>,
    solution: Option<Solution>,
}

fn search<'a>(
    ask: &'a ChooseJob,
    samples: &'a [Sample],
    shares: &[f64],
    step: f64,
    progress: &Progress<'a>,
) -> Result<Searched<'a>, ChooseError> {
    ask.check()?;
    let torque_rpm = peak_torque_rpm(&ask.job)?;
    let mut watch = Watch::of_range(ask, (samples, torque_rpm))?;
    let mut curve = PowerCurve::new(ask, samples, progress)?;
    let (lowest, highest) = (ask.lowest.get(), ask.highest.get());
    watch.find_worst(0.5 * (lowest + highest))?;
    let (mut checked, mut ranges) = check(ask, &watch, step, progress)?;
    let mut solution = view(ask, &curve, shares).solve(&ranges)?;
    if let Some(found) = &solution
        && watch.find_worst(found.most_power)?
    {
        (checked, ranges) = check(ask, &watch, step, progress)?;
        solution = view(ask, &curve, shares).solve(&ranges)?;
    }
    for _ in 0..MOST_ADDED {
        let ratios = solution.iter().flat_map(|found| [found.most_power, found.same.0]);
        let Some(ratio) = ratios.into_iter().find(|ratio| !curve.is_near_node(*ratio, NEAR)) else { break };
        curve.add(ratio)?;
        solution = view(ask, &curve, shares).solve(&ranges)?;
    }
    Ok(Searched { watch, curve, checked, ranges, solution })
}

fn view<'a>(ask: &ChooseJob, curve: &'a PowerCurve<'a>, shares: &'a [f64]) -> View<'a> {
    View { curve, shares, timed: Timed::on_the_day(ask.ignition), measurable_frac: ask.measurable_frac }
}

/// Speed of the run at which the engine makes most torque at MBT timing on its first fuel [rpm].
fn peak_torque_rpm(job: &Job) -> Result<f64, ChooseError> {
    let fuel = job.fuels[0].in_use(&job.weather)?;
    let points = Tuned::over_speeds(job, job.setting(), (&job.fuels[0].fuel.name, &fuel))?;
    Ok(peak_torque_speed_rpm(&points).unwrap_or(0.0))
}

/// The limits at every step of ratio, and the ranges that keep them.
fn check(
    ask: &ChooseJob,
    watch: &Watch<'_>,
    step: f64,
    progress: &Progress<'_>,
) -> Result<(Vec<Checked>, Vec<Ends>), ChooseError> {
    let ratios = stepped_ratios(ask.lowest.get(), ask.highest.get(), step);
    let part = progress.part(LIMITS, ratios.len());
    let at = |ratio: f64| {
        let checked = Checked::new(watch, ratio);
        part.step();
        checked
    };
    let checked = in_order(&ratios, |ratio| at(*ratio))?;
    let ranges = feasible(watch, &checked)?;
    Ok((checked, ranges))
}

/// Multiples of a step within the range, and its ends.
fn stepped_ratios(lowest: f64, highest: f64, step: f64) -> Vec<f64> {
    let mut ratios = vec![lowest];
    let mut next = (lowest / step).floor() * step + step;
    while next < highest - 1e-9 {
        ratios.push(next);
        next += step;
    }
    ratios.push(highest);
    ratios
}

/// What is maximised, with the speeds of the run that count.
fn maximised(ask: &ChooseJob) -> Maximised {
    if ask.objective == Objective::PeakPower {
        return Maximised::PeakWheelPower;
    }
    let counted = || ask.job.speeds_rpm.iter().copied().filter(|speed| ask.objective.counts(*speed));
    Maximised::MeanWheelPower {
        from_rpm: counted().fold(f64::INFINITY, f64::min),
        to_rpm: counted().fold(f64::NEG_INFINITY, f64::max),
    }
}

/// Change of each sample against another, as a share.
fn change(there: &[f64], here: &[f64]) -> Band {
    band(there.iter().zip(here).map(|(there, here)| there / here - 1.0))
}

/// Everything found, ready to be put together.
struct Maker<'a> {
    ask: &'a ChooseJob,
    view: View<'a>,
    watch: &'a Watch<'a>,
    solution: Option<Solution>,
    progress: Progress<'a>,
}

impl Maker<'_> {
    fn choice(&self, mut checked: Vec<Checked>, ranges: &[Ends]) -> Result<Choice, ChooseError> {
        let ask = self.ask;
        let span = (ask.lowest.get(), ask.highest.get());
        let margin_map = margin_map(&checked);
        let order = match &self.solution {
            Some(solution) => Some(self.order(solution, &mut checked)?),
            None => None,
        };
        let part = self.progress.part((LIMITS.1, EACH_FUEL), ask.job.fuels.len());
        let regret = regret(ask, self.view, self.watch, self.solution.as_ref(), &part)?;
        let out_of_limits = out_of_limits(self.watch, ranges, span)?;
        let variants = self.variants(&checked)?;
        let mut choice = Choice {
            scenario: ask.job.scenario.clone(),
            note: ask.job.note.clone(),
            scenario_compression_ratio: ask.job.build.geometry.compression_ratio.get(),
            maximised: maximised(ask),
            fuels: self.weighed_fuels(),
            stood: self.stood(),
            ignition: FittedIgnition { ignition: ask.ignition, stated: ask.ignition_stated },
            lowest_ratio: span.0,
            highest_ratio: span.1,
            order,
            ignitions: self.ignitions(&variants),
            variants,
            curve: checked.iter().map(|c| self.row(c)).collect(),
            half_steps: self.half_steps(),
            pistons: self.pistons(&checked)?,
            regret,
            out_of_limits,
            margin_map,
            samples: ask.job.samples,
            seed: ask.job.seed,
            notices: Vec::new(),
        };
        choice.notices = notices(ask, &choice);
        Ok(choice)
    }

    fn weighed_fuels(&self) -> Vec<WeighedFuel> {
        let fuels = self.ask.job.fuels.iter().zip(&self.ask.weights).zip(self.view.shares);
        fuels
            .map(|((choice, weighting), share)| WeighedFuel {
                name: choice.fuel.name.clone(),
                ethanol_vol_frac: choice.fuel.ethanol.likely,
                weight: weighting.weight,
                likelihood: weighting.likelihood,
                share_frac: *share,
            })
            .collect()
    }

    fn stood(&self) -> StoodRange {
        let ask = self.ask;
        let service = &ask.service;
        let asked = |limit: &Limit| AskedLimit { kind: limit.kind, allowed: limit.allowed };
        StoodRange {
            base: ask.range.base.name.clone(),
            lowest_ethanol_vol_frac: ask.range.low_vol_frac,
            highest_ethanol_vol_frac: ask.range.high_vol_frac,
            worst_weather_stated: service.weather_stated,
            air_temperature_k: service.weather.temperature_k,
            air_pressure_pa: service.weather.pressure_pa,
            relative_humidity: service.weather.relative_humidity,
            heat_soak_k: service.heat_soak_k,
            weak_tank_octane: service.weak_tank_octane,
            deposits_octane: service.deposits_of(&ask.job).octane(),
            reserve_octane: ask.job.reserve_octane,
            limits_from_rpm: self.watch.judged().1,
            limits: self.watch.limits.iter().map(asked).collect(),
            limits_of_practice: ask.limits.late == LateLimits::Practice,
        }
    }

    /// The order, and its ratio among those checked.
    fn order(&self, solution: &Solution, checked: &mut Vec<Checked>) -> Result<Order, ChooseError> {
        let ratio = solution.ratio;
        let at = checked.partition_point(|c| c.ratio < ratio - SAME_RATIO);
        match checked.get_mut(at) {
            Some(known) if (known.ratio - ratio).abs() < SAME_RATIO => known.ratio = ratio,
            _ => checked.insert(at, Checked::new(self.watch, ratio)?),
        }
        let readings = &checked[at].readings;
        let (below, above) = solution.bounds();
        let power = |ratio: f64| self.view.objective_kw(ratio);
        Ok(Order {
            compression_ratio: ratio,
            same_from: solution.same.0,
            same_to: solution.same.1,
            most_power_ratio: solution.most_power,
            measurable_frac: self.view.measurable_frac,
            below,
            above,
            change_per_tenth_frac: (power(ratio + 0.05) - power(ratio - 0.05)) / power(ratio),
            octane_per_ratio: octane_per_ratio(&self.ask.job, ratio, ratio + HALF)?.per_ratio,
            piston: piston::check(self.ask, ratio, readings.weakest_content())?,
            low_speed: readings
                .weakest_below(self.watch.judged().1)
                .map(|r| LowSpeed { speed_rpm: r.speed_rpm, retard_deg: r.retard_deg }),
        })
    }

    fn variants(&self, checked: &[Checked]) -> Result<Vec<Variant>, ChooseError> {
        let Some(solution) = &self.solution else { return Ok(Vec::new()) };
        let at_order = checked.iter().find(|c| c.ratio == solution.ratio);
        let Some((here, nearest)) = at_order.and_then(|c| Some((c, c.tightest()?))) else {
            return Ok(Vec::new());
        };
        let (samples, torque_rpm) = self.watch.judged();
        let (ask, view) = (self.ask, self.view);
        Variants { ask, view, watch: self.watch, samples, torque_rpm, solution, here, nearest }
            .all(&self.progress)
    }

    fn ignitions(&self, variants: &[Variant]) -> Vec<IgnitionWorth> {
        let Some(solution) = &self.solution else { return Vec::new() };
        let worth = |ignition: Ignition| {
            let other = |v: &&Variant| v.kind == VariantKind::Ignition { ignition };
            let own = if ignition == self.ask.ignition {
                Some(solution.ratio)
            } else {
                variants.iter().find(other).and_then(|v| v.compression_ratio)
            };
            let powers = |ratio: f64| -> Vec<f64> {
                self.each_fuel_kw(ignition, ratio).iter().map(|power| power.likely).collect()
            };
            IgnitionWorth {
                ignition,
                compression_ratio: own,
                power_kw_here: powers(solution.ratio),
                power_kw_there: own.map(powers).unwrap_or_default(),
            }
        };
        Ignition::ALL.map(worth).to_vec()
    }

    /// Power of each fuel over the samples under an ignition on the day [kW].
    fn each_fuel_kw(&self, ignition: Ignition, ratio: f64) -> Vec<Band> {
        let timed = Timed::on_the_day(ignition);
        let fuels = 0..self.ask.job.fuels.len();
        fuels.map(|i| band(self.view.curve.power_kw(timed, i, ratio).into_iter())).collect()
    }

    fn row(&self, checked: &Checked) -> RatioRow {
        let (ratio, View { curve, shares, timed, .. }) = (checked.ratio, self.view);
        let weighted =
            |ignition| band(curve.weighted_kw(Timed::on_the_day(ignition), shares, ratio).into_iter());
        let fuels: Vec<FuelAtRatio> = (0..self.ask.job.fuels.len()).map(|i| curve.state(i, ratio)).collect();
        let each = |ignition| self.each_fuel_kw(ignition, ratio);
        let readings = checked.readings.in_service();
        let has_start = |fuel: &FuelAtRatio| fuel.start_retard_deg.is_some();
        let start = each(Ignition::MapPerFuel).into_iter().zip(&fuels);
        RatioRow {
            compression_ratio: ratio,
            fitted_weighted_power_kw: weighted(timed.ignition),
            fitted_power_kw: each(timed.ignition),
            weighted_power_kw: weighted(Ignition::KnockControl),
            power_kw: each(Ignition::KnockControl),
            limits: checked.states.clone(),
            worst_retard_deg: readings.iter().flatten().map(|r| r.retard_deg).fold(0.0, f64::max),
            within_limits: checked.all_kept(),
            start_weighted_power_kw: fuels.iter().all(has_start).then(|| weighted(Ignition::MapPerFuel)),
            start_power_kw: start.map(|(power, fuel)| has_start(fuel).then_some(power)).collect(),
            fuels,
        }
    }

    fn half_steps(&self) -> Vec<HalfStep> {
        let Some(solution) = &self.solution else { return Vec::new() };
        let (lowest, highest) = (self.ask.lowest.get(), self.ask.highest.get());
        let power = |i: usize, ratio: f64| self.view.curve.power_kw(self.view.timed, i, ratio);
        let step = |i: usize, ratio: f64| {
            let is_inside = (lowest..=highest).contains(&ratio);
            is_inside.then(|| change(&power(i, ratio), &power(i, solution.ratio)))
        };
        let fuels = self.ask.job.fuels.iter().enumerate();
        fuels
            .map(|(i, choice)| HalfStep {
                fuel: choice.fuel.name.clone(),
                less_frac: step(i, solution.ratio - HALF),
                more_frac: step(i, solution.ratio + HALF),
            })
            .collect()
    }

    fn pistons(&self, checked: &[Checked]) -> Result<Vec<Piston>, ChooseError> {
        let View { curve, shares, timed, .. } = self.view;
        let weighted = |ratio: f64| curve.weighted_kw(timed, shares, ratio);
        let ordered = self.solution.as_ref().map(|solution| weighted(solution.ratio));
        let mut pistons = Vec::new();
        for ratio in self.ask.pistons.iter().map(|piston| piston.get()) {
            let row = match checked.iter().find(|c| c.ratio == ratio) {
                Some(known) => self.row(known),
                None => self.row(&Checked::new(self.watch, ratio)?),
            };
            let against_order_frac = ordered.as_ref().map(|ordered| change(&weighted(ratio), ordered));
            pistons.push((self.view.objective_kw(ratio), Piston { place: 0, row, against_order_frac }));
        }
        let within = pistons.iter().filter(|(_, piston)| piston.row.within_limits);
        let most = within.map(|(power, _)| *power).fold(f64::NEG_INFINITY, f64::max);
        let least = (1.0 - self.view.measurable_frac) * most;
        // Within the limits those whose power cannot be told from the most, the lowest first, then by power; over them by how much.
        pistons.sort_by(|(a_power, a), (b_power, b)| {
            let is_same = |power: &f64| *power >= least;
            let by_ratio = a.row.compression_ratio.total_cmp(&b.row.compression_ratio);
            let order = match (a.row.within_limits, b.row.within_limits) {
                (true, true) if is_same(a_power) && is_same(b_power) => by_ratio,
                (true, true) => b_power.total_cmp(a_power),
                (false, false) => most_excess(&a.row.limits).total_cmp(&most_excess(&b.row.limits)),
                _ => std::cmp::Ordering::Equal,
            };
            b.row.within_limits.cmp(&a.row.within_limits).then(order)
        });
        let placed = pistons.into_iter().enumerate();
        Ok(placed.map(|(i, (_, piston))| Piston { place: i + 1, ..piston }).collect())
    }
}

/// The map from the ratios that were checked.
fn margin_map(checked: &[Checked]) -> MarginMap {
    let columns: Vec<&[Vec<BlendReading>]> = checked.iter().map(|c| c.readings.in_service()).collect();
    let blends = columns.first().copied().unwrap_or_default();
    let map = |of: fn(&BlendReading) -> f64| -> Vec<Vec<f64>> {
        (0..blends.len()).map(|row| columns.iter().map(|column| most(&column[row], of)).collect()).collect()
    };
    let least_margin = map(|r| -r.best_torque_margin).into_iter();
    MarginMap {
        compression_ratio: checked.iter().map(|c| c.ratio).collect(),
        ethanol_vol_frac: blends.iter().flat_map(|row| row.first()).map(|r| r.ethanol_vol_frac).collect(),
        best_torque_octane_margin: least_margin.map(|row| row.into_iter().map(|m| -m).collect()).collect(),
        retard_deg: map(|r| r.retard_deg),
        torque_lost_frac: map(|r| r.torque_lost_frac),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stepped_ratios_are_round_and_hold_the_ends() {
        assert_eq!(stepped_ratios(9.0, 11.0, 0.5), [9.0, 9.5, 10.0, 10.5, 11.0]);
        assert_eq!(stepped_ratios(9.2, 10.7, 0.5), [9.2, 9.5, 10.0, 10.5, 10.7]);
    }

    /// HAND: 110, 120 and 130 against 100, 100 and 100 kW are 10, 20 and 30 % more.
    #[test]
    fn a_change_is_told_of_the_first_against_the_second() {
        let band = change(&[110.0, 120.0, 130.0], &[100.0; 3]);
        assert!((band.likely - 0.2).abs() < 1e-12 && band.low > 0.09 && band.high < 0.31, "{band:?}");
    }
}
