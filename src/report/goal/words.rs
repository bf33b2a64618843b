//! The plain sentences that say whether a goal can be had.

use crate::goal::{ChangePlan, DemandPoint, Goal, GoalVerdict};
use crate::report::Units;
use crate::report::quantity::Dimension::{Power, Pressure};
use crate::report::quantity::{fixed, percent};
use crate::report::words::{Say, said};

/// A verdict in the trade's words.
pub(in crate::report) fn verdict_word(verdict: GoalVerdict) -> &'static str {
    match verdict {
        GoalVerdict::AlreadyReached => "already reached",
        GoalVerdict::Likely => "likely",
        GoalVerdict::Possible => "possible",
        GoalVerdict::Unlikely => "unlikely",
        GoalVerdict::NotCredible => "not credible",
    }
}

/// A chance with no more digits than the samples bear: at its ends the share that three samples would be,
/// or 1 %.
pub(in crate::report) fn chance_words(chance: f64, samples: usize) -> String {
    // None of n samples: with 95 % confidence the chance is below 3/n (rule of three).
    let end = (3.0 / samples as f64).max(0.01);
    let end_percent = (100.0 * end - 1e-9).ceil();
    if chance < end {
        format!("<{end_percent:.0} %")
    } else if chance > 1.0 - end {
        format!(">{:.0} %", 100.0 - end_percent)
    } else {
        format!("{} %", percent(chance, 0))
    }
}

/// The standard error of a chance, in points.
pub(super) fn error_words(error: f64) -> String {
    format!("+/-{}", fixed((100.0 * error).max(1.0), 0))
}

/// A power, in horsepower beside it where it is metric.
pub(in crate::report) fn power_words(power_kw: f64, units: Units) -> String {
    let [kw, hp] = [Units::Metric, Units::Us]
        .map(|u| format!("{} {}", fixed(u.of(Power, power_kw), digits(power_kw)), u.symbol(Power)));
    match units {
        Units::Metric => format!("{kw} ({hp})"),
        Units::Us => hp,
    }
}

/// Decimals of a power.
pub(in crate::report) fn digits(power_kw: f64) -> usize {
    if power_kw < 20.0 { 1 } else { 0 }
}

/// The answer in a few sentences.
pub(in crate::report) fn answer(goal: &Goal, units: Units) -> Vec<String> {
    let power = |kw: f64| format!("{} {}", fixed(units.of(Power, kw), digits(kw)), units.symbol(Power));
    let wanted = power(goal.wheel_power_kw);
    let Some(own) = goal.chances.first() else { return Vec::new() };
    let word = verdict_word(goal.verdict);
    let mut said = vec![format!(
        "{}{}: on {} the engine as built makes {} / {} / {} at the wheels (low / likely / high); {} of cases reach {wanted}.",
        word[..1].to_uppercase(),
        &word[1..],
        goal.fuel,
        fixed(units.of(Power, own.wheel_power_kw.low), digits(own.wheel_power_kw.low)),
        fixed(units.of(Power, own.wheel_power_kw.likely), digits(own.wheel_power_kw.low)),
        power(own.wheel_power_kw.high),
        chance_words(own.chance_frac, goal.samples),
    )];
    said.push(demand_words(&goal.own_peak, units));
    let others: Vec<&str> = goal
        .chances
        .iter()
        .skip(1)
        .filter(|c| c.verdict >= GoalVerdict::Likely && !goal.reached_in_likely_case)
        .map(|c| c.fuel.as_str())
        .collect();
    if !others.is_empty() {
        said.push(format!("With no other change it is reached in the likely case on {}.", others.join(", ")));
    }
    match (&goal.plan, &goal.most) {
        (Some(plan), _) => {
            said.push(plan_words(plan, units));
            said.extend(goal.gentler.as_ref().map(|plan| {
                format!("Smaller changes that add up: {}; likely {}.", joined(&plan.changes, units), power(plan.reading.wheel_power_kw))
            }));
        }
        (None, Some(most)) if goal.verdict == GoalVerdict::NotCredible => said.push(format!(
            "{wanted} is not credible for this build: no combination of credible changes reaches it inside the bands of race engines. What would be: up to about {} at the wheels in the likely case, and that with all of this: {}.",
            power(most.reading.wheel_power_kw),
            joined(&most.changes, units)
        )),
        (None, Some(most)) => said.push(format!(
            "No combination of credible changes reaches it in the likely case inside the bands of race engines; the most is about {}: {}.",
            power(most.reading.wheel_power_kw),
            joined(&most.changes, units)
        )),
        (None, None) if !goal.reached_in_likely_case => {
            said.push("No change that is known can be made to this build.".to_owned());
        }
        (None, None) => {}
    }
    said
}

/// Findings in one row.
fn joined<T: Say>(findings: &[T], units: Units) -> String {
    said(findings, units).join("; ")
}

fn plan_words(plan: &ChangePlan, units: Units) -> String {
    let count = plan.changes.len();
    let start = if count == 1 {
        "One change reaches it in the likely case".to_owned()
    } else {
        format!("The fewest changes that reach it in the likely case are {count}")
    };
    let limits = if plan.limits_passed.is_empty() {
        String::new()
    } else {
        format!(
            " It goes over a limit of the scenario ({}); no combination stays within them.",
            joined(&plan.limits_passed, units)
        )
    };
    format!(
        "{start}: {}; likely {} {} at {} rpm.{limits}",
        joined(&plan.changes, units),
        fixed(units.of(Power, plan.reading.wheel_power_kw), digits(plan.reading.wheel_power_kw)),
        units.symbol(Power),
        fixed(plan.reading.speed_rpm, 0)
    )
}

/// What the goal asks at the build's own peak-power speed.
fn demand_words(p: &DemandPoint, units: Units) -> String {
    let crank = p.crank_power_kw;
    let decimals = digits(crank.low);
    format!(
        "You need {} / {} / {} {} at the flywheel (low / likely / high driveline loss). At {} rpm, where the engine as built has peak power, that is {} {} BMEP ({}) where the build gives {}, and a VE of {} ({}){}.",
        fixed(units.of(Power, crank.low), decimals),
        fixed(units.of(Power, crank.likely), decimals),
        fixed(units.of(Power, crank.high), decimals),
        units.symbol(Power),
        fixed(p.speed_rpm, 0),
        fixed(units.of(Pressure, p.bmep_bar.likely), Pressure.unit(units).digits),
        units.symbol(Pressure),
        p.bmep_standing.title(),
        fixed(units.of(Pressure, p.build_bmep_bar), Pressure.unit(units).digits),
        fixed(p.volumetric_efficiency, 2),
        p.volumetric_efficiency_standing.title(),
        if p.fuel_allows_it {
            ""
        } else {
            ", for which knock leaves no timing or which is far beyond the build"
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_have_the_digits_that_samples_bear() {
        // HAND: 3/400 is 0.75 %, below 1 %; 3/50 is 6 %; 3/70 is 4.3 %, so 5 %.
        for (chance, samples, words) in [
            (0.0, 400, "<1 %"),
            (0.0099, 400, "<1 %"),
            (0.013, 400, "1 %"),
            (0.475, 400, "48 %"),
            (0.996, 400, ">99 %"),
            (1.0, 400, ">99 %"),
            (0.0, 50, "<6 %"),
            (1.0, 50, ">94 %"),
            (0.0, 70, "<5 %"),
        ] {
            assert_eq!(chance_words(chance, samples), words, "{chance} of {samples}");
        }
    }
}
