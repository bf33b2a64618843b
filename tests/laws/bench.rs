//! A random build ready to be asked: its burned gas tabulated once, its best-torque spark found.

use crate::random_build::{Draw, RandomBuild, SPARK_RANGE, library, reference};
use endgas::estimate::point::{AtSpark, FuelInUse, Point, PointSetting, Shifts};
use endgas::estimate::spark::best_torque_spark;
use endgas::estimate::{Estimate, Job, estimate};
use endgas::fuel::pump::best_power_lambda;
use endgas::knock::{KnockFit, octane_requirement, sensitivity_weight};
use std::cell::OnceCell;

/// Brake mean effective pressure below which the program itself refuses a point [bar].
const LEAST_BMEP_BAR: f64 = 0.5;

/// Best-torque spark beyond which the range of sparks may have cut it off [deg before top dead centre].
const EARLIEST_BEST_DEG: f64 = 70.0;

/// Samples of an estimate, hardly more than the fewest the program takes: the laws are exact, not statistical.
const SAMPLES: usize = 24;

/// One random build at one random operating point.
pub struct Bench {
    /// Its seed: the name by which a failure is run again.
    pub seed: u64,
    /// The build, day, fuel and speed.
    pub random: RandomBuild,
    /// Its fuel with the burned gas.
    pub gas: FuelInUse,
    /// At best-torque spark.
    pub best: AtSpark,
    /// A random spark from 25 deg after to 3 deg before that of best torque [deg before top dead centre].
    pub spark: f64,
    /// A random number for laws that need one more, 0 to 1.
    pub any: f64,
    estimate: OnceCell<Option<Estimate>>,
}

/// The gas of a build.
pub fn gas_of(random: &RandomBuild) -> FuelInUse {
    FuelInUse::new(random.blend(), random.lambda, &random.weather).unwrap()
}

/// What stays the same over the points of a build.
pub fn setting(random: &RandomBuild) -> PointSetting<'_> {
    PointSetting {
        build: &random.build,
        weather: &random.weather,
        reference: (reference(), best_power_lambda(reference().ethanol_vol_frac)),
        fit: KnockFit::SHIPPED,
        need: Default::default(),
    }
}

/// The best-torque run of a settled point.
pub fn best_of(point: &Point<'_>) -> AtSpark {
    best_torque_spark(point, SPARK_RANGE).unwrap()
}

/// Octane requirement of a run [-].
pub fn requirement(at: &AtSpark) -> f64 {
    octane_requirement(at.integral_at_100, KnockFit::SHIPPED.octane_exponent)
}

impl Bench {
    /// The first build of a seed's stream that makes torque at its speed.
    pub fn new(seed: u64) -> Self {
        let mut draw = Draw::new(seed);
        loop {
            let random = RandomBuild::new(&mut draw);
            let gas = gas_of(&random);
            let best = best_of(&Point::new(setting(&random), &gas, random.speed_rpm, Shifts::NONE));
            if best.bmep_bar() >= LEAST_BMEP_BAR && best.spark_deg_btdc < EARLIEST_BEST_DEG {
                let spark = best.spark_deg_btdc + draw.between(-25.0, 3.0);
                return Self {
                    seed,
                    random,
                    gas,
                    best,
                    spark,
                    any: draw.between(0.0, 1.0),
                    estimate: OnceCell::new(),
                };
            }
        }
    }

    /// The settled point.
    pub fn point(&self) -> Point<'_> {
        Point::new(setting(&self.random), &self.gas, self.random.speed_rpm, Shifts::NONE)
    }

    /// Runs the point of another build; the gas is tabulated again where it is another.
    pub fn with<R>(&self, other: &RandomBuild, run: impl Fn(&Point<'_>) -> R) -> R {
        self.shifted(other, Shifts::NONE, run)
    }

    /// As [`Self::with`], with inputs shifted.
    pub fn shifted<R>(&self, other: &RandomBuild, shifts: Shifts, run: impl Fn(&Point<'_>) -> R) -> R {
        let same_gas = other.fuel == self.random.fuel
            && other.lambda == self.random.lambda
            && other.weather.humidity_ratio() == self.random.weather.humidity_ratio();
        let own;
        let gas = if same_gas {
            &self.gas
        } else {
            own = gas_of(other);
            &own
        };
        run(&Point::new(setting(other), gas, other.speed_rpm, shifts))
    }

    /// Octane index of the fuel in this build [-].
    pub fn octane_index(&self) -> f64 {
        self.octane_index_of(&self.point())
    }

    /// Octane index of the fuel of a point [-].
    pub fn octane_index_of(&self, point: &Point<'_>) -> f64 {
        point.fuel().blend.octane_index(sensitivity_weight(point.setting().build.injection))
    }

    /// The job of the build on its own fuel and a second one, at two speeds.
    pub fn job(&self) -> Job {
        let speed = self.random.speed_rpm;
        let second = if self.random.fuel.name == "premium-91" { "euro-98" } else { "premium-91" };
        let second = library().resolve(second).unwrap();
        self.random.job(&[self.random.fuel.clone(), second], &[0.9 * speed, speed], SAMPLES)
    }

    /// The estimate of [`Self::job`], made once; none where the program refuses it.
    pub fn estimate(&self) -> Option<&Estimate> {
        self.estimate.get_or_init(|| estimate(&self.job()).ok()).as_ref()
    }

    /// The build in words, for a failure.
    pub fn describe(&self) -> String {
        let r = &self.random;
        format!(
            "seed {} (LAWS_SEED={} LAWS_BUILDS=1)\n  {:?}\n  {:?}\n  {} ethanol {:.4}, lambda {:.4}, {:.1} rpm, spark {:.3}, best {:.3} deg",
            self.seed,
            self.seed,
            r.build,
            r.weather,
            r.fuel.name,
            r.fuel.ethanol.likely,
            r.lambda,
            r.speed_rpm,
            self.spark,
            self.best.spark_deg_btdc
        )
    }
}
