//! What can go wrong on the command line, and how it is reported.

use super::dyno_args::{join_said, pull_said};
use endgas::choose::ChooseError;
use endgas::dyno::{JoinFault, JudgeError, PullErrors};
use endgas::estimate::EstimateError;
use endgas::estimate::pipe_curve::PipedError;
use endgas::fuel::FuelError;
use endgas::goal::GoalError;
use endgas::printable::{printable_lines, printable_path};
use endgas::report::ReportError;
use endgas::scenario::{Diagnostics, JobError, Origin, Placed, counted};
use std::error::Error;
use std::io::Write as _;
use std::path::PathBuf;

/// Why a run failed.
#[derive(Debug, thiserror::Error)]
pub(crate) enum CliError {
    /// The arguments cannot be understood.
    #[error("{}", .0.render())]
    Usage(clap::Error),
    /// The scenario file cannot be read.
    #[error("cannot read {}: {source}", printable_path(path))]
    Read {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// There is no such scenario file.
    #[error(
        "cannot read {0}: there is no such file; `endgas new {0}` writes one to begin from",
        printable_path(path)
    )]
    NoScenario {
        /// The file.
        path: PathBuf,
    },
    /// The scenario file is far larger than any scenario.
    #[error("cannot read {}: it is larger than {limit_kib} KiB, so it is no scenario", printable_path(path))]
    TooLarge {
        /// The file.
        path: PathBuf,
        /// Largest size read [KiB].
        limit_kib: u64,
    },
    /// The scenario holds mistakes.
    #[error("{} in {file}\n{problems}", counted(problems.0.len()))]
    Scenario {
        /// The file.
        file: String,
        /// All of them.
        problems: Diagnostics,
    },
    /// The engine of the options holds mistakes.
    #[error("{} with the engine of the options\n{}", counted(.0.0.len()), .0)]
    Options(Diagnostics),
    /// An engine in a file and in options.
    #[error(
        "the engine is in {} and in options; leave one of them out, or change the file",
        printable_path(path)
    )]
    FileAndOptions {
        /// The file.
        path: PathBuf,
    },
    /// The fuels that come with the program, or those of the user, cannot be read.
    #[error(transparent)]
    Library(#[from] FuelError),
    /// The scenario cannot be run on the fuels or in the weather asked for.
    #[error("{}", job_failed(file, source))]
    Job {
        /// The scenario file.
        file: String,
        /// What is wrong.
        source: JobError,
    },
    /// Fuels that were asked for cannot be used.
    #[error(transparent)]
    Fuels(JobError),
    /// The log holds mistakes.
    #[error("{}", .0.said(pull_said))]
    Pull(PullErrors),
    /// The logs cannot be taken together.
    #[error("{}", join_said(.0))]
    Join(JoinFault),
    /// The log cannot be judged.
    #[error(transparent)]
    Judge(#[from] JudgeError),
    /// The log cannot be fitted.
    #[error(transparent)]
    Fit(#[from] endgas::dyno::FitFault),
    /// The new scenario cannot be made.
    #[error(transparent)]
    Fitted(#[from] endgas::scenario::FittedError),
    /// A fit without anything to fit.
    #[error("--fit needs a scenario and a log, and --format schema takes none; leave one of them out")]
    FitOfSchema,
    /// No scenario or no log was named.
    #[error("name a scenario and a log, such as: endgas dyno scenarios/street-2000.toml pull.csv")]
    NoPull,
    /// No fuel was named.
    #[error("name a fuel or a recipe, such as: endgas fuel e85; --list shows all names")]
    NoFuel,
    /// A scenario whose VE does not come from pipes.
    #[error(
        "{file}: its VE is not computed from pipes; put `kind` alone into [breathing] and the section [breathing.pipes] below it, which may \
         be empty: what it leaves out is as usual of the kind"
    )]
    NoPipes {
        /// The scenario file.
        file: String,
    },
    /// The breathing on pipes cannot be computed.
    #[error("{place}: {source}")]
    Piped {
        /// File, line and section.
        place: String,
        /// What is wrong.
        source: PipedError,
    },
    /// No wheel power was asked for.
    #[error("give the target wheel power, such as: endgas goal --wheel-power \"300 hp\"")]
    NoGoal,
    /// A goal that cannot be judged.
    #[error(transparent)]
    Goal(#[from] GoalError),
    /// A tank with nothing in it.
    #[error("say what is in the tank, such as: endgas fuel mix \"20 L e85\" \"30 L premium-91\"")]
    NoFill,
    /// A sweep of more than one fuel.
    #[error("--sweep takes one fuel, and {found} are given")]
    SweepOfMany {
        /// How many were given.
        found: usize,
    },
    /// An ethanol content that cannot be read.
    #[error("--to {typed:?} is not a content from 0 to 100 %; write it as \"50 %\"")]
    Content {
        /// As typed.
        typed: String,
    },
    /// More fuels than one run takes.
    #[error("--fuel is given {found} times; at most {most} fuels go into one run")]
    TooManyFuels {
        /// How many were given.
        found: usize,
        /// How many are allowed.
        most: usize,
    },
    /// More scenarios than go side by side.
    #[error("{found} scenarios are named; at most {most} go side by side")]
    TooManyBuilds {
        /// How many were named.
        found: usize,
        /// How many are allowed.
        most: usize,
    },
    /// Standard input named as several files.
    #[error("- is named more than once; standard input holds one file")]
    StandardInputTwice,
    /// A part of the text that builds side by side do not have.
    #[error("--show {part}: builds side by side have no such part, only {}; leave the other scenarios out for it", .known.join(", "))]
    NotSideBySide {
        /// The part.
        part: String,
        /// The parts there are.
        known: Vec<&'static str>,
    },
    /// The estimate failed.
    #[error(transparent)]
    Estimate(#[from] EstimateError),
    /// The estimate could not be shown or a file not written.
    #[error(transparent)]
    Report(#[from] ReportError),
    /// Plots of something that has none.
    #[error("--plot draws a result, and --format schema makes none; leave one of them out")]
    PlotOfSchema,
    /// A weight or likelihood for a fuel that is not run.
    #[error("'{spec}' is not among the fuels of the run: {}", .known.join(", "))]
    NotInRun {
        /// The fuel as typed.
        spec: String,
        /// Fuels of the run.
        known: Vec<String>,
    },
    /// A choice could not be made.
    #[error("{}{}", .0, choose_hint(.0))]
    Choose(#[from] ChooseError),
    /// `--out` and `--plot` would write to the same name.
    #[error("--out and --plot would both write {}; choose another name", printable_path(path))]
    SamePath {
        /// The name.
        path: PathBuf,
    },
    /// An output cannot be written where it was asked for.
    #[error("cannot write {}: {reason}", printable_path(path))]
    Target {
        /// The file or folder.
        path: PathBuf,
        /// Why not.
        reason: &'static str,
    },
    /// The system refuses to make a file in the folder of an output.
    #[error("cannot write {}: {source}", printable_path(path))]
    Refused {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A scenario that cannot be moved.
    #[error(transparent)]
    Live(#[from] endgas::live::Refusal),
    /// Weather for a page that begins without a build.
    #[error("weather needs a build: name a scenario, or state the weather in the form of the page")]
    DayWithoutBuild,
    /// The port of a page cannot be had.
    #[error("cannot listen on 127.0.0.1 port {port}: {source}; --port 0 takes any free one")]
    Listen {
        /// The port asked for.
        port: u16,
        /// What the system said.
        source: std::io::Error,
    },
    /// What only shows once a scenario is run, with the place where it is asked for.
    #[error("{place}: {source}")]
    Placed {
        /// File, line, key and value, or an option.
        place: String,
        /// What is wrong.
        source: Box<Self>,
    },
    /// Standard output does not take the result.
    #[error("cannot write to standard output: {0}")]
    Stdout(std::io::Error),
}

impl CliError {
    /// Tells where in a scenario what failed is asked for, where that can be told.
    pub(super) fn at<E: Placed + Into<Self>>(origin: &Origin) -> impl Fn(E) -> Self {
        move |error| match error.place(origin) {
            Some(place) => Self::Placed { place, source: Box::new(error.into()) },
            None => error.into(),
        }
    }
}

/// Prints an error to standard error, with its causes where it does not name them itself.
///
/// A standard error that takes nothing is no reason to fail in another way.
pub(crate) fn tell(error: &CliError) {
    let text = match error {
        CliError::Usage(usage) => usage.render().to_string(),
        _ => format!("error: {}\n", with_causes(error)),
    };
    // Whatever was typed or read, it acts on no terminal.
    let _ = std::io::stderr().write_all(printable_lines(&text).as_bytes());
}

fn with_causes(error: &CliError) -> String {
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(source) = cause {
        let said = source.to_string();
        if !text.contains(said.trim_end()) {
            text = format!("{text}: {}", said.trim_end());
        }
        cause = source.source();
    }
    text
}

/// Where a mistake of a choice can be fixed.
fn choose_hint(error: &ChooseError) -> &'static str {
    match error {
        ChooseError::Weights { .. } => " (--weight, --likelihood, or weight and likelihood of [choose])",
        _ => "",
    }
}

/// The places of fuels name the file already.
fn job_failed(file: &str, source: &JobError) -> String {
    match source {
        JobError::Weather(_) => format!("{file}: {source}"),
        _ => source.to_string(),
    }
}
