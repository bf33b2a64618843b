//! Reports made once for all tests: every shipped scenario, and one with all that is long.

use endgas::choose::{Choice, choose};
use endgas::estimate::{Estimate, Job, estimate};
use endgas::fuel::FuelLibrary;
use endgas::goal::{Costs, Goal, goal};
use endgas::report::{Report, Units, render_page};
use endgas::scenario;
use std::path::Path;
use std::sync::OnceLock;

/// One build with its answers, and a target that it does not reach as built.
pub struct Made {
    pub name: String,
    pub job: Job,
    pub estimate: Estimate,
    pub choice: Choice,
    pub goal: Goal,
}

impl Made {
    fn new(name: &str, text: &str, samples: usize) -> Self {
        let scenario = scenario::read(name, text).unwrap();
        let library = FuelLibrary::shipped().unwrap();
        let job = scenario.job(&library, samples, 1).unwrap();
        let ask = scenario.choose_job(job.clone(), &library).unwrap();
        let (estimate, choice) = (estimate(&job).unwrap(), choose(&ask, &|_| ()).unwrap());
        // A quarter more than the first fuel gives: long answers.
        let target_kw = 1.25 * estimate.fuels[0].peak_power.wheel.likely;
        let goal = goal(&job, &estimate, &Costs::USUAL, target_kw).unwrap();
        Self { name: name.to_owned(), job, estimate, choice, goal }
    }

    pub fn page(&self, has_goal: bool, units: Units) -> String {
        let goal = has_goal.then_some(&self.goal);
        let Self { job, estimate, choice, .. } = self;
        render_page(&Report { build: &job.build, estimate, choice, goal, units }).unwrap()
    }
}

/// The shipped scenarios.
pub fn shipped() -> &'static [Made] {
    static MADE: OnceLock<Vec<Made>> = OnceLock::new();
    MADE.get_or_init(|| {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios");
        let files = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
        let mut files: Vec<_> = files.filter(|path| path.extension().is_some_and(|e| e == "toml")).collect();
        files.sort();
        let made = |path: &Path| {
            let name = path.file_stem().unwrap().to_str().unwrap();
            Made::new(name, &std::fs::read_to_string(path).unwrap(), 50)
        };
        files.iter().map(|path| made(path)).collect()
    })
}

/// The example with as many fuels as a scenario may have, long names of them, a long name and note of its own and every warning.
pub fn longest() -> &'static Made {
    static MADE: OnceLock<Made> = OnceLock::new();
    MADE.get_or_init(|| {
        let fuels: Vec<String> =
            (1..=12).map(|i| format!("premium-91 {} % + e85 {} %", 100 - 7 * i, 7 * i)).collect();
        let mut build: toml::Table = scenario::DEMO.parse().unwrap();
        let mut section = |name: &str| build[name].as_table_mut().unwrap().clone();
        let (mut called, mut run, mut choose) = (section("scenario"), section("fuels"), section("choose"));
        called.insert("name".to_owned(), "Circuit four of many words, ".repeat(8).into());
        called.insert("note".to_owned(), "Invented build. ".repeat(30).into());
        run.insert("run".to_owned(), fuels.into());
        // These name fuels that are gone.
        for (table, key) in [(&mut run, "lambda_for"), (&mut choose, "weights")] {
            table.remove(key);
        }
        choose.remove("likelihoods");
        for (name, table) in [("scenario", called), ("fuels", run), ("choose", choose)] {
            build.insert(name.to_owned(), table.into());
        }
        let mut made = Made::new("longest", &build.to_string(), 20);
        // All that the first sheet has to warn of.
        made.estimate.limit_missed = true;
        made.choice.ignition.stated = false;
        let order = made.choice.order.as_mut().unwrap();
        (order.piston.usual_ratio.low, order.piston.usual_ratio.high) = (13.0, 14.0);
        made
    })
}
