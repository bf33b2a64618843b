//! The estimate as aligned text, the answer first.

use super::Units;
use super::quantity::{fixed, output_decimals, percent, signed};
use super::table::{Column, Table, band_columns, head, plain, shorten, wrap};
use super::words::{tightest_as_used, verdict};
use crate::estimate::{Band, CurvePoint, Driver, Estimate, FuelEstimate};

/// Most characters of a fuel name in a table.
const NAME_LIMIT: usize = 22;
/// Inputs shown per cause of spread.
const DRIVERS_SHOWN: usize = 5;
/// Stands for a timing that is not to be had.
const NONE: &str = "none";

/// The whole text report.
pub(super) fn render(estimate: &Estimate, units: Units) -> String {
    let mut out = header(estimate, units);
    out += &answer(estimate, units);
    out += &corrected(estimate, units);
    for fuel in &estimate.fuels {
        out += &by_speed(fuel, units);
    }
    for fuel in &estimate.fuels {
        out += &ladder(fuel, units);
    }
    for fuel in &estimate.fuels {
        out += &levers(fuel);
    }
    for fuel in &estimate.fuels {
        out += &drivers(fuel);
    }
    out += &list("Notices", estimate.notices.iter().map(String::as_str));
    out += &list("Cautions", estimate.cautions.iter().copied());
    out
}

fn header(e: &Estimate, units: Units) -> String {
    let ratio = format!(
        "{}, compression ratio {}:1 (effective {}:1 from inlet valve closing)",
        units.displacement_words(e.displacement_m3),
        fixed(e.compression_ratio, 2),
        fixed(e.effective_compression_ratio, 2)
    );
    let weather = format!(
        "{}, {}, {} % relative humidity",
        units.temperature_words(e.air_temperature_k),
        units.air_pressure_words(e.air_pressure_pa),
        percent(e.relative_humidity, 0)
    );
    let samples = format!(
        "{}, seed {}; low and high are the 10th and 90th percentile, likely the 50th",
        e.samples, e.seed
    );
    head(&[
        ("Scenario", e.scenario.as_str()),
        ("Note", e.note.as_str()),
        ("Engine", ratio.as_str()),
        ("Breathing", e.breathing_source.as_str()),
        ("Driveline", e.driveline_source.as_str()),
        ("Weather", weather.as_str()),
        ("Samples", samples.as_str()),
    ])
}

fn answer(e: &Estimate, units: Units) -> String {
    let mut out = heading("Answer") + &peak_table(e, units).render() + "\n" + &worst_table(e).render();
    out += &wrap(
        "  ",
        "Start: the timing to start from, knock-free in 9 cases of 10; its power is that of every case at this one \
         timing. Limit: the likely knock limit, MBT timing at most; its power is that of every case tuned to its own \
         limit. Knock: share of cases that knock at that timing. Worst rpm: least octane margin at MBT timing. Lost to \
         retard: share of peak power, at the limit.",
    );
    out.push('\n');
    for fuel in &e.fuels {
        out += &wrap("  ", &verdict(fuel, e.reserve_octane));
    }
    if e.limit_missed {
        out += &wrap("  ", "A limit stated in the scenario is not met; the notices say which.");
    }
    out
}

/// Peak wheel power at the timing to start from and at the likely limit.
fn peak_table(e: &Estimate, units: Units) -> Table {
    let unit = units.power_unit();
    let mut columns = vec![Column::words("fuel")];
    for timing in ["start", "limit"] {
        let group = format!("peak wheel power at {timing}, {unit}");
        columns.extend(band_columns(&group));
        columns.push(Column::number("at rpm", "").under(&group));
    }
    let mut table = Table::new(columns);
    let decimals = output_decimals(largest(e.fuels.iter().map(|f| units.power(f.peak_power.wheel.high))));
    for fuel in &e.fuels {
        let mut cells = vec![shorten(&fuel.name, NAME_LIMIT)];
        for peak in [fuel.start_peak_power, Some(fuel.peak_power)] {
            cells.extend(maybe_band_cells(peak.map(|p| p.wheel), |kw| units.power(kw), decimals));
            cells.push(maybe(peak.map(|p| p.speed_rpm), 0));
        }
        table.row(cells);
    }
    table
}

