//! The tables of a choice told once, for text, page and CSV.

use super::words::{cell, condition_words, head, ignition_words, over, ratio, variant_ratio, variant_words};
use super::{HEAD_LIMIT, NAME_LIMIT};
use crate::choose::LimitKind;
use crate::choose::result::{
    Choice, FuelAtRatio, HalfStep, IgnitionWorth, Order, Piston, RatioRow, Regret, Variant, VariantKind,
};
use crate::estimate::Band;
use crate::report::columns::Columns;
use crate::report::quantity::Dimension::{Power, Pure, Share};
use crate::report::quantity::fixed;
use crate::report::table::shorten;
use crate::report::{ReportError, Units};

/// Ratios across the margin map, at most.
const MAP_COLUMNS: usize = 12;

/// Whether a limit is shown: the reserve at the latest timing tells nothing while it is kept everywhere.
fn is_shown(choice: &Choice, kind: LimitKind) -> bool {
    let mut states = choice.curve.iter().flat_map(|row| &row.limits);
    kind != LimitKind::Reserve || states.any(|limit| limit.kind == LimitKind::Reserve && !limit.kept())
}

/// The ratio, with a mark at the ordered one.
fn ratio_column<'a, R: 'a>(c: &mut Columns<'a, R>, choice: &Choice, row: fn(&R) -> &RatioRow) {
    let order = choice.order.as_ref().map(|order| order.compression_ratio);
    let mark = move |r: &R| if order == Some(row(r).compression_ratio) { "*" } else { " " };
    c.cells("ratio ", move |r| ratio(row(r).compression_ratio) + mark(r));
}

/// Weighted power as fitted, and the limits, over ratio.
pub(in crate::report) fn over_ratio(choice: &Choice, units: Units) -> Columns<'_, &RatioRow> {
    let mut c = Columns::<&RatioRow>::new(units);
    ratio_column(&mut c, choice, |row| row);
    c.group_of("weighted power");
    c.band("", Power, |row| Some(row.fitted_weighted_power_kw)).digits(1);
    c.group("worst tank, service conditions");
    let limits = choice.curve.first().into_iter().flat_map(|row| row.limits.iter().enumerate());
    for (i, limit) in limits.filter(|(_, limit)| is_shown(choice, limit.kind)) {
        let (name, below) = head(limit.kind, units);
        let state = move |row: &&RatioRow| {
            let state = &row.limits[i];
            cell(state, units) + if state.kept() { " " } else { "!" }
        };
        c.cells(name, state).below(below);
    }
    c.group("");
    c.cells("limits", |row| if row.within_limits { "yes" } else { "no" }.to_owned()).below("within");
    c
}

/// Likely power of each fuel as fitted and at its knock limit.
pub(in crate::report) fn by_fuel(choice: &Choice, units: Units) -> Columns<'_, &RatioRow> {
    let mut c = Columns::<&RatioRow>::new(units);
    ratio_column(&mut c, choice, |row| row);
    for (i, fuel) in choice.fuels.iter().enumerate() {
        c.group(&shorten(&fuel.name, HEAD_LIMIT));
        c.number("fitted", Power, move |row| row.fitted_power_kw[i].likely).digits(1).below("");
        let limit = c.number("limit", Power, move |row| row.power_kw[i].likely).digits(1).below("");
        limit.marked(move |row| if row.fuels[i].knock_limited() { "k" } else { "" });
    }
    c
}

/// What half a ratio from the order changes.
pub(super) fn half_steps<'a>(units: Units) -> Columns<'a, &'a HalfStep> {
    let mut c = Columns::<&HalfStep>::new(units);
    c.words("fuel", |step| step.fuel.clone()).at_most(NAME_LIMIT);
    c.group_of("0.5 less ratio");
    c.band("", Share, |step| step.less_frac).digits(1).signed().or("-");
    c.group_of("0.5 more ratio");
    c.band("", Share, |step| step.more_frac).digits(1).signed().or("-");
    c
}

/// Off-the-shelf pistons by rank.
pub(in crate::report) fn pistons(choice: &Choice, units: Units) -> Columns<'_, &Piston> {
    let mut c = Columns::<&Piston>::new(units);
    c.number("rank", Pure, |piston| piston.place as f64);
    ratio_column(&mut c, choice, |piston| &piston.row);
    c.group_of("weighted power");
    c.band("", Power, |piston| Some(piston.row.fitted_weighted_power_kw)).digits(1);
    c.group_of("against the order");
    c.band("", Share, |piston| piston.against_order_frac).digits(1).signed().or("-");
    c.group("");
    c.words("limits", |piston| if piston.row.within_limits { "within" } else { "OVER THE LIMIT" }.to_owned());
    c
}

