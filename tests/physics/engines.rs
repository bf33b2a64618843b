//! Real engines, predicted only from what a catalogue says of them, and the tables of the docs of how far off.
//!
//! Each row is predicted from bore and stroke (square where not stated), ratio (a usual value where not stated), the
//! speeds of peak torque and power, the kind of build and the fuel that the maker requires; all else is a rule that is the
//! same for every row, see `tests/common/engines/rules.rs`. The catalogue's power and torque are only compared with. What the levels of the
//! kinds were fitted to stands in `kinds.rs`; here every row is predicted as shipped, and once more with levels that the
//! row had no part in. Run with `UPDATE_DOCS=1` to write the tables into the docs.

mod computed;

use crate::common::engines::compared::{Compared, HEAD, compare, percentile, summary};
use crate::common::engines::rows::{CLASSES, Engine, Set, catalogue, curves, is_of};
use crate::common::engines::rules::{Told, job};
use crate::common::kept;
use endgas::engine::BuildKind;
use endgas::estimate::estimate;
use rayon::prelude::*;

/// At rated speed the likely curve keeps 0.83 to 0.97 of its torque, as real engines do (mostly 0.86 to 0.96, ratings of
/// `tests/data/engines`), however far apart the catalogue has the two speeds.
fn keeps_its_torque(peak: &Compared) {
    let engine = &peak.engine;
    if peak.what != "torque" || engine.torque_rpm.is_none_or(|rpm| rpm >= 0.9 * engine.power_rpm) {
        return;
    }
    let peaks = engine.peaks(Told::All).unwrap();
    let found = estimate(&job(engine, peaks, vec![engine.power_rpm])).unwrap();
    let kept = found.fuels[0].curve[0].crank_torque_nm.likely / peak.found.likely;
    assert!((0.83..0.98).contains(&kept), "{}: {kept:.3} of peak torque at rated speed", engine.row);
}

/// Root mean square of the shape error [%] after the one scale that fits best.
fn shape_percent(engine: &Engine, points: &[(f64, f64)]) -> f64 {
    let speeds_rpm = points.iter().map(|(rpm, _)| *rpm).collect();
    let found = estimate(&job(engine, engine.peaks(Told::All).unwrap(), speeds_rpm)).unwrap();
    let ratios: Vec<f64> =
        found.fuels[0].curve.iter().zip(points).map(|(p, (_, nm))| p.crank_torque_nm.likely / nm).collect();
    let scale = ratios.iter().sum::<f64>() / ratios.len() as f64;
    for ((rpm, nm), ratio) in points.iter().zip(&ratios) {
        println!("{} {rpm:.0} rpm {nm:.0} N m: {:+.1} %", engine.row, 100.0 * (ratio / scale - 1.0));
    }
    let squares: f64 = ratios.iter().map(|r| (r / scale - 1.0).powi(2)).sum();
    100.0 * (squares / ratios.len() as f64).sqrt()
}

/// Second difference of torque over its last value [%].
fn bend_percent(torque_nm: [f64; 3]) -> f64 {
    let [first, second, last] = torque_nm;
    100.0 * (last - 2.0 * second + first) / last
}

/// The measured curves end at peak power. Beyond it torque is taken to go on bending as it does over their last two steps; the
/// model's bend over the next two is within 40 % of that.
#[test]
fn torque_bends_past_peak_power_as_it_does_before() {
    for (engine, points) in curves() {
        let last: [f64; 3] = std::array::from_fn(|i| points[points.len() - 3 + i].1);
        let step_rpm = 0.5 * (engine.power_rpm - points[points.len() - 3].0);
        let speeds_rpm = (0..3).map(|i| engine.power_rpm + step_rpm * f64::from(i)).collect();
        let found = estimate(&job(&engine, engine.peaks(Told::All).unwrap(), speeds_rpm)).unwrap();
        let beyond: [f64; 3] = std::array::from_fn(|i| found.fuels[0].curve[i].crank_torque_nm.likely);
        // Each over the torque at peak power.
        let (measured, model) = (bend_percent(last), bend_percent(beyond) * beyond[2] / beyond[0]);
        println!("{}: bend before {measured:.2} %, beyond {model:.2} %", engine.row);
        assert!((0.6..1.4).contains(&(model / measured)), "{}: {model:.2} against {measured:.2}", engine.row);
    }
}

