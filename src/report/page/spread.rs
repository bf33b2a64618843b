//! What the range comes from, and what a change is worth.

use super::parts::fold;
use super::{Report, name_of};
use crate::estimate::{Driver, FuelEstimate, LeverChange};
use crate::report::Units;
use crate::report::columns::Columns;
use crate::report::estimate::peaks::ends;
use crate::report::quantity::Dimension::Power;
use crate::report::quantity::{fixed, signed};
use crate::report::words::Say;
use maud::{Markup, html};

/// Inputs shown of what a range comes from.
const SHOWN: usize = 6;
/// Fuels side by side in a table: more would not fit the width of a printed page.
const FUELS_ABREAST: usize = 4;

pub(super) fn section(report: &Report<'_>) -> Markup {
    let fuels = &report.estimate.fuels;
    html! {
        p {
            "The longer the bar, the more this input decides where the engine falls in its range. Pin the top ones down first: a \
             flow sheet, a measured driveline loss or one knock-limited point from the dyno narrows the range most. The change is \
             that from the low end of the input (1 case in 10 is below it) to its high end (1 in 10 is above), all others held."
        }
        @if let Some((first, others)) = fuels.split_first() {
            h3 { (name_of(&first.name)) }
            (both(first, report.units))
            @for fuel in others { (fold(&name_of(&fuel.name), false, &both(fuel, report.units))) }
        }
        h3 { "What a change is worth" }
        p { "At the worst rpm of each fuel, everything else held, the timing too, at the likely limit." }
        @for some in fuels.chunks(FUELS_ABREAST) { (levers(some, report.units)) }
    }
}

fn both(fuel: &FuelEstimate, units: Units) -> Markup {
    let (name, unit) = (name_of(&fuel.name), Power.unit(units));
    html! {
        div .charts {
            (bars(fuel, &format!("{name}: peak wheel power, {}", unit.symbol), |d| unit.of(d.power_swing_kw)))
            (bars(fuel, &format!("{name}: knock margin, octane numbers"), |d| d.margin_swing_octane))
        }
    }
}

fn bars(fuel: &FuelEstimate, caption: &str, swing: impl Fn(&Driver) -> f64) -> Markup {
    let sorted = fuel.strongest(&swing);
    let longest = sorted.first().map_or(0.0, |driver| swing(driver).abs()).max(f64::MIN_POSITIVE);
    html! {
        table .bars {
            caption { (caption) }
            thead { tr { th scope="col" { "input" } th scope="col" { "from low to high" } td {} } }
            tbody {
                @for driver in sorted.iter().take(SHOWN) {
                    @let value = swing(driver);
                    tr {
                        th scope="row" { (driver.input.title()) }
                        td .n { (ends(value)) }
                        td aria-hidden="true" { div .bar style={ "width:" (fixed(100.0 * value.abs() / longest, 0)) "%" } {} }
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
    let names: Vec<String> = fuels.iter().map(|fuel| name_of(&fuel.name)).collect();
    c.page(
        format!("Change of knock margin in octane numbers, and of torque in %, on {}", names.join(", ")),
        changes,
    )
}
