//! In what a build differs from another one: its own value first, that of the first build behind it.

use super::Say;
use crate::engine::{Build, Chamber, Injection};
use crate::estimate::BuildDifference;
use crate::report::Units;
use crate::report::quantity::Dimension::Length;
use crate::report::quantity::fixed;

metric_words!(BuildDifference);

impl Say for BuildDifference {
    fn say(&self, units: Units) -> String {
        let pair = |what: &str, first: String, this: String| format!("{what} {this}, against {first}");
        let number = |what: &str, unit: &str, first: f64, this: f64, digits: usize| {
            pair(what, fixed(first, digits) + unit, fixed(this, digits) + unit)
        };
        let size = |[bore, stroke]: &[f64; 2]| {
            let [bore, stroke] = [bore, stroke].map(|held| units.words(Length, *held));
            format!("{bore} by {stroke}")
        };
        match self {
            Self::Ratio(first, this) => number("compression ratio", ":1", *first, *this, 2),
            Self::Cylinders(first, this) => pair("cylinders", first.to_string(), this.to_string()),
            Self::Displacement(first, this) => {
                pair("displacement", units.displacement_words(*first), units.displacement_words(*this))
            }
            Self::BoreAndStroke(first, this) => pair("bore and stroke", size(first), size(this)),
            Self::Rod => "rod length or pin offset".to_owned(),
            Self::Kind((first, of_first), (this, of_this)) => {
                pair("kind:", first.words(*of_first).to_owned(), this.words(*of_this).to_owned())
            }
            Self::Breathing => "where VE comes from, or its figures".to_owned(),
            Self::Peaks(first, this) => {
                let said = |(torque, power): &(f64, f64)| {
                    format!("{} and {} rpm", fixed(*torque, 0), fixed(*power, 0))
                };
                pair("peak torque and peak power at", said(first), said(this))
            }
            Self::ValveEvents(first, this) => {
                let said = |[closes, opens, overlap]: &[f64; 3]| {
                    let [closes, opens, overlap] = [closes, opens, overlap].map(|deg| fixed(*deg, 0));
                    format!("{closes} deg ABDC, exhaust opens {opens} deg BBDC, overlap {overlap} deg")
                };
                pair("cam: intake closes", said(first), said(this))
            }
            Self::Valves => "size, number or flow of the valves".to_owned(),
            Self::Injection(first, this) => {
                pair("injection:", injection(*first).to_owned(), injection(*this).to_owned())
            }
            Self::Chamber(first, this) => {
                pair("chamber:", chamber(*first).to_owned(), chamber(*this).to_owned())
            }
            Self::BurnSpeed(first, this) => number("burn speed", "", *first, *this, 2),
            Self::Heat => "cooling, or heat lost to coolant and oil".to_owned(),
            Self::Friction => "friction law".to_owned(),
            Self::Driveline(first, this) => format!("{}; against {}", this.say(units), first.say(units)),
            Self::Reserve(first, this) => number("safety margin", " octane numbers", *first, *this, 1),
            Self::TimingRange(first, this) => {
                let said = |range: &crate::estimate::spark::SparkRange| {
                    let ends = [range.latest_deg_btdc, range.earliest_deg_btdc].map(|deg| fixed(deg, 0));
                    format!("{} to {} deg BTDC", ends[0], ends[1])
                };
                pair("timing range", said(first), said(this))
            }
            Self::RevLimit(first, this) => number("highest rpm", " rpm", *first, *this, 0),
            Self::Speeds => "rpm that are computed".to_owned(),
            Self::Deposits(first, this) => pair("deposits:", first.key().to_owned(), this.key().to_owned()),
            Self::KnownPoints => "known knock points or timing swings".to_owned(),
            Self::Limits => "mechanical limits that are stated".to_owned(),
            Self::Stated => "what is stated, and what is taken as usual".to_owned(),
        }
    }
}

/// An engine in a line: cylinders, size, valves, chamber, injection and ratio.
pub(in crate::report) fn build_words(build: &Build, units: Units) -> String {
    let (geometry, valves) = (&build.geometry, &build.valves);
    let unit = Length.unit(units);
    let [bore, stroke] = [geometry.bore_m, geometry.stroke_m].map(|m| fixed(unit.of(m), unit.digits - 1));
    let cylinders = match geometry.cylinders {
        1 => "1 cylinder".to_owned(),
        several => format!("{several} cylinders"),
    };
    format!(
        "{}, {cylinders}, bore and stroke {bore} by {stroke} {}, {} valves a cylinder, {} chamber, {} injection; compression ratio {}:1 as built",
        units.displacement_words(geometry.displacement_m3()),
        unit.symbol,
        valves.inlet_count + valves.exhaust_count,
        chamber(build.combustion.chamber),
        injection(build.injection),
        fixed(geometry.compression_ratio.get(), 1)
    )
}

fn injection(injection: Injection) -> &'static str {
    match injection {
        Injection::Port => "port",
        Injection::Direct => "direct",
    }
}

fn chamber(chamber: Chamber) -> &'static str {
    match chamber {
        Chamber::PentRoof => "pent roof",
        Chamber::Wedge => "wedge",
        Chamber::Hemispherical => "hemispherical",
    }
}
