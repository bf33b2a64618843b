//! What matters most in an estimate: which fuel limits and where, what is too close to call, what the range comes from.

use super::curve_point::CurvePoint;
use super::result::{Driver, Estimate, FuelEstimate};
use super::uncertainty::Input;

/// Retard from MBT timing at which it begins to count [deg]: what the search of MBT timing may be off by.
const LEAST_RETARD_DEG: f64 = 0.1;
/// A second input is named where it moves at least this share of what the first moves [-].
const WORTH_NAMING: f64 = 0.3;

/// An input and what it moves a result by, from the middle to its 90th percentile, in the unit of the result.
pub type Swing = (Input, f64);

/// A finding that stands on the first screen; the report says it.
#[derive(Clone, Debug, PartialEq)]
pub enum Matter {
    /// Knock sets the likely limit of some fuels.
    KnockLimits {
        /// Name of the fuel with the least margin.
        fuel: String,
        /// Most retard of its likely limit from MBT timing [deg].
        retard_deg: f64,
        /// Where [rpm].
        speed_rpm: f64,
        /// Most torque that retard costs it [-].
        torque_lost_frac: f64,
        /// Names of the other fuels whose limit knock sets somewhere.
        others: Vec<String>,
        /// Names of the fuels that run MBT timing everywhere.
        free: Vec<String>,
    },
    /// Every fuel runs MBT timing everywhere in the likely case.
    MbtEverywhere {
        /// Name of the fuel with the least margin.
        fuel: String,
        /// How many fuels there are.
        fuels: usize,
        /// That margin [-].
        margin_octane: f64,
        /// Where [rpm].
        speed_rpm: f64,
    },
    /// The margin at the likely limit is smaller than its own uncertainty.
    TooCloseToCall {
        /// Names of the fuels of which that is so.
        fuels: Vec<String>,
        /// How many fuels there are.
        of: usize,
        /// Least and largest half width of the octane band among them, at the worst point of each [-].
        half_widths_octane: (f64, f64),
        /// Largest share of cases that knock at the likely limit [-].
        knock_probability: f64,
    },
    /// Every margin is larger than its own uncertainty.
    Clear {
        /// Smallest distance of the low end of an octane band from knock [-].
        low_octane: f64,
    },
    /// What the range comes from on one fuel, strongest first.
    RangeFrom {
        /// Name of the fuel.
        fuel: String,
        /// Of peak wheel power [kW].
        power_kw: Vec<Swing>,
        /// Of the worst octane margin [-].
        margin_octane: Vec<Swing>,
    },
}

impl FuelEstimate {
    /// The point with the tightest margin at MBT timing.
    pub fn tightest(&self) -> &CurvePoint {
        &self.curve[self.tightest_index]
    }

    /// Drivers, strongest on a result first.
    pub fn strongest(&self, swing: impl Fn(&Driver) -> f64) -> Vec<&Driver> {
        let mut sorted: Vec<&Driver> = self.drivers.iter().collect();
        sorted.sort_by(|a, b| swing(b).abs().total_cmp(&swing(a).abs()));
        sorted
    }

    /// The two inputs that move a result most; the second where it counts beside the first.
    fn leading(&self, swing: fn(&Driver) -> f64) -> Vec<Swing> {
        let strongest = self.strongest(swing);
        let first = strongest.first().map_or(0.0, |driver| swing(driver).abs());
        let named = strongest.into_iter().take(2).map(|driver| (driver.input, swing(driver)));
        named.filter(|(_, by)| by.abs() > 0.0 && by.abs() >= WORTH_NAMING * first).collect()
    }

    /// Whether knock sets the likely limit somewhere.
    fn is_held_back(&self) -> bool {
        self.curve.iter().any(|point| point.knock_limited && retard_deg(point) >= LEAST_RETARD_DEG)
    }
}

impl Estimate {
    /// The fuel that limits: that with the least octane margin at MBT timing; none without fuels.
    pub fn limiting(&self) -> Option<&FuelEstimate> {
        let margin = |fuel: &FuelEstimate| fuel.tightest().best_torque_octane_margin;
        self.fuels.iter().min_by(|a, b| margin(a).total_cmp(&margin(b)))
    }

    /// What matters most: the limit, how sure it is, and what the range comes from.
    pub fn matters(&self) -> Vec<Matter> {
        let Some(limiting) = self.limiting() else { return Vec::new() };
        let range = Matter::RangeFrom {
            fuel: limiting.name.clone(),
            power_kw: limiting.leading(|driver| driver.power_swing_kw),
            margin_octane: limiting.leading(|driver| driver.margin_swing_octane),
        };
        vec![self.limit(limiting), self.sureness(), range]
    }

    fn limit(&self, limiting: &FuelEstimate) -> Matter {
        let worst = limiting.curve.iter().max_by(|a, b| retard_deg(a).total_cmp(&retard_deg(b)));
        let Some(worst) = worst.filter(|_| limiting.is_held_back()) else {
            let tightest = limiting.tightest();
            return Matter::MbtEverywhere {
                fuel: limiting.name.clone(),
                fuels: self.fuels.len(),
                margin_octane: tightest.octane_margin,
                speed_rpm: tightest.speed_rpm,
            };
        };
        let names = |held_back: bool| {
            let others = self.fuels.iter().filter(move |fuel| fuel.name != limiting.name);
            others
                .filter(move |fuel| fuel.is_held_back() == held_back)
                .map(|fuel| fuel.name.clone())
                .collect()
        };
        Matter::KnockLimits {
            fuel: limiting.name.clone(),
            retard_deg: retard_deg(worst),
            speed_rpm: worst.speed_rpm,
            torque_lost_frac: limiting.curve.iter().map(|point| point.torque_lost_frac).fold(0.0, f64::max),
            others: names(true),
            free: names(false),
        }
    }

    fn sureness(&self) -> Matter {
        let half_width =
            |point: &CurvePoint| 0.5 * (point.octane_margin_band.high - point.octane_margin_band.low);
        let close: Vec<&FuelEstimate> = self
            .fuels
            .iter()
            .filter(|fuel| fuel.curve.iter().any(|point| point.octane_margin < half_width(point)))
            .collect();
        if close.is_empty() {
            let lows =
                self.fuels.iter().flat_map(|fuel| &fuel.curve).map(|point| point.octane_margin_band.low);
            return Matter::Clear { low_octane: lows.fold(f64::INFINITY, f64::min) };
        }
        let widths = || close.iter().map(|fuel| half_width(fuel.tightest()));
        let points = || close.iter().flat_map(|fuel| &fuel.curve);
        Matter::TooCloseToCall {
            fuels: close.iter().map(|fuel| fuel.name.clone()).collect(),
            of: self.fuels.len(),
            half_widths_octane: (widths().fold(f64::INFINITY, f64::min), widths().fold(0.0, f64::max)),
            knock_probability: points().map(|point| point.knock_probability).fold(0.0, f64::max),
        }
    }
}

/// Retard of the likely limit from MBT timing at a point [deg]; never negative.
fn retard_deg(point: &CurvePoint) -> f64 {
    (point.best_torque_spark_deg_btdc - point.spark_deg_btdc).max(0.0)
}
