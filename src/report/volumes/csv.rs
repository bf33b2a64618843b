//! Volumes as CSV: one row for the mean cylinder and one per cylinder measured by itself.

use super::cc;
use crate::engine::volumes::{CrankingPressure, VolumesSheet, WayKind};
use crate::report::document::csv_text;
use crate::report::quantity::fixed;
use crate::report::{ReportError, Units};
use crate::units::PA_PER_BAR;

/// What a row shows.
struct Row {
    cylinder: String,
    clearance_m3: f64,
    ratio: f64,
    band: Option<(f64, f64)>,
    from_closing: f64,
    cranking: CrankingPressure,
    squish_m: Option<f64>,
    to_mean_m3: f64,
    to_wanted_m3: Option<f64>,
}

/// The whole CSV document.
pub(super) fn render(sheet: &VolumesSheet, units: Units) -> Result<String, ReportError> {
    let mut writer = ::csv::Writer::from_writer(Vec::new());
    let (length, pressure) = (units.length_unit().0, units.pressure_unit());
    let mut heads: Vec<String> = ["cylinder", "clearance_cc", "compression_ratio", "ratio_low", "ratio_high"]
        .map(str::to_owned)
        .to_vec();
    heads.push("ratio_from_inlet_closing".to_owned());
    heads.extend(["low", "likely", "high"].map(|which| format!("cranking_gauge_{which}_{pressure}")));
    heads.push(format!("squish_clearance_{length}"));
    heads.extend(["to_mean_cc", "to_wanted_cc", "wanted_dome_cc"].map(str::to_owned));
    heads.extend(["gasket", "deck_cut", "head_cut"].map(|way| format!("wanted_{way}_{length}")));
    heads.push("wanted_chamber_cc".to_owned());
    writer.write_record(&heads)?;
    for row in rows(sheet) {
        let mut record = cells(&row, units);
        // Parts are given for the mean cylinder alone: pistons, gaskets and cuts come for all of them.
        record.extend(
            WAYS.map(|kind| if row.cylinder == MEAN { way(sheet, kind, units) } else { String::new() }),
        );
        writer.write_record(&record)?;
    }
    csv_text(writer)
}

const MEAN: &str = "mean";
const WAYS: [WayKind; 5] =
    [WayKind::Dome, WayKind::Gasket, WayKind::DeckCut, WayKind::HeadCut, WayKind::Chamber];

fn rows(sheet: &VolumesSheet) -> Vec<Row> {
    let mean = Row {
        cylinder: MEAN.to_owned(),
        clearance_m3: sheet.clearance_m3,
        ratio: sheet.compression_ratio,
        band: sheet.measured.as_ref().map(|m| (m.ratio_low, m.ratio_high)),
        from_closing: sheet.ratio_from_inlet_closing,
        cranking: sheet.cranking,
        squish_m: sheet.measured.as_ref().map(|m| m.squish_clearance_m),
        to_mean_m3: 0.0,
        to_wanted_m3: sheet.wanted.as_ref().map(|w| w.clearance_change_m3),
    };
    let each = sheet.by_cylinder.iter().map(|c| Row {
        cylinder: c.cylinder.to_string(),
        clearance_m3: c.clearance_m3,
        ratio: c.compression_ratio,
        band: Some((c.ratio_low, c.ratio_high)),
        from_closing: c.ratio_from_inlet_closing,
        cranking: c.cranking,
        squish_m: Some(c.squish_clearance_m),
        to_mean_m3: c.to_mean_m3,
        to_wanted_m3: c.to_wanted_m3,
    });
    std::iter::once(mean).chain(each).collect()
}

fn cells(row: &Row, units: Units) -> Vec<String> {
    let ratio = |value: f64| fixed(value, 3);
    let length = |m: f64| fixed(units.length(m), units.length_unit().1 + 1);
    let p = &row.cranking;
    let mut cells = vec![
        row.cylinder.clone(),
        fixed(cc(row.clearance_m3), 3),
        ratio(row.ratio),
        row.band.map(|band| ratio(band.0)).unwrap_or_default(),
        row.band.map(|band| ratio(band.1)).unwrap_or_default(),
        ratio(row.from_closing),
    ];
    cells.extend(
        [p.low_gauge_pa, p.likely_gauge_pa, p.high_gauge_pa]
            .map(|pa| fixed(units.pressure(pa / PA_PER_BAR), 2)),
    );
    cells.push(row.squish_m.map(length).unwrap_or_default());
    cells.push(fixed(cc(row.to_mean_m3), 3));
    cells.push(row.to_wanted_m3.map(|v| fixed(cc(v), 3)).unwrap_or_default());
    cells
}

/// What a part must become; empty when no ratio is wanted, nothing was measured or it cannot be done.
fn way(sheet: &VolumesSheet, kind: WayKind, units: Units) -> String {
    let ways = sheet.wanted.iter().flat_map(|w| &w.ways);
    match ways.filter(|w| w.impossible.is_none()).find(|w| w.kind == kind) {
        Some(way) => match (way.volume_m3, way.length_m) {
            (Some(volume), _) => fixed(cc(volume), 3),
            (None, Some(length)) => fixed(units.length(length), units.length_unit().1 + 1),
            (None, None) => String::new(),
        },
        None => String::new(),
    }
}
