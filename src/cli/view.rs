//! What of a text is shown on a terminal, how wide and in what colour.

use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser as _};
use clap::{Args, ColorChoice};
use endgas::report::{ALL, NARROWEST, Shown, ShownFuels, View, WIDEST};
use std::fmt::Debug;
use std::io::IsTerminal as _;
use std::marker::PhantomData;

/// Which parts of the text of a result are shown.
#[derive(Args, Debug)]
pub(super) struct ShowArgs<S: Shown + Debug> {
    /// Parts of the text to add to the first screen; repeatable, or several with commas
    #[arg(long, value_name = "PART", value_delimiter = ',', value_parser = parts::<S>())]
    show: Vec<String>,

    #[arg(skip)]
    of: PhantomData<S>,
}

impl<S: Shown + Debug> ShowArgs<S> {
    /// The parts on some fuels.
    pub(super) fn on(&self, fuels: ShownFuels) -> View {
        View { parts: self.show.clone(), fuels, ..View::screen() }
    }

    /// The parts that are asked for.
    pub(super) fn parts(&self) -> &[String] {
        &self.show
    }

    /// The parts of a text in which none stands once for each fuel.
    pub(super) fn view(&self) -> View {
        self.on(ShownFuels::All)
    }
}

/// The names of the parts, and the one for all of them.
fn parts<S: Shown>() -> impl clap::builder::TypedValueParser<Value = String> {
    let named = S::PARTS.iter().map(|part| PossibleValue::new(part.name).help(part.shows));
    let all = PossibleValue::new(ALL).help("everything, on every fuel, with every caution");
    PossibleValuesParser::new(named.chain([all]).collect::<Vec<_>>()).map(|part| part)
}

/// Whether a text for standard output is coloured: as asked, else where it is a terminal and nothing speaks against it
/// (`NO_COLOR`, `TERM`).
pub(super) fn is_coloured(asked: ColorChoice) -> bool {
    match asked {
        ColorChoice::Always => true,
        ColorChoice::Never => false,
        ColorChoice::Auto => anstream::AutoStream::choice(&std::io::stdout()) != anstream::ColorChoice::Never,
    }
}

/// Width of a text for standard output [columns]: as `COLUMNS` says, else that of the terminal, else the widest.
pub(super) fn width() -> usize {
    let stated = std::env::var("COLUMNS").ok().and_then(|columns| columns.trim().parse().ok());
    let of_terminal = || {
        let stdout = std::io::stdout();
        let found = stdout.is_terminal().then(|| terminal_size::terminal_size_of(&stdout)).flatten();
        found.map(|(width, _)| usize::from(width.0))
    };
    let columns: Option<usize> = stated.filter(|columns| *columns > 0).or_else(of_terminal);
    columns.unwrap_or(WIDEST).clamp(NARROWEST, WIDEST)
}