/// What a piston is over: the ratio, and words for each limit.
pub(in crate::report) fn piston_faults(choice: &Choice, units: Units) -> Vec<(String, String)> {
    let each =
        choice.pistons.iter().flat_map(|piston| piston.row.limits.iter().map(move |state| (piston, state)));
    let broken = each.filter(|(_, state)| !state.kept());
    broken
        .map(|(piston, state)| (format!("{}:1", fixed(piston.row.compression_ratio, 2)), over(state, units)))
        .collect()
}

/// What choosing for one fuel costs on the others.
pub(super) fn regret(choice: &Choice, units: Units) -> Columns<'_, &Regret> {
    let mut c = Columns::<&Regret>::new(units);
    c.lead(2);
    let name = |row: &&Regret| row.chosen_for.clone().unwrap_or_else(|| "all, as weighted".to_owned());
    c.words("chosen for", name).at_most(NAME_LIMIT);
    c.maybe("ratio", Pure, |row| row.compression_ratio).digits(1);
    c.group("run on");
    for (i, fuel) in choice.fuels.iter().enumerate() {
        let lost =
            c.maybe(&shorten(&fuel.name, HEAD_LIMIT), Share, move |row| row.on.get(i)?.power_lost_frac);
        lost.digits(1).below("").or("-");
        lost.marked(move |row| if row.on.get(i).is_some_and(|on| on.passed.is_some()) { "!" } else { "" });
    }
    c
}

/// Knock margin at MBT timing over ratio and content, at whole ratios where they suffice.
pub(in crate::report) fn margin_map(choice: &Choice, units: Units) -> Columns<'_, (&f64, &Vec<f64>)> {
    let ratios = &choice.margin_map.compression_ratio;
    let step = ratios.len().div_ceil(MAP_COLUMNS).max(1);
    let mut c = Columns::<(&f64, &Vec<f64>)>::new(units);
    c.number("ethanol, %", Share, |(content, _)| **content).below("");
    for (i, ratio) in ratios.iter().enumerate().step_by(step) {
        c.number(&fixed(*ratio, 1), Pure, move |(_, margins)| margins[i]).digits(1).signed();
    }
    c
}

/// The rows of [`margin_map`].
pub(in crate::report) fn margins(choice: &Choice) -> impl Iterator<Item = (&f64, &Vec<f64>)> {
    let map = &choice.margin_map;
    map.ethanol_vol_frac.iter().zip(&map.best_torque_octane_margin)
}

/// The order of a variant less the order.
fn change(order: &Order, variant: &Variant) -> Option<f64> {
    variant.compression_ratio.map(|there| there - order.compression_ratio)
}

/// The service conditions among the variants, with what each costs.
pub(in crate::report) fn service<'a>(
    choice: &'a Choice,
    order: &'a Order,
    units: Units,
) -> Columns<'a, &'a Variant> {
    let words = move |variant: &Variant| condition_words(&variant.kind, choice, units);
    let mut c = Columns::<&Variant>::new(units);
    c.words("condition", move |variant| words(variant).map(|(name, _)| name.to_owned()).unwrap_or_default());
    c.words("taken as", move |variant| words(variant).map(|(_, taken)| taken).unwrap_or_default());
    c.cells("order", |variant| variant_ratio(variant, choice)).below("without");
    c.maybe("costs", Pure, |variant| change(order, variant)).below("ratio").digits(1).or("-");
    c
}

/// The order were one thing different.
pub(in crate::report) fn sensitivity<'a>(
    choice: &'a Choice,
    order: &'a Order,
    units: Units,
) -> Columns<'a, &'a Variant> {
    let mut c = Columns::<&Variant>::new(units);
    c.words("if", move |variant| variant_words(&variant.kind, choice, units));
    c.cells("order", |variant| variant_ratio(variant, choice));
    c.maybe("change", Pure, |variant| change(order, variant)).digits(1).signed().or("-");
    c
}

/// The variants that are service conditions, and those that are another change; ignitions have their own table.
pub(in crate::report) fn variants(choice: &Choice) -> (Vec<&Variant>, Vec<&Variant>) {
    let of_ignition = |kind: &VariantKind| matches!(kind, VariantKind::Ignition { .. });
    let is_condition = |v: &&Variant| condition_words(&v.kind, choice, Units::Metric).is_some();
    choice.variants.iter().filter(|v| !of_ignition(&v.kind)).partition(is_condition)
}

