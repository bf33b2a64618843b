//! Fuels by name, by recipe and from a folder of the user.

use super::rows::LIBRARY;
use endgas::fuel::tank::{Fill, mix, volume_to_add_m3};
use endgas::fuel::{FuelError, FuelLibrary};
use std::path::Path;

fn refusal(spec: &str) -> String {
    LIBRARY.resolve(spec).unwrap_err().to_string()
}

#[test]
fn every_shipped_fuel_makes_a_blend_over_its_whole_range() {
    let names = LIBRARY.names();
    assert_eq!(names.len(), 13);
    for name in names {
        let fuel = LIBRARY.resolve(name).unwrap();
        for content in [fuel.ethanol.low, fuel.ethanol.likely, fuel.ethanol.high] {
            let blend = fuel.blend_at(content).unwrap();
            assert!((blend.ethanol_vol_frac - content).abs() < 1e-12, "{name}");
            assert!(blend.parts.iter().all(|p| p.vol_frac > 0.0), "{name}");
        }
        assert!(!fuel.sources.is_empty());
    }
    let none = LIBRARY.resolve("base-regular").unwrap().blend().unwrap().ethanol_vol_frac;
    assert_eq!(format!("{none:.1}"), "0.0");
}

#[test]
fn e85_knows_its_range() {
    let e85 = LIBRARY.resolve("e85").unwrap();
    assert_eq!((e85.ethanol.low, e85.ethanol.likely, e85.ethanol.high), (0.51, 0.74, 0.83));
    assert!(!e85.ethanol.is_known() && LIBRARY.resolve("premium-91").unwrap().ethanol.is_known());
    assert!(e85.blend_at(1.01).is_err() && e85.blend_at(f64::NAN).is_err());
    let refused = LIBRARY.resolve("e100").unwrap().blend_at(0.9).unwrap_err().to_string();
    assert_eq!(refused, "fuel 'e100': ethanol content 0.9 by volume is not possible; allowed are 1 to 1");
}

/// HAND: 70 % of 10 plus 30 % of 51, 74, 83.
#[test]
fn a_recipe_mixes_contents_and_bases() {
    for spec in ["premium-91 70 % + e85 30 %", "70% premium-91+30% E85", " 70 %premium-91 +e85  30% "] {
        let tank = LIBRARY.resolve(spec).unwrap();
        assert_eq!(tank.name, "premium-91 70 % + e85 30 %");
        for (found, hand) in
            [(tank.ethanol.low, 0.223), (tank.ethanol.likely, 0.292), (tank.ethanol.high, 0.319)]
        {
            assert!((found - hand).abs() < 1e-12, "{spec}: {found} against {hand}");
        }
        // 63 % premium base against 7.8 % E85 base, half of it natural gasoline.
        let share = |name: &str| tank.base.iter().find(|s| s.component.name == name).unwrap().vol_frac;
        assert!((share("base-premium-91") - 0.63 / 0.708).abs() < 1e-12);
        assert!((share("natural-gasoline") - 0.039 / 0.708).abs() < 1e-12);
        assert_eq!(tank.base.len(), 3);
    }
}

/// Filling the computed volume gives the wanted content, and the same fuel as the recipe.
#[test]
fn a_tank_comes_to_the_wanted_content() {
    let fuel = |name: &str| LIBRARY.resolve(name).unwrap();
    let added = volume_to_add_m3(0.020, 0.10, 0.74, 0.30).unwrap();
    let fill = |name: &str, volume_m3| Fill { fuel: fuel(name), volume_m3 };
    let tank = mix("tank", &[fill("premium-91", 0.020), fill("e85", added)]).unwrap();
    assert!((tank.ethanol.likely - 0.30).abs() < 1e-12);
    let recipe = fuel("premium-91 68.75 % + e85 31.25 %").blend().unwrap();
    assert!((tank.blend().unwrap().octane.ron - recipe.octane.ron).abs() < 1e-9);

    assert_eq!(volume_to_add_m3(0.020, 0.10, 0.74, 0.10).unwrap(), 0.0);
    // A content that is the wanted one but for rounding needs nothing.
    assert_eq!(volume_to_add_m3(0.020, 0.739_999_999_999_999_9, 0.74, 0.74).unwrap(), 0.0);
    for (wanted, volume) in [(0.80, 0.02), (0.05, 0.02), (0.74, 0.02), (f64::NAN, 0.02), (0.3, f64::NAN)] {
        assert!(volume_to_add_m3(volume, 0.10, 0.74, wanted).is_err(), "{wanted}");
    }
    assert!(matches!(mix("tank", &[]), Err(FuelError::Empty { .. })));
    assert!(matches!(mix("tank", &[fill("e85", 0.0)]), Err(FuelError::Empty { .. })));
    assert!(matches!(mix("tank", &[fill("e85", -1.0)]), Err(FuelError::Share { .. })));
}

