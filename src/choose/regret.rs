//! What choosing for one fuel costs when another is run.

use super::feasible::{Checked, feasible};
use super::job::{ChooseError, ChooseJob};
use super::progress::ProgressPart;
use super::result::{Regret, RegretOn};
use super::solve::{Solution, View};
use super::watch::Watch;
use crate::estimate::sweep::in_order;

/// One fuel alone: its limits and its best ratio.
struct Alone<'a> {
    watch: Watch<'a>,
    shares: Vec<f64>,
    /// The ratio to order for it.
    best: Option<f64>,
    /// The ratio of its most power within its limits.
    most_power: Option<f64>,
}

impl Alone<'_> {
    /// Mean power at a ratio [kW].
    fn power_kw(&self, view: View<'_>, ratio: f64) -> f64 {
        view.curve.objective_kw(view.timed, &self.shares, ratio)
    }
}

/// One row for the choice over all fuels, and one per fuel when there are several.
///
/// # Errors
/// As [`Watch::readings`].
pub(super) fn regret(
    ask: &ChooseJob,
    view: View<'_>,
    overall_watch: &Watch<'_>,
    overall: Option<&Solution>,
    part: &ProgressPart<'_>,
) -> Result<Vec<Regret>, ChooseError> {
    let fuels: Vec<_> = ask.job.fuels.iter().enumerate().collect();
    let alone: Vec<Alone<'_>> = in_order(&fuels, |(i, choice)| {
        let watch = Watch::of_fuel(ask, choice, overall_watch.judged())?;
        let at = |ratio: f64| Checked::new(&watch, ratio);
        let checked = every_second(view.curve.ratios()).map(at).collect::<Result<Vec<_>, _>>()?;
        let ranges = feasible(&watch, &checked)?;
        let shares: Vec<f64> = (0..ask.job.fuels.len()).map(|j| f64::from(u8::from(*i == j))).collect();
        let solution = View { shares: &shares, ..view }.solve(&ranges)?;
        let (best, most_power) = (solution.map(|s| s.ratio), solution.map(|s| s.most_power));
        part.step();
        Ok::<_, ChooseError>(Alone { watch, shares, best, most_power })
    })?;
    let row = |chosen_for: Option<String>, ratio: Option<f64>| -> Result<Regret, ChooseError> {
        let on = match ratio {
            Some(ratio) => alone.iter().map(|fuel| on(view, fuel, ratio)).collect::<Result<_, _>>()?,
            None => Vec::new(),
        };
        Ok(Regret { chosen_for, compression_ratio: ratio, on })
    };
    let mut rows = vec![row(None, overall.map(|solution| solution.ratio))?];
    for (choice, fuel) in ask.job.fuels.iter().zip(&alone) {
        rows.push(row(Some(choice.fuel.name.clone()), fuel.best)?);
    }
    Ok(rows)
}

/// One fuel at a ratio chosen without regard to it.
fn on(view: View<'_>, fuel: &Alone<'_>, ratio: f64) -> Result<RegretOn, ChooseError> {
    let checked = Checked::new(&fuel.watch, ratio)?;
    Ok(RegretOn {
        power_lost_frac: fuel
            .most_power
            .map(|most| 1.0 - fuel.power_kw(view, ratio) / fuel.power_kw(view, most)),
        passed: checked.tightest().filter(|state| !state.kept()),
    })
}

/// Every second ratio, the first and the last among them: a fuel by itself goes over a limit once.
fn every_second(ratios: Vec<f64>) -> impl Iterator<Item = f64> {
    let last = ratios.len().saturating_sub(1);
    ratios.into_iter().enumerate().filter(move |(i, _)| i % 2 == 0 || *i == last).map(|(_, ratio)| ratio)
}
