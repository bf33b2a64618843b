//! What a judgement and a fit say, in sentences. In metric units they are those of the JSON form.

mod checks;
mod fit;
mod notes;
mod reason;

pub use checks::check_title;
pub(super) use checks::{look_at, source, unit, what};
pub(super) use fit::{fit_alarms, fit_notes, parameter, parameter_unit, told};
pub(super) use notes::{lack, note};
pub(super) use reason::reason;

use crate::dyno::{Check, CheckName, Judgement, Verdict};

/// Standing cautions of every judgement.
pub(super) const CAUTIONS: [&str; 4] = [
    "A check that passes is no proof: two errors can cancel, and the estimate can be wrong where the scenario is.",
    "Not a calibration: listen for knock with proper equipment and retard the timing; never cure knock with a leaner mixture.",
    "Ethanol content varies from fill to fill: measure it. Fuel vapour burns and explodes.",
    "Local emissions and road law, and the judgement of the licensed or qualified practitioner, come first.",
];

/// A verdict as it begins a sentence.
pub(super) fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Consistent => "Consistent",
        Verdict::Doubtful => "Doubtful",
        Verdict::NotCredible => "Not credible",
    }
}

/// The checks of a verdict, causes before effects.
pub(super) fn of_verdict(j: &Judgement, verdict: Verdict) -> Vec<&Check> {
    let mut found: Vec<&Check> = j.checks.iter().filter(|check| check.verdict == verdict).collect();
    found.sort_by_key(|check| !check.name.is_cause());
    found
}

fn titles(checks: impl IntoIterator<Item = CheckName>) -> String {
    checks.into_iter().map(check_title).collect::<Vec<_>>().join(", ")
}

/// The verdict in a line.
pub(super) fn summary(j: &Judgement) -> String {
    let count = j.checks.len();
    let titles = |of: Verdict| titles(of_verdict(j, of).into_iter().map(|check| check.name));
    let doubtful = match titles(Verdict::Doubtful) {
        doubtful if doubtful.is_empty() || j.verdict != Verdict::NotCredible => String::new(),
        doubtful => format!("; doubtful: {doubtful}"),
    };
    match j.verdict {
        Verdict::Consistent => format!("Consistent: all {count} checks pass."),
        worst => format!("{}: {} (of {count} checks){doubtful}.", verdict(worst), titles(worst)),
    }
}

/// Why a pull was not fitted: the checks by which it is not credible, in the order made.
pub(super) fn not_fitted(j: &Judgement) -> String {
    let failed = j.checks.iter().filter(|check| check.verdict == Verdict::NotCredible);
    let titles = titles(failed.map(|check| check.name));
    format!("Not fitted: the pull is not credible by {titles}. --fit-anyway fits it all the same.")
}
