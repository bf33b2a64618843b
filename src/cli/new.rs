//! Does what `endgas new` asks for.

use super::build_args::{BuildArgs, by_option, option};
use super::common::fuel_spec;
use super::error::CliError;
use super::exit::Outcome;
use super::help;
use super::output::{tell_written, to_stdout};
use clap::{Args, ValueHint};
use endgas::engine::BuildKind;
use endgas::printable::printable_path;
use endgas::report::write_new;
use endgas::scenario::{Said, Short, read, starter};
use std::io::{self, BufRead, IsTerminal as _, Write};
use std::path::{Path, PathBuf};

/// Arguments of `endgas new`.
#[derive(Args, Debug)]
pub(super) struct NewArgs {
    /// Scenario file to write, never over another; without it, or with -, it is printed
    #[arg(value_hint = ValueHint::FilePath)]
    file: Option<PathBuf>,

    /// Name of the build
    #[arg(long, value_name = "NAME")]
    name: Option<String>,

    /// Fuel name or recipe by volume; repeatable
    #[arg(long, value_name = "FUEL", value_parser = fuel_spec, long_help = help::FUEL)]
    fuel: Vec<String>,

    /// Write every key there is, explained, with invented values
    #[arg(long, conflicts_with_all = ["name", "fuel"])]
    full: bool,

    #[command(flatten)]
    build: BuildArgs,
}

/// Runs `endgas new`: what was said in options, else what is answered on a terminal, else an invented engine to begin from.
///
/// # Errors
/// [`CliError`] when what is said holds mistakes, or the file exists already or cannot be written; then nothing has been written.
pub(super) fn run(args: &NewArgs) -> Result<Outcome, CliError> {
    let file = args.file.as_deref().filter(|file| *file != Path::new("-"));
    if let Some(file) = file.filter(|file| file.symlink_metadata().is_ok()) {
        // Nobody answers questions for a file that cannot be written.
        return Err(CliError::Target { path: file.to_owned(), reason: "it exists already" });
    }
    let text = text(args)?;
    let Some(file) = file else { return to_stdout(&text).map(|_| Outcome::Done) };
    write_new(file, text.as_bytes())?;
    tell_written(&format!("{0}; run it with: endgas estimate {0}", printable_path(file)));
    Ok(Outcome::Done)
}

fn text(args: &NewArgs) -> Result<String, CliError> {
    if args.full {
        return Ok(starter());
    }
    if let Some(mut short) = args.build.short(&args.fuel) {
        short.name = args.name.clone();
        let text = short.text();
        read("options", &text).map_err(|problems| CliError::Options(by_option(problems)))?;
        return Ok(text);
    }
    let (stdin, stderr) = (io::stdin(), io::stderr());
    if stdin.is_terminal() && stderr.is_terminal() {
        let mut short = Short::default();
        (short.name, short.fuels) = (args.name.clone(), args.fuel.clone());
        return ask(short, &mut stdin.lock(), &mut stderr.lock());
    }
    Ok(invented().text())
}

/// An invented engine to begin from.
fn invented() -> Short {
    let mut short = Short::default();
    short.name = Some("My build: invented, put in your own numbers".to_owned());
    short.fuels = vec!["premium-91".to_owned(), "e85".to_owned()];
    for (said, typed) in [
        (Said::Cylinders, "4"),
        (Said::Bore, "86 mm"),
        (Said::Stroke, "86 mm"),
        (Said::Ratio, "10.5"),
        (Said::Kind, BuildKind::ProductionFourValve.key()),
        (Said::PeakPower, "6200 rpm"),
    ] {
        short.say(said, typed);
    }
    short
}

/// What is asked, in order.
const QUESTIONS: [(Said, &str); 7] = [
    (Said::Cylinders, "How many cylinders?"),
    (Said::Displacement, "Displacement, as 350 ci or 2.0 L (leave empty to give bore and stroke):"),
    (Said::Bore, "Bore, as 4.030 in or 86 mm:"),
    (Said::Stroke, "Stroke, as 3.48 in or 86 mm:"),
    (Said::Ratio, "Compression ratio, as 10.5:"),
    (Said::Kind, "Kind of build, one of these:"),
    (Said::PeakPower, "Rpm of peak power, as 5800:"),
];

