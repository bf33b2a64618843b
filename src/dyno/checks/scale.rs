//! The measured curve as a whole against the estimate: points in the band, one factor on all of them, and what
//! such a factor may be.

use super::{CheckOutcome, measure};
use crate::air::CorrectionStandard;
use crate::dyno::check::{CurveFinding, Finding, Interval, Lack, Mistake};
use crate::dyno::evidence::Evidence;
use crate::dyno::log::{LogCorrection, Place};
use crate::dyno::unit::Quantity;
use crate::units::{NM_PER_LBF_FT, W_PER_HP, W_PER_PS};

/// Share of points in the band that a curve of one build keeps, unless the build itself is at an end of the band,
/// and the share within twice the band [-] (common practice, no source: the points of one curve move together).
const SHARE_INSIDE: f64 = 0.5;
/// Least distance of a correction factor from 1 that can show [-] (common practice, no source).
const LEAST_CORRECTION: f64 = 0.03;

/// Share of points inside the 10-90 band [%].
pub(super) fn curve_band(e: &Evidence<'_>) -> CheckOutcome {
    let points = e.points.len();
    let within = |times: f64| {
        let inside = e.points.iter().filter(|p| {
            let (low, likely, high) =
                (p.estimate_low_torque_nm, p.estimate_likely_torque_nm, p.estimate_high_torque_nm);
            p.torque_nm >= likely - times * (likely - low) && p.torque_nm <= likely + times * (high - likely)
        });
        inside.count()
    };
    let (inside, near) = (within(1.0), within(2.0));
    let worst = e.points.iter().max_by(|a, b| a.deviation_frac.abs().total_cmp(&b.deviation_frac.abs()));
    let (worst_frac, worst_speed_rpm) = worst.map_or((0.0, 0.0), |p| (p.deviation_frac, p.speed_rpm));
    let share = |count: usize| count as f64 / points as f64;
    let most = Interval::from(100.0 * SHARE_INSIDE);
    // Where most points lie beyond twice the band, the share within that is the number to tell.
    let counts_near = share(near) < SHARE_INSIDE;
    let (value, credible) = if counts_near { (share(near), most) } else { (share(inside), Interval::ALL) };
    let worst_ratio = 1.0 + worst_frac;
    let finding = Finding::Curve(CurveFinding::Band {
        inside,
        near,
        points,
        counts_near,
        worst_ratio,
        worst_speed_rpm,
    });
    measure(100.0 * value, most, credible, finding)
}

/// Limits of measured over likely torque: the band of the estimate, and twice the band.
fn limits(e: &Evidence<'_>) -> [Interval; 2] {
    [1.0, 2.0].map(|times| {
        let [low, high] = e.limits(times);
        Interval::between(low, high)
    })
}

/// One factor on all torques.
pub(super) fn uniform(e: &Evidence<'_>) -> CheckOutcome {
    let (scale, [consistent, credible]) = (e.scale(), limits(e));
    let mistake = if consistent.holds(scale) { None } else { mistake(e, scale, consistent) };
    measure(scale, consistent, credible, Finding::Curve(CurveFinding::Scale(mistake)))
}

/// A mistake that gives a scale, and which undone leaves a curve that the estimate expects; none when no known one does.
fn mistake(e: &Evidence<'_>, scale: f64, expected: Interval) -> Option<Mistake> {
    let middle = &e.estimated[e.peak_power];
    let wheel = e.yardstick.torque_nm(middle, Place::Wheel).likely / middle.crank_torque_nm.likely;
    let place = match e.log.place {
        Place::Wheel => (Mistake::Place(Place::Crank), 1.0 / wheel),
        Place::Crank => (Mistake::Place(Place::Wheel), wheel),
    };
    let unit = |quantity| e.log.columns.iter().find(|c| c.quantity == quantity).map(|c| c.unit);
    let horse_power_w = 0.5 * (W_PER_HP + W_PER_PS);
    let units = match (unit(Quantity::Torque), unit(Quantity::Power)) {
        (Some("N m"), None) => Some((Mistake::Unit("lb-ft", "N m"), 1.0 / NM_PER_LBF_FT)),
        (Some("lb-ft"), None) => Some((Mistake::Unit("N m", "lb-ft"), NM_PER_LBF_FT)),
        (None, Some("kW")) => Some((Mistake::HorsePowerAsKilowatts, 1e3 / horse_power_w)),
        (None, Some("hp" | "PS")) => Some((Mistake::KilowattsAsHorsePower, horse_power_w / 1e3)),
        // Where torque and power are both logged, torque times speed tells a wrong unit.
        _ => None,
    };
    [place]
        .into_iter()
        .chain(units)
        .filter(|(_, factor)| expected.holds(scale / factor))
        .min_by(|a, b| (scale / a.1).ln().abs().total_cmp(&(scale / b.1).ln().abs()))
        .map(|(mistake, _)| mistake)
}

/// A uniform excess that is the factor of a standard: measured over likely torque.
pub(super) fn over_correction(e: &Evidence<'_>) -> CheckOutcome {
    if !e.weather_is_known() {
        return Err(Lack::Weather);
    }
    let weather = &e.yardstick.job().weather;
    let factors = CorrectionStandard::ALL.into_iter().map(|standard| standard.factor(weather).factor);
    let that_show = factors.filter(|factor| (factor - 1.0).abs() >= LEAST_CORRECTION);
    let [least, most] =
        that_show.fold([f64::INFINITY, 0.0], |[low, high], f| [f64::min(low, f), f64::max(high, f)]);
    if least > most {
        return Err(Lack::CorrectionThatShows);
    }
    let (scale, [expected, credible]) = (e.scale(), limits(e));
    // Divided by a factor of these the curve must be one that the estimate expects.
    let [low, high] = e.limits(1.0);
    let is_near = scale >= least * low && scale <= most * high;
    let consistent = if is_near { expected } else { Interval::ALL };
    let corrected = e.log.correction != LogCorrection::None;
    let finding = Finding::OverCorrection { factors: [least, most], is_near, corrected };
    measure(scale, consistent, credible, finding)
}
