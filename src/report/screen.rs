//! The text of a result in sections: one screen with the answer, the rest by name. One renderer chooses what is shown.

use super::table::{alarmed, at_width, heading, wrap};
use super::{ReportError, Shown, Units};

/// Widest line of a text [columns].
pub const WIDEST: usize = 100;
/// Narrowest width at which tables still read [columns].
pub const NARROWEST: usize = 72;
/// What asks for every part.
pub const ALL: &str = "all";

/// A part of a text that is shown when it is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Part {
    /// Name by which it is asked for.
    pub name: &'static str,
    /// What it shows, in a few words.
    pub shows: &'static str,
}

/// On which fuels the parts are shown that stand once for each fuel.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum ShownFuels {
    /// On the fuel that limits.
    #[default]
    Limiting,
    /// On all of them.
    All,
    /// On those of these names.
    Named(Vec<String>),
}

/// What of a text is shown, and how.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct View {
    /// Widest line [columns], [`NARROWEST`] to [`WIDEST`].
    pub width: usize,
    /// Names of the parts shown beside the first screen; [`ALL`] is every part.
    pub parts: Vec<String>,
    /// On which fuels.
    pub fuels: ShownFuels,
}

impl View {
    /// The first screen alone.
    pub fn screen() -> Self {
        Self { width: WIDEST, parts: Vec::new(), fuels: ShownFuels::Limiting }
    }

    /// Every part on every fuel.
    pub fn whole() -> Self {
        Self { parts: vec![ALL.to_owned()], ..Self::screen() }
    }

    fn shows_all(&self) -> bool {
        self.parts.iter().any(|part| part == ALL)
    }

    fn shows_fuel(&self, fuel: &str, limiting: Option<&str>) -> bool {
        match &self.fuels {
            _ if self.shows_all() => true,
            ShownFuels::All => true,
            ShownFuels::Limiting => limiting.is_none_or(|limiting| limiting == fuel),
            ShownFuels::Named(names) => names.iter().any(|name| name == fuel),
        }
    }
}

/// Where a section stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Place {
    /// On the first screen.
    Screen,
    /// In the part of this name.
    Part(&'static str),
    /// Where everything is shown.
    All,
}

/// A section: its lines are laid out already.
#[derive(Clone, Debug)]
struct Section {
    place: Place,
    fuel: Option<String>,
    body: String,
}

/// A whole text in its sections.
#[derive(Clone, Debug, Default)]
pub struct Text {
    sections: Vec<Section>,
    /// Parts that are there to be asked for, though this run did not make them.
    not_run: Vec<&'static str>,
    limiting: Option<String>,
}

impl From<String> for Text {
    /// A text without parts.
    fn from(body: String) -> Self {
        let mut text = Self::default();
        text.screen(&body);
        text
    }
}

impl Text {
    /// A text of which some sections stand once for each fuel.
    ///
    /// # Arguments
    /// - `limiting`: name of the fuel on which they are shown where nobody says which
    pub(super) fn limited_by(limiting: &str) -> Self {
        Self { limiting: Some(limiting.to_owned()), ..Self::default() }
    }

    fn push(&mut self, place: Place, fuel: Option<&str>, body: &str) {
        if !body.is_empty() {
            self.sections.push(Section { place, fuel: fuel.map(str::to_owned), body: body.to_owned() });
        }
    }

    /// A section of the first screen.
    pub(super) fn screen(&mut self, body: &str) {
        self.push(Place::Screen, None, body);
    }

    /// A section of a part.
    pub(super) fn part(&mut self, part: &'static str, title: &str, body: &str) {
        if !body.is_empty() {
            self.push(Place::Part(part), None, &(heading(title) + body));
        }
    }

    /// A part that is run only when it is asked for, and was not.
    pub(super) fn not_run(&mut self, part: &'static str) {
        self.not_run.push(part);
    }

    /// A section of a part, of one fuel.
    pub(super) fn part_of_fuel(&mut self, part: &'static str, fuel: &str, body: &str) {
        self.push(Place::Part(part), Some(fuel), body);
    }

    /// Standing cautions: the strongest on the screen, the others where everything is shown.
    pub(super) fn cautions(&mut self, cautions: &[&str]) {
        let (first, others) = cautions.split_at(cautions.len().min(STRONGEST));
        self.push(Place::Screen, None, &super::table::list("Cautions", first.iter().copied()));
        self.push(Place::All, None, &super::table::points(others.iter().copied()));
    }

    /// The sections by where they stand: the first screen, each part that is there, what stands only where everything is shown.
    pub(super) fn by_place(&self, parts: &[Part]) -> (String, Vec<(Part, String)>, String) {
        let of = |place: Place| -> String {
            self.sections
                .iter()
                .filter(|section| section.place == place)
                .map(|section| section.body.as_str())
                .collect()
        };
        let parts = parts.iter().map(|part| (*part, of(Place::Part(part.name))));
        (of(Place::Screen), parts.filter(|(_, body)| !body.is_empty()).collect(), of(Place::All))
    }

