//! Everything the checks look at, worked out once.

use super::average::{Curve, mean_at};
use super::bump::Bump;
use super::causes::{self, RankedCause};
use super::check::Interval;
use super::checks;
use super::error::JudgeError;
use super::log::{Log, LogCorrection, Place, Pull, PullPoint};
use super::powerband::Moved;
use super::result::ComparedPoint;
use super::yardstick::Yardstick;
use crate::estimate::{CurvePoint, EstimateError};
use crate::units::rpm_to_rad_per_s;
use rayon::prelude::*;

/// Fewest speeds of the estimate that a log must cover.
const LEAST_SPEEDS: usize = 5;
/// Half widths of the 10-90 % band within which a level is consistent, and credible: honest pulls lie beyond by chance in
/// about 1 of 18, and in 1 of 700.
pub(super) const CONSISTENT: f64 = 1.5;
pub(super) const CREDIBLE: f64 = 2.5;

/// A log beside the estimate.
pub(super) struct Evidence<'a> {
    pub(super) yardstick: &'a Yardstick,
    pub(super) log: &'a Log,
    /// Factor by which logged torque and power are divided to be those of the day [-].
    pub(super) divided_by: f64,
    /// Factor of the standard of the settings on the day [-].
    pub(super) standard_factor: f64,
    /// Where pulls leave their own smooth curve; none where rows are too few to tell.
    pub(super) scan: Option<checks::Scan>,
    /// Measured and estimated at the speeds of the estimate that every pull reaches.
    pub(super) shown: Vec<ComparedPoint>,
    /// The same that are judged: without those in a dip or hump, which has causes of its own.
    pub(super) points: Vec<ComparedPoint>,
    /// The points of the estimate at the same speeds.
    pub(super) estimated: Vec<&'a CurvePoint>,
    /// Likely torque at each point with the powerband where the pull has it [N m]; as estimated where VE is measured or
    /// computed.
    pub(super) expected_nm: Vec<f64>,
    /// Rpm of the powerband of the pull over that of the scenario [-]; none where it is not fitted.
    pub(super) powerband: Option<f64>,
    /// Why the curve lies where it lies, most probable first.
    pub(super) causes: Vec<RankedCause>,
    /// Measured over expected torque, mean over speed of the logarithm [-].
    pub(super) ln_scale: f64,
    /// Lower and upper half width of the torque band over the likely value, mean over speed [-].
    pub(super) half_widths: [f64; 2],
    /// Measured torque, uncorrected, at the speed of peak power, at the place of the log [N m].
    pub(super) peak_power_torque_nm: f64,
    /// Index of peak power of the estimate in `points`.
    pub(super) estimated_peak_power: usize,
    torque: Vec<Curve>,
}

