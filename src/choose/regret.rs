//! What choosing for one fuel costs when another is run.

use super::curve::Curve;
use super::feasible::{Checked, feasible};
use super::job::{ChooseError, ChooseJob};
use super::result::{Regret, RegretOn};
use super::solve::{Solution, solve};
use super::watch::Watch;

/// One fuel alone: its limits and its best ratio.
struct Alone<'a> {
    watch: Watch<'a>,
    shares: Vec<f64>,
    best: Option<f64>,
}

impl Alone<'_> {
    /// Mean power at a ratio [kW].
    fn power_kw(&self, curve: &Curve<'_>, ratio: f64) -> f64 {
        curve.objective_kw(&self.shares, ratio)
    }
}

/// One row for the choice over all fuels, and one per fuel when there are several.
///
/// # Errors
/// As [`Watch::readings`].
pub(super) fn regret(
    ask: &ChooseJob,
    curve: &Curve<'_>,
    samples_of: &Watch<'_>,
    overall: Option<&Solution>,
) -> Result<Vec<Regret>, ChooseError> {
    let mut alone = Vec::new();
    for (i, choice) in ask.job.fuels.iter().enumerate() {
        let watch = Watch::of_fuel(ask, choice, samples_of.samples())?;
        let checked: Vec<Checked> =
            curve.ratios().into_iter().map(|ratio| Checked::new(&watch, ratio)).collect::<Result<_, _>>()?;
        let ranges = feasible(&watch, &checked)?;
        let shares: Vec<f64> = (0..ask.job.fuels.len()).map(|j| f64::from(u8::from(i == j))).collect();
        let best = solve(curve, &shares, &ranges)?.map(|solution| solution.ratio);
        alone.push(Alone { watch, shares, best });
    }
    let row = |chosen_for: Option<String>, ratio: Option<f64>| -> Result<Regret, ChooseError> {
        let on = match ratio {
            Some(ratio) => alone.iter().map(|fuel| on(curve, fuel, ratio)).collect::<Result<_, _>>()?,
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
fn on(curve: &Curve<'_>, fuel: &Alone<'_>, ratio: f64) -> Result<RegretOn, ChooseError> {
    let checked = Checked::new(&fuel.watch, ratio)?;
    Ok(RegretOn {
        power_lost_frac: fuel.best.map(|best| 1.0 - fuel.power_kw(curve, ratio) / fuel.power_kw(curve, best)),
        passed: checked.tightest().filter(|state| !state.kept()),
    })
}
