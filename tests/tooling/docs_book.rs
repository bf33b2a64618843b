//! The docs as a book: every page stands in the summary, and what a page points at is there.

use std::collections::BTreeSet;
use std::path::{Component, Path, PathBuf};

/// The folder of the project.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Files of a folder and its folders whose name ends so.
pub fn files(folder: &Path, extension: &str) -> Vec<PathBuf> {
    let (mut found, mut folders) = (Vec::new(), vec![folder.to_owned()]);
    while let Some(folder) = folders.pop() {
        for path in std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == extension) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

fn pages() -> Vec<PathBuf> {
    let own = ["README.md", "DEVELOPERS.md", "CHANGELOG.md", "fuels/README.md"].map(|file| root().join(file));
    own.into_iter().chain(files(&root().join("docs/src"), "md")).collect()
}

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// Lines of a page that are not in a fenced block.
fn prose(text: &str) -> Vec<&str> {
    let mut fenced = false;
    let out = |line: &&str| {
        let fence = line.starts_with("```");
        fenced ^= fence;
        !fenced && !fence
    };
    text.lines().filter(out).collect()
}

/// Targets of the links and pictures of a page that lie in the project.
fn links(text: &str) -> Vec<&str> {
    prose(text)
        .into_iter()
        .flat_map(|line| line.split("](").skip(1).filter_map(|rest| rest.split(')').next()))
        .filter(|target| !target.contains("://"))
        .collect()
}

/// The anchor of a heading, as books and code hosts make it.
fn anchor(heading: &str) -> String {
    let kept = heading.chars().filter(|c| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_'));
    kept.collect::<String>().to_lowercase().replace(' ', "-")
}

fn anchors(text: &str) -> Vec<String> {
    let headings = prose(text).into_iter().filter(|line| line.starts_with('#'));
    headings.map(|line| anchor(line.trim_start_matches('#').trim())).collect()
}

/// A path without the steps up in it.
fn plain(path: &Path) -> PathBuf {
    path.components().fold(PathBuf::new(), |mut plain, part| {
        if part == Component::ParentDir {
            plain.pop();
        } else {
            plain.push(part);
        }
        plain
    })
}

#[test]
fn the_summary_names_every_page_once() {
    let book = root().join("docs/src");
    let summary = read(&book.join("SUMMARY.md"));
    let named: Vec<PathBuf> = links(&summary).into_iter().map(|target| book.join(target)).collect();
    let once: BTreeSet<PathBuf> = named.iter().cloned().collect();
    assert_eq!(once.len(), named.len());
    let there: BTreeSet<PathBuf> =
        files(&book, "md").into_iter().filter(|p| !p.ends_with("SUMMARY.md")).collect();
    assert_eq!(once, there);
}

#[test]
fn links_and_anchors_lead_somewhere() {
    let mut count = 0;
    for page in pages() {
        let text = read(&page);
        for target in links(&text) {
            let (file, heading) = target.split_once('#').unwrap_or((target, ""));
            let path = if file.is_empty() { page.clone() } else { plain(&page.parent().unwrap().join(file)) };
            assert!(path.exists(), "{}: {target}", page.display());
            let found = heading.is_empty() || anchors(&read(&path)).iter().any(|a| a == heading);
            assert!(found, "{}: no heading for {target}", page.display());
            count += 1;
        }
    }
    assert!(count > 80, "{count}");
    assert_eq!(anchor("Known knock points (`[[knock.known]]`)"), "known-knock-points-knockknown");
}

/// Files of the project that a page names in code marks are there.
#[test]
fn files_that_are_named_are_there() {
    for page in pages().into_iter().filter(|p| !p.ends_with("CHANGELOG.md")) {
        let text = prose(&read(&page)).join("\n");
        for name in text.split('`').skip(1).step_by(2) {
            let folders = ["src/", "tests/", "docs/", "examples/", "scenarios/", "fuels/", "benches/"];
            let is_path = folders.iter().any(|f| name.starts_with(f)) && !name.contains([' ', '*']);
            assert!(!is_path || root().join(name).exists(), "{}: {name}", page.display());
        }
    }
}

/// The figures by which the README asks for trust are those of the tables.
#[test]
fn the_readme_trusts_what_the_tables_show() {
    let readme = read(&root().join("README.md"));
    let engines = read(&root().join("docs/src/engines.md"));
    let all: Vec<&str> = engines.lines().find(|l| l.starts_with("| all | ")).unwrap().split(" | ").collect();
    for words in [
        format!("median error {} %, nine in ten within {} %", all[2], all[3]),
        format!("{} % inside the stated range", all[6].trim_end_matches(" |")),
    ] {
        assert!(readme.replace("\n  ", " ").contains(&words), "{words}");
    }
    let blind = read(&root().join("docs/src/blind.md"));
    let all: Vec<&str> = blind.lines().find(|l| l.starts_with("| all | ")).unwrap().split(" | ").collect();
    let words =
        format!("nothing was fitted to: {} %, {} %, {} %", all[2], all[3], all[6].trim_end_matches(" |"));
    assert!(readme.replace("\n  ", " ").contains(&words), "{words}");
    let builds = read(&root().join("docs/src/knock-checks.md"));
    let within = builds.split(" answers lie within the band").next().unwrap().lines().last().unwrap();
    assert!(readme.contains(&format!("{within} orders")), "{within}");
}
