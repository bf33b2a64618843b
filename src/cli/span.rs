//! Two ends of a range as typed: "11 to 13", "11..13" or "11-13", with or without blanks.

/// The texts of both ends; none where there is no range.
///
/// A dash counts between two values alone: "-10" is a number, and so is "1e-3".
pub(super) fn ends(typed: &str) -> Option<(&str, &str)> {
    for between in ["..", "to"] {
        if let Some((from, to)) = typed.split_once(between) {
            return Some((from.trim(), to.trim()));
        }
    }
    let is_value =
        |from: &str| from.trim_end().ends_with(|c: char| c.is_ascii_digit() || c == '.' || c == '%');
    let (at, dash) = typed.match_indices(['-', '\u{2013}']).find(|(at, _)| is_value(&typed[..*at]))?;
    Some((typed[..at].trim(), typed[at + dash.len()..].trim()))
}

#[cfg(test)]
mod tests {
    use super::*;

    // HAND.
    #[test]
    fn a_range_is_read_as_it_is_said() {
        for typed in ["11-13", "11 - 13", "11 to 13", "11to13", "11..13", "11 .. 13", "11 \u{2013} 13"] {
            assert_eq!(ends(typed), Some(("11", "13")), "{typed}");
        }
        assert_eq!(ends("10.5-12.5"), Some(("10.5", "12.5")));
        assert_eq!(ends("10 % - 85 %"), Some(("10 %", "85 %")));
        assert_eq!(ends("11:1-13:1"), Some(("11:1", "13:1")));
        assert_eq!(ends("-5 to 10"), Some(("-5", "10")));
        assert_eq!(ends("5--1"), Some(("5", "-1")));
    }

    #[test]
    fn a_number_or_a_list_is_no_range() {
        for typed in ["", "11", "-10", "1e-3", "10,30", "-"] {
            assert_eq!(ends(typed), None, "{typed}");
        }
    }
}
