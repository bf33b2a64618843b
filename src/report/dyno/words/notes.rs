//! Why a check was not made, and what to know about the reading and the comparison.

use super::super::super::Units;
use crate::dyno::{
    CheckName, KnockBy, Lack, Lacking, LineAbove, LogCorrection, NotChecked, Note, PullEnd, Quantity,
    TrimmedEnd,
};
use crate::report::quantity::Dimension::{AirPressure, Temperature};

/// Why a check was not made.
pub(in crate::report::dyno) fn lack(skipped: &NotChecked) -> &'static str {
    match skipped.lack {
        Lack::Correction if skipped.name == CheckName::CorrectionRange => "the figures are as measured",
        Lack::Correction => "the figures are stated to be as measured",
        Lack::Weather => "air temperature and pressure of the pull are not known",
        Lack::CorrectionThatShows => {
            "every standard corrects this weather by less than 3 %, so that a correction too many cannot be seen"
        }
        Lack::Factor => "the log has no correction factor",
        Lack::TorqueAndPower => "torque and power are not both logged",
        Lack::Mixture => "no mixture is logged",
        Lack::FuelFlow => "no fuel flow is logged",
        Lack::VolumetricEfficiency => {
            "no VE of 0.25 to 2.5 times the likely one gives this torque at most rpm"
        }
        Lack::Driveline => "the figures are at the flywheel",
        Lack::TorqueFall => "the estimate's torque falls by less than 5 % up to the highest compared rpm",
        Lack::Speeds => "less than 60 % of the logged rpm lie in the scenario's range",
        Lack::Rows => {
            "fewer than 20 rows, or more than 120 rpm between them: too close to call scatter from the curve"
        }
        Lack::SecondPull => "there is one pull",
        Lack::ThirdPull => "there are fewer than three pulls",
        Lack::FiniteNumber => "its number is not finite for these figures",
    }
}

/// A note as a sentence or two.
pub(in crate::report::dyno) fn note(found: &Note, units: Units) -> String {
    match found {
        Note::LinesAbove { header, lines } => {
            let what = if *lines == 1 { "1 line above it is" } else { &format!("{lines} lines above it are") };
            format!("The header is line {header}; {what} not read.")
        }
        Note::LinesRead(lines) => {
            let one = |(line, said): &(u64, LineAbove)| format!("{} (line {line})", above(said, units));
            let all: Vec<String> = lines.iter().map(one).collect();
            format!("Read above the table: {}.", all.join(", "))
        }
        Note::DecimalComma => "Numbers are read with a decimal comma.".to_owned(),
        Note::RowsLeftOut { rows, first } => format!(
            "{rows} rows without positive torque or power are left out, the first in line {first}."
        ),
        Note::Windows1252 => {
            "The file is not UTF-8: it is read as Windows-1252 (Latin-1).".to_owned()
        }
        Note::Ends(ends) => trimmed(ends),
        Note::RpmOfRoadSpeed(gearing) => {
            let road_m_per_s = if units == Units::Us { 60.0 * 0.447_04 } else { 100.0 / 3.6 };
            let road = if units == Units::Us { "60 mph" } else { "100 km/h" };
            format!(
                "Rpm is made from vehicle speed: {road} is {:.0} rpm. Tyre slip and growth make it wrong by 1 to 3 % (common practice, no source).",
                gearing.rpm(road_m_per_s)
            )
        }
        Note::GearingNotUsed => {
            "The log holds rpm; the gears, or the pair of speeds, are not used.".to_owned()
        }
        Note::SheetTaken { sheet, of } => format!(
            "Sheet {sheet:?} is read, the only one of the {of} in the workbook with a log."
        ),
        Note::RowsLacking { what, lines } => {
            let (s, are) = if lines.len() == 1 { ("", "is") } else { ("s", "are") };
            format!("{} row{s} {} {are} left out: {}.", lines.len(), lacking(*what), line_list(lines))
        }
        Note::LambdaOfAfr { afr_stoich, is_stated } => {
            let whose = if *is_stated { "as stated" } else { "the scale of most meters" };
            format!("Lambda is the air-fuel ratio over {afr_stoich}, {whose}.")
        }
        Note::PlaceNotSaid => {
            "Nothing says where the figures were taken: they are read as wheel figures.".to_owned()
        }
        Note::CorrectionNotSaid => {
            "Nothing says whether the figures are corrected: they are read as observed (uncorrected).".to_owned()
        }
        Note::Knock(by) => knock(*by).to_owned(),
        Note::OfLog(log, about) => format!("{log}: {}", note(about, units)),
        Note::LeftOut { what, with, without } => left_out(*what, with, without),
        Note::FirstFuel { fuel, fuels } => format!(
            "Judged on {fuel}, the first of the {fuels} fuels of the scenario; --fuel names another."
        ),
        Note::DayOfScenario { corrected: false } => {
            "Air temperature or pressure is that of the scenario, not of the pull: on another day the air, and with it the torque, was different. State it with --air-temp, --pressure and --humidity.".to_owned()
        }
        Note::DayOfScenario { corrected: true } => {
            "Air temperature or pressure is that of the scenario, not of the pull. Corrected figures are corrected back to that weather, so they can be compared; whether they were corrected rightly is too close to call.".to_owned()
        }
        Note::Powerband { factor } => format!(
            "The pull shows a powerband {:.0} % {} than the scenario says, and its curve is judged with the powerband there. If the rpm is right, multiply the peak rpm of the scenario by {factor:.2}, or use --fit.",
            100.0 * (factor - 1.0).abs(),
            if *factor < 1.0 { "lower" } else { "higher" }
        ),
        Note::OtherAir { logged_k, day_k } => format!(
            "The log holds an air temperature of {}; the pull is judged at {}.",
            units.words(Temperature, *logged_k),
            units.words(Temperature, *day_k)
        ),
        Note::OtherSpeeds { pulls_rpm: (low, high), scenario_rpm: (first, last) } => format!(
            "The pulls cover {low:.0} to {high:.0} rpm, the scenario {first:.0} to {last:.0} rpm; only what both cover is compared."
        ),
    }
}

