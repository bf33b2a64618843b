//! Units that the keys of a scenario carry, and the slips people make between them.

use crate::units::{
    M_PER_INCH, M3_PER_S_PER_CFM, PA_PER_INCH_OF_WATER, PA_PER_PSI, fahrenheit_to_k, k_to_celsius,
};
use std::fmt;

/// Unit of a number in a scenario file. The key name carries it, the value never does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// No unit.
    None,
    /// Air-fuel equivalence ratio, no unit.
    Lambda,
    /// A fraction, no unit.
    Fraction,
    /// Millimetres.
    Millimetre,
    /// Metres of altitude.
    Metre,
    /// Cubic centimetres.
    CubicCentimetre,
    /// Cubic centimetres per millimetre of cut.
    CubicCentimetrePerMillimetre,
    /// Degrees Celsius.
    Celsius,
    /// Kilopascals, absolute.
    Kilopascal,
    /// Bar, absolute.
    Bar,
    /// Per cent.
    Percent,
    /// Crank revolutions per minute.
    Rpm,
    /// Degrees of crank angle.
    CrankDegree,
    /// Metres per second.
    MetrePerSecond,
    /// Pascals of pressure difference.
    Pascal,
    /// Inches of water of pressure difference.
    InchOfWater,
    /// Litres per second.
    LitrePerSecond,
    /// Cubic feet per minute.
    CubicFootPerMinute,
    /// Cubic centimetres per minute.
    CcPerMinute,
    /// Litres per hour.
    LitrePerHour,
    /// Kilograms per litre.
    KilogramPerLitre,
    /// Kilopascals of pressure difference.
    KilopascalAcross,
}

