//! As meant: `[breathing]`, in one of its four ways.

use super::cam::Events;
use super::parts::{StatedValves, mm_to_m};
use super::pipes::{StatedPipes, pipes};
use crate::engine::breathing::{LEAST_RATIO, MOST_RATIO};
use crate::engine::port_flow::{BenchSheet, InletCam, RamGain, USUAL_RAM_GAIN};
use crate::engine::{Breathing, BuildKind, Follow, Follows, PeakSpeeds, PortFlow, Valves};
use crate::input::{Expected, KeyWay, Section};
use crate::units::stated::{ENGINE_SPEED, VE_CHANGE, VE_SPREAD, VOLUMETRIC_EFFICIENCY};
use crate::units::{Allowed, Unit};
use std::ops::RangeInclusive;

/// Points of a volumetric-efficiency table and of a flow-bench sheet.
const TABLE_POINTS: RangeInclusive<usize> = 2..=60;
/// Mean flow coefficients that a port can have [-]; beyond, the sheet is in other units or of one valve alone.
/// Common practice, no source.
const MEAN_FLOW_COEFFICIENT: RangeInclusive<f64> = 0.15..=0.65;
/// Valve lifts and greatest lift.
const LIFT: Allowed = Unit::Millimetre.of(0.3..=25.0);
/// Depression of a flow bench.
const DEPRESSION: Allowed = Unit::PascalAcross.of(500.0..=20_000.0);
const DEPRESSION_OF_WATER: Allowed = Unit::InchOfWater.of(2.0..=80.0);

/// Keys of the speeds of a band: of peak torque, of peak power, and the older name of the first.
const TORQUE_PEAK: &str = "peak_torque_rpm";
const POWER_PEAK: &str = "peak_power_rpm";
const OLDER_PEAK: &str = "peak_speed_rpm";
pub(super) const PEAK_KEYS: [&str; 3] = [TORQUE_PEAK, POWER_PEAK, OLDER_PEAK];
const TABLE_KEYS: [&str; 4] = ["speed_rpm", "volumetric_efficiency", "spread_percent", "follows"];
/// Lifts of a bench sheet, and all of its keys.
const BENCH_LIFTS: &str = "bench_lift_mm";
pub(super) const SHEET_KEYS: [&str; 5] =
    ["bench_depression_pa", "bench_depression_in_h2o", BENCH_LIFTS, "bench_flow_l_per_s", "bench_flow_cfm"];
const FLOW_KEYS: [&str; 8] = {
    let [pa, in_h2o, lifts, l_per_s, cfm] = SHEET_KEYS;
    [pa, in_h2o, lifts, l_per_s, cfm, "cam_max_lift_mm", "cam_duration_deg", "ram_gain_percent"]
};

/// Where volumetric efficiency comes from.
#[derive(Clone, Debug)]
pub(super) enum Filling {
    /// It is known.
    Known(Breathing),
    /// It is computed from pipes.
    OnPipes(BuildKind, Box<StatedPipes>),
}

/// `[breathing]`: the band of a kind of build, a table, port flow and cam, or pipes. Beside all but the first the kind says what is usual for
/// what is not stated.
///
/// # Arguments
/// - `valves`: the valves
/// - `stated`: what of them was stated
pub(super) fn breathing(s: &mut Section<'_, '_>, valves: &Valves, stated: &StatedValves) -> Option<Filling> {
    let kind = kind_of(s);
    let ways = format!(
        "{ENGINE_SPEED}; or give peak_torque_rpm, or both, with kind; or a table of speed_rpm, volumetric_efficiency and \
         spread_percent; or port flow and cam, see ported-four-1800.toml; or kind with [breathing.pipes], see piped-four-2000.toml"
    );
    let takes = Expected::Word(BuildKind::ALL.map(BuildKind::key).to_vec());
    for way in [POWER_PEAK, TORQUE_PEAK, "pipes"] {
        s.asks_for(way, "kind", takes.clone());
    }
    if s.find(OLDER_PEAK).is_some() {
        s.needs("kind", takes);
    }
    s.one_of(
        Some((POWER_PEAK, Expected::OneOf(ways))),
        &[
            KeyWay {
                words: "a peak of a kind (peak_power_rpm)",
                keys: &PEAK_KEYS,
                read: &|s| {
                    let peaks = peaks_of(s);
                    let closes_deg_abdc = valves.inlet_closes_deg_abdc;
                    Some(Filling::Known(Breathing::Band { kind: kind?, peaks: peaks?, closes_deg_abdc }))
                },
            },
            KeyWay {
                words: "a table (speed_rpm, volumetric_efficiency)",
                keys: &TABLE_KEYS,
                read: &|s| table_of(s).map(Filling::Known),
            },
            KeyWay {
                words: "port flow (bench_lift_mm, cam_max_lift_mm)",
                keys: &FLOW_KEYS,
                read: &|s| flow_of(s, valves, stated).map(Filling::Known),
            },
            KeyWay {
                words: "[breathing.pipes]",
                keys: &["pipes"],
                read: &|s| {
                    let line = s.find("pipes").map_or(0, |given| s.notes().line(given.offset));
                    let stated = s.sub("pipes", true, |s| pipes(s, line));
                    Some(Filling::OnPipes(kind?, Box::new(stated?)))
                },
            },
        ],
    )
}

