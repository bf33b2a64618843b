//! Numbers as logs write them: decimal sign, thousands separators, cells that say there is none.

use super::mapping::DecimalSign;
use super::unit::Quantity;

impl DecimalSign {
    fn sign(self) -> char {
        match self {
            Self::Point => '.',
            Self::Comma => ',',
        }
    }

    /// The other one.
    pub(super) fn other(self) -> Self {
        match self {
            Self::Point => Self::Comma,
            Self::Comma => Self::Point,
        }
    }

    /// The word for it.
    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Point => "point",
            Self::Comma => "comma",
        }
    }
}

/// Whether a cell says that there is no number.
pub(super) fn is_missing(cell: &str) -> bool {
    let is_dash = |c: char| matches!(c, '-' | '–' | '—' | '−' | '.' | '*' | '?');
    let plain = cell.trim().trim_start_matches('#').to_lowercase();
    plain.chars().all(is_dash)
        || matches!(
            plain.as_str(),
            "n/a" | "na" | "n.a." | "nan" | "null" | "none" | "nil" | "k.a." | "inf" | "-inf"
        )
}

/// Signs between thousands beside the sign that is not the decimal one.
fn is_gap(c: char) -> bool {
    c.is_whitespace() || matches!(c, '\'' | '’' | '\u{2009}' | '\u{202F}' | '\u{A0}')
}

/// A number without the separators of its thousands; none where they do not stand before every third digit.
fn without_groups(cell: &str, decimal: DecimalSign) -> Option<String> {
    let (whole, rest) = cell.split_at(cell.find(decimal.sign()).unwrap_or(cell.len()));
    let digits = whole.trim_start_matches(['-', '+']);
    let separator = digits.chars().find(|c| is_gap(*c) || *c == decimal.other().sign())?;
    let groups: Vec<&str> = digits.split(separator).collect();
    let is_whole = |group: &&str| group.len() == 3 && group.chars().all(|c| c.is_ascii_digit());
    let first = groups.first()?;
    let is_number = matches!(first.len(), 1..=3)
        && !first.starts_with('0')
        && first.chars().all(|c| c.is_ascii_digit())
        && groups.iter().skip(1).all(is_whole);
    is_number.then(|| whole.replace(separator, "") + rest)
}

/// A finite number with a decimal sign; thousands may be set apart in what can be that large.
pub(super) fn parsed(cell: &str, decimal: DecimalSign, quantity: Quantity) -> Option<f64> {
    let cell = cell.replace('−', "-");
    let is_large =
        matches!(quantity, Quantity::Speed | Quantity::Torque | Quantity::Power | Quantity::Pressure);
    let plain = is_large.then(|| without_groups(&cell, decimal)).flatten().unwrap_or(cell);
    let with_point = match decimal {
        DecimalSign::Point => plain,
        // A point beside the comma is left, and then two of them are no number.
        DecimalSign::Comma => plain.replace('.', "..").replacen(',', ".", 1),
    };
    let is_plain = with_point.chars().all(|c| c.is_ascii_digit() || "+-.eE".contains(c));
    with_point.parse().ok().filter(|number: &f64| is_plain && number.is_finite())
}

/// What a cell says of the decimal sign.
fn told(cell: &str) -> Told {
    let (commas, points) = (cell.matches(',').count(), cell.matches('.').count());
    let (sign, other) = match (commas, points) {
        (0, 0) => return Told::Nothing,
        // Of both, the last; and what stands twice is none.
        (1, 1..) if cell.rfind(',') > cell.rfind('.') => return Told::Decimal(DecimalSign::Comma),
        (1.., 1) if cell.rfind('.') > cell.rfind(',') => return Told::Decimal(DecimalSign::Point),
        (2.., 0) => return Told::Decimal(DecimalSign::Point),
        (0, 2..) => return Told::Decimal(DecimalSign::Comma),
        (1, 0) => (DecimalSign::Comma, DecimalSign::Point),
        (0, 1) => (DecimalSign::Point, DecimalSign::Comma),
        _ => return Told::Nothing,
    };
    // "5,000" may be five thousand.
    match without_groups(cell, other) {
        Some(_) => Told::Either(sign),
        None => Told::Decimal(sign),
    }
}

