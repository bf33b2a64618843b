//! What a judgement and a fit say, in sentences. In metric units they are those of the JSON form.

mod causes;
mod checks;
mod dips;
mod fit;
mod notes;
mod reason;
mod sizes;

pub(super) use causes::{look_at as look_at_cause, ranked as ranked_causes, title as cause_title};
pub use checks::check_title;
pub(super) use checks::{look_at, source, unit, what};
pub(super) use dips::{bump, local_causes};
pub(super) use fit::{fit_alarms, fit_notes, parameter, parameter_unit, told};
pub(super) use notes::{lack, note};
pub(super) use reason::reason;
pub(super) use sizes::{SaidSize, pipes_moved, sizes};

use crate::dyno::{Check, CheckName, Judgement, Subject, SubjectVerdict, Verdict};

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

/// What checks are about.
pub(super) fn subject(subject: Subject) -> &'static str {
    match subject {
        Subject::Curve => "torque curve",
        Subject::Dips => "dips and humps",
        Subject::Correction => "correction",
        Subject::Mixture => "mixture",
        Subject::Rows => "rows",
        Subject::Pulls => "pulls",
    }
}

/// The findings that are not consistent, worst first.
pub(super) fn failing(j: &Judgement) -> Vec<&SubjectVerdict> {
    let mut found: Vec<&SubjectVerdict> =
        j.findings.iter().filter(|found| found.verdict != Verdict::Consistent).collect();
    found.sort_by_key(|found| std::cmp::Reverse(found.verdict));
    found
}

/// The checks of a finding.
pub(super) fn checks_of<'a>(j: &'a Judgement, found: &'a SubjectVerdict) -> impl Iterator<Item = &'a Check> {
    found.checks.iter().filter_map(|name| j.check(*name))
}

fn titles(checks: impl IntoIterator<Item = CheckName>) -> String {
    checks.into_iter().map(check_title).collect::<Vec<_>>().join(", ")
}

/// What a finding is, in a few words: the checks that made it, or the torque curve alone, whose cause is told.
fn in_short(found: &SubjectVerdict) -> String {
    match found.subject {
        Subject::Curve => subject(found.subject).to_owned(),
        _ => titles(found.checks.iter().copied()),
    }
}

/// The verdict in a line or two.
pub(super) fn summary(j: &Judgement) -> String {
    let found = failing(j);
    let of = |verdict: Verdict| {
        let of_verdict = found.iter().filter(move |found| found.verdict == verdict);
        of_verdict.map(|found| in_short(found)).collect::<Vec<_>>().join(", ")
    };
    let is_of_curve = found.iter().any(|found| found.subject == Subject::Curve);
    let mut cause = causes::first(j).filter(|_| is_of_curve).unwrap_or_default();
    cause += &dips::first(&j.dips).unwrap_or_default();
    let doubtful = match of(Verdict::Doubtful) {
        doubtful if doubtful.is_empty() || j.verdict != Verdict::NotCredible => String::new(),
        doubtful => format!(" Doubtful: {doubtful}."),
    };
    match j.verdict {
        Verdict::Consistent => format!("Consistent: all {} checks pass.", j.checks.len()),
        worst => format!("{}: {}.{doubtful}{cause}", verdict(worst), of(worst)),
    }
}

/// Why a pull was not fitted: the checks by which it is not credible or its scale is doubtful, in the order made.
pub(super) fn not_fitted(j: &Judgement) -> String {
    let titles = titles(j.bars_fit());
    let cause = causes::first(j).unwrap_or_default();
    let why = match j.verdict {
        Verdict::NotCredible => format!("the pull is not credible by {titles}."),
        _ => format!(
            "the scale of the pull is doubtful by {titles}, and a fit would take that over as power.{cause}"
        ),
    };
    format!("Not fitted: {why} --fit-anyway fits it all the same.")
}
