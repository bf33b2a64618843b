//! Bad fuel files: each file of `tests/bad_fuels` holds one mistake (one holds many); the messages are kept as
//! snapshots. Scenarios and fuel files have one reader, see `bad.rs`.

use endgas::fuel::{FuelError, FuelLibrary};
use endgas::scenario::{Diagnostics, ProblemKind};

fn problems(name: &str, text: &str) -> Diagnostics {
    let library = FuelLibrary::shipped().unwrap();
    match library.with_files([(name.to_owned(), text.to_owned())]) {
        Err(FuelError::Files { problems }) => problems,
        other => panic!("{name}: {other:?}"),
    }
}

#[test]
fn messages_of_every_bad_fuel() {
    insta::glob!("..", "bad_fuels/*.toml", |path| {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let text = std::fs::read_to_string(path).unwrap();
        let problems = problems(&name, &text);
        let is_single = problems.0.len() == 1;
        assert!(is_single || name.starts_with("many"), "{name}: {problems}");
        insta::with_settings!({ description => text.lines().next().unwrap().to_owned(), omit_expression => true }, {
            insta::assert_snapshot!(problems);
        });
    });
}

#[test]
fn a_long_line_is_quoted_around_its_mistake() {
    let text = format!("kind = \"component\"\ntitle = {}]{}\n", "[1, ".repeat(200), " 2".repeat(200));
    for problem in problems("long.toml", &text).0 {
        assert!(matches!(problem.kind, ProblemKind::Syntax { .. }));
        let found = problem.found.unwrap();
        assert!(found.chars().count() <= 70 && (problem.column < 70 || found.starts_with("...")), "{found}");
    }
}

/// All files of a folder are told at once, but those that rest on a wrong one.
#[test]
fn every_wrong_file_is_told() {
    let read = |name: &str| {
        let path = format!("{}/tests/bad_fuels/{name}.toml", env!("CARGO_MANIFEST_DIR"));
        (format!("{name}.toml"), std::fs::read_to_string(path).unwrap())
    };
    let files = [read("unknown_key"), read("pump_content_too_high"), read("octane_not_finite")];
    let error = FuelLibrary::shipped().unwrap().with_files(files).unwrap_err().to_string();
    assert!(
        error.contains("\nunknown_key.toml:13: ") && error.contains("\noctane_not_finite.toml:22: "),
        "{error}"
    );
    assert!(!error.contains("pump_content_too_high.toml"), "{error}");
}
