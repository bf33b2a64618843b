//! The fit for a person.

use super::super::Units;
use super::super::columns::Columns;
use super::super::quantity::{band_words, digits_for, fixed, percent, signed};
use super::super::screen::Text;
use super::super::table::{heading, plain, points, shorten, wrap};
use super::{Fitting, words};
use crate::dyno::{Fit, FitError, FittedParameter, FittedPoint, FuelForecast, Judgement, Noise};
use crate::estimate::Band;
use crate::report::quantity::Dimension::{Power, Pure, Share, Torque};

/// Most characters of the name of a fuel.
const FUEL_LIMIT: usize = 24;

/// What became of the fit: what it wrote and how far to trust it on the screen, the rest in a part.
pub(super) fn render(
    judgement: &Judgement,
    fitting: &Fitting<'_>,
    units: Units,
    part: &'static str,
    out: &mut Text,
) {
    let (fit, file, knock_points) = match fitting {
        Fitting::NotAsked => return,
        Fitting::Refused => {
            return out.screen(&("\n".to_owned() + &wrap("Fit        ", &words::not_fitted(judgement))));
        }
        Fitting::Done { fit, file, knock_points } => (fit, file, *knock_points),
    };
    let alarms: String = words::fit_alarms(fit).map(|alarm| wrap("  WARNING: ", &alarm)).collect();
    out.screen(
        &(heading("Fit")
            + &wrap("  ", &written(fit, file))
            + &points(words::pipes_moved(fit, units).iter().map(String::as_str))
            + &powers(fit, units)
            + &known(judgement, knock_points)
            + &alarms
            + &errors(fit)),
    );
    out.part(
        part,
        "What is known before and after the pull (width: range after over range before; pinned: how well the pull pins it down)",
        &parameters(fit, units),
    );
    let tied = if fit.alike.is_empty() {
        wrap("  - ", "No two of these are tied by more than 0.9.")
    } else {
        alike(fit)
    };
    out.part(part, "What the pull cannot tell apart", &tied);
    out.part(part, "What the dyno is taken to be good for", &wrap("  ", &reckoned(&fit.noise)));
    out.part(part, "VE and torque by rpm", &curve(fit, units));
    let title = "Every fuel in the weather of the pull: peak wheel power, least knock margin at MBT timing";
    out.part(part, title, &fuels(fit, units));
    let notes = words::fit_notes(fit, judgement);
    out.part(part, "On the fit", &points(notes.iter().map(String::as_str)));
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
        let meaning = "In brackets the correlation with all else held, and with all else free. Such things move torque alike at every rpm: the pull measures what they make together, of VE and driveline loss only the product, and how it is shared rests on what was known before.";
        out += &wrap("  ", meaning);
    }
    out
}

fn parameters(fit: &Fit, units: Units) -> String {
    let mut c = Columns::<&FittedParameter>::new(units);
    c.words("", |p| words::parameter(p.what).to_owned());
    c.words("unit", move |p| words::parameter_unit(p.what, units).0.to_owned());
    for (when, band) in [("before", (|p| p.before) as fn(&FittedParameter) -> Band), ("after", |p| p.after)] {
        c.group(when);
        for (i, end) in ["low", "likely", "high"].into_iter().enumerate() {
            c.cells(end, move |p| {
                let (_, decimals, factor) = words::parameter_unit(p.what, units);
                band_words(band(p), |v| v * factor, decimals)[i].clone()
            });
        }
    }
    c.group("");
    c.number("width", Share, |p| p.width_ratio);
    c.words("pinned", |p| words::told(p.width_ratio).to_owned());
    c.text(&fit.parameters)
}

fn errors(fit: &Fit) -> String {
    let mut c = Columns::<(&str, FitError)>::new(Units::Metric);
    c.words("error of torque", |(name, _)| (*name).to_owned());
    c.number("rms", Share, |(_, error)| error.rms_frac).digits(1);
    c.number("worst", Share, |(_, error)| error.worst_frac).digits(1).signed();
    c.number("at", Pure, |(_, error)| error.worst_speed_rpm).below("rpm");
    c.text([("scenario as it was", fit.before), ("scenario as written", fit.after)])
}

fn reckoned(noise: &Noise) -> String {
    let origin = if noise.from_repeats {
        format!("from how the {} pulls repeat, not less than is usual", noise.pulls)
    } else {
        "usual practice for a single pull; a second would show it".to_owned()
    };
    format!(
        "Error of the mean (standard deviation): {} % on all rpm together, {} % on each ({origin}).",
        percent(noise.whole_frac, 2),
        percent(noise.row_frac, 2)
    )
}

