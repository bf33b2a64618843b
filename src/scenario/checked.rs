//! As meant: the whole scenario, the day, the fuels, the speeds and the spark.

use super::breathing::{breathing, older_keys};
use super::choose::{ChooseRules, choose};
use super::fueling::fueling;
use super::knock::{knock, note_coolant_of_air_cooled};
use super::volumes::Volumes;
use super::{FuelUse, MOST_FUELS, MOST_SPEEDS, Scenario, SparkRules, WeatherInput, parts};
use crate::air::standard_atmosphere_pressure_pa;
use crate::engine::{Breathing, Build, Cam, Cooling};
use crate::estimate::job::USUAL_RESERVE_OCTANE;
use crate::estimate::spark::SparkRange;
use crate::input::{Expected, KeyWay, ProblemKind, Section, nearest};
use crate::units::stated::{
    AIR_PRESSURE, AIR_TEMPERATURE, ALTITUDE, ENGINE_SPEED, LAMBDA, OCTANE_MARGIN, SHARE_PERCENT,
};
use crate::units::{Lambda, Unit};

/// The whole file.
pub(super) fn scenario(root: &mut Section<'_, '_>, file: &str) -> Option<Scenario> {
    let head = root.sub("scenario", true, |s| (s.text("name"), s.optional_text("note")));
    let mut remarks = Vec::new();
    let build = build(root, file, &mut remarks);
    let weather = root.sub("weather", true, weather);
    let fuels = root.sub("fuels", true, fuels);
    let speeds_rpm = root.sub("speed", true, speeds);
    let spark = root.sub("spark", false, spark);
    let run: &[FuelUse] = fuels.as_ref().map_or(&[], |(run, _)| run);
    let choose = if root.has("choose") {
        root.sub("choose", false, |s| choose(s, run))
    } else {
        Some(ChooseRules::default())
    };
    let fueling = root.sub("fueling", false, fueling);
    let knock = root.sub("knock", false, |s| knock(s, file));

    let (build, volumes, cam) = build?;
    note_coolant_of_air_cooled(root, &knock, matches!(build.combustion.cooling, Cooling::Air { .. }));
    let (fuels, lambda_for_all) = fuels?;
    Some(Scenario {
        name: head.0?,
        note: head.1.unwrap_or_default(),
        build,
        cam,
        volumes: volumes.as_ref().map(|v| v.mean),
        volumes_by_cylinder: volumes.map(|v| v.by_cylinder).unwrap_or_default(),
        weather: weather?,
        fuels,
        lambda_for_all,
        speeds_rpm: speeds_rpm?,
        spark,
        choose: choose?,
        knock,
        learned: None,
        fueling,
        file: file.to_owned(),
        remarks,
    })
}

/// The engine in its car, and its measured volumes where they are given.
fn build(
    root: &mut Section<'_, '_>,
    file: &str,
    remarks: &mut Vec<String>,
) -> Option<(Build, Option<Volumes>, Option<Cam>)> {
    let engine = root.sub("engine", true, parts::engine);
    let valves = root.sub("valves", true, parts::valves);
    let breathing = root.sub("breathing", true, |s| {
        remarks.extend(older_keys(s, file));
        breathing(s, valves.as_ref())
    });
    let combustion = root.sub("combustion", true, parts::combustion);
    let injection = root.sub("injection", true, parts::injection);
    let friction = root.sub("friction", false, parts::friction);
    let driveline = root.sub("driveline", true, parts::driveline);
    let limits = root.sub("limits", false, parts::limits);

    let (geometry, volumes) = engine?;
    let (mut valves, is_flow_stated, cam) = valves?;
    parts::valves_fit(root, &geometry, &valves);
    match (&breathing, injection) {
        (Some(Breathing::PortFlow(flow)), _) => valves.mean_flow_coefficient = flow.mean_flow_coefficient,
        (Some(Breathing::Band { kind, .. }), Some(injection)) if !is_flow_stated => {
            valves.mean_flow_coefficient = kind.figures(injection).usual_inlet.1;
        }
        _ => {}
    }
    let build = Build {
        geometry,
        valves,
        breathing: breathing?,
        injection: injection?,
        combustion: combustion?,
        friction,
        driveline: driveline?,
        limits,
    };
    Some((build, volumes, cam))
}

pub(super) fn weather(s: &mut Section<'_, '_>) -> Option<WeatherInput> {
    let temperature_k = s.si("air_temperature_c", AIR_TEMPERATURE);
    let way = format!("{AIR_PRESSURE}; or give altitude_m, from {}", ALTITUDE.ends());
    let missing = Some(("pressure_kpa", Expected::OneOf(way)));
    let pressure_pa = s.one_of(
        missing,
        &[
            KeyWay {
                words: "pressure_kpa",
                keys: &["pressure_kpa"],
                read: &|s| s.si("pressure_kpa", AIR_PRESSURE),
            },
            KeyWay {
                words: "altitude_m",
                keys: &["altitude_m"],
                read: &|s| {
                    let altitude_m = s.number("altitude_m", ALTITUDE)?;
                    standard_atmosphere_pressure_pa(altitude_m).ok()
                },
            },
        ],
    );
    let relative_humidity = s.si("relative_humidity_percent", SHARE_PERCENT);
    Some(WeatherInput {
        temperature_k: temperature_k?,
        pressure_pa: pressure_pa?,
        relative_humidity: relative_humidity?,
    })
}

