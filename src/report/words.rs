//! The plain sentences that say what the numbers mean to a builder.

use super::quantity::{fixed, percent};
use crate::estimate::{CurvePoint, FuelEstimate};

/// What knock does on this fuel, in one to three sentences.
pub(super) fn verdict(fuel: &FuelEstimate, reserve_octane: f64) -> String {
    let Some(tightest) = tightest_as_used(fuel) else {
        return String::new();
    };
    let mut out = format!("On {} {}.", fuel.name, spark_and_margin(fuel, tightest));
    let half_width = 0.5 * (tightest.octane_margin_band.high - tightest.octane_margin_band.low);
    if (0.0..half_width).contains(&tightest.octane_margin) {
        out += &format!(
            " That is less than the half width of its own 10-90 band, {}: the margin cannot be told from \
             zero{}.",
            fixed(half_width, 1),
            share_that_knocks(tightest)
        );
    }
    if let Some(speeds) = speeds_where(fuel, |p| p.knock_limited_spark_deg_btdc.is_none()) {
        let reserve = fixed(reserve_octane, 1);
        out += &format!(
            " No spark in the searched range holds the wanted reserve of {reserve} octane numbers {speeds}."
        );
    }
    out
}

fn spark_and_margin(fuel: &FuelEstimate, tightest: &CurvePoint) -> String {
    let margin = fixed(tightest.octane_margin, 1);
    let rpm = fixed(tightest.speed_rpm, 0);
    let in_hand = if margin == "0.0" {
        format!("the end gas has no octane in hand at {rpm} rpm")
    } else if let Some(short) = margin.strip_prefix('-') {
        format!("the fuel is {short} octane numbers short at {rpm} rpm, so the end gas knocks")
    } else {
        format!("the end gas keeps at least {margin} octane numbers in hand")
    };
    match speeds_where(fuel, |p| p.knock_limited) {
        Some(speeds) => {
            format!("knock holds the spark back {speeds}, {}; {in_hand}", most_given_up(fuel))
        }
        None if margin.starts_with(|c| c != '-' && c != '0')
            || margin.starts_with("0.") && margin != "0.0" =>
        {
            format!(
                "best-torque spark can be used everywhere with at least {margin} octane numbers in hand \
                 ({rpm} rpm is the tightest)"
            )
        }
        None => format!("best-torque spark is used everywhere; {in_hand}"),
    }
}

/// The point of the curve with the least octane margin at the spark used.
pub(super) fn tightest_as_used(fuel: &FuelEstimate) -> Option<&CurvePoint> {
    fuel.curve.iter().min_by(|a, b| a.octane_margin.total_cmp(&b.octane_margin))
}

/// Degrees of spark given up to knock at a point; never negative.
pub(super) fn spark_given_up_deg(point: &CurvePoint) -> f64 {
    (point.best_torque_spark_deg_btdc - point.spark_deg_btdc).max(0.0)
}

/// The share of samples that knock at a point, as the end of a sentence; empty when none does.
fn share_that_knocks(point: &CurvePoint) -> String {
    if point.knock_probability > 0.0 {
        format!(
            ", and {} % of the samples knock at {} rpm",
            percent(point.knock_probability, 0),
            fixed(point.speed_rpm, 0)
        )
    } else {
        String::new()
    }
}

fn most_given_up(fuel: &FuelEstimate) -> String {
    let most_deg = fuel.curve.iter().map(spark_given_up_deg).fold(0.0, f64::max);
    if most_deg < 1.0 {
        "by less than 1 deg".to_owned()
    } else {
        format!("by up to {} deg", fixed(most_deg, 0))
    }
}

/// Speeds of the curve at which something holds, in words; none when it holds nowhere.
fn speeds_where(fuel: &FuelEstimate, holds: impl Fn(&CurvePoint) -> bool) -> Option<String> {
    let mut runs: Vec<(f64, f64)> = Vec::new();
    let mut open = false;
    for point in &fuel.curve {
        if holds(point) {
            match runs.last_mut() {
                Some(run) if open => run.1 = point.speed_rpm,
                _ => runs.push((point.speed_rpm, point.speed_rpm)),
            }
            open = true;
        } else {
            open = false;
        }
    }
    if fuel.curve.iter().all(&holds) && fuel.curve.len() > 1 {
        return Some("at every speed".to_owned());
    }
    let spoken: Vec<String> = runs
        .iter()
        .map(|&(first, last)| {
            if first < last {
                format!("between {} and {} rpm", fixed(first, 0), fixed(last, 0))
            } else {
                format!("at {} rpm", fixed(first, 0))
            }
        })
        .collect();
    (!spoken.is_empty()).then(|| spoken.join(" and "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    fn gasoline() -> FuelEstimate {
        fixture::estimate().fuels.swap_remove(0)
    }

    #[test]
    fn a_limited_fuel_names_speeds_degrees_and_margin() {
        let mut fuel = gasoline();
        fuel.curve[0].knock_probability = 0.25;
        fuel.curve[1].knock_probability = 0.34;
        fuel.curve[2..].iter_mut().for_each(|p| p.knock_probability = 0.1);
        let text = verdict(&fuel, 1.0);
        assert!(text.starts_with(
            "On pump-a knock holds the spark back between 2000 and 5000 rpm, by up to 9 deg; \
             the end gas keeps at least 1.0 octane numbers in hand."
        ));
        assert!(
            text.contains("10-90 band, 3.0: the margin cannot be told from zero, and 25 % of the samples")
        );
        assert!(text.ends_with("knock at 2000 rpm."), "{text}");
    }

    #[test]
    fn a_trace_of_retard_is_not_called_none() {
        let mut fuel = gasoline();
        for point in &mut fuel.curve {
            point.knock_limited = true;
            point.spark_deg_btdc = point.best_torque_spark_deg_btdc - 0.4;
        }
        let text = verdict(&fuel, 1.0);
        assert!(text.contains("holds the spark back at every speed, by less than 1 deg;"), "{text}");
    }

    #[test]
    fn a_fuel_without_limit_says_so() {
        let fuel = fixture::estimate().fuels.swap_remove(1);
        let text = verdict(&fuel, 1.0);
        assert!(
            text.starts_with("On pump-b best-torque spark can be used everywhere with at least 5.1 octane")
        );
        assert!(!text.contains("cannot be told"));
    }

    #[test]
    fn a_short_fuel_is_said_to_knock() {
        let mut fuel = gasoline();
        fuel.curve[0].octane_margin = -2.04;
        fuel.curve[0].knock_limited_spark_deg_btdc = None;
        fuel.curve[2].knock_limited = false;
        let text = verdict(&fuel, 1.0);
        assert!(text.contains("between 2000 and 3000 rpm and at 5000 rpm"), "{text}");
        assert!(text.contains("is 2.0 octane numbers short at 2000 rpm"), "{text}");
        assert!(text.contains("No spark in the searched range holds the wanted reserve of 1.0"), "{text}");
        assert!(text.ends_with("at 2000 rpm."), "{text}");
    }

    #[test]
    fn no_margin_and_no_limit_is_not_called_in_hand() {
        let mut fuel = gasoline();
        for point in &mut fuel.curve {
            point.knock_limited = false;
            point.octane_margin = 0.0;
        }
        let text = verdict(&fuel, 1.0);
        assert!(
            text.contains("best-torque spark is used everywhere; the end gas has no octane in hand"),
            "{text}"
        );
    }
}
