//! Any result as a piece of a page: its words as they stand in the text, flowing to any width, and its plots panel by panel.

use super::page::chart::{Chart, legend};
use super::plot::figure::{Entry, Figure, Mark, Panel, Series};
use super::plot::style::{BEST_TORQUE, GREY, INK, LIMIT, Look, look};
use super::quantity::Dimension::Power;
use super::quantity::fixed;
use super::table::{at_width, plain, shorten};
use super::{ReportError, Shown, Units, without_styles};
use maud::{Markup, html};
use plotters::style::RGBColor;

/// Width at which no line of a text is broken [columns].
const UNBROKEN: usize = 100_000;
/// Most characters of a fuel in a legend.
const NAME_LIMIT: usize = 40;
/// How a title begins in a styled text.
const BOLD: &str = "\u{1b}[1m";
/// Blanks before the heading of a group of columns, at least.
const GROUP: usize = 6;
/// Longest line that counts to a table by standing next to one [columns].
const SHORT: usize = 60;

/// HTML of a result: the answer, the plots, and what else there is behind folds.
///
/// # Arguments
/// - `id`: prefix of the ids within the piece, of letters, digits and `-`
/// - `words`: how words of the text are said on the page
///
/// # Errors
/// As [`super::render`]; [`ReportError::Plot`] when drawing fails.
///
/// # Example
/// ```
/// use endgas::report::{Units, page_piece};
/// use endgas::{estimate::estimate, fuel::FuelLibrary, scenario};
/// let mut job = scenario::read("demo", scenario::DEMO)?.job(&FuelLibrary::shipped()?, 20, 1)?;
/// job.speeds_rpm = vec![5000.0, 7000.0];
/// let piece = page_piece("made", &estimate(&job)?, Units::Us, &|words| words.to_owned())?;
/// assert!(piece.contains("<svg") && piece.contains("peak wheel power"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn page_piece<S: Shown>(
    id: &str,
    result: &S,
    units: Units,
    words: &dyn Fn(&str) -> String,
) -> Result<String, ReportError> {
    // What is shown has passed the check of its numbers.
    result.json()?;
    let text = at_width(UNBROKEN, || result.text(units));
    let (screen, parts, rest) = text.by_place(S::PARTS);
    let mut drawn = Vec::new();
    for (i, (_, figure)) in result.figures(units)?.iter().enumerate() {
        drawn.push(figure_piece(&format!("{id}-{i}"), figure)?);
    }
    let said = |body: &str| flowing(&words(body));
    Ok(html! {
        (said(&screen))
        @for figure in &drawn { (figure) }
        @for (part, body) in &parts { details { summary { (words(part.shows)) } (said(body)) } }
        (said(&rest))
    }
    .into_string())
}

/// A figure: its legend, and each panel as a drawing of its own, so that it can be read on a phone.
fn figure_piece(id: &str, figure: &Figure) -> Result<Markup, ReportError> {
    let alone = figure.panels.len() == 1;
    let mut drawn = Vec::new();
    for (i, panel) in figure.panels.iter().enumerate() {
        let says = format!("{}: {}", plain(&figure.title), panel_words(panel));
        let caption = plain(&panel.y_name);
        let panel = &with_unit_alone(panel);
        drawn.push(Chart { id: format!("{id}-{i}"), caption, says, panel, large: alone }.render()?);
    }
    Ok(html! {
        section .figure {
            h3 { (plain(&figure.title)) }
            (legend(&figure.legend)?)
            div .charts { @for chart in &drawn { (chart) } }
        }
    })
}

/// A curve over engine rpm on a page.
#[derive(Clone, Debug, Default)]
pub(crate) struct RpmCurve {
    /// What the legend says.
    pub label: String,
    /// How it is told from the others.
    pub look: CurveLook,
    /// Runs of rpm and value.
    pub runs: Vec<Vec<(f64, f64)>>,
    /// Runs of rpm with the low and the high end of its band.
    pub bands: Vec<Vec<(f64, f64, f64)>>,
}

