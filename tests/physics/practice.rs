//! Compression ratios of real engines beside the bands of `src/engine/practice.rs`; writes the table of the docs.
//!
//! Rows are those of `tests/data/engines` whose ratio and required fuel are both stated, or whose fuel is that of their market and
//! year: all but the listing of 2022. Run with `UPDATE_DOCS=1` to write the table into the docs.

use crate::common::bench::blend;
use crate::common::engines::compared::percentile;
use crate::common::engines::rows::{Engine, Set, catalogue};
use crate::common::engines::rules::{Told, job};
use crate::common::kept;
use endgas::engine::{BuildKind, FuelGrade, Injection, PracticeBand, PracticeClass};

/// Rows of which so many are needed before they say what makers run.
const ENOUGH: usize = 5;
/// Share of the rows that a band must hold [-]: what a 10-90 % band says of itself.
const HELD: f64 = 0.8;
/// How far the low end of a band may lie off the 10th percentile, and the high end above the 90th: builders go further than
/// makers (common practice, no source). Below the 90th it may lie by no more than rounding.
const LOW_OFF: f64 = 0.4;
const BUILDERS_BEYOND: f64 = 0.9;
const ROUNDING: f64 = 0.05;

/// The class that a row's own words say.
fn class_of(engine: &Engine) -> PracticeClass {
    match (engine.kind, engine.injection) {
        _ if engine.is_air_cooled => PracticeClass::AirCooledTwoValve,
        (BuildKind::CarburettedTwoValve | BuildKind::InjectedTwoValve, _) => PracticeClass::SeriesTwoValve,
        (BuildKind::PerformanceTwoValve, _) => PracticeClass::PerformanceTwoValve,
        (BuildKind::Motorcycle, _) => PracticeClass::Motorcycle,
        (BuildKind::Race, _) => PracticeClass::Race,
        (_, Injection::Direct) => PracticeClass::FourValveDirect,
        (BuildKind::ProductionFourValve, Injection::Port) => PracticeClass::FourValvePort,
        (BuildKind::SportFourValve, Injection::Port) => PracticeClass::SportFourValve,
    }
}

fn rows() -> Vec<Engine> {
    catalogue().into_iter().filter(|e| e.set != Set::OnSale2022).collect()
}

/// One line of the table: the ratios of the rows of a class on a grade held against its band.
fn line(class: PracticeClass, grade: FuelGrade, ratios: &[f64]) -> String {
    let band = class.band(grade);
    let mut range = "-".to_owned();
    if ratios.len() >= ENOUGH {
        let [low, high] = [10, 90].map(|percent| percentile(ratios.iter().copied(), percent));
        let held = ratios.iter().filter(|r| (band.low..=band.high).contains(*r)).count();
        let share = held as f64 / ratios.len() as f64;
        assert!(share >= HELD, "{class:?} {grade:?} holds {share:.2} of its rows");
        assert!((band.low - low).abs() <= LOW_OFF, "{class:?} {grade:?}: low end beside {low:.2}");
        let beyond = band.high - high;
        assert!((-ROUNDING..=BUILDERS_BEYOND).contains(&beyond), "{class:?} {grade:?}: {beyond:.2} beyond");
        range = format!("{low:.1}-{high:.1}");
    }
    let PracticeBand { low, high, source } = band;
    let class = class.words().split_once(' ').unwrap().1;
    format!("| {class} | {} | {} | {range} | {low:.1}-{high:.1} | {source} |\n", grade.words(), ratios.len())
}

#[test]
fn bands_hold_the_ratios_that_makers_chose() {
    let rows: Vec<(PracticeClass, FuelGrade, f64)> =
        rows().iter().map(|e| (class_of(e), FuelGrade::of(&blend(&e.fuel)), e.compression_ratio)).collect();
    let mut text = String::from(
        "| class | grade | makers' engines | their 10-90 % range | band | source |\n|---|---|---|---|---|---|\n",
    );
    for class in PracticeClass::ALL {
        for grade in FuelGrade::ALL {
            let own = rows.iter().filter(|(c, g, _)| (*c, *g) == (class, grade));
            text += &line(class, grade, &own.map(|(_, _, ratio)| *ratio).collect::<Vec<_>>());
        }
    }
    println!("{text}");
    kept::keep("practice table", &text);
}

#[test]
fn bands_rise_with_octane() {
    for class in PracticeClass::ALL {
        let bands = FuelGrade::ALL.map(|grade| class.band(grade));
        assert!(bands.iter().all(|b| b.low < b.high && !b.source.is_empty()), "{class:?}");
        assert!(bands.windows(2).all(|w| w[0].low < w[1].low && w[0].high < w[1].high), "{class:?}");
    }
}

#[test]
fn the_class_of_a_row_is_what_its_kind_says() {
    for engine in catalogue() {
        let build = job(&engine, engine.peaks(Told::All).unwrap(), vec![engine.power_rpm]).build;
        assert_eq!(PracticeClass::of(&build), class_of(&engine), "{}", engine.row);
    }
}