impl<'a> Evidence<'a> {
    /// Puts a log beside an estimate.
    ///
    /// # Errors
    /// [`JudgeError::Overlap`] when too few speeds of the estimate are covered, [`JudgeError::Estimate`] when the implied
    /// efficiency of one cannot be found.
    pub(super) fn new(yardstick: &'a Yardstick, log: &'a Log) -> Result<Self, JudgeError> {
        let weather = &yardstick.job().weather;
        let divided_by = match log.correction {
            LogCorrection::None => 1.0,
            LogCorrection::By(standard) => standard.factor(weather).factor,
        };
        let standard_factor = yardstick.settings().standard.factor(weather).factor;
        let of_day = |p: &PullPoint| Some(p.torque_nm / divided_by);
        let mut torque = curves(yardstick, log, of_day);
        let mut measured = measured_at(yardstick, log, &torque);
        if measured.len() < LEAST_SPEEDS {
            return Err(overlap(yardstick, log, measured.len()));
        }
        let scan = checks::scan(log, &|speed_rpm| yardstick.likely_torque_nm(speed_rpm, log.place));
        let bumps = scan.as_ref().map_or(&[][..], |scan| &scan.bumps);
        let in_dip = |speed_rpm: f64| bumps.iter().any(|bump| bump.holds(speed_rpm, 0.0));
        let mut shown = None;
        if !bumps.is_empty() {
            let beside = curves(yardstick, log, |p| of_day(p).filter(|_| !in_dip(p.speed_rpm)));
            let mut judged = measured_at(yardstick, log, &beside);
            judged.retain(|m| !in_dip(m.point.speed_rpm));
            if judged.len() >= LEAST_SPEEDS {
                shown = Some(std::mem::replace(&mut measured, judged));
                torque = beside;
            }
        }
        let power = |m: &MeasuredSpeed<'_>| m.torque_nm * m.point.speed_rpm;
        let peak_power = top(&measured.iter().map(power).collect::<Vec<_>>());
        let peak_power_torque_nm = measured[peak_power].torque_nm;
        let compared = |measured: &[MeasuredSpeed<'_>]| {
            // Parallel results are gathered first, so that the error reported does not depend on the threads.
            let points: Vec<Result<ComparedPoint, EstimateError>> = measured
                .par_iter()
                .map(|m| m.compared(yardstick, log.place, peak_power_torque_nm, standard_factor))
                .collect();
            points.into_iter().collect::<Result<Vec<_>, _>>()
        };
        let points = compared(&measured)?;
        let shown = shown.map_or_else(|| Ok(points.clone()), |shown| compared(&shown))?;
        let over = |of: &dyn Fn(&ComparedPoint) -> f64| mean(points.iter().map(of)).unwrap_or_default();
        let half_widths = [
            over(&|p| 1.0 - p.estimate_low_torque_nm / p.estimate_likely_torque_nm),
            over(&|p| p.estimate_high_torque_nm / p.estimate_likely_torque_nm - 1.0),
        ];
        let estimated = measured.iter().map(|m| m.point).collect();
        let expected_nm: Vec<f64> = points.iter().map(|p| p.estimate_likely_torque_nm).collect();
        let likely_power = points.iter().map(|p| p.estimate_likely_torque_nm * p.speed_rpm);
        let estimated_peak_power = top(&likely_power.collect::<Vec<_>>());
        let mut evidence = Self {
            yardstick,
            log,
            divided_by,
            standard_factor,
            scan,
            shown,
            points,
            estimated,
            expected_nm,
            powerband: None,
            causes: Vec::new(),
            ln_scale: 0.0,
            half_widths,
            peak_power_torque_nm,
            estimated_peak_power,
            torque,
        };
        let ranking = causes::rank(&evidence);
        evidence.causes = ranking.causes;
        evidence.fit_out(ranking.moved);
        Ok(evidence)
    }

    /// Moves the expected torque to the powerband of the pull.
    fn fit_out(&mut self, moved: Option<Moved>) {
        if let Some(Moved { factor, ln_torque }) = moved {
            self.powerband = Some(factor);
            self.expected_nm.iter_mut().zip(ln_torque).for_each(|(nm, ln)| *nm *= ln.exp());
        }
        let over = self.points.iter().zip(&self.expected_nm).map(|(p, nm)| (p.torque_nm / nm).ln());
        self.ln_scale = mean(over).unwrap_or_default();
    }

    /// Dips and humps, by rising rpm.
    pub(super) fn bumps(&self) -> &[Bump] {
        self.scan.as_ref().map_or(&[], |scan| &scan.bumps)
    }

    /// Every point with the torque that is expected of an honest pull there [N m].
    pub(super) fn expected(&self) -> impl Iterator<Item = (&ComparedPoint, f64)> {
        self.points.iter().zip(self.expected_nm.iter().copied())
    }

    /// Rpm of every point over the highest of them [-].
    pub(super) fn shares_of_top_rpm(&self) -> impl Iterator<Item = f64> {
        let top_rpm = self.points.last().map_or(1.0, |p| p.speed_rpm);
        self.points.iter().map(move |p| p.speed_rpm / top_rpm)
    }

    /// Whether air temperature and pressure are those of the pull, and not of the usual day of a scenario.
    pub(super) fn weather_is_known(&self) -> bool {
        let logged = self.log.weather();
        self.yardstick.settings().weather_stated
            || logged.temperature_k.is_some() && logged.pressure_pa.is_some()
    }

    /// Measured over expected torque, all speeds alike [-].
    pub(super) fn scale(&self) -> f64 {
        self.ln_scale.exp()
    }

    /// Limits of a ratio to the expected torque: consistent, then credible [-].
    pub(super) fn limits(&self) -> [Interval; 2] {
        [CONSISTENT, CREDIBLE].map(|half_widths| {
            let [below, above] = self.half_widths.map(|half| half_widths * half);
            Interval::between(1.0 - below, 1.0 + above)
        })
    }

    /// Speeds that every pull reaches [rpm].
    pub(super) fn speed_range_rpm(&self) -> (f64, f64) {
        let ranges = self.log.pulls.iter().map(Pull::speed_range_rpm);
        ranges.fold((0.0, f64::INFINITY), |(l, h), (from, to)| (f64::max(l, from), f64::min(h, to)))
    }

