//! Every command line of the README and of the docs, run in order and as written.
//!
//! A block that begins with three backticks and `sh` holds command lines, one each; a comment ` # exit status N` says how
//! a line ends where that is not 0. A block under `<!-- file: NAME -->` is a file of that name. Each page has an empty
//! folder of its own, which is also its home. Two things are not run as written: `endgas live`, which ends by Ctrl-C, is
//! asked for its help, and cargo, which is not run at all. A line that wrote no file is not run again in a folder of the
//! same files.

use crate::common::cli::{endgas, quiet};
use crate::common::kept::docs;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

/// Lines that a reader types in the folder of the sources.
const CARGO: [&str; 6] = [
    "cargo install --path . --locked",
    "cargo run --release --locked -- estimate",
    "cargo test --release --locked",
    "cargo run --release --locked --example estimate",
    "cargo doc --no-deps --open",
    "cargo test --release --locked --test blind -- --nocapture",
];

fn pages() -> Vec<PathBuf> {
    let mut found = vec![PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/README.md"))];
    let mut folders = vec![docs("")];
    while let Some(folder) = folders.pop() {
        for path in std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "md") {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

/// A fenced block: what stands after its backticks, the line before it, and its lines.
struct Block<'a> {
    info: &'a str,
    before: &'a str,
    lines: Vec<&'a str>,
}

fn blocks(text: &str) -> Vec<Block<'_>> {
    let (mut found, mut before, mut lines) = (Vec::new(), "", text.lines());
    while let Some(line) = lines.next() {
        if let Some(info) = line.strip_prefix("```") {
            found.push(Block { info, before, lines: lines.by_ref().take_while(|l| *l != "```").collect() });
        }
        if !line.is_empty() {
            before = line;
        }
    }
    found
}

/// The status that a line must end with.
fn stated_status(line: &str) -> i32 {
    line.split_once("# exit status ").map_or(0, |(_, status)| status.trim().parse().unwrap())
}

/// Files of a folder and of its folders, with what they hold.
type Files = BTreeMap<PathBuf, Vec<u8>>;

fn held(folder: &Path) -> Files {
    let mut held = Files::new();
    for path in std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
        let name = path.file_name().unwrap().to_owned();
        if path.is_dir() {
            held.extend(
                self::held(&path).into_iter().map(|(inner, bytes)| (Path::new(&name).join(inner), bytes)),
            );
        } else {
            held.insert(name.into(), std::fs::read(&path).unwrap());
        }
    }
    held
}

fn run_line(folder: &Path, page: &str, line: &str, known: &mut BTreeSet<(String, Files)>) {
    let state = (line.split(" #").next().unwrap().trim().to_owned(), held(folder));
    if known.contains(&state) {
        return;
    }
    if line.starts_with("cargo ") {
        assert!(CARGO.contains(&line), "{page}: {line}");
        return;
    }
    let typed =
        if line.starts_with("endgas live") { line.replacen("live", "live --help", 1) } else { line.into() };
    let program = PathBuf::from(endgas().get_program());
    let path = format!("{}:{}", program.parent().unwrap().display(), std::env::var("PATH").unwrap());
    let mut shell = Command::new("sh");
    shell.args(["-c", &typed]).current_dir(folder).env("PATH", path).env("HOME", folder);
    let output = shell.env_remove("ENDGAS_FUELS").output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(stated_status(line)), "{page}: {line}\n{said}");
    if held(folder) == state.1 {
        known.insert(state);
    }
}

#[test]
fn every_command_line_runs_as_written() {
    let (mut count, mut known) = (0, BTreeSet::new());
    for path in pages() {
        let (text, begun) = (std::fs::read_to_string(&path).unwrap(), Instant::now());
        let (page, folder) = (path.display().to_string(), tempfile::tempdir().unwrap());
        for block in blocks(&text) {
            if block.info == "sh" {
                block.lines.iter().for_each(|line| run_line(folder.path(), &page, line, &mut known));
                count += block.lines.len();
            } else if let Some(name) = block.before.strip_prefix("<!-- file: ") {
                let name = name.strip_suffix(" -->").expect("the mark of a file ends in its line");
                std::fs::write(folder.path().join(name), block.lines.join("\n") + "\n").unwrap();
            }
            let typed = |l: &&str| l.starts_with("endgas ") || l.starts_with("$ ");
            assert!(
                block.info == "sh" || !block.lines.iter().any(typed),
                "{page}: a command that is not run"
            );
        }
        println!("{:6.2} s  {page}", begun.elapsed().as_secs_f64());
    }
    assert!(count > 60, "{count}");
}

/// Words that begin with two dashes.
fn options(text: &str) -> BTreeSet<String> {
    let is_part = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    let named = |rest: &str| rest.split(|c| !is_part(c)).next().unwrap().to_owned();
    text.match_indices("--")
        .filter(|(at, _)| !text[..*at].ends_with(|c: char| is_part(c) || c == '!' || c == '|'))
        .map(|(at, _)| named(&text[at..]))
        .filter(|option| option.len() > 2 && option.as_bytes()[2].is_ascii_lowercase())
        .collect()
}

#[test]
fn every_option_named_is_one() {
    let help = quiet(&["--help"], 0);
    let commands = help.split("Commands:\n").nth(1).unwrap().split("\n\n").next().unwrap();
    let names =
        commands.lines().filter(|l| !l.starts_with("   ")).filter_map(|l| l.split_whitespace().next());
    let mut known = options(&help);
    for name in names.filter(|name| *name != "help") {
        known.append(&mut options(&quiet(&[name, "--help"], 0)));
    }
    known.append(&mut options(&quiet(&["fuel", "mix", "--help"], 0)));
    known.append(&mut options(&CARGO.join("\n")));
    for path in pages() {
        let text = std::fs::read_to_string(&path).unwrap();
        let strange: Vec<String> = options(&text).difference(&known).cloned().collect();
        assert!(strange.is_empty(), "{}: {strange:?}", path.display());
    }
}

/// What the README tells a reader to run is what is run before a change is taken.
#[test]
fn the_readme_names_the_commands_of_the_checks() {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    let [readme, checks] = ["README.md", ".ci/run"].map(|f| std::fs::read_to_string(root.join(f)).unwrap());
    for line in &CARGO[1..3] {
        assert!(readme.contains(&format!("\n{line}\n")) && checks.contains(line), "{line}");
    }
    assert!(readme.len() <= 10_000, "the README is one page: {} bytes", readme.len());
}