/// What each ignition would be worth.
pub(super) fn ignitions<'a>(
    choice: &'a Choice,
    order: &Order,
    units: Units,
) -> Columns<'a, &'a IgnitionWorth> {
    let mut c = Columns::<&IgnitionWorth>::new(units);
    c.lead(2);
    c.words("ignition", |worth| {
        let mark = if worth.ignition == choice.ignition.ignition { " *" } else { "" };
        format!("{}{mark}", ignition_words(worth.ignition))
    });
    c.cells("order", |worth| worth.compression_ratio.map_or_else(|| "none".to_owned(), ratio));
    for (heading, powers) in [
        (
            format!("at {}:1", ratio(order.compression_ratio)),
            (|w| &w.power_kw_here) as fn(&IgnitionWorth) -> &Vec<f64>,
        ),
        ("at its own order".to_owned(), |w| &w.power_kw_there),
    ] {
        c.group_of(&heading);
        for (i, fuel) in choice.fuels.iter().enumerate() {
            let power =
                c.maybe(&shorten(&fuel.name, HEAD_LIMIT), Power, move |worth| powers(worth).get(i).copied());
            power.digits(1).or("-");
        }
    }
    c
}

/// A ratio with one fuel, or with all of them as weighted.
struct Record<'a> {
    what: &'static str,
    row: &'a RatioRow,
    fuel: Option<(usize, &'a str)>,
}

impl Record<'_> {
    fn state(&self) -> Option<&FuelAtRatio> {
        self.row.fuels.get(self.fuel?.0)
    }

    fn fitted(&self) -> Band {
        self.fuel.map_or(self.row.fitted_weighted_power_kw, |(i, _)| self.row.fitted_power_kw[i])
    }

    fn limit(&self) -> Band {
        self.fuel.map_or(self.row.weighted_power_kw, |(i, _)| self.row.power_kw[i])
    }

    fn start(&self) -> Option<Band> {
        self.fuel.map_or(self.row.start_weighted_power_kw, |(i, _)| self.row.start_power_kw[i])
    }
}

/// The whole CSV document: the ratios of the curve, then the pistons; a row for all fuels and one for each.
pub(super) fn csv(choice: &Choice, units: Units) -> Result<String, ReportError> {
    let mut c = Columns::<Record<'_>>::new(units);
    c.words("", |r| r.what.to_owned()).key("what", 0);
    c.number("", Pure, |r| r.row.compression_ratio).key("compression_ratio", 2);
    c.words("", |r| r.fuel.map_or("weighted", |(_, name)| name).to_owned()).key("fuel", 0);
    c.band("", Power, |r| Some(r.fitted())).key("fitted_wheel_power", 2);
    c.band("", Power, |r| Some(r.limit())).key("wheel_power", 2);
    c.maybe("", Pure, |r| Some(r.state()?.retard_deg)).key("retard_deg", 2);
    c.maybe("", Share, |r| Some(r.state()?.torque_lost_frac)).key("torque_lost", 2);
    c.maybe("", Pure, |r| Some(r.state()?.best_torque_octane_margin)).key("best_torque_octane_margin", 2);
    c.maybe("", Pure, |r| Some(r.state()?.knock_probability)).key("knock_probability", 4);
    c.number("", Pure, |r| r.row.worst_retard_deg).key("worst_blend_retard_deg", 2);
    c.flag("within_limits", |r| r.row.within_limits);
    c.band("", Power, Record::start).key("start_wheel_power", 2);
    c.maybe("", Pure, |r| r.state()?.start_retard_deg).key("start_retard_deg", 2);
    c.maybe("", Pure, |r| r.state()?.start_knock_probability).key("start_knock_probability", 4);
    let order = choice.order.as_ref().map(|order| order.compression_ratio);
    let what = |row: &RatioRow| if order == Some(row.compression_ratio) { "order" } else { "curve" };
    let rows = choice.curve.iter().map(|row| (what(row), row));
    let rows = rows.chain(choice.pistons.iter().map(|piston| ("piston", &piston.row)));
    c.csv(rows.flat_map(|(what, row)| {
        let fuels = choice.fuels.iter().enumerate().map(|(i, fuel)| Some((i, fuel.name.as_str())));
        std::iter::once(None).chain(fuels).map(move |fuel| Record { what, row, fuel })
    }))
}
