//! What must hold of whatever is read, written once: for the fuzz targets beside this file and for `tests/inputs.rs`.
//!
//! Each function takes the bytes of one input and panics when a law is broken. An input that is refused must be told in
//! words that can be printed and that name it; one that is taken must give finite numbers of the right sign.
#![allow(dead_code, reason = "each fuzz target uses its own part")]
#![allow(clippy::unwrap_used, reason = "a broken law panics")]

use endgas::dyno::{
    ColumnMap, Correction, DecimalSign, JudgeSettings, Log, Mapping, Place, Quantity, Written, Yardstick,
    join,
};
use endgas::engine::volumes::{VolumesJob, VolumesSheet};
use endgas::estimate::likely_curve::likely_curve;
use endgas::estimate::{Job, estimate};
use endgas::fuel::fill::{read_percent, read_volume_m3};
use endgas::fuel::{FuelLibrary, PumpFuel};
use endgas::live::http::{Answer, Request, Status};
use endgas::live::{Base, Curves, Routes, Setting, page_data};
use endgas::printable::is_hidden;
use endgas::report::{
    Fitting, Format, FuelReport, Units, all_finite, plots, render, render_fuels, render_judgement,
    render_volumes,
};
use endgas::scenario::typed;
use endgas::scenario::{DEMO, ProblemKind, Scenario, choose_fuels, fitted_text, read};
use std::ops::RangeInclusive;
use std::sync::LazyLock;

/// What every input is called: a name that no message may print as it is.
const LABEL: &str = "in\u{1b}[31mput\n\u{202e}.x";
/// The same as it may be printed.
const LABEL_SHOWN: &str = "in\\u{1b}[31mput\\n\\u{202e}.x";
/// Port of the page.
const PORT: u16 = 4000;

static LIBRARY: LazyLock<FuelLibrary> = LazyLock::new(|| FuelLibrary::shipped().unwrap());
/// The built-in example over the speeds of the shipped pulls, and what a pull is held against.
static YARDSTICK: LazyLock<Yardstick> = LazyLock::new(|| {
    let mut job = read("demo", DEMO).unwrap().job(&LIBRARY, 50, 1).unwrap();
    job.fuels.truncate(1);
    Yardstick::new(&job, &JudgeSettings::default()).unwrap()
});
/// The built-in example at one speed, as the page holds it.
static BASE: LazyLock<Base> = LazyLock::new(|| one_speed(&read("demo", DEMO).unwrap(), DEMO).unwrap());
static ROUTES: LazyLock<Routes> =
    LazyLock::new(|| Routes::new(BASE.clone(), &page_data(&BASE, Units::Metric).unwrap()));

/// A message says something, and nothing in it acts on the screen.
fn said(message: &str) {
    assert!(!message.trim().is_empty(), "an error says nothing");
    shown(message);
}

/// Text in which nothing acts on the screen.
fn shown(text: &str) {
    let hidden = text.chars().find(|c| *c != '\n' && is_hidden(*c));
    assert!(hidden.is_none(), "{hidden:?} is printed raw: {text:?}");
}

fn within(what: &str, value: f64, range: RangeInclusive<f64>) {
    // One part in a billion for the conversion of units.
    let slack = 1e-9 * range.start().abs().max(range.end().abs());
    let wide = range.start() - slack..=range.end() + slack;
    assert!(wide.contains(&value), "{what} = {value} is outside {range:?}");
}

/// One input in so many, the same every time, for what is dear.
fn one_in(count: u64, bytes: &[u8]) -> bool {
    let hash = bytes
        .iter()
        .fold(0xcbf2_9ce4_8422_2325_u64, |h, b| (h ^ u64::from(*b)).wrapping_mul(0x0100_0000_01b3));
    (hash >> 17).is_multiple_of(count)
}

