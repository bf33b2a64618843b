//! A quantity as typed: a number with its unit; a compression ratio.

use endgas::units::CompressionRatio;
use std::ops::RangeInclusive;

/// A unit as typed, and the way from it to the unit of the range.
type Way = (&'static str, fn(f64) -> f64);

/// A quantity that may be typed in several units.
pub(super) struct Quantity {
    /// Name in a message.
    pub(super) what: &'static str,
    /// How to write it.
    pub(super) example: &'static str,
    /// Allowed values in the first unit of `units`.
    pub(super) range: RangeInclusive<f64>,
    /// Units with the way to the first; the first is that of the range.
    pub(super) units: &'static [Way],
}

impl Quantity {
    /// The value in the first unit.
    ///
    /// # Errors
    /// What is wrong, in words.
    pub(super) fn read(&self, typed: &str) -> Result<f64, String> {
        let Self { what, example, range, units } = self;
        let typed = typed.trim();
        let end = typed.find(|c: char| !(c.is_ascii_digit() || "+-.".contains(c))).unwrap_or(typed.len());
        let (number, unit) = (&typed[..end], typed[end..].trim());
        let value: f64 =
            number.parse().map_err(|_| format!("{what} is a number with its unit, such as {example}"))?;
        let names: Vec<&str> = units.iter().map(|(name, _)| *name).collect();
        let known = units.iter().find(|(name, _)| name.eq_ignore_ascii_case(unit));
        let Some((_, convert)) = known else {
            let fault =
                if unit.is_empty() { "has no unit".to_owned() } else { format!("is not given in '{unit}'") };
            return Err(format!("{what} {fault}; units are {}, as in {example}", names.join(", ")));
        };
        let found = convert(value);
        if !range.contains(&found) {
            let (low, high, unit) = (range.start(), range.end(), names[0]);
            return Err(format!("{what} of {found:.4} {unit} is outside {low} to {high} {unit}"));
        }
        Ok(found)
    }
}

/// Reads "12.5" or "12.5:1".
pub(super) fn ratio(typed: &str) -> Result<CompressionRatio, String> {
    let typed = typed.trim();
    let number = typed.strip_suffix(":1").unwrap_or(typed).trim();
    let value: f64 = number.parse().map_err(|_| "a ratio is a number such as 12.5".to_owned())?;
    CompressionRatio::new(value).map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ratio_may_end_in_to_one() {
        for typed in ["12.5", " 12.5:1 ", "12.5 :1"] {
            assert_eq!(ratio(typed), Ok(CompressionRatio::new(12.5).unwrap()), "{typed}");
        }
        for wrong in ["", ":1", "12,5", "5.9", "18.1", "NaN", "inf", "12.5:2"] {
            assert!(ratio(wrong).is_err(), "{wrong}");
        }
    }
}
