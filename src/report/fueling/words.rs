//! The plain sentences of fuel supply.

use crate::engine::{Figure, Standing};
use crate::fueling::{Fueling, MechanicalLimit};
use crate::report::Units;
use crate::report::quantity::Dimension::{
    FuelPressure, PistonAcceleration, PistonSpeed, Pressure, VolumeFlow,
};
use crate::report::quantity::{fixed, percent};

/// Pressure of fuel with its unit.
pub(super) fn pressure_words(kpa: f64, units: Units) -> String {
    format!("{} {}", fixed(units.of(FuelPressure, kpa), 0), units.symbol(FuelPressure))
}

/// The answer in a few sentences.
pub(super) fn answer(f: &Fueling, units: Units) -> Vec<String> {
    let supply = &f.supply;
    let worst = &f.injector_worst;
    let lb = supply.rated_lb_per_h(worst.need);
    let volume_unit = units.symbol(VolumeFlow);
    let mut said = vec![format!(
        "Injectors: {} of at least {} cc/min ({} lb/h) each, rated at {}, run at {} and open at most {} % of the cycle; set by {} with {} % ethanol at {} rpm.",
        supply.injector_count,
        fixed(worst.need.ceil(), 0),
        fixed(lb, 1),
        pressure_words(supply.rated_pressure_kpa, units),
        pressure_words(supply.fuel_pressure_kpa, units),
        percent(supply.duty_limit_frac, 0),
        worst.fuel,
        percent(worst.ethanol_vol_frac, 0),
        fixed(worst.speed_rpm, 0),
    )];
    if let (Some(stated), Some(flow)) = (&f.stated_injectors, supply.injector_flow_cc_per_min) {
        said.push(format!(
            "The stated injectors of {} cc/min are open up to {} % of the cycle: {}.",
            fixed(flow, 0),
            percent(stated.highest_duty_frac, 0),
            enough(stated.is_enough)
        ));
    }
    let (pump, at) = match supply.is_direct {
        true => ("Low-pressure pump", "its supply pressure".to_owned()),
        false => ("Pump", pressure_words(supply.fuel_pressure_kpa, units)),
    };
    said.push(format!(
        "{pump}: at least {} {volume_unit} at {at}, {} % reserve; set by {} with {} % ethanol.",
        fixed(units.of(VolumeFlow, f.pump_worst.need).ceil(), 0),
        percent(supply.pump_reserve_frac, 0),
        f.pump_worst.fuel,
        percent(f.pump_worst.ethanol_vol_frac, 0),
    ));
    if let (Some(stated), Some(flow)) = (&f.stated_pump, supply.pump_flow_l_per_h) {
        let left = if stated.reserve_frac < 0.0 {
            format!("falls short by {} %", percent(-stated.reserve_frac, 0))
        } else {
            format!("leaves {} % reserve", percent(stated.reserve_frac, 0))
        };
        said.push(format!(
            "The stated pump of {} {volume_unit} {left}: {}.",
            fixed(units.of(VolumeFlow, flow), 0),
            enough(stated.is_enough)
        ));
    }
    said.extend(f.mechanical.iter().filter_map(|m| mechanical_words(m, units)));
    said
}

fn enough(is_enough: bool) -> &'static str {
    if is_enough { "enough" } else { "not enough" }
}

/// A mechanical figure in words.
pub(super) struct ShownFigure {
    /// Its name in a sentence.
    pub(super) name: &'static str,
    /// Its name in a table.
    pub(super) short: &'static str,
    /// Its unit.
    pub(super) unit: &'static str,
    /// Its value in that unit.
    pub(super) value: String,
}

/// A value of a mechanical figure in words.
pub(super) fn shown(figure: Figure, value: f64, units: Units) -> ShownFigure {
    let (name, short, unit, value) = match figure {
        Figure::MeanPistonSpeed => {
            let unit = PistonSpeed.unit(units);
            ("Mean piston speed", "mean piston speed", unit.symbol, unit.words(value))
        }
        Figure::PistonAcceleration => {
            let unit = PistonAcceleration.unit(units);
            ("Piston acceleration", "acceleration", unit.symbol, unit.words(value))
        }
        _ => {
            let unit = Pressure.unit(units);
            ("Peak cylinder pressure", "peak pressure", unit.symbol, fixed(unit.of(value), 0))
        }
    };
    ShownFigure { name, short, unit, value }
}

/// A caution on a figure that passes its stated limit, or the bands of road engines.
fn mechanical_words(m: &MechanicalLimit, units: Units) -> Option<String> {
    let ShownFigure { name, unit, value, .. } = shown(m.figure, m.value, units);
    let start = format!("{name} reaches {value} {unit} at {} rpm", fixed(m.speed_rpm, 0));
    if let Some(limit) = m.stated_limit.filter(|_| !m.is_met) {
        return Some(format!("{start}, over the stated limit of {}.", shown(m.figure, limit, units).value));
    }
    match m.standing {
        Standing::BeyondRace => Some(format!("{start}, past the end of race engines.")),
        Standing::Race => Some(format!("{start}, in the range of race engines: parts and service to suit.")),
        Standing::Production | Standing::Sport => None,
    }
}
