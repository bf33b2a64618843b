//! As meant: `[breathing]`, in one of its three ways.

use super::checked::SPEED_RPM;
use super::diagnostics::Expected;
use super::parts::mm_to_m;
use super::raw::Section;
use super::unit::Unit;
use crate::engine::port_flow::{BenchSheet, InletCam, RamGain, USUAL_RAM_GAIN};
use crate::engine::{Breathing, BuildKind, Follow, Follows, PortFlow, Valves};
use crate::units::{M3_PER_S_PER_CFM, PA_PER_INCH_OF_WATER};
use std::ops::RangeInclusive;

/// Points of a volumetric-efficiency table and of a flow-bench sheet.
const TABLE_POINTS: RangeInclusive<usize> = 2..=60;
/// Mean flow coefficients that a port can have [-]; beyond, the sheet is in other units or of one valve alone.
/// Common practice, no source.
const MEAN_FLOW_COEFFICIENT: RangeInclusive<f64> = 0.15..=0.65;
/// Valve lifts and greatest lift [mm].
const LIFT_MM: RangeInclusive<f64> = 0.3..=25.0;

const BAND_KEYS: [&str; 2] = ["kind", "peak_speed_rpm"];
const TABLE_KEYS: [&str; 4] = ["speed_rpm", "volumetric_efficiency", "spread_percent", "follows"];
const FLOW_KEYS: [&str; 8] = [
    "bench_depression_pa",
    "bench_depression_in_h2o",
    "bench_lift_mm",
    "bench_flow_l_per_s",
    "bench_flow_cfm",
    "cam_max_lift_mm",
    "cam_duration_deg",
    "ram_gain_percent",
];