/// Timing and knock of each fuel at its worst rpm.
fn worst_table(e: &Estimate) -> Table {
    let (timing, knock, margin) = ("timing, deg BTDC", "knock, %", "octane margin");
    let mut table = Table::new(vec![
        Column::words("fuel"),
        Column::number("worst", "rpm"),
        Column::number("start", "").under(timing),
        Column::number("limit", "").under(timing),
        Column::number("MBT", "").under(timing),
        Column::number("start", "").under(knock),
        Column::number("limit", "").under(knock),
        Column::number("limit", "").under(margin),
        Column::number("MBT", "").under(margin),
        Column::number("lost to", "retard, %"),
    ]);
    for fuel in &e.fuels {
        let p = &fuel.curve[fuel.tightest_index];
        table.row(vec![
            shorten(&fuel.name, NAME_LIMIT),
            fixed(p.speed_rpm, 0),
            maybe(p.cautious_spark_deg_btdc, 1),
            fixed(p.spark_deg_btdc, 1),
            fixed(p.best_torque_spark_deg_btdc, 1),
            maybe(p.start_knock_probability.map(|share| 100.0 * share), 0),
            percent(p.knock_probability, 0),
            signed(p.octane_margin, 1),
            signed(p.best_torque_octane_margin, 1),
            percent(fuel.peak_power_lost_frac, 1),
        ]);
    }
    table
}

/// Peak power at the crank, on the day and brought to reference days.
fn corrected(e: &Estimate, units: Units) -> String {
    let day = format!("peak crank power on the day, {}", units.power_unit());
    let likely = format!("likely, corrected, {}", units.power_unit());
    let mut columns = vec![Column::words("fuel")];
    columns.extend(band_columns(&day));
    columns.extend(e.corrections.iter().map(|c| Column::number(c.standard, "").under(&likely)));
    let mut table = Table::new(columns);
    let decimals = output_decimals(largest(e.fuels.iter().map(|f| units.power(f.peak_power.crank.high))));
    for fuel in &e.fuels {
        let crank = fuel.peak_power.crank;
        let mut cells = vec![shorten(&fuel.name, NAME_LIMIT)];
        cells.extend(band_cells(crank, |kw| units.power(kw), decimals));
        cells
            .extend(e.corrections.iter().map(|c| fixed(units.power(crank.times(c.factor).likely), decimals)));
        table.row(cells);
    }
    let mut out = heading("At the crank, driveline not taken off") + &table.render();
    for c in &e.corrections {
        out += &wrap("  ", &format!("{}: factor {} for this day.", c.standard, fixed(c.factor, 3)));
        out += &c.outside.as_ref().map_or_else(String::new, |why| wrap("  Outside its range: ", why));
    }
    out
}

fn by_speed(fuel: &FuelEstimate, units: Units) -> String {
    let title = format!(
        "{}: {} (RON {}, MON {}, {} % ethanol by volume)",
        fuel.name,
        fuel.title,
        fixed(fuel.ron, 1),
        fixed(fuel.mon, 1),
        percent(fuel.ethanol_vol_frac, 0)
    );
    let mut out = heading(&title);
    out += &timing_table(&fuel.curve).render();
    if let Some(point) = tightest_as_used(fuel) {
        let band = point.octane_margin_band;
        let is_limited = fuel.curve.iter().any(|p| p.knock_limited);
        let text = format!(
            "{}CA50 and octane are those at the limit. Octane margin of the cases at the limit at {} rpm: {} to {}.",
            if is_limited { "* Knock sets this limit, not MBT. " } else { "" },
            fixed(point.speed_rpm, 0),
            signed(band.low, 1),
            signed(band.high, 1)
        );
        out += &wrap("  ", &text);
    }
    out += &format!("\n{}", power_table(&fuel.curve, units).render());
    out + &wrap("  ", "BMEP, mechanical efficiency, peak pressure and BSFC are those at the limit.")
}

