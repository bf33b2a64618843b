//! What of a build differs from another one.

use super::job::Job;
use super::spark::SparkRange;
use super::uncertainty::Input;
use crate::engine::breathing::BreathingSource;
use crate::engine::{Breathing, BuildKind, Chamber, Driveline, Injection};
use crate::knock::Deposits;
use std::mem::discriminant;

/// Change of displacement up to which two builds may be one engine with parts changed [-]: boring and stroking seldom
/// give more (common practice, no source).
const SAME_ENGINE: f64 = 0.25;

/// Something in which a build differs from the first of a comparison; the first value is that of the first build.
#[derive(Clone, Debug, PartialEq)]
pub enum BuildDifference {
    /// Geometric compression ratio [-].
    Ratio(f64, f64),
    /// Number of cylinders.
    Cylinders(u32, u32),
    /// Displacement [m3].
    Displacement(f64, f64),
    /// Bore and stroke [m].
    BoreAndStroke([f64; 2], [f64; 2]),
    /// Rod length or pin offset.
    Rod,
    /// Kind of build, with how the fuel gets in.
    Kind((BuildKind, Injection), (BuildKind, Injection)),
    /// Where volumetric efficiency comes from, when it is not a kind in both.
    Breathing,
    /// Speeds of peak torque and peak power [rpm].
    Peaks((f64, f64), (f64, f64)),
    /// Inlet closing, exhaust opening and overlap [deg].
    ValveEvents([f64; 3], [f64; 3]),
    /// Valves: count, diameter or flow.
    Valves,
    /// Where the fuel is injected.
    Injection(Injection, Injection),
    /// Shape of the chamber.
    Chamber(Chamber, Chamber),
    /// Burn speed against a usual chamber [-], with what known timing swings have shown.
    BurnSpeed(f64, f64),
    /// Cooling or heat lost to the walls.
    Heat,
    /// Friction law.
    Friction,
    /// Driveline.
    Driveline(Driveline, Driveline),
    /// Octane numbers of safety margin at the limit [-].
    Reserve(f64, f64),
    /// Range of timing that may be set.
    TimingRange(SparkRange, SparkRange),
    /// Highest engine speed computed [rpm].
    RevLimit(f64, f64),
    /// Engine speeds computed, below the highest.
    Speeds,
    /// Deposits that are allowed for.
    Deposits(Deposits, Deposits),
    /// Known points of knock, timing swings or a limit of the scenario.
    KnownPoints,
    /// Mechanical limits that are stated.
    Limits,
    /// What is stated of it, and what taken as usual.
    Stated,
}

/// All that differs, in the order in which a builder would name it.
///
/// # Arguments
/// - `first`: what the other is held against
pub(super) fn differences(first: &Job, other: &Job) -> Vec<BuildDifference> {
    use BuildDifference as D;
    let (a, b) = (&first.build, &other.build);
    let (ga, gb) = (&a.geometry, &b.geometry);
    let (va, vb) = (&a.valves, &b.valves);
    let (ca, cb) = (&a.combustion, &b.combustion);
    let mut found = vec![
        differ(ga.compression_ratio.get(), gb.compression_ratio.get(), D::Ratio),
        differ(ga.displacement_m3(), gb.displacement_m3(), D::Displacement),
        differ(ga.cylinders, gb.cylinders, D::Cylinders),
        differ([ga.bore_m, ga.stroke_m], [gb.bore_m, gb.stroke_m], D::BoreAndStroke),
        differ([ga.rod_length_m, ga.pin_offset_m], [gb.rod_length_m, gb.pin_offset_m], |_, _| D::Rod),
    ];
    found.extend(breathing(first, other));
    let events =
        |v: &crate::engine::Valves| [v.inlet_closes_deg_abdc, v.exhaust_opens_deg_bbdc, v.overlap_deg];
    let sizes = |v: &crate::engine::Valves| {
        let counts = [v.inlet_count, v.exhaust_count].map(f64::from);
        (counts, [v.inlet_diameter_m, v.exhaust_diameter_m], v.mean_flow_coefficient)
    };
    let heat = |c: &crate::engine::Combustion| (c.heat_law, c.heat_factor, c.wall_temperature_k, c.cooling);
    let rev_limit = |job: &Job| job.speeds_rpm.last().copied().unwrap_or(0.0);
    let revs = differ(rev_limit(first), rev_limit(other), D::RevLimit);
    let speeds = differ(&first.speeds_rpm, &other.speeds_rpm, |_, _| D::Speeds).filter(|_| revs.is_none());
    let known = |job: &Job| job.knock.learned.as_ref().map(|learned| (**learned).clone());
    found.extend([
        differ(events(va), events(vb), D::ValveEvents),
        differ(sizes(va), sizes(vb), |_, _| D::Valves),
        differ(a.injection, b.injection, D::Injection),
        differ(ca.chamber, cb.chamber, D::Chamber),
        differ(ca.burn_speed, cb.burn_speed, D::BurnSpeed),
        differ(heat(ca), heat(cb), |_, _| D::Heat),
        differ(a.friction, b.friction, |_, _| D::Friction),
        differ(a.driveline, b.driveline, D::Driveline),
        differ(first.reserve_octane, other.reserve_octane, D::Reserve),
        differ(first.spark_range, other.spark_range, D::TimingRange),
        revs,
        speeds,
        differ(first.knock.deposits, other.knock.deposits, D::Deposits),
        differ(known(first), known(other), |_, _| D::KnownPoints),
        differ(a.limits, b.limits, |_, _| D::Limits),
        differ(a.unmeasured, b.unmeasured, |_, _| D::Stated),
    ]);
    found.into_iter().flatten().collect()
}

