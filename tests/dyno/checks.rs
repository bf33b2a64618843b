//! Each check against a pull with one thing wrong, made from an honest one.

use crate::common::pulls;
use endgas::dyno::{
    Cause, Check, CheckName, Finding, Implied, JudgeSettings, Judgement, Log, LogCorrection, Mapping, Note,
    Place, PowerRatio, RowFinding, Subject, Verdict, Yardstick, read,
};
use endgas::estimate::{FuelChoice, Job};
use endgas::fuel::FuelLibrary;
use pulls::{Draws, Hidden, Reading, Truth, job};
use std::sync::OnceLock;

const DAY: (f64, f64, f64) = (29.0, 97.8e3, 0.52);

/// The scenario, its yardstick and two honest pulls.
pub fn honest() -> &'static (Job, Yardstick, Vec<Reading>) {
    static HONEST: OnceLock<(Job, Yardstick, Vec<Reading>)> = OnceLock::new();
    HONEST.get_or_init(|| {
        let job = job("street-2000", Some(DAY));
        let settings = JudgeSettings { weather_stated: true, ..JudgeSettings::default() };
        let yardstick = Yardstick::new(&job, &settings).unwrap();
        let truth = Truth::new(&job, &Hidden::near(&job));
        let rows = pulls::pulls(&job, &truth, 2, &mut Draws::new(21));
        (job, yardstick, rows)
    })
}

/// A heading and its value in a row.
type Column<'a> = (&'a str, &'a dyn Fn(&Reading) -> f64);

/// A log of some columns.
fn log(columns: &[Column<'_>]) -> Log {
    let mut text: String = columns.iter().map(|(name, _)| format!("{name};")).collect();
    text += "pull\n";
    for row in &honest().2 {
        for (_, value) in columns {
            text += &format!("{:.4};", value(row));
        }
        text += &format!("{}\n", row.pull);
    }
    read("pull.csv", text.as_bytes(), &Mapping::default()).unwrap_or_else(|e| panic!("{e}"))
}

fn judge(log: &Log) -> Judgement {
    honest().1.judge(log).unwrap()
}

fn check(judgement: &Judgement, name: CheckName) -> Check {
    judgement.check(name).unwrap_or_else(|| panic!("{name:?} was not made")).clone()
}

const SPEED: Column<'static> = ("rpm", &|r| r.speed_rpm);
const TORQUE: Column<'static> = ("torque (Nm)", &|r| r.torque_nm);
const POWER: Column<'static> = ("power (kW)", &|r| r.power_w() / 1e3);

#[test]
fn an_honest_pull_passes_by_torque_or_by_power() {
    for columns in [vec![SPEED, TORQUE], vec![SPEED, POWER], vec![SPEED, TORQUE, POWER]] {
        let found = judge(&log(&columns));
        assert_eq!(found.verdict, Verdict::Consistent, "{:?}", found.checks);
    }
    // Power alone gives the same torque as torque alone.
    let (by_torque, by_power) = (judge(&log(&[SPEED, TORQUE])), judge(&log(&[SPEED, POWER])));
    for (a, b) in by_torque.curve.iter().zip(&by_power.curve) {
        assert!((a.torque_nm - b.torque_nm).abs() < 0.01);
    }
}

#[test]
fn mixed_up_units_of_torque_and_power_are_named() {
    let lb_ft = |r: &Reading| r.torque_nm / 1.355_818;
    let nm = |r: &Reading| r.torque_nm;
    let hp = |r: &Reading| r.power_w() / 745.7;
    let ps = |r: &Reading| r.power_w() / 735.498_75;
    let kw = |r: &Reading| r.power_w() / 1e3;
    let axle = |r: &Reading| r.torque_nm * 5.85;
    let mixed_up = |is, labelled| PowerRatio::MixedUp { is, labelled };
    let cases: [(Column<'_>, Column<'_>, PowerRatio); 7] = [
        (("torque (Nm)", &lb_ft), ("power (kW)", &kw), mixed_up("lb-ft", "N m")),
        (("torque (lb ft)", &nm), ("power (kW)", &kw), mixed_up("N m", "lb-ft")),
        (("torque (Nm)", &nm), ("power (kW)", &hp), mixed_up("hp", "kW")),
        (("torque (Nm)", &nm), ("power (hp)", &kw), mixed_up("kW", "hp")),
        (("torque (Nm)", &nm), ("power (kW)", &ps), mixed_up("PS", "kW")),
        (("torque (Nm)", &nm), ("power (PS)", &hp), mixed_up("hp", "PS")),
        (("torque (Nm)", &axle), ("power (kW)", &kw), PowerRatio::Axle),
    ];
    for (torque, power, cause) in cases {
        let found = check(&judge(&log(&[SPEED, torque, power])), CheckName::TorqueTimesSpeed);
        assert!(found.verdict > Verdict::Consistent, "{cause:?}");
        assert_eq!(found.finding, Finding::TorqueTimesSpeed(cause));
        // HAND: torque times speed is 5.85 times power.
        let gearing = 1.0 / found.measure.value;
        assert!(cause != PowerRatio::Axle || (gearing - 5.85).abs() < 0.01, "{gearing}");
    }
}

/// Torque as logged, and whether a cause is the one it was made with.
type Named<'a> = (&'a dyn Fn(&Reading) -> f64, fn(&Cause) -> bool);

