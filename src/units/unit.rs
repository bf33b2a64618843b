//! Every unit that is read, once: in the keys of files, in options, in the headings of logs and in messages.

use super::{
    GAUGE_AFR_STOICH, J_PER_BTU, KG_PER_LB, M_PER_INCH, M3_PER_GALLON, M3_PER_L, M3_PER_S_PER_CFM,
    NM_PER_KGF_M, NM_PER_LBF_FT, PA_PER_BAR, PA_PER_INCH_OF_MERCURY, PA_PER_INCH_OF_WATER,
    PA_PER_MM_OF_MERCURY, PA_PER_PSI, W_PER_HP, W_PER_PS, celsius_to_k, fahrenheit_to_k,
};
use std::fmt;
use std::ops::RangeInclusive;

/// What there is to know of a unit.
struct UnitFacts {
    symbol: &'static str,
    words: &'static str,
    spellings: &'static [&'static str],
    to_si: fn(f64) -> f64,
}

/// One row per unit: name, symbol, words, spellings beside the symbol, and the way to the unit used inside, which is
/// that of the SI but for rpm and degrees of crank angle.
macro_rules! units {
    ($($name:ident $symbol:literal $words:literal [$($spelling:literal)*] $to_si:expr;)*) => {
        /// Unit of a number that a person states.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum Unit { $(#[doc = $words] $name,)* }

        const FACTS: &[UnitFacts] = &[$(UnitFacts {
            symbol: $symbol,
            words: $words,
            spellings: &[$($spelling),*],
            to_si: $to_si,
        },)*];
    };
}

