//! Reading logs: what shops write is read, what is wrong is told by line, and nothing makes the reader panic.

use crate::common::cases::cases;
use endgas::dyno::{
    ColumnMap, DecimalSign, Lacking, Log, LogCorrection, Mapping, Note, Place, PullEnd, PullErrors, Quantity,
    Said, SplitBy, read,
};
use proptest::prelude::*;

fn log(text: &str) -> Log {
    read("pull.csv", text.as_bytes(), &Mapping::default()).unwrap_or_else(|e| panic!("{e}"))
}

fn errors(text: &str, mapping: &Mapping) -> PullErrors {
    read("pull.csv", text.as_bytes(), mapping).unwrap_err()
}

#[test]
fn messages_of_every_bad_file() {
    insta::glob!("..", "bad_pulls/*.csv", |path| {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let bytes = std::fs::read(path).unwrap();
        let problems = read(&name, &bytes, &Mapping::default()).unwrap_err();
        insta::with_settings!({ omit_expression => true }, {
            insta::assert_snapshot!(problems);
        });
    });
}

#[test]
fn every_problem_of_the_rows_is_told_up_to_twenty() {
    let rows: String = (0..27).map(|i| format!("{},x\n", 2000 + 100 * i)).collect();
    let found = errors(&format!("rpm,torque (Nm)\n{rows}"), &Mapping::default());
    assert_eq!(found.problems.len(), 27);
    let lines: Vec<u64> = found.problems.iter().map(|p| p.line.unwrap()).collect();
    assert_eq!(lines, (2..=28).collect::<Vec<u64>>());
    let text = found.to_string();
    assert!(text.starts_with("27 problems in pull.csv\npull.csv:2: torque (Nm) = \"x\" is not a number; "));
    assert!(text.ends_with("\nand 7 more"), "{text}");
}

#[test]
fn a_quote_left_open_loses_no_row_in_silence() {
    let lines = |text: &str| -> Vec<Option<u64>> {
        errors(text, &Mapping::default()).problems.iter().map(|p| p.line).collect()
    };
    // The second quote closes the first, two rows below; the whole would read as one pull with fewer rows.
    let note = PLAIN.replace("3000,110", "3000,110,\"warm").replace("5000,110", "5000,110,second\"");
    assert_eq!(lines(&format!("rpm,torque (Nm),note\n{note}{PLAIN}")), [Some(3)]);
    // Open to the end, on the last line, with an empty cell, and after a comment.
    assert_eq!(lines(&format!("rpm,torque (Nm)\n{PLAIN}\"6500,90\n7000,80\n")), [Some(7)]);
    assert_eq!(lines(&format!("rpm,torque (Nm)\n{PLAIN}6500,\"90")), [Some(7)]);
    assert_eq!(lines(&format!("rpm,torque (Nm)\n{PLAIN}\"\n")), [Some(7)]);
    assert_eq!(lines(&format!("# at: crank\nrpm,torque (Nm)\n\n{PLAIN}6500,\"90\n")), [Some(9)]);
    // Closed on its line, or a sign inside a cell, it is read.
    let quoted = PLAIN.replace("110", "\"110\"").replace("115", "115,3\" pipe");
    assert_eq!(log(&format!("rpm,torque (Nm),note\n{quoted}")).pulls[0].points.len(), 5);
}

const PLAIN: &str = "2000,100\n3000,110\n4000,115\n5000,110\n6000,95\n";

#[test]
fn a_file_larger_than_any_log_is_refused() {
    let text = format!("rpm,torque (Nm)\n{}", "2000,100\n".repeat(500_000));
    assert!(errors(&text, &Mapping::default()).to_string().contains("larger than 4096 KiB"));
}

#[test]
fn line_ends_byte_order_mark_comments_and_units_row_are_read() {
    let text = "\u{feff}# Invented\r\nOperator;nobody\r\nrpm;torque;power;baro\r\n1/min;lb ft;kW;kPa\r\n; a comment? no: the first cell is blank\r\n2000;100,0;28,4;\r\n3000;110,0;46,9;99\r\n4000;115,0;65,3;\r\n5000;110,0;78,1;97\r\n6000;95,0;80,9;\r\n";
    // The line that begins with the delimiter is a row that lacks its speed.
    let found = errors(text, &Mapping::default());
    assert_eq!(found.problems[0].line, Some(5), "{found}");
    let found = log(&text.replace("; a comment? no: the first cell is blank\r\n", ""));
    let points = &found.pulls[0].points;
    assert_eq!(points.len(), 5);
    // HAND: 100 lbf ft = 135.58 N m; mean of 99 and 97 kPa.
    assert!((points[0].torque_nm - 135.5818).abs() < 1e-3);
    assert!((found.weather().pressure_pa.unwrap() - 98_000.0).abs() < 1e-6);
    assert_eq!(points[0].air_pressure_pa, None);
    assert!(found.notes.contains(&Note::DecimalComma), "{:?}", found.notes);
    assert!(found.notes.contains(&Note::LinesAbove { header: 3, lines: 1 }), "{:?}", found.notes);
    // Old line ends alone.
    assert_eq!(log(&format!("rpm,torque (Nm)\n{PLAIN}").replace('\n', "\r")).pulls[0].points.len(), 5);
}

