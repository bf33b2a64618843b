//! As meant: the whole scenario, the day, the fuels, the speeds and the timing.

use super::breathing::{Filling, PEAK_KEYS, breathing, older_keys};
use super::choose::{ChooseRules, choose};
use super::costs::costs;
use super::fueling::fueling;
use super::knock::{knock, note_coolant_of_air_cooled};
use super::pipes::{PipedBuild, Pipes};
use super::volumes::Volumes;
use super::{FuelUse, MOST_FUELS, MOST_SPEEDS, Scenario, SparkRules, WeatherInput, parts};
use crate::air::{CorrectionStandard, ReferenceState, standard_atmosphere_pressure_pa};
use crate::engine::{
    Breathing, Build, BuildKind, Cam, Cooling, Geometry, Injection, Layout, PeakSpeeds, PortFlow, Unmeasured,
};
use crate::estimate::Assumed;
use crate::estimate::job::USUAL_RESERVE_OCTANE;
use crate::estimate::spark::SparkRange;
use crate::estimate::uncertainty::Input;
use crate::goal::Costs;
use crate::input::{Expected, KeyWay, ProblemKind, Section, nearest};
use crate::units::stated::{
    AIR_PRESSURE, AIR_TEMPERATURE, ALTITUDE, ENGINE_SPEED, LAMBDA, OCTANE_MARGIN, SHARE_PERCENT,
};
use crate::units::{Allowed, Lambda, Unit};

/// Name of a build that has none.
const UNNAMED: &str = "Unnamed build";

/// The whole file.
pub(super) fn scenario(root: &mut Section<'_, '_>, file: &str) -> Option<Scenario> {
    let (name, note) = root.sub("scenario", false, |s| (s.optional_text("name"), s.optional_text("note")));
    let (mut remarks, mut assumed) = (Vec::new(), Vec::new());
    let build = build(root, file, &mut remarks, &mut assumed);
    let reference = WeatherInput::reference();
    if !root.has("weather") {
        let WeatherInput { temperature_k, pressure_pa, .. } = reference;
        assumed.push(Assumed::Weather { temperature_k, pressure_pa });
    }
    let weather = root.sub("weather", false, |s| weather(s, Some(reference)));
    let fuels = root.sub("fuels", true, fuels);
    let speeds_rpm = if root.has("speed") {
        root.sub("speed", false, speeds)
    } else {
        build.as_ref().map(|read| usual_speeds(&read.build, &mut assumed))
    };
    let spark = root.sub("spark", false, spark);
    let run: &[FuelUse] = fuels.as_ref().map_or(&[], |(run, _)| run);
    let choose = if root.has("choose") {
        root.sub("choose", false, |s| choose(s, run))
    } else {
        Some(ChooseRules::default())
    };
    let fueling = root.sub("fueling", false, fueling);
    let costs = if root.has("costs") { root.sub("costs", false, costs) } else { Some(Costs::USUAL) };
    let knock = root.sub("knock", false, |s| knock(s, file));

    let Read { build, volumes, cam, pipes } = build?;
    note_coolant_of_air_cooled(root, &knock, matches!(build.combustion.cooling, Cooling::Air { .. }));
    let (fuels, lambda_for_all) = fuels?;
    Some(Scenario {
        name: name.unwrap_or_else(|| UNNAMED.to_owned()),
        note: note.unwrap_or_default(),
        build,
        cam,
        volumes: volumes.as_ref().map(|v| v.mean),
        volumes_by_cylinder: volumes.map(|v| v.by_cylinder).unwrap_or_default(),
        weather: weather?,
        fuels,
        lambda_for_all,
        speeds_rpm: speeds_rpm?,
        spark: spark?,
        choose: choose?,
        knock,
        pipes,
        computed: None,
        learned: None,
        fueling,
        costs: costs?,
        file: file.to_owned(),
        places: root.places(file),
        remarks,
        assumed,
    })
}

/// The kind of build that `[breathing]` names, before it is read.
fn kind_named(root: &Section<'_, '_>) -> Option<BuildKind> {
    let word = root.peek("breathing", "kind")?.as_str()?;
    BuildKind::ALL.into_iter().find(|kind| kind.key() == word)
}

/// The engine in its car, with what of it the physics does not see.
struct Read {
    build: Build,
    volumes: Option<Volumes>,
    cam: Option<Cam>,
    pipes: Option<Pipes>,
}