/// How a curve of a page is told from the others.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum CurveLook {
    /// What leads.
    #[default]
    First,
    /// What stands beside it.
    Second,
    /// What was there before.
    Before,
    /// A bound.
    Bound,
}

impl CurveLook {
    fn marks(self) -> (RGBColor, Vec<Mark>) {
        let line = |dash| vec![Mark::Line(dash)];
        match self {
            Self::First => (look(0).colour, vec![Mark::Line(None), Mark::Dots(look(0).shape, true)]),
            Self::Second => (look(1).colour, line(LIMIT)),
            Self::Before => (GREY, line(None)),
            Self::Bound => (INK, line(BEST_TORQUE)),
        }
    }
}

/// HTML of one drawing over engine rpm, with its legend.
///
/// # Errors
/// [`ReportError::Plot`] when drawing fails.
pub(crate) fn over_rpm(id: &str, y_name: &str, curves: &[RpmCurve]) -> Result<String, ReportError> {
    let (mut areas, mut lines, mut entries) = (Vec::new(), Vec::new(), Vec::new());
    // The first is drawn last, on top of the others.
    for curve in curves.iter().rev() {
        let (colour, marks) = curve.look.marks();
        for band in &curve.bands {
            let high = band.iter().rev().map(|(rpm, _, high)| (*rpm, *high));
            let points = band.iter().map(|(rpm, low, _)| (*rpm, *low)).chain(high).collect();
            areas.push(Series { mark: Mark::Area, colour, points });
        }
        for (mark, points) in curve.runs.iter().flat_map(|run| marks.iter().map(move |mark| (*mark, run))) {
            lines.push(Series { mark, colour, points: points.clone() });
        }
        let area = (!curve.bands.is_empty()).then_some(Mark::Area);
        entries.push(Entry::new(&curve.label, colour, &area.into_iter().chain(marks).collect::<Vec<_>>()));
    }
    entries.reverse();
    areas.extend(lines);
    let panel = Panel::over_speed(y_name.to_owned(), areas, &[]);
    let (says, panel) = (panel_words(&panel), with_unit_alone(&panel));
    let chart = Chart { id: id.to_owned(), caption: y_name.to_owned(), says, panel: &panel, large: false };
    Ok(html! { div .charted { (chart.render()?) (legend(&entries)?) } }.into_string())
}

/// HTML of likely peak power over compression ratio, a curve a fuel, as a first sight of a choice.
///
/// # Errors
/// [`ReportError::Plot`] when drawing fails.
pub(crate) fn power_over_ratio(
    id: &str,
    curves: &[(String, Vec<(f64, f64)>)],
    units: Units,
) -> Result<String, ReportError> {
    let (mut series, mut entries) = (Vec::new(), Vec::new());
    for (i, (fuel, points)) in curves.iter().enumerate() {
        let Look { colour, dash, shape } = look(i);
        let points: Vec<_> = points.iter().map(|(ratio, kw)| (*ratio, units.of(Power, *kw))).collect();
        let marks = [Mark::Line(dash), Mark::Dots(shape, true)];
        series.extend(marks.map(|mark| Series { mark, colour, points: points.clone() }));
        entries.push(Entry::new(shorten(fuel, NAME_LIMIT), colour, &marks));
    }
    let caption = format!("likely peak wheel power, {}", units.symbol(Power));
    let panel = Panel::over("compression ratio", caption.clone(), series, &[]);
    let (says, panel) = (panel_words(&panel), with_unit_alone(&panel));
    let chart = Chart { id: id.to_owned(), caption, says, panel: &panel, large: true };
    Ok(html! { div .charted { (chart.render()?) (legend(&entries)?) } }.into_string())
}

/// A panel with the unit alone at its upright axis: what it is stands above, and a long name would not fit beside it.
fn with_unit_alone(panel: &Panel) -> Panel {
    let unit = panel.y_name.rsplit(", ").next().unwrap_or_default().to_owned();
    let mut short = panel.clone();
    short.y_name = unit;
    short
}