/// The plain table as a German shop saves it: rpm with thousands set apart, decimal comma.
const GERMAN: &str = "Prüfstand;Halle 2\nMotordrehzahl [U/min];Radleistung [PS];Zündung [°KW];Lambda\n2.000;28,5;24,0;0,880\n3.000;47,0;26,0;0,875\n4.000;1.065,5;28,0;0,870\n5.000;78,3;29,0;0,870\n6.000;81,2;30,0;0,865\n";

#[test]
fn german_logs_are_read_in_every_encoding() {
    let text = GERMAN.replace("1.065,5", "65,5");
    let wide: Vec<u8> =
        [0xFF, 0xFE].into_iter().chain(text.encode_utf16().flat_map(u16::to_le_bytes)).collect();
    let latin: Vec<u8> = text.chars().map(|c| c as u32 as u8).collect();
    let found = log(&text);
    assert_eq!(found.place, Place::Wheel);
    let point = found.pulls[0].points[0];
    // HAND: 28.5 PS at 2000 rpm are 28.5 * 735.49875 W / 209.44 rad/s = 100.08 N m.
    assert!((point.torque_nm - 100.08).abs() < 0.01 && point.speed_rpm == 2000.0);
    assert_eq!((point.timing_deg_btdc, point.lambda), (Some(24.0), Some(0.88)));
    let of = |bytes: &[u8]| read("pull.csv", bytes, &Mapping::default()).unwrap();
    assert_eq!(of(&wide), found);
    assert_eq!(of(&latin).pulls, found.pulls);
    assert!(of(&latin).notes.contains(&Note::Windows1252));
    let large = log(&GERMAN.replace("PS", "W"));
    assert!((large.pulls[0].points[2].torque_nm - 1065.5 / 418.879).abs() < 1e-3);
}

#[test]
fn cells_that_hold_nothing_leave_their_row_out_and_the_file_in() {
    let text = format!("rpm,torque (Nm),lambda\n0,0,---\n{}", PLAIN.replace('\n', ",n/a\n"));
    let text = format!("{text}---,100,0.9\n6100,-,0.9\n6200,NaN,\n6500,,9\n6600,-3,7.5\n");
    let found = log(&text);
    assert_eq!(found.pulls[0].points.len(), 5);
    assert!(found.points().all(|p| p.lambda.is_none()));
    for (what, lines) in
        [(Lacking::RunningEngine, vec![2]), (Lacking::Speed, vec![8]), (Lacking::Output, vec![9, 10, 11])]
    {
        assert!(found.notes.contains(&Note::RowsLacking { what, lines }), "{:?}", found.notes);
    }
    let rows = PLAIN.replace('\n', "\na,").replace("a,4000,115", ",4000,115\na,4200,115");
    let unnamed = log(&format!("run,rpm,torque (Nm)\na,{}", rows.trim_end_matches("a,")));
    assert_eq!(unnamed.pulls[0].points.len(), 5);
    assert!(unnamed.notes.contains(&Note::RowsLacking { what: Lacking::PullName, lines: vec![4] }));
}

#[test]
fn thousands_are_told_from_decimals() {
    for (rpm, torque) in [("5,000", "110"), ("\"5,000\"", "110"), ("5 000", "110,0"), ("5'000", "110.0")] {
        let delimiter = if rpm.starts_with('"') { "," } else { ";" };
        let text = format!("rpm{delimiter}torque (Nm)\n{}", PLAIN.replace(',', delimiter));
        let text = text.replace(&format!("5000{delimiter}110"), &format!("{rpm}{delimiter}{torque}"));
        let found = log(&text);
        assert_eq!((found.pulls[0].points[3].speed_rpm, found.pulls[0].points[3].torque_nm), (5000.0, 110.0));
    }
}

