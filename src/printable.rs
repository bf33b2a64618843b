//! Words of a file, a name or a command line made safe to print: nothing in them moves the cursor, changes colours,
//! turns the direction of the line or hides.

use std::borrow::Cow;
use std::path::Path;

/// Whether a character has no sign of its own on the screen but acts on those around it.
///
/// Control characters (Unicode category Cc), line and paragraph separators, characters with the property Bidi_Control
/// (Unicode Standard Annex 9, which lists U+061C, U+200E, U+200F, U+202A to U+202E and U+2066 to U+2069), the zero width
/// space, word joiner and invisible operators, the byte order mark, tags (U+E0000 to U+E007F), and the noncharacters,
/// which no drawing can hold (XML 1.0 forbids U+FFFE and U+FFFF). Joiners (U+200C, U+200D) are letters' business in
/// several scripts and are no such character.
pub fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(u32::from(c), 0xfdd0..=0xfdef)
        || u32::from(c) & 0xfffe == 0xfffe
        || matches!(
            c,
            '\u{61c}'
                | '\u{200b}'
                | '\u{200e}'
                | '\u{200f}'
                | '\u{2028}'..='\u{202e}'
                | '\u{2060}'..='\u{206f}'
                | '\u{feff}'
                | '\u{fff9}'..='\u{fffb}'
                | '\u{e0000}'..='\u{e007f}'
        )
}

/// Text with every hidden character written as its escape, such as `\n` or `\u{1b}`, so that it stays on one line.
///
/// ```
/// use endgas::printable::printable;
/// assert_eq!(printable("pull 7"), "pull 7");
/// assert_eq!(printable("a\u{1b}[31m\nb\u{202e}"), "a\\u{1b}[31m\\nb\\u{202e}");
/// ```
pub fn printable(text: &str) -> Cow<'_, str> {
    escaped(text, is_hidden)
}

/// The same for a message of several lines: line feeds stay.
pub fn printable_lines(text: &str) -> Cow<'_, str> {
    escaped(text, |c| c != '\n' && is_hidden(c))
}

/// The name of a file or folder, printable.
pub fn printable_path(path: &Path) -> String {
    printable(&path.display().to_string()).into_owned()
}

fn escaped(text: &str, is_escaped: impl Fn(char) -> bool) -> Cow<'_, str> {
    if !text.contains(&is_escaped) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        if is_escaped(c) { out.extend(c.escape_default()) } else { out.push(c) }
    }
    Cow::Owned(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_acts_on_the_screen_is_escaped() {
        for (raw, wanted) in [
            ("bell\u{7}", "bell\\u{7}"),
            ("\u{9b}31m", "\\u{9b}31m"),
            ("tab\t", "tab\\t"),
            ("\u{202e}gnp.exe", "\\u{202e}gnp.exe"),
            ("\u{2066}a\u{2069}", "\\u{2066}a\\u{2069}"),
            ("\u{2028}\u{2029}\u{feff}\u{200b}", "\\u{2028}\\u{2029}\\u{feff}\\u{200b}"),
            ("\u{e0041}\u{ffff}\u{fdd0}\u{1fffe}", "\\u{e0041}\\u{ffff}\\u{fdd0}\\u{1fffe}"),
        ] {
            assert_eq!(printable(raw), wanted);
        }
        assert_eq!(printable_lines("a\nb\r\n"), "a\nb\\r\n");
    }

    #[test]
    fn what_can_be_seen_stays() {
        for text in ["", "Zürich \"7\" \\n", "e\u{301}te\u{301}", "می\u{200c}خواهم", "日本", "λ = 0.9 · µm"]
        {
            assert!(matches!(printable(text), Cow::Borrowed(same) if same == text), "{text}");
        }
    }
}
