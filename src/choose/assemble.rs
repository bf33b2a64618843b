//! Making a choice: the parts in order.

use super::curve::{Curve, MOST_ADDED};
use super::explain::out_of_limits;
use super::feasible::{Checked, Ends, feasible};
use super::job::{ChooseError, ChooseJob, Objective};
use super::notices::notices;
use super::regret::regret;
use super::result::{
    AskedLimit, BestRatio, Choice, HalfStep, MarginMap, Maximised, Piston, RatioRow, StoodRange, WeighedFuel,
};
use super::solve::{Solution, solve};
use super::watch::Watch;
use crate::engine::Geometry;
use crate::estimate::Band;
use crate::estimate::notices::CAUTIONS;
use crate::estimate::sampling::band;

/// Step of the ratios that are shown.
const SHOWN_STEP: f64 = 0.5;
/// What half a step is worth is told for this step [ratio].
const HALF: f64 = 0.5;
/// A best this near to a computed node needs none of its own [ratio].
const NEAR: f64 = 0.05;

/// Chooses the compression ratio.
///
/// # Arguments
/// - `ask`: the build, the fuels and their weights, the blends and the weather that must be stood, the limits
/// - `tell`: told the share of the work that is done, from any thread
///
/// # Errors
/// [`ChooseError`] when the question does not hold together or a point lies outside the model.
pub fn choose(ask: &ChooseJob, tell: &(dyn Fn(f64) + Sync)) -> Result<Choice, ChooseError> {
    ask.check()?;
    let shares = ask.shares()?;
    let samples = ask.job.draw();
    let mut watch = Watch::of_range(ask, &samples)?;
    let mut curve = Curve::new(ask, &samples, tell)?;
    let (lowest, highest) = (ask.lowest.get(), ask.highest.get());
    watch.find_worst(0.5 * (lowest + highest))?;
    watch.sample_weakest(curve.ratios())?;
    let (mut checked, mut ranges) = check(ask, &watch)?;
    let mut solution = solve(&curve, &shares, &ranges)?;
    if let Some(found) = &solution
        && watch.find_worst(found.ratio)?
    {
        watch.sample_weakest(curve.ratios())?;
        (checked, ranges) = check(ask, &watch)?;
        solution = solve(&curve, &shares, &ranges)?;
    }
    for _ in 0..MOST_ADDED {
        let Some(found) = solution.filter(|found| !curve.is_near_node(found.ratio, NEAR)) else { break };
        curve.add(found.ratio)?;
        solution = solve(&curve, &shares, &ranges)?;
    }
    let maker = Maker { ask, shares: &shares, watch: &watch, curve: &curve, solution };
    maker.choice(checked, &ranges)
}

/// The limits at every ratio shown, and the ranges that keep them.
fn check(ask: &ChooseJob, watch: &Watch<'_>) -> Result<(Vec<Checked>, Vec<Ends>), ChooseError> {
    let ratios = shown_ratios(ask.lowest.get(), ask.highest.get());
    let checked = ratios.into_iter().map(|r| Checked::new(watch, r)).collect::<Result<Vec<_>, _>>()?;
    let ranges = feasible(watch, &checked)?;
    Ok((checked, ranges))
}

