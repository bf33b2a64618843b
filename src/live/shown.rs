//! The numbers that head the page, the plots and the notices of a setting as HTML.

use super::curves::{Curves, LiveBand, LivePoint, Worst};
use super::field::labelled;
use crate::report::Dimension::{Power, Torque};
use crate::report::{CurveLook, ReportError, RpmCurve, Say, Units, fixed, over_rpm, signed};
use maud::{Markup, html};

/// Retard and loss below which there is none [deg, %].
const NONE: f64 = 0.05;

/// The numbers of a setting beside those of the build before anything was moved.
pub(super) fn numbers(now: &Curves, was: &Curves, units: Units) -> String {
    html! { dl { @for (name, value, small, beside) in rows(now, was, units) {
        div { dt { (name) } dd { (value) small { (small) } } dd .beside { (beside) } }
    } } }
    .into_string()
}

type Row = (String, String, String, String);

fn rows(now: &Curves, was: &Curves, units: Units) -> Vec<Row> {
    let kw = |held: f64| fixed(units.of(Power, held), 0);
    let head = now.start_peak_power.unwrap_or(now.peak_power);
    let before =
        if now.start_peak_power.is_some() { was.start_peak_power } else { None }.unwrap_or(was.peak_power);
    let same =
        if kw(before.of.likely) == kw(head.of.likely) { "the same".to_owned() } else { kw(before.of.likely) };
    let at = match (now.start_peak_power, now.sampled) {
        (Some(_), _) => {
            format!(
                "at the start timing, at {}; {} at the likely limit",
                rpm(head.speed_rpm),
                kw(now.peak_power.of.likely)
            )
        }
        (None, true) => format!("at the likely limit, at {}", rpm(head.speed_rpm)),
        (None, false) => format!("at the likely limit, at {}; the start timing follows", rpm(head.speed_rpm)),
    };
    let mut rows = vec![(
        format!("Peak wheel power, {}", units.symbol(Power)),
        kw(head.of.likely),
        ends(head.of, kw),
        format!("{at}; as stated {same}"),
    )];
    rows.extend(timings(now));
    let worst = &now.tightest_as_used;
    let band = now.curve.iter().find(|p| p.speed_rpm == worst.speed_rpm).map(|p| p.octane_margin);
    let octane = |value: f64| signed(value, 1);
    rows.push((
        "Worst knock margin, octane numbers".to_owned(),
        octane(worst.octane_margin),
        band.map(|band| ends(band, octane)).unwrap_or_default(),
        format!(
            "at the likely limit, at {}; at MBT timing {} at {}",
            rpm(worst.speed_rpm),
            octane(now.tightest_at_best_torque.octane_margin),
            rpm(now.tightest_at_best_torque.speed_rpm)
        ),
    ));
    let lost = now.torque_given_up_frac;
    let place =
        if 100.0 * lost.most > NONE { format!("at {}; ", rpm(lost.speed_rpm)) } else { String::new() };
    rows.push((
        "Torque lost to retard".to_owned(),
        format!("{} %", fixed(100.0 * lost.most, 1)),
        " at the likely limit".to_owned(),
        format!("{place}of peak power {} %", fixed(100.0 * now.peak_power_given_up_frac, 1)),
    ));
    rows
}

/// The timing to start from and the likely limit against MBT timing, and how often each knocks.
fn timings(now: &Curves) -> Vec<Row> {
    let retard = |worst: Worst| {
        if worst.most > NONE { format!("-{} deg", fixed(worst.most, 1)) } else { "MBT".to_owned() }
    };
    let place = |worst: Worst| match worst.most > NONE {
        true => format!("from MBT timing at {}, where most", rpm(worst.speed_rpm)),
        false => "timing everywhere".to_owned(),
    };
    let (start, start_at) = match (now.start_retard_deg, now.sampled) {
        (Some(worst), _) => (retard(worst), format!("{}; knock-free in 9 cases of 10", place(worst))),
        (None, true) => {
            ("none".to_owned(), "no timing in range is knock-free in 9 cases of 10 at some rpm".to_owned())
        }
        (None, false) => ("...".to_owned(), "follows with the ranges".to_owned()),
    };
    let most = |of: fn(&LivePoint) -> Option<f64>| {
        let most = now.curve.iter().filter_map(of).fold(0.0, f64::max);
        format!("{} %", fixed(100.0 * most, 0))
    };
    let (knock, knock_at) = match (now.sampled, now.start_retard_deg) {
        (false, _) => ("...".to_owned(), "follows with the ranges".to_owned()),
        (true, None) => {
            (most(|p| p.knock_probability), "of cases at the likely limit, at the worst rpm".to_owned())
        }
        (true, Some(_)) => (
            most(|p| p.start_knock_probability),
            format!(
                "of cases at the start timing, {} at the likely limit, at the worst rpm",
                most(|p| p.knock_probability)
            ),
        ),
    };
    let limit = now.spark_held_back_deg;
    let row = |name: &str, value, beside| (name.to_owned(), value, String::new(), beside);
    vec![
        row("Timing to start from", start, start_at),
        row("Likely limit", retard(limit), place(limit)),
        row("Knock", knock, knock_at),
    ]
}