/// The engine in its car, and its measured volumes where they are given.
fn build(
    root: &mut Section<'_, '_>,
    file: &str,
    remarks: &mut Vec<String>,
    assumed: &mut Vec<Assumed>,
) -> Option<Read> {
    let kind = kind_named(root);
    let engine = root.sub("engine", true, parts::engine);
    let valves = root.sub("valves", false, parts::valves);
    // Where a peak of a kind is meant, a slip in the kind is the only mistake.
    let is_of_kind =
        PEAK_KEYS.iter().chain(&["kind", "pipes"]).any(|key| root.peek("breathing", key).is_some());
    if !is_of_kind && !valves.is_whole() {
        let why = "without a kind of build nothing says what is usual for valves: add kind, or give inlet_count, \
                   inlet_diameter_mm, exhaust_count, exhaust_diameter_mm and the events or the cam card in [valves]";
        root.contradiction("breathing", why, None);
    }
    let stated_injection = root.sub("injection", false, parts::injection);
    let injection = stated_injection.unwrap_or(Injection::Port);
    let rules = (kind.unwrap_or_else(|| valves.usual_kind()), injection);
    let mut found = Vec::new();
    let geometry = engine.as_ref().map(|engine| engine.geometry(rules.0, &mut found));
    // Where the bore is wrong, the valves matter to the notes of the breathing alone.
    let bore_m = geometry.map_or(0.09, |geometry| geometry.bore_m);
    let mut resolved = valves.resolved(rules, bore_m, &mut found);
    let breathing = root.sub("breathing", true, |s| {
        remarks.extend(older_keys(s, file));
        breathing(s, &resolved, &valves)
    });
    let combustion = root.sub("combustion", false, parts::combustion);
    let friction = root.sub("friction", false, parts::friction);
    let driveline = root.sub("driveline", false, parts::driveline);
    let limits = root.sub("limits", false, parts::limits);

    let (engine, geometry, filling, driveline) = (engine?, geometry?, breathing?, driveline?);
    let cam = valves.events.as_ref().and_then(|events| events.cam);
    parts::valves_fit(root, &geometry, &resolved);
    let (breathing, pipes) = match filling {
        Filling::Known(breathing) => (breathing, None),
        Filling::OnPipes(kind, stated) => {
            let of = PipedBuild { kind, injection, geometry: &geometry, valves: &resolved, cam };
            let pipes = stated.pipes(root, of)?;
            (of.until_computed(), Some(pipes))
        }
    };
    if let Breathing::PortFlow(PortFlow { mean_flow_coefficient, .. }) = &breathing {
        resolved.mean_flow_coefficient = *mean_flow_coefficient;
    }
    if let Some(pipes) = &pipes {
        resolved.mean_flow_coefficient = pipes.mean_flow_coefficient;
    }
    if stated_injection.is_none() {
        found.push(Assumed::Injection(injection));
    }
    let combustion = combustion?.resolved(&resolved, &mut found);
    if driveline.layout == Layout::Unstated && driveline.measured_loss.is_none() {
        found.push(Assumed::Driveline);
    }
    if pipes.is_none() {
        found.extend(peak_assumed(&breathing, &geometry, injection));
    }
    let is_assumed = |input: Input| found.iter().any(|what| what.input() == Some(input));
    let unmeasured = Unmeasured {
        valve_events: is_assumed(Input::ValveEvents),
        bore_and_stroke: is_assumed(Input::BoreAndStroke),
        chamber: is_assumed(Input::BurnSpeed),
    };
    *assumed = found;
    let build = Build {
        geometry,
        valves: resolved,
        breathing,
        injection,
        combustion,
        friction: friction?,
        driveline,
        limits,
        unmeasured,
    };
    Some(Read { build, volumes: engine.volumes, cam, pipes })
}

/// The peak that follows from the one that is stated.
fn peak_assumed(breathing: &Breathing, geometry: &Geometry, injection: Injection) -> Option<Assumed> {
    let Breathing::Band { kind, peaks, .. } = breathing else { return None };
    let piston_speed_per_rpm = geometry.mean_piston_speed_m_per_s(1.0);
    let (torque_rpm, power_rpm) = peaks.resolved(kind.figures(injection), piston_speed_per_rpm, 0.0);
    match peaks {
        PeakSpeeds::Torque(_) => Some(Assumed::PowerPeak { rpm: power_rpm }),
        PeakSpeeds::Power(_) => Some(Assumed::TorquePeak { rpm: torque_rpm }),
        PeakSpeeds::Both { .. } => None,
    }
}

impl WeatherInput {
    /// The reference day of SAE J1349 and ISO 1585, dry.
    fn reference() -> Self {
        let ReferenceState { temperature_k, pressure_pa, .. } = CorrectionStandard::SaeJ1349.reference();
        Self { temperature_k, pressure_pa, relative_humidity: 0.0 }
    }
}

