//! The slope of the octane requirement over ratio.

use endgas::engine::volumes::{OctaneSlope, PUBLISHED_OCTANE_PER_RATIO};
use endgas::estimate::likely_curve::{LikelyCurve, likely_curve};
use endgas::estimate::{Job, octane_per_ratio};
use endgas::fuel::FuelLibrary;
use endgas::knock::Deposits;
use endgas::scenario;

/// The shipped scenarios as jobs.
fn shipped() -> Vec<Job> {
    let library = FuelLibrary::shipped().unwrap();
    let files = std::fs::read_dir("scenarios").unwrap().map(|entry| entry.unwrap().path());
    let files = files.filter(|path| path.extension().is_some_and(|end| end == "toml"));
    let jobs = files.map(|path| {
        let text = std::fs::read_to_string(path).unwrap();
        scenario::read("test", &text).unwrap().job(&library, 50, 1).unwrap()
    });
    jobs.collect()
}

fn slope(job: &Job, step: f64) -> OctaneSlope {
    let ratio = job.build.geometry.compression_ratio.get();
    octane_per_ratio(job, ratio, ratio + step).unwrap()
}

/// PUBLISHED: 3 to 6 octane numbers per unit of ratio; see [`PUBLISHED_OCTANE_PER_RATIO`].
#[test]
fn the_slope_of_every_shipped_scenario_is_one_that_is_published() {
    let jobs = shipped();
    assert_eq!(jobs.len(), 6);
    let (least, most) = PUBLISHED_OCTANE_PER_RATIO;
    for job in jobs {
        for step in [-1.0, 0.0, 1.0] {
            let found = slope(&job, step);
            println!("{}: {found:?} over {step}", job.scenario);
            assert!((least..=most).contains(&found.per_ratio), "{}: {found:?} over {step}", job.scenario);
        }
    }
}

/// The slope is what two estimates differ by: with the same fuel the margin falls by what the requirement rises. The
/// rpm is the tightest of those at or above peak torque at MBT timing.
#[test]
fn it_is_the_difference_of_two_estimates() {
    for mut job in shipped() {
        let weakest = job.weakest_fuel().unwrap().clone();
        job.fuels = vec![weakest.clone()];
        let found = slope(&job, 1.0);
        assert_eq!(found.fuel, weakest.fuel.name);
        let ratio = job.build.geometry.compression_ratio.get();
        let fuel = weakest.in_use(&job.weather).unwrap();
        let jobs = [job.at_ratio(ratio).unwrap(), job.at_ratio(ratio + 1.0).unwrap()];
        let [here, above] = [0, 1].map(|i| likely_curve(&jobs[i], (&weakest.fuel.name, &fuel)).unwrap());
        let margin = |curve: &LikelyCurve<'_>| {
            let point = curve.points.iter().find(|p| p.speed_rpm() == found.speed_rpm).unwrap();
            point.mbt_octane_margin()
        };
        assert!((margin(&here) - margin(&above) - found.per_ratio).abs() < 1e-9, "{found:?}");
        for point in here.points.iter().filter(|p| p.speed_rpm() >= found.speed_rpm) {
            assert!(point.mbt_octane_margin() >= margin(&here));
        }
    }
}

#[test]
fn deposits_samples_and_the_direction_make_no_difference() {
    let mut job = shipped().remove(0);
    let found = slope(&job, 1.0);
    job.speeds_rpm = vec![found.speed_rpm];
    let mut dirty = job.clone();
    dirty.knock.deposits = Deposits::Heavy;
    dirty.samples = 400;
    assert!((slope(&dirty, 1.0).per_ratio - found.per_ratio).abs() < 1e-9);
    let ratio = job.build.geometry.compression_ratio.get();
    assert_eq!(octane_per_ratio(&job, ratio + 1.0, ratio).unwrap(), found);
    assert!(octane_per_ratio(&job, ratio, 25.0).unwrap_err().to_string().contains("compression ratio"));
}
