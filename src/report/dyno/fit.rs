//! The fit for a person.

use super::super::Units;
use super::super::quantity::band_words;
use super::super::quantity::{fixed, output_decimals, percent, signed};
use super::super::table::{Column, Table, band_columns, plain, shorten, wrap};
use super::{Fitting, words};
use crate::dyno::{Fit, FitError, Judgement, Noise};

/// Most characters of the name of a fuel.
const FUEL_LIMIT: usize = 24;

/// What became of the fit, as sections of the report.
pub(super) fn render(judgement: &Judgement, fitting: &Fitting<'_>, units: Units) -> String {
    match fitting {
        Fitting::NotAsked => String::new(),
        Fitting::Refused => format!("\n{}", wrap("Fit        ", &words::not_fitted(judgement))),
        Fitting::Done { fit, file } => sections(judgement, fit, file, units),
    }
}

fn sections(judgement: &Judgement, fit: &Fit, file: &str, units: Units) -> String {
    let mut out =
        "\nFit: what is known before and after the pull (width: band after over band before)\n".to_owned();
    out += &parameters(fit, units);
    out += "\nWhat the pull cannot tell apart\n";
    if fit.alike.is_empty() {
        out += &wrap("  - ", "No two of these are tied by more than 0.9.");
    }
    out += &alike(fit);
    out += "\nError of torque over the speeds compared\n";
    out += &errors(fit);
    out += &wrap("  ", &reckoned(&fit.noise));
    out += "\nFilling and torque by speed\n";
    out += &curve(fit, units);
    out += "\nWritten\n";
    out += &wrap("  ", &written(fit, file));
    out += "\nEvery fuel on the day of the pull: peak wheel power, tightest margin at MBT timing\n";
    out += &fuels(fit, units);
    out += "\nOn the fit\n";
    out.extend(words::fit_notes(fit, judgement).iter().map(|note| wrap("  - ", note)));
    out
}

/// The tied pairs, by the first of each.
fn alike(fit: &Fit) -> String {
    let mut out = String::new();
    for pairs in fit.alike.chunk_by(|a, b| a.first == b.first) {
        let with: Vec<String> = pairs
            .iter()
            .map(|pair| {
                let (held, free) = (signed(pair.correlation_held, 2), signed(pair.correlation, 2));
                format!("{} ({held}; {free})", words::parameter(pair.second))
            })
            .collect();
        let first = words::parameter(pairs[0].first);
        out += &wrap("  - ", &format!("{first} and: {}.", with.join(", ")));
    }
    if !fit.alike.is_empty() {
        let meaning = "In brackets the correlation with all else held, and with all else free. Such things move torque alike at every speed: the pull measures what they make together, of filling and driveline loss only the product, and how it is shared rests on what was known before.";
        out += &wrap("  ", meaning);
    }
    out
}

fn parameters(fit: &Fit, units: Units) -> String {
    let mut columns = vec![Column::words(""), Column::words("unit")];
    columns.extend(band_columns("before"));
    columns.extend(band_columns("after"));
    columns.extend([Column::number("width", "%"), Column::words("told")]);
    let mut table = Table::new(columns);
    for p in &fit.parameters {
        let (unit, decimals, factor) = words::parameter_unit(p.what, units);
        let mut cells = vec![words::parameter(p.what).to_owned(), unit.to_owned()];
        cells.extend([p.before, p.after].map(|band| band_words(band, |v| v * factor, decimals)).concat());
        cells.extend([percent(p.width_ratio, 0), words::told(p.width_ratio).to_owned()]);
        table.row(cells);
    }
    table.render()
}

fn errors(fit: &Fit) -> String {
    let mut table = Table::new(vec![
        Column::words(""),
        Column::number("rms", "%"),
        Column::number("worst", "%"),
        Column::number("at", "rpm"),
    ]);
    let mut row = |name: &str, error: FitError| {
        table.row(vec![
            name.to_owned(),
            fixed(error.rms_percent, 1),
            signed(error.worst_percent, 1),
            fixed(error.worst_speed_rpm, 0),
        ]);
    };
    row("scenario as it was", fit.before);
    row("scenario as written", fit.after);
    table.render()
}

