//! Whatever is put in: no panic, finite numbers from what is taken, words that can be printed for what is refused, and
//! never half a file. The laws stand in `fuzz/checks/`; `PROPTEST_CASES` makes each property run so many cases.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod change;
#[path = "../fuzz/checks/mod.rs"]
mod checks;
#[path = "../common/mod.rs"]
mod common;

use change::{change, changed};
use common::cases::cases;
use common::cli::{endgas, entries};
use proptest::prelude::*;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

/// Contents of every file below some folders of the repository, in the order of their names.
fn files(folders: &[&str]) -> Vec<Vec<u8>> {
    let mut paths: Vec<PathBuf> = Vec::new();
    for folder in folders {
        let entries = std::fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(folder)).unwrap();
        paths.extend(entries.map(|entry| entry.unwrap().path()).filter(|path| path.is_file()));
    }
    paths.sort();
    paths.iter().map(|path| std::fs::read(path).unwrap()).collect()
}

static SCENARIOS: LazyLock<Vec<Vec<u8>>> =
    LazyLock::new(|| files(&["scenarios", "tests/bad", "tests/fuzz/seeds/scenario"]));
static FUELS: LazyLock<Vec<Vec<u8>>> = LazyLock::new(|| {
    files(&[
        "fuels/components",
        "fuels/pump",
        "fuels/examples",
        "tests/bad_fuels",
        "tests/fuzz/seeds/fuel_file",
    ])
});
static PULLS: LazyLock<Vec<Vec<u8>>> =
    LazyLock::new(|| files(&["scenarios/pulls", "tests/bad_pulls", "tests/fuzz/seeds/pull"]));
static WORDS: LazyLock<Vec<Vec<u8>>> = LazyLock::new(|| files(&["tests/fuzz/seeds/words"]));
static REQUESTS: LazyLock<Vec<Vec<u8>>> = LazyLock::new(|| files(&["tests/fuzz/seeds/request"]));
static SETTINGS: LazyLock<Vec<Vec<u8>>> = LazyLock::new(|| files(&["tests/fuzz/seeds/setting"]));

/// Inputs of what the commands make of a scenario: parts of one.
static CHOOSE: LazyLock<Vec<Vec<u8>>> = LazyLock::new(|| files(&["tests/fuzz/seeds/choose"]));
static GOAL: LazyLock<Vec<Vec<u8>>> = LazyLock::new(|| files(&["tests/fuzz/seeds/goal"]));
static FUELING: LazyLock<Vec<Vec<u8>>> = LazyLock::new(|| files(&["tests/fuzz/seeds/fueling"]));
static VOLUMES: LazyLock<Vec<Vec<u8>>> = LazyLock::new(|| files(&["tests/fuzz/seeds/volumes"]));
static BREATHING: LazyLock<Vec<Vec<u8>>> = LazyLock::new(|| files(&["tests/fuzz/seeds/breathing"]));
static REPORT: LazyLock<Vec<Vec<u8>>> = LazyLock::new(|| files(&["tests/fuzz/seeds/report"]));
static UPLOADS: LazyLock<Vec<Vec<u8>>> = LazyLock::new(|| files(&["tests/fuzz/seeds/upload"]));

/// A file as shipped with a few changes, or bytes of any kind.
fn near(files: &'static LazyLock<Vec<Vec<u8>>>) -> impl Strategy<Value = Vec<u8>> {
    let shipped =
        (any::<prop::sample::Index>(), prop::collection::vec(change(), 0..4)).prop_map(|(which, changes)| {
            let file = which.get(files).clone();
            changes.iter().fold(file, changed)
        });
    prop_oneof![12 => shipped, 1 => prop::collection::vec(any::<u8>(), 0..400)]
}

proptest! {
    #![proptest_config(cases(400, 1))]

    #[test]
    fn a_fuel_file_of_any_kind(bytes in near(&FUELS)) {
        checks::fuel_file(&bytes);
    }

    #[test]
    fn a_log_of_any_kind(bytes in near(&PULLS)) {
        checks::pull(&bytes);
    }
}

