//! Timing and knock of a log: read by heading and by mapping, told with the judgement. The logs are invented.

use crate::common::pulls::job;
use endgas::dyno::{
    ColumnMap, Heard, JudgeSettings, KnockPoint, KnockReading, Log, Mapping, Quantity, Yardstick, read,
};
use endgas::units::rpm_to_rad_per_s;
use std::sync::OnceLock;

/// An invented pull of the street engine, a row every 50 rpm: torque falls by 11 % from 3300 to 3600 rpm, where 27 deg knock.
fn dip(headings: &str) -> String {
    let rows: String = (0..=90)
        .map(|i| {
            let rpm = 1700.0 + 50.0 * f64::from(i);
            let (timing, knock) = if (3300.0..=3600.0).contains(&rpm) { (27.0, 1) } else { (22.0, 0) };
            let dip = if knock > 0 { 0.89 } else { 1.0 };
            let torque = dip * (165.0 - ((rpm - 4200.0) / 330.0).powi(2));
            format!("{rpm},{torque:.2},{timing},{knock},0.88\n")
        })
        .collect();
    format!("{headings}\n{rows}")
}

const PLAIN: &str = "rpm,torque (Nm),ignition timing (deg),knock count,lambda";

fn log(text: &str, columns: &[&str]) -> Log {
    let columns = columns.iter().map(|c| ColumnMap::read(c).unwrap()).collect();
    let mapping = Mapping { columns, ..Mapping::default() };
    read("pull.csv", text.as_bytes(), &mapping).unwrap_or_else(|e| panic!("{e}"))
}

fn yardstick() -> &'static Yardstick {
    static YARDSTICK: OnceLock<Yardstick> = OnceLock::new();
    YARDSTICK.get_or_init(|| {
        let job = job("street-2000", None);
        Yardstick::new(&job, &JudgeSettings::default()).unwrap()
    })
}

fn knock(log: &Log) -> Option<KnockReading> {
    yardstick().judge(log).unwrap().knock
}

#[test]
fn both_columns_are_found_by_heading_and_by_mapping() {
    let by_heading = log(&dip(PLAIN), &[]);
    let first = by_heading.points().next().unwrap();
    assert_eq!((first.timing_deg_btdc, first.knock), (Some(22.0), Some(0.0)));
    for headings in [
        "rpm,torque (Nm),Timing Advance [deg],Knock counts,lambda",
        "rpm,torque (Nm),spark_advance,knock_events,lambda",
    ] {
        assert_eq!(log(&dip(headings), &[]).pulls, by_heading.pulls, "{headings}");
    }
    let mapped = log(&dip("rpm,torque (Nm),A,B,lambda"), &["timing=A in deg", "knock=#4"]);
    assert_eq!(mapped.pulls, by_heading.pulls);
    let uses = |log: &Log| log.columns.iter().map(|c| (c.quantity, c.unit)).collect::<Vec<_>>();
    assert_eq!(uses(&mapped), uses(&by_heading));
    assert!(
        uses(&mapped).contains(&(Quantity::Timing, "deg")) && uses(&mapped).contains(&(Quantity::Knock, "-"))
    );
    // Left out on purpose, or in a unit that is no timing.
    let ignored = log(&dip(PLAIN), &["ignore=knock count"]);
    assert_eq!(knock(&ignored), None);
    let wrong = dip(&PLAIN.replace("(deg)", "(ms)"));
    let said = read("pull.csv", wrong.as_bytes(), &Mapping::default()).unwrap_err().to_string();
    assert!(said.contains("\"ms\" is no unit of timing; units are deg"), "{said}");
}

#[test]
fn a_dip_in_torque_that_knocks_is_told_as_knock() {
    let found = knock(&log(&dip(PLAIN), &[])).unwrap();
    let of =
        |heard: Heard| -> Vec<&KnockPoint> { found.points.iter().filter(|p| p.heard == heard).collect() };
    let [knocks] = of(Heard::Knock)[..] else { panic!("{found:?}") };
    assert_eq!((knocks.rpm, knocks.timing_deg_btdc, knocks.lambda), (3300.0, 27.0, Some(0.88)));
    let quiet = of(Heard::None);
    assert!(quiet.len() == 5 && quiet.iter().all(|p| p.timing_deg_btdc == 22.0), "{found:?}");
    // One fuel in the job: it is known.
    assert_eq!(found.fuel.as_deref(), Some(yardstick().estimate().name.as_str()));
    // The dip itself is in the curve that is compared.
    let judgement = yardstick().judge(&log(&dip(PLAIN), &[])).unwrap();
    let torque = |rpm: f64| judgement.curve.iter().find(|p| (p.speed_rpm - rpm).abs() < 130.0).unwrap();
    let (inside, outside) = (torque(3450.0), torque(4200.0));
    assert!(inside.torque_nm < 0.93 * outside.torque_nm, "{} of {}", inside.torque_nm, outside.torque_nm);
    assert!((inside.power_kw * 1e3 / rpm_to_rad_per_s(inside.speed_rpm) - inside.torque_nm).abs() < 1e-6);
}

#[test]
fn a_count_that_stays_at_0_is_quiet_everywhere() {
    let quiet = dip(PLAIN).replace(",1,0.88", ",0,0.88");
    let found = knock(&log(&quiet, &[])).unwrap();
    assert!(found.points.len() == 5 && found.points.iter().all(|p| p.heard == Heard::None), "{found:?}");
}
