//! Every refusal of a log names a way that works: the refused run, then the run by the way that it names.

use crate::common::cli::{endgas, scenario};
use crate::common::workbook::workbook;
use std::path::Path;

/// A pull of the street engine, invented: rpm and wheel torque [N m].
const PULL: [(u32, u32); 11] = [
    (1500, 140),
    (2000, 148),
    (2500, 155),
    (3000, 158),
    (3500, 162),
    (4000, 164),
    (4500, 163),
    (5000, 159),
    (5500, 154),
    (6000, 145),
    (6500, 132),
];

/// The pull as a table: its header, and a row of each point.
fn table(header: &str, row: impl Fn(u32, u32) -> String) -> String {
    let rows: String = PULL.iter().map(|(rpm, nm)| row(*rpm, *nm) + "\n").collect();
    format!("{header}\n{rows}")
}

/// Runs a log with options; what was said, and whether it was judged.
fn judged(folder: &Path, name: &str, log: &[u8], options: &[&str]) -> (String, bool) {
    let path = folder.join(name);
    std::fs::write(&path, log).unwrap();
    let street = scenario("street-2000");
    let own = ["dyno", &street, path.to_str().unwrap(), "--samples", "50", "--fuel", "regular-87"];
    let output = endgas().args(own).args(options).output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    (said, matches!(output.status.code(), Some(0 | 1)))
}

/// A log that is refused, what the refusal must name, and the log and the options of the way that it names.
struct Way {
    refused: (Vec<u8>, &'static [&'static str]),
    names: &'static str,
    then: (Vec<u8>, &'static [&'static str]),
}