fn first_cause(found: &Judgement) -> Cause {
    found.causes.first().unwrap_or_else(|| panic!("no cause")).cause
}

#[test]
fn a_scale_is_named_when_it_is_a_known_mistake() {
    let loss = 1.0 - honest().0.build.driveline.loss_band().likely;
    let lb_ft = |r: &Reading| r.torque_nm / 1.355_818;
    let crank = |r: &Reading| r.torque_nm / loss;
    // No unit that could be meant brings this back, nor the place.
    let some = |r: &Reading| r.torque_nm * 1.55;
    let causes: [Named<'_>; 3] = [
        (&lb_ft, |c| *c == Cause::Unit { is: "lb-ft", labelled: "N m" }),
        (&crank, |c| *c == Cause::Place { taken: Place::Crank }),
        (
            &some,
            |c| matches!(c, Cause::Scale { factor } | Cause::ForcedInduction { factor } if (factor - 1.55).abs() < 0.15),
        ),
    ];
    for (torque, is_cause) in causes {
        let found = judge(&log(&[SPEED, ("torque (Nm)", torque)]));
        assert!(found.verdict > Verdict::Consistent);
        assert!(is_cause(&first_cause(&found)), "{:?}", found.causes);
        // HAND: shares of all causes but that nothing is wrong add up to 1, those below 0.01 left out.
        let shares: f64 = found.causes.iter().map(|c| c.share).sum();
        assert!((0.9..=1.0 + 1e-9).contains(&shares), "{shares}");
        // What moves together is one finding.
        let curves = found.findings.iter().filter(|f| f.subject == Subject::Curve).count();
        assert_eq!(curves, 1);
    }
    let found = judge(&log(&[SPEED, ("crank torque (Nm)", &crank)]));
    assert_eq!(found.verdict, Verdict::Consistent, "{:?}", found.checks);
    assert!(found.checks.iter().all(|c| c.name != CheckName::DrivelineLoss));
}

