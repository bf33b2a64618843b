//! Arguments of `endgas dyno` as typed.

use super::common::{DrawnArgs, FolderArgs, SamplingArgs, fuel_spec};
use super::help;
use super::view::ShowArgs;
use super::weather::WeatherArgs;
use clap::{Args, ValueEnum, ValueHint};
use endgas::air::CorrectionStandard;
use endgas::dyno::{
    ColumnMap, DecimalSign, Gearing, JoinFault, LogCorrection, Mapping, Place, PullFault, Quantity, Tyre,
};
use endgas::report::JudgedPull;
use std::path::PathBuf;

/// Arguments of `endgas dyno`.
#[derive(Args, Debug)]
pub(super) struct DynoArgs {
    /// Scenario file (TOML) of the build that was run
    #[arg(value_hint = ValueHint::FilePath)]
    pub(super) scenario: Option<PathBuf>,

    /// Logs of full-load pulls (CSV or .xlsx; - is standard input): one build, one fuel, one weather or one correction
    #[arg(value_name = "LOG", value_hint = ValueHint::FilePath)]
    pub(super) pull: Vec<PathBuf>,

    /// Fuel that was in the tank; default: the first of the scenario
    #[arg(long, value_name = "FUEL", value_parser = fuel_spec)]
    pub(super) fuel: Option<String>,

    #[command(flatten)]
    pub(super) folder: FolderArgs,

    #[command(flatten)]
    pub(super) reading: ReadingArgs,

    #[command(flatten)]
    pub(super) weather: WeatherArgs,

    /// Standard to which measured power is corrected, beside the uncorrected figure
    #[arg(long, value_name = "STANDARD", value_parser = standard, default_value = CorrectionStandard::SaeJ1349.key())]
    pub(super) standard: CorrectionStandard,

    /// Fit the build to the pull and write it as a new scenario; refused when the file exists
    #[arg(long, value_name = "NEW.toml", value_hint = ValueHint::FilePath, long_help = help::FIT)]
    pub(super) fit: Option<PathBuf>,

    /// Fit a pull all the same that is not credible or of doubtful scale
    #[arg(long, requires = "fit")]
    pub(super) fit_anyway: bool,

    /// Fit VE as a table though the scenario computes it from pipes
    #[arg(long, requires = "fit")]
    pub(super) free_table: bool,

    #[command(flatten)]
    pub(super) show: ShowArgs<JudgedPull<'static>>,

    #[command(flatten)]
    pub(super) output: DrawnArgs,

    #[command(flatten)]
    pub(super) sampling: SamplingArgs,
}

/// What the user says of a log.
#[derive(Args, Debug)]
pub(super) struct ReadingArgs {
    /// Where torque and power were taken; wheel unless the log says otherwise
    #[arg(long, value_enum)]
    at: Option<PlaceArg>,

    /// Standard by which the figures of the log are corrected, or none
    #[arg(long, value_name = "STANDARD", value_parser = correction, long_help = help::CORRECTED)]
    corrected: Option<LogCorrection>,

    /// What a column is, as "torque=TQ1 in lb-ft" or "ignore=TQ2"; repeatable
    #[arg(long, value_name = "COLUMN", value_parser = ColumnMap::read, long_help = help::COLUMN)]
    column: Vec<ColumnMap>,

    /// Gear ratio of the pull, for a log with vehicle speed in place of rpm, 0.3 to 10
    #[arg(long, value_name = "RATIO", value_parser = gear_ratio, requires_all = ["final_drive", "tyre"])]
    gear_ratio: Option<f64>,

    /// Final drive, for the same, 0.5 to 20
    #[arg(long, value_name = "RATIO", value_parser = final_drive, requires_all = ["gear_ratio", "tyre"])]
    final_drive: Option<f64>,

    /// Driven tyre, for the same: 225/45R17, "circumference 1.95 m" or "diameter 25.1 in"
    #[arg(long, value_parser = Tyre::read, requires_all = ["gear_ratio", "final_drive"])]
    tyre: Option<Tyre>,

    /// In place of gears and tyre: one pair of speeds, as "100 km/h = 4000 rpm" or "60 mph = 3300 rpm"
    #[arg(long, value_name = "PAIR", value_parser = Gearing::of_pair, conflicts_with_all = ["gear_ratio", "final_drive", "tyre"])]
    at_speed: Option<Gearing>,

    /// Leave idle, roll-on, rev limiter, lift-off and coast-down in the pulls
    #[arg(long)]
    keep_ends: bool,

    /// Sheet of an .xlsx workbook that holds the log; default: the only one with a header
    #[arg(long, value_name = "NAME")]
    sheet: Option<String>,

    /// Sign between the columns; default: found from the header
    #[arg(long, value_enum)]
    delimiter: Option<DelimiterArg>,

    /// Decimal sign; default: found from the numbers
    #[arg(long, value_enum)]
    decimal: Option<DecimalArg>,

    /// Air-fuel ratio that the meter shows at lambda 1, 5 to 20; default: 14.7
    #[arg(long, value_name = "RATIO", value_parser = afr_stoich)]
    afr_stoich: Option<f64>,
}

/// Where figures were taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum PlaceArg {
    /// At the wheels or hubs, torque referred to crank speed
    Wheel,
    /// At the flywheel (crank figures)
    Crank,
}

/// Sign between columns.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum DelimiterArg {
    Comma,
    Semicolon,
    Tab,
}