/// Another unit in words, and the way from it to the key's unit.
type Slip = (&'static str, fn(f64) -> f64);

impl Unit {
    /// Short form as printed after a number; empty when there is none.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::None | Self::Lambda | Self::Fraction => "",
            Self::Millimetre => "mm",
            Self::Metre => "m",
            Self::CubicCentimetre => "cc",
            Self::CubicCentimetrePerMillimetre => "cc/mm",
            Self::Celsius => "C",
            Self::Kilopascal | Self::KilopascalAcross => "kPa",
            Self::Bar => "bar",
            Self::Percent => "%",
            Self::Rpm => "rpm",
            Self::CrankDegree => "deg",
            Self::MetrePerSecond => "m/s",
            Self::Pascal => "Pa",
            Self::InchOfWater => "in of water",
            Self::LitrePerSecond => "l/s",
            Self::CubicFootPerMinute => "cfm",
            Self::CcPerMinute => "cc/min",
            Self::LitrePerHour => "L/h",
            Self::KilogramPerLitre => "kg/L",
        }
    }

    /// Unit in words, as used in hints.
    pub fn words(self) -> &'static str {
        match self {
            Self::None => "a bare number",
            Self::Lambda => "lambda, actual over stoichiometric air",
            Self::Fraction => "a fraction",
            Self::Millimetre => "millimetres",
            Self::Metre => "metres",
            Self::CubicCentimetre => "cubic centimetres",
            Self::CubicCentimetrePerMillimetre => "cubic centimetres per millimetre",
            Self::Celsius => "degrees Celsius",
            Self::Kilopascal | Self::KilopascalAcross => "kilopascals",
            Self::Bar => "bar",
            Self::Percent => "per cent",
            Self::Rpm => "revolutions per minute",
            Self::CrankDegree => "degrees of crank angle",
            Self::MetrePerSecond => "metres per second",
            Self::Pascal => "pascals",
            Self::InchOfWater => "inches of water",
            Self::LitrePerSecond => "litres per second",
            Self::CubicFootPerMinute => "cubic feet per minute",
            Self::CcPerMinute => "cubic centimetres per minute",
            Self::LitrePerHour => "litres per hour",
            Self::KilogramPerLitre => "kilograms per litre",
        }
    }

    /// A hint when `value` would be in range had it been meant in another unit.
    ///
    /// # Arguments
    /// - `typed`: the value as it stands in the file
    /// - `value`: the same as a number, in this unit
    /// - `low`, `high`: allowed range in this unit
    ///
    /// # Returns
    /// For example "0.0875 looks like metres; the key is in millimetres".
    pub fn slip_hint(self, typed: &str, value: f64, low: f64, high: f64) -> Option<String> {
        let meant: Vec<&str> = self
            .slips()
            .iter()
            .filter(|(_, convert)| (low..=high).contains(&convert(value)))
            .map(|(name, _)| *name)
            .collect();
        let verb = if self.symbol().is_empty() { "takes" } else { "is in" };
        (!meant.is_empty())
            .then(|| format!("{typed} looks like {}; the key {verb} {}", meant.join(" or "), self.words()))
    }

    /// Other units people type for this one, each with the way back to this unit.
    fn slips(self) -> &'static [Slip] {
        match self {
            Self::None | Self::CrankDegree => &[],
            Self::CubicCentimetrePerMillimetre => &[("square centimetres", |v| v / 10.0)],
            Self::Pascal => &[
                ("kilopascals", |v| v * 1.0e3),
                ("inches of water", |v| v * PA_PER_INCH_OF_WATER),
                ("millimetres of water", |v| v * PA_PER_INCH_OF_WATER / 25.4),
            ],
            Self::InchOfWater => &[("pascals", |v| v / PA_PER_INCH_OF_WATER)],
            Self::LitrePerSecond => &[("cubic metres per second", |v| v * 1.0e3)],
            Self::CubicFootPerMinute => &[("cubic metres per second", |v| v / M3_PER_S_PER_CFM)],
            Self::CcPerMinute => &[("pounds per hour", |v| v * 10.5), ("litres per minute", |v| v * 1.0e3)],
            Self::LitrePerHour => &[("litres per minute", |v| v * 60.0)],
            Self::KilogramPerLitre => &[("kilograms per cubic metre", |v| v / 1.0e3)],
            Self::KilopascalAcross => &[
                ("bar", |v| v * 100.0),
                ("pounds per square inch", |v| v * PA_PER_PSI * 1.0e-3),
                ("pascals", |v| v * 1.0e-3),
            ],
            Self::Lambda => &[("an air-fuel ratio of gasoline", |v| v / 14.7)],
            Self::Fraction => &[("per cent", |v| v / 100.0)],
            Self::Percent => &[("a fraction", |v| v * 100.0)],
            Self::Millimetre => &[
                ("metres", |v| v * 1.0e3),
                ("inches", |v| v * M_PER_INCH * 1.0e3),
                ("centimetres", |v| v * 10.0),
            ],
            Self::Metre => &[("feet", |v| v * 12.0 * M_PER_INCH), ("kilometres", |v| v * 1.0e3)],
            Self::CubicCentimetre => &[
                ("litres", |v| v * 1.0e3),
                ("cubic metres", |v| v * 1.0e6),
                ("cubic millimetres", |v| v * 1.0e-3),
                ("cubic inches", |v| v * (M_PER_INCH * 100.0).powi(3)),
            ],
            Self::Celsius => {
                &[("kelvin", k_to_celsius), ("degrees Fahrenheit", |v| k_to_celsius(fahrenheit_to_k(v)))]
            }
            Self::Kilopascal => &[
                ("pascals", |v| v * 1.0e-3),
                ("hectopascals or millibar", |v| v * 0.1),
                ("bar", |v| v * 100.0),
                ("pounds per square inch", |v| v * PA_PER_PSI * 1.0e-3),
            ],
            Self::Bar => &[
                ("pascals", |v| v * 1.0e-5),
                ("kilopascals", |v| v * 1.0e-2),
                ("megapascals", |v| v * 10.0),
                ("pounds per square inch", |v| v * PA_PER_PSI * 1.0e-5),
            ],
            Self::Rpm => &[
                ("thousands of revolutions per minute", |v| v * 1.0e3),
                ("revolutions per second", |v| v * 60.0),
            ],
            Self::MetrePerSecond => &[
                ("feet per minute", |v| v * 12.0 * M_PER_INCH / 60.0),
                ("feet per second", |v| v * 12.0 * M_PER_INCH),
            ],
        }
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

#[cfg(test)]
mod tests {
    use super::Unit;

    /// HAND: 0.0875 m and 3.44 in are 87.5 mm and 87.4 mm; 8.75 cm is 87.5 mm.
    #[test]
    fn names_the_unit_that_was_meant() {
        let hint = |value| Unit::Millimetre.slip_hint(&format!("{value}"), value, 40.0, 150.0);
        assert_eq!(hint(0.0875).unwrap(), "0.0875 looks like metres; the key is in millimetres");
        assert_eq!(hint(3.44).unwrap(), "3.44 looks like inches; the key is in millimetres");
        assert_eq!(hint(8.75).unwrap(), "8.75 looks like centimetres; the key is in millimetres");
        assert_eq!(hint(700.0), None);
    }

    /// HAND: 298 K is 24.85 C; 77 F is 25 C.
    #[test]
    fn tells_kelvin_from_fahrenheit() {
        let hint = |value| Unit::Celsius.slip_hint(&format!("{value}"), value, -20.0, 50.0);
        assert!(hint(298.0).unwrap().contains("kelvin"));
        assert!(hint(77.0).unwrap().contains("Fahrenheit"));
    }
}
