//! Where results go: standard output, a file, a folder of plots.

use super::common::{DrawnArgs, OutputArgs};
use super::error::CliError;
use super::exit::Outcome;
use super::interrupt;
use super::stdout;
use super::view::{is_coloured, width};
use endgas::printable::printable_path;
use endgas::report::{
    Format, Shown, Units, View, not_replaced, plot_files, plots, render, render_styled, without_styles,
    write_all, write_whole,
};
use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};

/// Everything that a run makes, complete before any of it is written.
pub(super) struct Rendered {
    pub(super) document: String,
    /// File name and SVG text of each plot.
    pub(super) plots: Vec<(String, String)>,
}

/// Where the result is wanted.
pub(super) struct Targets<'a> {
    /// File for the document; standard output when there is none.
    pub(super) out: Option<&'a Path>,
    /// Folder for the plots.
    pub(super) plot: Option<&'a Path>,
    /// Files that the run reads, whose place no output may take.
    pub(super) inputs: Vec<&'a Path>,
}

/// Whether standard output took the whole document.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Delivery {
    Whole,
    /// The reader closed the pipe, which is its right.
    ReaderGone,
}

impl Targets<'_> {
    /// Checks that the targets can be written, so that a long run does not end in vain and a bad
    /// target of one output does not leave the other behind.
    ///
    /// # Errors
    /// [`CliError::Target`], [`CliError::Refused`], [`CliError::SamePath`], or [`CliError::Stdout`] where that is needed and closed.
    pub(super) fn check(&self) -> Result<(), CliError> {
        self.out.into_iter().chain(self.plot).try_for_each(|output| self.spare_inputs(output))?;
        if let Some(folder) = self.plot
            && folder.exists()
            && !folder.is_dir()
        {
            return Err(bad(folder, "it exists and is not a folder"));
        }
        let Some(out) = self.out else { return stdout_is_open() };
        if self.plot.is_some_and(|folder| same(folder, out)) {
            return Err(CliError::SamePath { path: out.to_owned() });
        }
        if let Some(reason) = out.metadata().ok().as_ref().and_then(not_replaced) {
            return Err(bad(out, reason));
        }
        let folder = match out.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent,
            _ => Path::new("."),
        };
        if !folder.exists() && self.plot.is_some_and(|plot| same(plot, folder)) {
            return Ok(());
        }
        let trial = tempfile::tempfile_in(folder);
        trial.map(drop).map_err(|source| CliError::Refused { path: out.to_owned(), source })
    }

    /// Refuses an output that would take the place of an input.
    fn spare_inputs(&self, output: &Path) -> Result<(), CliError> {
        if self.inputs.iter().any(|input| same(input, output)) {
            return Err(bad(output, "it is the scenario or a log of this run"));
        }
        Ok(())
    }

    /// Whether a plot, SVG or PNG, takes the place of a file.
    pub(super) fn draws_over(&self, rendered: &Rendered, file: &Path) -> bool {
        let Some(folder) = self.plot else { return false };
        rendered.plots.iter().any(|(name, _)| {
            let svg = folder.join(name);
            same(&svg, file) || same(&svg.with_extension("png"), file)
        })
    }

    /// Prints or writes a schema, which has no plots.
    ///
    /// # Errors
    /// [`CliError::PlotOfSchema`] when plots are asked for, else as [`Self::check`] and [`Self::deliver`].
    pub(super) fn deliver_schema(&self, document: String) -> Result<Outcome, CliError> {
        if self.plot.is_some() {
            return Err(CliError::PlotOfSchema);
        }
        self.check()?;
        self.deliver(&Rendered { document, plots: Vec::new() }).map(|_| Outcome::Done)
    }

    /// Renders a result in a form: the text as wide as the terminal and in colour where it takes one, for a file neither.
    ///
    /// # Errors
    /// [`CliError::Report`] when it cannot be shown.
    pub(super) fn document<S: Shown>(
        &self,
        result: &S,
        output: &OutputArgs,
        format: Format,
        view: View,
    ) -> Result<String, CliError> {
        let units: Units = output.units.into();
        if format != Format::Text {
            return Ok(render(result, format, units)?);
        }
        if self.out.is_some() {
            return Ok(without_styles(&render_styled(result, units, &view)?));
        }
        let text = render_styled(result, units, &View { width: width(), ..view })?;
        Ok(if is_coloured(output.color) { text } else { without_styles(&text) })
    }

    /// Renders a result in a form, with its plots where a folder is given, and delivers it.
    ///
    /// # Errors
    /// [`CliError::Report`] when it cannot be shown, else as [`Self::deliver`].
    pub(super) fn deliver_result(
        &self,
        result: &impl Shown,
        output: &OutputArgs,
        format: Format,
        view: View,
    ) -> Result<Outcome, CliError> {
        let document = self.document(result, output, format, view)?;
        let plots = if self.plot.is_some() { plots(result, output.units.into())? } else { Vec::new() };
        Ok(match self.deliver(&Rendered { document, plots })? {
            Delivery::Whole if result.limit_missed() => Outcome::LimitNotMet,
            Delivery::Whole | Delivery::ReaderGone => Outcome::Done,
        })
    }

    /// Writes files whole, then says on standard error which; prints the document when it has no file.
    ///
    /// # Errors
    /// [`CliError::Report`] when a file cannot be written, [`CliError::SamePath`] when the document
    /// would take the name of a plot, [`CliError::Stdout`] when standard output takes nothing.
    pub(super) fn deliver(&self, rendered: &Rendered) -> Result<Delivery, CliError> {
        let files = plot_files(&rendered.plots)?;
        if let Some(out) = self.out.filter(|out| self.draws_over(rendered, out)) {
            return Err(CliError::SamePath { path: out.to_owned() });
        }
        if let Some(input) = self.inputs.iter().find(|input| self.draws_over(rendered, input)) {
            return Err(bad(input, "it is the scenario or a log of this run"));
        }
        let writing = interrupt::writing();
        let mut wrote = Vec::new();
        if let Some(folder) = self.plot {
            write_all(folder, &files)?;
            let plots = rendered.plots.len();
            let noun = if plots == 1 { "plot" } else { "plots" };
            wrote.push(format!("{plots} {noun} as SVG and PNG in {}", printable_path(folder)));
        }
        if let Some(out) = self.out {
            write_whole(out, rendered.document.as_bytes())?;
            wrote.insert(0, printable_path(out));
        }
        drop(writing);
        if !wrote.is_empty() {
            tell_written(&wrote.join(" and "));
        }
        if self.out.is_some() { Ok(Delivery::Whole) } else { to_stdout(&rendered.document) }
    }
}