/// Decimal sign.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum DecimalArg {
    Point,
    Comma,
}

impl ReadingArgs {
    /// The same as the library takes it.
    pub(super) fn mapping(&self) -> Mapping {
        let parts = self.gear_ratio.zip(self.final_drive).zip(self.tyre);
        let gears = parts.map(|((gear, last), tyre)| Gearing::of_gears(gear, last, tyre));
        Mapping {
            gearing: self.at_speed.or(gears),
            keep_ends: self.keep_ends,
            sheet: self.sheet.clone(),
            delimiter: self.delimiter.map(|sign| match sign {
                DelimiterArg::Comma => ',',
                DelimiterArg::Semicolon => ';',
                DelimiterArg::Tab => '\t',
            }),
            decimal: self.decimal.map(|sign| match sign {
                DecimalArg::Point => DecimalSign::Point,
                DecimalArg::Comma => DecimalSign::Comma,
            }),
            columns: self.column.clone(),
            place: self.at.map(|place| match place {
                PlaceArg::Wheel => Place::Wheel,
                PlaceArg::Crank => Place::Crank,
            }),
            correction: self.corrected,
            afr_stoich: self.afr_stoich,
        }
    }
}

fn correction(typed: &str) -> Result<LogCorrection, String> {
    LogCorrection::of_word(typed).ok_or_else(|| format!("standards are {}", LogCorrection::words()))
}

fn standard(typed: &str) -> Result<CorrectionStandard, String> {
    CorrectionStandard::of_key(typed).ok_or_else(|| {
        let keys: Vec<&str> = CorrectionStandard::ALL.iter().map(|standard| standard.key()).collect();
        format!("standards are {}", keys.join(", "))
    })
}

fn gear_ratio(typed: &str) -> Result<f64, String> {
    ratio(typed, 0.3, 10.0)
}

fn final_drive(typed: &str) -> Result<f64, String> {
    ratio(typed, 0.5, 20.0)
}

fn ratio(typed: &str, low: f64, high: f64) -> Result<f64, String> {
    let number = typed.trim().trim_end_matches(":1").parse().ok();
    number
        .filter(|ratio| (low..=high).contains(ratio))
        .ok_or_else(|| format!("a ratio is a number from {low} to {high}"))
}

fn afr_stoich(typed: &str) -> Result<f64, String> {
    let wrong = "an air-fuel ratio at lambda 1 is a number from 5 to 20";
    typed.trim().parse().ok().filter(|ratio| (5.0..=20.0).contains(ratio)).ok_or_else(|| wrong.to_owned())
}

/// What is wrong with a log, with the option that helps.
pub(super) fn pull_said(fault: &PullFault) -> String {
    let hint = match fault {
        PullFault::NoSuchColumn { .. } => return format!("--column {fault}"),
        PullFault::NoSuchSheet { .. } => return format!("--sheet {fault}"),
        PullFault::ManySheets { .. } => "; say which with --sheet NAME".to_owned(),
        PullFault::SheetOfText => "; leave --sheet out".to_owned(),
        PullFault::OnlyRoadSpeed { .. } => {
            "; say --at-speed \"100 km/h = 4000 rpm\", or --gear-ratio, --final-drive and --tyre".to_owned()
        }
        PullFault::NoHeader { .. } | PullFault::NoSheet { .. } => {
            ", or say --column \"speed=HEADING in rpm\"".to_owned()
        }
        PullFault::OneColumn { .. } => ", or say --delimiter".to_owned(),
        PullFault::NoUnit { heading, quantity } => {
            let (key, unit) = (quantity.key(), quantity.units()[0].symbol());
            format!(", or say --column \"{key}={heading} in {unit}\"")
        }
        PullFault::WrongUnit { heading, quantity, .. } => {
            let key = quantity.key();
            format!("; say --column \"{key}={heading} in UNIT\" or --column \"ignore={heading}\"")
        }
        PullFault::Twice { first, quantity, number, .. } => {
            let key = quantity.key();
            format!("; say which with --column \"{key}={first}\" or \"{key}=#{number}\"")
        }
        PullFault::LineAndComment { key } => format!("; say which with --{key}"),
        PullFault::PlaceContradiction { heading, .. } => {
            format!("; leave one out with --column \"ignore={heading}\", or map it with --column")
        }
        PullFault::StandardMissing { .. } => {
            format!("; say --corrected with one of {}", LogCorrection::words())
        }
        PullFault::NoColumn { .. } => ", or say --column \"torque=HEADING in N m\"".to_owned(),
        PullFault::OutOfRange { quantity, heading, .. } if is_needed(*quantity) => {
            let key = quantity.key();
            format!(", with --column \"{key}={heading} in UNIT\" or --decimal, or leave the cell empty")
        }
        PullFault::OutOfRange { heading, .. } | PullFault::TooSmall { heading, .. } => {
            format!(", or leave the column out with --column \"ignore={heading}\"")
        }
        _ => String::new(),
    };
    format!("{fault}{hint}")
}

/// Whether a log can do without it only where another column gives the same.
fn is_needed(quantity: Quantity) -> bool {
    matches!(quantity, Quantity::Speed | Quantity::Torque | Quantity::Power)
}

/// Why logs cannot be taken together, with the option that helps.
pub(super) fn join_said(fault: &JoinFault) -> String {
    let hint = if matches!(fault, JoinFault::Correction { .. }) { " with --corrected" } else { "" };
    format!("{fault}{hint}")
}