fn kind_of(s: &mut Section<'_, '_>) -> Option<BuildKind> {
    if let Some(now) = older_word(s) {
        s.contradiction("kind", &format!("this kind has a new name: {now}"), None);
        return None;
    }
    s.optional_word("kind", &BuildKind::ALL.map(|kind| (kind.key(), kind)))
}

/// The words of today for a kind that is given by a word of version 0.1.
fn older_word(s: &mut Section<'_, '_>) -> Option<&'static str> {
    match s.find("kind")?.value().as_str()? {
        "production-two-valve" => Some("\"carburetted-two-valve\" or \"injected-two-valve\""),
        "tuned" => Some("\"sport-four-valve\" or \"performance-two-valve\""),
        _ => None,
    }
}

/// What to say where `[breathing]` holds a key by its older name.
pub(super) fn older_keys(s: &mut Section<'_, '_>, file: &str) -> Option<String> {
    let given = s.find(OLDER_PEAK)?;
    let line = s.notes().line(given.offset);
    Some(format!(
        "{file}:{line}: breathing.peak_speed_rpm is the old name of peak_torque_rpm and is read as that; \
         add peak_power_rpm if you know it"
    ))
}

/// Speeds of peak torque and power: one or both.
fn peaks_of(s: &mut Section<'_, '_>) -> Option<PeakSpeeds> {
    let torque = s.optional_number(TORQUE_PEAK, ENGINE_SPEED);
    let power = s.optional_number(POWER_PEAK, ENGINE_SPEED);
    if let Some(rpm) = s.older_number(OLDER_PEAK, ENGINE_SPEED) {
        if s.has(TORQUE_PEAK) || s.has(POWER_PEAK) {
            let hint = "it is the old name of peak_torque_rpm".to_owned();
            s.contradiction(OLDER_PEAK, "peak_torque_rpm or peak_power_rpm is given too", Some(hint));
        }
        return Some(PeakSpeeds::Torque(rpm));
    }
    if s.find(OLDER_PEAK).is_none() {
        let ways = format!("{ENGINE_SPEED}; or give {TORQUE_PEAK}, or both");
        s.one_needed(&[POWER_PEAK, TORQUE_PEAK], Expected::OneOf(ways));
    }
    match (torque, power) {
        (Some(torque_rpm), Some(power_rpm)) => {
            let ratio = torque_rpm / power_rpm;
            if !(LEAST_RATIO..=MOST_RATIO).contains(&ratio) {
                let why = format!(
                    "it is {ratio:.2} of peak_power_rpm = {power_rpm}; {LEAST_RATIO} to {MOST_RATIO} is allowed"
                );
                s.contradiction(TORQUE_PEAK, &why, None);
            }
            Some(PeakSpeeds::Both { torque_rpm, power_rpm })
        }
        (Some(rpm), None) => Some(PeakSpeeds::Torque(rpm)),
        (None, Some(rpm)) => Some(PeakSpeeds::Power(rpm)),
        (None, None) => None,
    }
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
    let speed_rpm = s.numbers("speed_rpm", TABLE_POINTS, ENGINE_SPEED);
    let efficiency = s.numbers("volumetric_efficiency", TABLE_POINTS, VOLUMETRIC_EFFICIENCY);
    let spread = s.si("spread_percent", VE_SPREAD);
    check_lists(s, ("speed_rpm", speed_rpm.as_ref()), ("volumetric_efficiency", efficiency.as_ref()));
    let follows = s.sub("follows", false, |f| follows_of(f, speed_rpm.as_ref()));
    Some(Breathing::Table {
        speed_rpm: speed_rpm?,
        volumetric_efficiency: efficiency?,
        spread: spread?,
        follows,
    })
}