fn curve(fit: &Fit, units: Units) -> String {
    let digits = digits_for(fit.curve.iter().map(|p| Torque.unit(units).of(p.after_torque_nm)));
    let mut c = Columns::<&FittedPoint>::new(units);
    c.number("rpm", Pure, |p| p.speed_rpm);
    c.group_of("torque");
    c.maybe("measured", Torque, |p| p.measured_torque_nm).digits(digits).or("-");
    c.number("before", Torque, |p| p.before_torque_nm).digits(digits);
    c.number("after", Torque, |p| p.after_torque_nm).digits(digits);
    c.group("VE");
    c.number("before", Pure, |p| p.before_volumetric_efficiency).digits(3);
    c.number("after", Pure, |p| p.written_volumetric_efficiency).digits(3);
    c.text(&fit.curve)
}

fn written(fit: &Fit, file: &str) -> String {
    let w = &fit.written;
    let loss = match (w.measured_loss_percent, w.measured_loss_spread_percent) {
        (Some(loss), Some(spread)) => {
            format!(", driveline loss {} % +/-{} % of it", fixed(loss, 1), fixed(spread, 0))
        }
        _ => String::new(),
    };
    let ve = match w.pipes {
        Some(_) => "sizes of the pipes and the level of VE".to_owned(),
        None => format!("VE at {} rpm, +/-{} %", w.speed_rpm.len(), fixed(w.spread_percent, 1)),
    };
    format!(
        "Written to {}: {ve}{loss}, burn speed {}; on lambda {}.",
        plain(file),
        fixed(w.burn_speed, 2),
        fixed(fit.lambda, 3)
    )
}

/// What became of the knock points of the log.
fn known(judgement: &Judgement, written: usize) -> String {
    let Some(knock) = judgement.knock.as_ref().filter(|knock| !knock.points.is_empty()) else {
        return String::new();
    };
    let said = match &knock.fuel {
        None => "The log holds timing and knock: name the fuel that was in the tank with --fuel, and its knock points are written too.".to_owned(),
        Some(_) => format!("With {written} knock points of the log as [[knock.known]]: check them by ear."),
    };
    wrap("  ", &said)
}

/// Peak wheel power on the fuel of the pull, as this dyno reads and as any may.
fn powers(fit: &Fit, units: Units) -> String {
    let Some(pulled) = fit.fuels.iter().find(|f| f.pulled) else { return String::new() };
    let unit = Power.unit(units);
    let range = |band: Band| format!("{} to {} {}", unit.words(band.low), unit.words(band.high), unit.symbol);
    wrap(
        "  ",
        &format!(
            "Peak wheel power on {}: {} as this dyno reads, {} on any dyno (dynos differ by 5 to 8 % among themselves, common practice, no source; taken as +/-6.5 %).",
            plain(&pulled.fuel),
            range(pulled.after_wheel_power_kw),
            range(pulled.any_dyno_wheel_power_kw)
        ),
    )
}

fn fuels(fit: &Fit, units: Units) -> String {
    let digits = digits_for(fit.fuels.iter().map(|f| Power.unit(units).of(f.after_wheel_power_kw.high)));
    let mut c = Columns::<&FuelForecast>::new(units);
    let mark = |f: &&FuelForecast| if f.pulled { " (pulled)" } else { "" };
    c.words("fuel", move |f| format!("{}{}", shorten(&f.fuel, FUEL_LIMIT), mark(f)));
    c.group_of("before");
    c.band("", Power, |f| Some(f.before_wheel_power_kw)).digits(digits);
    c.group_of("as this dyno reads");
    c.band("", Power, |f| Some(f.after_wheel_power_kw)).digits(digits);
    c.group_of("on any dyno");
    c.number("low", Power, |f| f.any_dyno_wheel_power_kw.low).digits(digits);
    c.number("high", Power, |f| f.any_dyno_wheel_power_kw.high).digits(digits);
    c.group("octane margin");
    c.number("before", Pure, |f| f.before_octane_margin).digits(1).signed();
    c.number("after", Pure, |f| f.after_octane_margin).digits(1).signed();
    c.number("+/-", Pure, |f| f.octane_margin_half_width).digits(1);
    let narrowed = fit.fuels.iter().filter(|f| !f.pulled).map(|f| {
        let width = |b: crate::estimate::Band| (b.high - b.low) / b.likely;
        width(f.after_wheel_power_kw) / width(f.before_wheel_power_kw)
    });
    let widest = narrowed.fold(0.0, f64::max);
    let mut out = c.text(&fit.fuels);
    if widest > 0.0 {
        out += &wrap(
            "  ",
            &format!(
                "Ranges of the fuels not pulled are at most {} % of what they were.",
                percent(widest, 0)
            ),
        );
    }
    out
}
