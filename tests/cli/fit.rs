//! `endgas dyno --fit` as its user runs it.

use crate::common::cli::{endgas, entries, quiet, refusal, refused, run, scenario};
use serde_json::Value;
use std::path::Path;

fn pull(name: &str) -> String {
    format!("{}/scenarios/pulls/{name}.csv", env!("CARGO_MANIFEST_DIR"))
}

/// Standard output of a run that writes a file, and its exit status.
fn fit(scenario_name: &str, log: &str, new: &Path, more: &[&str]) -> (String, i32) {
    let (scenario, log) = (scenario(scenario_name), pull(log));
    let output = run(&[&["dyno", &scenario, &log, "--fit", new.to_str().unwrap()], more].concat());
    (String::from_utf8(output.stdout).unwrap(), output.status.code().unwrap())
}

fn parsed(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

/// Wheel power of an estimate at a speed on its first fuel: likely, and band over likely.
fn wheel_power(estimate: &Value, speed: f64) -> Option<(f64, f64)> {
    let curve = estimate["fuels"][0]["curve"].as_array().unwrap();
    let point = curve.iter().find(|p| p["speed_rpm"] == speed)?;
    let band = &point["wheel_power_kw"];
    let number = |key: &str| band[key].as_f64().unwrap();
    Some((number("likely"), (number("high") - number("low")) / number("likely")))
}

#[test]
fn the_new_scenario_makes_the_pull_with_a_narrower_band() {
    for (name, log, day) in [
        ("street-2000", "street-2000-pull-good", ["29 C", "978 hPa", "52 %"]),
        ("circuit-2400", "circuit-2400-pull-good", ["18 C", "1006 hPa", "45 %"]),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let new = folder.path().join("new.toml");
        let (text, status) = fit(name, log, &new, &["--format", "json"]);
        assert_eq!(status, 0);
        let found = parsed(&text);
        let day = ["--air-temp", day[0], "--pressure", day[1], "--humidity", day[2], "--format", "json"];
        let old = scenario(name);
        let before = parsed(&quiet(&[["estimate", &old].as_slice(), &day].concat(), 0));
        let after = parsed(&quiet(&[["estimate", new.to_str().unwrap()].as_slice(), &day].concat(), 0));
        let mut square = (0.0, 0.0);
        for p in found["curve"].as_array().unwrap() {
            let speed = p["speed_rpm"].as_f64().unwrap();
            let Some((likely, width)) = wheel_power(&after, speed) else { continue };
            let off = likely / p["power_kw"].as_f64().unwrap() - 1.0;
            square = (square.0 + off * off, square.1 + 1.0);
            let (_, width_before) = wheel_power(&before, speed).unwrap();
            // Knock on gasoline stays as unknown as the pulls leave it.
            assert!(width < 0.7 * width_before, "{name} at {speed} rpm: {width:.3} of {width_before:.3}");
            assert!(width > 0.01, "{name} at {speed} rpm: {width:.3} is less than a dyno knows");
        }
        let rms = 100.0 * (square.0 / square.1).sqrt();
        let noise = 100.0 * found["fit"]["noise"]["row_frac"].as_f64().unwrap();
        assert!(square.1 > 8.0 && rms < noise + 1.0, "{name}: {rms:.2} % over {} speeds", square.1);
        // The same power as any dyno may read it is wider, and both are said of the fuel of the pull.
        let fuel = &found["fit"]["fuels"][0];
        let band = |key: &str| ["low", "high"].map(|end| fuel[key][end].as_f64().unwrap());
        let ([low, high], [lowest, highest]) =
            (band("after_wheel_power_kw"), band("any_dyno_wheel_power_kw"));
        // An estimate from the file makes the peak power that the fit says.
        let peak = |peak: &Value| peak["likely"].as_f64().unwrap();
        let ratio =
            peak(&after["fuels"][0]["peak_power"]["wheel_power_kw"]) / peak(&fuel["after_wheel_power_kw"]);
        assert!((ratio - 1.0).abs() < 0.005, "{ratio}");
        assert!(lowest < 0.97 * low && highest > 1.03 * high, "{fuel}");
        // Comments of the other sections stay.
        let (old, new) = (std::fs::read_to_string(old).unwrap(), std::fs::read_to_string(new).unwrap());
        for line in old.lines().filter(|l| l.contains("40 to 150") || l.contains("centre to centre")) {
            assert!(new.contains(line), "{line}");
        }
        assert!(new.contains("estimate and no calibration") && new.contains("[breathing.follows]"));
    }
}

#[test]
fn no_file_is_written_over_and_none_is_left_by_a_refusal() {
    let folder = tempfile::tempdir().unwrap();
    let new = folder.path().join("new.toml");
    std::fs::write(&new, "mine").unwrap();
    let (old, log) = (scenario("street-2000"), pull("street-2000-pull-good"));
    let kept = std::fs::read(&old).unwrap();
    for file in [new.to_str().unwrap(), &old] {
        let said = refused(&["dyno", &old, &log, "--fit", file]);
        assert!(said.contains("never written over a file"), "{said}");
    }
    assert_eq!(std::fs::read(&new).unwrap(), b"mine");
    assert_eq!(std::fs::read(&old).unwrap(), kept);
    let other = folder.path().join("other.toml");
    let same = ["dyno", &old, &log, "--fit", other.to_str().unwrap(), "--out", other.to_str().unwrap()];
    assert!(refused(&same).contains("names it too"));
    assert!(refused(&["dyno", "--format", "schema", "--fit", other.to_str().unwrap()]).contains("--fit"));
    let missing = folder.path().join("none/new.toml");
    refused(&["dyno", &old, &log, "--fit", missing.to_str().unwrap()]);
    assert_eq!(entries(folder.path()), ["new.toml"]);
}

/// However the paths are written, and for plots, which have names of their own.
#[test]
fn no_output_takes_the_place_of_another_or_of_an_input() {
    let folder = tempfile::tempdir().unwrap();
    let (old, log) = (scenario("street-2000"), pull("street-2000-pull-good"));
    std::fs::copy(old, folder.path().join("s.toml")).unwrap();
    let rows = std::fs::read(log).unwrap();
    std::fs::create_dir(folder.path().join("p")).unwrap();
    for name in ["g.csv", "p/pull.svg"] {
        std::fs::write(folder.path().join(name), &rows).unwrap();
    }
    let refused = |arguments: &[&str]| {
        let few = ["--samples", "50"].as_slice();
        let output = endgas().current_dir(folder.path()).args([arguments, few].concat()).output().unwrap();
        refusal(&output)
    };
    for outputs in [["--fit", "f.toml", "--out", "./f.toml"], ["--fit", "p/../f.toml", "--out", "f.toml"]] {
        assert!(
            refused(&[["dyno", "s.toml", "g.csv"].as_slice(), &outputs].concat()).contains("names it too")
        );
    }
    let said = refused(&["dyno", "s.toml", "g.csv", "--plot", "p", "--fit", "./p/pull.png"]);
    assert!(said.contains("a plot takes that name"), "{said}");
    let said = refused(&["dyno", "s.toml", "g.csv", "--plot", "p", "--out", "./p/pull.svg"]);
    assert!(said.contains("both write"), "{said}");
    for arguments in [
        ["dyno", "s.toml", "g.csv", "--out", "./g.csv"],
        ["dyno", "./s.toml", "g.csv", "--out", "p/../s.toml"],
        ["dyno", "s.toml", "p/pull.svg", "--plot", "./p"],
    ] {
        let said = refused(&arguments);
        assert!(said.contains("it is the scenario or a log of this run"), "{said}");
    }
    assert_eq!(entries(folder.path()), ["g.csv", "p", "s.toml"]);
    assert_eq!(entries(&folder.path().join("p")), ["pull.svg"]);
    assert!(std::fs::read(folder.path().join("g.csv")).unwrap() == rows);
    assert!(std::fs::read(folder.path().join("p/pull.svg")).unwrap() == rows);
}

/// The fit is written last: the next run would refuse to write over it.
#[cfg(target_os = "linux")]
#[test]
fn no_fit_is_left_when_the_report_cannot_be_delivered() {
    let folder = tempfile::tempdir().unwrap();
    let new = folder.path().join("new.toml");
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let output = std::process::Command::new(assert_cmd::cargo::cargo_bin!("endgas"))
        .args(["dyno", &scenario("street-2000"), &pull("street-2000-pull-good"), "--samples", "50"])
        .args(["--fit", new.to_str().unwrap()])
        .stdout(full)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8(output.stderr).unwrap().contains("cannot write to standard output"));
    assert!(entries(folder.path()).is_empty());
}

