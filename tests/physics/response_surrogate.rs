//! The response grid against the cycle itself, on random draws of the uncertain inputs.

use crate::common::job;
use endgas::estimate::analysis::{PointAnalysis, PreparedFuel};
use endgas::estimate::point::{FuelInUse, Point};
use endgas::estimate::sampling::cycle_inputs;
use endgas::estimate::uncertainty::latin_hypercube;
use endgas::knock::octane_requirement;

struct Errors {
    torque: Vec<f64>,
    requirement: Vec<f64>,
}

fn sorted(mut values: Vec<f64>) -> (f64, f64, f64) {
    values.sort_by(f64::total_cmp);
    (values[values.len() / 2], values[values.len() * 9 / 10], *values.last().unwrap())
}

/// Compares net work and octane requirement at the sample's own best-torque spark and 10 deg later.
fn compare(name: &str, speeds: &[f64]) -> Errors {
    let job = job::demo();
    let choice = job.fuels.iter().find(|f| f.fuel.name == name).unwrap();
    let fuel = PreparedFuel::new(&job, &choice.fuel, choice.lambda.map(|l| l.get())).unwrap();
    let setting = job.setting();
    let mut errors = Errors { torque: vec![], requirement: vec![] };
    for speed in speeds {
        let analysis = PointAnalysis::new(&job, setting, &fuel, *speed).unwrap();
        for sample in latin_hypercube(40, 11) {
            let inputs = cycle_inputs(&analysis.likely.point, &analysis.breathing, &fuel, &sample);
            let blend = fuel.pump.blend_at(inputs.ethanol_vol_frac).unwrap();
            let direct_fuel = FuelInUse::new(blend, inputs.lambda, &job.weather).unwrap();
            let point = Point::new(setting, &direct_fuel, *speed, inputs.shifts);
            let curves = analysis.response.at(&inputs);
            let best = curves.best_spark(&curves.imep_net_bar);
            for spark in [best, best - 10.0] {
                let direct = point.at_spark(spark);
                errors
                    .torque
                    .push((curves.at(&curves.imep_net_bar, spark) / direct.imep_net_bar - 1.0).abs());
                let exponent = setting.fit.octane_exponent;
                let fast = octane_requirement(curves.at(&curves.ln_integral, spark).exp(), exponent);
                errors.requirement.push((fast - octane_requirement(direct.integral_at_100, exponent)).abs());
            }
        }
    }
    errors
}

#[test]
fn the_grid_keeps_to_the_cycle() {
    for name in ["premium-91", "e85"] {
        let errors = compare(name, &[3000.0, 5000.0, 7500.0]);
        let (torque, octane) = (sorted(errors.torque), sorted(errors.requirement));
        println!(
            "{name}: net work error median {:.1e}, 90 % {:.1e}, worst {:.1e}",
            torque.0, torque.1, torque.2
        );
        println!("{name}: octane error median {:.2}, 90 % {:.2}, worst {:.2}", octane.0, octane.1, octane.2);
        // The bands are some 6 % of torque and 6 octane numbers wide on each side, 9 on E85: nine draws of ten to a tenth
        // of that, the worst to a third.
        assert!(torque.1 < 0.006 && torque.2 < 0.02, "{name}: {torque:?}");
        assert!(octane.1 < 0.9 && octane.2 < 2.5, "{name}: {octane:?}");
    }
}
