//! The fit of the knock model's three constants, run again: it must give the shipped ones.
//!
//! Fitted to four rows, weighted by their bands, on the invented bench engine of `common/bench.rs`:
//! - octane requirement slope 4 per ratio unit, 9 to 12 (table of Gasoline FAQ v1.12, B. Hamilton 1996; read), +/- 1;
//! - 0.8 octane numbers per degree of spark near best torque (Russell factor table as reproduced in Stone,
//!   Introduction to Internal Combustion Engines; from memory), +/- 0.2;
//! - octane requirement falls by 2 per 1000 rpm (common practice, no source: 1 to 3), +/- 0.5;
//! - at 12.5:1, full load near peak torque, 91 AKI is knock-limited at CA50 16 deg (common practice, no source:
//!   12 to 22), as octane index of that fuel to +/- 1.
//!
//! What is not fitted is checked in `accuracy.rs`.

use crate::common::bench;
use argmin::core::{CostFunction, Error, Executor, State};
use argmin::solver::neldermead::NelderMead;
use bench::Trial;
use endgas::estimate::uncertainty::Input;
use endgas::knock::{Fit, octane_requirement, sensitivity_weight};

/// Integrals at multiplier 1 and no damping, of the states that the rows compare.
struct Rows {
    ratio_9: f64,
    ratio_12: f64,
    best: f64,
    retarded: f64,
    slow: f64,
    fast: f64,
    limited: f64,
    limited_index: f64,
}

const RETARD_DEG: f64 = 5.0;
const LIMITED_RPM: f64 = 4500.0;

fn bare(ratio: f64, speed: f64) -> Trial {
    Trial::new(ratio, speed)
        .edit(|t| t.fit = Fit { delay_multiplier: 1.0, octane_exponent: 1.0, speed_damping: 0.0 })
}

impl Rows {
    fn new() -> Self {
        let best = |ratio: f64, speed: f64| bare(ratio, speed).best();
        let at_10 = best(10.0, 3000.0);
        let limited = bare(12.5, LIMITED_RPM).edit(|t| {
            t.build = bench::build(12.5, 1.0);
            // Engines of such a ratio have long cams.
            t.build.valves.inlet_closes_deg_abdc = 65.0;
        });
        // The spark whose CA50 is 16 deg, by bisection.
        let (mut late, mut early) = (-10.0, 40.0);
        for _ in 0..40 {
            let middle = 0.5 * (late + early);
            if limited.at(middle).ca50_deg_atdc > 16.0 { late = middle } else { early = middle }
        }
        let octane = limited.fuel.octane;
        Self {
            ratio_9: best(9.0, 3000.0).integral_at_100,
            ratio_12: best(12.0, 3000.0).integral_at_100,
            best: at_10.integral_at_100,
            retarded: bare(10.0, 3000.0).at(at_10.spark_deg_btdc - RETARD_DEG).integral_at_100,
            slow: best(10.0, 2000.0).integral_at_100,
            fast: best(10.0, 6000.0).integral_at_100,
            limited: limited.at(late).integral_at_100,
            limited_index: octane.index(sensitivity_weight(limited.build.injection)),
        }
    }

    /// Residuals over their bands.
    fn residuals(&self, fit: &Fit) -> [f64; 4] {
        let need = |integral: f64, speed: f64| {
            let scaled = integral / fit.delay_multiplier * (speed / 3000.0).powf(fit.speed_damping);
            octane_requirement(scaled, fit.octane_exponent)
        };
        let ratio = (need(self.ratio_12, 3000.0) - need(self.ratio_9, 3000.0)) / 3.0;
        let spark = (need(self.best, 3000.0) - need(self.retarded, 3000.0)) / RETARD_DEG;
        let speed = (need(self.fast, 6000.0) - need(self.slow, 2000.0)) / 4.0;
        let level = need(self.limited, LIMITED_RPM) - self.limited_index;
        println!("per ratio {ratio:.2}, per degree {spark:.2}, per 1000 rpm {speed:.2}, level {level:.2}");
        [(ratio - 4.0) / 1.0, (spark - 0.8) / 0.2, (speed + 2.0) / 0.5, level / 1.0]
    }
}

impl CostFunction for Rows {
    type Param = Vec<f64>;
    type Output = f64;

