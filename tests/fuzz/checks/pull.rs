//! Logs of pulls.

use super::{LABEL, LABEL_SHOWN, LIBRARY, said, shown, within};
use endgas::dyno::{
    ColumnMap, DecimalSign, JudgeSettings, Log, LogCorrection, Mapping, Place, Pull, Yardstick, join, read,
};
use endgas::report::{Fitting, Format, JudgedPull, Units, render};
use endgas::scenario::{self, DEMO};
use std::sync::LazyLock;

/// The built-in example on its first fuel, which a pull is held against.
static YARDSTICK: LazyLock<Yardstick> = LazyLock::new(|| {
    let mut job = scenario::read("demo", DEMO).unwrap().job(&LIBRARY, 50, 1).unwrap();
    job.fuels.truncate(1);
    Yardstick::new(&job, &JudgeSettings::default()).unwrap()
});

/// A log of pulls. A last byte from 0x80 is no part of the file but says how it is read.
pub fn pull(bytes: &[u8]) {
    let (bytes, mapping) = match bytes.split_last() {
        Some((last, rest)) if *last >= 0x80 => (rest, mapping_of(*last)),
        _ => (bytes, Mapping::default()),
    };
    let log = match read(LABEL, bytes, &mapping) {
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
                let pull = JudgedPull { judgement: &judgement, fitting: Fitting::NotAsked };
                shown(&render(&pull, format, Units::Metric).unwrap());
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
        correction: (bits & 64 != 0).then_some(LogCorrection::None),
        afr_stoich: (bits & 64 != 0).then_some(9.8),
        ..Mapping::default()
    }
}

fn is_log(log: &Log) {
    assert!(!log.pulls.is_empty());
    log.ignored.iter().for_each(|text| shown(text));
    log.columns.iter().for_each(|column| shown(&column.heading));
    shown(&log.label);
    for pull in &log.pulls {
        shown(&pull.name);
        assert!(pull.points.len() >= Pull::LEAST_POINTS);
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