/// What a cell says.
enum Told {
    Nothing,
    Decimal(DecimalSign),
    Either(DecimalSign),
}

/// The decimal sign of cells, each with whether it is an rpm: the one that most show beyond doubt. Three digits behind the only sign of
/// every rpm are thousands, for engines turn more than 1000 rpm.
pub(super) fn decimal_sign<'a>(cells: impl Iterator<Item = (bool, &'a str)>) -> DecimalSign {
    let (mut points, mut commas, mut rpm_either, mut either) = (0, 0, [0; 2], [0; 2]);
    for (is_rpm, cell) in cells {
        match told(cell) {
            Told::Nothing => {}
            Told::Decimal(DecimalSign::Point) => points += 1,
            Told::Decimal(DecimalSign::Comma) => commas += 1,
            Told::Either(sign) if is_rpm => rpm_either[usize::from(sign == DecimalSign::Comma)] += 1,
            Told::Either(sign) => either[usize::from(sign == DecimalSign::Comma)] += 1,
        }
    }
    let of = |is_comma: bool| if is_comma { DecimalSign::Comma } else { DecimalSign::Point };
    match (points, commas) {
        (0, 0) if rpm_either != [0, 0] => of(rpm_either[1] <= rpm_either[0]),
        (0, 0) => of(either[1] > either[0]),
        _ => of(commas > points),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thousands_are_read_where_they_can_be_meant() {
        for (cell, decimal, wanted) in [
            ("5,000", DecimalSign::Point, Some(5000.0)),
            ("1.234,5", DecimalSign::Comma, Some(1234.5)),
            ("1,234.5", DecimalSign::Point, Some(1234.5)),
            ("12\u{2009}345,6", DecimalSign::Comma, Some(12345.6)),
            ("5'250", DecimalSign::Point, Some(5250.0)),
            ("5\u{202F}250", DecimalSign::Comma, Some(5250.0)),
            ("-1,234", DecimalSign::Point, Some(-1234.0)),
            ("1234.5", DecimalSign::Point, Some(1234.5)),
            ("0,887", DecimalSign::Comma, Some(0.887)),
            ("0,887", DecimalSign::Point, None),
            ("12,34", DecimalSign::Point, None),
            ("1,23,456", DecimalSign::Point, None),
            ("5,000,00", DecimalSign::Point, None),
            ("about 5", DecimalSign::Point, None),
            ("", DecimalSign::Point, None),
        ] {
            assert_eq!(parsed(cell, decimal, Quantity::Speed), wanted, "{cell}");
        }
        // A mixture of more than a thousand is a slip of the sign.
        assert_eq!(parsed("1.234", DecimalSign::Comma, Quantity::Lambda), None);
    }

    #[test]
    fn the_decimal_sign_is_found() {
        let found = |rpm: &[&str], other: &[&str]| {
            let rpm = rpm.iter().map(|cell| (true, *cell));
            decimal_sign(rpm.chain(other.iter().map(|cell| (false, *cell))))
        };
        assert_eq!(found(&["2,000", "2,100"], &["100", "101"]), DecimalSign::Point);
        assert_eq!(found(&["2,000", "2,100"], &["100.5"]), DecimalSign::Point);
        assert_eq!(found(&["2.000", "2.100"], &["100", "101"]), DecimalSign::Comma);
        assert_eq!(found(&["2.000", "2.100"], &["150,125"]), DecimalSign::Comma);
        assert_eq!(found(&["2000"], &["150,125"]), DecimalSign::Comma);
        assert_eq!(found(&["2000"], &["150,5", "1.234,5"]), DecimalSign::Comma);
        assert_eq!(found(&["2000.000"], &["150.125"]), DecimalSign::Point);
        assert_eq!(found(&["2000"], &["1,234.5", "99.5"]), DecimalSign::Point);
        assert_eq!(found(&["2000"], &["100"]), DecimalSign::Point);
    }

    #[test]
    fn cells_that_say_nothing_are_missing() {
        for cell in ["---", "-", "–", "n/a", "N/A", "NaN", "#N/A", "null", ""] {
            assert!(is_missing(cell), "{cell}");
        }
        for cell in ["0", "-1", "about 110", "nm"] {
            assert!(!is_missing(cell), "{cell}");
        }
    }
}
