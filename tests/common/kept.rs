//! Keeping a part of the docs as a test finds it.

use std::path::PathBuf;
use std::sync::{Mutex, PoisonError};

/// The blocks that tests write, each with the page under `docs/src` that holds it. In the page a block stands between
/// `<!-- NAME: written by FILE -->` and `<!-- end of NAME -->`.
const BLOCKS: [(&str, &str); 19] = [
    ("estimate output", "commands/estimate.md"),
    ("choose output", "commands/choose.md"),
    ("dyno output", "commands/dyno.md"),
    ("fuel mix output", "commands/fuel.md"),
    ("library example", "library.md"),
    ("accuracy table", "accuracy.md"),
    ("blind table", "blind.md"),
    ("kinds table", "engines.md"),
    ("engines table", "engines.md"),
    ("practice table", "engines.md"),
    ("pipes table", "physics/pipes.md"),
    ("peaks table", "physics/pipes.md"),
    ("exchange table", "physics/pipes.md"),
    ("carried table", "physics/pipes.md"),
    ("factory table", "knock-checks.md"),
    ("accepted table", "knock-checks.md"),
    ("sixteen builds", "knock-checks.md"),
    ("rates table", "dyno-trials.md"),
    ("recovery table", "dyno-trials.md"),
];

/// What a stale page asks for.
pub const STALE: &str = "the docs are stale: run with UPDATE_DOCS=1";

/// Several tests of one run may write.
static DOCS: Mutex<()> = Mutex::new(());

/// Whether this run writes the docs instead of comparing with them.
pub fn updating() -> bool {
    std::env::var_os("UPDATE_DOCS").is_some()
}

/// The folder of the pages, or a file in it.
pub fn docs(file: &str) -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/docs/src")).join(file)
}

/// Compares `text` with the block of that name; with `UPDATE_DOCS` set, writes it there.
pub fn keep(block: &str, text: &str) {
    // A test that failed while it held the file has written nothing.
    let _alone = DOCS.lock().unwrap_or_else(PoisonError::into_inner);
    let (_, page) = BLOCKS.iter().find(|(name, _)| *name == block).expect("a block that is listed");
    let (path, end) = (docs(page), format!("<!-- end of {block} -->"));
    let old = std::fs::read_to_string(&path).unwrap();
    let (before, rest) = old.split_once(&format!("<!-- {block}: ")).expect("the page has a place for it");
    let (by, rest) = rest.split_once("-->\n").expect("the mark ends");
    let (kept, after) = rest.split_once(&end).expect("the place ends");
    if updating() {
        let text = text.trim();
        std::fs::write(path, format!("{before}<!-- {block}: {by}-->\n{text}\n{end}{after}")).unwrap();
    } else {
        assert_eq!(kept.trim(), text.trim(), "{block}: {STALE}");
    }
}
