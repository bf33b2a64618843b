//! The text of a fitted scenario: whatever the fit found, it reads, says it, and keeps the rest.

use crate::common::cases::cases;
use endgas::dyno::{Followed, PipeSizes, Written, WrittenPipes};
use endgas::engine::{Breathing, Computed, ComputedPoint, ExchangeOnPipes, Follow, OnPipes, PipeInput};
use endgas::scenario::{DEMO, fitted_text, read};
use proptest::prelude::*;
use std::sync::Arc;

fn shipped() -> Vec<String> {
    let folder = format!("{}/scenarios", env!("CARGO_MANIFEST_DIR"));
    let paths = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    paths.filter(|p| p.is_file()).map(|p| std::fs::read_to_string(p).unwrap()).collect()
}

fn round(value: f64, decimals: i32) -> f64 {
    let scale = 10f64.powi(decimals);
    (value * scale).round() / scale
}

/// What a fit may write, in the ranges that a scenario holds.
fn any_written() -> impl Strategy<Value = Written> {
    let speeds = (2_usize..=60, 500.0..1500.0, 20.0..200.0);
    let loss = proptest::option::of((2.0..40.0, 1.0..60.0));
    (speeds, 0.5..30.0, loss, 0.6..1.5, 0.4..1.5, 0_usize..=7, -30.0..30.0).prop_map(
        |((count, from, step), spread, loss, burn, filling, follows, percent)| Written {
            speed_rpm: (0..count).map(|i| from + step * i as f64).collect(),
            volumetric_efficiency: vec![round(filling, 4); count],
            spread_percent: round(spread, 2),
            follows_speed_rpm: (0..count).map(|i| from + step * i as f64).collect(),
            follows: Follow::ALL[..follows]
                .iter()
                .map(|with| Followed { key: with.key(), percent: vec![round(percent, 2); count] })
                .collect(),
            measured_loss_percent: loss.map(|(loss, _): (f64, f64)| round(loss, 2)),
            measured_loss_spread_percent: loss.map(|(_, spread)| round(spread, 1)),
            burn_speed: round(burn, 3),
            mean_flow_coefficient: None,
            pipes: None,
        },
    )
}

proptest! {
    #![proptest_config(cases(64, 10))]
    #[test]
    fn it_reads_as_what_was_found(written in any_written(), told in "[ -~\\n\\t#\"=]{0,300}", which in 0_usize..4) {
        let texts = shipped();
        let old = &texts[which % texts.len()];
        let mut written = written;
        let before = read("old", old).unwrap();
        if matches!(before.build.breathing, Breathing::PortFlow(_)) {
            written.mean_flow_coefficient = Some(round(before.build.valves.mean_flow_coefficient, 4));
        }
        let new = fitted_text(old, &written, &told).unwrap();
        let after = read("new", &new).unwrap();
        // What reads is the build that the fit ran, to the last digit or two.
        let meant = written.build(&before.build);
        prop_assert_eq!(&after.build.breathing, &meant.breathing);
        prop_assert_eq!(after.build.combustion, meant.combustion);
        prop_assert_eq!(after.build.driveline, meant.driveline);
        prop_assert_eq!(after.build.geometry, meant.geometry);
        prop_assert!((after.build.valves.mean_flow_coefficient - meant.valves.mean_flow_coefficient).abs() < 1e-9);
        prop_assert_eq!((after.weather, after.fuels.len(), after.speeds_rpm), (before.weather, before.fuels.len(), before.speeds_rpm));
        prop_assert!(new.lines().filter(|l| l.starts_with('#')).all(|l| l.chars().count() <= 320));
    }
}

/// A fit of two speeds.
fn of_two_speeds() -> Written {
    Written {
        speed_rpm: vec![2500.0, 7500.0],
        volumetric_efficiency: vec![0.9, 1.0],
        spread_percent: 1.0,
        follows_speed_rpm: vec![2500.0, 7500.0],
        follows: Vec::new(),
        measured_loss_percent: None,
        measured_loss_spread_percent: None,
        burn_speed: 1.05,
        mean_flow_coefficient: None,
        pipes: None,
    }
}

