//! What only shows once a scenario is run is told with file, line, key and value, by every command.

use crate::common::cli::{changed_demo, refused, scenario};
use std::path::Path;

/// A component without end in octane, and one that burns without air.
const COMPONENT: &str = r#"kind = "component"
name = "NAME"
title = "Invented test component"
composition = { carbon = 2.0, hydrogen = 6.0, oxygen = OXYGEN, source = "invented" }
density = { kg_per_m3_at_15c = 700, expansion_per_k = 0.001, source = "invented" }
heat = { lhv_liquid_mj_per_kg = 20, vaporisation_kj_per_kg = 400, source = "invented" }
octane = { ron = RON, mon = RON, source = "invented" }
vapour = { surrogate = { n-heptane = 1.0 }, source = "invented" }
"#;

/// `file:line: ` of the line that begins with a key.
fn place(file: &Path, key: &str) -> String {
    let text = std::fs::read_to_string(file).unwrap();
    let line = text.lines().position(|line| line.starts_with(key)).unwrap() + 1;
    format!("{}:{line}: ", file.display())
}

#[test]
fn rpm_at_which_the_engine_hardly_runs_is_told_by_every_command() {
    let folder = tempfile::tempdir().unwrap();
    let file = changed_demo(folder.path(), "to_rpm = 7500     #", "to_rpm = 15000 #");
    let (path, wanted) =
        (file.to_str().unwrap(), format!("{}speed.to_rpm = 15000: ", place(&file, "to_rpm = 15000")));
    let few: &[&str] = &["--samples", "50"];
    for (command, options) in [
        ("estimate", few),
        ("choose", few),
        ("report", few),
        ("goal", &["--samples", "50", "--wheel-power", "100 kW"]),
        ("fueling", &[]),
        ("volumes", &[]),
    ] {
        let said = refused(&[&[command, path][..], options].concat());
        assert!(said.starts_with(&format!("error: {wanted}")), "{command}: {said}");
        assert!(said.contains("hardly any torque") && said.contains("0.5 or more is needed"), "{said}");
    }
    let said = refused(&["estimate", &scenario("circuit-2400"), path, "--samples", "50"]);
    assert!(said.starts_with(&format!("error: {wanted}")), "the second of two builds: {said}");
    assert!(refused(&["live", path, "--no-open"]).contains(path));
}

#[test]
fn a_known_point_outside_the_model_is_told_by_its_line() {
    let folder = tempfile::tempdir().unwrap();
    let known =
        "[[knock.known]]\nfuel = \"e85\"\nrpm = 14000\ntiming_deg_btdc = 20\nheard = \"knock\"\n\n[speed]\n";
    let file = changed_demo(folder.path(), "[speed]\n", known);
    let said = refused(&["estimate", file.to_str().unwrap()]);
    let wanted = format!("error: {}knock.known: e85 at 14000 rpm", place(&file, "[[knock.known]]"));
    assert!(said.starts_with(&wanted), "{said}");
}

#[test]
fn a_fuel_outside_the_model_is_told_where_it_is_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let fuels = folder.path().join("fuels");
    std::fs::create_dir(&fuels).unwrap();
    for (name, oxygen, ron) in [("weak", "0.0", "10"), ("airless", "10.0", "95")] {
        let text = COMPONENT.replace("NAME", name).replace("OXYGEN", oxygen).replace("RON", ron);
        std::fs::write(fuels.join(format!("{name}.toml")), text).unwrap();
    }
    let own = ["--fuel-folder", fuels.to_str().unwrap()];
    for (name, why) in [("weak", "octane index 10 lies outside 60 to 130"), ("airless", "air per fuel")] {
        let file = changed_demo(
            folder.path(),
            r#"run = ["premium-91""#,
            &format!("run = [\"{name}\", \"premium-91\""),
        );
        let said = refused(&[&["estimate", file.to_str().unwrap(), "--samples", "50"][..], &own].concat());
        assert!(said.contains(&format!("{}fuels.run = \"{name}\": ", place(&file, "run = ["))), "{said}");
        assert!(said.contains(why), "{said}");
        let said = refused(&[&["estimate", "--samples", "50", "--fuel", name][..], &own].concat());
        assert!(said.contains(&format!("--fuel = \"{name}\": ")) && said.contains(why), "{said}");
    }
}

#[test]
fn what_a_choice_cannot_do_is_told_by_key_or_option() {
    let folder = tempfile::tempdir().unwrap();
    let changed = |from: &str, to: &str| changed_demo(folder.path(), from, to);
    let file = changed("from_rpm = 4000      #", "from_rpm = 7600 #");
    let text = std::fs::read_to_string(&file).unwrap().replace("to_rpm = 7500        #", "to_rpm = 7700 #");
    std::fs::write(&file, text).unwrap();
    let said = refused(&["choose", file.to_str().unwrap(), "--samples", "50"]);
    let wanted = format!("{}choose.from_rpm = 7600: no rpm of the run", place(&file, "from_rpm = 7600"));
    assert!(said.contains(&wanted), "{said}");

    let file = changed("heat_soak_c = 0.0 ", "heat_soak_c = 40 ");
    let said = refused(&["choose", file.to_str().unwrap(), "--samples", "50", "--air-temp", "45 C"]);
    let wanted = format!("{}choose.service.heat_soak_c = 40: ", place(&file, "heat_soak_c"));
    assert!(said.contains(&wanted), "{said}");

    let asked =
        ["choose", file.to_str().unwrap(), "--samples", "50", "--air-temp", "10 C", "--ratios", "8-9"];
    let said = refused(&asked);
    assert!(said.contains(&format!("{}choose.pistons = [10.5, ", place(&file, "pistons"))), "{said}");
    let said = refused(&[&asked[..], &["--piston", "12"]].concat());
    assert!(said.starts_with("error: --piston: the piston of 12"), "{said}");
}