    fn cost(&self, p: &Vec<f64>) -> Result<f64, Error> {
        let fit = Fit { delay_multiplier: p[0].exp(), octane_exponent: p[1], speed_damping: p[2] };
        Ok(self.residuals(&fit).iter().map(|r| r * r).sum())
    }
}

#[test]
fn the_fit_gives_the_shipped_constants() {
    let start = vec![vec![0.0, 4.0, 0.2], vec![0.3, 4.0, 0.2], vec![0.0, 5.0, 0.2], vec![0.0, 4.0, 0.5]];
    let solver = NelderMead::new(start).with_sd_tolerance(1e-10).unwrap();
    let result = Executor::new(Rows::new(), solver).configure(|s| s.max_iters(2000)).run().unwrap();
    let p = result.state().get_best_param().unwrap();
    let found = Fit { delay_multiplier: p[0].exp(), octane_exponent: p[1], speed_damping: p[2] };
    println!("found {found:?}");
    let residuals = Rows::new().residuals(&found);
    assert!(residuals.iter().all(|r| r.abs() < 1.0), "a fitted row is outside its band: {residuals:?}");
    let close = |a: f64, b: f64| (a - b).abs() <= 0.01 * b.abs();
    let shipped = Fit::SHIPPED;
    assert!(close(found.delay_multiplier, shipped.delay_multiplier), "{found:?}");
    assert!(close(found.octane_exponent, shipped.octane_exponent), "{found:?}");
    assert!(close(found.speed_damping, shipped.speed_damping), "{found:?}");
}

/// The only octane exponent in print, 3.402 (Douaud and Eyzat, SAE 780080, 1978; from memory), with its own best
/// multiplier and damping.
fn with_printed_exponent() -> Fit {
    struct Printed(Rows);
    impl CostFunction for Printed {
        type Param = Vec<f64>;
        type Output = f64;

        fn cost(&self, p: &Vec<f64>) -> Result<f64, Error> {
            self.0.cost(&vec![p[0], PRINTED_EXPONENT, p[1]])
        }
    }
    let start = vec![vec![0.0, 0.2], vec![0.3, 0.2], vec![0.0, 0.5]];
    let solver = NelderMead::new(start).with_sd_tolerance(1e-10).unwrap();
    let result = Executor::new(Printed(Rows::new()), solver).configure(|s| s.max_iters(2000)).run().unwrap();
    let p = result.state().get_best_param().unwrap();
    Fit { delay_multiplier: p[0].exp(), octane_exponent: PRINTED_EXPONENT, speed_damping: p[1] }
}

const PRINTED_EXPONENT: f64 = 3.402;

/// No other delay law with an octane number that holds from E0 to E85 was found; the printed exponent is the
/// alternative. It fits the same rows worse, so it is not the default; the difference between the two, over
/// ratio, speed and spark, lies inside the stated uncertainty of the knock model.
#[test]
fn the_printed_exponent_fits_worse_and_lies_inside_the_stated_uncertainty() {
    let printed = with_printed_exponent();
    let rows = Rows::new();
    let cost = |fit: &Fit| rows.residuals(fit).iter().map(|r| r * r).sum::<f64>();
    println!("printed exponent: {printed:?}, cost {:.2} against {:.2}", cost(&printed), cost(&Fit::SHIPPED));
    assert!(cost(&printed) > 2.0 * cost(&Fit::SHIPPED));
    let mut worst = 0.0_f64;
    for (ratio, speed, late) in [
        (10.0, 3000.0, 0.0),
        (11.5, 2500.0, 6.0),
        (12.5, 4500.0, 10.0),
        (12.5, 7000.0, 4.0),
        (13.0, 5500.0, 12.0),
    ] {
        let need = |fit: Fit| {
            let trial = Trial::new(ratio, speed).edit(|t| {
                t.fit = fit;
                t.build = bench::build(ratio, 1.0);
            });
            trial.requirement(&trial.at(trial.best().spark_deg_btdc - late))
        };
        worst = worst.max((need(printed) - need(Fit::SHIPPED)).abs());
    }
    println!("the two differ by up to {worst:.1} octane numbers");
    assert!(worst < Input::KnockModel.half_width(), "{worst}");
}
