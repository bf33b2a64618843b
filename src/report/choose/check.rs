//! Is a choice fit to be shown?

use crate::choose::Choice;
use crate::choose::result::RatioRow;
use crate::estimate::Band;
use crate::report::ReportError;
use crate::report::check::{filled, finite};

/// Refuses a choice with a number that is not finite, or without rows.
pub(in crate::report) fn check(choice: &Choice) -> Result<(), ReportError> {
    filled("the choice", "ratio", choice.curve.len())?;
    if let Some(best) = &choice.best {
        let numbers = [
            ("compression_ratio", best.compression_ratio),
            ("same_from", best.same_from),
            ("same_to", best.same_to),
            ("dome_m3", best.dome_m3.unwrap_or(0.0)),
            ("change_per_tenth_frac", best.change_per_tenth_frac),
        ];
        finite("the best ratio", &numbers)?;
    }
    for row in choice.curve.iter().chain(choice.pistons.iter().map(|piston| &piston.row)) {
        check_row(row)?;
    }
    let against = choice.pistons.iter().filter_map(|piston| piston.against_best_frac);
    let steps = choice.half_steps.iter().flat_map(|step| [step.less_frac, step.more_frac]).flatten();
    against.chain(steps).try_for_each(|band| check_band("a change of power", band))?;
    for lost in choice.regret.iter().flat_map(|row| &row.on).filter_map(|on| on.power_lost_frac) {
        finite("the regret", &[("power_lost_frac", lost)])?;
    }
    let map = &choice.margin_map;
    let rows = map.best_torque_octane_margin.iter().chain(&map.retard_deg).chain(&map.torque_lost_frac);
    rows.flatten().try_for_each(|value| finite("the margin map", &[("cell", *value)]))
}

fn check_row(row: &RatioRow) -> Result<(), ReportError> {
    let owner = format!("ratio {:.2}", row.compression_ratio);
    check_band(&owner, row.weighted_power_kw)?;
    row.power_kw.iter().try_for_each(|band| check_band(&owner, *band))?;
    for state in &row.fuels {
        let numbers = [
            ("retard_deg", state.retard_deg),
            ("torque_lost_frac", state.torque_lost_frac),
            ("best_torque_octane_margin", state.best_torque_octane_margin),
            ("peak_pressure_bar", state.peak_pressure_bar),
            ("knock_probability", state.knock_probability),
        ];
        finite(&owner, &numbers)?;
    }
    finite(&owner, &[("worst_retard_deg", row.worst_retard_deg)])?;
    row.limits
        .iter()
        .try_for_each(|limit| finite(&owner, &[("found", limit.found), ("excess", limit.excess)]))
}

fn check_band(owner: &str, band: Band) -> Result<(), ReportError> {
    finite(owner, &[("low", band.low), ("likely", band.likely), ("high", band.high)])
}