/// The first of some keys that is there.
fn first(s: &mut Section<'_, '_>, keys: &[&'static str]) -> Option<&'static str> {
    keys.iter().copied().find(|key| s.has(key))
}

/// `[breathing]`: a band of a kind of build, a table, or port flow and cam.
///
/// # Arguments
/// - `valves`: the valves, and whether their mean flow coefficient was stated; none when they hold mistakes
pub(super) fn breathing(s: &mut Section<'_, '_>, valves: Option<&(Valves, bool)>) -> Option<Breathing> {
    let (band, table, flow) = (first(s, &BAND_KEYS), first(s, &TABLE_KEYS), first(s, &FLOW_KEYS));
    let of_band = band.and_then(|_| band_of(s));
    let of_table = table.and_then(|_| table_of(s));
    let of_flow = flow.and_then(|_| flow_of(s, valves));
    let ways = [
        (band, "a band (kind, peak_speed_rpm)"),
        (table, "a table (speed_rpm, volumetric_efficiency)"),
        (flow, "port flow (bench_lift_mm, cam_max_lift_mm)"),
    ];
    let mut kept: Option<&str> = None;
    for (key, way) in ways.into_iter().filter_map(|(key, way)| key.map(|key| (key, way))) {
        match kept {
            Some(earlier) => {
                s.contradiction(key, &format!("{earlier} is given too; keep one of the two"), None)
            }
            None => kept = Some(way),
        }
    }
    if kept.is_none() {
        let ways = "a word, with peak_speed_rpm; or give a table of speed_rpm, volumetric_efficiency and \
                    spread_percent; or port flow and cam, see ported-four-1800.toml";
        s.miss("kind", Expected::OneOf(ways));
    }
    of_band.or(of_table).or(of_flow)
}

fn band_of(s: &mut Section<'_, '_>) -> Option<Breathing> {
    const KINDS: [(&str, BuildKind); 4] = [
        ("production-two-valve", BuildKind::ProductionTwoValve),
        ("production-four-valve", BuildKind::ProductionFourValve),
        ("tuned", BuildKind::Tuned),
        ("race", BuildKind::Race),
    ];
    let kind = s.word("kind", &KINDS);
    let peak = s.number("peak_speed_rpm", SPEED_RPM, Unit::Rpm);
    Some(Breathing::Band { kind: kind?, peak_speed_rpm: peak? })
}

/// Notes a list that does not rise, or whose length is not that of its partner.
fn check_lists(
    s: &mut Section<'_, '_>,
    (x_key, x): (&'static str, Option<&Vec<f64>>),
    (y_key, y): (&'static str, Option<&Vec<f64>>),
) {
    if let Some(pair) = x.and_then(|x| x.windows(2).find(|pair| pair[1] <= pair[0])) {
        let what = if x_key == "speed_rpm" { "speeds" } else { "lifts" };
        let why = format!("{what} must rise, but {} is followed by {}", pair[0], pair[1]);
        s.contradiction(x_key, &why, None);
    }
    if let (Some(x), Some(y)) = (x, y)
        && x.len() != y.len()
    {
        s.contradiction(y_key, &format!("it has {} entries, {x_key} has {}", y.len(), x.len()), None);
    }
}

fn table_of(s: &mut Section<'_, '_>) -> Option<Breathing> {
    let speed_rpm = s.numbers("speed_rpm", TABLE_POINTS, SPEED_RPM, Unit::Rpm);
    let efficiency = s.numbers("volumetric_efficiency", TABLE_POINTS, 0.4..=1.5, Unit::Fraction);
    let spread_percent = s.number("spread_percent", 0.5..=30.0, Unit::Percent);
    check_lists(s, ("speed_rpm", speed_rpm.as_ref()), ("volumetric_efficiency", efficiency.as_ref()));
    let follows = s.sub("follows", false, |f| follows_of(f, speed_rpm.as_ref()));
    Some(Breathing::Table {
        speed_rpm: speed_rpm?,
        volumetric_efficiency: efficiency?,
        spread: spread_percent? / 100.0,
        follows,
    })
}

/// `[breathing.follows]`: lists beside the table, in per cent.
fn follows_of(s: &mut Section<'_, '_>, speeds: Option<&Vec<f64>>) -> Follows {
    let mut follows = Vec::new();
    for with in Follow::ALL {
        let changes = s.optional_numbers(with.key(), TABLE_POINTS, -30.0..=30.0, Unit::Percent);
        check_lists(s, ("speed_rpm", speeds), (with.key(), changes.as_ref()));
        follows.extend(changes.map(|list| (with, list.into_iter().map(|x| x / 100.0).collect())));
    }
    Follows(follows)
}

/// One quantity that may be given under either of two keys, each in its unit; `read` gives it in SI.
fn either<T>(
    s: &mut Section<'_, '_>,
    keys: [&'static str; 2],
    ways: &'static str,
    read: impl Fn(&mut Section<'_, '_>, &'static str) -> Option<T>,
) -> Option<T> {
    match (s.has(keys[0]), s.has(keys[1])) {
        (true, true) => {
            s.contradiction(keys[1], &format!("{} is given too; keep one of the two", keys[0]), None);
            None
        }
        (false, false) => {
            s.miss(keys[0], Expected::OneOf(ways));
            None
        }
        (true, false) => read(s, keys[0]),
        (false, true) => read(s, keys[1]),
    }
}

fn sheet_of(s: &mut Section<'_, '_>) -> Option<BenchSheet> {
    let depression_pa = either(
        s,
        ["bench_depression_pa", "bench_depression_in_h2o"],
        "a number from 500 to 20000 Pa; or give bench_depression_in_h2o, from 2 to 80",
        |s, key| match key {
            "bench_depression_pa" => s.number(key, 500.0..=20_000.0, Unit::Pascal),
            _ => s.number(key, 2.0..=80.0, Unit::InchOfWater).map(|inches| inches * PA_PER_INCH_OF_WATER),
        },
    );
    let lift_mm = s.numbers("bench_lift_mm", TABLE_POINTS, LIFT_MM, Unit::Millimetre);
    let keys = ["bench_flow_l_per_s", "bench_flow_cfm"];
    let flow_key = if s.has(keys[0]) { keys[0] } else { keys[1] };
    let flow = either(
        s,
        keys,
        "a list of flows in l/s, one per lift, of all inlet valves of one cylinder; or give bench_flow_cfm",
        |s, key| match key {
            "bench_flow_l_per_s" => s
                .numbers(key, TABLE_POINTS, 1.0..=500.0, Unit::LitrePerSecond)
                .map(|list| list.into_iter().map(|x| x / 1e3).collect::<Vec<f64>>()),
            _ => s
                .numbers(key, TABLE_POINTS, 2.0..=1000.0, Unit::CubicFootPerMinute)
                .map(|list| list.into_iter().map(|x| x * M3_PER_S_PER_CFM).collect()),
        },
    );
    check_lists(s, ("bench_lift_mm", lift_mm.as_ref()), (flow_key, flow.as_ref()));
    let (lift_mm, flow_m3_per_s) = (lift_mm?, flow?);
    if lift_mm.len() != flow_m3_per_s.len() {
        return None;
    }
    let lift_m = lift_mm.into_iter().map(mm_to_m).collect();
    Some(BenchSheet { depression_pa: depression_pa?, lift_m, flow_m3_per_s })
}

fn ram_gain(s: &mut Section<'_, '_>) -> Option<RamGain> {
    const KEY: &str = "ram_gain_percent";
    if !s.has(KEY) {
        return Some(USUAL_RAM_GAIN);
    }
    let gains = s.numbers(KEY, 3..=3, -10.0..=40.0, Unit::Percent)?;
    let [low, likely, high] = <[f64; 3]>::try_from(gains).ok()?;
    if !(low <= likely && likely <= high) {
        s.contradiction(KEY, "low, likely and high must not fall", None);
        return None;
    }
    Some(RamGain { low: low / 100.0, likely: likely / 100.0, high: high / 100.0 })
}

fn flow_of(s: &mut Section<'_, '_>, valves: Option<&(Valves, bool)>) -> Option<Breathing> {
    let sheet = sheet_of(s);
    let max_lift = s.number("cam_max_lift_mm", LIFT_MM, Unit::Millimetre);
    let duration = s.number("cam_duration_deg", 180.0..=360.0, Unit::CrankDegree);
    let gain = ram_gain(s);
    let (valves, is_stated) = valves?;
    if *is_stated {
        let why = "[valves] states mean_flow_coefficient too; keep one of the two";
        s.contradiction("bench_lift_mm", why, None);
    }
    let (sheet, cam) = (sheet?, InletCam { max_lift_m: mm_to_m(max_lift?), duration_deg: duration? });
    let mean = sheet.mean_flow_coefficient(cam, valves.inlet_area_m2());
    if !MEAN_FLOW_COEFFICIENT.contains(&mean) {
        let (low, high) = (MEAN_FLOW_COEFFICIENT.start(), MEAN_FLOW_COEFFICIENT.end());
        let why = format!(
            "sheet, valves and cam give a mean flow coefficient of {mean:.2}, outside {low} to {high}"
        );
        let hint =
            "the flow is that of all inlet valves of one cylinder, at the stated depression".to_owned();
        s.contradiction("bench_lift_mm", &why, Some(hint));
        return None;
    }
    Some(Breathing::PortFlow(PortFlow::new(mean, valves.inlet_closes_deg_abdc, gain?)))
}
