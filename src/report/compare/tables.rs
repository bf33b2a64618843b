//! The tables of builds side by side, each told once.

use crate::estimate::compare::{BuildOnFuel, ComparedFuel, ComparedPoint, Difference};
use crate::estimate::{Band, Comparison};
use crate::report::Units;
use crate::report::columns::Columns;
use crate::report::quantity::Dimension::{Power, Pure, Share, Torque};
use crate::report::quantity::{ShownUnit, signed};
use crate::report::table::shorten;

/// Most characters of the name of a fuel or a build.
pub(super) const NAME_LIMIT: usize = 16;

/// A build on a fuel.
type OnFuel<'a> = (&'a ComparedFuel, &'a BuildOnFuel);
/// A speed of it.
type AtSpeed<'a> = (&'a ComparedFuel, &'a BuildOnFuel, &'a ComparedPoint);
/// A speed of the first build, where it runs it, and of another.
type Beside<'a> = (Option<&'a ComparedPoint>, &'a ComparedPoint);

/// Every build on every fuel.
pub(super) fn rows(c: &Comparison) -> impl Iterator<Item = OnFuel<'_>> {
    c.fuels.iter().flat_map(|fuel| fuel.builds.iter().map(move |build| (fuel, build)))
}

/// Every speed of them.
pub(super) fn points(c: &Comparison) -> impl Iterator<Item = AtSpeed<'_>> {
    rows(c).flat_map(|(fuel, build)| build.curve.iter().map(move |point| (fuel, build, point)))
}

fn named<'a>(units: Units) -> Columns<'a, OnFuel<'a>> {
    let mut c = Columns::<OnFuel<'a>>::new(units);
    c.lead(2);
    c.words("fuel", |(fuel, _)| fuel.name.clone()).at_most(NAME_LIMIT);
    c.words("build", |(_, build)| build.build.clone()).at_most(NAME_LIMIT);
    c
}

/// Peak wheel power at the limit.
pub(super) fn power<'a>(units: Units) -> Columns<'a, OnFuel<'a>> {
    let mut c = named(units);
    c.group_of("peak wheel power at limit");
    c.band("", Power, |(_, b)| Some(b.wheel_power_kw));
    c.number("at rpm", Pure, |(_, b)| b.power_speed_rpm);
    against_first(&mut c, Power.unit(units), |b| b.power_difference_kw);
    c
}

/// The difference of a figure from the first build, and in how many cases it is more.
fn against_first<'a>(
    c: &mut Columns<'a, OnFuel<'a>>,
    unit: ShownUnit,
    of: fn(&BuildOnFuel) -> Option<Difference>,
) {
    c.group(&format!("difference, {}", unit.symbol));
    c.cells("likely (range)", move |(_, b)| difference(of(b), unit));
    c.group("");
    c.maybe("more", Share, move |(_, b)| more(of(b).as_ref())).below("in %").or("");
}

/// Timing and knock margin at the worst rpm.
pub(super) fn timing<'a>(units: Units) -> Columns<'a, OnFuel<'a>> {
    let mut c = named(units);
    c.number("worst", Pure, |(_, b)| b.worst_speed_rpm).below("rpm");
    c.group("timing, deg BTDC");
    c.maybe("start", Pure, |(_, b)| b.start_spark_deg_btdc).digits(1);
    c.number("limit", Pure, |(_, b)| b.spark_deg_btdc)
        .digits(1)
        .marked(|(_, b)| if b.knock_limited { "*" } else { "" });
    c.group("knock margin at MBT, octane numbers");
    c.cells("likely (range)", |(_, b)| ranged(b.mbt_margin_octane, 0));
    let octane = Pure.unit(units);
    c.cells("difference (range)", move |(_, b)| difference(b.margin_difference_octane, octane));
    c
}

/// A difference and its range in words; nothing for the first build.
fn difference(of: Option<Difference>, unit: ShownUnit) -> String {
    let in_unit =
        |band: Band| Band { low: unit.of(band.low), likely: unit.of(band.likely), high: unit.of(band.high) };
    of.map(|difference| ranged(in_unit(difference.band), 1)).unwrap_or_default()
}

/// The likely value with its range behind it.
fn ranged(band: Band, digits: usize) -> String {
    let [low, likely, high] = [band.low, band.likely, band.high].map(|value| signed(value, digits));
    format!("{likely} ({low} to {high})")
}

/// Peak torque at the wheels.
pub(super) fn torque<'a>(units: Units) -> Columns<'a, OnFuel<'a>> {
    let mut c = named(units);
    c.group_of("peak wheel torque at limit");
    c.band("", Torque, |(_, b)| Some(b.wheel_torque_nm));
    c.number("at rpm", Pure, |(_, b)| b.torque_speed_rpm);
    against_first(&mut c, Torque.unit(units), |b| b.torque_difference_nm);
    c
}

/// Wheel power over rpm of a build beside the first, for a person.
pub(super) fn beside<'a>(first: &str, this: &str, units: Units) -> Columns<'a, Beside<'a>> {
    let unit = Power.unit(units);
    let mut c = Columns::<Beside<'a>>::new(units);
    c.number("rpm", Pure, |(_, p)| p.speed_rpm);
    c.group_of(&shorten(first, NAME_LIMIT));
    c.band("", Power, |(first, _)| Some(first.as_ref()?.wheel_power_kw));
    c.group_of(&shorten(this, NAME_LIMIT));
    c.band("", Power, |(_, p)| Some(p.wheel_power_kw));
    c.group(&format!("difference, {}", unit.symbol));
    c.cells("likely (range)", move |(_, p)| difference(p.power_difference_kw, unit));
    c.group("");
    c.maybe("more", Share, |(_, p)| more(p.power_difference_kw.as_ref())).below("in %").or("");
    c
}

/// Wheel power over rpm of every build on every fuel, for a program.
pub(super) fn curve<'a>(units: Units) -> Columns<'a, AtSpeed<'a>> {
    let mut c = Columns::<AtSpeed<'a>>::new(units);
    c.words("fuel", |(fuel, ..)| fuel.name.clone()).key("fuel", 0);
    c.words("build", |(_, build, _)| build.build.clone()).key("build", 0);
    c.number("rpm", Pure, |(.., p)| p.speed_rpm).key("speed_rpm", 0);
    c.band("", Power, |(.., p)| Some(p.wheel_power_kw)).key("wheel_power", 3);
    c.band("", Power, |(.., p)| Some(p.power_difference_kw?.band)).key("wheel_power_difference", 3);
    c.maybe("more", Share, |(.., p)| more(p.power_difference_kw.as_ref())).key("more", 2);
    c
}

fn more(difference: Option<&Difference>) -> Option<f64> {
    difference.map(|difference| difference.more_frac)
}