#[test]
fn pulls_are_told_apart_in_three_ways() {
    let header = "rpm,torque (Nm)\n";
    let one = log(&format!("{header}{PLAIN}"));
    assert_eq!((one.pulls.len(), one.split_by), (1, SplitBy::OnePull));
    let falls = log(&format!("{header}{PLAIN}{PLAIN}{PLAIN}"));
    assert_eq!((falls.pulls.len(), falls.split_by), (3, SplitBy::SpeedFalls));
    let blank = log(&format!("{header}{PLAIN}\n{PLAIN}"));
    assert_eq!((blank.pulls.len(), blank.split_by), (2, SplitBy::BlankLine));
    let named: String = PLAIN.lines().flat_map(|l| [format!("hot,{l}\n"), format!("cold,{l}\n")]).collect();
    let column = log(&format!("run,{header}{named}"));
    assert_eq!(column.split_by, SplitBy::Column);
    assert_eq!(column.pulls.iter().map(|p| p.name.as_str()).collect::<Vec<_>>(), ["hot", "cold"]);
    // A blank line in the middle of a pull, and a table from high to low speed, are one pull.
    let middle = PLAIN.replace("4000", "\n4000");
    assert_eq!(log(&format!("{header}{middle}")).pulls.len(), 1);
    let down: String = PLAIN.lines().rev().map(|l| format!("{l}\n")).collect();
    let down = down.replace("2000", "2400");
    assert_eq!(log(&format!("{header}{down}")).pulls.len(), 1);
}

#[test]
fn overrun_is_left_out_and_said() {
    let found = log(&format!("rpm,torque (Nm)\n{PLAIN}5900,-5\n5800,-12\n"));
    assert_eq!(found.pulls[0].points.len(), 5);
    let ends: Vec<_> = found.ends().map(|end| (end.end, end.first_line, end.last_line)).collect();
    assert_eq!(ends, [(PullEnd::CoastDown, 7, 8)]);
    let kept = Mapping { keep_ends: true, ..Mapping::default() };
    let text = format!("rpm,torque (Nm)\n{PLAIN}5900,-5\n5800,-12\n");
    let kept = read("pull.csv", text.as_bytes(), &kept).unwrap();
    assert!(kept.notes.contains(&Note::RowsLeftOut { rows: 2, first: 7 }), "{:?}", kept.notes);
}

#[test]
fn place_and_correction_come_from_option_comment_and_heading() {
    let text = format!("# at: crank\n# corrected: iso-1585\nrpm,torque (Nm)\n{PLAIN}");
    let found = log(&text);
    assert_eq!((found.place, found.place_said), (Place::Crank, Said::Comment));
    assert_eq!(found.correction_said, Said::Comment);
    assert!(matches!(found.correction, LogCorrection::By(s) if s.key() == "iso-1585"));
    let mapping =
        Mapping { place: Some(Place::Wheel), correction: Some(LogCorrection::None), ..Mapping::default() };
    let found = read("pull.csv", text.as_bytes(), &mapping).unwrap();
    assert_eq!((found.place, found.place_said), (Place::Wheel, Said::Option));
    assert_eq!(found.correction, LogCorrection::None);
    let found = log(&format!("rpm,crank torque (Nm)\n{PLAIN}"));
    assert_eq!((found.place, found.place_said), (Place::Crank, Said::Header));
    let found = log(&format!("rpm,torque (Nm)\n{PLAIN}"));
    assert_eq!((found.place, found.place_said), (Place::Wheel, Said::Nobody));
    assert!(found.notes.contains(&Note::PlaceNotSaid) && found.notes.contains(&Note::CorrectionNotSaid));
}

fn mapped(columns: &[&str]) -> Mapping {
    Mapping { columns: columns.iter().map(|c| ColumnMap::read(c).unwrap()).collect(), ..Mapping::default() }
}

#[test]
fn columns_are_mapped_by_hand() {
    let text = format!("N mot,TQ1,TQ raw\n{}", PLAIN.replace('\n', ",7\n"));
    let mapping = mapped(&["speed=N mot in rpm", "torque=tq1 in lbf ft"]);
    let found = read("pull.csv", text.as_bytes(), &mapping).unwrap();
    assert!((found.pulls[0].points[0].torque_nm - 135.5818).abs() < 1e-3);
    assert_eq!(found.ignored, ["TQ raw"]);
    let by_number = mapped(&["speed=#1 in rpm", "torque=#2 in lb-ft"]);
    assert_eq!(read("pull.csv", text.as_bytes(), &by_number).unwrap().pulls, found.pulls);
    // Of two torques the one named is used, the other listed.
    let text = format!("rpm,torque (Nm),torque (lb ft)\n{}", PLAIN.replace('\n', ",74\n"));
    let found = read("pull.csv", text.as_bytes(), &mapped(&["torque=torque (Nm)"])).unwrap();
    assert_eq!(found.ignored, ["torque (lb ft)"]);
    assert_eq!(found.columns[1].unit, "N m");
    let found = read("pull.csv", text.as_bytes(), &mapped(&["ignore=torque (Nm)"])).unwrap();
    assert_eq!((found.ignored[0].as_str(), found.columns[1].unit), ("torque (Nm)", "lb-ft"));
    let missing = errors(&text, &mapped(&["torque=TQ9 in N m"])).to_string();
    assert!(missing.contains("no such column; the header has \"rpm\", \"torque (Nm)\""), "{missing}");
}

