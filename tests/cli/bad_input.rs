//! The command line from outside: input that cannot be used is told in full, and nothing is written.

use crate::common::cli::{OWN_FUEL, changed_demo, entries, refusal, refused, run, scenario};

#[test]
fn nothing_asked_is_bad_input() {
    let output = run(&[]);
    assert_eq!(output.status.code(), Some(2));
    assert!(output.stdout.is_empty());
    assert!(String::from_utf8(output.stderr).unwrap().contains("Usage: endgas <COMMAND>"));
}

#[test]
fn unknown_fuels_of_the_options_are_all_reported_with_near_names() {
    let said = refused(&["estimate", "--fuel", "premium91", "--fuel", "zzzz", "--fuel", "e85"]);
    assert!(said.starts_with("error: 2 problems with the fuels\n"), "{said}");
    assert!(said.contains("--fuel = \"premium91\": no fuel is called 'premium91'; did you mean premium-91"));
    assert!(said.contains("--fuel = \"zzzz\": no fuel is called 'zzzz'\n  hint: pump fuels are e10, "));
    assert!(!said.contains("= \"e85\""), "{said}");
}

#[test]
fn an_unknown_fuel_of_a_scenario_is_reported_with_file_line_and_key() {
    let folder = tempfile::tempdir().unwrap();
    let path = changed_demo(folder.path(), r#""premium-93""#, r#""premium-39""#);
    let text = std::fs::read_to_string(&path).unwrap();
    let line = text.lines().position(|line| line.starts_with("run =")).unwrap() + 1;
    let said = refused(&["estimate", path.to_str().unwrap()]);
    let wanted = format!("{}:{line}: fuels.run = \"premium-39\": no fuel is called", path.display());
    assert!(said.contains(&wanted), "{said}");
    assert!(said.contains("did you mean premium-93"), "{said}");
}

#[test]
fn text_that_is_not_utf8_is_told_by_line_and_byte() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("build.toml");
    std::fs::write(&path, b"# fine\nname = \"Caf\xe9\"\n").unwrap();
    let said = refused(&["estimate", path.to_str().unwrap()]);
    let wanted = format!("{}: line 2: byte 0xE9 is not UTF-8; save the file as UTF-8", path.display());
    assert!(said.contains(&wanted), "{said}");
    std::fs::write(folder.path().join("own.toml"), b"\xff").unwrap();
    let said = refused(&["fuel", "e85", "--fuel-folder", folder.path().to_str().unwrap()]);
    assert!(said.contains("line "), "{said}");
}

#[test]
fn a_read_only_file_is_not_replaced() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("out.txt");
    std::fs::write(&path, "old").unwrap();
    let mut permissions = std::fs::metadata(&path).unwrap().permissions();
    permissions.set_readonly(true);
    std::fs::set_permissions(&path, permissions).unwrap();
    let said = refused(&["estimate", "--out", path.to_str().unwrap()]);
    assert!(said.contains("it is read-only"), "{said}");
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "old");
}

#[test]
fn fuels_that_make_no_sense_are_refused() {
    for (fuel, why) in [
        ("water", "heating value"),
        ("e85 60 % + e10 20 %", "adds to 80 %"),
        ("e85 + e10", "cannot read 'e85'"),
        (" ", "printable text"),
        ("e85\u{1b}", "printable text"),
    ] {
        let said = refused(&["estimate", "--fuel", fuel]);
        assert!(said.contains(why), "{fuel}: {said}");
    }
    let said = refused(&["estimate", "--fuel", "e85", "--fuel", "E85"]);
    assert!(said.contains("--fuel = \"E85\": fuel 'e85' is already in the list"), "{said}");
    let many = ["--fuel", "e85"].repeat(13);
    let said = refused(&[&["estimate"], many.as_slice()].concat());
    assert!(said.contains("13 times; at most 12"), "{said}");
}

#[test]
fn files_that_are_no_scenario_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    std::fs::write(path("image.toml"), b"\x89PNG\r\n\xff\xfe").unwrap();
    std::fs::write(path("prose.toml"), "Our engine makes 400 hp.\n").unwrap();
    std::fs::write(path("huge.toml"), "#".repeat(2 << 20)).unwrap();
    std::fs::write(path("empty.toml"), "").unwrap();
    for (name, why) in [
        ("missing.toml", "cannot read"),
        ("image.toml", "UTF-8"),
        ("prose.toml", "not valid TOML"),
        ("huge.toml", "larger than 1024 KiB"),
        ("empty.toml", "section [engine] is missing"),
        ("", "cannot read"),
    ] {
        let said = refused(&["estimate", &path(name)]);
        assert!(said.contains(why) && said.contains(&path(name)), "{name}: {said}");
    }
}

#[test]
fn every_problem_of_a_scenario_is_reported_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let (out, plots) = (folder.path().join("out.txt"), folder.path().join("plots"));
    let bad = format!("{}/tests/bad/many_mistakes.toml", env!("CARGO_MANIFEST_DIR"));
    let said =
        refused(&["estimate", &bad, "--out", out.to_str().unwrap(), "--plot", plots.to_str().unwrap()]);
    assert!(said.starts_with(&format!("error: 12 problems in {bad}\n")), "{said}");
    let problems = endgas::scenario::read(&bad, &std::fs::read_to_string(&bad).unwrap()).unwrap_err();
    assert!(said.ends_with(&format!("{problems}\n")), "{said}");
    assert_eq!(problems.0.len(), 12);
    assert_eq!(entries(folder.path()), [""; 0]);
}