fn rpm(value: f64) -> String {
    format!("{} rpm", fixed(value, 0))
}

/// The ends of a band in brackets; nothing while they are not known.
fn ends(band: LiveBand, said: impl Fn(f64) -> String) -> String {
    match (band.low, band.high) {
        (Some(low), Some(high)) => format!(" ({} to {})", said(low), said(high)),
        _ => String::new(),
    }
}

/// The plots: power, torque, knock margin, timing.
pub(super) fn plots(now: &Curves, was: &Curves, units: Units) -> Result<String, ReportError> {
    let banded = |id: &str,
                  y_name: String,
                  start: Start,
                  limit: fn(&LivePoint) -> LiveBand,
                  convert: &dyn Fn(f64) -> f64| {
        let leads = |curves: &Curves| -> RpmCurve {
            let of = |p: &LivePoint| if curves.sampled { start(p) } else { Some(limit(p)) };
            curve(curves, &of, convert)
        };
        let mut first = leads(now);
        let at = if now.sampled { "at the timing to start from" } else { "at the likely limit" };
        first.label = format!("{at}{}", if now.sampled { ", 10th to 90th percentile" } else { "" });
        let mut curves = vec![first];
        if now.sampled {
            let mut second = curve(now, &|p| Some(LiveBand { low: None, high: None, ..limit(p) }), convert);
            (second.label, second.look) = ("at the likely limit".to_owned(), CurveLook::Second);
            curves.push(second);
        }
        let mut before = curve(was, &|p| Some(LiveBand { low: None, high: None, ..limit(p) }), convert);
        (before.label, before.look) = ("at the likely limit, as stated".to_owned(), CurveLook::Before);
        curves.push(before);
        over_rpm(id, &y_name, &curves)
    };
    let power = format!("wheel power, {}", units.symbol(Power));
    let torque = format!("torque at the flywheel, {}", units.symbol(Torque));
    let margin = "knock margin, octane numbers".to_owned();
    Ok([
        banded("power", power, |p| p.start_wheel_power_kw, |p| p.wheel_power_kw, &|kw| units.of(Power, kw))?,
        banded("torque", torque, |p| p.start_crank_torque_nm, |p| p.crank_torque_nm, &|nm| {
            units.of(Torque, nm)
        })?,
        banded("margin", margin, |p| p.start_octane_margin, |p| p.octane_margin, &|octane| octane)?,
        timing_plot(now)?,
    ]
    .concat())
}

type Start = fn(&LivePoint) -> Option<LiveBand>;

fn timing_plot(now: &Curves) -> Result<String, ReportError> {
    let line = |label: &str, look, of: fn(&LivePoint) -> Option<f64>| {
        let bare = |p: &LivePoint| of(p).map(|likely| LiveBand { likely, ..LiveBand::default() });
        RpmCurve { label: label.to_owned(), look, ..curve(now, &bare, &|deg| deg) }
    };
    let limit = if now.sampled { CurveLook::Second } else { CurveLook::First };
    let mut curves = vec![
        line("likely limit", limit, |p| Some(p.spark_deg_btdc)),
        line("MBT timing", CurveLook::Bound, |p| Some(p.best_torque_spark_deg_btdc)),
    ];
    if now.sampled {
        curves.insert(0, line("timing to start from", CurveLook::First, |p| p.start_spark_deg_btdc));
    }
    over_rpm("timing", "timing, deg BTDC", &curves)
}