fn differ<T: PartialEq>(
    first: T,
    other: T,
    made: impl Fn(T, T) -> BuildDifference,
) -> Option<BuildDifference> {
    (first != other).then(|| made(first, other))
}

fn breathing(first: &Job, other: &Job) -> Vec<Option<BuildDifference>> {
    match (first.build.breathing_source(), other.build.breathing_source()) {
        (
            BreathingSource::Kind { kind: ka, speeds_rpm: sa, injection: ia, .. },
            BreathingSource::Kind { kind: kb, speeds_rpm: sb, injection: ib, .. },
        ) => {
            let kind = (ka != kb).then_some(BuildDifference::Kind((ka, ia), (kb, ib)));
            vec![kind, differ(sa, sb, BuildDifference::Peaks)]
        }
        _ => {
            let (a, b) = (&first.build.breathing, &other.build.breathing);
            vec![(a != b).then_some(BuildDifference::Breathing)]
        }
    }
}

/// Inputs of which what is true of the first build says nothing of the other, so that they are drawn for it alone: those
/// of the engine where it is another one and not the same with parts changed, VE where each has a table of its own, that of the
/// driveline where it is another.
pub(super) fn own_inputs(first: &Job, other: &Job) -> Vec<Input> {
    const OF_ONE_ENGINE: [Input; 12] = [
        Input::Breathing,
        Input::BurnSpeed,
        Input::Heat,
        Input::Friction,
        Input::Powerband,
        Input::KnockEngine,
        Input::ValveEvents,
        Input::BoreAndStroke,
        Input::RunnerLength,
        Input::PrimaryLength,
        Input::ValveFlow,
        Input::WaveDamping,
    ];
    let mut own = if is_same_engine(first, other) { Vec::new() } else { OF_ONE_ENGINE.to_vec() };
    let is_measured = |job: &Job| matches!(job.build.breathing, Breathing::Table { .. });
    if own.is_empty() && is_measured(first) && first.build.breathing != other.build.breathing {
        // Each table is off by its own measurement.
        own.push(Input::Breathing);
    }
    if first.build.driveline != other.build.driveline {
        own.push(Input::Driveline);
    }
    own
}

fn is_same_engine(first: &Job, other: &Job) -> bool {
    let (a, b) = (&first.build, &other.build);
    let grown = b.geometry.displacement_m3() / a.geometry.displacement_m3();
    let valves = |job: &Job| (job.build.valves.inlet_count, job.build.valves.exhaust_count);
    a.geometry.cylinders == b.geometry.cylinders
        && grown.max(1.0 / grown) <= 1.0 + SAME_ENGINE
        && valves(first) == valves(other)
        && a.combustion.chamber == b.combustion.chamber
        && a.injection == b.injection
        && discriminant(&a.breathing) == discriminant(&b.breathing)
        && a.breathing.kind() == b.breathing.kind()
}
