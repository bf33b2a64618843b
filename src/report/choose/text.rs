//! A choice of compression as aligned text, the answer first.

use super::answer::{no_order_lines, order_lines};
use super::words::{contents_words, ignition_words, limits, loosened, maximised, over, ratio};
use super::{NAME_LIMIT, tables};
use crate::choose::result::Choice;
use crate::report::Units;
use crate::report::quantity::Dimension::Power;
use crate::report::quantity::{fixed, percent};
use crate::report::table::{heading, list, plain, shorten, wrap};
use crate::report::words::{cautions, said};

/// The whole text report.
pub(super) fn render(choice: &Choice, units: Units) -> String {
    let mut out = answer(choice, units);
    out += &header(choice, units);
    out += &conditions(choice, units);
    out += &over_ratio(choice, units);
    out += &steps_and_pistons(choice, units);
    out += &regret(choice, units);
    out += &out_of_limits(choice, units);
    out += &heading(
        "Knock margin at MBT timing over ratio and ethanol content, octane numbers, service conditions, worst rpm (below 0 timing has to be pulled)",
    );
    out += &tables::margin_map(choice, units).text(tables::margins(choice));
    out += &list("Notes", said(&choice.notices, units).iter().map(String::as_str));
    out += &list("Cautions", cautions::ESTIMATE.iter().copied());
    out
}

fn answer(choice: &Choice, units: Units) -> String {
    let lines = match &choice.order {
        Some(order) => order_lines(choice, order, units),
        None => no_order_lines(choice),
    };
    let mut out = "Answer\n".to_owned();
    out.extend(lines.iter().map(|line| wrap("  ", line)));
    out + "\n"
}

fn header(choice: &Choice, units: Units) -> String {
    let stood = &choice.stood;
    let weights: Vec<String> = choice
        .fuels
        .iter()
        .map(|fuel| format!("{} {} %", shorten(&fuel.name, NAME_LIMIT), percent(fuel.share_frac, 0)))
        .collect();
    let blends = format!("{} with {}", plain(&stood.base), contents_words(stood));
    let range = format!(
        "{} to {}; the scenario's own is {}",
        ratio(choice.lowest_ratio),
        ratio(choice.highest_ratio),
        fixed(choice.scenario_compression_ratio, 2)
    );
    let rows = [
        ("Scenario", choice.scenario.clone()),
        ("Note", choice.note.clone()),
        ("Power", format!("{}, weighted {}", maximised(choice), weights.join(", "))),
        ("Ratios", range),
        ("Ignition", ignition_words(choice.ignition.ignition).to_owned()),
        ("Runs on", blends),
        ("Limits", limits(stood, units)),
        ("Samples", format!("{}, seed {}", choice.samples, choice.seed)),
    ];
    rows.into_iter()
        .filter(|(_, text)| !plain(text).is_empty())
        .map(|(name, text)| wrap(&format!("{name:<11}"), &text))
        .collect()
}

/// Service conditions with what each costs, and the order were one thing different.
fn conditions(choice: &Choice, units: Units) -> String {
    let Some(order) = &choice.order else { return String::new() };
    let (conditions, changes) = tables::variants(choice);
    let mut out = String::new();
    if !conditions.is_empty() {
        out += "\nWhat each service condition costs (+: up to the end of the range asked)\n";
        out += &tables::service(choice, order, units).text(conditions);
    }
    out += &format!("\nWhat would move the order from {}:1\n", ratio(order.compression_ratio));
    out += &tables::sensitivity(choice, order, units).text(changes);
    out += "\nWhat the ignition is worth: order, and likely wheel power of each fuel (*: as fitted)\n";
    out + &tables::ignitions(choice, order, units).text(&choice.ignitions)
}

/// Power and limits over ratio, and power of each fuel.
fn over_ratio(choice: &Choice, units: Units) -> String {
    let mut out = heading("Power as fitted and limits over compression ratio (*: order, !: over the limit)");
    out += &tables::over_ratio(choice, units).text(&choice.curve);
    out += &heading(&format!(
        "Likely wheel power by fuel, {}, as fitted and at each fuel's own knock limit (k: knock retards the limit somewhere)",
        units.symbol(Power)
    ));
    out + &tables::by_fuel(choice, units).text(&choice.curve)
}

/// What half a ratio changes, and the pistons that can be bought.
fn steps_and_pistons(choice: &Choice, units: Units) -> String {
    let mut out = String::new();
    if !choice.half_steps.is_empty() {
        out += "\nWhat half a ratio from the order changes, power by fuel as fitted, limits ignored\n";
        out += &tables::half_steps(units).text(&choice.half_steps);
    }
    if !choice.pistons.is_empty() {
        out += "\nOff-the-shelf pistons\n";
        out += &tables::pistons(choice, units).text(&choice.pistons);
    }
    let faults = tables::piston_faults(choice, units);
    out.extend(faults.iter().map(|(ratio, fault)| wrap(&format!("  {ratio} "), &format!("{fault}."))));
    out
}

/// What choosing for one fuel costs on the others.
fn regret(choice: &Choice, units: Units) -> String {
    if choice.fuels.len() < 2 {
        return String::new();
    }
    let title = "Power lost by choosing for one fuel and running another, % (!: over a limit on that fuel)";
    let mut out = heading(title) + &tables::regret(choice, units).text(&choice.regret);
    for row in &choice.regret {
        let worst = row.on.iter().filter_map(|on| on.passed).max_by(|a, b| a.excess.total_cmp(&b.excess));
        if let (Some(worst), Some(fuel)) = (worst, &row.chosen_for) {
            out += &wrap("  ", &format!("Chosen for {}: {}.", plain(fuel), over(&worst, units)));
        }
    }
    out
}

fn out_of_limits(choice: &Choice, units: Units) -> String {
    if choice.out_of_limits.is_empty() {
        return String::new();
    }
    let mut out = "\nRatios over a limit, and what would fix it\n".to_owned();
    for part in &choice.out_of_limits {
        let span = format!("{} to {}", fixed(part.from_ratio, 2), fixed(part.to_ratio, 2));
        out += &wrap("  ", &format!("From {span}, taken at {}:1:", fixed(part.at_ratio, 2)));
        for failing in &part.failing {
            let state = &failing.state;
            let mut ways = Vec::new();
            if let Some(content) = failing.least_ethanol_vol_frac {
                ways.push(format!("fill no less than {} % ethanol", fixed((100.0 * content).ceil(), 0)));
            }
            ways.push(loosened(state, units));
            out +=
                &wrap("  - ", &format!("{}. To fix it there: {}.", over(state, units), ways.join(", or ")));
        }
        out += &match part.nearest_ratio {
            Some(found) => wrap("  - ", &format!("All limits are met at {}:1.", fixed(found, 2))),
            None => wrap("  - ", "No ratio down to 6:1 is within all limits."),
        };
    }
    out
}