proptest! {
    #![proptest_config(cases(250, 1))]

    #[test]
    fn a_scenario_of_any_kind(bytes in near(&SCENARIOS)) {
        checks::scenario(&bytes);
    }
}

proptest! {
    #![proptest_config(cases(1500, 1))]

    #[test]
    fn words_of_any_kind(bytes in near(&WORDS)) {
        checks::words(&bytes);
    }
}

proptest! {
    #![proptest_config(cases(300, 1))]

    #[test]
    fn a_request_of_any_kind(bytes in near(&REQUESTS)) {
        checks::request(&bytes);
    }

    #[test]
    fn a_setting_of_any_kind(bytes in near(&SETTINGS)) {
        checks::setting(&bytes);
    }
}

proptest! {
    #![proptest_config(cases(60, 1))]

    #[test]
    fn a_fuel_supply_of_any_kind(bytes in near(&FUELING)) {
        checks::fueling(&bytes);
    }

    #[test]
    fn measured_volumes_of_any_kind(bytes in near(&VOLUMES)) {
        checks::volumes(&bytes);
    }

    #[test]
    fn an_upload_of_any_kind(bytes in near(&UPLOADS)) {
        checks::upload(&bytes);
    }
}

proptest! {
    #![proptest_config(cases(12, 10))]

    #[test]
    fn a_choice_of_any_kind(bytes in near(&CHOOSE)) {
        checks::choose(&bytes);
    }

    #[test]
    fn a_goal_of_any_kind(bytes in near(&GOAL)) {
        checks::goal(&bytes);
    }

    #[test]
    fn a_page_of_any_kind(bytes in near(&REPORT)) {
        checks::report(&bytes);
    }

    #[test]
    fn pipes_of_any_kind(bytes in near(&BREATHING)) {
        checks::breathing(&bytes);
    }
}

/// A fuzz target: its name, its law, its seeds.
type Target = (&'static str, fn(&[u8]), &'static LazyLock<Vec<Vec<u8>>>);

/// Every target.
const TARGETS: [Target; 13] = [
    ("breathing", checks::breathing, &BREATHING),
    ("choose", checks::choose, &CHOOSE),
    ("fuel_file", checks::fuel_file, &FUELS),
    ("fueling", checks::fueling, &FUELING),
    ("goal", checks::goal, &GOAL),
    ("pull", checks::pull, &PULLS),
    ("report", checks::report, &REPORT),
    ("request", checks::request, &REQUESTS),
    ("scenario", checks::scenario, &SCENARIOS),
    ("setting", checks::setting, &SETTINGS),
    ("upload", checks::upload, &UPLOADS),
    ("volumes", checks::volumes, &VOLUMES),
    ("words", checks::words, &WORDS),
];

/// Every seed as it stands: what fuzzing once found stays mended.
#[test]
fn every_seed_holds() {
    for (_, check, files) in TARGETS {
        files.iter().for_each(|bytes| check(bytes));
    }
}

/// Every target is built, has seeds of its own and a row in the README, and there is no other.
#[test]
fn every_fuzz_target_is_whole() {
    let fuzz = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz");
    let names = |folder: &str| -> Vec<String> {
        let entries = std::fs::read_dir(fuzz.join(folder)).unwrap().map(|entry| entry.unwrap().path());
        let mut names: Vec<String> =
            entries.map(|path| path.file_stem().unwrap().to_str().unwrap().to_owned()).collect();
        names.sort();
        names
    };
    let read = |file: &str| std::fs::read_to_string(fuzz.join(file)).unwrap();
    let (manifest, readme) = (read("Cargo.toml"), read("README.md"));
    let targets = TARGETS.map(|(name, ..)| name);
    assert_eq!(names("fuzz_targets"), targets);
    assert_eq!(names("seeds"), targets);
    assert_eq!(manifest.matches("[[bin]]").count(), targets.len());
    for name in targets {
        assert!(
            manifest.contains(&format!("name = \"{name}\"\npath = \"fuzz_targets/{name}.rs\"")),
            "{name}"
        );
        assert!(
            read(&format!("fuzz_targets/{name}.rs")).contains(&format!("checks::{name}(bytes)")),
            "{name}"
        );
        assert!(readme.contains(&format!("\n| `{name}` | ")), "{name}");
    }
}