/// A scenario file.
pub fn scenario(bytes: &[u8]) {
    // Bytes that are no text are refused before a scenario is read.
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match read(LABEL, text) {
        Err(problems) => {
            said(&problems.to_string());
            assert!(!problems.0.is_empty());
            let lines = 1 + text.bytes().filter(|b| *b == b'\n').count();
            for problem in &problems.0 {
                let told = problem.to_string();
                assert!(told.starts_with(LABEL_SHOWN), "{told}");
                assert!((1..=lines).contains(&problem.line) && problem.column >= 1, "{told}");
                let is_syntax = matches!(problem.kind, ProblemKind::Syntax { .. });
                assert_eq!(problem.key.is_empty(), is_syntax, "{told}");
            }
        }
        Ok(scenario) => {
            shown(&scenario.name);
            shown(&scenario.note);
            runs(&scenario, text, bytes);
            is_measured(&scenario);
            is_edited(&scenario, text);
        }
    }
}

/// A scenario that was read makes an estimate at one speed, or says why not.
fn runs(scenario: &Scenario, text: &str, bytes: &[u8]) {
    let mut job = match scenario.job(&LIBRARY, 50, 1) {
        Ok(job) => job,
        Err(error) => return said(&error.to_string()),
    };
    keep_one_speed(&mut job.speeds_rpm);
    job.fuels.truncate(1);
    match likely_curve(&job, &job.fuels[0]) {
        Err(error) => said(&error.to_string()),
        Ok(curve) => {
            let frac = -1e-9..=1.0;
            within("lambda", curve.lambda, 0.5..=1.6);
            within("ethanol", curve.ethanol_vol_frac, 0.0..=1.0);
            within("power given up", curve.peak_power_lost_frac, frac.clone());
            for p in &curve.points {
                within("volumetric efficiency", p.volumetric_efficiency, 1e-3..=3.0);
                within("torque given up", p.torque_lost_frac, frac.clone());
                within("crank torque", p.crank_torque_nm, 0.0..=1e5);
                within("octane margin", p.octane_margin, -1e3..=1e3);
                let crank_kw = p.crank_torque_nm * p.speed_rpm * std::f64::consts::PI / 30e3;
                within("wheel power", p.wheel_power_kw, -1e-9..=crank_kw);
                let (late, early) = (job.spark_range.latest_deg_btdc, job.spark_range.earliest_deg_btdc);
                within("spark", p.spark_deg_btdc - late, 0.0..=early - late);
                within("best spark", p.best_torque_spark_deg_btdc - late, 0.0..=early - late);
            }
        }
    }
    if let Ok(base) = one_speed(scenario, text) {
        answers(base.likely(&Setting::default()).map_err(|refusal| refusal.to_string()));
    }
    if one_in(32, bytes) {
        is_estimated(&job);
    }
}

/// A whole estimate with every number finite in its three forms.
fn is_estimated(job: &Job) {
    match estimate(job) {
        Err(error) => said(&error.to_string()),
        Ok(found) => {
            for format in [Format::Text, Format::Json, Format::Csv] {
                shown(&render(&found, format, Units::Us).unwrap());
            }
            plots(&found, Units::Metric).unwrap().iter().for_each(|(_, svg)| shown(svg));
        }
    }
}

fn keep_one_speed(speeds_rpm: &mut Vec<f64>) {
    let middle = speeds_rpm[speeds_rpm.len() / 2];
    *speeds_rpm = vec![middle];
}

fn one_speed(scenario: &Scenario, text: &str) -> Result<Base, endgas::live::Refusal> {
    let mut scenario = scenario.clone();
    keep_one_speed(&mut scenario.speeds_rpm);
    Base::new(scenario, text, LIBRARY.clone())
}

/// The sheet of measured volumes.
fn is_measured(scenario: &Scenario) {
    let sheet = VolumesSheet::new(&VolumesJob {
        scenario: &scenario.name,
        geometry: &scenario.build.geometry,
        inlet_closes_deg_abdc: scenario.build.valves.inlet_closes_deg_abdc,
        air_pressure_pa: scenario.weather.pressure_pa,
        volumes: scenario.volumes.as_ref(),
        by_cylinder: &scenario.volumes_by_cylinder,
        wanted: typed::ratio("12").ok(),
    });
    within("ratio", sheet.compression_ratio, 6.0..=18.0);
    for format in [Format::Text, Format::Json, Format::Csv] {
        shown(&render_volumes(&sheet, format, Units::Metric).unwrap());
    }
}