/// What a panel shows, for those who cannot see it.
fn panel_words(panel: &Panel) -> String {
    let ends = |of: fn(&(f64, f64)) -> f64| {
        let values = panel.series.iter().flat_map(|series| &series.points).map(of);
        values
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)))
    };
    let ((x_low, x_high), (y_low, y_high)) = (ends(|p| p.0), ends(|p| p.1));
    if x_low > x_high {
        return format!("{}: nothing to draw", plain(&panel.y_name));
    }
    let said = |value: f64| fixed(value, if value.abs() < 20.0 { 1 } else { 0 });
    format!(
        "{} from {} to {}, over {} {} to {}",
        plain(&panel.y_name),
        said(y_low),
        said(y_high),
        panel.x_name,
        said(x_low),
        said(x_high)
    )
}

/// A run of lines of one sort.
enum Run {
    Title(String),
    Points(Vec<String>),
    Rows(Vec<String>),
    Named(String, String),
    Prose(String),
}

/// A text of the program whose prose flows: titles, points, tables as they are, all else as paragraphs.
fn flowing(text: &str) -> Markup {
    let mut runs: Vec<Run> = Vec::new();
    let mut is_apart = true;
    for styled in text.lines() {
        let is_title = styled.starts_with(BOLD);
        let line = without_styles(styled);
        if line.trim().is_empty() {
            is_apart = true;
            continue;
        }
        match (sort(&line, is_title), runs.last_mut()) {
            (Run::Points(mut new), Some(Run::Points(points))) => points.append(&mut new),
            (Run::Rows(mut new), Some(Run::Rows(rows))) if !is_apart => rows.append(&mut new),
            // A short line below a row of a table belongs to it.
            (Run::Prose(words), Some(Run::Rows(rows))) if !is_apart && words.chars().count() < SHORT => {
                rows.push(line);
            }
            (run, _) => runs.push(run),
        }
        is_apart = false;
    }
    html! {
        @for run in &runs {
            @match run {
                Run::Title(words) => h3 { (words) },
                Run::Points(points) => ul { @for point in points { li { (point) } } },
                Run::Rows(rows) => pre tabindex="0" role="group" aria-label="Table" { @for row in rows { (row) "\n" } },
                Run::Named(name, value) => p { b { (name) } " " (value) },
                Run::Prose(words) => p { (words) },
            }
        }
    }
}

fn sort(line: &str, is_title: bool) -> Run {
    let words = line.trim();
    if is_title {
        return Run::Title(words.to_owned());
    }
    if let Some(point) = words.strip_prefix("- ") {
        return Run::Points(vec![point.to_owned()]);
    }
    match words.split_once("  ") {
        Some((name, value)) if !line.starts_with(' ') && !value.trim().contains("  ") => {
            Run::Named(name.to_owned(), value.trim().to_owned())
        }
        Some(_) => Run::Rows(vec![line.to_owned()]),
        // A heading over some columns of the table below.
        None if line.starts_with(&" ".repeat(GROUP)) => Run::Rows(vec![line.to_owned()]),
        None => Run::Prose(words.to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    #[test]
    fn prose_flows_and_tables_stay() {
        let text = "\u{1b}[1mAnswer\u{1b}[0m\n  One long sentence <of> words.\n\n  rpm  power\n  3000    90\n\nFuel       e85\n  - a\n  - b\n";
        assert_eq!(
            flowing(text).into_string(),
            "<h3>Answer</h3><p>One long sentence &lt;of&gt; words.</p><pre tabindex=\"0\" role=\"group\" \
             aria-label=\"Table\">  rpm  power\n  3000    90\n</pre><p><b>Fuel</b> e85</p><ul><li>a</li><li>b</li></ul>"
        );
    }

    #[test]
    fn every_result_has_its_answer_its_plots_and_its_parts() {
        let words = |text: &str| text.to_owned();
        let piece = page_piece("made", &fixture::estimate(), Units::Metric, &words).unwrap();
        assert_eq!(piece.matches("<section class=\"figure\">").count(), 4);
        assert!(
            piece.contains("<details><summary>") && piece.contains("over engine rpm 2000 to 7000"),
            "{piece}"
        );
        assert!(!piece.contains("--show") && !piece.contains('\u{1b}'));
    }
}