/// `[breathing.follows]`: lists beside the table, in per cent, at its rpm or at rpm of their own.
fn follows_of(s: &mut Section<'_, '_>, speeds: Option<&Vec<f64>>) -> Follows {
    let own = s.optional_numbers("speed_rpm", TABLE_POINTS, ENGINE_SPEED);
    let at = own.as_ref().or(speeds);
    let follows = changes_of(s, at);
    match at.zip(speeds) {
        Some((at, speeds)) => Follows::at(at, speeds, follows),
        None => Follows(follows),
    }
}

/// `[breathing.pipes.follows]`: the same beside pipes, at rpm of its own.
pub(super) fn follows_of_pipes(s: &mut Section<'_, '_>) -> (Vec<f64>, Follows) {
    let own = s.optional_numbers("speed_rpm", TABLE_POINTS, ENGINE_SPEED);
    for with in Follow::ALL {
        let entry = Box::new(Expected::Number(ENGINE_SPEED));
        let (fewest, most) = (*TABLE_POINTS.start(), *TABLE_POINTS.end());
        s.asks_for(with.key(), "speed_rpm", Expected::List { entry, fewest, most });
    }
    let follows = changes_of(s, own.as_ref());
    (own.unwrap_or_default(), Follows(follows))
}

/// The lists of what VE follows, at some rpm.
fn changes_of(s: &mut Section<'_, '_>, at: Option<&Vec<f64>>) -> Vec<(Follow, Vec<f64>)> {
    let mut follows = Vec::new();
    for with in Follow::ALL {
        let changes = s.optional_numbers(with.key(), TABLE_POINTS, VE_CHANGE);
        check_lists(s, ("speed_rpm", at), (with.key(), changes.as_ref()));
        follows.extend(changes.map(|list| (with, list.into_iter().map(|x| x / 100.0).collect())));
    }
    follows
}

fn depression_pa(s: &mut Section<'_, '_>) -> Option<f64> {
    const KEYS: [&str; 2] = ["bench_depression_pa", "bench_depression_in_h2o"];
    let (low, high) = (DEPRESSION_OF_WATER.low, DEPRESSION_OF_WATER.high);
    let ways = format!("{DEPRESSION}; or give {}, from {low} to {high}", KEYS[1]);
    s.one_of(
        Some((KEYS[0], Expected::OneOf(ways))),
        &[
            KeyWay { words: KEYS[0], keys: &[KEYS[0]], read: &|s| s.si(KEYS[0], DEPRESSION) },
            KeyWay { words: KEYS[1], keys: &[KEYS[1]], read: &|s| s.si(KEYS[1], DEPRESSION_OF_WATER) },
        ],
    )
}

/// Flow of all intake valves of one cylinder.
const FLOW_L_PER_S: Allowed = Unit::LitrePerSecond.of(1.0..=500.0);
const FLOW_CFM: Allowed = Unit::CubicFootPerMinute.of(2.0..=1000.0);

/// Keys of the flow of a bench sheet.
const FLOWS: [&str; 2] = ["bench_flow_l_per_s", "bench_flow_cfm"];

fn bench_flow_m3_per_s(s: &mut Section<'_, '_>) -> Option<Vec<f64>> {
    let ways =
        "a list of flows in l/s, one per lift, of all intake valves of one cylinder; or give bench_flow_cfm";
    let list = |s: &mut Section<'_, '_>, key: &'static str, allowed: Allowed| {
        let flows = s.numbers(key, TABLE_POINTS, allowed)?;
        Some(flows.into_iter().map(|flow| allowed.unit.to_si(flow)).collect())
    };
    s.one_of(
        Some((FLOWS[0], Expected::OneOf(ways.to_owned()))),
        &[
            KeyWay { words: FLOWS[0], keys: &[FLOWS[0]], read: &|s| list(s, FLOWS[0], FLOW_L_PER_S) },
            KeyWay { words: FLOWS[1], keys: &[FLOWS[1]], read: &|s| list(s, FLOWS[1], FLOW_CFM) },
        ],
    )
}