#[test]
fn a_pull_that_is_not_credible_is_fitted_only_when_told_to() {
    let folder = tempfile::tempdir().unwrap();
    let new = folder.path().join("new.toml");
    let (text, status) = fit("circuit-2400", "circuit-2400-pull-inflated", &new, &[]);
    assert_eq!(status, 1);
    assert!(
        text.contains("Not fitted: the pull is not credible by") && text.contains("reads high everywhere")
    );
    assert!(entries(folder.path()).is_empty());
    let (text, _) = fit("circuit-2400", "circuit-2400-pull-inflated", &new, &["--format", "json"]);
    let found = parsed(&text);
    assert!(found["fit"].is_null() && found["not_fitted"].as_str().unwrap().contains("--fit-anyway"));
    let (text, status) =
        fit("circuit-2400", "circuit-2400-pull-inflated", &new, &["--fit-anyway", "--show=fit"]);
    assert_eq!(status, 1);
    assert!(
        text.contains("Fitted all the same.")
            && text.contains("Moved far beyond the band")
            && !text.contains("Not fitted:")
    );
    assert_eq!(entries(folder.path()), ["new.toml"]);
    // Torque 14 % up is doubtful by its scale: refused with the finding, the cause and the option.
    let high = folder.path().join("high.csv");
    let mut log = String::new();
    for line in std::fs::read_to_string(pull("circuit-2400-pull-inflated")).unwrap().lines() {
        let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
        if cells[0].parse::<f64>().is_ok() {
            for cell in &mut cells[1..3] {
                *cell = format!("{:.2}", cell.parse::<f64>().unwrap() * 1.15 / 1.22);
            }
        }
        log += &(cells.join(",") + "\n");
    }
    std::fs::write(&high, log).unwrap();
    let refused_toml = folder.path().join("refused.toml");
    let asked =
        ["dyno", &scenario("circuit-2400"), high.to_str().unwrap(), "--fit", refused_toml.to_str().unwrap()];
    let output = run(&[&asked[..], &["--samples", "200"]].concat());
    let text = String::from_utf8(output.stdout).unwrap();
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(output.status.code(), Some(1), "{text}");
    assert!(
        words.contains("Not fitted: the scale of the pull is doubtful by") && words.contains("--fit-anyway"),
        "{text}"
    );
    assert!(!refused_toml.exists());
    // A doubtful one of another reason is fitted, and says so.
    let doubtful = folder.path().join("doubtful.toml");
    let (text, status) = fit("street-2000", "street-2000-pull-over-smoothed", &doubtful, &["--show=fit"]);
    assert_eq!(status, 0);
    assert!(text.contains("Doubtful: smoothing. Fitted all the same."));
}