    /// The sections that a view shows: the first screen, then the parts, then what else there is.
    fn render(&self, view: &View, parts: &[Part]) -> String {
        let all = view.shows_all();
        let asked = |name: &str| all || view.parts.iter().any(|part| part == name);
        let is_shown = |section: &&Section| {
            let fuel = section.fuel.as_deref();
            let of_fuel = fuel.is_none_or(|fuel| view.shows_fuel(fuel, self.limiting.as_deref()));
            of_fuel
                && match section.place {
                    Place::Screen => true,
                    Place::Part(name) => asked(name),
                    Place::All => all,
                }
        };
        let (details, screen): (Vec<&Section>, Vec<&Section>) = self
            .sections
            .iter()
            .filter(is_shown)
            .partition(|section| matches!(section.place, Place::Part(_)));
        let mut out: String = screen.iter().chain(&details).map(|section| section.body.as_str()).collect();
        if !all && !parts.is_empty() {
            out += &self.offer(view, parts, details.iter().any(|section| section.fuel.is_some()));
        }
        alarmed(out.trim_start_matches('\n'))
    }

    /// What else there is to show.
    fn offer(&self, view: &View, parts: &[Part], has_fuel: bool) -> String {
        let is_there = |name: &str| {
            let is_of = |section: &Section| matches!(section.place, Place::Part(part) if part == name);
            self.sections.iter().any(is_of) || self.not_run.contains(&name)
        };
        let others: Vec<&str> = parts
            .iter()
            .map(|part| part.name)
            .filter(|name| is_there(name) && !view.parts.iter().any(|part| part == name))
            .collect();
        let mut out = "\n".to_owned();
        if let (true, ShownFuels::Limiting, Some(limiting)) = (has_fuel, &view.fuels, &self.limiting) {
            let shown = format!("Shown on {limiting}, the fuel that limits; --show-fuel names another.");
            out += &wrap("", &shown);
        }
        let names = others.iter().chain(&[ALL]).copied().collect::<Vec<_>>().join(", ");
        out + &wrap("More: ", &format!("--show {names}"))
    }
}

/// Cautions on the first screen.
const STRONGEST: usize = 2;

/// Renders a result as text for a terminal: titles and warnings carry styles, which can be stripped.
///
/// # Errors
/// As [`super::render`].
pub fn render_styled<S: Shown>(result: &S, units: Units, view: &View) -> Result<String, ReportError> {
    // What is shown has passed the check of its numbers.
    result.json()?;
    Ok(at_width(view.width.clamp(NARROWEST, WIDEST), || result.text(units).render(view, S::PARTS)))
}

/// A text without its styles.
pub fn without_styles(text: &str) -> String {
    anstream::adapter::strip_str(text).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    const PARTS: [Part; 2] =
        [Part { name: "curves", shows: "curves" }, Part { name: "losses", shows: "losses" }];

    fn text() -> Text {
        let mut text = Text::limited_by("a");
        text.screen("Answer\n");
        text.part_of_fuel("losses", "a", "\nlosses of a\n");
        text.part_of_fuel("losses", "b", "\nlosses of b\n");
        text.part("curves", "Curve", "a curve\n");
        text.cautions(&["one", "two", "three"]);
        text
    }

    fn shown(parts: &[&str], fuels: ShownFuels) -> String {
        let parts = parts.iter().map(|part| (*part).to_owned()).collect();
        without_styles(&text().render(&View { parts, fuels, ..View::screen() }, &PARTS))
    }

    #[test]
    fn the_first_screen_has_the_answer_the_strongest_cautions_and_what_else_there_is() {
        assert_eq!(
            shown(&[], ShownFuels::Limiting),
            "Answer\n\nCautions\n  - one\n  - two\n\nMore: --show curves, losses, all\n"
        );
    }

    #[test]
    fn a_part_is_shown_on_the_fuel_that_limits_unless_others_are_named() {
        let said = shown(&["losses"], ShownFuels::Limiting);
        assert!(said.contains("losses of a") && !said.contains("losses of b"), "{said}");
        assert!(said.ends_with("--show-fuel names another.\nMore: --show curves, all\n"), "{said}");
        let said = shown(&["losses"], ShownFuels::Named(vec!["b".to_owned()]));
        assert!(said.contains("losses of b") && !said.contains("losses of a"), "{said}");
        let said = shown(&["losses"], ShownFuels::All);
        assert!(said.contains("losses of b") && said.contains("losses of a"), "{said}");
    }

    #[test]
    fn everything_has_every_fuel_every_caution_and_offers_nothing() {
        let said = shown(&[ALL], ShownFuels::Limiting);
        for words in ["losses of a", "losses of b", "Curve\na curve", "  - two\n  - three\n"] {
            assert!(said.contains(words), "{words}: {said}");
        }
        assert!(!said.contains("--show"), "{said}");
    }

    #[test]
    fn titles_are_bold_and_no_width_outlives_its_text() {
        let styled = text().render(&View::whole(), &PARTS);
        assert!(styled.contains("\u{1b}[1mCautions\u{1b}[0m"), "{styled:?}");
        let long = "word ".repeat(40);
        assert!(at_width(60, || wrap("", &long)).lines().all(|line| line.chars().count() <= 60));
        assert!(wrap("", &long).lines().any(|line| line.chars().count() > 60));
    }
}
