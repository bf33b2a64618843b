//! What the numbers of a fuel mean to a builder.

use crate::estimate::{CurvePoint, FuelEstimate};
use crate::report::quantity::{fixed, percent};

/// Where to start on this fuel, what the likely limit is and how sure that is, in two to five sentences.
pub(in crate::report) fn verdict(fuel: &FuelEstimate, reserve_octane: f64) -> String {
    let Some(tightest) = tightest_as_used(fuel) else {
        return String::new();
    };
    let mut out = format!("On {} {} {}", fuel.name, start_words(fuel), limit_words(fuel, tightest));
    let half_width = 0.5 * (tightest.octane_margin_band.high - tightest.octane_margin_band.low);
    if (0.0..half_width).contains(&tightest.octane_margin) {
        out += &format!(
            " That margin is smaller than its own uncertainty of {}: too close to call.",
            fixed(half_width, 1)
        );
    }
    if let Some(speeds) = speeds_where(fuel, |p| p.knock_limited_spark_deg_btdc.is_none()) {
        let reserve = fixed(reserve_octane, 1);
        out += &format!(
            " No timing in the searched range keeps the safety margin of {reserve} octane numbers {speeds}."
        );
    }
    out
}

/// The timing to start from, as one sentence without its subject.
fn start_words(fuel: &FuelEstimate) -> String {
    if let Some(speeds) = speeds_where(fuel, |p| p.cautious_spark_deg_btdc.is_none()) {
        return format!("no timing in the searched range is knock-free in 9 cases of 10 {speeds}.");
    }
    let most = fuel.curve.iter().filter_map(|p| Some((p.speed_rpm, start_retard_deg(p)?)));
    let (rpm, most_deg) = most.max_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or_default();
    let place = if most_deg < LEAST_RETARD_DEG {
        "at MBT timing".to_owned()
    } else {
        format!("retarded from MBT by up to {} deg (at {} rpm)", degrees(most_deg), fixed(rpm, 0))
    };
    format!("start {place}: knock-free in 9 cases of 10.")
}

/// The likely limit with its knock margin and the share of cases that knock there, as a sentence.
fn limit_words(fuel: &FuelEstimate, tightest: &CurvePoint) -> String {
    let rpm = fixed(tightest.speed_rpm, 0);
    let margin = fixed(tightest.octane_margin, 1);
    let octane = if let Some(short) = margin.strip_prefix('-') {
        format!("the fuel is {short} octane numbers short there at {rpm} rpm and knocks")
    } else if margin == "0.0" {
        format!("no knock margin is left there at {rpm} rpm")
    } else {
        format!("with a knock margin of at least {margin} octane numbers ({rpm} rpm is the worst)")
    };
    let place = match speeds_where(fuel, |p| p.knock_limited) {
        Some(speeds) => format!("retarded from MBT {speeds}, {}", most_retard(fuel)),
        None => "MBT timing everywhere".to_owned(),
    };
    let worst = fuel.curve.iter().min_by(|a, b| b.knock_probability.total_cmp(&a.knock_probability));
    let knocks = worst.filter(|p| p.knock_probability > 0.0).map_or_else(String::new, |p| {
        let (share, rpm) = (percent(p.knock_probability, 0), fixed(p.speed_rpm, 0));
        format!(" Run at that limit, {share} % of cases would knock at {rpm} rpm.")
    });
    format!("The likely limit is {place}, {octane}.{knocks}")
}

/// The point of the curve with the least octane margin at the timing used.
pub(in crate::report) fn tightest_as_used(fuel: &FuelEstimate) -> Option<&CurvePoint> {
    fuel.curve.iter().min_by(|a, b| a.octane_margin.total_cmp(&b.octane_margin))
}

/// Retard from MBT timing at which it begins to count [deg]: what the search of MBT timing may be off by.
const LEAST_RETARD_DEG: f64 = 0.1;

/// Retard of the likely limit from MBT timing at a point [deg]; never negative.
fn spark_given_up_deg(point: &CurvePoint) -> f64 {
    (point.best_torque_spark_deg_btdc - point.spark_deg_btdc).max(0.0)
}