/// The pulls of one file in two files are the same pulls.
#[test]
fn several_files_are_taken_together() {
    let folder = tempfile::tempdir().unwrap();
    let whole = std::fs::read_to_string(pull("street-2000-pull-good")).unwrap();
    let old = scenario("street-2000");
    let part = |name: &str, keep: &dyn Fn(&str) -> bool| {
        let path = folder.path().join(name);
        let lines = whole.lines().filter(|l| !l.starts_with(|c: char| c.is_ascii_digit()) || keep(l));
        std::fs::write(&path, lines.map(|l| format!("{l}\n")).collect::<String>()).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let (first, rest) = (part("a.csv", &|l| l.starts_with("1,")), part("b.csv", &|l| !l.starts_with("1,")));
    let new = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let read = |logs: &[&str], new: &str| {
        let arguments = [&["dyno", &old], logs, &["--fit", new, "--format", "json"]].concat();
        let output = run(&arguments);
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        parsed(&String::from_utf8(output.stdout).unwrap())
    };
    let together = read(&[&first, &rest], &new("two.toml"));
    let one = read(&[&pull("street-2000-pull-good")], &new("one.toml"));
    assert_eq!(together["pulls"].as_array().unwrap().len(), 3);
    assert_eq!(together["pulls"][1]["name"], "2: 2");
    assert_eq!(together["split_by"], "file");
    assert_eq!(together["curve"], one["curve"]);
    assert_eq!(together["fit"]["parameters"], one["fit"]["parameters"]);
    // One pull does not count as its own repeat.
    let again = new("again.csv");
    std::fs::copy(&first, &again).unwrap();
    assert!(refused(&["dyno", &old, &first, &again]).contains("pulls 1: 1 and 2: 1 are the same"));
    // What was not taken alike is not mixed.
    let crank = new("crank.csv");
    std::fs::write(&crank, whole.replace("# at: wheel", "# at: crank")).unwrap();
    assert!(refused(&["dyno", &old, &first, &crank]).contains("taken at the flywheel"));
    let bare = new("bare.csv");
    std::fs::write(&bare, whole.replace("# corrected: sae-j1349", "# corrected: none")).unwrap();
    assert!(refused(&["dyno", &old, &first, &bare]).contains("not corrected alike"));
    let cold = new("cold.csv");
    std::fs::write(
        &cold,
        whole.replace("# corrected: sae-j1349", "# corrected: none").replace(",29.0,", ",9.0,"),
    )
    .unwrap();
    assert!(refused(&["dyno", &old, &bare, &cold]).contains("differ by 20 K"));
}

/// Torque with a hole that no filling within reach makes.
#[test]
fn a_build_that_does_not_make_the_pull_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let log = folder.path().join("hole.csv");
    let rows = (25..=75).map(|i| {
        let torque = if (45..55).contains(&i) { 90.0 } else { 150.0 };
        format!("{},{torque}\n", 100 * i)
    });
    std::fs::write(
        &log,
        rows.fold("# corrected: none\nrpm,torque (Nm)\n".to_owned(), |text, row| text + &row),
    )
    .unwrap();
    let (old, log) = (scenario("street-2000"), log.to_str().unwrap());
    for (format, file) in [("text", "a.toml"), ("json", "b.toml")] {
        let new = folder.path().join(file);
        let fit = ["--fit", new.to_str().unwrap(), "--fit-anyway", "--format", format, "--samples", "50"];
        let output = run(&[&["dyno", &old, log], fit.as_slice()].concat());
        let said = String::from_utf8(output.stdout).unwrap();
        let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains("The build as fitted does not make this pull: its torque is"), "{said}");
        assert!(words.contains("Do not trust it."), "{said}");
    }
}