units! {
    None "" "a bare number" [] |v| v;
    Lambda "" "lambda, actual over stoichiometric air" [] |v| v;
    GasolineAfr "" "an air-fuel ratio of gasoline" [] |v| v / GAUGE_AFR_STOICH;
    Fraction "" "a fraction" [] |v| v;
    Percent "%" "per cent" ["percent" "pct" "%rh" "rh%"] |v| v / 100.0;
    Ratio "-" "a ratio" ["" "lambda" "λ" "afr" "1" ":1"] |v| v;
    Count "-" "a count" ["" "1" "count" "counts" "events" "hits"] |v| v;
    CrankDegree "deg" "degrees of crank angle" ["" "degbtdc" "btdc" "degrees" "degreesbtdc" "degca" "degcabtdc"
        "crankdeg" "degbeforetdc"] |v| v;
    Rpm "rpm" "revolutions per minute" ["1min" "min1" "revmin" "umin"] |v| v;
    ThousandRpm "1000 rpm" "thousands of revolutions per minute" [] |v| v * 1e3;
    RevolutionPerSecond "rev/s" "revolutions per second" [] |v| v * 60.0;
    Millimetre "mm" "millimetres" [] |v| v / 1e3;
    Centimetre "cm" "centimetres" [] |v| v / 100.0;
    Metre "m" "metres" [] |v| v;
    Kilometre "km" "kilometres" [] |v| v * 1e3;
    Inch "in" "inches" [] |v| v * M_PER_INCH;
    Foot "ft" "feet" [] |v| v * 12.0 * M_PER_INCH;
    SquareCentimetre "cm2" "square centimetres" [] |v| v * 1e-4;
    CubicCentimetrePerMillimetre "cc/mm" "cubic centimetres per millimetre" [] |v| v * 1e-3;
    CubicMillimetre "mm3" "cubic millimetres" [] |v| v * 1e-9;
    CubicCentimetre "cc" "cubic centimetres" [] |v| v / 1e6;
    Litre "L" "litres" [] |v| v * M3_PER_L;
    CubicMetre "m3" "cubic metres" [] |v| v;
    CubicInch "cu in" "cubic inches" [] |v| v * M_PER_INCH.powi(3);
    UsGallon "gal" "US gallons" [] |v| v * M3_PER_GALLON;
    Celsius "C" "degrees Celsius" ["degc" "celsius"] celsius_to_k;
    Fahrenheit "F" "degrees Fahrenheit" ["degf" "fahrenheit"] fahrenheit_to_k;
    Kelvin "K" "kelvin" ["kelvin"] |v| v;
    Pascal "Pa" "pascals" [] |v| v;
    Hectopascal "hPa" "hectopascals or millibar" [] |v| v * 1e2;
    Millibar "mbar" "millibar" ["mb"] |v| v * 1e2;
    Kilopascal "kPa" "kilopascals" [] |v| v * 1e3;
    Bar "bar" "bar" [] |v| v * PA_PER_BAR;
    Megapascal "MPa" "megapascals" [] |v| v * 1e6;
    PoundPerSquareInch "psi" "pounds per square inch" ["psia"] |v| v * PA_PER_PSI;
    InchOfMercury "inHg" "inches of mercury" [] |v| v * PA_PER_INCH_OF_MERCURY;
    MillimetreOfMercury "mmHg" "millimetres of mercury" ["torr"] |v| v * PA_PER_MM_OF_MERCURY;
    PascalAcross "Pa" "pascals" [] |v| v;
    KilopascalAcross "kPa" "kilopascals" [] |v| v * 1e3;
    InchOfWater "in of water" "inches of water" [] |v| v * PA_PER_INCH_OF_WATER;
    MillimetreOfWater "mm of water" "millimetres of water" [] |v| v * PA_PER_INCH_OF_WATER / 25.4;
    Gram "g" "grams" ["gram" "grams"] |v| v * 1e-3;
    Milligram "mg" "milligrams" ["milligram" "milligrams"] |v| v * 1e-6;
    LitrePerSecond "l/s" "litres per second" [] |v| v * 1e-3;
    CubicMetrePerSecond "m3/s" "cubic metres per second" [] |v| v;
    CubicFootPerMinute "cfm" "cubic feet per minute" [] |v| v * M3_PER_S_PER_CFM;
    CcPerMinute "cc/min" "cubic centimetres per minute" [] |v| v / 6e7;
    // What shops take a pound per hour of an injector for: 10.5 cc/min (common practice, no source).
    InjectorPoundPerHour "lb/h" "pounds per hour" [] |v| v * 10.5 / 6e7;
    LitrePerMinute "L/min" "litres per minute" [] |v| v / 6e4;
    LitrePerHour "L/h" "litres per hour" [] |v| v / 3.6e6;
    KilogramPerHour "kg/h" "kilograms per hour" ["kghr"] |v| v / 3600.0;
    GramPerSecond "g/s" "grams per second" [] |v| v * 1e-3;
    KilogramPerSecond "kg/s" "kilograms per second" [] |v| v;
    PoundPerHour "lb/h" "pounds per hour" ["lbhr" "lbshr" "lbsh" "pph"] |v| v * KG_PER_LB / 3600.0;
    KilogramPerLitre "kg/L" "kilograms per litre" [] |v| v * 1e3;
    KilogramPerCubicMetre "kg/m3" "kilograms per cubic metre" [] |v| v;
    PerKelvin "1/K" "parts per kelvin" [] |v| v;
    GramPerMole "g/mol" "grams per mole" [] |v| v * 1e-3;
    KilogramPerMole "kg/mol" "kilograms per mole" [] |v| v;
    KilojoulePerKilogram "kJ/kg" "kilojoules per kilogram" [] |v| v * 1e3;
    MegajoulePerKilogram "MJ/kg" "megajoules per kilogram" [] |v| v * 1e6;
    BtuPerPound "Btu/lb" "British thermal units per pound" [] |v| v * J_PER_BTU / KG_PER_LB;
    MetrePerSecond "m/s" "metres per second" [] |v| v;
    FootPerMinute "ft/min" "feet per minute" [] |v| v * 12.0 * M_PER_INCH / 60.0;
    FootPerSecond "ft/s" "feet per second" [] |v| v * 12.0 * M_PER_INCH;
    NewtonMetre "N m" "newton metres" ["newtonmetre" "newtonmeter"] |v| v;
    PoundFoot "lbf ft" "pound-feet" ["lbft" "ftlb" "ftlbf" "ftlbs" "lbsft" "lbfts" "poundfeet" "footpounds"]
        |v| v * NM_PER_LBF_FT;
    KilogramForceMetre "kgf m" "kilogram-force metres" ["kgm" "mkg" "mkgf" "kpm" "mkp"] |v| v * NM_PER_KGF_M;
    Watt "W" "watts" [] |v| v;
    Kilowatt "kW" "kilowatts" [] |v| v * 1e3;
    Horsepower "hp" "horsepower" ["bhp" "whp" "rwhp"] |v| v * W_PER_HP;
    MetricHorsepower "PS" "metric horsepower" ["cv" "ch" "pk"] |v| v * W_PER_PS;
}