pub(super) fn sheet_of(s: &mut Section<'_, '_>) -> Option<BenchSheet> {
    let depression_pa = depression_pa(s);
    let lift_mm = s.numbers(BENCH_LIFTS, TABLE_POINTS, LIFT);
    let flow = bench_flow_m3_per_s(s);
    let flow_key = if s.has(FLOWS[0]) { FLOWS[0] } else { FLOWS[1] };
    check_lists(s, (BENCH_LIFTS, lift_mm.as_ref()), (flow_key, flow.as_ref()));
    let (lift_mm, flow_m3_per_s) = (lift_mm?, flow?);
    if lift_mm.len() != flow_m3_per_s.len() {
        return None;
    }
    let lift_m = lift_mm.into_iter().map(mm_to_m).collect();
    Some(BenchSheet { depression_pa: depression_pa?, lift_m, flow_m3_per_s })
}

fn ram_gain(s: &mut Section<'_, '_>) -> Option<RamGain> {
    const KEY: &str = "ram_gain_percent";
    let RamGain { low, likely, high } = USUAL_RAM_GAIN;
    let usual = [low, likely, high].map(|gain| Unit::Percent.written(gain));
    let gains = s.numbers_or(KEY, Unit::Percent.of(-10.0..=40.0), usual)?;
    let [low, likely, high] = gains;
    if !(low <= likely && likely <= high) {
        s.contradiction(KEY, "low, likely and high must not fall", None);
        return None;
    }
    Some(RamGain { low: low / 100.0, likely: likely / 100.0, high: high / 100.0 })
}

/// The cam of a flow sheet: the card of `[valves.cam]`, or lift and duration.
///
/// # Arguments
/// - `events`: those of the valves, with their card where there is one
/// - `is_wrong`: whether they are given and hold mistakes
fn inlet_cam(s: &mut Section<'_, '_>, events: Option<&Events>, is_wrong: bool) -> Option<InletCam> {
    const LIFT_KEY: &str = "cam_max_lift_mm";
    const DURATION_KEY: &str = "cam_duration_deg";
    let duration = Unit::CrankDegree.of(180.0..=360.0);
    let (max_lift_m, duration_deg) =
        (s.optional_si(LIFT_KEY, LIFT), s.optional_number(DURATION_KEY, duration));
    if let Some(card) = events.and_then(|events| events.cam) {
        for key in [LIFT_KEY, DURATION_KEY] {
            s.contradiction(key, "[valves.cam] is given too; keep one of the two", None);
        }
        return Some(InletCam::Lobe(card.inlet));
    }
    let is_whole = s.has(LIFT_KEY) && s.has(DURATION_KEY);
    if !is_wrong && !is_whole {
        let why = format!(
            "a bench sheet needs the cam: {LIFT_KEY} ({}) and {DURATION_KEY} ({}), or the cam card in [valves.cam]",
            LIFT.ends(),
            duration.ends()
        );
        s.contradiction(BENCH_LIFTS, &why, None);
    }
    Some(InletCam::Plain { max_lift_m: max_lift_m?, duration_deg: duration_deg? })
}

/// What is wrong with the mean flow coefficient of a bench sheet, if anything.
pub(super) fn mean_flow_fault(mean: f64) -> Option<String> {
    let (low, high) = (MEAN_FLOW_COEFFICIENT.start(), MEAN_FLOW_COEFFICIENT.end());
    (!MEAN_FLOW_COEFFICIENT.contains(&mean)).then(|| {
        format!("sheet, valves and cam give a mean flow coefficient of {mean:.2}, outside {low} to {high}")
    })
}

fn flow_of(s: &mut Section<'_, '_>, valves: &Valves, stated: &StatedValves) -> Option<Breathing> {
    let sheet = sheet_of(s);
    let cam = inlet_cam(s, stated.events.as_ref(), stated.has_events && stated.events.is_none());
    let gain = ram_gain(s);
    if stated.mean_flow_coefficient.is_some() {
        let why = "[valves] states mean_flow_coefficient too; keep one of the two";
        s.contradiction(BENCH_LIFTS, why, None);
    }
    let (sheet, cam) = (sheet?, cam?);
    let mean = sheet.mean_flow_coefficient(cam, valves.inlet_area_m2());
    if let Some(why) = mean_flow_fault(mean) {
        let hint =
            "the flow is that of all intake valves of one cylinder, at the stated depression".to_owned();
        s.contradiction(BENCH_LIFTS, &why, Some(hint));
        return None;
    }
    Some(Breathing::PortFlow(PortFlow::new(mean, valves.inlet_closes_deg_abdc, gain?)))
}
