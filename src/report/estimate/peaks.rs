//! What an estimate says of each fuel as a whole: peaks, power at the flywheel, losses, changes and what the range comes from.

use crate::estimate::{Driver, Estimate, FuelEstimate, LadderRung, LeverWorth};
use crate::report::Units;
use crate::report::columns::Columns;
use crate::report::quantity::Dimension::{Power, Pressure, Pure, Share};
use crate::report::quantity::{digits_for, signed};
use crate::report::words::Say;

/// Peak wheel power at the timing to start from and at the likely limit; for the page, torque too.
pub(in crate::report) fn peaks<'a>(e: &Estimate, units: Units) -> Columns<'a, &'a FuelEstimate> {
    let digits = digits_for(e.fuels.iter().map(|f| Power.unit(units).of(f.peak_power.wheel.high)));
    let mut c = Columns::<&FuelEstimate>::new(units);
    c.words("fuel", |f| f.name.clone()).at_most(super::NAME_LIMIT).named("fuel");
    c.group_of("peak wheel power at start");
    c.band("", Power, |f| Some(f.start_peak_power?.wheel)).digits(digits);
    c.maybe("at rpm", Pure, |f| Some(f.start_peak_power?.speed_rpm));
    c.group_of("peak wheel power at limit");
    c.band("", Power, |f| Some(f.peak_power.wheel)).digits(digits);
    c.number("at rpm", Pure, |f| f.peak_power.speed_rpm);
    c
}

/// Peak power at the flywheel, on the day and brought to reference days.
pub(in crate::report) fn corrected<'a>(e: &'a Estimate, units: Units) -> Columns<'a, &'a FuelEstimate> {
    let digits = digits_for(e.fuels.iter().map(|f| Power.unit(units).of(f.peak_power.crank.high)));
    let mut c = Columns::<&FuelEstimate>::new(units);
    c.words("fuel", |f| f.name.clone()).at_most(super::NAME_LIMIT);
    c.group_of("peak crank power, uncorrected");
    c.band("", Power, |f| Some(f.peak_power.crank)).digits(digits);
    c.group_of("likely, corrected");
    for of_day in &e.corrections {
        let power = |f: &&FuelEstimate| f.peak_power.crank.times(of_day.factor).likely;
        c.number(of_day.standard, Power, power).digits(digits);
    }
    c
}

/// What is left after each step from the ideal cycle to the wheel, and what the step takes.
pub(super) fn ladder<'a>(units: Units) -> Columns<'a, (Option<&'a LadderRung>, &'a LadderRung)> {
    let mut c = Columns::<(Option<&LadderRung>, &LadderRung)>::new(units);
    c.words("step", move |(_, rung)| rung.rung.say(units)).at_most(44);
    c.group("what is left");
    let below = format!("pressure, {}", Pressure.unit(units).symbol);
    c.number("mean effective", Pressure, |(_, rung)| rung.mean_effective_pressure_bar).below(&below);
    c.number("% of fuel", Share, |(_, rung)| rung.efficiency).below("energy").digits(1);
    c.group("lost in this step");
    let lost = |before: &Option<&LadderRung>, of: fn(&LadderRung) -> f64, rung: &LadderRung| {
        before.map(|before| of(before) - of(rung))
    };
    let pressure = c.maybe("", Pressure, move |(before, rung)| {
        lost(before, |rung| rung.mean_effective_pressure_bar, rung)
    });
    pressure.or("");
    let energy =
        c.maybe("% of fuel", Share, move |(before, rung)| lost(before, |rung| rung.efficiency, rung));
    energy.below("energy").digits(1).or("");
    c
}

/// Each step of a ladder with the one before it.
pub(super) fn steps(fuel: &FuelEstimate) -> impl Iterator<Item = (Option<&LadderRung>, &LadderRung)> {
    let before = std::iter::once(None).chain(fuel.ladder.iter().map(Some));
    before.zip(&fuel.ladder)
}

/// What each change is worth at the worst rpm.
pub(super) fn levers<'a>(units: Units) -> Columns<'a, &'a LeverWorth> {
    let mut c = Columns::<&LeverWorth>::new(units);
    c.words("change", move |lever| lever.change.say(units)).at_most(50);
    c.number("octane margin", Pure, |lever| lever.octane_margin_change).digits(1).signed();
    c.number("torque", Share, |lever| lever.torque_change_frac).digits(1).signed();
    c
}

/// What the range of power comes from, and beside it that of the margin, strongest first.
pub(super) fn drivers<'a>(units: Units) -> Columns<'a, (&'a Driver, &'a Driver)> {
    let unit = Power.unit(units);
    let mut c = Columns::<(&Driver, &Driver)>::new(units);
    c.group(&format!("peak wheel power, {}", unit.symbol));
    c.words("input", |(power, _)| power.input.title().to_owned()).at_most(30);
    c.cells("from  to", move |(power, _)| ends(unit.of(power.power_swing_kw)));
    c.group("knock margin, octane numbers");
    c.words("input", |(_, margin)| margin.input.title().to_owned()).at_most(30);
    c.cells("from  to", |(_, margin)| ends(margin.margin_swing_octane));
    c
}

/// What a result changes by at the low and at the high end of an input.
pub(in crate::report) fn ends(swing: f64) -> String {
    format!("{} to {}", signed(-swing, 1), signed(swing, 1))
}