fn timing_table(curve: &[CurvePoint]) -> Table {
    let (timing, knock, octane) = ("timing, deg BTDC", "knock, %", "octane number");
    let mut table = Table::new(vec![
        Column::number("rpm", ""),
        Column::number("VE", "%"),
        Column::number("lambda", ""),
        Column::number("start", "").under(timing),
        Column::number("limit ", "").under(timing),
        Column::number("MBT", "").under(timing),
        Column::number("start", "").under(knock),
        Column::number("limit", "").under(knock),
        Column::number("CA50", "deg ATDC"),
        Column::number("index", "").under(octane),
        Column::number("required", "").under(octane),
        Column::number("margin", "").under(octane),
    ]);
    for p in curve {
        table.row(vec![
            fixed(p.speed_rpm, 0),
            percent(p.volumetric_efficiency, 0),
            fixed(p.lambda, 2),
            maybe(p.cautious_spark_deg_btdc, 1),
            fixed(p.spark_deg_btdc, 1) + if p.knock_limited { "*" } else { " " },
            fixed(p.best_torque_spark_deg_btdc, 1),
            maybe(p.start_knock_probability.map(|share| 100.0 * share), 0),
            percent(p.knock_probability, 0),
            fixed(p.ca50_deg_atdc, 1),
            fixed(p.octane_index, 1),
            fixed(p.octane_requirement, 1),
            signed(p.octane_margin, 1),
        ]);
    }
    table
}

fn power_table(curve: &[CurvePoint], units: Units) -> Table {
    let pressure = units.pressure_unit();
    let mut columns = vec![Column::number("rpm", "")];
    columns.extend(start_and_limit_columns(&format!("wheel power, {}", units.power_unit())));
    columns.extend(start_and_limit_columns(&format!("crank torque, {}", units.torque_unit())));
    columns.extend([
        Column::number("BMEP", pressure),
        Column::number("mech.", "eff.,%"),
        Column::number("peak", pressure),
        Column::number("BSFC", units.bsfc_unit()),
    ]);
    let mut table = Table::new(columns);
    let torque_decimals =
        output_decimals(largest(curve.iter().map(|p| units.torque(p.crank_torque_nm.high))));
    let power_decimals = output_decimals(largest(curve.iter().map(|p| units.power(p.wheel_power_kw.high))));
    for p in curve {
        let mut cells = vec![fixed(p.speed_rpm, 0)];
        cells.extend(maybe_band_cells(p.start_wheel_power_kw, |kw| units.power(kw), power_decimals));
        cells.push(fixed(units.power(p.wheel_power_kw.likely), power_decimals));
        cells.extend(maybe_band_cells(p.start_crank_torque_nm, |nm| units.torque(nm), torque_decimals));
        cells.push(fixed(units.torque(p.crank_torque_nm.likely), torque_decimals));
        cells.extend([
            fixed(units.pressure(p.bmep_bar), units.mep_decimals()),
            percent(p.mechanical_efficiency, 0),
            fixed(units.pressure(p.peak_pressure_bar), 0),
            fixed(units.bsfc(p.bsfc_g_per_kwh), units.bsfc_decimals()),
        ]);
        table.row(cells);
    }
    table
}

/// Low, likely and high at the timing to start from, and likely at the likely limit, under one heading.
fn start_and_limit_columns(group: &str) -> [Column; 4] {
    [("", "low"), ("start", "likely"), ("", "high"), ("limit", "likely")]
        .map(|(timing, end)| Column::number(timing, end).under(group))
}

fn ladder(fuel: &FuelEstimate, units: Units) -> String {
    if fuel.ladder.is_empty() {
        return String::new();
    }
    let pressure = units.pressure_unit();
    let (left, lost) = ("what is left", "lost in this step");
    let mut table = Table::new(vec![
        Column::words("step"),
        Column::number("mean effective", &format!("pressure, {pressure}")).under(left),
        Column::number("% of fuel", "energy").under(left),
        Column::number(pressure, "").under(lost),
        Column::number("% of fuel", "energy").under(lost),
    ]);
    for (i, rung) in fuel.ladder.iter().enumerate() {
        let mut cells = vec![
            shorten(rung.name, 44),
            fixed(units.pressure(rung.mean_effective_pressure_bar), units.mep_decimals()),
            percent(rung.efficiency, 1),
        ];
        if let Some(before) = i.checked_sub(1).map(|i| &fuel.ladder[i]) {
            let lost_bar = before.mean_effective_pressure_bar - rung.mean_effective_pressure_bar;
            cells.push(fixed(units.pressure(lost_bar), units.mep_decimals()));
            cells.push(percent(before.efficiency - rung.efficiency, 1));
        }
        table.row(cells);
    }
    let speed = fixed(fuel.peak_power.speed_rpm, 0);
    heading(&format!("Where the fuel energy goes at peak power, {}, {speed} rpm", fuel.name))
        + &table.render()
}