/// HAND: straight from 0.87 to 0.86 at 85 %, constant above.
#[test]
fn best_power_mixture_follows_the_content() {
    for (name, lambda) in
        [("base-regular", 0.87), ("premium-91", 0.868_824), ("e85", 0.861_294), ("e100", 0.86)]
    {
        let found = LIBRARY.resolve(name).unwrap().best_power_lambda;
        assert!((found - lambda).abs() < 1e-6, "{name}: {found}");
    }
}

#[test]
fn wrong_specs_are_refused_with_help() {
    assert_eq!(
        refusal("premum-91"),
        "no fuel is called 'premum-91'; did you mean premium-91 or premium-93 or base-premium-91?"
    );
    assert_eq!(refusal("xyzzy"), "no fuel is called 'xyzzy'");
    assert_eq!(
        refusal("premium-91 70 % + e85"),
        "cannot read 'e85' in the fuel recipe 'premium-91 70 % + e85': write it as 'premium-91 70 % + e85 30 %'"
    );
    assert_eq!(
        refusal("premium-91 60 % + e85 30 %"),
        "the fuel recipe 'premium-91 60 % + e85 30 %' adds to 90 % instead of 100 %"
    );
    assert!(refusal("premium-91 70 % + e58 30 %").contains("no fuel is called 'e58'"));
    for bad in
        ["", "+", "%", "50 % + 50 %", "e85 -10 % + e10 110 %", "e85 nan %", "e85 1e9 %", "e85e10 50 50 %"]
    {
        assert!(LIBRARY.resolve(bad).is_err(), "'{bad}' was accepted");
    }
    // Within a tenth of a percent is rounding.
    assert!(LIBRARY.resolve("premium-91 66.7 % + e85 33.3 %").is_ok());
    assert!(LIBRARY.resolve("premium-91 66.6 % + e85 33.3 %").is_ok());
    assert!(LIBRARY.resolve("premium-91 66.5 % + e85 33.3 %").is_err());
}

const RACE: &str = r#"
kind = "component"
name = "race-base"
title = "Race base"
[composition]
molar_mass_g_per_mol = 95.0
hydrogen_to_carbon = 1.9
source = "invented for a test"
[density]
kg_per_m3_at_15c = 735.0
expansion_per_k = 1.2e-3
source = "invented for a test"
[heat]
lhv_liquid_mj_per_kg = 43.3
vaporisation_kj_per_kg = 350.0
source = "invented for a test"
[octane]
ron = 110.0
mon = 100.0
source = "invented for a test"
[vapour]
surrogate = { isooctane = 0.7, toluene = 0.3 }
source = "invented for a test"
"#;

const RACE_PUMP: &str = r#"
kind = "pump"
name = "a-race-fuel"
title = "Race fuel"
best_power_lambda = 0.88
[base]
parts = { race-base = 1.0 }
source = "invented for a test"
[ethanol]
low_vol_percent = 5
likely_vol_percent = 8
high_vol_percent = 10
source = "invented for a test"
"#;

fn with_files(files: &[(&str, &str)]) -> Result<FuelLibrary, String> {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    FuelLibrary::shipped().unwrap().with_user_folder(folder.path()).map_err(|e| e.to_string())
}

#[test]
fn a_user_folder_adds_fuels_whatever_the_order_of_its_files() {
    let library =
        with_files(&[("a.toml", RACE_PUMP), ("b.toml", RACE), ("notes.txt", "not a fuel")]).unwrap();
    let fuel = library.resolve("a-race-fuel").unwrap();
    assert_eq!((fuel.best_power_lambda, fuel.ethanol.likely), (0.88, 0.08));
    assert!(fuel.blend().unwrap().octane.ron > 109.0);
    assert!(library.resolve("a-race-fuel 50 % + e85 50 %").is_ok());
    assert!(LIBRARY.resolve("a-race-fuel").is_err());
}

#[test]
fn a_folder_that_is_not_there_is_named() {
    let error = FuelLibrary::shipped().unwrap().with_user_folder(Path::new("no/such/folder")).unwrap_err();
    assert!(error.to_string().starts_with("cannot read no/such/folder: "), "{error}");
}

#[test]
fn a_shipped_name_is_not_replaced() {
    let text = RACE.replace("race-base", "base-regular");
    let error = with_files(&[("mine.toml", &text)]).unwrap_err();
    assert!(
        error.contains("mine.toml:") && error.ends_with("the name 'base-regular' is taken; choose another"),
        "{error}"
    );
}