    /// Curve of torque of one pull, of the day.
    pub(super) fn pull_torque_at(&self, pull: usize, speed_rpm: f64) -> Option<f64> {
        self.torque.get(pull)?.at(speed_rpm)
    }
}

/// The measured figures at one point of the estimate.
struct MeasuredSpeed<'a> {
    point: &'a CurvePoint,
    torque_nm: f64,
    spread_frac: f64,
    lambda: Option<f64>,
    flow: Option<f64>,
}

impl MeasuredSpeed<'_> {
    fn compared(
        &self,
        yardstick: &Yardstick,
        place: Place,
        at_peak_power_nm: f64,
        standard_factor: f64,
    ) -> Result<ComparedPoint, EstimateError> {
        let (point, torque_nm) = (self.point, self.torque_nm);
        let band = yardstick.torque_nm(point, place);
        let likely_loss = yardstick.loss_band().likely;
        let crank = yardstick.crank_torque_nm(place, torque_nm, likely_loss, at_peak_power_nm);
        let to_kw = rpm_to_rad_per_s(point.speed_rpm) / 1e3;
        let breathing = yardstick.breathing_for(point, crank)?;
        Ok(ComparedPoint {
            speed_rpm: point.speed_rpm,
            torque_nm,
            power_kw: torque_nm * to_kw,
            corrected_power_kw: torque_nm * to_kw * standard_factor,
            pull_spread_frac: self.spread_frac,
            estimate_low_torque_nm: band.low,
            estimate_likely_torque_nm: band.likely,
            estimate_high_torque_nm: band.high,
            deviation_frac: torque_nm / band.likely - 1.0,
            implied_crank_torque_nm: crank,
            implied_bmep_bar: yardstick.bmep_bar(crank),
            implied_volumetric_efficiency: breathing.map(|factor| factor * point.volumetric_efficiency),
            estimate_volumetric_efficiency: point.volumetric_efficiency,
            lambda: self.lambda,
            bsfc_g_per_kwh: self.flow.map(|kg_per_s| 3.6e6 * kg_per_s / (crank * to_kw)),
        })
    }
}

/// A logged quantity of every pull over speed.
fn curves(yardstick: &Yardstick, log: &Log, of: impl Fn(&PullPoint) -> Option<f64>) -> Vec<Curve> {
    log.pulls.iter().map(|pull| Curve::new(pull, 0.5 * yardstick.step_rpm(), &of)).collect()
}

/// The mean of the pulls at every speed of the estimate that all of them reach.
fn measured_at<'a>(yardstick: &'a Yardstick, log: &Log, torque: &[Curve]) -> Vec<MeasuredSpeed<'a>> {
    let lambda = curves(yardstick, log, |p| p.lambda);
    let flow = curves(yardstick, log, |p| p.fuel_flow_kg_per_s);
    let at = |point: &'a CurvePoint| {
        let mean = mean_at(torque, point.speed_rpm)?;
        Some(MeasuredSpeed {
            point,
            torque_nm: mean.value,
            spread_frac: mean.spread_frac,
            lambda: mean_at(&lambda, point.speed_rpm).map(|m| m.value),
            flow: mean_at(&flow, point.speed_rpm).map(|m| m.value),
        })
    };
    yardstick.estimate().curve.iter().filter_map(at).filter(|m| m.torque_nm > 0.0).collect()
}

fn overlap(yardstick: &Yardstick, log: &Log, covered: usize) -> JudgeError {
    let ranges = log.pulls.iter().map(Pull::speed_range_rpm);
    let log_rpm =
        ranges.fold((f64::INFINITY, 0.0), |(l, h), (from, to)| (f64::min(l, from), f64::max(h, to)));
    let (scenario_rpm, pulls) = (yardstick.speed_range_rpm(), log.pulls.len());
    JudgeError::Overlap { log_rpm, scenario_rpm, pulls, covered, least: LEAST_SPEEDS }
}

/// Mean of some values; none of none.
pub(super) fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) = values.fold((0.0, 0.0), |(s, n), v| (s + v, n + 1.0));
    (count > 0.0).then(|| sum / count)
}

/// Index of the greatest value; the first of equals.
pub(super) fn top(values: &[f64]) -> usize {
    values.iter().enumerate().fold(0, |top, (i, value)| if *value > values[top] { i } else { top })
}
