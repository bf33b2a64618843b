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
            Self::KnockLimits { fuel, retard_deg, speed_rpm, torque_lost_frac, others, free } => {
                let fuel = name(fuel);
                let subject = if others.is_empty() && free.is_empty() {
                    format!("On {fuel} knock retards timing")
                } else {
                    format!("{fuel} limits: knock retards it")
                };
                format!(
                    "{subject} from MBT by up to {} deg, at {} rpm, which costs up to {} % of torque{}{}.",
                    fixed(*retard_deg, if *retard_deg < 1.0 { 1 } else { 0 }),
                    fixed(*speed_rpm, 0),
                    percent(*torque_lost_frac, 1),
                    phrase(others, "retarded less"),
                    phrase(free, "at MBT timing everywhere"),
                )
            }
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
                    2 if *of == 2 => "both fuels".to_owned(),
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

/// Inputs with what each moves a result by; the unit is said once.
fn swings(of: &[Swing], unit: &str, shown: impl Fn(f64) -> f64) -> String {
    let words = of.iter().enumerate().map(|(i, (input, by))| {
        let unit = if i == 0 { format!(" {unit}") } else { String::new() };
        format!("{} (+/-{}{unit})", input.title(), fixed(shown(by.abs()), 1))
    });
    let words: Vec<String> = words.collect();
    if words.is_empty() { "nothing that was varied".to_owned() } else { words.join(", ") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    fn sentences() -> Vec<String> {
        fixture::estimate().matters().iter().map(|matter| matter.say(Units::Metric)).collect()
    }

    /// HAND: the swings are those of the fixture; retard 21.5 less 12.5 deg, torque lost 0.0006 x 9 x 9.
    #[test]
    fn what_limits_how_sure_it_is_and_what_the_range_comes_from() {
        let said = sentences();
        assert_eq!(
            said[0],
            "pump-a limits: knock retards it from MBT by up to 9 deg, at 2000 rpm, which costs up to 4.9 % of torque; pump-b is at MBT timing everywhere."
        );
        assert!(
            said[1].starts_with("Too close to call on pump-a: the margin is uncertain by 3 octane numbers,")
        );
        assert_eq!(
            said[2],
            "What the range of power on pump-a comes from: VE (+/-9.0 kW), driveline loss (+/-5.8); that of its knock margin: knock model (+/-3.5 octane numbers), octane of the fuel (+/-1.4)."
        );
    }

    #[test]
    fn one_fuel_that_is_free_of_knock_is_said_to_be() {
        let mut estimate = fixture::estimate();
        estimate.fuels.remove(0);
        let said: Vec<String> = estimate.matters().iter().map(|matter| matter.say(Units::Metric)).collect();
        assert!(
            said[0].starts_with(
                "pump-b runs MBT timing everywhere in the likely case; the least knock margin is +5.1"
            ),
            "{said:?}"
        );
        assert!(said[1].starts_with("The knock margin is larger than its own uncertainty"), "{said:?}");
    }

    #[test]
    fn one_fuel_that_knocks_is_not_called_one_of_several() {
        let mut estimate = fixture::estimate();
        estimate.fuels.truncate(1);
        let said = estimate.matters()[0].say(Units::Metric);
        assert!(
            said.starts_with("On pump-a knock retards timing from MBT by up to 9 deg, at 2000 rpm"),
            "{said}"
        );
    }
}