#[test]
fn text_of_a_fit_fits_its_width_in_both_units() {
    let folder = tempfile::tempdir().unwrap();
    for (i, units) in ["metric", "us"].into_iter().enumerate() {
        let new = folder.path().join(format!("new{i}.toml"));
        let (text, _) = fit(
            "street-2000",
            "street-2000-pull-good",
            &new,
            &["--units", units, "--fuel", "e85", "--fit-anyway", "--show=all"],
        );
        for line in text.lines() {
            assert!(line.chars().count() <= 100, "{line}");
        }
        assert!(text.contains("e85 (pulled)") && text.contains("premium-91"));
    }
    // From the folder, so that lines break alike on every machine.
    let (old, log) = (scenario("circuit-2400"), pull("circuit-2400-pull-good"));
    let arguments = ["dyno", &old, &log, "--fit", "new.toml", "--show", "fit"];
    let output = endgas().current_dir(folder.path()).args(arguments).output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    // The parts stand after the first screen, whose lines name the files of this machine.
    insta::assert_snapshot!("fit", &text[text.find("\nWhat is known before and after").unwrap()..]);
}

/// A table and a flow-bench sheet are replaced as a band is; a build that was fitted is not fitted again.
#[test]
fn every_way_of_breathing_can_be_fitted() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["big-eight-6200", "ported-four-1800", "circuit-2400"] {
        let old = scenario(name);
        let csv = quiet(&["estimate", &old, "--format", "csv", "--samples", "50"], 0);
        let mut lines = csv.lines();
        let heads: Vec<&str> = lines.next().unwrap().split(',').collect();
        let column =
            |key: &str| heads.iter().position(|h| *h == key).unwrap_or_else(|| panic!("{key}: {heads:?}"));
        let (fuel, speed, power) = (column("fuel"), column("speed_rpm"), column("wheel_power_likely_kw"));
        let rows: Vec<Vec<&str>> = lines.map(|l| l.split(',').collect()).collect();
        let first = rows[0][fuel];
        let mut log = "# at: wheel\n# corrected: none\nrpm,power (kW)\n".to_owned();
        for row in rows.iter().filter(|row| row[fuel] == first) {
            log += &format!("{},{:.3}\n", row[speed], 1.03 * row[power].parse::<f64>().unwrap());
        }
        let path = folder.path().join(format!("{name}.csv"));
        std::fs::write(&path, log).unwrap();
        let to = |round: u8| folder.path().join(format!("{name}-{round}.toml")).to_str().unwrap().to_owned();
        let (log, new) = (path.to_str().unwrap(), to(1));
        let output = run(&["dyno", &old, log, "--fit", &new, "--format", "json", "--samples", "50"]);
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        let found = parsed(&String::from_utf8(output.stdout).unwrap());
        let after = found["fit"]["after"]["rms_frac"].as_f64().unwrap();
        assert!(after < 0.01, "{name}: {after}");
        assert!(!found["fit"]["notes"].to_string().contains("does not make this pull"), "{name}");
        // The pull would count twice.
        let said = refused(&["dyno", &new, log, "--fit", &to(2), "--samples", "50"]);
        assert!(said.contains("[breathing.follows]") && said.contains("original scenario"), "{said}");
        assert!(!Path::new(&to(2)).exists());
        // A limit of the parts may be passed; mistakes there are none.
        assert_ne!(run(&["estimate", &new, "--samples", "50"]).status.code(), Some(2), "{name}");
    }
}