#[test]
fn numbers_out_of_range_are_refused() {
    for (option, value) in [
        ("--samples", "49"),
        ("--samples", "20001"),
        ("--samples", "-1"),
        ("--samples", "many"),
        ("--samples", "99999999999999999999"),
        ("--seed", "-1"),
        ("--seed", "0.5"),
        ("--air-temp", "35"),
        ("--air-temp", "400 K"),
        ("--air-temp", "-40 C"),
        ("--pressure", "20 psi"),
        ("--pressure", "1013 kPa"),
        ("--humidity", "101 %"),
        ("--altitude", "9000 m"),
        ("--units", "imperial"),
        ("--format", "xml"),
    ] {
        let said = refused(&["estimate", &format!("{option}={value}")]);
        assert!(said.contains(option) && said.contains(value), "{said}");
    }
}

#[test]
fn pressure_and_altitude_are_one_thing() {
    let said = refused(&["estimate", "--pressure", "98 kPa", "--altitude", "300 m"]);
    assert!(said.contains("--pressure") && said.contains("--altitude"), "{said}");
}

#[test]
fn targets_that_cannot_be_written_are_refused_before_anything_is() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    std::fs::write(path("file"), "old").unwrap();
    for (out, plot, why) in [
        (path(""), path("plots"), "not a regular file"),
        (path("none/out.txt"), path("plots"), "cannot write"),
        (path("out.txt"), path("file"), "not a folder"),
        (path("same"), path("same"), "choose another name"),
        (path("plots/spark.svg"), path("plots"), "choose another name"),
    ] {
        let said = refused(&["estimate", "--samples", "50", "--out", &out, "--plot", &plot]);
        assert!(said.contains(why), "{said}");
        assert_eq!(entries(folder.path()), ["file"], "{out} {plot}");
    }
    assert_eq!(std::fs::read_to_string(path("file")).unwrap(), "old");
}

#[test]
fn a_folder_of_fuels_that_is_wrong_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().to_str().unwrap();
    std::fs::write(folder.path().join("own.toml"), OWN_FUEL.replace("NAME", "e85")).unwrap();
    let said = refused(&["estimate", "--fuel-folder", own]);
    assert!(said.contains("own.toml") && said.contains("the name 'e85' is that of a shipped fuel"), "{said}");

    std::fs::write(folder.path().join("own.toml"), "kind = 3").unwrap();
    assert!(refused(&["estimate", "--fuel-folder", own]).contains("own.toml"));
    let said = refused(&["estimate", "--fuel-folder", "missing-folder"]);
    assert!(said.contains("cannot read missing-folder"), "{said}");
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_not_taken_for_success() {
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let output = std::process::Command::new(assert_cmd::cargo::cargo_bin!("endgas"))
        .args(["estimate", "--format", "schema"])
        .stdout(full)
        .output()
        .unwrap();
    assert!(refusal(&output).contains("cannot write to standard output"));
}

/// A closed standard output, and one that is open for reading alone, would lose the answer; a discarded one is meant.
#[cfg(unix)]
#[test]
fn a_closed_standard_output_is_not_taken_for_success() {
    let shell = |redirection: &str, arguments: &str| {
        let script = format!("exec \"$0\" {arguments} {redirection}");
        let program = assert_cmd::cargo::cargo_bin!("endgas");
        std::process::Command::new("sh").args(["-c", &script]).arg(program).output().unwrap()
    };
    for redirection in [">&-", "1</dev/null"] {
        for arguments in
            ["estimate --samples 50", "estimate --format schema", "report --samples 50", "--version"]
        {
            let said = refusal(&shell(redirection, arguments));
            assert!(said.contains("cannot write to standard output: it is closed"), "{arguments}: {said}");
        }
    }
    let folder = tempfile::tempdir().unwrap();
    let out = format!("estimate --samples 50 --out {}", folder.path().join("out.txt").display());
    for (redirection, arguments) in
        [(">/dev/null", "--version"), ("1<>/dev/null", "--version"), (">&-", &out)]
    {
        assert_eq!(shell(redirection, arguments).status.code(), Some(0), "{redirection}");
    }
    assert_eq!(entries(folder.path()), ["out.txt"]);
}

/// No command writes over a file that it reads, however the two are written.
#[test]
fn an_output_never_takes_the_place_of_an_input() {
    let folder = tempfile::tempdir().unwrap();
    let demo = std::fs::read_to_string(scenario("circuit-2400")).unwrap();
    let path = folder.path().join("build.toml");
    std::fs::write(&path, &demo).unwrap();
    std::fs::create_dir(folder.path().join("in")).unwrap();
    let (path, again) = (path.to_str().unwrap(), folder.path().join("in/../build.toml"));
    for command in ["estimate", "choose", "spark", "volumes", "fueling", "breathing", "report", "goal"] {
        let mut arguments = vec![command, path, "--out", again.to_str().unwrap()];
        if command == "goal" {
            arguments.extend(["--wheel-power", "150 kW"]);
        }
        let said = refused(&arguments);
        assert!(said.contains("it is the scenario or a log of this run"), "{command}: {said}");
        assert_eq!(std::fs::read_to_string(path).unwrap(), demo, "{command}");
    }
}
