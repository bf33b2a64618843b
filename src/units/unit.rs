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
        "crankdeg" "degbeforetdc" "grad" "gradkw" "gradkwvot" "gradkwvorot"] |v| v;
    Rpm "rpm" "revolutions per minute" ["1min" "min1" "min⁻¹" "revmin" "umin" "upm"] |v| v;
    ThousandRpm "1000 rpm" "thousands of revolutions per minute" [] |v| v * 1e3;
    RevolutionPerSecond "rev/s" "revolutions per second" [] |v| v * 60.0;
    Millimetre "mm" "millimetres" ["millimetre" "millimetres" "millimeter" "millimeters"] |v| v / 1e3;
    Centimetre "cm" "centimetres" [] |v| v / 100.0;
    Metre "m" "metres" ["metre" "metres" "meter" "meters"] |v| v;
    Kilometre "km" "kilometres" [] |v| v * 1e3;
    Inch "in" "inches" ["inch" "inches" "\"" "''"] |v| v * M_PER_INCH;
    Foot "ft" "feet" ["foot" "feet" "'"] |v| v * 12.0 * M_PER_INCH;
    SquareCentimetre "cm2" "square centimetres" [] |v| v * 1e-4;
    CubicCentimetrePerMillimetre "cc/mm" "cubic centimetres per millimetre" [] |v| v * 1e-3;
    CubicMillimetre "mm3" "cubic millimetres" [] |v| v * 1e-9;
    CubicCentimetre "cc" "cubic centimetres" ["cm3" "cm³" "ccm" "ml"] |v| v / 1e6;
    Litre "L" "litres" ["litre" "litres" "liter" "liters"] |v| v * M3_PER_L;
    CubicMetre "m3" "cubic metres" [] |v| v;
    CubicInch "cu in" "cubic inches" ["in3" "in³" "cuin" "cui" "cid" "ci" "cubicinches"] |v| v * M_PER_INCH.powi(3);
    UsGallon "gal" "US gallons" [] |v| v * M3_PER_GALLON;
    Celsius "C" "degrees Celsius" ["degc" "celsius"] celsius_to_k;
    Fahrenheit "F" "degrees Fahrenheit" ["degf" "fahrenheit"] fahrenheit_to_k;
    Kelvin "K" "kelvin" ["kelvin"] |v| v;
    CelsiusStep "C" "degrees Celsius of difference" ["degc" "k"] |v| v;
    FahrenheitStep "F" "degrees Fahrenheit of difference" ["degf"] |v| v / 1.8;
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
    InchOfWater "in of water" "inches of water" ["inh2o" "inh₂o" "inwater" "inwc"] |v| v * PA_PER_INCH_OF_WATER;
    MillimetreOfWater "mm of water" "millimetres of water" ["mmh2o" "mmwater"] |v| v * PA_PER_INCH_OF_WATER / 25.4;
    Gram "g" "grams" ["gram" "grams"] |v| v * 1e-3;
    Milligram "mg" "milligrams" ["milligram" "milligrams"] |v| v * 1e-6;
    LitrePerSecond "l/s" "litres per second" [] |v| v * 1e-3;
    CubicMetrePerSecond "m3/s" "cubic metres per second" [] |v| v;
    CubicFootPerMinute "cfm" "cubic feet per minute" [] |v| v * M3_PER_S_PER_CFM;
    CcPerMinute "cc/min" "cubic centimetres per minute" ["ccm" "mlmin"] |v| v / 6e7;
    // What shops take a pound per hour of an injector for: 10.5 cc/min (common practice, no source).
    InjectorPoundPerHour "lb/h" "pounds per hour" ["lbhr" "lbshr" "pph"] |v| v * 10.5 / 6e7;
    LitrePerMinute "L/min" "litres per minute" [] |v| v / 6e4;
    LitrePerHour "L/h" "litres per hour" ["lph"] |v| v / 3.6e6;
    UsGallonPerHour "gal/h" "US gallons per hour" ["gph"] |v| v * M3_PER_GALLON / 3600.0;
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
    KilometrePerHour "km/h" "kilometres per hour" ["kph"] |v| v / 3.6;
    MilePerHour "mph" "miles per hour" ["mih"] |v| v * 5280.0 * 12.0 * M_PER_INCH / 3600.0;
    FootPerMinute "ft/min" "feet per minute" [] |v| v * 12.0 * M_PER_INCH / 60.0;
    FootPerSecond "ft/s" "feet per second" [] |v| v * 12.0 * M_PER_INCH;
    NewtonMetre "N m" "newton metres" ["newtonmetre" "newtonmeter"] |v| v;
    PoundFoot "lb-ft" "pound-feet" ["lbfft" "ftlb" "ftlbf" "ftlbs" "lbsft" "lbfts" "poundfeet" "footpounds"]
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

    /// A value of the unit used inside in this one, as a person would write it: without the last digits, which a conversion costs.
    pub(crate) fn written(self, value: f64) -> f64 {
        (1e6 * self.of_si(value)).round() / 1e6
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

    /// Its symbol and its spellings, but for that of no unit.
    pub(crate) fn all_spellings(self) -> Vec<String> {
        let all = [self.symbol()].into_iter().chain(self.facts().spellings.iter().copied());
        all.filter(|one| !one.is_empty()).map(str::to_owned).collect()
    }

    /// Symbols of some units, for messages.
    pub fn listed(units: &[Self]) -> String {
        units.iter().map(|unit| unit.symbol()).collect::<Vec<_>>().join(", ")
    }

    /// The numbers of a range in this unit.
    pub const fn of(self, range: RangeInclusive<f64>) -> Allowed {
        Allowed { low: *range.start(), high: *range.end(), unit: self }
    }

    /// Units in which a quantity may be typed whose key or message is in this one, the usual ones first; none when it is
    /// typed without a unit alone.
    pub fn family(self) -> &'static [Self] {
        match self {
            Self::Millimetre => &[Self::Millimetre, Self::Inch, Self::Centimetre, Self::Metre],
            Self::Metre => &[Self::Metre, Self::Foot, Self::Kilometre],
            Self::CubicCentimetre => &[Self::CubicCentimetre, Self::CubicInch, Self::Litre],
            Self::CubicCentimetrePerMillimetre => {
                &[Self::CubicCentimetrePerMillimetre, Self::SquareCentimetre]
            }
            Self::Celsius => &[Self::Celsius, Self::Fahrenheit, Self::Kelvin],
            Self::CelsiusStep => &[Self::CelsiusStep, Self::FahrenheitStep],
            Self::Kilopascal | Self::Bar => &[
                Self::Kilopascal,
                Self::Bar,
                Self::PoundPerSquareInch,
                Self::InchOfMercury,
                Self::Hectopascal,
                Self::Millibar,
                Self::MillimetreOfMercury,
                Self::Pascal,
                Self::Megapascal,
            ],
            Self::PascalAcross | Self::InchOfWater => {
                &[Self::InchOfWater, Self::KilopascalAcross, Self::PascalAcross, Self::MillimetreOfWater]
            }
            Self::KilopascalAcross => {
                &[Self::KilopascalAcross, Self::Bar, Self::PoundPerSquareInch, Self::Megapascal]
            }
            Self::LitrePerSecond | Self::CubicFootPerMinute => {
                &[Self::LitrePerSecond, Self::CubicFootPerMinute, Self::CubicMetrePerSecond]
            }
            Self::CcPerMinute => &[Self::CcPerMinute, Self::InjectorPoundPerHour, Self::LitrePerMinute],
            Self::LitrePerHour => &[Self::LitrePerHour, Self::UsGallonPerHour, Self::LitrePerMinute],
            Self::KilogramPerLitre => &[Self::KilogramPerLitre, Self::KilogramPerCubicMetre],
            Self::MetrePerSecond => &[Self::MetrePerSecond, Self::FootPerMinute, Self::FootPerSecond],
            Self::Kilowatt => &[Self::Kilowatt, Self::Horsepower, Self::MetricHorsepower],
            Self::Percent => &[Self::Percent],
            Self::Rpm => &[Self::Rpm],
            Self::CrankDegree => &[Self::CrankDegree],
            _ => &[],
        }
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
    /// For example "0.0875 looks like metres; the key is in millimetres, that is 87.5".
    pub fn slip_hint(&self, value: f64) -> Option<String> {
        let slips = self.unit.slips().iter();
        let meant: Vec<&Unit> = slips.filter(|slip| self.si().contains(&slip.to_si(value))).collect();
        let converted: Vec<String> =
            meant.iter().map(|slip| rounded(self.unit.of_si(slip.to_si(value)))).collect();
        let verb = if self.unit.symbol().is_empty() { "takes" } else { "is in" };
        let words: Vec<&str> = meant.iter().map(|slip| slip.words()).collect();
        let (meant, converted, words) = (words.join(" or "), converted.join(" or "), self.unit.words());
        (!meant.is_empty())
            .then(|| format!("{value} looks like {meant}; the key {verb} {words}, that is {converted}"))
    }

    /// A number with its unit as typed, such as "4.030 in", in the unit of what is allowed; a ratio may end in ":1".
    ///
    /// # Errors
    /// [`TypedFault`]: no number, no unit, or one that the quantity does not have. The range is not checked.
    pub fn typed(&self, typed: &str) -> Result<f64, TypedFault> {
        let (number, unit) = split_number(typed);
        let value: f64 = number.parse().map_err(|_| TypedFault::NoNumber)?;
        if self.unit == Unit::None && squeezed(unit) == ":1" {
            return Ok(value);
        }
        match Unit::spelled(unit, self.unit.family()) {
            Some(typed_in) if typed_in == self.unit => Ok(value),
            Some(typed_in) => Ok(self.unit.of_si(typed_in.to_si(value))),
            None if unit.is_empty() => Err(TypedFault::NoUnit),
            None => Err(TypedFault::Unit),
        }
    }
}

