//! Drawings within the page.

use crate::report::ReportError;
use crate::report::plot::draw::{panel_svg, swatch_svg};
use crate::report::plot::figure::{Entry, Panel};
use crate::report::plot::style::{GREY, INK, OVER_LIMIT, PALE, look};
use maud::{Markup, PreEscaped, html};
use plotters::style::{RGBColor, WHITE};

/// Size of a small drawing and of one by itself [px].
const SMALL: (u32, u32) = (400, 230);
const LARGE: (u32, u32) = (440, 340);

/// One drawing with the words that stand for it.
pub(in crate::report) struct Chart<'a> {
    /// Name within the page.
    pub(in crate::report) id: String,
    /// What stands above it.
    pub(in crate::report) caption: String,
    /// What it shows, for those who cannot see it.
    pub(in crate::report) says: String,
    /// The axes and what is drawn in them.
    pub(in crate::report) panel: &'a Panel,
    /// Whether it stands by itself.
    pub(in crate::report) large: bool,
}

impl Chart<'_> {
    /// The drawing under its caption.
    ///
    /// # Errors
    /// [`ReportError::Plot`].
    pub(in crate::report) fn render(&self) -> Result<Markup, ReportError> {
        let svg = panel_svg(self.panel, if self.large { LARGE } else { SMALL })?;
        let (view_box, body) = inside(&svg);
        let (title, says) = (format!("{}-title", self.id), format!("{}-says", self.id));
        Ok(html! {
            figure .large[self.large] {
                figcaption { (self.caption) }
                svg viewBox=(view_box) role="img" aria-labelledby={ (title) " " (says) } {
                    title id=(title) { (self.caption) }
                    desc id=(says) { (self.says) }
                    (body)
                }
            }
        })
    }
}

/// What the marks of some drawings mean.
///
/// # Errors
/// [`ReportError::Plot`].
pub(in crate::report) fn legend(entries: &[Entry]) -> Result<Markup, ReportError> {
    let drawn: Vec<(String, &str)> = entries
        .iter()
        .map(|entry| Ok((swatch_svg(entry)?, entry.label.as_str())))
        .collect::<Result<_, ReportError>>()?;
    Ok(html! {
        ul .legend {
            @for (svg, words) in &drawn {
                @let (view_box, body) = inside(svg);
                li { svg viewBox=(view_box) aria-hidden="true" { (body) } (words) }
            }
        }
    })
}

/// The view box and what is drawn, in colours of the page.
fn inside(svg: &str) -> (&str, Markup) {
    let view_box = svg.split("viewBox=\"").nth(1).and_then(|rest| rest.split('"').next()).unwrap_or_default();
    let body = svg.split_once('>').map_or("", |(_, rest)| rest);
    let body = body.rsplit_once("</svg>").map_or(body, |(body, _)| body);
    (view_box, PreEscaped(in_page_colours(body)))
}

/// Colours as variables that the style sheet sets, each with its own value to fall back on.
fn in_page_colours(body: &str) -> String {
    let fuels = (0..5).map(|i| (look(i).colour, format!("fuel-{i}")));
    let others = [(INK, "ink"), (GREY, "grey"), (PALE, "mesh"), (WHITE, "card"), (OVER_LIMIT, "over")];
    let mut text = body.to_owned();
    for (colour, name) in others.map(|(colour, name)| (colour, name.to_owned())).into_iter().chain(fuels) {
        let hex = hex(colour);
        text = text.replace(&format!("\"{hex}\""), &format!("\"var(--{name},{hex})\""));
    }
    text
}

fn hex(RGBColor(red, green, blue): RGBColor) -> String {
    format!("#{red:02X}{green:02X}{blue:02X}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_colour_of_a_drawing_follows_the_page() {
        let text = in_page_colours("<a fill=\"#0072B2\"/><b stroke=\"#1E1E1E\"/>");
        assert_eq!(text, "<a fill=\"var(--fuel-0,#0072B2)\"/><b stroke=\"var(--ink,#1E1E1E)\"/>");
        let (view_box, body) = inside("<svg width=\"1\" viewBox=\"0 0 8 8\" xmlns=\"x\">\n<c/></svg>\n");
        assert_eq!((view_box, body.into_string().trim()), ("0 0 8 8", "<c/>"));
    }
}
