//! Logs in other shapes than one table of text: workbooks, runs side by side.

use crate::common::workbook::workbook;
use endgas::dyno::{
    Gearing, LineAbove, Log, LogCorrection, Mapping, Note, Place, PullErrors, Said, SplitBy, read,
};

const PLAIN: &str = "2000,100\n3000,110\n4000,115\n5000,110\n6000,95\n";

fn of(bytes: &[u8], sheet: Option<&str>) -> Result<Log, PullErrors> {
    read("pull.xlsx", bytes, &Mapping { sheet: sheet.map(str::to_owned), ..Mapping::default() })
}

fn log(text: &str) -> Log {
    of(text.as_bytes(), None).unwrap_or_else(|e| panic!("{e}"))
}

#[test]
fn a_workbook_is_read_like_the_text_of_its_sheet() {
    let text = format!("# at: crank\nShop,nobody\n\nrpm,torque (Nm)\n{PLAIN}");
    let found = of(&workbook(&[("Pull", &text)]), None).unwrap();
    assert_eq!(found.pulls, log(&text).pulls);
    assert_eq!((found.place, found.pulls[0].points[0].line), (log(&text).place, 5));
    // Numbers kept as text, with the thousands set apart.
    let as_text = of(&workbook(&[("Pull", &text.replace("3000", "text:3'000"))]), None).unwrap();
    assert_eq!(as_text.pulls, found.pulls);
}

#[test]
fn of_several_sheets_the_one_with_a_log_is_read() {
    let text = format!("rpm,torque (Nm)\n{PLAIN}");
    let one = of(&workbook(&[("Customer", "Name,nobody"), ("Pull 1", &text)]), None).unwrap();
    assert_eq!(one.notes[0], Note::SheetTaken { sheet: "Pull 1".to_owned(), of: 2 });
    let other = text.replace("115", "120");
    let both = workbook(&[("Before", &text), ("After", &other)]);
    assert!(
        of(&both, None).unwrap_err().to_string().contains("sheets \"Before\", \"After\" all look like logs")
    );
    assert_eq!(of(&both, Some("after")).unwrap().pulls, log(&other).pulls);
    let missing = of(&both, Some("Later")).unwrap_err().to_string();
    assert!(
        missing.contains("\"Later\": no such sheet; the workbook has \"Before\", \"After\""),
        "{missing}"
    );
}

#[test]
fn what_is_no_workbook_is_refused_with_a_way_out() {
    for (bytes, words) in [
        (b"PK\x03\x04 and no more".to_vec(), "save it as .xlsx or as CSV"),
        (vec![0xD0, 0xCF, 0x11, 0xE0, 0, 0], "without a password, or as CSV"),
        (workbook(&[("A", "Name,nobody"), ("B", "1,2")]), "no sheet of \"A\", \"B\" has a header"),
        (workbook(&[("A", "Name,nobody")]), "no header found"),
    ] {
        let said = of(&bytes, None).unwrap_err().to_string();
        assert!(said.contains(words), "{said}");
    }
    let text = format!("rpm,torque (Nm)\n{PLAIN}");
    assert!(of(text.as_bytes(), Some("Pull")).unwrap_err().to_string().contains("text has no sheets"));
    // Damaged anywhere, it is read or refused.
    let whole = workbook(&[("Pull", &text)]);
    for at in (0..whole.len()).step_by(7) {
        let mut damaged = whole.clone();
        damaged[at] ^= 0x55;
        let _ = of(&damaged, None);
        let _ = of(&whole[..at], None);
    }
}

/// Both runs of a sheet as two tables would give them.
fn two(side_by_side: &str) -> Log {
    let found = log(side_by_side);
    assert_eq!((found.pulls.len(), found.split_by), (2, SplitBy::SideBySide), "{side_by_side}");
    found
}