/// Why a number with its unit is not one of a quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TypedFault {
    /// It does not begin with a number.
    NoNumber,
    /// It has no unit.
    NoUnit,
    /// The quantity is not given in that unit.
    Unit,
}

/// A number to four digits that count, as a person would write it.
pub(crate) fn rounded(value: f64) -> String {
    let digits = (3.0 - value.abs().max(1e-9).log10().floor()).clamp(0.0, 6.0) as usize;
    let text = format!("{value:.digits$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
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
        assert_eq!(
            hint(0.0875).unwrap(),
            "0.0875 looks like metres; the key is in millimetres, that is 87.5"
        );
        assert_eq!(hint(3.44).unwrap(), "3.44 looks like inches; the key is in millimetres, that is 87.38");
        assert_eq!(
            hint(8.75).unwrap(),
            "8.75 looks like centimetres; the key is in millimetres, that is 87.5"
        );
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

    /// HAND: 4.030 in = 102.362 mm; 95 F = 35 C; 29.2 inHg = 98.8826 kPa; 5000 ft = 1524 m; 350 cu in = 5735.5 cc;
    /// 28 in of water = 6974.5 Pa; 200 psi = 1379 kPa = 13.79 bar; 18 F warmer is 10 C warmer.
    #[test]
    fn a_number_is_read_with_its_unit() {
        let read = |unit: Unit, typed: &str| unit.of(0.0..=1.0).typed(typed);
        for (unit, typed, value) in [
            (Unit::Millimetre, "4.030 in", 102.362),
            (Unit::Millimetre, "4.030\"", 102.362),
            (Unit::Celsius, "95 F", 35.0),
            (Unit::Kilopascal, "29.2 inHg", 98.8826),
            (Unit::Metre, "5000 ft", 1524.0),
            (Unit::CubicCentimetre, "350 ci", 5735.47),
            (Unit::PascalAcross, "28 inH2O", 6974.49),
            (Unit::Bar, "200 psi", 13.7895),
            (Unit::CelsiusStep, "18 F", 10.0),
            (Unit::None, "10.5 : 1", 10.5),
            (Unit::Rpm, "5800rpm", 5800.0),
        ] {
            assert_relative_eq!(read(unit, typed).unwrap(), value, max_relative = 1e-5);
        }
        assert_eq!(read(Unit::Millimetre, "64 cc"), Err(TypedFault::Unit));
        assert_eq!(read(Unit::Millimetre, "64"), Err(TypedFault::NoUnit));
        assert_eq!(read(Unit::Millimetre, "wide"), Err(TypedFault::NoNumber));
    }
}