/// The text of a scenario takes fitted values and saved settings.
fn is_edited(scenario: &Scenario, text: &str) {
    let written = Written {
        speed_rpm: vec![3000.0, 6000.5],
        volumetric_efficiency: vec![0.9, 1.01],
        spread_percent: 3.0,
        follows: Vec::new(),
        measured_loss_percent: Some(15.0),
        measured_loss_spread_percent: Some(10.0),
        burn_speed: 1.1,
        // What a fit writes is held to the range of the key.
        mean_flow_coefficient: Some(scenario.build.valves.mean_flow_coefficient.clamp(0.2, 0.6)),
    };
    let new = fitted_text(text, &written, LABEL).unwrap();
    assert_eq!(read("new", &new).unwrap().build.breathing, written.build(&scenario.build).breathing);
    let Ok(base) = Base::new(scenario.clone(), text, LIBRARY.clone()) else { return };
    match base.scenario_text(&Setting::read("compression_ratio=11&ve_band_position=0.1&lambda=0.9").unwrap())
    {
        Ok(saved) => assert_eq!(read("saved", &saved).unwrap().build.geometry.compression_ratio.get(), 11.0),
        Err(refusal) => said(&refusal.to_string()),
    }
}

/// A file of a component or a pump fuel in the user's folder.
pub fn fuel_file(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let library = match LIBRARY.clone().with_files([(LABEL.to_owned(), text.to_owned())]) {
        Ok(library) => library,
        Err(error) => {
            said(&error.to_string());
            assert!(error.to_string().contains(LABEL_SHOWN), "{error}");
            return;
        }
    };
    let names = library.names().into_iter().chain(library.component_names());
    for name in names {
        let fuel = library.resolve(name).unwrap();
        if LIBRARY.resolve(name).is_ok_and(|shipped| shipped == fuel) {
            continue;
        }
        is_fuel(fuel);
        for recipe in [format!("{name} 60 % + e85 40 %"), format!("{name} 1% + ethanol 99%")] {
            if let Ok(mixed) = library.resolve(&recipe) {
                is_fuel(mixed);
            }
        }
    }
}

/// A fuel has properties that are finite and of the right sign, or is refused.
fn is_fuel(fuel: PumpFuel) {
    match fuel.blend() {
        Err(error) => said(&error.to_string()),
        Ok(blend) => {
            within("density", blend.density_15c_kg_per_m3, 1.0..=1e4);
            within("heating value", blend.lhv_j_per_kg, 1.0..=6e7);
            within("air-fuel ratio", blend.afr_stoich, 1e-3..=1e2);
            within("ethanol", blend.ethanol_vol_frac, 0.0..=1.0);
            within("RON", blend.octane.ron, -100.0..=300.0);
        }
    }
    for report in [FuelReport::asked(vec![fuel.clone()]), FuelReport::sweep(fuel)] {
        match report {
            Err(error) => said(&error.to_string()),
            Ok(report) => {
                for format in [Format::Text, Format::Json, Format::Csv] {
                    match render_fuels(&report, format, Units::Metric) {
                        Ok(text) => shown(&text),
                        Err(error) => said(&error.to_string()),
                    }
                }
            }
        }
    }
}

