//! From bytes to text: the encodings in which shops save logs.

use super::error::{Problems, PullFault};
use super::log::Note;
use encoding_rs::{UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

/// Bytes that no text holds: control signs other than tab, line ends, the form feed and the end mark of old editors.
fn is_binary(byte: u8) -> bool {
    byte < 0x20 && !matches!(byte, b'\t' | b'\n' | b'\r' | 0x0C | 0x1A)
}

/// Bytes as text with line feeds alone, with a note where the encoding was guessed; none, with the problem noted, when they are no
/// text.
pub(super) fn text(bytes: &[u8], problems: &mut Problems) -> Option<(String, Option<Note>)> {
    let wide = match bytes {
        [0xFF, 0xFE, rest @ ..] => Some((UTF_16LE, rest)),
        [0xFE, 0xFF, rest @ ..] => Some((UTF_16BE, rest)),
        // Without its mark: letters and digits leave every other byte at 0.
        [low, 0, _, 0, ..] if *low != 0 => Some((UTF_16LE, bytes)),
        [0, high, 0, _, ..] if *high != 0 => Some((UTF_16BE, bytes)),
        _ => None,
    };
    if let Some((encoding, rest)) = wide {
        let (text, _) = encoding.decode_without_bom_handling(rest);
        return Some((with_line_feeds(&text), None));
    }
    if let Some(at) = bytes.iter().position(|byte| is_binary(*byte)) {
        let line = 1 + bytes[..at].iter().filter(|b| **b == b'\n').count() as u64;
        problems.note(line, PullFault::NotText { byte: bytes.get(at).copied().unwrap_or_default() });
        return None;
    }
    if let Ok(text) = std::str::from_utf8(bytes) {
        return Some((with_line_feeds(UTF_8.decode_with_bom_removal(text.as_bytes()).0.as_ref()), None));
    }
    // Every byte is a sign of it; Latin-1 is the same but for signs that no log has.
    let (text, _) = WINDOWS_1252.decode_without_bom_handling(bytes);
    Some((with_line_feeds(&text), Some(Note::Windows1252)))
}

fn with_line_feeds(text: &str) -> String {
    text.replace("\r\n", "\n").replace('\r', "\n").trim_end_matches('\u{1A}').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(bytes: &[u8]) -> Option<(String, Option<Note>)> {
        text(bytes, &mut Problems::default())
    }

    #[test]
    fn every_encoding_gives_the_same_text() {
        let wanted = "Zündung (°KW)\n12,5\n";
        let wide =
            |of: fn(u16) -> [u8; 2]| wanted.replace('\n', "\r\n").encode_utf16().flat_map(of).collect();
        let (little, big): (Vec<u8>, Vec<u8>) = (wide(u16::to_le_bytes), wide(u16::to_be_bytes));
        let marked = |mark: &[u8], bytes: &[u8]| [mark, bytes].concat();
        for bytes in [
            wanted.as_bytes().to_vec(),
            marked("\u{feff}".as_bytes(), wanted.as_bytes()),
            marked(&[0xFF, 0xFE], &little),
            marked(&[0xFE, 0xFF], &big),
            little,
            big,
        ] {
            assert_eq!(read(&bytes), Some((wanted.to_owned(), None)));
        }
        let latin: Vec<u8> = wanted.chars().map(|c| c as u32 as u8).collect();
        assert_eq!(read(&latin), Some((wanted.to_owned(), Some(Note::Windows1252))));
    }

    #[test]
    fn what_is_no_text_is_told_by_line() {
        let mut problems = Problems::default();
        assert_eq!(text(b"rpm,torque\n2000,\x01\n", &mut problems), None);
        assert_eq!(problems.0[0].line, Some(2));
        assert_eq!(problems.0[0].fault, PullFault::NotText { byte: 1 });
    }
}
