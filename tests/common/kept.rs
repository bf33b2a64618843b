//! Keeping a part of the README as a test finds it.

use std::sync::{Mutex, PoisonError};

/// Several tests of one run may write.
static README: Mutex<()> = Mutex::new(());

/// Compares `text` with what the README holds between two marks; with `UPDATE_README` set, writes it there.
pub fn keep_in_readme(begin: &str, end: &str, text: &str) {
    // A test that failed while it held the file has written nothing.
    let _alone = README.lock().unwrap_or_else(PoisonError::into_inner);
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/README.md");
    let readme = std::fs::read_to_string(path).unwrap();
    let (before, rest) = readme.split_once(begin).expect("the README has a place for it");
    let (old, after) = rest.split_once(end).expect("the place ends");
    if std::env::var_os("UPDATE_README").is_some() {
        std::fs::write(path, format!("{before}{begin}\n{}\n{end}{after}", text.trim())).unwrap();
    } else {
        assert_eq!(old.trim(), text.trim(), "the README is stale: run with UPDATE_README=1");
    }
}