impl Unit {
    fn facts(self) -> &'static UnitFacts {
        &FACTS[self as usize]
    }

    /// Short form as printed after a number; empty when there is none.
    pub fn symbol(self) -> &'static str {
        self.facts().symbol
    }

    /// Unit in words, as used in hints.
    pub fn words(self) -> &'static str {
        self.facts().words
    }

    /// The same value in the unit used inside: SI, rpm, degrees of crank angle.
    pub fn to_si(self, value: f64) -> f64 {
        (self.facts().to_si)(value)
    }

    /// A value of the unit used inside in this one.
    pub fn of_si(self, value: f64) -> f64 {
        let zero = self.to_si(0.0);
        (value - zero) / (self.to_si(1.0) - zero)
    }

    /// The first unit of some that is spelled so; capitals, blanks and signs between its parts do not count.
    pub fn spelled(typed: &str, among: &[Self]) -> Option<Self> {
        let wanted = squeezed(typed);
        let is_wanted = |unit: &Self| {
            let symbol = squeezed(unit.symbol());
            unit.facts().spellings.contains(&wanted.as_str()) || !symbol.is_empty() && symbol == wanted
        };
        among.iter().copied().find(is_wanted)
    }

    /// Symbols of some units, for messages.
    pub fn listed(units: &[Self]) -> String {
        units.iter().map(|unit| unit.symbol()).collect::<Vec<_>>().join(", ")
    }

    /// The numbers of a range in this unit.
    pub const fn of(self, range: RangeInclusive<f64>) -> Allowed {
        Allowed { low: *range.start(), high: *range.end(), unit: self }
    }

    /// Other units people type for this one.
    fn slips(self) -> &'static [Self] {
        match self {
            Self::Lambda => &[Self::GasolineAfr],
            Self::Fraction => &[Self::Percent],
            Self::Percent => &[Self::Fraction],
            Self::Rpm => &[Self::ThousandRpm, Self::RevolutionPerSecond],
            Self::Millimetre => &[Self::Metre, Self::Inch, Self::Centimetre],
            Self::Metre => &[Self::Foot, Self::Kilometre],
            Self::CubicCentimetrePerMillimetre => &[Self::SquareCentimetre],
            Self::CubicCentimetre => &[Self::Litre, Self::CubicMetre, Self::CubicMillimetre, Self::CubicInch],
            Self::Celsius => &[Self::Kelvin, Self::Fahrenheit],
            Self::Kilopascal => &[Self::Pascal, Self::Hectopascal, Self::Bar, Self::PoundPerSquareInch],
            Self::Bar => &[Self::Pascal, Self::Kilopascal, Self::Megapascal, Self::PoundPerSquareInch],
            Self::PascalAcross => &[Self::Kilopascal, Self::InchOfWater, Self::MillimetreOfWater],
            Self::KilopascalAcross => &[Self::Bar, Self::PoundPerSquareInch, Self::Pascal],
            Self::InchOfWater => &[Self::Pascal],
            Self::LitrePerSecond | Self::CubicFootPerMinute => &[Self::CubicMetrePerSecond],
            Self::CcPerMinute => &[Self::InjectorPoundPerHour, Self::LitrePerMinute],
            Self::LitrePerHour => &[Self::LitrePerMinute],
            Self::KilogramPerLitre => &[Self::KilogramPerCubicMetre],
            Self::KilogramPerCubicMetre => &[Self::KilogramPerLitre],
            Self::GramPerMole => &[Self::KilogramPerMole],
            Self::MegajoulePerKilogram => &[Self::KilojoulePerKilogram, Self::BtuPerPound],
            Self::KilojoulePerKilogram => &[Self::MegajoulePerKilogram, Self::BtuPerPound],
            Self::MetrePerSecond => &[Self::FootPerMinute, Self::FootPerSecond],
            _ => &[],
        }
    }
}

