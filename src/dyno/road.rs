//! Engine speed from vehicle speed: by gears and tyre, or by one stated pair.

use super::unit::Quantity;
use crate::units::{M_PER_INCH, Unit, split_number};

/// Rolling circumference over the outer diameter of a radial tyre by its size: 3.05, not pi, because it flattens under load (ETRTO
/// standards manual, from memory).
const CIRCUMFERENCE_PER_DIAMETER: f64 = 3.05;

/// What a tyre rolls in one turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tyre {
    /// Rolling circumference [m], 0.8 to 4.
    circumference_m: f64,
}

impl Tyre {
    /// Reads a size as on the sidewall, `225/45R17`, or `circumference 1.95 m`, `diameter 25.1 in`; a diameter is that of a free
    /// tyre.
    ///
    /// # Errors
    /// In words, when it is neither.
    ///
    /// # Example
    /// ```
    /// use endgas::dyno::Tyre;
    /// // 17 in and twice 45 % of 225 mm are 634.3 mm.
    /// assert!((Tyre::read("225/45R17").unwrap().circumference_m() - 3.05 * 0.6343).abs() < 1e-4);
    /// assert!(Tyre::read("17 in").is_err());
    /// ```
    pub fn read(typed: &str) -> Result<Self, String> {
        let stated = |word: &str| {
            let rest = typed.trim().strip_prefix(word)?;
            let (number, unit) = split_number(rest);
            let unit = Unit::spelled(unit, Unit::Millimetre.family())?;
            number.parse().ok().map(|number| unit.to_si(number))
        };
        let diameter = || stated("diameter").or_else(|| size(typed)).map(|m| CIRCUMFERENCE_PER_DIAMETER * m);
        let found = stated("circumference").or_else(diameter).filter(|m| (0.8..=4.0).contains(m));
        found.map(|circumference_m| Self { circumference_m }).ok_or_else(|| {
            "a tyre is given as 225/45R17, \"circumference 1.95 m\" or \"diameter 25.1 in\", 0.8 to 4 m around"
                .to_owned()
        })
    }

    /// What it rolls in one turn [m].
    pub fn circumference_m(&self) -> f64 {
        self.circumference_m
    }
}

/// Outer diameter of a metric size [m].
fn size(typed: &str) -> Option<f64> {
    let typed = typed.trim().trim_start_matches(|c: char| c.is_ascii_alphabetic());
    let (width, rest) = typed.split_once('/')?;
    let aspect: String = rest.chars().take_while(char::is_ascii_digit).collect();
    let rim = rest[aspect.len()..].trim_start_matches(|c: char| c.is_ascii_alphabetic() || " -".contains(c));
    let rim: String = rim.chars().take_while(|c| c.is_ascii_digit() || *c == '.').collect();
    let number = |text: &str, low: f64, high: f64| {
        text.trim().parse::<f64>().ok().filter(|number| (low..=high).contains(number))
    };
    let (width_mm, aspect) = (number(width, 80.0, 400.0)?, number(&aspect, 20.0, 100.0)?);
    Some(number(&rim, 8.0, 26.0)? * M_PER_INCH + 2.0 * aspect / 100.0 * width_mm / 1e3)
}

/// Engine speed over vehicle speed in the gear of the pull.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gearing {
    /// [rpm per m/s]
    rpm_per_m_per_s: f64,
}

impl Gearing {
    /// Of gear ratio and final drive, each turns in per turn out, and the tyre.
    pub fn of_gears(gear_ratio: f64, final_drive: f64, tyre: Tyre) -> Self {
        Self { rpm_per_m_per_s: 60.0 * gear_ratio * final_drive / tyre.circumference_m }
    }

    /// Reads one pair, such as `100 km/h = 4000 rpm` or `60 mph = 3300 rpm`: 10 to 500 km/h, 500 to 15 000 rpm.
    ///
    /// # Errors
    /// In words, when it is none.
    pub fn of_pair(typed: &str) -> Result<Self, String> {
        let pair = || {
            let (road, engine) = typed.split_once('=')?;
            let of = |typed: &str, quantity: Quantity, low: f64, high: f64| {
                let (number, unit) = split_number(typed);
                let value = quantity.unit(unit)?.to_si(number.parse().ok()?);
                (low..=high).contains(&value).then_some(value)
            };
            let rpm = of(engine, Quantity::Speed, 500.0, 15_000.0)?;
            Some(Self { rpm_per_m_per_s: rpm / of(road, Quantity::RoadSpeed, 10.0 / 3.6, 500.0 / 3.6)? })
        };
        pair().ok_or_else(|| {
            "a pair is given as \"100 km/h = 4000 rpm\" or \"60 mph = 3300 rpm\", 10 to 500 km/h and 500 to 15000 rpm"
                .to_owned()
        })
    }

    /// Engine speed [rpm] at a vehicle speed [m/s].
    pub fn rpm(&self, road_m_per_s: f64) -> f64 {
        self.rpm_per_m_per_s * road_m_per_s
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// HAND: 431.8 + 202.5 = 634.3 mm; 3.05 times that is 1.9346 m; 25 in are 0.635 m.
    #[test]
    fn tyres_by_hand() {
        for (typed, circumference) in [
            ("225/45R17", 1.934_6),
            (" P225/45 ZR17", 1.934_6),
            ("225/45-17 91W", 1.934_6),
            ("circumference 1950 mm", 1.95),
            ("circumference 77 in", 1.955_8),
            ("diameter 25 in", 3.05 * 0.635),
        ] {
            assert_relative_eq!(
                Tyre::read(typed).unwrap().circumference_m(),
                circumference,
                max_relative = 1e-4
            );
        }
        for wrong in ["", "17", "1.95 m", "225/45", "225/45R99", "circumference 1.95", "diameter 9 m"] {
            assert!(Tyre::read(wrong).unwrap_err().contains("225/45R17"), "{wrong}");
        }
    }

    /// HAND: in 1.1 with 4.1 at 100 km/h = 27.78 m/s a tyre of 1.95 m turns 14.245 times a second, the engine 3855 rpm.
    #[test]
    fn gears_and_pairs_by_hand() {
        let gears = Gearing::of_gears(1.1, 4.1, Tyre::read("circumference 1.95 m").unwrap());
        assert_relative_eq!(gears.rpm(100.0 / 3.6), 3854.7, max_relative = 1e-4);
        assert_relative_eq!(
            Gearing::of_pair("100 km/h = 4000 rpm").unwrap().rpm(50.0 / 3.6),
            2000.0,
            epsilon = 1e-9
        );
        let us = Gearing::of_pair("60mph=3300 U/min").unwrap();
        assert_relative_eq!(us.rpm(120.0 * 0.447_04), 6600.0, max_relative = 1e-9);
        for wrong in
            ["", "100 km/h", "100 = 4000", "4000 rpm = 100 km/h", "100 km/h = 40 rpm", "0 mph = 4000 rpm"]
        {
            assert!(Gearing::of_pair(wrong).unwrap_err().contains("4000 rpm"), "{wrong}");
        }
    }
}
