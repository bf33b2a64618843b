//! Dips and humps of a pull, in words: where they are, what may make them, and what to look at.

use crate::dyno::{Bump, LocalCause, Signs};

/// Causes that are named: at most so many, of at least so much of the probability.
const MOST: usize = 3;
const LEAST_SHARE: f64 = 0.08;

/// A local cause in a few words.
fn local_title(cause: LocalCause) -> &'static str {
    match cause {
        LocalCause::KnockRetard => "timing pulled for knock",
        LocalCause::ValveFloat => "valve float",
        LocalCause::Cut => "fuel or ignition cut, or misfire",
        LocalCause::WheelSlip => "wheel slip on the roller",
        LocalCause::ClutchSlip => "clutch slip",
        LocalCause::Tuning => "a wave in intake or exhaust, or a cam or intake that switches over",
        LocalCause::PickUp => "the rpm pick-up skips",
    }
}

/// What to look at.
fn local_look_at(cause: LocalCause) -> &'static str {
    match cause {
        LocalCause::KnockRetard => {
            "timing and knock logged there, intake temperature, fuel; try 2 to 4 deg less there"
        }
        LocalCause::ValveFloat => "valve springs, lifters, cam profile; do not rev higher until it is found",
        LocalCause::Cut => "limiter, fuel pressure and injector duty, coils and plugs, lambda there",
        LocalCause::WheelSlip => "tyre and strap pressure, rpm against roller speed; pull in a higher gear",
        LocalCause::ClutchSlip => "rpm against roller speed, clutch disc and its adjustment",
        LocalCause::Tuning => {
            "whether it is there in every pull; runner and primary lengths, switching rpm of cam or intake flap"
        }
        LocalCause::PickUp => "rpm pick-up and its lead, filter of the rpm channel",
    }
}

/// A dip or hump: how far, where, in which pulls, and what else is logged there.
pub(in crate::report::dyno) fn bump(bump: &Bump) -> String {
    let what = match (bump.is_dip(), bump.returns) {
        (true, true) => "dips by",
        (true, false) => "drops by",
        (false, _) => "humps by",
    };
    let end = if bump.returns { "" } else { " and does not come back" };
    let pulls = match (bump.pulls, bump.of_pulls) {
        (_, 1) => String::new(),
        (pulls, of) => format!(", in {pulls} of {of} pulls"),
    };
    format!(
        "torque {what} {:.0} % at {:.0} rpm{end} ({:.0} to {:.0} rpm, line {}{pulls}){}",
        100.0 * bump.off_frac.abs(),
        bump.at_rpm,
        bump.from_rpm,
        bump.to_rpm,
        bump.line,
        signs(&bump.signs)
    )
}

/// Signs that are seen, as far as they are large enough to say something.
fn signs(signs: &Signs) -> String {
    let mut seen: Vec<String> = Vec::new();
    match signs.knocks {
        Some(true) => seen.push("knock is counted there".to_owned()),
        Some(false) => seen.push("no knock is counted there".to_owned()),
        None => {}
    }
    if let Some(deg) = signs.timing_deg.filter(|deg| deg.abs() >= 1.0) {
        let way = if deg < 0.0 { "less" } else { "more" };
        seen.push(format!("timing is {:.0} deg {way} than on either side", deg.abs()));
    }
    if let Some(lambda) = signs.lambda.filter(|lambda| lambda.abs() >= 0.02) {
        let way = if lambda < 0.0 { "richer" } else { "leaner" };
        seen.push(format!("the mixture is {:.2} lambda {way}", lambda.abs()));
    }
    if let Some(ratio) = signs.rpm_step_ratio.filter(|ratio| *ratio > 1.6) {
        seen.push(format!("rpm flares up, {ratio:.1} times the usual step from row to row"));
    }
    if let Some(frac) = signs.power_frac.filter(|frac| frac.abs() > 0.02) {
        seen.push(format!("power leaves torque times rpm by {:.0} %", 100.0 * frac.abs()));
    }
    if seen.is_empty() { String::new() } else { format!("; {}", seen.join(", ")) }
}

/// The causes that are named, with their shares and what to look at.
pub(in crate::report::dyno) fn local_causes(bump: &Bump) -> String {
    let named = bump.causes.iter().take(MOST).enumerate().filter(|(i, c)| *i == 0 || c.share >= LEAST_SHARE);
    let said: Vec<String> = named
        .map(|(_, c)| {
            let (title, look_at) = (local_title(c.cause), local_look_at(c.cause));
            format!("{:.0} %: {title} (look at: {look_at})", 100.0 * c.share)
        })
        .collect();
    said.join("; ")
}

/// The worst dip with its first cause, as a sentence.
pub(super) fn first(bumps: &[Bump]) -> Option<String> {
    let worst = bumps.iter().max_by(|a, b| a.off_frac.abs().total_cmp(&b.off_frac.abs()))?;
    let first = worst.causes.first()?;
    Some(format!(
        " {} of {:.0} % at {:.0} rpm, most likely ({:.0} %) {}.",
        if worst.is_dip() { "Dip" } else { "Hump" },
        100.0 * worst.off_frac.abs(),
        worst.at_rpm,
        100.0 * first.share,
        local_title(first.cause)
    ))
}
