//! One operating point as likely, at the timing it is run with: no samples, no response grid.

use super::error::EstimateError;
use super::job::Job;
use super::point::{AtSpark, FuelInUse, Point, PointSetting, Shifts};
use super::search::SearchFault;
use super::spark::{Reserve, TimingSearch};
use super::sweep::over_speeds;

/// Brake mean effective pressure below which an engine makes hardly any torque [bar].
pub(super) const LEAST_BMEP_BAR: f64 = 0.5;

/// A settled point with its timings searched.
#[derive(Clone, Copy, Debug)]
pub struct Tuned<'a> {
    /// The point itself.
    pub point: Point<'a>,
    /// At MBT timing.
    pub mbt: AtSpark,
    /// At the timing used: the lesser of MBT and knock-limited, or the most retarded of the range.
    pub used: AtSpark,
    /// Most advanced timing that keeps the safety margin, at most MBT [deg before top dead centre]; none when no timing of the
    /// range does.
    pub limit_deg_btdc: Option<f64>,
    /// Octane index of the fuel [-].
    pub octane_index: f64,
}

impl<'a> Tuned<'a> {
    /// Settles the charge and searches both timings.
    ///
    /// # Arguments
    /// - `name`: of the fuel, for messages
    /// - `shifts`: [`Shifts::NONE`] but for a change that is tried
    ///
    /// # Errors
    /// As [`Self::searched`]; [`EstimateError::NoTorque`] when it hardly makes torque.
    pub fn new(
        job: &Job,
        setting: PointSetting<'a>,
        (name, fuel): (&str, &'a FuelInUse),
        speed_rpm: f64,
        shifts: Shifts,
    ) -> Result<Self, EstimateError> {
        let point = Point::new(setting, fuel, speed_rpm, shifts);
        let mut timings = point.timings();
        Self::read(job, name, point, |sparks| timings.at_sparks(sparks))
    }

    /// The same of a settled point.
    ///
    /// # Arguments
    /// - `run`: runs or reads the point at some timings [deg before top dead centre]
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn read(
        job: &Job,
        name: &str,
        point: Point<'a>,
        run: impl FnMut(&[f64]) -> Vec<AtSpark>,
    ) -> Result<Self, EstimateError> {
        let tuned = Self::searched_by(job, name, point, Reserve::Octane(job.reserve_octane), run)?;
        if tuned.makes_torque() {
            return Ok(tuned);
        }
        Err(no_torque(name, point.speed_rpm(), tuned.mbt.bmep_bar()))
    }

    /// Searches both timings of a settled point, whether it makes torque or not.
    ///
    /// # Errors
    /// [`EstimateError::Search`] or [`EstimateError::Octane`]; [`EstimateError::NoTorque`] when torque is no number.
    pub fn searched(
        job: &Job,
        name: &str,
        point: Point<'a>,
        reserve: Reserve,
    ) -> Result<Self, EstimateError> {
        let mut timings = point.timings();
        Self::searched_by(job, name, point, reserve, |sparks| timings.at_sparks(sparks))
    }

    fn searched_by(
        job: &Job,
        name: &str,
        point: Point<'a>,
        reserve: Reserve,
        run: impl FnMut(&[f64]) -> Vec<AtSpark>,
    ) -> Result<Self, EstimateError> {
        let failed = EstimateError::search(name, point.speed_rpm());
        let range = job.spark_range;
        let mut search = TimingSearch::new(&point, range, run);
        let mbt = match search.best_torque() {
            Err(SearchFault::NoValue) => return Err(no_torque(name, point.speed_rpm(), f64::NAN)),
            found => found.map_err(&failed)?,
        };
        let octane_index = point.octane_index();
        if !(60.0..=130.0).contains(&octane_index) {
            return Err(EstimateError::Octane { fuel: name.to_owned(), octane_index });
        }
        let (octane, degrees) = match reserve {
            Reserve::Octane(octane) => (octane, 0.0),
            Reserve::Degrees(degrees) => (0.0, degrees),
        };
        // The limit may lie beyond MBT, and beyond the range: it is searched to where a reserve in degrees could count.
        let beyond = mbt.spark_deg_btdc + degrees;
        let limit_deg_btdc = search
            .knock_limit(beyond, octane_index, octane)
            .map_err(&failed)?
            .map(|limit| (limit.spark_deg_btdc - degrees).min(mbt.spark_deg_btdc))
            .filter(|limit| *limit >= range.latest_deg_btdc);
        let used = search.at(limit_deg_btdc.unwrap_or(range.latest_deg_btdc).min(mbt.spark_deg_btdc));
        Ok(Self { point, mbt, used, limit_deg_btdc, octane_index })
    }

    /// A fuel at every speed of a job, by rising speed.
    ///
    /// # Errors
    /// As [`Self::new`], the first in the order of the speeds.
    pub fn over_speeds(
        job: &Job,
        setting: PointSetting<'a>,
        named: (&str, &'a FuelInUse),
    ) -> Result<Vec<Self>, EstimateError> {
        over_speeds(&[()], &job.speeds_rpm, |(), speed| Self::new(job, setting, named, speed, Shifts::NONE))
    }

    /// The same point run at another timing [deg before top dead centre].
    #[must_use]
    pub fn at(&self, spark_deg_btdc: f64) -> Self {
        Self { used: self.point.at_spark(spark_deg_btdc), ..*self }
    }

    /// Engine speed [rpm].
    pub fn speed_rpm(&self) -> f64 {
        self.point.speed_rpm()
    }

    /// Whether it makes torque that is worth a word, at MBT timing.
    pub fn makes_torque(&self) -> bool {
        self.mbt.bmep_bar() >= LEAST_BMEP_BAR
    }

    /// Whether knock, not torque, sets the timing used.
    pub fn is_knock_limited(&self) -> bool {
        self.limit_deg_btdc.is_none_or(|limit| limit < self.mbt.spark_deg_btdc - 1e-9)
    }

    /// Whether some timing of the range keeps the safety margin.
    pub fn keeps_reserve(&self) -> bool {
        self.limit_deg_btdc.is_some()
    }

    /// Retard of the timing used from MBT timing [deg], 0 or more.
    pub fn retard_deg(&self) -> f64 {
        (self.mbt.spark_deg_btdc - self.used.spark_deg_btdc).max(0.0)
    }

    /// Torque lost to that retard, as a share of that at MBT timing [-], 0 to 1.
    pub fn torque_lost_frac(&self) -> f64 {
        lost_frac(self.used.bmep_bar(), self.mbt.bmep_bar())
    }

    /// Torque at the flywheel at the timing used [N m].
    pub fn crank_torque_nm(&self) -> f64 {
        self.point.crank_torque_nm(&self.used)
    }

    /// Octane requirement at a run of this point [-].
    pub fn requirement(&self, at: &AtSpark) -> f64 {
        self.point.octane_requirement(at.integral_at_100)
    }

    /// Octane margin at a run of this point [-].
    pub fn octane_margin(&self, at: &AtSpark) -> f64 {
        self.octane_index - self.requirement(at)
    }

    /// Octane margin at MBT timing [-].
    pub fn mbt_octane_margin(&self) -> f64 {
        self.octane_margin(&self.mbt)
    }
}

fn no_torque(fuel: &str, speed_rpm: f64, bmep_bar: f64) -> EstimateError {
    EstimateError::NoTorque { fuel: fuel.to_owned(), speed_rpm, bmep_bar }
}

/// Share of torque or power that is lost of what could be [-]: 1 where nothing is left, or less.
pub fn lost_frac(left: f64, could_be: f64) -> f64 {
    (1.0 - left / could_be).clamp(0.0, 1.0)
}

/// Speed of most torque at MBT timing of some points [rpm]; none without a point.
pub fn peak_torque_speed_rpm(points: &[Tuned<'_>]) -> Option<f64> {
    let peak = points.iter().max_by(|a, b| a.mbt.bmep_bar().total_cmp(&b.mbt.bmep_bar()));
    peak.map(Tuned::speed_rpm)
}

/// Torque at the flywheel at peak power of some points [N m], at which the drag torque of the driveline is set; 0 without
/// a point.
pub fn torque_at_peak_power_nm<'a: 'b, 'b>(points: impl IntoIterator<Item = &'b Tuned<'a>>) -> f64 {
    let power = |p: &Tuned<'_>| p.crank_torque_nm() * p.speed_rpm();
    let peak = points.into_iter().max_by(|a, b| power(a).total_cmp(&power(b)));
    peak.map_or(0.0, Tuned::crank_torque_nm)
}

/// Peak power lost to retard, as a share of that at MBT timing everywhere [-], 0 to 1.
pub fn peak_power_lost_frac<'a: 'b, 'b>(points: impl IntoIterator<Item = &'b Tuned<'a>>) -> f64 {
    let power = |p: &Tuned<'_>, at: &AtSpark| p.point.power_kw(p.point.crank_torque_nm(at));
    let most =
        |(used, mbt): (f64, f64), p: &Tuned<'_>| (used.max(power(p, &p.used)), mbt.max(power(p, &p.mbt)));
    let (used, mbt) = points.into_iter().fold((0.0, 0.0), most);
    lost_frac(used, mbt)
}

#[cfg(test)]
mod tests {
    use super::*;

    // HAND: 30 of 120 lost is a quarter; an engine that has to be driven has lost all, one that gains nothing.
    #[test]
    fn what_is_lost_lies_between_none_and_all() {
        assert_eq!(lost_frac(90.0, 120.0), 0.25);
        assert_eq!(lost_frac(-95.0, 120.0), 1.0);
        assert_eq!(lost_frac(120.0 + 1e-9, 120.0), 0.0);
    }
}