/// Multiples of the shown step within the range, and its ends.
fn shown_ratios(lowest: f64, highest: f64) -> Vec<f64> {
    let mut ratios = vec![lowest];
    let mut next = (lowest / SHOWN_STEP).floor() * SHOWN_STEP + SHOWN_STEP;
    while next < highest - 1e-9 {
        ratios.push(next);
        next += SHOWN_STEP;
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
    shares: &'a [f64],
    watch: &'a Watch<'a>,
    curve: &'a Curve<'a>,
    solution: Option<Solution>,
}

impl Maker<'_> {
    fn choice(&self, mut checked: Vec<Checked>, ranges: &[Ends]) -> Result<Choice, ChooseError> {
        let ask = self.ask;
        let span = (ask.lowest.get(), ask.highest.get());
        let margin_map = margin_map(&checked);
        if let Some(solution) = &self.solution {
            let at = checked.partition_point(|c| c.ratio < solution.ratio);
            if checked.get(at).is_none_or(|c| (c.ratio - solution.ratio).abs() > 1e-6) {
                checked.insert(at, Checked::new(self.watch, solution.ratio)?);
            }
        }
        let mut choice = Choice {
            scenario: ask.job.scenario.clone(),
            note: ask.job.note.clone(),
            scenario_compression_ratio: ask.job.build.geometry.compression_ratio.get(),
            maximised: maximised(ask),
            fuels: self.weighed_fuels(),
            stood: self.stood(),
            lowest_ratio: span.0,
            highest_ratio: span.1,
            best: self.solution.as_ref().map(|solution| self.best(solution)),
            curve: checked.iter().map(|c| self.row(c)).collect::<Result<_, _>>()?,
            half_steps: self.half_steps(),
            pistons: self.pistons(&checked)?,
            regret: regret(ask, self.curve, self.watch, self.solution.as_ref())?,
            out_of_limits: out_of_limits(self.watch, ranges, span)?,
            margin_map,
            samples: ask.job.samples,
            seed: ask.job.seed,
            notices: Vec::new(),
            cautions: CAUTIONS.to_vec(),
        };
        choice.notices = notices(ask, &choice);
        Ok(choice)
    }

    fn weighed_fuels(&self) -> Vec<WeighedFuel> {
        let fuels = self.ask.job.fuels.iter().zip(&self.ask.weights).zip(self.shares);
        fuels
            .map(|((choice, weighting), share)| WeighedFuel {
                name: choice.fuel.name.clone(),
                ethanol_vol_frac: choice.fuel.ethanol.likely,
                weight: weighting.weight,
                likelihood: weighting.likelihood,
                share: *share,
            })
            .collect()
    }

    fn stood(&self) -> StoodRange {
        let ask = self.ask;
        let weather = ask.worst_weather.unwrap_or(ask.job.weather);
        let asked = |limit: &super::limit::Limit| AskedLimit { kind: limit.kind, allowed: limit.allowed };
        StoodRange {
            base: ask.range.base.name.clone(),
            lowest_ethanol_vol_frac: ask.range.low_vol_frac,
            highest_ethanol_vol_frac: ask.range.high_vol_frac,
            worst_weather_stated: ask.worst_weather.is_some(),
            air_temperature_k: weather.temperature_k,
            air_pressure_pa: weather.pressure_pa,
            relative_humidity: weather.relative_humidity,
            reserve_octane: ask.job.reserve_octane,
            limits: self.watch.limits.iter().map(asked).collect(),
            confidence: ask.limits.confidence,
        }
    }

    fn best(&self, solution: &Solution) -> BestRatio {
        let Geometry { bore_m, stroke_m, .. } = self.ask.job.build.geometry;
        let (same_from, same_to) = solution.same(self.curve, self.shares);
        let (below, above) = solution.bounds();
        let power = |ratio: f64| self.curve.objective_kw(self.shares, ratio);
        let slope = (power(solution.ratio + 0.05) - power(solution.ratio - 0.05)) / power(solution.ratio);
        BestRatio {
            compression_ratio: solution.ratio,
            same_from,
            same_to,
            of_samples: solution.of_samples(self.curve, self.shares),
            below,
            above,
            dome_m3: self.ask.volumes.map(|v| v.dome_for_ratio_m3(bore_m, stroke_m, solution.ratio)),
            measured_ratio_tolerance: self.ask.volumes.map(|v| v.ratio_tolerance(bore_m, stroke_m)),
            change_per_tenth_frac: slope,
        }
    }

    fn row(&self, checked: &Checked) -> Result<RatioRow, ChooseError> {
        let ratio = checked.ratio;
        let fuels = 0..self.ask.job.fuels.len();
        Ok(RatioRow {
            compression_ratio: ratio,
            weighted_power_kw: band(self.curve.weighted_kw(self.shares, ratio).into_iter()),
            power_kw: fuels.clone().map(|i| band(self.curve.power_kw(i, ratio).into_iter())).collect(),
            fuels: fuels.clone().map(|i| self.curve.state(i, ratio)).collect(),
            limits: checked.states.clone(),
            worst_retard_deg: checked.readings.profiles().iter().map(|p| p.retard_deg).fold(0.0, f64::max),
            within_limits: checked.all_kept(),
            limits_kept_share: self.watch.kept_share(ratio)?,
            start_weighted_power_kw: self
                .curve
                .start_weighted_kw(self.shares, ratio)
                .map(|powers| band(powers.into_iter())),
            start_power_kw: fuels
                .map(|i| self.curve.start_power_kw(i, ratio).map(|powers| band(powers.into_iter())))
                .collect(),
        })
    }

    fn half_steps(&self) -> Vec<HalfStep> {
        let Some(solution) = &self.solution else { return Vec::new() };
        let (lowest, highest) = (self.ask.lowest.get(), self.ask.highest.get());
        let step = |i: usize, ratio: f64| {
            (lowest..=highest)
                .contains(&ratio)
                .then(|| change(&self.curve.power_kw(i, ratio), &self.curve.power_kw(i, solution.ratio)))
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
        let weighted = |ratio: f64| self.curve.weighted_kw(self.shares, ratio);
        let best = self.solution.as_ref().map(|solution| weighted(solution.ratio));
        let mut pistons = Vec::new();
        for ratio in self.ask.pistons.iter().map(|piston| piston.get()) {
            let row = match checked.iter().find(|c| c.ratio == ratio) {
                Some(known) => self.row(known)?,
                None => self.row(&Checked::new(self.watch, ratio)?)?,
            };
            let against_best_frac = best.as_ref().map(|best| change(&weighted(ratio), best));
            pistons.push((
                self.curve.objective_kw(self.shares, ratio),
                Piston { place: 0, row, against_best_frac },
            ));
        }
        pistons.sort_by(|(a_power, a), (b_power, b)| {
            b.row.within_limits.cmp(&a.row.within_limits).then(b_power.total_cmp(a_power))
        });
        let placed = pistons.into_iter().enumerate();
        Ok(placed.map(|(i, (_, piston))| Piston { place: i + 1, ..piston }).collect())
    }
}

/// The map from the ratios that were checked.
fn margin_map(checked: &[Checked]) -> MarginMap {
    let profiles: Vec<_> = checked.iter().map(|c| c.readings.profiles()).collect();
    let contents = profiles.first().map_or(0, Vec::len);
    let map = |of: &dyn Fn(&super::watch::BlendProfile) -> f64| -> Vec<Vec<f64>> {
        (0..contents).map(|row| profiles.iter().map(|column| of(&column[row])).collect()).collect()
    };
    MarginMap {
        compression_ratio: checked.iter().map(|c| c.ratio).collect(),
        ethanol_vol_frac: profiles.first().into_iter().flatten().map(|p| p.ethanol_vol_frac).collect(),
        best_torque_octane_margin: map(&|p| p.best_torque_margin),
        retard_deg: map(&|p| p.retard_deg),
        torque_lost_frac: map(&|p| p.torque_lost_frac),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shown_ratios_are_round_and_hold_the_ends() {
        assert_eq!(shown_ratios(9.0, 11.0), [9.0, 9.5, 10.0, 10.5, 11.0]);
        assert_eq!(shown_ratios(9.2, 10.7), [9.2, 9.5, 10.0, 10.5, 10.7]);
    }
}
