//! As meant: `[costs]`.

use crate::goal::Costs;
use crate::input::Section;
use crate::units::{Allowed, Unit};

/// A cost in any one unit.
const COST: Allowed = Unit::None.of(0.0..=1e6);

/// `[costs]`: all of them in one unit, so all or none.
pub(super) fn costs(s: &mut Section<'_, '_>) -> Option<Costs> {
    let cam = s.number("cam", COST);
    let head = s.number("head", COST);
    let intake_exhaust = s.number("intake_exhaust", COST);
    let ratio = s.number("ratio", COST);
    let fuel = s.number("fuel", COST);
    let rpm = s.number("rpm", COST);
    let race = s.number("race", COST);
    Some(Costs {
        cam: cam?,
        head: head?,
        intake_exhaust: intake_exhaust?,
        ratio: ratio?,
        fuel: fuel?,
        rpm: rpm?,
        race: race?,
        is_stated: true,
    })
}