#[test]
fn comments_and_the_order_of_sections_stay() {
    let written = Written {
        speed_rpm: vec![2500.0, 7500.0],
        volumetric_efficiency: vec![0.9, 1.0],
        spread_percent: 1.0,
        follows_speed_rpm: vec![2500.0, 7500.0],
        follows: Vec::new(),
        measured_loss_percent: Some(13.0),
        measured_loss_spread_percent: Some(15.0),
        burn_speed: 1.05,
        mean_flow_coefficient: None,
        pipes: None,
    };
    let new = fitted_text(DEMO, &written, "Said by a test.").unwrap();
    let sections = |text: &str| -> Vec<String> {
        text.lines().filter(|l| l.starts_with('[')).map(|l| l.split(']').next().unwrap().to_owned()).collect()
    };
    assert_eq!(sections(&new), sections(DEMO));
    assert!(new.contains("# Said by a test.\n") && !new.contains("peak_power_rpm ="));
    let old = ["kind =", "peak_torque_rpm", "peak_power_rpm"];
    let kept = |line: &&str| line.contains("# ") && !old.iter().any(|key| line.contains(key));
    let lost: Vec<&str> = DEMO.lines().filter(kept).filter(|line| !new.contains(*line)).collect();
    // Only what stood over the old way of breathing, and the numbers that were fitted.
    assert!(lost.len() <= 5, "{lost:#?}");
    // A section written in one line is edited as well.
    let inline = DEMO.replace("[injection]\nkind = \"port\"", "[injection]\nkind = \"port\" ");
    assert!(fitted_text(&inline, &written, "").is_ok());
}

#[test]
fn a_text_that_cannot_be_edited_is_refused() {
    let written = Written {
        speed_rpm: vec![2500.0, 7500.0],
        volumetric_efficiency: vec![0.9, 9.0],
        spread_percent: 1.0,
        follows_speed_rpm: vec![2500.0, 7500.0],
        follows: Vec::new(),
        measured_loss_percent: None,
        measured_loss_spread_percent: None,
        burn_speed: 1.0,
        mean_flow_coefficient: None,
        pipes: None,
    };
    assert!(fitted_text("not toml at all", &written, "").unwrap_err().to_string().contains("edited"));
    assert!(fitted_text("breathing = 3", &written, "").unwrap_err().to_string().contains("not a section"));
    assert!(fitted_text(DEMO, &written, "").unwrap_err().to_string().contains("mistakes"));
}

/// Ways in which `[breathing]` of the demo may be written, TOML 1.0 all of them.
fn breathing_in_other_words() -> [String; 3] {
    let start = DEMO.find("[breathing]").unwrap();
    let end = start + DEMO[start + 1..].find("\n[").unwrap() + 2;
    let rest = format!("{}{}", &DEMO[..start], &DEMO[end..]);
    let inline =
        "# Filling of this build.\nbreathing = { kind = \"race\", peak_power_rpm = 6500 } # from memory\n";
    let dotted = "breathing.kind = \"race\"\nbreathing.peak_power_rpm = 6500\n";
    let table = "breathing = {speed_rpm=[2500,8000],volumetric_efficiency=[0.9,1.0],spread_percent=4,follows={burn_speed_percent=[1,2]}}\n";
    [inline, dotted, table].map(|text| format!("{text}{rest}"))
}

#[test]
fn a_section_in_one_line_or_by_dotted_keys_gets_a_head() {
    let written = Written {
        follows: vec![Followed { key: Follow::ALL[0].key(), percent: vec![1.0, 2.0] }],
        ..of_two_speeds()
    };
    for old in breathing_in_other_words() {
        let before = read("old", &old).unwrap_or_else(|e| panic!("{e}"));
        let new = fitted_text(&old, &written, "Said by a test.").unwrap();
        let after = read("new", &new).unwrap();
        assert_eq!(after.build.breathing, written.build(&before.build).breathing, "{new}");
        assert_eq!((after.fuels.len(), after.weather), (before.fuels.len(), before.weather));
        assert!(new.contains("\n[breathing]\n# Said by a test.\nspeed_rpm = [2500, 7500]\n"), "{new}");
        assert!(new.contains("\n[breathing.follows]\n"), "{new}");
        assert!(new.contains("# Filling of this build.\n") || !old.contains("# Filling"), "{new}");
    }
}

