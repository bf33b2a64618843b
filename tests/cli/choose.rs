//! `endgas choose` as its user runs it.

use crate::common::cli::{changed_demo, endgas, entries, quiet, refused, run, scenario};
use crate::csv_convention::keeps_to_it;
use serde_json::Value;
use std::sync::OnceLock;
use std::time::{Duration, Instant};

/// Few samples and two fuels, so that a run is short.
const SHORT: [&str; 6] = ["choose", "--samples", "50", "--fuel", "premium-91", "--fuel=e85"];

/// The built-in example at three speeds.
fn short_demo() -> &'static str {
    static PATH: OnceLock<(tempfile::TempDir, String)> = OnceLock::new();
    let make = || {
        let folder = tempfile::tempdir().unwrap();
        let path = changed_demo(folder.path(), "step_rpm = 500", "step_rpm = 2500");
        let path = path.to_str().unwrap().to_owned();
        (folder, path)
    };
    &PATH.get_or_init(make).1
}

/// A short run, on the short example unless a scenario is among the arguments.
fn with<'a>(more: &[&'a str]) -> Vec<&'a str> {
    let own = if more.iter().any(|word| word.ends_with(".toml")) { &[][..] } else { &[short_demo()][..] };
    [&SHORT, more, own].concat()
}

fn document(more: &[&str]) -> Value {
    serde_json::from_str(&quiet(&[&with(more), &["--format", "json"][..]].concat(), 0)).unwrap()
}

fn ordered(choice: &Value) -> f64 {
    choice["order"]["compression_ratio"].as_f64().unwrap()
}

#[test]
fn the_answer_comes_first_and_fits_the_width() {
    for units in ["metric", "us"] {
        let text = quiet(&with(&["--units", units, "--show", "all"]), 0);
        assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
        let order = [
            "Answer\n  Order ",
            " builders and makers run in ",
            "makes no measurable difference",
            "cranking pressure",
            "What would allow more: ",
            "\nOff-the-shelf pistons",
            "\nCautions",
            "\nRatios over a limit",
            "\nWhat was asked",
            "\nWhat each service condition costs",
            "\nWhat would move the order",
            "\nWhat half a ratio",
            "\nWhat the ignition is worth",
            "\nPower as fitted and limits over compression ratio",
            "\nLikely wheel power by fuel",
            "\nPower lost by choosing for one fuel",
            "\nKnock margin at MBT timing",
        ];
        // Lines are wrapped, so that words of one sentence may stand on two.
        let flat = text.replace("\n  ", " ");
        let place = |part: &&str| text.find(*part).or_else(|| flat.find(*part)).expect(part);
        let places: Vec<usize> = order.iter().map(place).collect();
        assert!(places.is_sorted(), "{places:?}");
        // No metric figure appears with US units.
        for metric in [" bar", " kW", " mm ", " C,", " K "] {
            assert_eq!(text.contains(metric), units == "metric" && text.contains(metric), "{metric}: {text}");
        }
    }
}

#[test]
fn weights_move_the_order_and_an_odd_one_is_refused() {
    let free = ["--ratios", "9 to 16"];
    let of = |weight: &str| {
        let folder = tempfile::tempdir().unwrap();
        let path = changed_demo(
            folder.path(),
            "# most_torque_loss_percent = 8.0 ",
            "most_torque_loss_percent = 50.0 # ",
        );
        let text = std::fs::read_to_string(&path).unwrap();
        std::fs::write(&path, text.replace("step_rpm = 500", "step_rpm = 2500")).unwrap();
        ordered(&document(&[&free[..], &["--weight", weight, path.to_str().unwrap()]].concat()))
    };
    assert!(of("e85=20") > of("e85=0") + 0.5);
    let said = refused(&with(&["--weight", "e58=2"]));
    assert!(said.contains("'e58' is not among the fuels of the run: premium-91, e85"), "{said}");
}

#[test]
fn a_weight_finds_its_fuel_however_it_is_typed() {
    let choice = document(&["--weight", "Premium-91=0"]);
    assert_eq!(
        (&choice["fuels"][0]["share_frac"], &choice["fuels"][1]["share_frac"]),
        (&0.0.into(), &1.0.into())
    );
    let said = refused(&with(&["--weight", "premium-91=0", "--weight", "e85=0"]));
    assert!(said.contains("no fuel counts") && said.contains("--weight"), "{said}");
}

#[test]
fn a_run_on_ethanol_alone_has_one_blend() {
    let street = scenario("street-2000");
    let asked = ["choose", "--samples", "50", "--fuel", "e100", "--ethanol", "0 to 50 %", &street];
    let text = quiet(&asked, 0);
    assert!(text.contains("e100 with 100 % ethanol\n"), "{text}");
}