/// `[weather]`.
///
/// # Arguments
/// - `usual`: what stands for what is left out; none where all must be given
pub(super) fn weather(s: &mut Section<'_, '_>, usual: Option<WeatherInput>) -> Option<WeatherInput> {
    let si = |s: &mut Section<'_, '_>, key, allowed: Allowed, usual: Option<f64>| match usual {
        Some(usual) => s.si_or(key, allowed, allowed.unit.written(usual)),
        None => s.si(key, allowed),
    };
    let temperature_k = si(s, "air_temperature_c", AIR_TEMPERATURE, usual.map(|day| day.temperature_k));
    let way = format!("{AIR_PRESSURE}; or give altitude_m, from {}", ALTITUDE.ends());
    let missing = Some(("pressure_kpa", Expected::OneOf(way))).filter(|_| usual.is_none());
    let stated = s.one_of(
        missing,
        &[
            KeyWay {
                words: "pressure_kpa",
                keys: &["pressure_kpa"],
                read: &|s| si(s, "pressure_kpa", AIR_PRESSURE, usual.map(|day| day.pressure_pa)),
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
    let is_stated = s.has("pressure_kpa") || s.has("altitude_m");
    let pressure_pa = if is_stated { stated } else { usual.map(|day| day.pressure_pa) };
    let relative_humidity =
        si(s, "relative_humidity_percent", SHARE_PERCENT, usual.map(|day| day.relative_humidity));
    Some(WeatherInput {
        temperature_k: temperature_k?,
        pressure_pa: pressure_pa?,
        relative_humidity: relative_humidity?,
    })
}

/// Speeds where none are stated: in steps of 500 rpm from where an engine pulls to beyond peak power, and the stated peaks
/// among them; over the table where the volumetric efficiency comes from one.
fn usual_speeds(build: &Build, assumed: &mut Vec<Assumed>) -> Vec<f64> {
    const STEP_RPM: f64 = 500.0;
    // From three tenths of the rpm of peak power to a tenth beyond it (common practice, no source).
    const SHARES: (f64, f64) = (0.3, 1.1);
    let piston_speed_per_rpm = build.geometry.mean_piston_speed_m_per_s(1.0);
    let (from, to, peaks) = match &build.breathing {
        Breathing::Band { kind, peaks, .. } => {
            let (_, power_rpm) = peaks.resolved(kind.figures(build.injection), piston_speed_per_rpm, 0.0);
            let stated = match *peaks {
                PeakSpeeds::Torque(rpm) | PeakSpeeds::Power(rpm) => vec![rpm],
                PeakSpeeds::Both { torque_rpm, power_rpm } => vec![torque_rpm, power_rpm],
            };
            (SHARES.0 * power_rpm, SHARES.1 * power_rpm, stated)
        }
        Breathing::Table { speed_rpm, .. } => (speed_rpm[0], speed_rpm[speed_rpm.len() - 1], Vec::new()),
        Breathing::PortFlow(_) | Breathing::Computed(_) => {
            let power_rpm = USUAL_POWER_PISTON_SPEED_M_PER_S / piston_speed_per_rpm;
            (SHARES.0 * power_rpm, SHARES.1 * power_rpm, Vec::new())
        }
    };
    let from_rpm = ((from / STEP_RPM).round() * STEP_RPM).max(ENGINE_SPEED.low);
    let to_rpm = ((to / STEP_RPM).ceil() * STEP_RPM).min(ENGINE_SPEED.high);
    assumed.push(Assumed::Speeds { from_rpm, to_rpm });
    let mut speeds = speeds_between(from_rpm, to_rpm, STEP_RPM);
    speeds.extend(peaks.into_iter().filter(|rpm| (from_rpm..to_rpm).contains(rpm)));
    speeds.sort_by(f64::total_cmp);
    speeds.dedup();
    speeds
}

/// Mean piston speed at peak power of engines whose kind is not stated [m/s] (common practice, no source).
const USUAL_POWER_PISTON_SPEED_M_PER_S: f64 = 18.0;

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
        let why = format!(
            "it makes {points} rpm points from {from} to {to} rpm; at most {MOST_SPEEDS} are allowed"
        );
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

fn spark(s: &mut Section<'_, '_>) -> Option<SparkRules> {
    let usual = SparkRange::USUAL;
    let reserve = s.number_or("reserve_octane", OCTANE_MARGIN, USUAL_RESERVE_OCTANE);
    let earliest =
        s.number_or("earliest_deg_btdc", Unit::CrankDegree.of(0.0..=80.0), usual.earliest_deg_btdc);
    let latest = s.number_or("latest_deg_btdc", Unit::CrankDegree.of(-40.0..=40.0), usual.latest_deg_btdc);
    let rules =
        SparkRules { reserve_octane: reserve?, earliest_deg_btdc: earliest?, latest_deg_btdc: latest? };
    if rules.latest_deg_btdc >= rules.earliest_deg_btdc {
        let key = if s.has("latest_deg_btdc") { "latest_deg_btdc" } else { "earliest_deg_btdc" };
        let why = format!(
            "the latest timing ({} deg) must be later than the earliest ({} deg); before top dead centre is positive",
            rules.latest_deg_btdc, rules.earliest_deg_btdc
        );
        s.contradiction(key, &why, None);
    }
    Some(rules)
}
