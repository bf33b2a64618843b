//! The JSON form of a judgement and a fit: what they hold, with the words beside it.

use super::super::Units;
use super::Fitting;
use super::words;
use crate::dyno::{
    Check, CheckName, ColumnUse, Fit, FittedParameter, Interval, Judgement, KnockPoint, RankedCause, Verdict,
};
use crate::estimate::Band;
use schemars::JsonSchema;
use serde::Serialize;

/// The judgement of a log and what became of a fit.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "Document")]
pub(super) struct PullDocument<'a> {
    /// The verdict in a line.
    summary: String,
    #[serde(flatten)]
    judgement: &'a Judgement,
    /// What may make the curve differ from the estimate, most probable first; shares add up to 1 but for those below 0.01.
    causes: Vec<SaidCause>,
    /// The checks that were made.
    checks: Vec<SaidCheck>,
    /// The checks that could not be made.
    not_checked: Vec<SaidLack>,
    /// Columns that were used.
    columns: &'a [ColumnUse],
    /// Headings of columns that were not used.
    ignored_columns: &'a [String],
    /// What the reader should know about the reading and the comparison.
    notes: Vec<String>,
    /// Standing cautions.
    cautions: [&'static str; 4],
    /// The fit; null when none was made.
    fit: Option<SaidFit<'a>>,
    /// File of the fitted scenario; null when none was made.
    fitted_scenario: Option<&'a str>,
    /// Why a fit that was asked for was not made; null otherwise.
    not_fitted: Option<String>,
    /// Timings known from the log to knock or not, by rising rpm; empty without a column of timing and one of knock.
    knock_points: &'a [KnockPoint],
}

/// One cause.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "RankedCause")]
struct SaidCause {
    #[serde(flatten)]
    ranked: RankedCause,
    /// What it is, in a few words.
    what: String,
    /// What to look at.
    look_at: &'static str,
}

/// One check that was made.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "Check")]
struct SaidCheck {
    /// Which.
    name: CheckName,
    /// What it comes to.
    verdict: Verdict,
    /// The number and its limits.
    measure: SaidMeasure,
    /// Why, in a sentence or two.
    reason: String,
    /// What to look at; empty when consistent.
    look_at: &'static str,
}

/// The number of a check and the limits it is compared with.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "Measure")]
struct SaidMeasure {
    /// What the number is.
    what: &'static str,
    /// The number.
    value: f64,
    /// Its unit; "-" for a bare number.
    unit: &'static str,
    /// Values that are consistent.
    consistent: Interval,
    /// Values that are credible; doubtful where not consistent.
    credible: Interval,
    /// Where the limits come from.
    source: String,
}

/// A check that could not be made.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "NotChecked")]
struct SaidLack {
    /// Which.
    name: CheckName,
    /// Why not.
    why: &'static str,
}

/// A fit of a build to a log.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "Fit")]
struct SaidFit<'a> {
    /// What was fitted.
    parameters: Vec<SaidParameter>,
    /// What the pull cannot tell apart.
    alike: Vec<Alike>,
    #[serde(flatten)]
    fit: &'a Fit,
    /// What the reader should know.
    notes: Vec<String>,
    /// Sizes of pipes that the fit may move; empty where VE is written as a table.
    sizes: Vec<words::SaidSize>,
}

/// One thing that was fitted, by its 10th, 50th and 90th percentile.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "FittedParameter")]
struct SaidParameter {
    /// What it is.
    name: &'static str,
    /// Its unit; "x" for a factor on the scenario's.
    unit: &'static str,
    /// Before the fit.
    before: Band,
    /// After it.
    after: Band,
    /// Width of the band after over that before [-].
    width_ratio: f64,
    /// How much the pull tells of it: nothing, little, something or much.
    told: &'static str,
}

/// Two parameters that the pull cannot tell apart.
#[derive(Serialize, JsonSchema)]
struct Alike {
    /// One of them.
    first: &'static str,
    /// The other.
    second: &'static str,
    /// Their correlation after the fit with all else held [-].
    correlation_held: f64,
    /// Their correlation after the fit with all else free [-].
    correlation: f64,
}

impl<'a> PullDocument<'a> {
    pub(super) fn new(judgement: &'a Judgement, fitting: &'a Fitting<'a>) -> Self {
        let (fit, fitted_scenario) = match fitting {
            Fitting::Done { fit, file, .. } => (Some(SaidFit::new(fit, judgement)), Some(file.as_str())),
            Fitting::NotAsked | Fitting::Refused => (None, None),
        };
        let lacks = judgement.not_checked.iter();
        Self {
            summary: words::summary(judgement),
            judgement,
            causes: judgement.causes.iter().map(SaidCause::new).collect(),
            checks: judgement.checks.iter().map(SaidCheck::new).collect(),
            not_checked: lacks.map(|l| SaidLack { name: l.name, why: words::lack(l) }).collect(),
            columns: &judgement.columns,
            ignored_columns: &judgement.ignored_columns,
            notes: judgement.notes.iter().map(|note| words::note(note, Units::Metric)).collect(),
            cautions: words::CAUTIONS,
            fit,
            fitted_scenario,
            not_fitted: matches!(fitting, Fitting::Refused).then(|| words::not_fitted(judgement)),
            knock_points: judgement.knock.as_ref().map_or(&[], |knock| &knock.points),
        }
    }
}

impl SaidCause {
    fn new(ranked: &RankedCause) -> Self {
        let (what, look_at) = (words::cause_title(&ranked.cause), words::look_at_cause(&ranked.cause));
        Self { ranked: *ranked, what, look_at }
    }
}

impl SaidCheck {
    fn new(check: &Check) -> Self {
        let Check { name, verdict, measure, .. } = *check;
        let measure = SaidMeasure {
            what: words::what(check),
            value: measure.value,
            unit: words::unit(name, Units::Metric).0,
            consistent: measure.consistent,
            credible: measure.credible,
            source: words::source(name, Units::Metric),
        };
        let reason = words::reason(check, Units::Metric);
        Self { name, verdict, measure, reason, look_at: words::look_at(check) }
    }
}

impl<'a> SaidFit<'a> {
    fn new(fit: &'a Fit, judgement: &Judgement) -> Self {
        let parameter = |p: &FittedParameter| SaidParameter {
            name: words::parameter(p.what),
            unit: words::parameter_unit(p.what, Units::Metric).0,
            before: p.before,
            after: p.after,
            width_ratio: p.width_ratio,
            told: words::told(p.width_ratio),
        };
        let pairs = fit.alike.iter().map(|pair| Alike {
            first: words::parameter(pair.first),
            second: words::parameter(pair.second),
            correlation_held: pair.correlation_held,
            correlation: pair.correlation,
        });
        Self {
            parameters: fit.parameters.iter().map(parameter).collect(),
            alike: pairs.collect(),
            fit,
            notes: words::fit_notes(fit, judgement),
            sizes: words::sizes(fit, Units::Metric),
        }
    }
}
