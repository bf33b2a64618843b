//! The invented pulls of `scenarios/pulls`.
//! Run with `UPDATE_PULLS=1` to write the files.

use crate::common::pull_file;
use crate::common::pulls;
use endgas::dyno::{CheckName, JudgeSettings, Judgement, Mapping, Verdict, Yardstick, read};
use endgas::estimate::Job;
use pull_file::{metric_as_measured, metric_corrected, us_decimal_comma};
use pulls::{Draws, Fault, Hidden, Truth, job, with_fault};

/// Days: Celsius, Pa, relative humidity.
const STREET_DAY: (f64, f64, f64) = (29.0, 97.8e3, 0.52);
const CIRCUIT_DAY: (f64, f64, f64) = (18.0, 100.6e3, 0.45);
/// Some 1900 m above the sea: SAE J1349 adds 21 %.
const MOUNTAIN_DAY: (f64, f64, f64) = (24.0, 82.5e3, 0.30);

/// A shipped pull: file, scenario, day, fault, check that must catch it, and the text of the file.
struct Shipped {
    name: &'static str,
    scenario: &'static str,
    day: (f64, f64, f64),
    fault: Fault,
    caught_by: Option<CheckName>,
    seed: u64,
    pulls: usize,
    note: &'static str,
}

const SHIPPED: [Shipped; 8] = [
    Shipped {
        name: "street-2000-pull-good",
        scenario: "street-2000",
        day: STREET_DAY,
        fault: Fault::None,
        caught_by: None,
        seed: 11,
        pulls: 3,
        note: "Three honest pulls.",
    },
    Shipped {
        name: "circuit-2400-pull-good",
        scenario: "circuit-2400",
        day: CIRCUIT_DAY,
        fault: Fault::None,
        caught_by: None,
        seed: 12,
        pulls: 2,
        note: "Two honest pulls.",
    },
    Shipped {
        name: "street-2000-pull-over-corrected",
        scenario: "street-2000",
        day: STREET_DAY,
        fault: Fault::OverCorrected,
        caught_by: Some(CheckName::CorrectionLogged),
        seed: 13,
        pulls: 2,
        note: "Faulty on purpose: the correction factor is 9 % above what the day gives.",
    },
    Shipped {
        name: "street-2000-pull-corrected-already",
        scenario: "street-2000",
        day: MOUNTAIN_DAY,
        fault: Fault::CorrectedAlready,
        caught_by: Some(CheckName::OverCorrection),
        seed: 14,
        pulls: 2,
        note: "Faulty on purpose: said to be as measured, in truth corrected.",
    },
    Shipped {
        name: "street-2000-pull-wrong-gear",
        scenario: "street-2000",
        day: STREET_DAY,
        fault: Fault::WrongGear,
        caught_by: Some(CheckName::GearRatio),
        seed: 15,
        pulls: 2,
        note: "Faulty on purpose: the gear entered is not the gear driven, speed is 1.3 times the true one.",
    },
    Shipped {
        name: "street-2000-pull-over-smoothed",
        scenario: "street-2000",
        day: STREET_DAY,
        fault: Fault::OverSmoothed,
        caught_by: Some(CheckName::Smoothing),
        seed: 16,
        pulls: 2,
        note: "Faulty on purpose: smoothed three times over 25 rows.",
    },
    Shipped {
        name: "street-2000-pull-wrong-units",
        scenario: "street-2000",
        day: STREET_DAY,
        fault: Fault::LbFtAsNm,
        caught_by: Some(CheckName::TorqueTimesSpeed),
        seed: 17,
        pulls: 2,
        note: "Faulty on purpose: torque in lb-ft under a heading of N m.",
    },
    Shipped {
        name: "circuit-2400-pull-inflated",
        scenario: "circuit-2400",
        day: CIRCUIT_DAY,
        fault: Fault::Inflated,
        caught_by: Some(CheckName::UniformScale),
        seed: 18,
        pulls: 2,
        note: "Faulty on purpose: every torque 22 % up.",
    },
];

impl Shipped {
    fn job(&self) -> Job {
        job(self.scenario, Some(self.day))
    }

    fn text(&self, job: &Job) -> String {
        let truth = Truth::new(job, &Hidden::near(job));
        let rows = pulls::pulls(job, &truth, self.pulls, &mut Draws::new(self.seed));
        let rows = with_fault(&rows, self.fault, &job.weather);
        match (self.fault, self.scenario) {
            (Fault::None | Fault::OverCorrected, "street-2000") => {
                metric_corrected(&rows, &job.weather, self.fault, self.note)
            }
            (Fault::None, _) => us_decimal_comma(&rows, &job.weather, self.note),
            _ => metric_as_measured(&rows, &job.weather, self.fault, self.note),
        }
    }
}

fn judged(yardstick: &Yardstick, text: &str) -> Judgement {
    let log = read("pull.csv", text.as_bytes(), &Mapping::default()).unwrap_or_else(|e| panic!("{e}"));
    yardstick.judge(&log).unwrap()
}

fn yardstick(job: &Job) -> Yardstick {
    Yardstick::new(job, &JudgeSettings { weather_stated: true, ..JudgeSettings::default() }).unwrap()
}

#[test]
fn the_files_are_what_the_generator_makes() {
    let folder = format!("{}/scenarios/pulls", env!("CARGO_MANIFEST_DIR"));
    let is_updating = std::env::var_os("UPDATE_PULLS").is_some();
    for shipped in &SHIPPED {
        let path = format!("{folder}/{}.csv", shipped.name);
        let text = shipped.text(&shipped.job());
        if is_updating {
            std::fs::write(&path, &text).unwrap();
        }
        let kept = std::fs::read_to_string(&path).unwrap();
        assert!(kept == text, "{} is stale: run with UPDATE_PULLS=1", shipped.name);
    }
    // No file without a generator.
    assert_eq!(std::fs::read_dir(folder).unwrap().count(), SHIPPED.len());
}

#[test]
fn each_shipped_pull_is_judged_as_it_was_made() {
    for shipped in &SHIPPED {
        let job = shipped.job();
        let path = format!("{}/scenarios/pulls/{}.csv", env!("CARGO_MANIFEST_DIR"), shipped.name);
        let text = std::fs::read_to_string(path).unwrap();
        let found = judged(&yardstick(&job), &text);
        match shipped.caught_by {
            None => assert_eq!(found.verdict, Verdict::Consistent, "{}: {:?}", shipped.name, found.checks),
            Some(name) => {
                let check = found.check(name).unwrap_or_else(|| panic!("{}: no {name:?}", shipped.name));
                // Smoothing alone makes no figure false.
                let wanted =
                    if name == CheckName::Smoothing { Verdict::Doubtful } else { Verdict::NotCredible };
                assert_eq!(check.verdict, wanted, "{}: {check:?}", shipped.name);
            }
        }
    }
}