/// Rollers measure power rightly in any gear: speed is k times the true one, torque a k-th of it.
#[test]
fn the_factor_on_the_speed_axis_is_found() {
    // A smaller one may as well be a powerband elsewhere, where a catalogue gives it.
    for factor in [0.75, 1.3, 1.45] {
        let speed = |r: &Reading| r.speed_rpm * factor;
        let found = judge(&log(&[("rpm", &speed), POWER]));
        let gear = check(&found, CheckName::GearRatio);
        assert!((gear.measure.value / factor - 1.0).abs() < 0.06, "{factor}: {gear:?}");
        assert!(gear.verdict > Verdict::Consistent, "{factor}");
    }
    // A scale alone is no gear.
    for factor in [0.75, 1.25] {
        let torque = |r: &Reading| r.torque_nm * factor;
        let found = judge(&log(&[SPEED, ("torque (Nm)", &torque)]));
        assert_eq!(check(&found, CheckName::GearRatio).verdict, Verdict::Consistent, "{factor}");
    }
}

#[test]
fn a_power_added_at_every_speed_tilts_the_curve() {
    let more = |r: &Reading| (r.power_w() + 9_000.0) / 1e3;
    let found = check(&judge(&log(&[SPEED, ("power (kW)", &more)])), CheckName::Tilt);
    assert!(found.verdict > Verdict::Consistent && found.measure.value < 0.0, "{found:?}");
}

#[test]
fn fuel_flow_tells_torque_that_air_and_fuel_do_not_explain() {
    let flow = |r: &Reading| r.fuel_flow_kg_per_s * 3600.0;
    let lambda = |r: &Reading| r.lambda;
    let much = |r: &Reading| r.torque_nm * 1.25;
    let honest = judge(&log(&[SPEED, TORQUE, ("fuel flow (kg/h)", &flow), ("lambda", &lambda)]));
    let inflated =
        judge(&log(&[SPEED, ("torque (Nm)", &much), ("fuel flow (kg/h)", &flow), ("lambda", &lambda)]));
    for name in [CheckName::AirFromFuel, CheckName::FuelConsumption] {
        assert_eq!(check(&honest, name).verdict, Verdict::Consistent);
        let (before, after) = (check(&honest, name).measure.value, check(&inflated, name).measure.value);
        assert!(after < 0.9 * before, "{name:?}: {before} {after}");
        assert!(check(&inflated, name).verdict > Verdict::Consistent, "{name:?}");
    }
    // Pounds under a heading of kilograms.
    let pounds = |r: &Reading| r.fuel_flow_kg_per_s * 3600.0 / 0.453_592_37;
    let wrong = judge(&log(&[SPEED, TORQUE, ("fuel flow (kg/h)", &pounds), ("lambda", &lambda)]));
    assert_eq!(check(&wrong, CheckName::AirFromFuel).verdict, Verdict::NotCredible);
    let lean = |r: &Reading| r.lambda + 0.06;
    let found = check(&judge(&log(&[SPEED, TORQUE, ("lambda", &lean)])), CheckName::Mixture);
    assert_eq!(found.verdict, Verdict::Doubtful);
}

/// An air-fuel ratio near 9 that the meter shows on the scale of E85, read on that of gasoline.
#[test]
fn another_scale_of_the_meter_is_proposed_and_a_rich_mixture_is_not_one() {
    let mut job = job("street-2000", Some(DAY));
    job.fuels =
        vec![FuelChoice { fuel: FuelLibrary::shipped().unwrap().resolve("e85").unwrap(), lambda: None }];
    job.samples = 50;
    let planned = job.fuels[0].lambda_run();
    let yardstick = Yardstick::new(&job, &JudgeSettings::default()).unwrap();
    let of_fuel = yardstick.fuel().blend.afr_stoich;
    let scale = |heading: &str, value: f64| {
        let found = yardstick.judge(&log(&[SPEED, TORQUE, (heading, &|_| value)])).unwrap();
        let mixture = check(&found, CheckName::Mixture);
        assert!(mixture.verdict > Verdict::Consistent && mixture.measure.value < 0.0, "{mixture:?}");
        let Finding::Implied(Implied::Mixture { scale, .. }) = mixture.finding else { panic!("{mixture:?}") };
        scale
    };
    let proposed = scale("afr", of_fuel * planned).unwrap();
    assert!((proposed - of_fuel).abs() < 0.051 && (8.5..9.5).contains(&(of_fuel * planned)), "{proposed}");
    // The same reading as lambda is a rich mixture, and so is a ratio that no scale brings near.
    assert_eq!(scale("lambda", planned - 0.2), None);
    assert_eq!(scale("afr", 7.5 * planned), None);
}

