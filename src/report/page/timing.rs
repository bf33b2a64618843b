//! Timing and knock of all fuels in two sentences.

use super::short_name;
use crate::estimate::{CurvePoint, FuelEstimate};
use crate::report::quantity::fixed;
use crate::report::words::{start_retard_deg, tightest_as_used};

/// Fuels named in a sentence; those after them are counted.
const NAMED: usize = 3;

/// Where to start, in one sentence.
pub(super) fn timing(fuels: &[FuelEstimate]) -> String {
    let cannot: Vec<&FuelEstimate> = fuels.iter().filter(|fuel| fuel.start_peak_power.is_none()).collect();
    let points = fuels.iter().filter(|fuel| fuel.start_peak_power.is_some());
    let retards = points.flat_map(|fuel| {
        fuel.curve.iter().filter_map(move |p| Some((fuel, p.speed_rpm, start_retard_deg(p)?)))
    });
    let most = retards.max_by(|a, b| a.2.total_cmp(&b.2));
    let place = match most {
        None => {
            return "On no fuel of the list is any ignition timing safe to start from at every rpm: not for full throttle as built."
                .to_owned();
        }
        Some((fuel, rpm, deg)) => match fixed(deg, 0).as_str() {
            "0" => "at MBT timing (minimum advance for best torque)".to_owned(),
            deg => format!(
                "from the table \"Timing by rpm\", up to {deg} degrees retarded from MBT (minimum advance for best torque), on {} at {} rpm",
                short_name(&fuel.name),
                fixed(rpm, 0)
            ),
        },
    };
    let but = if cannot.is_empty() {
        String::new()
    } else {
        format!(
            "; not at full throttle on {}, where no timing allowed is safe to start from at some rpm",
            named(&cannot)
        )
    };
    format!("Start {place}: knock-free in 9 cases of 10{but}.")
}

/// How far the likely knock limit can be trusted, in one sentence.
pub(super) fn knock(fuels: &[FuelEstimate]) -> String {
    let worst = fuels.iter().filter_map(|fuel| Some((fuel, tightest_as_used(fuel)?)));
    let unsure: Vec<&FuelEstimate> =
        worst.clone().filter(|(_, point)| cannot_be_told(point)).map(|(fuel, _)| fuel).collect();
    if unsure.is_empty() {
        let least = worst.min_by(|a, b| a.1.octane_margin.total_cmp(&b.1.octane_margin));
        return least.map_or_else(String::new, |(fuel, point)| {
            format!(
                "At the likely knock limit at least {} octane numbers of knock margin are left ({} at {} rpm), more than that margin is \
                 uncertain by.",
                fixed(point.octane_margin, 1),
                short_name(&fuel.name),
                fixed(point.speed_rpm, 0)
            )
        });
    }
    let points = unsure.iter().flat_map(|fuel| &fuel.curve);
    let knocks = points.map(|p| p.knock_probability).fold(0.0, f64::max);
    format!(
        "Do not set the likely knock limit on {} right away: about {} of ten such engines would knock there, so start retarded, listen \
         for knock and add timing.",
        named(&unsure),
        fixed((10.0 * knocks).max(1.0), 0)
    )
}

/// The first fuels by name, and how many more.
fn named(fuels: &[&FuelEstimate]) -> String {
    // One left over is as long by name as by count.
    let shown = if fuels.len() == NAMED + 1 { NAMED + 1 } else { NAMED };
    let mut parts: Vec<String> = fuels.iter().take(shown).map(|fuel| short_name(&fuel.name)).collect();
    if fuels.len() > shown {
        parts.push(format!("{} others", fuels.len() - shown));
    }
    let last = parts.pop().unwrap_or_default();
    if parts.is_empty() { last } else { format!("{} and {last}", parts.join(", ")) }
}

/// Whether a margin is smaller than the half width of its own band.
fn cannot_be_told(point: &CurvePoint) -> bool {
    let band = point.octane_margin_band;
    point.octane_margin < 0.5 * (band.high - band.low)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    #[test]
    fn the_fuel_that_starts_latest_is_named_and_one_that_cannot_start() {
        let mut fuels = fixture::estimate().fuels;
        let text = timing(&fuels);
        assert!(text.contains("up to 12 degrees retarded from MBT"), "{text}");
        assert!(text.ends_with("on pump-a at 2000 rpm: knock-free in 9 cases of 10."), "{text}");
        let text = timing(&fuels[1..]);
        assert!(text.starts_with("Start at MBT timing (") && text.ends_with("9 cases of 10."), "{text}");
        fuels[0].start_peak_power = None;
        let text = timing(&fuels);
        assert!(text.contains("; not at full throttle on pump-a, where no timing"), "{text}");
        assert!(timing(&fuels[..1]).contains("not for full throttle as built"));
    }

    #[test]
    fn a_limit_too_close_to_call_is_not_to_be_set_and_another_has_its_margin() {
        let fuels = fixture::estimate().fuels;
        let text = knock(&fuels);
        assert!(
            text.starts_with(
                "Do not set the likely knock limit on pump-a right away: about 4 of ten such engines"
            ),
            "{text}"
        );
        let text = knock(&fuels[1..]);
        assert!(
            text.starts_with("At the likely knock limit at least 5.1 octane numbers")
                && text.contains("pump-b at"),
            "{text}"
        );
    }

    #[test]
    fn a_long_list_of_fuels_is_named_and_counted() {
        let one = fixture::estimate().fuels.swap_remove(0);
        let fuels = vec![one; 12];
        let names = named(&fuels.iter().collect::<Vec<_>>());
        assert_eq!(names, "pump-a, pump-a, pump-a and 9 others");
        assert_eq!(named(&[&fuels[0], &fuels[1]]), "pump-a and pump-a");
    }
}
