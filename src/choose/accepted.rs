//! The retard and torque loss that production practice accepts.

use super::ignition::Ignition;
use crate::engine::practice::{FuelGrade, PracticeClass};

/// Retard from MBT timing and the torque that costs, at most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Late {
    /// Retard [deg].
    pub retard_deg: f64,
    /// Torque lost to it [-].
    pub torque_lost_frac: f64,
}

/// What nine of ten production engines of a class stay within, by this model, at peak torque on the fuel that their makers
/// require and in the usual service conditions: at their knock limit where an ignition has knock control, else at their
/// timing to start from.
///
/// Direct injection goes by grade, for engines made for regular are timed later than those made for premium; two-valve engines with
/// direct injection, of which the rows hold one, are taken as performance two-valve engines, and race engines, of which they
/// hold none, as sport engines.
///
/// # Source
/// The ratings of `tests/data/engines`; `tests/physics/factory_limits.rs` finds these again, rounded to half a degree and
/// half a per cent.
pub fn accepted(class: PracticeClass, grade: FuelGrade, ignition: Ignition) -> Late {
    let (limit, start) = match (class, grade) {
        (PracticeClass::AirCooledTwoValve, _) => ((12.0, 4.5), (18.5, 10.0)),
        (PracticeClass::SeriesTwoValve, _) => ((13.5, 5.5), (19.0, 10.0)),
        (PracticeClass::PerformanceTwoValve, _) => ((16.5, 8.0), (22.0, 13.5)),
        (PracticeClass::FourValvePort, _) => ((15.5, 7.0), (21.0, 12.0)),
        (PracticeClass::FourValveDirect, FuelGrade::Regular) => ((23.5, 15.5), (31.0, 24.0)),
        (PracticeClass::FourValveDirect, _) => ((16.5, 8.5), (22.5, 14.5)),
        (PracticeClass::SportFourValve | PracticeClass::Race, _) => ((16.5, 8.5), (22.5, 14.5)),
        (PracticeClass::Motorcycle, _) => ((16.0, 8.0), (23.0, 15.0)),
    };
    let (retard_deg, percent) = if ignition.has_knock_control() { limit } else { start };
    Late { retard_deg, torque_lost_frac: percent / 100.0 }
}