/// Ends of runs in words, kind by kind in the order of a run.
fn trimmed(ends: &[TrimmedEnd]) -> String {
    let of = |(end, name): &(PullEnd, &str)| {
        let mut lines: Vec<u64> = ends
            .iter()
            .filter(|one| one.end == *end)
            .flat_map(|one| one.first_line..=one.last_line)
            .collect();
        lines.sort_unstable();
        (!lines.is_empty()).then(|| format!("{name}, {}", line_list(&lines)))
    };
    let all = [
        (PullEnd::Idle, "idle"),
        (PullEnd::RollOn, "roll-on"),
        (PullEnd::RevLimiter, "rev limiter"),
        (PullEnd::LiftOff, "lift-off"),
        (PullEnd::CoastDown, "coast-down"),
    ];
    let told: Vec<String> = all.iter().filter_map(of).collect();
    format!("Ends of runs are left out ({}); --keep-ends leaves them in.", told.join("; "))
}

fn above(said: &LineAbove, units: Units) -> String {
    match said {
        LineAbove::Correction(LogCorrection::None) => "uncorrected".to_owned(),
        LineAbove::Correction(LogCorrection::By(standard)) => format!("corrected to {}", standard.title()),
        LineAbove::Factor(factor) => format!("correction factor {factor:.3}"),
        LineAbove::Place(place) => format!("figures taken {}", place.at()),
        LineAbove::Gear(gear) => format!("gear {gear}"),
        LineAbove::AirTemperature(kelvin) => format!("air at {}", units.words(Temperature, *kelvin)),
        LineAbove::Pressure(pascal) => format!("air pressure {}", units.words(AirPressure, *pascal)),
        LineAbove::Humidity(share) => format!("humidity {:.0} %", 100.0 * share),
    }
}

fn lacking(what: Lacking) -> &'static str {
    match what {
        Lacking::Speed => "without rpm",
        Lacking::RunningEngine => "below 100 rpm",
        Lacking::Output => "without torque or power",
        Lacking::PullName => "without a name in the pull column",
    }
}

/// Lines in words: "line 7", "lines 3, 7 to 9, 12 and 40 more".
fn line_list(lines: &[u64]) -> String {
    const MOST: usize = 5;
    let mut ranges: Vec<(u64, u64)> = Vec::new();
    for line in lines {
        match ranges.last_mut() {
            Some((_, last)) if *line == *last + 1 => *last = *line,
            _ => ranges.push((*line, *line)),
        }
    }
    let shown: Vec<String> = ranges
        .iter()
        .take(MOST)
        .map(|(from, to)| if from == to { format!("{from}") } else { format!("{from} to {to}") })
        .collect();
    let rest: u64 = ranges.iter().skip(MOST).map(|(from, to)| to - from + 1).sum();
    let more = if rest > 0 { format!(" and {rest} more") } else { String::new() };
    let s = if lines.len() == 1 { "" } else { "s" };
    format!("line{s} {}{more}", shown.join(", "))
}

fn knock(by: KnockBy) -> &'static str {
    match by {
        KnockBy::Retard => {
            "Knock retard is read as knock where it rises; while it fades, a row says nothing."
        }
        KnockBy::Count => "The knock count falls again, so it is read row by row: above 0 is knock.",
        KnockBy::RunningCount => {
            "The knock count never falls in a pull, so it is read as a running count: it knocks where the count rises."
        }
    }
}

fn left_out(what: Quantity, with: &[String], without: &[String]) -> String {
    let what = match what {
        Quantity::AirTemperature => "Air temperature",
        Quantity::Pressure => "Air pressure",
        _ => "Humidity",
    };
    let (with, without) = (with.join(" and "), without.join(" and "));
    format!(
        "{what} is logged in {with} and not in {without}, so it is not known for all pulls and is left out."
    )
}
