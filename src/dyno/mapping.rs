//! What the user says about a log that the log does not say itself.

use super::log::{LogCorrection, Place};
use super::road::Gearing;
use super::unit::Quantity;
use crate::units::Unit;

/// Which column is meant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ColumnName {
    /// By its heading; case and outer blanks do not count.
    Heading(String),
    /// By its number, from 1.
    Number(usize),
}

impl ColumnName {
    /// Reads a heading, or a number behind a `#`.
    fn read(typed: &str) -> Self {
        match typed.strip_prefix('#').and_then(|number| number.parse().ok()) {
            Some(number) if number > 0 => Self::Number(number),
            _ => Self::Heading(typed.to_owned()),
        }
    }

    /// Whether this is the column at an index, from 0, with a heading.
    pub(super) fn is(&self, index: usize, heading: &str) -> bool {
        match self {
            Self::Heading(name) => name.trim().to_lowercase() == heading.trim().to_lowercase(),
            Self::Number(number) => *number == index + 1,
        }
    }
}

/// One column and what it is.
#[derive(Clone, Debug, PartialEq)]
pub struct ColumnMap {
    /// The column.
    pub column: ColumnName,
    /// What it holds; none to leave it out.
    pub quantity: Option<Quantity>,
    /// Its unit, where it is stated; that of the header counts otherwise.
    pub unit: Option<Unit>,
    /// As typed, for messages.
    pub typed: String,
}

impl ColumnMap {
    /// Reads `torque=TQ1 in lb-ft`, `speed=#2 in rpm`, `power=Output [kW]` or `ignore=TQ raw`.
    ///
    /// # Errors
    /// In words, when the quantity is not known or the column is missing.
    ///
    /// # Example
    /// ```
    /// use endgas::dyno::{ColumnMap, Quantity};
    /// let map = ColumnMap::read("torque = TQ1 in lb-ft").unwrap();
    /// assert_eq!(map.quantity, Some(Quantity::Torque));
    /// assert_eq!(map.unit.unwrap().symbol(), "lb-ft");
    /// assert!(ColumnMap::read("boost=MAP").is_err());
    /// ```
    pub fn read(typed: &str) -> Result<Self, String> {
        let wrong = || {
            let keys: Vec<&str> = Quantity::ALL.iter().map(|q| q.key()).collect();
            format!(
                "a column is mapped as \"torque=HEADING in lb-ft\" or \"torque=#3 in N m\"; quantities are {}, ignore",
                keys.join(", ")
            )
        };
        let (key, rest) = typed.split_once('=').ok_or_else(wrong)?;
        let (key, rest) = (key.trim(), rest.trim());
        let quantity = Quantity::ALL.into_iter().find(|q| q.key().eq_ignore_ascii_case(key));
        if rest.is_empty() || quantity.is_none() && !key.eq_ignore_ascii_case("ignore") {
            return Err(wrong());
        }
        // The last " in " that is followed by a unit; headings may hold the word, too.
        let unit = quantity.and_then(|q| {
            let (heading, unit) = rest.rsplit_once(" in ")?;
            Some((heading.trim(), q.unit(unit)?))
        });
        let (heading, unit) = unit.map_or((rest, None), |(heading, unit)| (heading, Some(unit)));
        Ok(Self { column: ColumnName::read(heading), quantity, unit, typed: typed.trim().to_owned() })
    }
}

/// The sign between whole number and fraction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DecimalSign {
    /// 1.5
    Point,
    /// 1,5
    Comma,
}

/// What the user says about a log. The default says nothing: all is read from the file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mapping {
    /// Engine speed over vehicle speed, for a log that holds no rpm.
    pub gearing: Option<Gearing>,
    /// Whether idle, roll-on, rev limiter, lift-off and coast-down stay in the pulls.
    pub keep_ends: bool,
    /// Sheet of a workbook that holds the log; needed where more than one does.
    pub sheet: Option<String>,
    /// Sign between the columns; found from the header where not stated.
    pub delimiter: Option<char>,
    /// Decimal sign; found from the numbers where not stated.
    pub decimal: Option<DecimalSign>,
    /// Columns mapped by hand.
    pub columns: Vec<ColumnMap>,
    /// Where the figures were taken.
    pub place: Option<Place>,
    /// Whether they are corrected.
    pub correction: Option<LogCorrection>,
    /// Air-fuel ratio that the meter shows at lambda 1, for an air-fuel ratio column [-], 5 to 20; none for
    /// [`crate::units::GAUGE_AFR_STOICH`].
    pub afr_stoich: Option<f64>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_mapped_by_heading_and_by_number() {
        let map = ColumnMap::read("torque=Torque in gear in N m").unwrap();
        assert_eq!(map.column, ColumnName::Heading("Torque in gear".to_owned()));
        assert_eq!(map.unit.unwrap().symbol(), "N m");
        assert!(map.column.is(7, " torque IN gear "));
        let map = ColumnMap::read("speed = #2 in rpm").unwrap();
        assert!(map.column.is(1, "") && !map.column.is(2, "#2"));
        let map = ColumnMap::read("ignore=TQ raw").unwrap();
        assert_eq!((map.quantity, map.unit), (None, None));
        // The tail is no unit of torque, so it belongs to the heading.
        let map = ColumnMap::read("torque=out in kW").unwrap();
        assert_eq!(map.column, ColumnName::Heading("out in kW".to_owned()));
        for wrong in ["torque", "torque=", "=TQ", "boost=MAP", ""] {
            assert!(
                ColumnMap::read(wrong).unwrap_err().contains("quantities are speed, road-speed, torque"),
                "{wrong}"
            );
        }
    }
}
