//! A choice of compression as aligned text, the answer first.

use super::answer::{no_order_lines, order_lines};
use super::words::{contents_words, ignition_words, limits, loosened, maximised, over, ratio};
use super::{NAME_LIMIT, tables};
use crate::choose::result::Choice;
use crate::report::Units;
use crate::report::quantity::Dimension::Power;
use crate::report::quantity::{fixed, percent};
use crate::report::screen::{Part, Text};
use crate::report::table::{head, heading, plain, points, shorten, wrap};
use crate::report::words::{cautions, said};

const CONDITIONS: &str = "conditions";
const CHANGES: &str = "changes";
const IGNITION: &str = "ignition";
const CURVES: &str = "curves";
const FUELS: &str = "fuels";
const LIMITS: &str = "limits";
const MAP: &str = "map";

/// The parts of the text.
pub(super) const PARTS: &[Part] = &[
    Part { name: CONDITIONS, shows: "what was asked, and what each service condition costs" },
    Part { name: CHANGES, shows: "what would move the order, and what half a ratio changes" },
    Part { name: IGNITION, shows: "what the ignition is worth" },
    Part { name: CURVES, shows: "power and limits over compression ratio" },
    Part { name: FUELS, shows: "what choosing for one fuel costs on the others" },
    Part { name: LIMITS, shows: "ratios over a limit, and what would fix it" },
    Part { name: MAP, shows: "knock margin over ratio and ethanol content" },
];

/// Most characters of the name of a scenario on its line.
const SCENARIO_LIMIT: usize = 40;

/// The whole text.
pub(super) fn render(choice: &Choice, units: Units) -> Text {
    let mut out = Text::default();
    out.screen(&asked(choice));
    out.screen(&answer(choice, units));
    out.screen(&pistons(choice, units));
    // Without an order, what is over is the answer.
    let over = out_of_limits(choice, units);
    match choice.order {
        None if !over.is_empty() => out.screen(&(heading(OVER) + &over)),
        _ => out.part(LIMITS, OVER, &over),
    }
    out.cautions(cautions::ESTIMATE);
    out.part(CONDITIONS, "What was asked", &header(choice, units));
    out.part(CONDITIONS, "Notes", &points(said(&choice.notices, units).iter().map(String::as_str)));
    conditions(choice, units, &mut out);
    over_ratio(choice, units, &mut out);
    regret(choice, units, &mut out);
    out.part(
        MAP,
        "Knock margin at MBT timing over ratio and ethanol content, octane numbers, service conditions, worst rpm (below 0 timing has to be pulled)",
        &tables::margin_map(choice, units).text(tables::margins(choice)),
    );
    out
}

const OVER: &str = "Ratios over a limit, and what would fix it";

/// The build and what it has to run on, in a line.
fn asked(choice: &Choice) -> String {
    let text = format!(
        "{}: {}, has to run on {} with {}",
        shorten(&choice.scenario, SCENARIO_LIMIT),
        ignition_words(choice.ignition.ignition),
        plain(&choice.stood.base),
        contents_words(&choice.stood)
    );
    wrap("", &text)
}

fn answer(choice: &Choice, units: Units) -> String {
    let mut lines = match &choice.order {
        Some(order) => order_lines(choice, order, units),
        None => no_order_lines(choice),
    };
    if !choice.ignition.stated {
        lines.push("State the ignition as choose.ignition of the scenario.".to_owned());
    }
    let lines: String = lines.iter().map(|line| wrap("  ", line)).collect();
    heading("Answer") + &lines
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
        ("Note", choice.note.clone()),
        ("Power", format!("{}, weighted {}", maximised(choice), weights.join(", "))),
        ("Ratios", range),
        ("Runs on", blends),
        ("Limits", limits(stood, units)),
        ("Samples", format!("{}, seed {}", choice.samples, choice.seed)),
    ];
    let rows: Vec<(&str, &str)> = rows.iter().map(|(name, text)| (*name, text.as_str())).collect();
    head(&rows)
}

/// Service conditions with what each costs, the order were one thing different, and what half a ratio changes.
fn conditions(choice: &Choice, units: Units, out: &mut Text) {
    let Some(order) = &choice.order else { return };
    let (conditions, changes) = tables::variants(choice);
    if !conditions.is_empty() {
        let title = "What each service condition costs (+: up to the end of the range asked)";
        out.part(CONDITIONS, title, &tables::service(choice, order, units).text(conditions));
    }
    let title = format!("What would move the order from {}:1", ratio(order.compression_ratio));
    out.part(CHANGES, &title, &tables::sensitivity(choice, order, units).text(changes));
    if !choice.half_steps.is_empty() {
        let title = "What half a ratio from the order changes, power by fuel as fitted, limits ignored";
        out.part(CHANGES, title, &tables::half_steps(units).text(&choice.half_steps));
    }
    let title = "What the ignition is worth: order, and likely wheel power of each fuel (*: as fitted)";
    out.part(IGNITION, title, &tables::ignitions(choice, order, units).text(&choice.ignitions));
}

/// Power and limits over ratio, and power of each fuel.
fn over_ratio(choice: &Choice, units: Units, out: &mut Text) {
    let title = "Power as fitted and limits over compression ratio (*: order, !: over the limit)";
    out.part(CURVES, title, &tables::over_ratio(choice, units).text(&choice.curve));
    let title = format!(
        "Likely wheel power by fuel, {}, as fitted and at each fuel's own knock limit (k: knock retards the limit somewhere)",
        units.symbol(Power)
    );
    out.part(CURVES, &title, &tables::by_fuel(choice, units).text(&choice.curve));
}

/// The pistons that can be bought.
fn pistons(choice: &Choice, units: Units) -> String {
    if choice.pistons.is_empty() {
        return String::new();
    }
    let faults = tables::piston_faults(choice, units);
    let faults: String =
        faults.iter().map(|(ratio, fault)| wrap(&format!("  {ratio} "), &format!("{fault}."))).collect();
    heading("Off-the-shelf pistons") + &tables::pistons(choice, units).text(&choice.pistons) + &faults
}

/// What choosing for one fuel costs on the others.
fn regret(choice: &Choice, units: Units, out: &mut Text) {
    if choice.fuels.len() < 2 {
        return;
    }
    let mut body = tables::regret(choice, units).text(&choice.regret);
    for row in &choice.regret {
        let worst = row.on.iter().filter_map(|on| on.passed).max_by(|a, b| a.excess.total_cmp(&b.excess));
        if let (Some(worst), Some(fuel)) = (worst, &row.chosen_for) {
            body += &wrap("  ", &format!("Chosen for {}: {}.", plain(fuel), over(&worst, units)));
        }
    }
    let title = "Power lost by choosing for one fuel and running another, % (!: over a limit on that fuel)";
    out.part(FUELS, title, &body);
}

fn out_of_limits(choice: &Choice, units: Units) -> String {
    let mut out = String::new();
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
