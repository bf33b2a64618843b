//! Which unknowns drive the spread, and what a change is worth.

use super::parts::fold;
use super::{Report, name_of};
use crate::estimate::{Driver, FuelEstimate, LeverChange};
use crate::report::Units;
use crate::report::columns::Columns;
use crate::report::estimate::peaks::strongest;
use crate::report::quantity::{fixed, signed};
use crate::report::words::Say;
use maud::{Markup, html};

/// Inputs shown per cause of spread.
const SHOWN: usize = 6;

pub(super) fn section(report: &Report<'_>) -> Markup {
    let fuels = &report.estimate.fuels;
    html! {
        p {
            "The longer the bar, the more this input decides where the engine falls in its range. Pin the top ones down first: a \
             flow sheet, a measured driveline loss or one knock-limited point from the dyno narrows the range most. A plus means \
             that more of the input gives more; strength is the rank correlation, from 0 to 1."
        }
        @if let Some((first, others)) = fuels.split_first() {
            h3 { (name_of(&first.name)) }
            (both(first))
            @for fuel in others { (fold(&name_of(&fuel.name), false, &both(fuel))) }
        }
        h3 { "What a change is worth" }
        p { "At the worst rpm of each fuel, everything else held, the timing too, at the likely limit." }
        (levers(fuels, report.units))
    }
}

fn both(fuel: &FuelEstimate) -> Markup {
    let name = name_of(&fuel.name);
    html! {
        div .charts {
            (bars(&format!("{name}: of peak wheel power"), &fuel.drivers, |d| d.power_rank_correlation))
            (bars(&format!("{name}: of the octane in hand"), &fuel.drivers, |d| d.margin_rank_correlation))
        }
    }
}

fn bars(caption: &str, drivers: &[Driver], correlation: impl Fn(&Driver) -> f64) -> Markup {
    let sorted = strongest(drivers, &correlation);
    html! {
        table .bars {
            caption { (caption) }
            thead { tr { th scope="col" { "input" } th scope="col" { "strength" } td {} } }
            tbody {
                @for driver in sorted.iter().take(SHOWN) {
                    @let value = correlation(driver);
                    tr {
                        th scope="row" { (driver.input.title()) }
                        td .n { (signed(value, 2)) }
                        td aria-hidden="true" { div .bar style={ "width:" (fixed(100.0 * value.abs(), 0)) "%" } {} }
                    }
                }
            }
        }
    }
}

/// What each change is worth, a column per fuel.
fn levers(fuels: &[FuelEstimate], units: Units) -> Markup {
    let mut changes: Vec<LeverChange> = Vec::new();
    for lever in fuels.iter().flat_map(|fuel| &fuel.levers) {
        if !changes.contains(&lever.change) {
            changes.push(lever.change);
        }
    }
    let mut c = Columns::<LeverChange>::new(units);
    c.words("change", |change| change.say(units));
    for fuel in fuels {
        let rpm = fixed(fuel.curve[fuel.tightest_index].speed_rpm, 0);
        c.cells(&format!("{}, {rpm} rpm", name_of(&fuel.name)), |change| {
            fuel.levers.iter().find(|lever| lever.change == *change).map_or_else(String::new, |lever| {
                let torque = signed(100.0 * lever.torque_change_frac, 1);
                format!("{}, {torque} %", signed(lever.octane_margin_change, 1))
            })
        });
    }
    c.page("Change of octane in hand, and of torque in %", changes)
}
