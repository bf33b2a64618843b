//! An engine in a few options, in place of a scenario file.

use clap::Args;
use endgas::scenario::{Diagnostics, Said, Short};

/// What is said first of an engine.
#[derive(Args, Clone, Debug, Default)]
#[command(next_help_heading = "An engine without a file")]
pub(super) struct BuildArgs {
    /// Number of cylinders
    #[arg(long, value_name = "COUNT")]
    cylinders: Option<String>,

    /// Bore, as "4.00 in" or "102 mm"; goes with --stroke
    #[arg(long, value_name = "LENGTH")]
    bore: Option<String>,

    /// Stroke, as "3.48 in" or "88.4 mm"
    #[arg(long, value_name = "LENGTH")]
    stroke: Option<String>,

    /// Displacement in place of bore and stroke, as "350 ci" or "2.0 L"
    #[arg(long, value_name = "VOLUME", conflicts_with_all = ["bore", "stroke"])]
    displacement: Option<String>,

    /// Compression ratio, as "10.5"
    #[arg(long, value_name = "RATIO")]
    ratio: Option<String>,

    /// Kind of build: carburetted-two-valve, injected-two-valve, performance-two-valve,
    /// production-four-valve, sport-four-valve, motorcycle or race
    #[arg(long, value_name = "KIND")]
    kind: Option<String>,

    /// Rpm of peak power, as "5800 rpm"; this or --peak-torque
    #[arg(long, value_name = "RPM")]
    peak_power: Option<String>,

    /// Rpm of peak torque, as "4400 rpm"
    #[arg(long, value_name = "RPM")]
    peak_torque: Option<String>,
}

/// The option that says it.
pub(super) const fn option(said: Said) -> &'static str {
    match said {
        Said::Cylinders => "--cylinders",
        Said::Bore => "--bore",
        Said::Stroke => "--stroke",
        Said::Displacement => "--displacement",
        Said::Ratio => "--ratio",
        Said::Kind => "--kind",
        Said::PeakPower => "--peak-power",
        Said::PeakTorque => "--peak-torque",
    }
}

impl BuildArgs {
    /// The engine as said; none when nothing is.
    pub(super) fn short(&self, fuels: &[String]) -> Option<Short> {
        let mut short = Short::default();
        short.fuels = fuels.to_vec();
        for (said, typed) in [
            (Said::Cylinders, &self.cylinders),
            (Said::Bore, &self.bore),
            (Said::Stroke, &self.stroke),
            (Said::Displacement, &self.displacement),
            (Said::Ratio, &self.ratio),
            (Said::Kind, &self.kind),
            (Said::PeakPower, &self.peak_power),
            (Said::PeakTorque, &self.peak_torque),
        ] {
            if let Some(typed) = typed {
                short.say(said, typed);
            }
        }
        (!short.is_empty()).then_some(short)
    }
}

/// The problems with the option of each in place of file and line.
pub(super) fn by_option(problems: Diagnostics) -> Diagnostics {
    let place = |key: &str| match Said::of_key(key) {
        Some(said) => option(said),
        None => "--fuel",
    };
    let mut problems = problems.0;
    for problem in &mut problems {
        (problem.file, problem.line) = (place(&problem.key).to_owned(), 0);
    }
    Diagnostics(problems)
}
