//! One convention over the CSV of every command: names, yes and no, shares. Goal and choose are asked in their own tests.

use crate::common::cli::run;

/// Columns that say yes or no.
const FLAGS: [&str; 4] = ["knock_limited", "within_limits", "fuel_allows_it", "beyond_full_load"];
/// Words for a share that is no fraction, or a yes that is no true.
const OTHER_WORDS: [&str; 4] = ["percent", "pct", "share", "frac_percent"];

/// Demands the convention of a table; the tests of slow commands ask it of the tables that they have.
pub(crate) fn keeps_to_it(table: &str) {
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let header: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert!(!rows.is_empty(), "{table}");
    for (i, name) in header.iter().enumerate() {
        let place = format!("{name} of {header:?}");
        // Names are lower case with one line between words; the rpm of a grid is a number.
        let is_name = name.split('_').all(|part| {
            !part.is_empty() && part.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit())
        });
        assert!(is_name, "{place}");
        assert!(!name.split('_').any(|part| OTHER_WORDS.contains(&part)), "{place}");
        assert_eq!(header.iter().filter(|other| *other == name).count(), 1, "{place}");
        let cells: Vec<&str> = rows.iter().map(|row| &row[i]).filter(|cell| !cell.is_empty()).collect();
        assert!(!cells.iter().any(|cell| ["yes", "no"].contains(cell)), "{place}");
        if FLAGS.contains(&name.as_str()) {
            assert!(cells.iter().all(|cell| ["true", "false"].contains(cell)), "{place}: {cells:?}");
        } else if !name.chars().all(|c| c.is_ascii_digit()) {
            assert!(!cells.iter().any(|cell| ["true", "false"].contains(cell)), "{place}: not in FLAGS");
        }
        if name.ends_with("_frac") || name.ends_with("probability") {
            let is_fraction = |cell: &&str| cell.parse::<f64>().is_ok_and(|share| share.abs() <= 2.0);
            assert!(cells.iter().all(is_fraction), "{place}: {cells:?}");
        }
    }
}

#[test]
fn every_table_keeps_to_one_convention() {
    let street = "scenarios/street-2000.toml";
    let pull = "scenarios/pulls/street-2000-pull-good.csv";
    for units in ["metric", "us"] {
        for arguments in [
            &["estimate", "--samples", "50", "--fuel", "premium-91"][..],
            &["fueling"],
            &["breathing", "tests/data/on_pipes.toml"],
            &["spark", "--fuel", "premium-91", "--load", "60,100 %"],
            &["volumes", street, "--wanted", "10.5"],
            &["fuel", "e85", "premium-91"],
            &["fuel", "mix", "20 L e85", "30 L premium-91"],
            &["dyno", street, pull, "--samples", "50"],
        ] {
            let output = run(&[arguments, &["--units", units, "--format", "csv"]].concat());
            keeps_to_it(&String::from_utf8(output.stdout).unwrap());
        }
    }
}