/// Nothing that a file, its name or an option holds acts on the screen when it is refused.
#[test]
fn what_is_told_of_an_input_is_escaped() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str, text: &str| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    };
    // A log with control characters is no text; one that turns the line round is.
    let short = "run,rpm,torque (Nm)\n\u{202e}hot,2000,100\n";
    let binary = "run,rpm,torque (Nm)\n\u{1b}[2J hot,2000,100\n";
    let demo = common::cli::scenario("circuit-2400");
    let named = endgas::scenario::DEMO.replace("name = \"Circuit", "name = \"\\u202eCircuit");
    let control = path("a\u{1b}[31m\nb.csv", short);
    let missing = folder.path().join("no\u{202e}.toml").to_str().unwrap().to_owned();
    for (arguments, wanted) in [
        (vec!["dyno", &demo, &path("pull.csv", short)], r"pull \u{202e}hot, told apart by"),
        (vec!["dyno", &demo, &path("binary.csv", binary)], "binary.csv:2: byte 0x1B is no text"),
        (vec!["dyno", &demo, &control], r"a\u{1b}[31m\nb.csv:2: "),
        (
            vec!["estimate", &path("name.toml", &named)],
            "scenario.name = \"\\u202eCircuit four, 2.4 litres\" is not allowed",
        ),
        (vec!["estimate", &missing], r"no\u{202e}.toml: "),
        (vec!["estimate", "--fuel", "e85\u{202e}"], "a fuel is printable text"),
        (vec!["estimate", "--air-temp", "3\u{1b}[31m"], r"given in '\u{1b}[31m'"),
        (vec!["fuel", "a\u{1b}b"], r"a\u{1b}b"),
    ] {
        let said = common::cli::refused(&arguments);
        assert!(said.contains(wanted), "{wanted}: {said}");
        assert!(!said.contains(|c| c != '\n' && endgas::printable::is_hidden(c)), "{said:?}");
    }
}

/// What a command is run on.
#[derive(Clone, Copy, Debug)]
enum Run {
    Estimate,
    Volumes,
    Fueling,
    Goal,
    Fuel,
    Dyno,
}

impl Run {
    /// Arguments for a file of any kind in a folder, whose result goes to a file beside it.
    fn arguments(self, folder: &Path, bytes: &[u8]) -> Vec<String> {
        let path = |name: &str| folder.join(name).to_str().unwrap().to_owned();
        let input = path("input\u{1b}[31m.x");
        std::fs::write(&input, bytes).unwrap();
        let scenario = || common::cli::scenario("circuit-2400");
        let mut arguments = match self {
            Self::Estimate => vec!["estimate".to_owned(), input, "--samples".to_owned(), "50".to_owned()],
            Self::Volumes => vec!["volumes".to_owned(), input],
            Self::Fueling => vec!["fueling".to_owned(), input],
            Self::Goal => vec!["goal".to_owned(), input, "--wheel-power".to_owned(), "300 hp".to_owned()],
            Self::Fuel => {
                std::fs::create_dir(path("fuels")).unwrap();
                std::fs::rename(&input, path("fuels/own.toml")).unwrap();
                vec!["fuel".to_owned(), "e85".to_owned(), "--fuel-folder".to_owned(), path("fuels")]
            }
            Self::Dyno => vec!["dyno".to_owned(), scenario(), input, "--samples".to_owned(), "50".to_owned()],
        };
        arguments.extend(["--out".to_owned(), path("out"), "--format".to_owned(), "json".to_owned()]);
        arguments
    }
}