#[test]
fn what_is_told_of_a_log_cannot_end_its_comment() {
    let new =
        fitted_text(DEMO, &of_two_speeds(), "Fitted to a\u{1b}[31m\u{7f}\u{202e}.csv\nname = 3").unwrap();
    assert!(new.contains("# Fitted to a\\u{1b}[31m\\u{7f}\\u{202e}.csv name = 3\n"), "{new}");
}

/// What a fit found of pipes.
fn on_pipes(on: OnPipes) -> Written {
    let sizes =
        PipeSizes { runner_length_mm: 312.5, primary_length_mm: 644.0, flow_factor: 0.97, damping: 1.25 };
    let before = PipeSizes::of(&on);
    let point = |speed_rpm: f64| ComputedPoint {
        speed_rpm,
        volumetric_efficiency: 1.0,
        half_width: 0.05,
        changes: [0.0; PipeInput::ALL.len()],
        by_events: 0.0,
        exchange: ExchangeOnPipes::NONE,
    };
    let computed = Arc::new(Computed { on, points: vec![point(2500.0), point(7500.0)], events_deviate: 0.0 });
    Written {
        spread_percent: 1.4,
        follows: vec![Followed { key: Follow::Friction.key(), percent: vec![1.0, 2.0] }],
        pipes: Some(WrittenPipes { sizes, level_percent: -2.5, before, computed }),
        ..of_two_speeds()
    }
}

#[test]
fn pipes_keep_their_section_and_get_the_sizes_of_the_fit() {
    let start = DEMO.find("[breathing]").unwrap();
    let end = start + DEMO[start + 1..].find("\n[").unwrap() + 2;
    let rest = format!("{}{}", &DEMO[..start], &DEMO[end..]);
    for own in [
        "[breathing]\nkind = \"race\"\n[breathing.pipes]\nport_length_mm = 80   # string\nrunner_length = \"300 mm\"\n",
        "[breathing]\nkind = \"race\"\npipes = { port_length_mm = 80, damping = 2.0 }\n",
        "[breathing]\nkind = \"race\"\npipes.port_length_mm = 80\n",
        "[breathing]\nkind = \"race\"\n[breathing.pipes]\nport_length_mm = 80\nlevel_percent = 9\nspread_percent = 9\n",
    ] {
        let old = format!("{}{own}\n{}", &rest[..start], &rest[start..]);
        let before = read("old", &old).unwrap_or_else(|e| panic!("{e}\n{old}"));
        let written = on_pipes(before.pipes.unwrap().on);
        let new = fitted_text(&old, &written, "Said by a test.").unwrap();
        let on = read("new", &new).unwrap_or_else(|e| panic!("{e}\n{new}")).pipes.unwrap().on;
        assert_eq!(PipeSizes::of(&on), written.pipes.unwrap().sizes, "{new}");
        assert!((on.pipework.port_length_m - 0.08).abs() < 1e-9, "{new}");
        assert!((on.level.factor - 0.975).abs() < 1e-9, "{new}");
        assert!((on.level.half_width.unwrap() - 0.014).abs() < 1e-9, "{new}");
        assert_eq!(on.level.follows_rpm, [2500.0, 7500.0], "{new}");
        assert_eq!(on.level.follows.of(Follow::Friction), Some([0.01, 0.02].as_slice()), "{new}");
        assert!(new.contains("# Said by a test.\n# Effective lengths"), "{new}");
        assert!(!own.contains("# string") || new.contains("port_length_mm = 80   # string\n"), "{new}");
    }
}
