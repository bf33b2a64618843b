//! What was taken for what a scenario leaves out, and how to measure it.

use super::Say;
use crate::engine::{Chamber, Injection};
use crate::estimate::{Assumed, WorthMeasuring};
use crate::report::Units;
use crate::report::quantity::Dimension::{AirPressure, Length, Power, Temperature};
use crate::report::quantity::fixed;

impl Assumed {
    /// What it is called.
    pub fn title(&self) -> &'static str {
        match self {
            Self::BoreAndStroke { .. } => "bore and stroke",
            Self::Rod { .. } => "rod length",
            Self::InletValves { .. } => "intake valves",
            Self::ExhaustValves { .. } => "exhaust valves",
            Self::ValveEvents { .. } => "valve events",
            Self::Chamber(_) => "chamber",
            Self::Injection(_) => "injection",
            Self::Driveline => "driveline",
            Self::TorquePeak { .. } => "peak torque rpm",
            Self::PowerPeak { .. } => "peak power rpm",
            Self::Weather { .. } => "weather",
            Self::Speeds { .. } => "rpm range",
        }
    }

    /// How to find it on the engine or from paper; none where it is a choice and not a measurement.
    pub fn how_to_measure(&self) -> Option<&'static str> {
        match self {
            Self::BoreAndStroke { .. } => {
                Some("bore and stroke (dial bore gauge; piston depth at bottom less that at top dead center)")
            }
            Self::Rod { .. } => Some("the rod (catalogue, center to center)"),
            Self::InletValves { .. } | Self::ExhaustValves { .. } => Some("valve heads (caliper)"),
            Self::ValveEvents { .. } => Some("valve events (the cam card, or degree wheel and dial gauge)"),
            Self::Chamber(_) => Some("the chamber (its shape, and cc it while you are there)"),
            Self::Injection(_) => Some("injection (port or direct: the parts list)"),
            Self::Driveline => Some("driveline loss (state drive and gearbox, or a coast-down on the dyno)"),
            Self::TorquePeak { .. } => Some("peak torque rpm (a dyno pull or the maker's figure)"),
            Self::PowerPeak { .. } => {
                Some("peak power rpm (a dyno pull, or the figure of the cam or engine maker)")
            }
            Self::Weather { .. } | Self::Speeds { .. } => None,
        }
    }
}

impl Say for Assumed {
    fn say(&self, units: Units) -> String {
        let length = |held: f64| units.words(Length, held);
        match self {
            Self::BoreAndStroke { bore_m, stroke_m } => {
                format!(
                    "{} by {}, usual for the kind at this displacement",
                    length(*bore_m),
                    length(*stroke_m)
                )
            }
            Self::Rod { length_m } => format!("{}, 1.65 strokes", length(*length_m)),
            Self::InletValves { count, diameter_m } | Self::ExhaustValves { count, diameter_m } => {
                format!("{count} per cylinder, {}, usual for the kind", length(*diameter_m))
            }
            Self::ValveEvents { inlet_closes_deg_abdc, exhaust_opens_deg_bbdc, overlap_deg } => {
                let [closes, opens, overlap] =
                    [inlet_closes_deg_abdc, exhaust_opens_deg_bbdc, overlap_deg].map(|deg| fixed(*deg, 0));
                let lift = units.words(Length, 1e-3);
                format!(
                    "intake closes {closes} deg ABDC, exhaust opens {opens} deg BBDC, overlap {overlap} deg at {lift} of valve lift, usual for the kind"
                )
            }
            Self::Chamber(chamber) => {
                let shape = match chamber {
                    Chamber::PentRoof => "pent roof",
                    Chamber::Wedge => "wedge",
                    Chamber::Hemispherical => "hemispherical",
                };
                format!("{shape}, by the number of valves")
            }
            Self::Injection(injection) => match injection {
                Injection::Port => "port injection or carburetor".to_owned(),
                Injection::Direct => "direct injection".to_owned(),
            },
            Self::Driveline => "two driven wheels, manual to automatic".to_owned(),
            Self::TorquePeak { rpm } => format!("{}, usual for that peak power rpm", fixed(*rpm, 0)),
            Self::PowerPeak { rpm } => format!("{}, usual for that peak torque rpm", fixed(*rpm, 0)),
            Self::Weather { temperature_k, pressure_pa } => format!(
                "{}, {}, dry: the reference day of SAE J1349 and ISO 1585",
                units.words(Temperature, *temperature_k),
                units.words(AirPressure, *pressure_pa)
            ),
            Self::Speeds { from_rpm, to_rpm } => {
                format!("{} to {} rpm, about the peaks", fixed(*from_rpm, 0), fixed(*to_rpm, 0))
            }
        }
    }
}

impl Say for WorthMeasuring {
    fn say(&self, units: Units) -> String {
        let margin = match self.margin_octane.abs() {
            small if small < 0.05 => String::new(),
            octane => format!(" and +/-{} octane numbers of margin", fixed(octane, 1)),
        };
        format!(
            "Measure {}: +/-{}{margin} would go.",
            self.assumed.how_to_measure().unwrap_or(self.assumed.title()),
            units.words(Power, self.power_kw.abs())
        )
    }
}

metric_words!(Assumed);
