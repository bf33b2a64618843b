//! Changes to the bytes of a file that are hard on a reader.

use proptest::prelude::*;

/// One change to the bytes of a file.
#[derive(Clone, Debug)]
pub enum Change {
    /// Another number in place of the n-th one.
    Number(usize, String),
    /// Something put in at a place.
    Insert(usize, Vec<u8>),
    /// Some bytes taken away.
    Remove(usize, usize),
    /// One line in place of another.
    CopyLine(usize, usize),
    /// One line left out.
    DropLine(usize),
    /// Line ends of another system.
    LineEnds,
    /// A byte order mark at the head.
    Mark,
}

/// Numbers that are hard on a reader.
fn number() -> impl Strategy<Value = String> {
    const HARD: &[&str] = &[
        "nan",
        "NaN",
        "inf",
        "-inf",
        "1e308",
        "-1e308",
        "1e309",
        "-0",
        "-0.0",
        "0",
        "5e-324",
        "1e-310",
        "2.2e-308",
        "1e999999",
        "0.1e",
        "1_000",
        "0x10",
        "1,5",
        "+5",
        ".5",
        "5.",
        "9007199254740993",
        "99999999999999999999999999999999999999999",
    ];
    prop_oneof![
        2 => prop::sample::select(HARD).prop_map(str::to_owned),
        2 => any::<f64>().prop_map(|value| format!("{value:?}")),
        1 => any::<f64>().prop_map(|value| format!("{value}")),
        3 => (-200.0..20_000.0_f64).prop_map(|value| format!("{value:.3}")),
        3 => (0.0..20.0_f64).prop_map(|value| format!("{value:.2}")),
        1 => any::<i64>().prop_map(|value| value.to_string()),
    ]
}

/// Pieces that are hard on a reader or on a screen.
fn piece() -> impl Strategy<Value = Vec<u8>> {
    const HARD: &[&[u8]] = &[
        b"\x1b[31m",
        b"\x1b]0;x\x07",
        b"\0",
        b"\x7f",
        b"\xc2\x9b31m",
        b"\xe2\x80\xae",
        b"\xe2\x81\xa6",
        b"\xe2\x80\xa8",
        b"\xef\xbb\xbf",
        b"\r",
        b"\r\n",
        b"\n\n",
        b"\t",
        b"\"",
        b"\"\"\"",
        b"'",
        b"#",
        b",",
        b";",
        b"=",
        b"[",
        b"]",
        b"{",
        b"}",
        b"\xff\xfe",
        b"\xf0\x9f\x94\xa7",
        b"e\xcc\x81",
        b"\\u001b",
        b"\\u202e",
        b"%1b",
        b"%e2%80%ae",
        b"&&",
        b"\r\nX: y",
    ];
    prop_oneof![
        4 => prop::sample::select(HARD).prop_map(<[u8]>::to_vec),
        1 => "\\PC{0,6}".prop_map(String::into_bytes),
        1 => prop::collection::vec(any::<u8>(), 0..8),
        1 => number().prop_map(String::into_bytes),
        1 => (prop::sample::select(&b"a0 .\"#[,"[..]), 1_usize..5000).prop_map(|(byte, count)| vec![byte; count]),
    ]
}

/// Any change.
pub fn change() -> impl Strategy<Value = Change> {
    prop_oneof![
        6 => (any::<usize>(), number()).prop_map(|(nth, number)| Change::Number(nth, number)),
        3 => (any::<usize>(), piece()).prop_map(|(at, what)| Change::Insert(at, what)),
        1 => (any::<usize>(), 1_usize..40).prop_map(|(at, length)| Change::Remove(at, length)),
        1 => (any::<usize>(), any::<usize>()).prop_map(|(from, to)| Change::CopyLine(from, to)),
        1 => any::<usize>().prop_map(Change::DropLine),
        1 => Just(Change::LineEnds),
        1 => Just(Change::Mark),
    ]
}

/// Where numbers stand, comments left out.
fn numbers(bytes: &[u8]) -> Vec<std::ops::Range<usize>> {
    let mut found: Vec<std::ops::Range<usize>> = Vec::new();
    let mut in_comment = false;
    for (at, byte) in bytes.iter().enumerate() {
        in_comment = *byte != b'\n' && (in_comment || *byte == b'#');
        match found.last_mut() {
            _ if in_comment => {}
            Some(last) if last.end == at && (byte.is_ascii_digit() || *byte == b'.') => last.end = at + 1,
            _ if byte.is_ascii_digit() => found.push(at..at + 1),
            _ => {}
        }
    }
    found
}

/// The bytes with a change made.
pub fn changed(mut bytes: Vec<u8>, change: &Change) -> Vec<u8> {
    let lines = |bytes: &[u8]| bytes.split(|b| *b == b'\n').map(<[u8]>::to_vec).collect::<Vec<_>>();
    match change {
        Change::Number(nth, number) => {
            let places = numbers(&bytes);
            if let Some(place) = places.get(nth % places.len().max(1)) {
                bytes.splice(place.clone(), number.bytes());
            }
        }
        Change::Insert(at, what) => {
            let at = at % (bytes.len() + 1);
            bytes.splice(at..at, what.iter().copied());
        }
        Change::Remove(at, length) => {
            let at = at % (bytes.len() + 1);
            bytes.drain(at..(at + length).min(bytes.len()));
        }
        Change::CopyLine(from, to) => {
            let mut lines = lines(&bytes);
            let (from, to) = (from % lines.len(), to % lines.len());
            lines[to] = lines[from].clone();
            bytes = lines.join(&b'\n');
        }
        Change::DropLine(line) => {
            let mut lines = lines(&bytes);
            lines.remove(line % lines.len());
            bytes = lines.join(&b'\n');
        }
        Change::LineEnds => bytes = lines(&bytes).join(&b"\r\n"[..]),
        Change::Mark => drop(bytes.splice(0..0, *b"\xef\xbb\xbf")),
    }
    bytes
}