#[test]
fn runs_side_by_side_are_pulls_of_their_own() {
    let (first, second) = (
        "2000,100\n3000,110\n4000,115\n5000,110\n6000,95\n",
        "2100,98\n3100,108\n4100,113\n5100,108\n6100,93\n6200,92\n",
    );
    let apart = log(&format!("rpm,power (kW)\n{first}{second}"));
    let wanted: Vec<Vec<(f64, f64)>> = apart
        .pulls
        .iter()
        .map(|pull| pull.points.iter().map(|p| (p.speed_rpm, p.torque_nm)).collect())
        .collect();
    let lines = first.lines().chain([","]).zip(second.lines());
    let body: String = lines.map(|(a, b)| format!("{a},{b}\n")).collect();
    for header in [
        "Run 1 rpm,Run 1 power (kW),Run 2 rpm,Run 2 power (kW)",
        "rpm,power (kW),rpm,power (kW)",
        "rpm 1,power 1 (kW),rpm 2,power 2 (kW)",
        "rpm,power (kW),rpm.1,power.1 (kW)",
        "U/min Lauf 1,Leistung [kW] Lauf 1,U/min Lauf 2,Leistung [kW] Lauf 2",
        "rpm,power,rpm,power\n1/min,kW,1/min,kW",
    ] {
        let found = two(&format!("Shop,nobody\n{header}\n{body}"));
        let points: Vec<Vec<(f64, f64)>> = found
            .pulls
            .iter()
            .map(|pull| pull.points.iter().map(|p| (p.speed_rpm, p.torque_nm)).collect())
            .collect();
        assert_eq!(points, wanted, "{header}");
        assert_eq!(found.pulls.iter().map(|p| p.name.as_str()).collect::<Vec<_>>(), ["run 1", "run 2"]);
    }
}

#[test]
fn runs_may_share_columns_and_what_is_no_run_is_not_taken_for_one() {
    // One rpm and one air for both runs.
    let body: String = PLAIN.lines().map(|l| format!("{l},{},25\n", l.replace(',', ""))).collect();
    let body = body.replace("2000100", "98").replace("3000110", "108").replace("4000115", "113");
    let body = body.replace("5000110", "108").replace("600095", "93");
    let found = two(&format!("rpm,run 1 torque (Nm),run 2 torque (Nm),air temp (C)\n{body}"));
    assert_eq!((found.pulls[0].points[2].torque_nm, found.pulls[1].points[2].torque_nm), (115.0, 113.0));
    assert!(found.points().all(|p| p.air_temperature_k == Some(298.15)));
    // The same torque in two units is no second run.
    let refused = of(b"rpm,torque (Nm),torque (lb ft)\n2000,100,74\n", None).unwrap_err().to_string();
    assert!(refused.contains("both look like torque"), "{refused}");
}

#[test]
fn lines_above_the_table_are_read_where_they_are_plain() {
    let above = "Shop: nobody\nCorrection: STD\nCorrection Factor: 1.024\nGear: 4\nMeasured at: crank\nAir temp: 25 C\nBaro: 990 mbar\n";
    let found = log(&format!("{above}rpm,torque (Nm)\n{PLAIN}"));
    assert!(matches!(found.correction, LogCorrection::By(standard) if standard.key() == "sae-j607"));
    assert_eq!(
        (found.correction_said, found.place, found.place_said),
        (Said::Line, Place::Crank, Said::Line)
    );
    assert!(
        found.points().all(|p| p.correction_factor == Some(1.024) && p.air_temperature_k == Some(298.15))
    );
    assert_eq!(found.weather().pressure_pa, Some(99_000.0));
    assert!(found.notes.contains(&Note::LinesAbove { header: 8, lines: 1 }), "{:?}", found.notes);
    let Note::LinesRead(lines) = &found.notes[0] else { panic!("{:?}", found.notes) };
    assert_eq!((lines.len(), &lines[2]), (6, &(4, LineAbove::Gear("4".to_owned()))));
    // A column says more than a line.
    let rows = PLAIN.replace('\n', ",30\n");
    let found = log(&format!("Air temp: 25 C\nrpm,torque (Nm),air temp (C)\n{rows}"));
    assert!((found.weather().temperature_k.unwrap() - 303.15).abs() < 1e-9);
}

#[test]
fn rpm_is_made_from_vehicle_speed() {
    let rows: String = PLAIN.lines().map(|l| l.replacen("00,", ",", 1) + "\n").collect();
    let mapping =
        Mapping { gearing: Some(Gearing::of_pair("100 km/h = 10000 rpm").unwrap()), ..Mapping::default() };
    let text = format!("Geschwindigkeit (km/h),power (kW)\n{rows}");
    let found = read("pull.csv", text.as_bytes(), &mapping).unwrap();
    assert_eq!(found.pulls[0].speed_range_rpm(), (2000.0, 6000.0));
    assert!(matches!(found.notes[0], Note::RpmOfRoadSpeed(_)), "{:?}", found.notes);
    assert!(
        of(text.as_bytes(), None)
            .unwrap_err()
            .to_string()
            .contains("is vehicle speed, and no column gives rpm")
    );
    // Beside rpm it is not used.
    let both: String = PLAIN.lines().map(|l| format!("{l},50\n")).collect();
    let found = log(&format!("rpm,power (kW),vehicle speed\n{both}"));
    assert_eq!(found.ignored, ["vehicle speed"]);
}