/// Retard of the timing to start from, from MBT timing at a point [deg]; never negative, none without such a timing.
pub(in crate::report) fn start_retard_deg(point: &CurvePoint) -> Option<f64> {
    Some((point.best_torque_spark_deg_btdc - point.cautious_spark_deg_btdc?).max(0.0))
}

fn most_retard(fuel: &FuelEstimate) -> String {
    let most_deg = fuel.curve.iter().map(spark_given_up_deg).fold(0.0, f64::max);
    if most_deg < 1.0 {
        "by less than 1 deg".to_owned()
    } else {
        format!("by up to {} deg", degrees(most_deg))
    }
}

/// Whole degrees, or tenths below one.
fn degrees(deg: f64) -> String {
    fixed(deg, if deg < 1.0 { 1 } else { 0 })
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
        return Some("at every rpm".to_owned());
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
    fn a_limited_fuel_says_where_to_start_and_how_often_its_limit_knocks() {
        let mut fuel = gasoline();
        fuel.curve[1].knock_probability = 0.44;
        let text = verdict(&fuel, 1.0);
        assert!(
            text.starts_with(
                "On pump-a start retarded from MBT by up to 12 deg (at 2000 rpm): knock-free in 9 cases of 10. The \
                 likely limit is retarded from MBT between 2000 and 5000 rpm, by up to 9 deg, with a knock margin of at \
                 least 1.0 octane numbers (2000 rpm is the worst)."
            ),
            "{text}"
        );
        assert!(text.contains("Run at that limit, 44 % of cases would knock at 3000 rpm."), "{text}");
        assert!(text.ends_with("its own uncertainty of 3.0: too close to call."), "{text}");
    }

    #[test]
    fn a_trace_of_retard_is_not_called_none() {
        let mut fuel = gasoline();
        for point in &mut fuel.curve {
            point.knock_limited = true;
            point.spark_deg_btdc = point.best_torque_spark_deg_btdc - 0.4;
            point.cautious_spark_deg_btdc = Some(point.spark_deg_btdc);
        }
        let text = verdict(&fuel, 1.0);
        assert!(text.contains("start retarded from MBT by up to 0.4 deg"), "{text}");
        assert!(text.contains("retarded from MBT at every rpm, by less than 1 deg,"), "{text}");
    }

    #[test]
    fn a_fuel_without_limit_says_so() {
        let fuel = fixture::estimate().fuels.swap_remove(1);
        let text = verdict(&fuel, 1.0);
        assert_eq!(
            text,
            "On pump-b start at MBT timing: knock-free in 9 cases of 10. The likely limit is MBT timing everywhere, \
             with a knock margin of at least 5.1 octane numbers (2000 rpm is the worst)."
        );
    }

    #[test]
    fn a_short_fuel_is_said_to_knock_and_to_have_no_start() {
        let mut fuel = gasoline();
        fuel.curve[0].octane_margin = -2.04;
        fuel.curve[0].knock_limited_spark_deg_btdc = None;
        fuel.curve[0].cautious_spark_deg_btdc = None;
        fuel.curve[2].knock_limited = false;
        let text = verdict(&fuel, 1.0);
        assert!(text.contains("is knock-free in 9 cases of 10 at 2000 rpm."), "{text}");
        assert!(text.contains("between 2000 and 3000 rpm and at 5000 rpm"), "{text}");
        assert!(text.contains("is 2.0 octane numbers short there at 2000 rpm and knocks"), "{text}");
        assert!(text.contains("keeps the safety margin of 1.0 octane numbers at 2000 rpm."), "{text}");
    }

    #[test]
    fn no_margin_and_no_limit_is_not_called_a_margin() {
        let mut fuel = gasoline();
        for point in &mut fuel.curve {
            point.knock_limited = false;
            point.octane_margin = 0.0;
        }
        let text = verdict(&fuel, 1.0);
        assert!(text.contains("MBT timing everywhere, no knock margin is left there"), "{text}");
    }
}
