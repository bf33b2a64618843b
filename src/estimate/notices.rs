//! What the builder should know beside the numbers.

use super::analysis::PointAnalysis;
use super::curve_point::CurvePoint;
use super::job::Job;
use super::notice::Notice;
use super::result::FuelEstimate;
use super::uncertainty::Input;
use crate::engine::{Breathing, LimitPassed};
use crate::fuel::OctaneConcern;
use crate::knock::{Deposits, ln_speed};
use crate::units::PA_PER_BAR;

/// Brake mean effective pressure beyond which even a race engine is in doubt [Pa]
/// (race engines on gasoline 14.0 to 15.8 bar; common practice, no source).
const HIGHEST_BMEP_PA: f64 = 15.8e5;
/// Distance from the speed at which the knock model is surest, in logarithm, beyond which a margin that rests on it is worth a
/// notice: 2000 and 4500 rpm.
const FAR_IN_SPEED: f64 = 0.405;
/// Octane beyond which the knock model extrapolates: the primary reference scale ends at 100
/// (ASTM D2699 scale, `from memory`).
const SCALE_END: f64 = 100.0;

/// Notices on a finished estimate, and whether a stated limit is missed.
pub fn notices(job: &Job, analyses: &[PointAnalysis<'_>], fuels: &[FuelEstimate]) -> (Vec<Notice>, bool) {
    let mut notices: Vec<Notice> = unsafe_timings(job, fuels).chain(mechanical(job, fuels)).collect();
    let missed = !notices.is_empty();
    let window = job.spark_range;
    if analyses.iter().any(|a| a.likely.mbt.spark_deg_btdc > window.earliest_deg_btdc - 0.1) {
        notices.push(Notice::MbtAtEarliest { deg_btdc: window.earliest_deg_btdc });
    }
    if analyses.iter().any(|a| a.likely.mbt.spark_deg_btdc < window.latest_deg_btdc + 0.1) {
        notices.push(Notice::MbtAtLatest { deg_btdc: window.latest_deg_btdc });
    }
    let highest_pa = analyses.iter().map(|a| a.likely.used.bmep_bar() * PA_PER_BAR).max_by(f64::total_cmp);
    notices.extend(
        highest_pa
            .filter(|found_pa| *found_pa > HIGHEST_BMEP_PA)
            .map(|found_pa| Notice::BmepInDoubt { found_pa, credible_pa: HIGHEST_BMEP_PA }),
    );
    for fuel in job.fuels.iter().map(|choice| &choice.fuel) {
        if fuel.ethanol.low < fuel.ethanol.high {
            notices.push(Notice::EthanolRange { fuel: fuel.name.clone(), content: fuel.ethanol });
        }
    }
    notices.extend(octane_out_of_range(job));
    let beyond: Vec<String> = fuels.iter().filter(|f| f.ron > SCALE_END).map(|f| f.name.clone()).collect();
    if !beyond.is_empty() {
        notices.push(Notice::OctaneAboveScale { fuels: beyond });
    }
    notices.extend(of_own_knock(job));
    notices.extend(of_knock_speed(fuels));
    notices.extend(ends(job, fuels));
    (notices, missed)
}

/// Ends of the speeds and of the table of volumetric efficiency that the curve runs into.
fn ends(job: &Job, fuels: &[FuelEstimate]) -> Vec<Notice> {
    let mut notices = Vec::new();
    if let Some(last) = job.speeds_rpm.last()
        && job.speeds_rpm.len() > 1
        && fuels.iter().any(|f| f.peak_power.speed_rpm == *last)
    {
        notices.push(Notice::PowerStillRises { speed_rpm: *last });
    }
    if let Breathing::Table { speed_rpm, .. } = &job.build.breathing {
        let (low_rpm, high_rpm) =
            (speed_rpm.first().copied().unwrap_or(0.0), speed_rpm.last().copied().unwrap_or(0.0));
        if job.speeds_rpm.iter().any(|s| *s < low_rpm || *s > high_rpm) {
            notices.push(Notice::BreathingTableEnds { low_rpm, high_rpm });
        }
    }
    notices
}

/// Fuels whose octane rests on no published blend; octane above 100 has a notice of its own.
fn octane_out_of_range(job: &Job) -> impl Iterator<Item = Notice> {
    job.fuels.iter().map(|choice| &choice.fuel).flat_map(|fuel| {
        let concerns = fuel.blend().map(|blend| blend.octane_concerns()).unwrap_or_default();
        let told =
            concerns.into_iter().filter(|concern| !matches!(concern, OctaneConcern::AboveScale { .. }));
        told.map(|concern| Notice::OctaneInDoubt { fuel: fuel.name.clone(), concern })
    })
}

/// What the knock margins of a job rest on besides the model: deposits and known points.
pub(crate) fn of_own_knock(job: &Job) -> Vec<Notice> {
    let deposits = job.knock.deposits;
    let said = (deposits != Deposits::Clean).then_some(Notice::Deposits(deposits));
    let learned = job.knock.learned.iter().flat_map(|learned| learned.remarks.iter().cloned());
    said.into_iter().chain(learned.map(Notice::Known)).collect()
}

/// Where a knock limit rests on the law over speed: at the limited point farthest from where that is surest.
fn of_knock_speed(fuels: &[FuelEstimate]) -> Option<Notice> {
    let limited = fuels.iter().flat_map(|f| &f.curve).filter(|p| p.knock_limited);
    let far = |p: &CurvePoint| ln_speed(p.speed_rpm).abs();
    let point = limited.max_by(|a, b| far(a).total_cmp(&far(b))).filter(|p| far(p) > FAR_IN_SPEED)?;
    let half_width_octane = Input::KnockSpeed.half_width() * far(point);
    Some(Notice::KnockSpeed { speed_rpm: point.speed_rpm, half_width_octane })
}

/// Fuels and speeds at which no timing in range keeps the safety margin.
fn unsafe_timings(job: &Job, fuels: &[FuelEstimate]) -> impl Iterator<Item = Notice> {
    fuels.iter().filter_map(|fuel| {
        let unsafe_points = fuel.curve.iter().filter(|p| p.knock_limited_spark_deg_btdc.is_none());
        let speeds_rpm: Vec<f64> = unsafe_points.map(|p| p.speed_rpm).collect();
        (!speeds_rpm.is_empty()).then(|| Notice::NoSafeTiming {
            fuel: fuel.name.clone(),
            latest_deg_btdc: job.spark_range.latest_deg_btdc,
            reserve_octane: job.reserve_octane,
            speeds_rpm,
        })
    })
}

/// Mechanical limits that the scenario states and some point passes.
fn mechanical(job: &Job, fuels: &[FuelEstimate]) -> impl Iterator<Item = Notice> {
    let limits = job.build.limits;
    let worst = |of: fn(&CurvePoint) -> f64, passed: &dyn Fn(f64) -> Option<LimitPassed>| {
        let points = fuels.iter().flat_map(|f| f.curve.iter().map(move |p| (f, p)));
        let (fuel, point) = points.max_by(|a, b| of(a.1).total_cmp(&of(b.1)))?;
        let (passed, fuel) = (passed(of(point))?, fuel.name.clone());
        Some(Notice::LimitPassed { passed, fuel, speed_rpm: point.speed_rpm })
    };
    let pressure = worst(|p| p.peak_pressure_bar * PA_PER_BAR, &|pa| limits.passed_by_pressure(pa));
    let speed = worst(|p| p.mean_piston_speed_m_per_s, &|speed| limits.passed_by_piston_speed(speed));
    pressure.into_iter().chain(speed)
}