/// Kinds of which so many rows are needed before a figure is asked of them.
const ENOUGH_ROWS: usize = 5;

/// Figures that are missed, each with its reason: how the speeds were told, kind and quantity.
const MISSED: [(Told, &str, &str, &str); 4] = [
    (Told::All, "motorcycle", "power", MOTORCYCLES),
    (Told::PowerSpeed, "motorcycle", "power", MOTORCYCLES),
    (Told::TorqueSpeed, "motorcycle", "power", MOTORCYCLES),
    (
        Told::TorqueSpeed,
        "injected two-valve",
        "power",
        "peak-torque rpm says little about peak-power rpm, which is 1.2 to 2 times as high.",
    ),
];
const MOTORCYCLES: &str =
    "fours made for racing classes and mild twins are one kind here; the band is as wide as they differ.";

/// The table of all kinds, checked as it is made.
fn table(all: &[Compared], told: Told) -> String {
    let mut text = String::from(HEAD);
    let mut beside = Vec::new();
    for class in CLASSES {
        for what in ["power", "torque"] {
            let rows: Vec<&Compared> =
                all.iter().filter(|r| r.what == what && is_of(class, &r.engine)).collect();
            if rows.is_empty() {
                continue;
            }
            text += &summary(&format!("{}, {what}", class.0), &rows);
            if rows.len() >= ENOUGH_ROWS {
                let covered = hold(told, class.0, what, &rows);
                if !(0.745..0.855).contains(&covered) {
                    beside.push(format!("{}, {what} ({:.0} %)", class.0, 100.0 * covered));
                }
            }
        }
    }
    text + &format!(
        "\nKinds of {ENOUGH_ROWS} rows or more without 75 to 85 % of them in the band: {}.\n",
        beside.join("; ")
    )
}

/// What is asked of a kind of five rows or more: median error within 6 %, signed within 3 % (4 % from the torque speed alone), and a band that is as wide as the
/// rows show: half of it, in the mean, against the 10-90 half width of a normal spread of their errors, 1.28 deviations. Gives back
/// the share in the band.
fn hold(told: Told, kind: &str, what: &str, rows: &[&Compared]) -> f64 {
    let median = percentile(rows.iter().map(|r| r.percent().abs()), 50);
    let signed = percentile(rows.iter().map(|r| r.percent()), 50);
    let missed = MISSED.iter().any(|m| (m.0, m.1, m.2) == (told, kind, what));
    assert_eq!(median > 6.0, missed, "{told:?}, {kind}, {what}: median error {median:.1} %");
    let most_signed = if told == Told::TorqueSpeed { 4.0 } else { 3.0 };
    assert!(signed.abs() < most_signed, "{told:?}, {kind}, {what}: signed median {signed:+.1} %");
    let logs: Vec<f64> = rows.iter().map(|r| r.log()).collect();
    let middle = logs.iter().sum::<f64>() / logs.len() as f64;
    let squares: f64 = logs.iter().map(|log| (log - middle).powi(2)).sum();
    let spread = 1.2816 * (squares / (logs.len() as f64 - 1.0)).sqrt();
    let half = rows.iter().map(|r| r.half_width()).sum::<f64>() / rows.len() as f64;
    let covered = rows.iter().filter(|r| r.is_covered()).count() as f64 / rows.len() as f64;
    println!("{told:?} {kind}, {what}: half band {half:.3}, rows {spread:.3}, covered {covered:.2}");
    // Friction, heat and knock alone spread torque of direct injection by more than its rows do.
    let (widest, most_covered) = if kind.ends_with("direct") { (1.7, 1.0) } else { (1.25, 0.93) };
    assert!(
        (0.80..widest).contains(&(half / spread)),
        "{told:?}, {kind}, {what}: {half:.3} against {spread:.3}"
    );
    assert!((0.70..=most_covered).contains(&covered), "{told:?}, {kind}, {what}: {covered:.2} in the band");
    covered
}

