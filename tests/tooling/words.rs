//! Words that a builder would not use and that must not come back: in help, docs, pages, scenarios and the texts of the code.

use super::docs_book::{files, root};
use super::{commands, printed};
use std::path::PathBuf;

/// What must not be read anywhere, in lower case, and what stands in its place.
const GONE: [(&str, &str); 32] = [
    ("best-torque spark", "MBT timing"),
    ("spark held back", "timing pulled, retard"),
    ("given up to knock", "torque lost to retard"),
    ("octane in hand", "knock margin"),
    ("kept in hand", "safety margin"),
    ("must stand", "has to run on"),
    ("must be stood", "has to run on"),
    ("limit passed", "over the limit"),
    ("limit is passed", "over the limit"),
    ("be mended", "be fixed"),
    ("filling (", "VE"),
    ("of filling", "VE"),
    ("tightest speed", "worst rpm"),
    ("tightest rpm", "worst rpm"),
    ("were the unknowns", "if this engine were measured exactly"),
    ("cannot be told from zero", "too close to call"),
    ("humblest", "lowest class that covers it"),
    ("the build as it is", "as built"),
    ("driveline not taken off", "at the flywheel"),
    ("brought to the day", "corrected back to observed"),
    ("air of the day", "weather"),
    ("over-correction", "corrected twice"),
    ("uniform scale", "reads high everywhere"),
    ("run-down loss", "coast-down loss"),
    ("rubbing of", "friction"),
    ("heat to the walls", "heat lost to coolant and oil"),
    ("rank corr", "the swing in kW or hp"),
    ("nine samples of ten", "knock-free in 9 cases of 10"),
    ("from less spark", "start retarded and add timing"),
    ("of no account without", "ignored without"),
    ("left out, it", "Default: ..."),
    ("lbf ft", "lb-ft"),
];

/// Where a word may stand all the same: what was called so before, the tables of published figures and the physics.
fn is_excepted(place: &str, word: &str) -> bool {
    match word {
        "of filling" => place.ends_with("fuel/tank.rs") || place.starts_with("src/cycle/"),
        "rank corr" => place.starts_with("docs/src/physics/"),
        "heat to the walls" => place.starts_with("docs/src/physics/") || place.starts_with("src/cycle/"),
        _ => false,
    }
}

/// The words found in a text, each with its line.
fn found(place: &str, text: &str) -> Vec<String> {
    let mut found = Vec::new();
    for (line, words) in text.lines().enumerate().map(|(i, words)| (i + 1, words.to_lowercase())) {
        for (word, better) in
            GONE.iter().filter(|(word, _)| words.contains(word) && !is_excepted(place, word))
        {
            found.push(format!("{place}:{line}: '{word}'; write '{better}'"));
        }
    }
    found
}

/// A source without its comments, which the rustdoc of the library and its readers may say otherwise, and without its tests.
fn said_by(code: &str) -> String {
    let code = code.split("#[cfg(test)]").next().unwrap_or_default();
    let is_comment = |line: &str| line.trim_start().starts_with("//");
    code.lines().map(|line| if is_comment(line) { "\n".to_owned() } else { format!("{line}\n") }).collect()
}

/// Files that a person reads, or that hold what is printed.
fn places() -> Vec<PathBuf> {
    let mut places = vec![root().join("README.md")];
    for (folder, extension) in [
        ("docs/src", "md"),
        ("scenarios", "toml"),
        ("fuels", "toml"),
        ("src", "rs"),
        ("src", "toml"),
        ("src/live/page", "html"),
        ("src/live/page", "js"),
        ("examples", "rs"),
    ] {
        places.extend(files(&root().join(folder), extension));
    }
    places
}

#[test]
fn words_of_the_shop_are_not_replaced_by_our_own() {
    let mut all = Vec::new();
    for path in places() {
        let text = std::fs::read_to_string(&path).unwrap();
        let text = if path.extension().is_some_and(|e| e == "rs") { said_by(&text) } else { text };
        all.extend(found(&path.strip_prefix(root()).unwrap().to_string_lossy(), &text));
    }
    for command in commands() {
        all.extend(found(&format!("help of {command}"), &printed(&[&command, "--help"])));
    }
    assert!(all.is_empty(), "{}", all.join("\n"));
}

#[test]
fn a_word_that_is_gone_is_found() {
    let code = "// Rank correlation.\nlet x = \"At the Best-Torque Spark\";\n#[cfg(test)]\n// humblest\n";
    let expected = ["a.rs:2: 'best-torque spark'; write 'MBT timing'"];
    assert_eq!(found("a.rs", &said_by(code)).as_slice(), expected);
    assert_eq!(found("src/fuel/tank.rs", "a ratio of filling").len(), 0);
}