/// Makes a result once its targets are known to take it, and delivers it in the form asked, or the schema of that.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn show<S: Shown>(
    output: &OutputArgs,
    plot: Option<&Path>,
    inputs: Vec<&Path>,
    view: View,
    make: impl FnOnce() -> Result<S, CliError>,
) -> Result<Outcome, CliError> {
    let targets = Targets { out: output.out.as_deref(), plot, inputs };
    let Some(format) = output.format.rendered() else { return targets.deliver_schema(S::schema()) };
    targets.check()?;
    targets.deliver_result(&make()?, output, format, view)
}

/// The same of a result that can be drawn.
///
/// # Errors
/// As [`show`].
pub(super) fn draw<S: Shown>(
    output: &DrawnArgs,
    inputs: Vec<&Path>,
    view: View,
    make: impl FnOnce() -> Result<S, CliError>,
) -> Result<Outcome, CliError> {
    show(&output.written, output.plot.as_deref(), inputs, view, make)
}

/// Says on standard error what was written; one that takes nothing does not undo it.
pub(super) fn tell_written(what: &str) {
    let _ = writeln!(std::io::stderr(), "wrote {what}");
}

/// Prints a document to standard output.
///
/// # Errors
/// [`CliError::Stdout`] when it cannot be written for another reason than a closed pipe.
pub(super) fn to_stdout(document: &str) -> Result<Delivery, CliError> {
    stdout_is_open()?;
    // Where a console has to be told to take styles, this tells it.
    let mut stdout = anstream::AutoStream::always(std::io::stdout().lock());
    match stdout.write_all(document.as_bytes()).and_then(|()| stdout.flush()) {
        Ok(()) => Ok(Delivery::Whole),
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(Delivery::ReaderGone),
        Err(error) => Err(CliError::Stdout(error)),
    }
}

fn stdout_is_open() -> Result<(), CliError> {
    stdout::fault().map_or(Ok(()), |fault| Err(CliError::Stdout(fault)))
}

/// Whether two paths name one file, however they are written; neither needs to be there.
pub(super) fn same(a: &Path, b: &Path) -> bool {
    resolved(a) == resolved(b)
}

/// A path with links followed as far as there is something to follow.
fn resolved(path: &Path) -> PathBuf {
    if let Ok(found) = path.canonicalize() {
        return found;
    }
    let Some(name) = path.file_name() else { return path.to_owned() };
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => resolved(parent).join(name),
        _ => resolved(Path::new(".")).join(name),
    }
}

fn bad(path: &Path, reason: &'static str) -> CliError {
    CliError::Target { path: path.to_owned(), reason }
}