/// A quantity of every point in runs, broken where there is none.
fn curve(
    curves: &Curves,
    of: &dyn Fn(&LivePoint) -> Option<LiveBand>,
    convert: &dyn Fn(f64) -> f64,
) -> RpmCurve {
    let mut drawn = RpmCurve::default();
    for run in curves.curve.split(|p| of(p).is_none()).filter(|run| !run.is_empty()) {
        let points = run.iter().filter_map(|p| Some((p.speed_rpm, of(p)?)));
        drawn.runs.push(points.clone().map(|(rpm, band)| (rpm, convert(band.likely))).collect());
        let band: Vec<_> =
            points.filter_map(|(rpm, band)| Some((rpm, convert(band.low?), convert(band.high?)))).collect();
        if !band.is_empty() {
            drawn.bands.push(band);
        }
    }
    drawn
}

/// What should be known of a setting.
pub(super) fn notices(now: &Curves, units: Units) -> String {
    let missed =
        "A limit of the build is not met, or no timing in range keeps the safety margin at some rpm.";
    html! { ul {
        @if now.limit_missed { li .missed { (missed) } }
        @for notice in &now.notices { li { (labelled(&notice.say(units))) } }
    } }
    .into_string()
}

/// One sentence of all of it, to be spoken.
pub(super) fn spoken(now: &Curves, units: Units) -> String {
    let head = now.start_peak_power.unwrap_or(now.peak_power);
    let kw = |held: f64| fixed(units.of(Power, held), 0);
    let words = |worst: Worst| match worst.most > NONE {
        true => format!("{} degrees retarded from MBT", fixed(worst.most, 1)),
        false => "MBT timing everywhere".to_owned(),
    };
    format!(
        "{}: peak wheel power {}{} {}, start {}, likely limit {}.",
        now.fuel,
        kw(head.of.likely),
        ends(head.of, kw),
        units.symbol(Power),
        now.start_retard_deg.map_or("at no timing".to_owned(), words),
        words(now.spark_held_back_deg)
    )
}

/// The curves as a table.
pub(super) fn table(now: &Curves, units: Units) -> Markup {
    let kw = |held: f64| fixed(units.of(Power, held), 0);
    let nm = |held: f64| fixed(units.of(Torque, held), 0);
    let none = || "none".to_owned();
    let banded = |band: Option<LiveBand>, said: &dyn Fn(f64) -> String| {
        band.map_or_else(none, |band| said(band.likely) + &ends(band, said))
    };
    let share = |share: Option<f64>| share.map_or_else(none, |share| fixed(100.0 * share, 0));
    let heads = [
        "rpm".to_owned(),
        format!("Wheel power at start, {}", units.symbol(Power)),
        "at limit".to_owned(),
        format!("Flywheel torque at start, {}", units.symbol(Torque)),
        "at limit".to_owned(),
        "Timing to start from, deg BTDC".to_owned(),
        "Likely limit".to_owned(),
        "MBT timing".to_owned(),
        "Knock at start, %".to_owned(),
        "Knock at limit, %".to_owned(),
        "Knock margin at limit".to_owned(),
        "Torque lost at limit, %".to_owned(),
    ];
    let row = |p: &LivePoint| {
        [
            fixed(p.speed_rpm, 0),
            banded(p.start_wheel_power_kw, &kw),
            banded(Some(p.wheel_power_kw), &kw),
            banded(p.start_crank_torque_nm, &nm),
            banded(Some(p.crank_torque_nm), &nm),
            p.start_spark_deg_btdc.map_or_else(none, |deg| fixed(deg, 1)),
            fixed(p.spark_deg_btdc, 1),
            fixed(p.best_torque_spark_deg_btdc, 1),
            share(p.start_knock_probability),
            share(p.knock_probability),
            signed(p.octane_margin.likely, 1),
            fixed(100.0 * p.torque_lost_frac.max(0.0), 1),
        ]
    };
    html! {
        div .scroll tabindex="0" role="region" aria-label="The curves as a table" { table {
            thead { tr { @for head in &heads { th scope="col" { (head) } } } }
            tbody { @for point in &now.curve { tr { @for cell in row(point) { td { (cell) } } } } }
        } }
    }
}
