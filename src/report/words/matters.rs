//! What matters most in an estimate, a sentence each.

use super::Say;
use crate::estimate::{Matter, Swing};
use crate::report::Units;
use crate::report::quantity::Dimension::Power;
use crate::report::quantity::{fixed, percent, signed};
use crate::report::table::shorten;

/// Most characters of a fuel in a sentence.
const NAME_LIMIT: usize = 22;

impl Say for Matter {
    fn say(&self, units: Units) -> String {
        match self {
            Self::KnockLimits { fuel, retard_deg, speed_rpm, torque_lost_frac, others, free } => format!(
                "{} limits: knock retards it from MBT timing by up to {} deg, at {} rpm, which costs up to {} % of torque{}{}.",
                name(fuel),
                fixed(*retard_deg, if *retard_deg < 1.0 { 1 } else { 0 }),
                fixed(*speed_rpm, 0),
                percent(*torque_lost_frac, 1),
                phrase(others, "retarded less"),
                phrase(free, "at MBT timing everywhere"),
            ),
            Self::MbtEverywhere { fuel, fuels, margin_octane, speed_rpm } => {
                let (who, of) = match fuels {
                    1 => (name(fuel), String::new()),
                    _ => ("Every fuel".to_owned(), format!(" on {}", name(fuel))),
                };
                format!(
                    "{who} runs MBT timing everywhere in the likely case; the least knock margin is {} octane numbers{of}, at {} rpm.",
                    signed(*margin_octane, 1),
                    fixed(*speed_rpm, 0)
                )
            }
            Self::TooCloseToCall { fuels, of, half_widths_octane: (least, most), knock_probability } => {
                let on = match fuels.len() {
                    1 => name(&fuels[0]),
                    n if n == *of => format!("all {n} fuels"),
                    _ => listed(fuels),
                };
                let [least, most] = [least, most].map(|width| fixed(*width, 0));
                let width = if least == most { most } else { format!("{least} to {most}") };
                format!(
                    "Too close to call on {on}: the margin is uncertain by {width} octane numbers, and up to {} % of cases knock at the limit. Set the start timing, listen for knock, then add timing.",
                    percent(*knock_probability, 0)
                )
            }
            Self::Clear { low_octane } => format!(
                "The knock margin is larger than its own uncertainty on every fuel: even its low end is {} octane numbers.",
                signed(*low_octane, 1)
            ),
            Self::RangeFrom { fuel, power_kw, margin_octane } => format!(
                "What the range of power on {} comes from: {}; that of its knock margin: {}.",
                name(fuel),
                swings(power_kw, units.symbol(Power), |kw| units.of(Power, kw)),
                swings(margin_octane, "octane numbers", |octane| octane)
            ),
        }
    }
}

fn name(fuel: &str) -> String {
    shorten(fuel, NAME_LIMIT)
}

fn listed(fuels: &[String]) -> String {
    let names: Vec<String> = fuels.iter().map(|fuel| name(fuel)).collect();
    match names.split_last() {
        Some((last, others)) if !others.is_empty() => format!("{} and {last}", others.join(", ")),
        _ => names.concat(),
    }
}

/// Fuels of which something is so, as the end of a sentence; nothing without fuels.
fn phrase(fuels: &[String], what: &str) -> String {
    let verb = if fuels.len() == 1 { "is" } else { "are" };
    if fuels.is_empty() { String::new() } else { format!("; {} {verb} {what}", listed(fuels)) }
}

/// Inputs with what each moves a result by.
fn swings(of: &[Swing], unit: &str, shown: impl Fn(f64) -> f64) -> String {
    let words =
        of.iter().map(|(input, by)| format!("{} (+/-{} {unit})", input.title(), fixed(shown(by.abs()), 1)));
    let words: Vec<String> = words.collect();
    if words.is_empty() { "nothing that was varied".to_owned() } else { words.join(", ") }
}