/// What a person types: a quantity with its unit, a fuel or recipe, a volume of it, a column.
pub fn words(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let quantity = |what, read: Result<f64, typed::TypedError>, range| match read {
        Ok(value) => within(what, value, range),
        Err(error) => said(&error.to_string()),
    };
    quantity("temperature", typed::temperature_k(text), 253.15..=323.15);
    quantity("pressure", typed::pressure_pa(text), 50e3..=110e3);
    quantity("humidity", typed::humidity(text), 0.0..=1.0);
    quantity("altitude", typed::altitude_as_pa(text), 50e3..=110e3);
    quantity("power", typed::wheel_power_kw(text), 2.0..=2000.0);
    quantity("ratio", typed::ratio(text).map(|ratio| ratio.get()), 6.0..=18.0);
    if let Some(frac) = read_percent(text) {
        within("percentage", frac, 0.0..=1.0);
    }
    match read_volume_m3(text) {
        Ok(volume_m3) => within("volume", volume_m3, f64::MIN_POSITIVE..=50.0),
        Err(error) => said(&error.to_string()),
    }
    match LIBRARY.fill(text) {
        Ok(fill) => {
            within("volume", fill.volume_m3, f64::MIN_POSITIVE..=50.0);
            is_fuel(fill.fuel);
        }
        Err(error) => said(&error.to_string()),
    }
    for fuel in [LIBRARY.resolve(text), LIBRARY.measured(text)] {
        match fuel {
            Ok(fuel) => is_fuel(fuel),
            Err(error) => said(&error.to_string()),
        }
    }
    let spec = text.to_owned();
    let request = endgas::scenario::FuelRequest { place: "--fuel".to_owned(), spec, lambda: None };
    if let Err(error) = choose_fuels(vec![request], &LIBRARY) {
        said(&error.to_string());
    }
    if let Err(why) = ColumnMap::read(text) {
        said(&why);
    }
    if let Some(unit) = Quantity::ALL.iter().find_map(|quantity| quantity.unit(text)) {
        assert!((unit.to_si)(1.0).is_finite());
    }
}

/// A log of pulls. A last byte from 0x80 is no part of the file but says how it is read.
pub fn pull(bytes: &[u8]) {
    let (bytes, mapping) = match bytes.split_last() {
        Some((last, rest)) if *last >= 0x80 => (rest, mapping_of(*last)),
        _ => (bytes, Mapping::default()),
    };
    let log = match endgas::dyno::read(LABEL, bytes, &mapping) {
        Ok(log) => log,
        Err(errors) => {
            said(&errors.to_string());
            assert!(!errors.problems.is_empty());
            let lines = 1 + bytes.iter().filter(|b| matches!(b, b'\n' | b'\r')).count() as u64;
            assert!(
                errors.problems.iter().filter_map(|p| p.line).all(|line| (1..=lines).contains(&line)),
                "{errors}"
            );
            assert!(errors.to_string().contains(LABEL_SHOWN));
            return;
        }
    };
    is_log(&log);
    said(&join(vec![log.clone(), log.clone()]).unwrap_err().to_string());
    match YARDSTICK.judge(&log) {
        Err(error) => said(&error.to_string()),
        Ok(judgement) => {
            for format in [Format::Text, Format::Json, Format::Csv] {
                shown(&render_judgement(&judgement, &Fitting::NotAsked, format, Units::Metric).unwrap());
            }
        }
    }
}

/// How a log is read, from the bits of a byte.
fn mapping_of(bits: u8) -> Mapping {
    let column = |typed| ColumnMap::read(typed).unwrap();
    Mapping {
        delimiter: [None, Some(','), Some(';'), Some('\t')][usize::from(bits & 3)],
        decimal: (bits & 4 != 0).then_some(if bits & 8 != 0 {
            DecimalSign::Comma
        } else {
            DecimalSign::Point
        }),
        columns: match (bits >> 4) & 3 {
            1 => vec![column("speed=#1 in rpm"), column("torque=#2 in lbf ft")],
            2 => vec![column("power=hp in hp"), column("ignore=torque (Nm)")],
            3 => vec![column("speed=n in rpm"), column("afr=lambda"), column("pull=#3")],
            _ => Vec::new(),
        },
        place: (bits & 64 != 0).then_some(Place::Crank),
        correction: (bits & 64 != 0).then_some(Correction::None),
        afr_stoich: (bits & 64 != 0).then_some(9.8),
    }
}

