//! The tables, each told once.

use super::words::{ROUND_RPM, change};
use crate::estimate::pipe_curve::{PipedParts, PipedPoint};
use crate::estimate::pipe_worth::{PipeWorth, PipeWorths};
use crate::report::Units;
use crate::report::columns::Columns;
use crate::report::quantity::Dimension::{Power, Pressure, Pure, Share, Temperature, Torque};
use crate::report::quantity::fixed;

/// By rpm.
pub(super) fn curve<'a>(units: Units) -> Columns<'a, &'a PipedPoint> {
    let mut c = Columns::<&PipedPoint>::new(units);
    c.number("rpm", Pure, |p| p.speed_rpm).key("speed_rpm", 0);
    c.group("VE");
    c.band("", Pure, |p| Some(p.volumetric_efficiency)).digits(2).key("volumetric_efficiency", 4);
    c.group("");
    c.number("residual gas", Share, |p| p.residual_frac).digits(1).key("residual", 2);
    let pumping = c.number("pumping", Pressure, |p| p.pmep_bar);
    pumping.digits(if units == Units::Metric { 2 } else { 1 }).key("pmep", 3);
    c.number("short circuit", Share, |p| p.short_circuit_frac).digits(1).key("short_circuit", 2);
    c.number("intake closing", Temperature, |p| p.closing_temperature_k).key("closing_temperature", 1);
    c
}

/// What each change is worth.
pub(super) fn worths<'a>(
    of: &PipeWorths,
    (torque_rpm, power_rpm): (f64, f64),
    units: Units,
) -> Columns<'a, &'a PipeWorth> {
    let mut c = Columns::<&PipeWorth>::new(units);
    let at = |rpm: f64| fixed(rpm, 0);
    c.words("change", move |w| change(&w.change, units));
    c.group("VE, % at rpm");
    c.number(&at(of.low_speed_rpm), Share, |w| w.ve_change_low_frac).digits(1).signed().below("low");
    c.number(&at(torque_rpm), Share, |w| w.ve_change_torque_frac).digits(1).signed().below("torque");
    c.number(&at(power_rpm), Share, |w| w.ve_change_power_frac).digits(1).signed().below("power");
    c.group("at the flywheel");
    c.number("torque", Torque, |w| w.torque_change_nm).digits(1).signed();
    c.number("power", Power, |w| w.power_change_kw).digits(1).signed();
    c.group("best VE");
    let to_step = |rpm: f64| (rpm / ROUND_RPM).round() * ROUND_RPM;
    let moves = c.maybe("moves", Pure, move |w| w.best_speed_change_rpm.map(to_step));
    moves.signed().below("rpm").or("far");
    c
}

/// With pipes taken away.
pub(super) fn parts<'a>(units: Units) -> Columns<'a, &'a PipedParts> {
    let mut c = Columns::<&PipedParts>::new(units);
    c.number("rpm", Pure, |p| p.speed_rpm);
    c.group("VE");
    c.number("as built", Pure, |p| p.volumetric_efficiency).digits(2);
    c.number("no runner", Pure, |p| p.without_runner).digits(2);
    c.number("no primary", Pure, |p| p.without_primary).digits(2);
    c.number("neither", Pure, |p| p.without_either).digits(2);
    c
}