/// `[fuels]`: the list to run, and the mixture set for all.
fn fuels(s: &mut Section<'_, '_>) -> Option<(Vec<FuelUse>, Option<Lambda>)> {
    let run = s.texts("run", 1..=MOST_FUELS);
    let for_all = s.optional_number("lambda", LAMBDA).and_then(|value| Lambda::new(value).ok());
    let own = s.free_numbers("lambda_for", false, LAMBDA);
    let run = run?;
    for (i, (spec, given)) in run.iter().enumerate() {
        if run[..i].iter().any(|(earlier, _)| earlier == spec) {
            let why = "this fuel is already in the list".to_owned();
            s.notes().note_value(given, ProblemKind::Contradiction { why }, None);
        }
    }
    for (name, given, _) in &own {
        if !run.iter().any(|(spec, _)| spec == name.trim()) {
            let near = nearest(name, run.iter().map(|(spec, _)| spec.as_str()));
            let hint = near.map(|spec| format!("fuels.run has \"{spec}\""));
            let why = "no fuel of that name is in fuels.run".to_owned();
            s.notes().note_value(given, ProblemKind::Contradiction { why }, hint);
        }
    }
    let uses = run.into_iter().map(|(spec, given)| {
        let own = own.iter().find(|(name, ..)| name.trim() == spec).and_then(|(.., lambda)| *lambda);
        let lambda = own.and_then(|value| Lambda::new(value).ok()).or(for_all);
        FuelUse { lambda, line: s.notes().line(given.offset), spec }
    });
    Some((uses.collect(), for_all))
}

fn speeds(s: &mut Section<'_, '_>) -> Option<Vec<f64>> {
    let from = s.number("from_rpm", ENGINE_SPEED);
    let to = s.number("to_rpm", ENGINE_SPEED);
    let step = s.number("step_rpm", Unit::Rpm.of(10.0..=5000.0));
    if let (Some(from), Some(to)) = (from, to)
        && to < from
    {
        s.contradiction("to_rpm", &format!("it is below from_rpm = {from}"), None);
        return None;
    }
    let (from, to, step) = (from?, to?, step?);
    let points = speed_count(from, to, step);
    if points > MOST_SPEEDS {
        let why =
            format!("it makes {points} speeds from {from} to {to} rpm; at most {MOST_SPEEDS} are allowed");
        let least = (to - from) / (MOST_SPEEDS - 1) as f64;
        let hint = format!("take a step of {} rpm or more", (least / 10.0).ceil() * 10.0);
        s.contradiction("step_rpm", &why, Some(hint));
        return None;
    }
    Some(speeds_between(from, to, step))
}

/// How many speeds a step makes between two, the last one always among them.
fn speed_count(from: f64, to: f64, step: f64) -> usize {
    // A rest of a millionth of a step is rounding, not a point of its own.
    ((to - from) / step - 1.0e-6).ceil().max(0.0) as usize + 1
}

/// The speeds from one to another by a step above 0; the last one is always among them.
pub(crate) fn speeds_between(from: f64, to: f64, step: f64) -> Vec<f64> {
    let before_last = speed_count(from, to, step) - 1;
    (0..before_last).map(|i| from + i as f64 * step).chain([to]).collect()
}

fn spark(s: &mut Section<'_, '_>) -> SparkRules {
    let reserve = s.optional_number("reserve_octane", OCTANE_MARGIN);
    let earliest = s.optional_number("earliest_deg_btdc", Unit::CrankDegree.of(0.0..=80.0));
    let latest = s.optional_number("latest_deg_btdc", Unit::CrankDegree.of(-40.0..=40.0));
    let rules = SparkRules {
        reserve_octane: reserve.unwrap_or(USUAL_RESERVE_OCTANE),
        earliest_deg_btdc: earliest.unwrap_or(SparkRange::USUAL.earliest_deg_btdc),
        latest_deg_btdc: latest.unwrap_or(SparkRange::USUAL.latest_deg_btdc),
    };
    let refused =
        s.has("earliest_deg_btdc") && earliest.is_none() || s.has("latest_deg_btdc") && latest.is_none();
    if !refused && rules.latest_deg_btdc >= rules.earliest_deg_btdc {
        let key = if s.has("latest_deg_btdc") { "latest_deg_btdc" } else { "earliest_deg_btdc" };
        let why = format!(
            "the latest spark ({} deg) must stand after the earliest ({} deg); before top dead centre is positive",
            rules.latest_deg_btdc, rules.earliest_deg_btdc
        );
        s.contradiction(key, &why, None);
    }
    rules
}