fn is_log(log: &Log) {
    assert!(!log.pulls.is_empty());
    log.notes.iter().chain(&log.ignored).for_each(|text| shown(text));
    log.columns.iter().for_each(|column| shown(&column.heading));
    shown(&log.label);
    for pull in &log.pulls {
        shown(&pull.name);
        assert!(pull.points.len() >= endgas::dyno::Pull::LEAST_POINTS);
    }
    for p in log.points() {
        within("speed", p.speed_rpm, 100.0..=20e3);
        // Two megawatts at a hundred turns a minute.
        within("torque", p.torque_nm, f64::MIN_POSITIVE..=2e5);
        for (what, value, range) in [
            ("power", p.power_beside_torque_w, f64::MIN_POSITIVE..=2e6),
            ("lambda", p.lambda, 0.25..=6.0),
            ("temperature", p.air_temperature_k, 253.15..=323.15),
            ("pressure", p.air_pressure_pa, 50e3..=110e3),
            ("humidity", p.relative_humidity, 0.0..=1.0),
            ("fuel flow", p.fuel_flow_kg_per_s, f64::MIN_POSITIVE..=0.5),
            ("factor", p.correction_factor, 0.7..=1.5),
        ] {
            if let Some(value) = value {
                within(what, value, range);
            }
        }
    }
}

/// Bytes sent to the page.
pub fn request(bytes: &[u8]) {
    match Request::parse(bytes, PORT) {
        Err(refusal) => {
            assert_ne!(refusal.status, Status::Ok);
            is_answer(&refusal);
        }
        Ok(None) => {}
        Ok(Some(request)) => {
            assert!(request.query.len() <= endgas::live::http::MOST_QUERY);
            let answer = ROUTES.answer(&request);
            assert_ne!(answer.status, Status::InternalServerError);
            is_answer(&answer);
        }
    }
}

/// An answer is one head and one body, and says something.
fn is_answer(answer: &Answer) {
    let bytes = answer.bytes(false);
    let end = bytes.windows(4).position(|four| four == b"\r\n\r\n").unwrap();
    let head = std::str::from_utf8(&bytes[..end]).unwrap();
    assert_eq!(&bytes[end + 4..], answer.body.as_slice());
    assert_eq!(answer.bytes(true).len(), end + 4);
    let mut lines = head.split("\r\n");
    assert!(lines.next().unwrap().starts_with("HTTP/1.1 "));
    for line in lines {
        assert!(line.contains(": ") && line.chars().all(|c| (' '..='~').contains(&c)), "{line:?}");
    }
    let body = std::str::from_utf8(&answer.body).unwrap();
    assert!(!body.trim().is_empty());
    if answer.kind == "application/json" {
        let value: serde_json::Value = serde_json::from_slice(&answer.body).unwrap();
        if answer.status != Status::Ok {
            said(value["message"].as_str().unwrap());
        }
    } else if answer.status != Status::Ok {
        said(body);
    }
}

/// The query of a setting.
pub fn setting(bytes: &[u8]) {
    let Ok(query) = std::str::from_utf8(bytes) else { return };
    let setting = match Setting::read(query) {
        Ok(setting) => setting,
        Err(refusal) => return said(&refusal.to_string()),
    };
    answers(BASE.likely(&setting).map_err(|refusal| refusal.to_string()));
    if one_in(32, bytes) {
        answers(BASE.sampled(&setting).map_err(|refusal| refusal.to_string()));
    }
    match BASE.scenario_text(&setting) {
        Ok(text) => {
            read("saved", &text).unwrap();
        }
        Err(refusal) => said(&refusal.to_string()),
    }
}

/// What the page shows is finite and of the right sign, or is refused.
fn answers(found: Result<Curves, String>) {
    match found {
        Err(refusal) => said(&refusal),
        Ok(curves) => {
            all_finite(&curves).unwrap();
            shown(&curves.fuel);
            for p in &curves.curve {
                within("crank torque", p.crank_torque_nm.likely, 0.0..=1e5);
                within("wheel power", p.wheel_power_kw.likely, -1e-9..=1e5);
                within("volumetric efficiency", p.volumetric_efficiency, 1e-3..=3.0);
            }
        }
    }
}