/// A scale that is doubtful is not fitted, a dip or a powerband elsewhere is.
#[test]
fn a_doubtful_scale_bars_the_fit() {
    for (factor, is_barred) in [(1.0, false), (1.16, true), (1.6, true)] {
        let torque = |r: &Reading| r.torque_nm * factor;
        let found = judge(&log(&[SPEED, ("torque (Nm)", &torque)]));
        assert_eq!(!found.bars_fit().is_empty(), is_barred, "{factor}: {:?}", found.bars_fit());
    }
    let dip = |r: &Reading| r.torque_nm * if (3300.0..3700.0).contains(&r.speed_rpm) { 0.88 } else { 1.0 };
    let found = judge(&log(&[SPEED, ("torque (Nm)", &dip)]));
    assert!(found.verdict == Verdict::Doubtful && found.bars_fit().is_empty(), "{:?}", found.bars_fit());
}

#[test]
fn spikes_copies_and_pulls_that_differ_are_seen() {
    let mut log = log(&[SPEED, TORQUE]);
    let spike = 40;
    log.pulls[1].points[spike].torque_nm *= 1.30;
    let line = log.pulls[1].points[spike].line;
    let found = check(&judge(&log), CheckName::Spikes);
    assert_eq!(found.verdict, Verdict::NotCredible);
    let Finding::Rows(RowFinding::Spikes { line: worst, .. }) = found.finding else { panic!("{found:?}") };
    assert_eq!(worst, line);

    let mut copies = log.clone();
    copies.pulls[1].points = copies.pulls[0].points.clone();
    let found = check(&judge(&copies), CheckName::Repeatability);
    assert_eq!(found.verdict, Verdict::Doubtful);
    assert!(found.measure.value < 1e-9, "{found:?}");

    let mut apart = log;
    apart.pulls[1].points.iter_mut().for_each(|p| p.torque_nm *= 1.10);
    assert_eq!(check(&judge(&apart), CheckName::Repeatability).verdict, Verdict::NotCredible);
}

/// HAND: rows that scatter by 0.5 % of torque, twelve uniform numbers each, show that standard deviation. One pull of some hundred
/// rows tells it within 16 % by a median, so twelve pulls within 5 %; three times that is allowed.
#[test]
fn scatter_is_told_as_a_standard_deviation() {
    const PERCENT: f64 = 0.5;
    const PULLS: u64 = 12;
    let mut log = log(&[SPEED, TORQUE]);
    log.pulls.truncate(1);
    let rows = log.pulls[0].points.len();
    let (from, to) = log.pulls[0].speed_range_rpm();
    let one = |seed: u64| {
        let (mut flat, mut draws) = (log.clone(), Draws::new(seed));
        // A flat torque: what the rows are off their neighbours is the scatter alone.
        for (i, point) in flat.pulls[0].points.iter_mut().enumerate() {
            point.speed_rpm = from + (to - from) * i as f64 / (rows - 1) as f64;
            point.torque_nm = 150.0 * (1.0 + 0.01 * PERCENT * draws.normal());
        }
        check(&judge(&flat), CheckName::Smoothing).measure.value
    };
    let found = (0..PULLS).map(one).sum::<f64>() / PULLS as f64;
    assert!((found / PERCENT - 1.0).abs() < 0.15, "{found} of {PERCENT} % over {rows} rows");
}

