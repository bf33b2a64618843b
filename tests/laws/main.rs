//! Laws of the model over thousands of random builds: a table of laws times a table of builds.
//!
//! `LAWS_BUILDS` sets the number of builds (1500 without it), `LAWS_SEED` the first of their seeds. A failure names the
//! seed of its build: `LAWS_SEED=n LAWS_BUILDS=1` tries that one alone.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]
#![allow(clippy::print_stdout, reason = "the largest residuals are for a person to read")]
#![allow(clippy::neg_cmp_op_on_partial_ord, reason = "what is not a number must fail")]

mod bench;
mod energy;
mod law;
mod limits;
mod mass;
mod output;
mod parts;
mod random_build;
mod scaling;
mod trends;
mod units;

use bench::Bench;
use law::{Law, Tally};
use rayon::prelude::*;
use std::sync::LazyLock;

/// A group of laws with its name.
type Group = (&'static str, &'static [Law]);

static GROUPS: [Group; 8] = [
    ("parts", &parts::LAWS),
    ("mass", &mass::LAWS),
    ("energy", &energy::LAWS),
    ("limits", &limits::LAWS),
    ("trends", &trends::LAWS),
    ("scaling", &scaling::LAWS),
    ("output", &output::LAWS),
    ("units", &units::LAWS),
];

/// Builds without `LAWS_BUILDS`.
const USUAL_BUILDS: u64 = 1500;

fn from_environment(name: &str, usual: u64) -> u64 {
    std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(usual)
}

fn laws() -> impl Iterator<Item = &'static Law> {
    GROUPS.iter().flat_map(|(_, laws)| laws.iter())
}

/// What was found of every law, in the order of the table: each build is made once and tried by all.
static FOUND: LazyLock<Vec<Tally>> = LazyLock::new(|| {
    let first = from_environment("LAWS_SEED", 0);
    let last = first + from_environment("LAWS_BUILDS", USUAL_BUILDS);
    (first..last)
        .into_par_iter()
        .map(|seed| {
            let bench = Bench::new(seed);
            laws().map(|law| Tally::of(law, &bench)).collect::<Vec<_>>()
        })
        .reduce(
            || laws().map(|_| Tally::default()).collect(),
            |a, b| a.into_iter().zip(b).map(|(a, b)| a.and(b)).collect(),
        )
});

/// Share of the builds of a law on which its conditions must let something be compared.
const LEAST_SHARE: f64 = 0.25;

/// Prints what was found of a group, and fails with the first builds that break a law.
fn hold(group: &str) {
    let builds = from_environment("LAWS_BUILDS", USUAL_BUILDS);
    let found: Vec<(&Law, &Tally)> = GROUPS
        .iter()
        .flat_map(|(name, laws)| laws.iter().map(move |law| (*name, law)))
        .zip(FOUND.iter())
        .filter(|((name, _), _)| *name == group)
        .map(|((_, law), tally)| (law, tally))
        .collect();
    assert!(!found.is_empty(), "no such group");
    let number = |value: Option<f64>| value.map_or("-".to_owned(), |v| format!("{v:.1e}"));
    for (law, tally) in &found {
        println!(
            "{:>5} builds  residual {:>8}  closest step {:>8}  {} [{}; {}]",
            tally.builds,
            number(tally.largest_residual),
            number(tally.smallest_step),
            law.name,
            law.when,
            law.reason
        );
    }
    let broken: Vec<String> = found
        .iter()
        .filter(|(_, tally)| tally.failed > 0)
        .map(|(law, tally)| {
            let allowed = format!("allowed {:.0e}: {}", law.tolerance, law.why_tolerance);
            format!("{} of {} builds\n{}\n  {allowed}", tally.failed, tally.builds, tally.failures.join("\n"))
        })
        .collect();
    assert!(broken.is_empty(), "\n{}", broken.join("\n\n"));
    for (law, tally) in &found {
        let least = LEAST_SHARE * (builds / law.every) as f64;
        assert!(builds < 100 || tally.builds as f64 >= least, "{}: only {} builds", law.name, tally.builds);
    }
}

#[test]
fn mass() {
    hold("mass");
}

#[test]
fn energy() {
    hold("energy");
}

#[test]
fn limits() {
    hold("limits");
}

#[test]
fn trends() {
    hold("trends");
}

#[test]
fn scaling() {
    hold("scaling");
}

#[test]
fn output() {
    hold("output");
}

#[test]
fn units() {
    hold("units");
}

#[test]
fn parts() {
    hold("parts");
}
