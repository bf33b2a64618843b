//! The mean cylinder and each one measured by itself: a table for a person, and rows of CSV.

use crate::engine::volumes::{CrankingPressure, Cylinder, VolumesSheet, WayKind};
use crate::report::columns::Columns;
use crate::report::quantity::Dimension::{Length, Pressure, Pure, Volume};
use crate::report::words::squish;
use crate::report::{ReportError, Units};
use crate::units::PA_PER_BAR;

/// The mean cylinder, or one of those measured by themselves.
struct CylinderRow<'a> {
    sheet: &'a VolumesSheet,
    one: Option<&'a Cylinder>,
}

impl CylinderRow<'_> {
    /// A figure of the cylinder, or that of the mean.
    fn either(&self, one: fn(&Cylinder) -> f64, mean: fn(&VolumesSheet) -> f64) -> f64 {
        self.one.map_or_else(|| mean(self.sheet), one)
    }

    fn ratio(&self) -> f64 {
        self.either(|c| c.compression_ratio, |sheet| sheet.compression_ratio)
    }

    /// Low and high ratio; none when nothing was measured.
    fn band(&self) -> Option<(f64, f64)> {
        let mean = || self.sheet.measured.as_ref().map(|m| (m.ratio_low, m.ratio_high));
        self.one.map_or_else(mean, |c| Some((c.ratio_low, c.ratio_high)))
    }

    fn squish_m(&self) -> Option<f64> {
        let mean = || self.sheet.measured.as_ref().map(|m| m.squish_clearance_m);
        self.one.map_or_else(mean, |c| Some(c.squish_clearance_m))
    }

    fn gauge_bar(&self, end: fn(&CrankingPressure) -> f64) -> f64 {
        end(self.one.map_or(&self.sheet.cranking, |c| &c.cranking)) / PA_PER_BAR
    }

    /// What a part must become [m or m3]; none when no ratio is wanted, nothing was measured or it cannot be done. Parts
    /// are given for the mean cylinder alone: pistons, gaskets and cuts come for all of them.
    fn way(&self, kind: WayKind) -> Option<f64> {
        let ways = self.sheet.wanted.iter().filter(|_| self.one.is_none()).flat_map(|w| &w.ways);
        let way = ways.filter(|w| w.impossible.is_none()).find(|w| w.kind == kind)?;
        way.volume_m3.or(way.length_m)
    }
}

/// A person sees the cylinders, a program the mean first.
fn columns<'a>(units: Units) -> Columns<'a, CylinderRow<'a>> {
    let fine = Length.unit(units).digits + 1;
    let mut c = Columns::<CylinderRow<'_>>::new(units);
    let name = |r: &CylinderRow<'_>| r.one.map_or_else(|| "mean".to_owned(), |c| c.cylinder.to_string());
    c.cells("cylinder", name).key("cylinder", 0);
    c.maybe("chamber", Volume, |r| Some(r.one?.chamber_m3));
    c.maybe("dome", Volume, |r| Some(r.one?.dome_m3));
    c.maybe(squish(units), Length, CylinderRow::squish_m);
    c.number("clearance", Volume, |r| r.either(|c| c.clearance_m3, |s| s.clearance_m3)).key("clearance", 3);
    c.number("ratio", Pure, CylinderRow::ratio).digits(2).key("compression_ratio", 3);
    c.maybe("+/-", Pure, |r| Some(r.band()?.1 - r.ratio())).digits(2);
    c.maybe("", Pure, |r| Some(r.band()?.0)).key("ratio_low", 3).hidden();
    c.maybe("", Pure, |r| Some(r.band()?.1)).key("ratio_high", 3).hidden();
    let effective =
        |r: &CylinderRow<'_>| r.either(|c| c.ratio_from_inlet_closing, |s| s.ratio_from_inlet_closing);
    c.number("effective", Pure, effective).digits(2).key("ratio_from_inlet_closing", 3);
    c.number("", Pressure, |r| r.gauge_bar(|p| p.low_gauge_pa)).key("cranking_gauge_low", 2).hidden();
    c.number("gauge", Pressure, |r| r.gauge_bar(|p| p.likely_gauge_pa)).key("cranking_gauge_likely", 2);
    c.number("", Pressure, |r| r.gauge_bar(|p| p.high_gauge_pa)).key("cranking_gauge_high", 2).hidden();
    c.maybe("", Length, CylinderRow::squish_m).key("squish_clearance", fine).hidden();
    let to_mean = |r: &CylinderRow<'_>| r.one.map_or(0.0, |c| c.to_mean_m3);
    c.number("to mean", Volume, to_mean).signed().key("to_mean", 3);
    let to_wanted = |r: &CylinderRow<'_>| match r.one {
        Some(one) => one.to_wanted_m3,
        None => r.sheet.wanted.as_ref().map(|w| w.clearance_change_m3),
    };
    c.maybe("", Volume, to_wanted).key("to_wanted", 3).hidden();
    for (kind, name, dimension, digits) in [
        (WayKind::Dome, "wanted_dome", Volume, 3),
        (WayKind::Gasket, "wanted_gasket", Length, fine),
        (WayKind::DeckCut, "wanted_deck_cut", Length, fine),
        (WayKind::HeadCut, "wanted_head_cut", Length, fine),
        (WayKind::Chamber, "wanted_chamber", Volume, 3),
    ] {
        c.maybe("", dimension, move |r| r.way(kind)).key(name, digits).hidden();
    }
    c
}

fn each(sheet: &VolumesSheet) -> impl Iterator<Item = CylinderRow<'_>> {
    sheet.by_cylinder.iter().map(move |one| CylinderRow { sheet, one: Some(one) })
}

/// Each cylinder, for a person.
pub(super) fn table(sheet: &VolumesSheet, units: Units) -> String {
    columns(units).text(each(sheet))
}

/// The whole CSV document.
pub(super) fn csv(sheet: &VolumesSheet, units: Units) -> Result<String, ReportError> {
    columns(units).csv(std::iter::once(CylinderRow { sheet, one: None }).chain(each(sheet)))
}