fn by_option(log: &str, names: &'static str, options: &'static [&'static str]) -> Way {
    let log = log.as_bytes().to_vec();
    Way { refused: (log.clone(), &[]), names, then: (log, options) }
}

fn by_change(refused: &str, names: &'static str, then: &str) -> Way {
    Way { refused: (refused.as_bytes().to_vec(), &[]), names, then: (then.as_bytes().to_vec(), &[]) }
}

fn ways() -> Vec<Way> {
    let plain = table("rpm,torque (Nm)", |rpm, nm| format!("{rpm},{nm}"));
    let with = |head: &str, cell: &str| {
        table(&format!("rpm,torque (Nm),{head}"), |rpm, nm| format!("{rpm},{nm},{cell}"))
    };
    let road = table("Speed (km/h),torque (Nm)", |rpm, nm| format!("{},{nm}", f64::from(rpm) / 40.0));
    let two_sheets = workbook(&[("Before", &plain), ("After", &plain)]);
    let by_tyre = &["--gear-ratio", "1.13", "--final-drive", "4.10", "--tyre", "225/45R17"];
    vec![
        by_option(&road, "--at-speed \"100 km/h = 4000 rpm\"", &["--at-speed", "100 km/h = 4000 rpm"]),
        by_option(&road, "--gear-ratio, --final-drive and --tyre", by_tyre),
        Way {
            refused: (two_sheets.clone(), &[]),
            names: "--sheet NAME",
            then: (two_sheets.clone(), &["--sheet", "After"]),
        },
        Way {
            refused: (two_sheets.clone(), &["--sheet", "Now"]),
            names: "the workbook has \"Before\", \"After\"",
            then: (two_sheets, &["--sheet", "Before"]),
        },
        Way {
            refused: (plain.as_bytes().to_vec(), &["--sheet", "A"]),
            names: "leave --sheet out",
            then: (plain.as_bytes().to_vec(), &[]),
        },
        Way {
            refused: (b"\xD0\xCF\x11\xE0\xA1\xB1".to_vec(), &[]),
            names: "save it as .xlsx",
            then: (workbook(&[("Pull", &plain)]), &[]),
        },
        Way {
            refused: (b"PK\x03\x04".to_vec(), &[]),
            names: "save it as .xlsx or as CSV",
            then: (plain.as_bytes().to_vec(), &[]),
        },
        Way {
            refused: (b"rpm\x00\x01".to_vec(), &[]),
            names: "save the log as CSV or as .xlsx",
            then: (plain.as_bytes().to_vec(), &[]),
        },
        by_option(
            &plain.replace("rpm,", "HEADING,"),
            "--column \"speed=HEADING in rpm\"",
            &["--column", "speed=HEADING in rpm"],
        ),
        by_change(&plain.replace("rpm,", "turns,"), "such as 'rpm'", &plain),
        by_option(
            &plain.replace("torque (Nm)", "HEADING"),
            "--column \"torque=HEADING in N m\"",
            &["--column", "torque=HEADING in N m"],
        ),
        by_option(
            &plain.replace(" (Nm)", ""),
            "--column \"torque=torque in N m\"",
            &["--column", "torque=torque in N m"],
        ),
        by_change(&plain.replace(" (Nm)", ""), "\"torque (N m)\"", &plain.replace("(Nm)", "(N m)")),
        by_option(
            &with("power (horses)", "50"),
            "--column \"ignore=power (horses)\"",
            &["--column", "ignore=power (horses)"],
        ),
        by_option(
            &with("torque (lb ft)", "100"),
            "--column \"torque=torque (Nm)\"",
            &["--column", "torque=torque (Nm)"],
        ),
        by_option(&with("torque (lb ft)", "100"), "\"torque=#2\"", &["--column", "torque=#2"]),
        by_option(&with("lambda", "7"), "--column \"ignore=lambda\"", &["--column", "ignore=lambda"]),
        by_option(
            &with("knock count", "-1"),
            "--column \"ignore=knock count\"",
            &["--column", "ignore=knock count"],
        ),
        by_option(&with("cf", "1.02"), "--corrected with one of", &["--corrected", "sae-j1349"]),
        by_option(
            &format!("Correction Factor: 1.02\n{plain}"),
            "--corrected with one of",
            &["--corrected", "iso-1585"],
        ),
        by_option(
            &format!("# corrected: iso-1585\nCorrection: STD\n{plain}"),
            "say which with --corrected",
            &["--corrected", "sae-j607"],
        ),
        by_option(
            &format!("# at: crank\nMeasured at: wheel\n{plain}"),
            "say which with --at",
            &["--at", "wheel"],
        ),
        by_change(
            &format!("Gear: 3\nGear: 4\n{plain}"),
            "leave one of them out",
            &format!("Gear: 4\n{plain}"),
        ),
        by_change(
            &plain.replace(",158", ",about 158"),
            "or leave the cell empty",
            &plain.replace(",158", ","),
        ),
        by_change(&plain.replace(",158", ",9158"), "or leave the cell empty", &plain.replace(",158", ",")),
        by_change(
            &plain.replace(",158", ",158,0"),
            "semicolons or tabs",
            &plain.replace(',', ";").replace(";158", ";158,0"),
        ),
        by_change(&plain.replace(",158", ",\"158"), "close it", &plain.replace(",158", ",\"158\"")),
        by_change(
            &plain
                .replace(',', ";")
                .replace(";158", ";158.5")
                .replace(";162", ";162,5")
                .replace(";164", ";164,5"),
            "or leave the cell empty",
            &plain.replace(',', ";").replace(";158", ";").replace(";162", ";162,5").replace(";164", ";164,5"),
        ),
        by_change(&format!("{plain}\n1500,140\n2000,145\n"), "leave the pull out", &plain),
        by_change(&format!("# at: rear\n{plain}"), "one of wheel, crank", &format!("# at: wheel\n{plain}")),
        by_change("rpm\n1500\n2000\n", "separate columns by commas", &plain),
    ]
}

#[test]
fn every_refusal_names_a_way_that_works() {
    let folder = tempfile::tempdir().unwrap();
    for (number, way) in ways().iter().enumerate() {
        let name = format!("{number}.csv");
        let (said, is_judged) = judged(folder.path(), &name, &way.refused.0, way.refused.1);
        assert!(!is_judged && said.contains(way.names), "{number}, {}: {said}", way.names);
        let (said, is_judged) = judged(folder.path(), &name, &way.then.0, way.then.1);
        assert!(is_judged, "{number}, {}: {said}", way.names);
    }
}