/// What each change is worth at the tightest point.
fn levers(fuel: &FuelEstimate) -> String {
    let mut table = Table::new(vec![
        Column::words("change"),
        Column::number("octane margin", ""),
        Column::number("torque", "%"),
    ]);
    for lever in &fuel.levers {
        table.row(vec![
            shorten(lever.name, 50),
            signed(lever.octane_margin_change, 1),
            signed(100.0 * lever.torque_change_frac, 1),
        ]);
    }
    let point = &fuel.curve[fuel.tightest_index];
    let title = format!(
        "What a change is worth on {} at {} rpm, timing held at the likely limit of {} deg",
        fuel.name,
        fixed(point.speed_rpm, 0),
        fixed(point.spark_deg_btdc, 1)
    );
    heading(&title) + &table.render()
}

fn drivers(fuel: &FuelEstimate) -> String {
    if fuel.drivers.is_empty() {
        return String::new();
    }
    let (power, margin) = ("of peak wheel power", "of the tightest octane margin");
    let mut table = Table::new(vec![
        Column::words("input").under(power),
        Column::number("rank corr.", "").under(power),
        Column::words("input").under(margin),
        Column::number("rank corr.", "").under(margin),
    ]);
    let by_power = strongest(&fuel.drivers, |d| d.power_rank_correlation);
    let by_margin = strongest(&fuel.drivers, |d| d.margin_rank_correlation);
    for (a, b) in by_power.iter().zip(&by_margin).take(DRIVERS_SHOWN) {
        table.row(vec![
            shorten(a.name, 30),
            signed(a.power_rank_correlation, 2),
            shorten(b.name, 30),
            signed(b.margin_rank_correlation, 2),
        ]);
    }
    heading(&format!("What drives the spread on {}", fuel.name)) + &table.render()
}

/// Inputs by falling strength of a correlation.
pub(super) fn strongest(drivers: &[Driver], correlation: impl Fn(&Driver) -> f64) -> Vec<&Driver> {
    let mut sorted: Vec<&Driver> = drivers.iter().collect();
    sorted.sort_by(|a, b| correlation(b).abs().total_cmp(&correlation(a).abs()));
    sorted
}

pub(super) fn list<'a>(title: &str, lines: impl Iterator<Item = &'a str>) -> String {
    let body: String = lines.map(|line| wrap("  - ", line)).collect();
    if body.is_empty() { body } else { heading(title) + &body }
}

pub(super) fn heading(title: &str) -> String {
    format!("\n{}", wrap("", &plain(title)))
}

/// Low, likely and high as cells of a table.
pub(super) fn band_cells(band: Band, convert: impl Fn(f64) -> f64, decimals: usize) -> [String; 3] {
    [band.low, band.likely, band.high].map(|value| fixed(convert(value), decimals))
}

/// Low, likely and high as cells of a table; "none" where there is no such timing.
pub(super) fn maybe_band_cells(
    band: Option<Band>,
    convert: impl Fn(f64) -> f64,
    decimals: usize,
) -> [String; 3] {
    band.map_or_else(|| [NONE; 3].map(str::to_owned), |band| band_cells(band, convert, decimals))
}

/// A number as a cell of a table; "none" where there is no such timing.
pub(super) fn maybe(value: Option<f64>, decimals: usize) -> String {
    value.map_or_else(|| NONE.to_owned(), |value| fixed(value, decimals))
}

/// The greatest of some values that are not negative.
pub(super) fn largest(values: impl Iterator<Item = f64>) -> f64 {
    values.fold(0.0, f64::max)
}