fn reckoned(noise: &Noise) -> String {
    let origin = if noise.from_repeats {
        format!("from how the {} pulls repeat, not less than is usual", noise.pulls)
    } else {
        "usual practice for a single pull; a second would show it".to_owned()
    };
    format!(
        "Reckoned with (standard deviation of the mean): {} % on all speeds together, {} % on each ({origin}).",
        fixed(noise.whole_percent, 2),
        fixed(noise.row_percent, 2)
    )
}

fn curve(fit: &Fit, units: Units) -> String {
    let torque = format!("torque, {}", units.torque_unit());
    let mut columns = vec![Column::number("speed", "rpm")];
    columns.extend(["measured", "before", "after"].map(|head| Column::number(head, "").under(&torque)));
    let heads = ["before", "low", "likely", "high", "written"];
    columns.extend(heads.map(|head| Column::number(head, "").under("volumetric efficiency")));
    let mut table = Table::new(columns);
    let largest = fit.curve.iter().map(|p| p.after_torque_nm).fold(0.0, f64::max);
    let decimals = output_decimals(units.torque(largest));
    let shown = |nm: f64| fixed(units.torque(nm), decimals);
    for p in &fit.curve {
        let mut cells = vec![fixed(p.speed_rpm, 0), p.measured_torque_nm.map_or("-".to_owned(), shown)];
        cells.extend([p.before_torque_nm, p.after_torque_nm].map(shown));
        cells.push(fixed(p.before_volumetric_efficiency, 3));
        cells.extend(band_words(p.fitted_volumetric_efficiency, |v| v, 3));
        cells.push(fixed(p.written_volumetric_efficiency, 3));
        table.row(cells);
    }
    table.render()
}

fn written(fit: &Fit, file: &str) -> String {
    let w = &fit.written;
    let loss = match (w.measured_loss_percent, w.measured_loss_spread_percent) {
        (Some(loss), Some(spread)) => {
            format!(", driveline loss {} % +/-{} % of it", fixed(loss, 1), fixed(spread, 0))
        }
        _ => String::new(),
    };
    format!(
        "{}: filling at {} speeds, +/-{} %{loss}, burn speed {}; on lambda {}.",
        plain(file),
        w.speed_rpm.len(),
        fixed(w.spread_percent, 1),
        fixed(w.burn_speed, 2),
        fixed(fit.lambda, 3)
    )
}

fn fuels(fit: &Fit, units: Units) -> String {
    let power = |when: &str| format!("{when}, {}", units.power_unit());
    let mut columns = vec![Column::words("fuel")];
    columns.extend(band_columns(&power("before")));
    columns.extend(band_columns(&power("after")));
    columns.extend(["before", "after", "+/-"].map(|head| Column::number(head, "").under("octane margin")));
    let mut table = Table::new(columns);
    let largest = fit.fuels.iter().map(|f| f.after_wheel_power_kw.high).fold(0.0, f64::max);
    let decimals = output_decimals(units.power(largest));
    for f in &fit.fuels {
        let mark = if f.pulled { " (pulled)" } else { "" };
        let mut cells = vec![format!("{}{mark}", shorten(&f.fuel, FUEL_LIMIT))];
        let powers = [f.before_wheel_power_kw, f.after_wheel_power_kw];
        cells.extend(powers.map(|band| band_words(band, |kw| units.power(kw), decimals)).concat());
        cells.extend([
            signed(f.before_octane_margin, 1),
            signed(f.after_octane_margin, 1),
            fixed(f.octane_margin_half_width, 1),
        ]);
        table.row(cells);
    }
    let narrowed = fit.fuels.iter().filter(|f| !f.pulled).map(|f| {
        let width = |b: crate::estimate::Band| (b.high - b.low) / b.likely;
        width(f.after_wheel_power_kw) / width(f.before_wheel_power_kw)
    });
    let widest = narrowed.fold(0.0, f64::max);
    let mut out = table.render();
    if widest > 0.0 {
        out += &wrap(
            "  ",
            &format!("Bands of the fuels not pulled are at most {} % of what they were.", percent(widest, 0)),
        );
    }
    out
}