#[test]
fn real_engines_are_as_close_as_the_docs_say() {
    let engines = catalogue();
    let of = |told: Told| -> Vec<Compared> { engines.par_iter().flat_map(|e| compare(e, told)).collect() };
    let (all, torque_speed, power_speed) = (of(Told::All), of(Told::TorqueSpeed), of(Told::PowerSpeed));
    all.par_iter().for_each(keeps_its_torque);
    let mut text =
        String::from("Given both rpm where the catalogue has them, otherwise the rpm of peak power:\n\n");
    text += &table(&all, Told::All);
    text += &format!("\n{HEAD}");
    text += &summary("all", &all.iter().collect::<Vec<_>>());
    let without: Vec<&Compared> = all.iter().filter(|r| r.engine.set != Set::RecalledMore).collect();
    text += &summary("all but the second recalled list", &without);
    text += "\nGiven the rpm of peak torque alone:\n\n";
    text += &table(&torque_speed, Told::TorqueSpeed);
    // Within a per cent or so of the first table: held, not shown.
    table(&power_speed, Told::PowerSpeed);
    text.push('\n');
    for (engine, points) in curves() {
        let percent = shape_percent(&engine, &points);
        text += &format!(
            "- Shape of torque over {} rpm points, {}: {percent:.1} % rms after one free scale.\n",
            points.len(),
            engine.row
        );
    }
    for reason in [MOTORCYCLES, MISSED[3].3] {
        let rows: Vec<String> = MISSED
            .iter()
            .filter(|m| m.3 == reason && m.0 != Told::PowerSpeed)
            .map(|m| {
                format!(
                    "{}, {} from {}",
                    m.1,
                    m.2,
                    if m.0 == Told::All { "both rpm" } else { "peak-torque rpm" }
                )
            })
            .collect();
        text += &format!("- Median error above 6 %, {}: {reason}\n", rows.join("; "));
    }
    println!("{text}");
    kept::keep("engines table", &text);
}

/// What stands for bore and stroke where the displacement alone is stated: the median of the rows of each kind, and a band that
/// holds most of them. Race engines have no rows.
#[test]
fn bore_over_stroke_of_a_kind_is_that_of_its_rows() {
    let rows = catalogue();
    let (mut held, mut all) = (0, 0);
    for kind in BuildKind::ALL.into_iter().filter(|kind| *kind != BuildKind::Race) {
        let of_kind = rows.iter().filter(|row| row.kind == kind);
        let mut ratios: Vec<f64> = of_kind.map(|row| row.bore_m / row.stroke_m).collect();
        ratios.sort_by(f64::total_cmp);
        let median = ratios[ratios.len() / 2];
        let (bore_m, stroke_m) = kind.usual_bore_and_stroke_m(0.5e-3);
        let off = (bore_m / stroke_m) / median - 1.0;
        println!("{}: {} rows, median {median:.3}, {off:+.3}", kind.key(), ratios.len());
        assert!(off.abs() < 0.01, "{}: {median:.3} in the rows, {:.3} taken", kind.key(), bore_m / stroke_m);
        held += ratios.iter().filter(|ratio| (*ratio / (bore_m / stroke_m)).ln().abs() <= 0.17).count();
        all += ratios.len();
    }
    println!("{held} of {all} within 17 %");
    // A 10-90 % band.
    assert!((0.7..0.95).contains(&(held as f64 / all as f64)), "{held} of {all}");
}