/// HAND: the day has the factor 1.048. A log that states 0.5 % more is within rounding, 1.5 % more is doubtful, 3 % more is not
/// credible.
#[test]
fn a_logged_factor_is_held_against_that_of_the_day() {
    let (job, _, _) = honest();
    let yardstick =
        Yardstick::new(job, &JudgeSettings { weather_stated: true, ..JudgeSettings::default() }).unwrap();
    for (off, verdict) in [
        (0.005, Verdict::Consistent),
        (0.015, Verdict::Doubtful),
        (-0.015, Verdict::Doubtful),
        (0.03, Verdict::NotCredible),
    ] {
        let mut log = log(&[SPEED, TORQUE]);
        log.correction = LogCorrection::of_word("sae-j1349").unwrap();
        let factor = yardstick.judge(&log).unwrap().divided_by;
        assert!((factor - 1.048).abs() < 1e-3, "{factor}");
        for point in log.pulls.iter_mut().flat_map(|pull| &mut pull.points) {
            point.correction_factor = Some(factor * (1.0 + off));
        }
        let found = check(&yardstick.judge(&log).unwrap(), CheckName::CorrectionLogged);
        assert_eq!(found.verdict, verdict, "{off}: {found:?}");
        assert!((found.measure.value - 1.0 - off).abs() < 1e-9, "{found:?}");
    }
}

#[test]
fn without_the_weather_of_the_pull_no_correction_is_judged() {
    let (job, _, _) = honest();
    let yardstick = Yardstick::new(job, &JudgeSettings::default()).unwrap();
    let corrected = |by: &str| {
        let mut log = log(&[SPEED, TORQUE]);
        log.correction = LogCorrection::of_word(by).unwrap();
        yardstick.judge(&log).unwrap()
    };
    for (by, is_corrected) in [("none", false), ("sae-j1349", true)] {
        let found = corrected(by);
        for name in [CheckName::CorrectionRange, CheckName::CorrectionLogged, CheckName::OverCorrection] {
            assert!(found.check(name).is_none(), "{by}: {name:?}");
        }
        let note = Note::DayOfScenario { corrected: is_corrected };
        assert!(found.notes.contains(&note), "{by}: {:?}", found.notes);
    }
    // HAND: the day has the factor 1.048, by which corrected figures are divided.
    let (raw, by_sae) = (corrected("none"), corrected("sae-j1349"));
    assert!((by_sae.divided_by - 1.048).abs() < 1e-3);
    for (a, b) in raw.curve.iter().zip(&by_sae.curve) {
        assert!((a.torque_nm / b.torque_nm / by_sae.divided_by - 1.0).abs() < 1e-9);
    }
}

/// The efficiency that gives a torque, put back into the model, gives that torque: it is searched to 1e-4.
#[test]
fn implied_filling_is_the_model_turned_round() {
    let (_, yardstick, _) = honest();
    for point in yardstick.estimate().curve.iter().step_by(4) {
        let likely = point.bmep_bar * 1e5 * yardstick.job().build.geometry.displacement_m3()
            / (4.0 * std::f64::consts::PI);
        let found = yardstick.breathing_for(point, likely).unwrap().unwrap();
        assert!((found - 1.0).abs() < 1e-3, "{found}");
        let more = yardstick.breathing_for(point, 1.1 * likely).unwrap().unwrap();
        assert!(more > found + 0.05 && more < found + 0.12, "{more}");
        assert_eq!(yardstick.breathing_for(point, 10.0 * likely).unwrap(), None);
    }
}

#[test]
fn every_check_has_a_number_and_limits() {
    let found = judge(&log(&[SPEED, TORQUE, POWER]));
    for check in &found.checks {
        let m = &check.measure;
        assert!(m.value.is_finite(), "{:?}", check.name);
        assert!(m.consistent.low.is_some() || m.consistent.high.is_some() || m.credible.high.is_some());
        assert_eq!(check.verdict, m.verdict());
    }
    assert_eq!(found.checks.len() + found.not_checked.len(), 21);
}