/// Asks for an engine until what is answered makes a scenario.
fn ask(mut short: Short, answers: &mut impl BufRead, told: &mut impl Write) -> Result<String, CliError> {
    let asked = |source| CliError::Read { path: PathBuf::from("the answers"), source };
    for (said, question) in QUESTIONS {
        let is_settled = matches!(said, Said::Bore | Said::Stroke) && short.of(Said::Displacement).is_some();
        if !is_settled {
            one(&mut short, said, question, answers, told).map_err(asked)?;
        }
    }
    if short.fuels.is_empty() {
        let line = line("Fuels, as premium-93, e85:", answers, told).map_err(asked)?;
        short.fuels =
            line.split(',').map(|fuel| fuel.trim().to_owned()).filter(|fuel| !fuel.is_empty()).collect();
    }
    loop {
        let text = short.text();
        let Err(problems) = read("answers", &text) else { return Ok(text) };
        let again: Vec<Said> = problems.0.iter().filter_map(|problem| Said::of_key(&problem.key)).collect();
        let problems = by_option(problems);
        let Some(wrong) = again.first() else { return Err(CliError::Options(problems)) };
        for problem in &problems.0 {
            let _ = writeln!(told, "{}", problem.to_string().trim_start_matches("--"));
        }
        let question =
            QUESTIONS.iter().find(|(said, _)| said == wrong).map_or(option(*wrong), |(_, words)| words);
        one(&mut short, *wrong, question, answers, told).map_err(asked)?;
    }
}

/// Asks one thing; an empty answer leaves it unsaid.
fn one(
    short: &mut Short,
    said: Said,
    question: &str,
    answers: &mut impl BufRead,
    told: &mut impl Write,
) -> io::Result<()> {
    let kinds = BuildKind::ALL.map(BuildKind::key).join("\n  ");
    let question = if said == Said::Kind { format!("{question}\n  {kinds}\n") } else { question.to_owned() };
    let answer = line(&question, answers, told)?;
    if answer.is_empty() {
        short.unsay(said)
    } else {
        short.say(said, &answer)
    }
    Ok(())
}

/// One line of answer; the end of all answers is an error.
fn line(question: &str, answers: &mut impl BufRead, told: &mut impl Write) -> io::Result<String> {
    // A question that cannot be told is seen by nobody; the answer may come all the same.
    let _ = write!(told, "{question} ").and_then(|()| told.flush());
    let mut answer = String::new();
    match answers.read_line(&mut answer)? {
        0 => Err(io::ErrorKind::UnexpectedEof.into()),
        _ => Ok(answer.trim().to_owned()),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;

    fn answered(answers: &str) -> (Result<String, CliError>, String) {
        let mut told = Vec::new();
        let text = ask(Short::default(), &mut answers.as_bytes(), &mut told);
        (text, String::from_utf8(told).unwrap())
    }

    #[test]
    fn answers_make_a_scenario_and_a_wrong_one_is_asked_again() {
        let (text, told) = answered("8\n350 ci\n105\nperformance-two-valve\n5800\npremium-93, e85\n10.5\n");
        let text = text.unwrap();
        assert!(told.contains("ratio: engine.compression_ratio = 105 is not allowed"), "{told}");
        assert!(!told.contains("Bore,"), "{told}");
        let scenario = read("answers", &text).unwrap();
        assert_eq!((scenario.build.geometry.cylinders, scenario.fuels.len()), (8, 2));
    }

    #[test]
    fn answers_that_end_early_make_nothing() {
        let (text, _) = answered("8\n\n4.00 in\n");
        assert!(matches!(text, Err(CliError::Read { .. })));
    }

    #[test]
    fn the_invented_engine_reads() {
        assert!(read("invented", &invented().text()).is_ok());
    }
}