#[test]
fn json_holds_the_map_and_csv_every_ratio_and_fuel() {
    let choice = document(&["--piston", "9.5", "--piston", "12", "--ethanol", "0 to 85 %"]);
    let map = &choice["margin_map"];
    assert_eq!(map["ethanol_vol_frac"][0], 0.0);
    let (rows, columns) =
        (map["ethanol_vol_frac"].as_array().unwrap(), map["compression_ratio"].as_array().unwrap());
    let margins = map["best_torque_octane_margin"].as_array().unwrap();
    assert!(
        margins.len() == rows.len() && margins.iter().all(|m| m.as_array().unwrap().len() == columns.len())
    );
    assert_eq!(choice["pistons"].as_array().unwrap().len(), 2);
    assert_eq!(choice["stood"]["base"], "premium-91");
    let csv = quiet(&with(&["--format", "csv"]), 0);
    keeps_to_it(&csv);
    // Thirteen ratios by half, the order among them or one more, and five pistons; each weighted and on two fuels.
    let of = |what: &str| csv.lines().filter(|line| line.starts_with(what)).count();
    assert_eq!((of("order,"), of("piston,")), (3, 3 * 5), "{csv}");
    assert!([3 * 12, 3 * 13].contains(&of("curve,")), "{csv}");
    assert_eq!(csv.lines().count(), 1 + of("curve,") + 3 * 6);
    let schema: Value = serde_json::from_str(&quiet(&["choose", "--format", "schema"], 0)).unwrap();
    for key in choice.as_object().unwrap().keys() {
        assert!(schema["properties"].get(key).is_some(), "{key}");
    }
}

#[test]
fn no_ratio_within_the_limits_is_told_by_the_exit_status() {
    let text = quiet(&with(&["--ratios", "14.5 to 15.5", "--piston", "15"]), 1);
    assert!(text.contains("Order nothing yet: no compression ratio from 14.5 to 15.5 is within the limits"));
    assert!(text.contains("fill no less than") && text.contains("All limits are met at"), "{text}");
}

#[test]
fn pistons_that_are_all_over_the_limit_are_told_by_the_exit_status() {
    let text = quiet(&with(&["--piston", "14", "--piston", "14.5"]), 1);
    assert!(text.contains("Order ") && text.contains("OVER THE LIMIT"), "{text}");
    let text = quiet(&with(&["--piston", "9.5", "--piston", "14.5"]), 0);
    let (within, over) = (text.find("9.5 ").unwrap(), text.find("OVER THE LIMIT").unwrap());
    assert!(within < over, "{text}");
}

#[test]
fn bad_input_is_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let (out, plot) = (folder.path().join("choice.json"), folder.path().join("plots"));
    let targets = ["--out", out.to_str().unwrap(), "--plot", plot.to_str().unwrap()];
    for bad in [
        ["--ethanol", "85 to 10 %"],
        ["--ratios", "12"],
        ["--ratios", "12 to 12.1"],
        ["--piston", "30"],
        ["--piston", "8"],
        ["--weight", "e85=-1"],
        ["--likelihood", "e85"],
        ["--samples", "1"],
    ] {
        let said = refused(&[&with(&bad), &targets[..]].concat());
        assert!(
            said.contains(bad[0]) || said.contains("leave less than") || said.contains("lies outside"),
            "{bad:?}: {said}"
        );
    }
    let folder_of_base = tempfile::tempdir().unwrap();
    let path = changed_demo(folder_of_base.path(), "base = \"premium-91\"", "base = \"premium-19\"");
    let said = refused(&with(&[path.to_str().unwrap()]));
    assert!(said.contains("choose.blends.base = \"premium-19\"") && said.contains("changed.toml:"), "{said}");
    assert_eq!(entries(folder.path()), [] as [&str; 0]);
}

#[test]
fn measured_volumes_give_the_dome() {
    let text = quiet(&["choose", "--samples", "50", "--fuel", "e85", &scenario("street-2000")], 0);
    assert!(text.contains("cc with your measured volumes"), "{text}");
}

#[test]
fn plots_are_written_whole() {
    let folder = tempfile::tempdir().unwrap();
    let output = run(&with(&["--plot", folder.path().to_str().unwrap()]));
    assert!(output.status.success());
    for name in ["power-over-ratio.svg", "margin-map.svg"] {
        let svg = std::fs::read_to_string(folder.path().join(name)).unwrap();
        assert!(svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>") && !svg.contains("NaN"));
    }
}

/// An interrupt in the middle of the work leaves nothing behind, not even a temporary file.
#[cfg(unix)]
#[test]
fn an_interrupt_leaves_no_file() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("choice.txt");
    let program = endgas();
    let mut child = std::process::Command::new(program.get_program())
        .args(["choose", "--samples", "20000", "--out", out.to_str().unwrap()])
        .stderr(std::process::Stdio::null())
        .spawn()
        .unwrap();
    std::thread::sleep(Duration::from_millis(700));
    assert!(child.try_wait().unwrap().is_none(), "it is still at work");
    let sent = std::process::Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(sent.success());
    let begun = Instant::now();
    assert_eq!(child.wait().unwrap().code(), Some(130));
    assert!(begun.elapsed() < Duration::from_secs(5));
    assert_eq!(entries(folder.path()), [] as [&str; 0]);
}