fn any_run() -> impl Strategy<Value = (Run, Vec<u8>)> {
    let of = |runs: &'static [Run], files| (prop::sample::select(runs), near(files));
    prop_oneof![
        of(&[Run::Estimate, Run::Volumes, Run::Fueling, Run::Goal], &SCENARIOS),
        of(&[Run::Fuel], &FUELS),
        of(&[Run::Dyno], &PULLS),
    ]
}

proptest! {
    #![proptest_config(cases(36, 1))]

    /// A run that ends as bad input leaves the folder of its result as it was; one that does not writes all of it.
    #[test]
    fn no_input_makes_half_a_file((run, bytes) in any_run(), has_old in any::<bool>()) {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("out");
        let arguments = run.arguments(folder.path(), &bytes);
        if has_old {
            std::fs::write(&out, "old").unwrap();
        }
        let before = entries(folder.path());
        let output = endgas().args(&arguments).output().unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        prop_assert!(!said.contains(|c| c != '\n' && endgas::printable::is_hidden(c)), "{:?}", said);
        prop_assert!(output.stdout.is_empty());
        match output.status.code() {
            Some(2) => {
                prop_assert!(said.starts_with("error: "), "{}", said);
                prop_assert_eq!(entries(folder.path()), before);
                if has_old {
                    prop_assert_eq!(std::fs::read_to_string(&out).unwrap(), "old");
                }
            }
            Some(0 | 1) => {
                let text = std::fs::read_to_string(&out).unwrap();
                prop_assert!(serde_json::from_str::<serde_json::Value>(&text).is_ok());
            }
            other => prop_assert!(false, "ended with {other:?}: {said}"),
        }
    }
}

/// Time goes with the size of a file, not with its square: each of these took from half a minute to many.
#[test]
fn a_large_file_of_mistakes_is_soon_told() {
    let of = |line: &dyn Fn(usize) -> String| (0..40_000).map(line).collect::<String>();
    let start = std::time::Instant::now();
    for (text, most) in [
        (format!("[scenario]\n{}", of(&|i| format!("k{i} = 1\n"))), "more"),
        (of(&|i| format!("k{i} = = 1\n")), "more"),
    ] {
        let problems = endgas::scenario::read("large.toml", &text).unwrap_err();
        assert!(problems.0.len() >= 40_000, "every one is found");
        let told = problems.to_string();
        assert!(told.lines().count() < 300 && told.ends_with(most), "a person reads the first of them");
    }
    let pull = |i: usize| -> String {
        (0..5).map(|j| format!("{},{}\n", 2000 + 1000 * j, 100.0 + 1e-3 * i as f64)).collect()
    };
    let text = format!("rpm,torque (Nm)\n{}", (0..30_000).map(pull).collect::<String>());
    let log = endgas::dyno::read("large.csv", text.as_bytes(), &endgas::dyno::Mapping::default()).unwrap();
    assert_eq!(endgas::dyno::join(vec![log]).unwrap().pulls.len(), 30_000);
    // Some tenths of a second, and room for a machine with much else to do.
    assert!(start.elapsed().as_secs() < 20, "{:?}", start.elapsed());
}

/// A line of signs alone is no header, though a column by number needs no name.
#[test]
fn a_blank_line_is_no_header() {
    let column = |typed| endgas::dyno::ColumnMap::read(typed).unwrap();
    let columns = vec![column("speed=#1 in rpm"), column("torque=#2 in N m")];
    let mapping = endgas::dyno::Mapping { columns, ..endgas::dyno::Mapping::default() };
    let rows = "2000,100\n3000,110\n4000,115\n5000,110\n6000,95\n";
    let read = |text: &str| endgas::dyno::read("a.csv", text.as_bytes(), &mapping);
    let log = read(&format!(",,\na,b\n{rows}")).unwrap();
    assert_eq!((log.columns[0].heading.as_str(), log.points().count()), ("a", 5));
    for text in ["", ",,", ",,\n , \n", "\"\"", "# at: crank"] {
        let said = read(text).unwrap_err().to_string();
        assert!(said.starts_with("1 problem in a.csv\na.csv: no header found"), "{text:?}: {said}");
    }
}
