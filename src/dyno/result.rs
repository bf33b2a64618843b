//! What a judgement says.

use super::bump::Bump;
use super::causes::RankedCause;
use super::check::{Check, CheckName, NotChecked, Subject, SubjectVerdict, Verdict};
use super::knock::KnockReading;
use super::log::{ColumnUse, Note, Place, Said, SplitBy, TrimmedEnd};
use crate::air::OutsideStandard;
use schemars::JsonSchema;
use serde::Serialize;

/// One rpm, measured and estimated, torque and power at the place of the log, uncorrected.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ComparedPoint {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Measured torque, mean of the pulls [N m].
    pub torque_nm: f64,
    /// Measured power, of that torque [kW].
    pub power_kw: f64,
    /// The same brought to the reference day of `standard` [kW].
    pub corrected_power_kw: f64,
    /// Highest less lowest pull over their mean [-]; 0 with one pull.
    pub pull_spread_frac: f64,
    /// Estimated torque, 10th percentile [N m].
    pub estimate_low_torque_nm: f64,
    /// Estimated torque, likely [N m].
    pub estimate_likely_torque_nm: f64,
    /// Estimated torque, 90th percentile [N m].
    pub estimate_high_torque_nm: f64,
    /// Measured less likely torque over likely torque [-].
    pub deviation_frac: f64,
    /// Crank torque that is implied with the likely driveline loss [N m].
    pub implied_crank_torque_nm: f64,
    /// Brake mean effective pressure of that torque [bar].
    pub implied_bmep_bar: f64,
    /// Volumetric efficiency with which the model gives that torque at the timing of the estimate [-]; null when
    /// none does.
    pub implied_volumetric_efficiency: Option<f64>,
    /// Volumetric efficiency of the estimate [-].
    pub estimate_volumetric_efficiency: f64,
    /// Logged air-fuel equivalence ratio [-].
    pub lambda: Option<f64>,
    /// Brake specific fuel consumption from logged fuel flow and implied crank power [g/kWh].
    pub bsfc_g_per_kwh: Option<f64>,
}

/// One pull.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PullSummary {
    /// Its number, or what the pull column says.
    pub name: String,
    /// Rows of use.
    pub rows: usize,
    /// First line of the file.
    pub first_line: u64,
    /// Last line of the file.
    pub last_line: u64,
    /// Lowest rpm [rpm].
    pub from_rpm: f64,
    /// Highest rpm [rpm].
    pub to_rpm: f64,
    /// Peak torque of the averaged curve, uncorrected [N m].
    pub peak_torque_nm: f64,
    /// Peak power of the averaged curve, uncorrected [kW].
    pub peak_power_kw: f64,
}

/// The verdict on a log, check by check. Its JSON form, with words, is that of [`crate::report::render_judgement`].
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Judgement {
    /// The worst verdict of the checks.
    pub verdict: Verdict,
    /// Name of the scenario.
    pub scenario: String,
    /// What the log is called.
    pub log: String,
    /// Fuel that the pull is judged on.
    pub fuel: String,
    /// Where the figures were taken.
    pub place: Place,
    /// Who said so.
    pub place_said: Said,
    /// Standard by which the logged figures are corrected; null when they are as measured.
    pub corrected_by: Option<&'static str>,
    /// Who said so.
    pub corrected_said: Said,
    /// Factor by which logged figures were divided to bring them to the day [-]; 1 when they are as measured.
    pub divided_by: f64,
    /// Standard to which `corrected_power_kw` is corrected.
    pub standard: &'static str,
    /// Its factor in this weather [-].
    pub standard_factor: f64,
    /// What of the weather lies outside the range of that standard; null when it applies.
    pub standard_outside: Option<OutsideStandard>,
    /// Air temperature [K].
    pub air_temperature_k: f64,
    /// Air pressure [Pa].
    pub air_pressure_pa: f64,
    /// Relative humidity [-].
    pub relative_humidity: f64,
    /// How the pulls were told apart.
    pub split_by: SplitBy,
    /// The pulls.
    pub pulls: Vec<PullSummary>,
    /// Rows that were left out as idle, roll-on, rev limiter, lift-off or coast-down.
    pub ends: Vec<TrimmedEnd>,
    /// Measured against estimate, by rising rpm.
    pub curve: Vec<ComparedPoint>,
    /// Dips and humps of pulls against their own smooth curve, by rising rpm; those rpm are left out where the curve is judged.
    pub dips: Vec<Bump>,
    /// What the checks come to, subject by subject.
    pub findings: Vec<SubjectVerdict>,
    /// Rpm of the powerband that the pull shows over that of the scenario [-]; null where the scenario measures or computes
    /// VE. The shape of the curve is judged with the powerband there.
    pub powerband_factor: Option<f64>,
    /// Probability that nothing is wrong but chance, against that of all causes [-]: a judgement of how often things go wrong,
    /// and the numbers.
    pub nothing_wrong_share: f64,
    /// What may make the curve differ from the estimate, most probable first; shares add up to 1.
    #[serde(skip)]
    pub causes: Vec<RankedCause>,
    /// The checks that were made.
    #[serde(skip)]
    pub checks: Vec<Check>,
    /// The checks that could not be made.
    #[serde(skip)]
    pub not_checked: Vec<NotChecked>,
    /// Columns that were used.
    #[serde(skip)]
    pub columns: Vec<ColumnUse>,
    /// Headings of columns that were not used.
    #[serde(skip)]
    pub ignored_columns: Vec<String>,
    /// What the reader should know about the reading and the comparison.
    #[serde(skip)]
    pub notes: Vec<Note>,
    /// What the log says about knock; none without a column of timing and one of knock.
    #[serde(skip)]
    pub knock: Option<KnockReading>,
}

impl Judgement {
    /// The check of a name, when it was made.
    pub fn check(&self, name: CheckName) -> Option<&Check> {
        self.checks.iter().find(|check| check.name == name)
    }

    /// Checks for which the pull is not to be fitted unless that is asked for: those that are not credible, else those of a doubtful
    /// torque curve whose reason is one of scale, by the check or by the first cause. Empty where it may be fitted.
    pub fn bars_fit(&self) -> Vec<CheckName> {
        let of = |verdict: Verdict| self.checks.iter().filter(move |c| c.verdict == verdict).map(|c| c.name);
        if self.verdict == Verdict::NotCredible {
            return of(Verdict::NotCredible).collect();
        }
        let curve: Vec<CheckName> =
            of(Verdict::Doubtful).filter(|name| name.subject() == Subject::Curve).collect();
        let by_check: Vec<CheckName> = curve.iter().copied().filter(|name| name.is_of_scale()).collect();
        let is_of_scale = self.causes.first().is_some_and(|first| first.cause.is_of_scale());
        if by_check.is_empty() && is_of_scale { curve } else { by_check }
    }
}