/// On pipes the first screen says what became of each size, in the units asked for, and the file holds it.
#[test]
fn a_fit_on_pipes_says_which_sizes_moved() {
    let folder = tempfile::tempdir().unwrap();
    let (old, new) = (folder.path().join("old.toml"), folder.path().join("new.toml"));
    let text = std::fs::read_to_string(scenario("street-2000")).unwrap();
    let peak = text.lines().find(|line| line.starts_with("peak_power_rpm")).unwrap();
    std::fs::write(&old, text.replace(peak, "[breathing.pipes]\nrunner_length_mm = 480")).unwrap();
    let [old, new] = [&old, &new].map(|path| path.to_str().unwrap());
    let arguments = ["dyno", old, &pull("street-2000-pull-good"), "--fit", new, "--fit-anyway"];
    let output = run(&[&arguments[..], &["--units", "us", "--samples", "50", "--show=fit"]].concat());
    let said = String::from_utf8(output.stdout).unwrap();
    let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
    for what in
        ["- effective runner length ", "- effective primary length ", "- valve flow ", "- wave damping "]
    {
        assert!(words.contains(what), "{what}\n{said}");
    }
    assert!(
        words.contains("against these pipes, +/-") && words.contains("[breathing.pipes.follows]"),
        "{said}"
    );
    assert!(!words.contains(" mm"), "{said}");
    assert!(said.lines().all(|line| line.chars().count() <= 100), "{said}");
    let written = std::fs::read_to_string(new).unwrap();
    for key in ["runner_length_mm", "primary_length_mm", "flow_factor", "damping", "level_percent"] {
        assert!(written.contains(&format!("\n{key} = ")), "{key}\n{written}");
    }
}