#[test]
fn an_air_fuel_ratio_is_divided_by_the_scale_of_the_meter() {
    let text = format!("rpm,torque (Nm),AFR\n{}", PLAIN.replace('\n', ",13.23\n"));
    assert!((log(&text).pulls[0].points[0].lambda.unwrap() - 0.9).abs() < 1e-9);
    let mapping = Mapping { afr_stoich: Some(9.8), ..Mapping::default() };
    let found = read("pull.csv", text.as_bytes(), &mapping).unwrap();
    assert!((found.pulls[0].points[0].lambda.unwrap() - 1.35).abs() < 1e-9);
}

/// Rows of a table: speed [rpm], torque [N m], lambda.
fn table() -> impl Strategy<Value = Vec<[f64; 3]>> {
    let row = (20.0..4000.0_f64, 0.7..1.2_f64);
    prop::collection::vec(row, 6..40).prop_map(|rows| {
        let count = rows.len() as f64;
        let step = 5000.0 / count;
        (0..).zip(rows).map(|(i, (nm, l))| [1500.0 + step * f64::from(i), nm, l]).collect()
    })
}

proptest! {
    #![proptest_config(cases(256, 1))]

    /// The same table under each sign between columns and each decimal sign is read back as it was written.
    #[test]
    fn a_table_is_read_back_under_every_convention(rows in table(), unit in 0..3_usize) {
        let unit = Quantity::Torque.units()[unit];
        let scale = unit.to_si(1.0);
        for (delimiter, comma) in [(',', false), (';', false), (';', true), ('\t', false), ('\t', true)] {
            let mut text = format!("rpm{delimiter}torque ({}){delimiter}lambda\n", unit.symbol());
            for [speed, nm, lambda] in &rows {
                let line = format!("{speed:.3}{delimiter}{:.6}{delimiter}{lambda:.6}\n", nm / scale);
                text += &if comma { line.replace('.', ",") } else { line };
            }
            // What no engine makes looks like the ends of a run.
            let mapping = Mapping { keep_ends: true, ..Mapping::default() };
            let found = read("x", text.as_bytes(), &mapping).unwrap();
            prop_assert_eq!(found.pulls.len(), 1);
            let points = &found.pulls[0].points;
            prop_assert_eq!(points.len(), rows.len());
            for (point, [speed, nm, lambda]) in points.iter().zip(&rows) {
                prop_assert!((point.speed_rpm - speed).abs() < 1e-3);
                prop_assert!((point.torque_nm - nm).abs() < 1e-5 * scale.max(1.0));
                prop_assert!((point.lambda.unwrap() - lambda).abs() < 1e-6);
            }
        }
    }

    /// Bytes of any kind make a log or an error with a message, never a panic.
    #[test]
    fn any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        if let Err(errors) = read("x", &bytes, &Mapping::default()) {
            prop_assert!(!errors.problems.is_empty());
            prop_assert!(errors.to_string().lines().count() > 1);
        }
    }

    /// So does text that looks like a log.
    #[test]
    fn any_table_like_text_is_read_or_refused(
        header in "(rpm|speed|n)[,;\t](torque|power|hp)( \\((Nm|kW|lb ft|x)\\))?[,;\t]?(run|cf|afr)?",
        body in "([0-9a-z.,;\t\n \"#-]{0,12}\n){0,30}",
        comma in any::<bool>(),
    ) {
        let decimal = comma.then_some(DecimalSign::Comma);
        let mapping = Mapping { decimal, ..Mapping::default() };
        match read("x", format!("{header}\n{body}").as_bytes(), &mapping) {
            Ok(log) => {
                for point in log.points() {
                    prop_assert!(point.torque_nm.is_finite() && point.torque_nm > 0.0);
                    prop_assert!((100.0..=20_000.0).contains(&point.speed_rpm));
                }
            }
            Err(errors) => prop_assert!(!errors.problems.is_empty()),
        }
    }
}
