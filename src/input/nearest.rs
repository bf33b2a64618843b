//! The known word that somebody most likely meant.

use super::section::without_unit;

/// Likeness below which two words are taken as unrelated [-], 0 to 1. Common practice, no source.
const LEAST_LIKENESS: f64 = 0.6;

/// Likeness of two keys that differ in their unit only [-].
const SAME_BUT_UNIT: f64 = 0.9;

/// Whether `typed` is the key `known` without its unit, or with another unit.
pub(crate) fn differs_in_unit(typed: &str, known: &str) -> bool {
    without_unit(known).is_some_and(|stem| {
        typed != known
            && (typed == stem || typed.rsplit_once('_').is_some_and(|(typed_stem, _)| typed_stem == stem))
    })
}

/// Likeness of two words [-], 0 to 1. Case, spaces and the choice of dash or underscore do not count.
fn likeness(typed: &str, known: &str) -> f64 {
    let plain = |s: &str| s.trim().to_lowercase().replace(['-', ' '], "_");
    let (typed, known) = (plain(typed), plain(known));
    let edits = strsim::normalized_damerau_levenshtein(&typed, &known);
    if differs_in_unit(&typed, &known) { edits.max(SAME_BUT_UNIT) } else { edits }
}

/// The one of `known` that is most like `typed`, if any is like it at all.
pub(crate) fn nearest<'a>(typed: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let mut best: Option<(f64, &str)> = None;
    for word in known {
        let score = likeness(typed, word);
        if score >= LEAST_LIKENESS && best.is_none_or(|(top, _)| score > top) {
            best = Some((score, word));
        }
    }
    best.map(|(_, word)| word)
}

#[cfg(test)]
mod tests {
    use super::{differs_in_unit, nearest};

    #[test]
    fn finds_slips_and_leaves_strangers() {
        let known = ["bore_mm", "stroke_mm", "compression_ratio"];
        assert_eq!(nearest("boer_mm", known), Some("bore_mm"));
        assert_eq!(nearest("bore", known), Some("bore_mm"));
        assert_eq!(nearest("stroke_inches", known), Some("stroke_mm"));
        assert_eq!(nearest("Compression Ratio", known), Some("compression_ratio"));
        assert_eq!(nearest("turbo", known), None);
    }

    #[test]
    fn knows_a_unit_from_a_word() {
        assert!(differs_in_unit("bore_in", "bore_mm"));
        assert!(!differs_in_unit("boer_mm", "bore_mm"));
        assert!(!differs_in_unit("inlet_size", "inlet_count"));
    }
}