/// A shipped pump fuel is replaced where its file says so, once, and by its own name.
#[test]
fn a_shipped_pump_fuel_is_replaced_only_when_asked() {
    let file = |name: &str, head: &str| {
        let text = RACE_PUMP.replace("a-race-fuel", name).replace("race-base", "base-regular");
        text.replace("best_power_lambda", &format!("{head}\nbest_power_lambda"))
    };
    let refused = |files: &[(&str, &str)]| with_files(files).unwrap_err();
    let error = refused(&[("a.toml", &file("premium-91", ""))]);
    assert!(error.contains("write replaces = \"premium-91\" to replace it"), "{error}");

    let asked = file("premium-91", "replaces = \"premium-91\"");
    let library = with_files(&[("a.toml", &asked)]).unwrap();
    assert_eq!(library.resolve("premium-91").unwrap().title, "Race fuel");
    assert_eq!(library.names(), LIBRARY.names());

    let error = refused(&[("a.toml", &asked), ("b.toml", &asked)]);
    assert!(error.contains("b.toml:") && error.contains("the name 'premium-91' is taken"), "{error}");
    let error = refused(&[("a.toml", &file("mine", "replaces = \"premium-91\""))]);
    assert!(error.contains("must be the name of the fuel itself, 'mine'"), "{error}");
    let error = refused(&[("a.toml", &file("mine", "replaces = \"mine\""))]);
    assert!(error.contains("replaces = \"mine\": no pump fuel has that name"), "{error}");
    let component = RACE.replace("title =", "replaces = \"base-regular\"\ntitle =");
    assert!(refused(&[("a.toml", &component)]).contains("replaces = \"base-regular\": there is no such key"));
}

/// The example that a user copies is read, and says that it is invented.
#[test]
fn the_example_files_make_a_fuel() {
    let library = FuelLibrary::shipped().unwrap().with_user_folder(Path::new("fuels/examples")).unwrap();
    let fuel = library.resolve("race-gasoline").unwrap();
    assert!(fuel.title.contains("Invented") && fuel.best_power_lambda == 0.88);
    assert!(fuel.blend().unwrap().octane.ron > 104.0);
}

#[test]
fn every_problem_of_a_file_is_reported_with_key_value_and_range() {
    let text = RACE
        .replace("735.0", "0.735")
        .replace("ron = 110.0", "ron = 1100.0")
        .replace("toluene = 0.3", "toluen = 0.2");
    let error = with_files(&[("mine.toml", &text)]).unwrap_err();
    for expected in [
        "density.kg_per_m3_at_15c = 0.735 is not allowed; it takes a number from 500 to 1500 kg/m3",
        "octane.ron = 1100.0 is not allowed; it takes a number from 0 to 140",
        "[vapour.surrogate]: the shares add to 0.9 instead of 1",
        "vapour.surrogate.toluen = 0.2: no component is called 'toluen'\n  hint: did you mean toluene?",
    ] {
        assert!(error.contains(expected), "{expected} is not in {error}");
    }
}

#[test]
fn wrong_files_are_refused() {
    let swap = |from: &str, to: &str| RACE.replace(from, to);
    let pump = |from: &str, to: &str| RACE_PUMP.replace("race-base", "base-regular").replace(from, to);
    for (text, expected) in [
        (
            swap("kg_per_m3_at_15c", "kg_per_l_at_15c"),
            "density.kg_per_l_at_15c = 735.0: there is no such key; did you mean kg_per_m3_at_15c?",
        ),
        (
            swap("kind = \"component\"", "kind = \"thing\""),
            "kind = \"thing\" is not one of \"component\", \"pump\"",
        ),
        (swap("hydrogen_to_carbon = 1.9", "carbon = 7.0"), "is given too; keep one of the two"),
        (
            swap("[octane]\nron = 110.0\nmon = 100.0\nsource = \"invented for a test\"\n", ""),
            "octane is missing; it takes a section with ron and mon, for there is carbon in it",
        ),
        (
            swap("\"race-base\"", "\"Race Base\""),
            "name = \"Race Base\" is not allowed; it takes a name of lower-case letters",
        ),
        (swap("735.0", "nan"), "kg_per_m3_at_15c = nan is not a finite number"),
        (pump("low_vol_percent = 5", "low_vol_percent = 9"), "not in rising order"),
        (
            pump("high_vol_percent = 10", "high_vol_percent = 110"),
            "high_vol_percent = 110 is not allowed; it takes a number from 0 to 100 %",
        ),
        (pump("base-regular = 1.0", "base-regular = 0.5, ethanol = 0.5"), "state it under [ethanol]"),
        (
            pump("best_power_lambda = 0.88", "best_power_lambda = 13.0"),
            "best_power_lambda = 13.0 is not allowed; it takes a number from 0.7 to 1",
        ),
        (
            pump("[base]\nparts = { base-regular = 1.0 }\nsource = \"invented for a test\"\n", ""),
            "without [base] it is all ethanol",
        ),
    ] {
        let error = with_files(&[("mine.toml", &text)]).err().unwrap_or_else(|| panic!("accepted: {text}"));
        assert!(error.contains("mine.toml") && error.contains(expected), "{expected} is not in {error}");
    }
}
