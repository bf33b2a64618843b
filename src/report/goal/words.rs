//! The plain sentences that say whether a goal can be had.

use crate::engine::Figure;
use crate::goal::{BuildDepth, DemandPoint, FuelChance, Goal, GoalVerdict, Idle, Lever, Part, Way};
use crate::report::Units;
use crate::report::quantity::Dimension::{PistonSpeed, Power, Pressure};
use crate::report::quantity::{fixed, percent, signed};
use crate::report::words::{Say, said};
use crate::units::PA_PER_BAR;

/// A verdict in the trade's words.
pub(in crate::report) fn verdict_word(verdict: GoalVerdict) -> &'static str {
    match verdict {
        GoalVerdict::AlreadyReached => "already reached",
        GoalVerdict::Likely => "likely",
        GoalVerdict::NeedsTopEndWork => "needs top-end work",
        GoalVerdict::NeedsFullBuild => "needs a full build",
        GoalVerdict::NeedsRaceBuild => "needs a race build",
        GoalVerdict::Doubtful => "doubtful",
        GoalVerdict::NotCredible => "not credible",
    }
}

/// Yes or no, with the verdict in its words.
pub(in crate::report) fn yes_or_no(verdict: GoalVerdict) -> String {
    let word = verdict_word(verdict);
    match verdict {
        GoalVerdict::AlreadyReached => format!("Yes: {word} as built."),
        GoalVerdict::Likely => format!("Yes: {word} as built."),
        GoalVerdict::NeedsTopEndWork | GoalVerdict::NeedsFullBuild | GoalVerdict::NeedsRaceBuild => {
            format!("Not as built: {word}.")
        }
        GoalVerdict::Doubtful => format!("{word}, even with a race build.").replacen('d', "D", 1),
        GoalVerdict::NotCredible => format!("No: {word}, even with a race build."),
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

/// A power with its unit.
pub(super) fn power(kw: f64, units: Units) -> String {
    format!("{} {}", bare(kw, units), units.symbol(Power))
}

/// A power without its unit.
fn bare(kw: f64, units: Units) -> String {
    fixed(units.of(Power, kw), digits(kw))
}

/// The answer in a few sentences, yes or no first.
pub(in crate::report) fn answer(goal: &Goal, units: Units) -> Vec<String> {
    let Some(own) = goal.chances.first() else { return Vec::new() };
    let mut said = vec![yes_or_no(goal.verdict), as_built(own, goal, units)];
    said.extend(what_it_takes(own, goal, units));
    said.extend(other_fuels(own, goal, units));
    said
}

/// What the engine as built makes, and how often it reaches the goal.
pub(in crate::report) fn as_built(own: &FuelChance, goal: &Goal, units: Units) -> String {
    let band = own.wheel_power_kw;
    let decimals = digits(band.low);
    let of = |kw: f64| fixed(units.of(Power, kw), decimals);
    format!(
        "On {} the engine as built makes {} / {} / {} {} at the wheels (low / likely / high); {} of cases reach {}.",
        goal.fuel,
        of(band.low),
        of(band.likely),
        of(band.high),
        units.symbol(Power),
        chance_words(own.chance_frac, goal.samples),
        power(goal.wheel_power_kw, units),
    )
}

/// The cheapest parts that reach the goal and what they ask, or the most that parts make.
pub(in crate::report) fn what_it_takes(own: &FuelChance, goal: &Goal, units: Units) -> Vec<String> {
    let range = |way: &Way| {
        let band = way.wheel_power_kw;
        format!("{} ({} to {})", power(band.likely, units), bare(band.low, units), bare(band.high, units))
    };
    match (&own.way, &own.most) {
        (Some(way), _) => vec![
            format!(
                "Cheapest way there: {}. Then likely {} at {} rpm; {} of cases reach it.{}",
                joined(&way.parts, units),
                range(way),
                fixed(way.reading.speed_rpm, 0),
                chance_words(way.chance_frac, goal.samples),
                limits_words(way, units),
            ),
            price_words(way, goal, units),
        ],
        (None, Some(most)) => vec![format!(
            "{} is {} for this build. What would be: up to about {} at the wheels, with all of this: {}.{}",
            power(goal.wheel_power_kw, units),
            verdict_word(goal.verdict),
            range(most),
            joined(&most.parts, units),
            limits_words(most, units),
        )],
        (None, None) if goal.verdict < GoalVerdict::Likely => {
            vec!["Nothing that is known can be fitted to this build.".to_owned()]
        }
        (None, None) => Vec::new(),
    }
}

/// Stated limits that parts go over.
fn limits_words(way: &Way, units: Units) -> String {
    if way.limits_passed.is_empty() {
        return String::new();
    }
    format!(" It goes over a stated limit: {}.", joined(&way.limits_passed, units))
}

/// What some parts ask of the engine and its driver.
fn price_words(way: &Way, goal: &Goal, units: Units) -> String {
    let mut said = vec![format!(
        "torque at {} rpm {} %",
        fixed(goal.low_rpm, 0),
        signed(100.0 * way.low_rpm_torque_change_frac, 0)
    )];
    said.push(match way.idle {
        Idle::AsBuilt => "idle as built".to_owned(),
        Idle::Rougher => "a rougher idle".to_owned(),
        Idle::Race => "no smooth idle".to_owned(),
    });
    said.push(format!("knock margin {} octane numbers", signed(way.octane_margin_change, 1)));
    let now = goal.as_it_is.peak_pressure_bar;
    if way.reading.peak_pressure_bar > 1.05 * now {
        let [then, now] =
            [way.reading.peak_pressure_bar, now].map(|bar| units.pressure_words(bar * PA_PER_BAR, 0));
        said.push(format!("cylinder pressure {then} (now {now})"));
    }
    let price = format!("It takes: {}.", said.join("; "));
    if way.levers.contains(&Lever::Rpm) {
        return format!("{price} {}", rpm_words(way, goal, units));
    }
    price
}

/// What more rpm asks of rods, valve gear and bearings.
fn rpm_words(way: &Way, goal: &Goal, units: Units) -> String {
    let piston = way.reading.top_mean_piston_speed_m_per_s;
    format!(
        "At {} rpm the mean piston speed is {} ({}) and rods and valve gear carry {} % more inertia load than at {}.",
        fixed(way.reading.top_rpm, 0),
        units.words(PistonSpeed, piston),
        Figure::MeanPistonSpeed.standing(piston, goal.has_several_inlets).title(),
        fixed(100.0 * way.rod_load_rise_frac, 0),
        fixed(goal.as_it_is.top_rpm, 0),
    )
}

/// How an engine idles, in one word or two.
pub(super) fn idle_word(idle: Idle) -> &'static str {
    match idle {
        Idle::AsBuilt => "as now",
        Idle::Rougher => "rougher",
        Idle::Race => "race",
    }
}

/// Other fuels of the list on which it takes less.
fn other_fuels(own: &FuelChance, goal: &Goal, units: Units) -> Vec<String> {
    // A fuel costs something too: it has to save clearly more than one part in five.
    let takes_less = |other: &&FuelChance| match (&own.way, &other.way) {
        _ if goal.verdict >= GoalVerdict::Likely => false,
        (Some(own), Some(other)) => other.cost < 0.8 * own.cost,
        _ => other.verdict > own.verdict,
    };
    let words = |other: &FuelChance| match &other.way {
        Some(way) => format!("On {}: {}.", other.fuel, joined(&way.parts, units)),
        None => format!("On {}: {}.", other.fuel, verdict_word(other.verdict)),
    };
    let found: Vec<String> = goal.chances.iter().skip(1).filter(takes_less).map(words).collect();
    if found.is_empty() {
        Vec::new()
    } else {
        vec![format!("It takes less on another fuel. {}", found.join(" "))]
    }
}

/// Findings in one row.
fn joined<T: Say>(findings: &[T], units: Units) -> String {
    said(findings, units).join("; ")
}

/// Parts in few words, for a table: the whole of the top-end work by that name.
pub(super) fn short_parts(parts: &[Part]) -> String {
    const TOP_END: [Part; 3] = [Part::Cam, Part::Head, Part::IntakeExhaust];
    let others = parts.strip_prefix(&TOP_END);
    let short = |part: &Part| match part {
        Part::Cam => "cam".to_owned(),
        Part::Head => "head".to_owned(),
        Part::IntakeExhaust => "intake, exhaust".to_owned(),
        Part::RaceTopEnd => "race top end".to_owned(),
        Part::Ratio { ratio, .. } => format!("{ratio:.1}:1"),
        Part::Fuel { name } => name.clone(),
        Part::Rpm { to_rpm, .. } => format!("{to_rpm:.0} rpm"),
    };
    let whole = others.map(|_| depth_words(BuildDepth::TopEnd).to_owned());
    whole.into_iter().chain(others.unwrap_or(parts).iter().map(short)).collect::<Vec<_>>().join(", ")
}

/// Depth of a build in the trade's words.
pub(super) fn depth_words(depth: BuildDepth) -> &'static str {
    match depth {
        BuildDepth::Fuel => "fuel",
        BuildDepth::TopEnd => "top-end work",
        BuildDepth::Full => "full build",
        BuildDepth::Race => "race build",
    }
}

/// What the goal asks at the build's own peak-power speed.
pub(super) fn demand_words(p: &DemandPoint, units: Units) -> String {
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