/// A unit as it is compared: lower case, without blanks and signs between its parts.
fn squeezed(typed: &str) -> String {
    typed
        .chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '.' | '-' | '_' | '*' | '/' | '·' | '⋅' | '°' | '^'))
        .flat_map(char::to_lowercase)
        .collect()
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

/// Numbers that are allowed, with their unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Allowed {
    /// Lowest, in the unit.
    pub low: f64,
    /// Highest, in the unit.
    pub high: f64,
    /// Unit of both.
    pub unit: Unit,
}

impl Allowed {
    /// The numbers without their unit.
    pub fn range(&self) -> RangeInclusive<f64> {
        self.low..=self.high
    }

    /// The same in the unit used inside.
    pub fn si(&self) -> RangeInclusive<f64> {
        self.unit.to_si(self.low)..=self.unit.to_si(self.high)
    }

    /// The nearest number that is allowed, in the unit.
    pub fn clamp(&self, value: f64) -> f64 {
        value.clamp(self.low, self.high)
    }

    /// Lowest to highest with the unit, such as "-20 to 50 C".
    pub fn ends(&self) -> String {
        format!("{} to {} {}", self.low, self.high, self.unit).trim_end().to_owned()
    }

    /// A hint when `value` would be allowed had it been meant in another unit.
    ///
    /// # Returns
    /// For example "0.0875 looks like metres; the key is in millimetres".
    pub fn slip_hint(&self, value: f64) -> Option<String> {
        let meant = self.unit.slips().iter().filter(|slip| self.si().contains(&slip.to_si(value)));
        let meant: Vec<&str> = meant.map(|slip| slip.words()).collect();
        let verb = if self.unit.symbol().is_empty() { "takes" } else { "is in" };
        let (meant, words) = (meant.join(" or "), self.unit.words());
        (!meant.is_empty()).then(|| format!("{value} looks like {meant}; the key {verb} {words}"))
    }
}

impl fmt::Display for Allowed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a number from {}", self.ends())
    }
}

/// The number at the head of a text, as typed, and what follows it.
pub fn split_number(typed: &str) -> (&str, &str) {
    let typed = typed.trim();
    let end = typed.find(|c: char| !(c.is_ascii_digit() || "+-.".contains(c))).unwrap_or(typed.len());
    let (number, rest) = typed.split_at(end);
    (number, rest.trim_start())
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// HAND: 0.0875 m and 3.44 in are 87.5 mm and 87.4 mm; 8.75 cm is 87.5 mm.
    #[test]
    fn names_the_unit_that_was_meant() {
        let hint = |value| Unit::Millimetre.of(40.0..=150.0).slip_hint(value);
        assert_eq!(hint(0.0875).unwrap(), "0.0875 looks like metres; the key is in millimetres");
        assert_eq!(hint(3.44).unwrap(), "3.44 looks like inches; the key is in millimetres");
        assert_eq!(hint(8.75).unwrap(), "8.75 looks like centimetres; the key is in millimetres");
        assert_eq!(hint(700.0), None);
    }

    /// HAND: 298 K is 24.85 C; 77 F is 25 C.
    #[test]
    fn tells_kelvin_from_fahrenheit() {
        let hint = |value| Unit::Celsius.of(-20.0..=50.0).slip_hint(value);
        assert!(hint(298.0).unwrap().contains("kelvin"));
        assert!(hint(77.0).unwrap().contains("Fahrenheit"));
    }

    /// What is typed for a unit is of the same kind of quantity: its zero and its size are of the same sign, and both
    /// ways of every conversion agree.
    #[test]
    fn every_unit_goes_there_and_back() {
        for (i, facts) in FACTS.iter().enumerate() {
            let zero = (facts.to_si)(0.0);
            assert!((facts.to_si)(1.0) > zero, "{i}: {}", facts.words);
            assert!(!facts.words.is_empty());
        }
        for unit in [Unit::Fahrenheit, Unit::InchOfMercury, Unit::MetricHorsepower, Unit::Percent] {
            assert_relative_eq!(unit.of_si(unit.to_si(12.5)), 12.5, max_relative = 1e-12);
        }
    }
}
