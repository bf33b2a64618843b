//! The bibliography of the docs: every source that the code, the fuel files and the docs name is in it, with how it is known.

use crate::docs_book::{files, root};
use std::collections::BTreeSet;

/// Bodies whose documents are named by a number.
const BODIES: [&str; 11] =
    ["SAE", "ASTM", "ISO", "DIN", "NASA", "NIST", "OSTI", "JCGM", "EN", "UN", "Directive"];

/// Ways in which a source is known.
const KNOWN: [&str; 4] = ["read", "abstract", "from memory", "not stated"];

/// A word without what surrounds it.
fn bare(word: &str) -> &str {
    word.trim_matches(|c: char| !c.is_alphanumeric())
}

fn is_name(word: &str) -> bool {
    let mut letters = word.chars();
    let is_name = letters.next().is_some_and(char::is_uppercase) && letters.all(char::is_alphabetic);
    is_name && word.len() > 1 && word != "Since"
}

fn is_year(word: &str) -> bool {
    word.len() == 4 && (word.starts_with("19") || word.starts_with("20")) && word.parse::<u32>().is_ok()
}

/// Sources that a text names: numbered documents, as "SAE 780080", and a name before a year, as "Heywood 1988".
fn named(text: &str) -> BTreeSet<[String; 2]> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let mut found = BTreeSet::new();
    for pair in words.windows(3) {
        let [a, b, c] = [pair[0], pair[1], pair[2]].map(bare);
        if BODIES.contains(&a) {
            let number = if b == "SP" { format!("SP {c}") } else { b.to_owned() };
            let is_number = number.contains(|c: char| c.is_ascii_digit());
            if is_number {
                found.insert([format!("{a} {number}"), String::new()]);
            }
        }
        // "Hires et al. 1978" goes by its first name, which stands one word further back.
        let name = if b == "al" { None } else { Some(b) };
        if let Some(name) = name.filter(|name| is_name(name) && is_year(c)) {
            found.insert([name.to_owned(), c.to_owned()]);
        }
    }
    for four in words.windows(4) {
        let [name, et, al, year] = [four[0], four[1], four[2], four[3]].map(bare);
        if et == "et" && al == "al" && is_name(name) {
            found.insert([name.to_owned(), if is_year(year) { year.to_owned() } else { String::new() }]);
        }
    }
    found
}

/// Comments and texts of code as one text: a comment goes on over lines.
fn words_of_code(code: &str) -> String {
    let lines = code.lines().map(|line| line.trim_start().trim_start_matches('/').trim_start_matches('!'));
    lines.map(|line| line.trim_end_matches('\\')).collect::<Vec<_>>().join(" ")
}

fn bibliography() -> String {
    std::fs::read_to_string(root().join("docs/src/bibliography.md")).unwrap()
}

/// What a text names that no line of the bibliography holds.
fn missing(text: &str, bibliography: &str) -> Vec<String> {
    let is_there =
        |[a, b]: &[String; 2]| bibliography.lines().any(|line| line.contains(a) && line.contains(b));
    named(text)
        .into_iter()
        .filter(|source| !is_there(source))
        .map(|s| s.join(" ").trim().to_owned())
        .collect()
}

#[test]
fn every_source_named_is_in_the_bibliography() {
    let bibliography = bibliography();
    let sets = [("src", "rs"), ("fuels", "toml"), ("docs/src", "md")];
    for path in sets.iter().flat_map(|(folder, extension)| files(&root().join(folder), extension)) {
        let code = std::fs::read_to_string(&path).unwrap();
        let missing = missing(&words_of_code(&code), &bibliography);
        assert!(missing.is_empty(), "{}: {missing:?}", path.display());
    }
}

#[test]
fn a_source_that_is_not_listed_is_found() {
    let text = words_of_code("/// Law of Nobody 1999 and of\n/// SAE 999999; Unknown\n/// et al. 2001.");
    assert_eq!(missing(&text, &bibliography()), ["Nobody 1999", "SAE 999999", "Unknown 2001"]);
}

#[test]
fn every_source_says_how_it_is_known() {
    let text = bibliography();
    let rows = text.lines().filter(|line| line.starts_with("| ") && !line.starts_with("| source"));
    let known: Vec<&str> = rows.map(|row| row.split(" | ").nth(1).unwrap()).collect();
    assert!(known.len() > 50, "{}", known.len());
    for how in &known {
        assert!(KNOWN.iter().any(|word| how.starts_with(word)), "{how}");
    }
    let not_stated = known.iter().filter(|how| how.starts_with("not stated")).count();
    assert!(text.contains(&format!("For {not_stated} of them")), "{not_stated}");
}
