//! Whether a pull is right: a log judged and, where it is asked, the build fitted to it.

use super::refusal::Refusal;
use super::shop::{Asked, Shop};
use super::talk::{piece, pointed};
use crate::air::CorrectionStandard;
use crate::dyno::{
    ColumnMap, Fit, Gearing, JudgeSettings, Judgement, LIMIT_KIB, Log, LogCorrection, Mapping, Place,
    PullErrors, Quantity, fit, judge, read,
};
use crate::estimate::Job;
use crate::printable::printable;
use crate::report::{Fitting, JudgedPull};
use crate::scenario::typed::{HUMIDITY, PRESSURE, TEMPERATURE, TypedQuantity};
use crate::scenario::{WeatherInput, fitted_text, with_known_points};
use maud::html;
use serde::{Deserialize, Serialize};

/// Largest log [bytes].
pub(super) const MOST_LOG: usize = LIMIT_KIB * 1024;
/// Air-fuel ratios that a meter may show at lambda 1.
const AFR_STOICH: std::ops::RangeInclusive<f64> = 5.0..=20.0;
/// Lines among which headings are looked for.
const FIRST_LINES: usize = 60;
/// Most headings that are offered to be mapped by hand.
const MOST_HEADINGS: usize = 60;

/// What is said of a log.
#[derive(Clone, Debug, Deserialize)]
pub struct AskedPull {
    /// The build that was run.
    #[serde(flatten)]
    pub build: Asked,
    /// Name of the file.
    pub name: String,
    /// Fuel that was in the tank; empty for the first of the build.
    #[serde(default)]
    pub fuel: String,
    /// Where it was taken; empty for what the log says.
    #[serde(default)]
    pub place: String,
    /// How it is corrected; empty for what the log says.
    #[serde(default)]
    pub corrected: String,
    /// One pair of speeds, as "100 km/h = 4000 rpm", for a log without rpm.
    #[serde(default)]
    pub at_speed: String,
    /// Weather of the pull, each empty for what the log says or else that of the build.
    #[serde(default)]
    pub air_temp: String,
    /// Its pressure.
    #[serde(default)]
    pub pressure: String,
    /// Its humidity.
    #[serde(default)]
    pub humidity: String,
    /// Air-fuel ratio that the meter shows at lambda 1.
    #[serde(default)]
    pub afr_stoich: String,
    /// Whether ends of runs stay in.
    #[serde(default)]
    pub keep_ends: bool,
    /// Whether a pull of doubtful scale is fitted all the same.
    #[serde(default)]
    pub fit_anyway: bool,
    /// Columns mapped by hand, as "torque=TQ1 in lb-ft".
    #[serde(default)]
    pub columns: Vec<String>,
    /// Whether the build is fitted.
    #[serde(default)]
    pub fit: bool,
}

/// What became of a pull.
#[derive(Debug, Default, Serialize)]
pub struct JudgedAnswer {
    /// What is shown.
    pub html: String,
    /// Form of the columns, where they are unclear.
    pub columns: Option<String>,
    /// Text of the fitted build.
    pub fitted: Option<String>,
}

impl Shop {
    /// Judges a log, and fits the build to it where it is asked.
    pub(super) fn pull(&self, asked: &AskedPull, bytes: &[u8]) -> Result<JudgedAnswer, Refusal> {
        let mapping = mapping(asked)?;
        let log = match read(&asked.name, bytes, &mapping) {
            Ok(log) => log,
            Err(errors) => return Ok(unclear(&errors, bytes)),
        };
        let text = self.text(&asked.build)?;
        let (job, settings) = self.pulled(asked, &log)?;
        let judgement = judge(&job, &log, &settings).map_err(Refusal::whole)?;
        let is_fitted = asked.fit && (asked.fit_anyway || judgement.bars_fit().is_empty());
        let fit = is_fitted.then(|| fit(&job, &log, &settings)).transpose().map_err(Refusal::whole)?;
        let refitted = fit.as_ref().map(|fit| refit(&text, &judgement, fit)).transpose()?;
        let fitting = match (&fit, &refitted) {
            (Some(fit), Some((_, knock_points))) => {
                Fitting::Done { fit, file: "the fitted build".to_owned(), knock_points: *knock_points }
            }
            _ if asked.fit => Fitting::Refused,
            _ => Fitting::NotAsked,
        };
        let html = piece("pull", &JudgedPull { judgement: &judgement, fitting }, asked.build.units())?;
        Ok(JudgedAnswer { html, columns: None, fitted: refitted.map(|(text, _)| text) })
    }

    /// The job on the fuel and in the weather of the pull, and how it is judged.
    fn pulled(&self, asked: &AskedPull, log: &Log) -> Result<(Job, JudgeSettings), Refusal> {
        let text = self.text(&asked.build)?;
        let mut scenario = self.base(&text)?.scenario.clone();
        let logged = log.weather();
        let day = scenario.weather;
        let temperature_k = typed("air_temp", &asked.air_temp, &TEMPERATURE)?.or(logged.temperature_k);
        let pressure_pa = typed("pressure", &asked.pressure, &PRESSURE)?.or(logged.pressure_pa);
        let humidity = typed("humidity", &asked.humidity, &HUMIDITY)?.or(logged.relative_humidity);
        scenario.weather = WeatherInput {
            temperature_k: temperature_k.unwrap_or(day.temperature_k),
            pressure_pa: pressure_pa.unwrap_or(day.pressure_pa),
            relative_humidity: humidity.unwrap_or(day.relative_humidity),
        };
        let mut job =
            scenario.job(&self.library, super::base::SAMPLES, super::base::SEED).map_err(Refusal::whole)?;
        let fuel = asked.fuel.trim();
        if !fuel.is_empty() {
            let named = |error: crate::fuel::FuelError| Refusal::new("fuel", fuel, error.to_string());
            let pulled = self.library.burnable(fuel).map_err(named)?;
            let lambda = scenario.lambda_for(fuel);
            job.fuels.retain(|choice| choice.fuel.name != pulled.name);
            job.fuels.insert(0, crate::estimate::FuelChoice { fuel: pulled, lambda });
        }
        let settings = JudgeSettings {
            standard: CorrectionStandard::SaeJ1349,
            weather_stated: temperature_k.is_some() && pressure_pa.is_some(),
            fuel_stated: !fuel.is_empty(),
        };
        Ok((job, settings))
    }
}

/// A quantity as typed, in the unit used inside; none where nothing is typed.
fn typed(key: &str, typed: &str, of: &TypedQuantity) -> Result<Option<f64>, Refusal> {
    match typed.trim() {
        "" => Ok(None),
        some => of.si(&pointed(some)).map(Some).map_err(|error| Refusal::new(key, some, error.to_string())),
    }
}

fn mapping(asked: &AskedPull) -> Result<Mapping, Refusal> {
    let stated = |typed: &str| Some(typed.trim().to_owned()).filter(|typed| !typed.is_empty());
    let place = stated(&asked.place).map(|typed| {
        Place::of_word(&typed).ok_or_else(|| Refusal::new("place", &typed, "it is wheel or crank"))
    });
    let correction = stated(&asked.corrected).map(|typed| {
        let known = || Refusal::new("corrected", &typed, format!("it is one of {}", LogCorrection::words()));
        LogCorrection::of_word(&typed).ok_or_else(known)
    });
    let gearing = stated(&asked.at_speed).map(|typed| {
        Gearing::of_pair(&pointed(&typed)).map_err(|error| Refusal::new("at_speed", &typed, error))
    });
    let columns = asked
        .columns
        .iter()
        .map(|typed| ColumnMap::read(typed).map_err(|error| Refusal::new("columns", typed, error)));
    let afr_stoich = stated(&asked.afr_stoich).map(|typed| {
        let number = pointed(&typed).parse().ok().filter(|ratio| AFR_STOICH.contains(ratio));
        number.ok_or_else(|| Refusal::new("afr_stoich", &typed, "it is a number from 5 to 20"))
    });
    Ok(Mapping {
        keep_ends: asked.keep_ends,
        afr_stoich: afr_stoich.transpose()?,
        place: place.transpose()?,
        correction: correction.transpose()?,
        gearing: gearing.transpose()?,
        columns: columns.collect::<Result<_, _>>()?,
        ..Mapping::default()
    })
}

/// Text of the fitted build, and how many knock points of the log it holds besides.
fn refit(old: &str, judgement: &Judgement, fit: &Fit) -> Result<(String, usize), Refusal> {
    let told = format!(
        "Fitted by endgas to {} on {}: as this dyno read it, an estimate and no calibration.",
        judgement.log, judgement.fuel
    );
    let text = fitted_text(old, &fit.written, &told).map_err(Refusal::whole)?;
    let known = judgement.knock.as_ref().and_then(|knock| Some((knock.fuel.as_ref()?, &knock.points)));
    match known {
        Some((fuel, points)) => with_known_points(&text, fuel, points).map_err(Refusal::whole),
        None => Ok((text, 0)),
    }
}

/// What is not clear of a log, and a form in which its columns are mapped by hand.
fn unclear(errors: &PullErrors, bytes: &[u8]) -> JudgedAnswer {
    let headings = headings(bytes);
    let said = errors.to_string();
    let lines: Vec<&str> = said.lines().collect();
    let html = html! {
        p .missed { "The log is not clear. Say what its columns are, and judge it again:" }
        ul { @for line in lines { li { (line) } } }
    };
    let columns = html! {
        @if headings.is_empty() {
            p { "Its headings were not found. Name them, one a line, as torque=TQ1 in lb-ft; #3 is the third column." }
        }
        @for heading in &headings {
            div .column data-heading=(heading) {
                span { (printable(heading)) }
                select .quantity aria-label={ "What " (printable(heading)) " is" } {
                    option value="" { "as the log says" }
                    option value="ignore" { "leave it out" }
                    @for quantity in Quantity::ALL { option value=(quantity.key()) { (quantity.key()) } }
                }
                select .unit aria-label={ "Unit of " (printable(heading)) } {
                    option value="" { "unit as the log says" }
                    @for quantity in Quantity::ALL {
                        @for unit in quantity.units().iter().filter(|unit| !unit.symbol().is_empty()) {
                            option value=(unit.symbol()) { (unit.symbol()) }
                        }
                    }
                }
            }
        }
    };
    JudgedAnswer { html: html.into_string(), columns: Some(columns.into_string()), fitted: None }
}

/// The headings of a text log: the cells of the line with the most words among its first ones; none of what is no such text.
fn headings(bytes: &[u8]) -> Vec<String> {
    let text = String::from_utf8_lossy(bytes);
    let is_word = |cell: &&str| cell.chars().any(char::is_alphabetic);
    let lines = text.lines().take(FIRST_LINES).filter(|line| !line.starts_with('#') && !line.contains('\0'));
    let cells = |line: &str, between: char| -> Vec<String> {
        let cells = line.split(between).map(|cell| cell.trim().trim_matches('"')).filter(is_word);
        cells.map(str::to_owned).collect()
    };
    let all = lines.flat_map(|line| ['\t', ';', ','].map(|between| cells(line, between)));
    // Of equals the first.
    let most = all.reduce(|a, b| if b.len() > a.len() { b } else { a }).unwrap_or_default();
    if most.len() < 2 { Vec::new() } else { most.into_iter().take(MOST_HEADINGS).collect() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_of_a_log_are_found() {
        assert_eq!(headings(b"a note\n\"Engine\";TQ1;TQ2\n3000;100;101\n"), ["Engine", "TQ1", "TQ2"]);
        assert!(headings(&[0, 159, 1]).is_empty());
    }

    #[test]
    fn a_decimal_comma_is_a_point_and_thousands_stay() {
        assert_eq!(pointed("12,5 L e85"), "12.5 L e85");
        assert_eq!(pointed("1,200 L"), "1,200 L");
        assert_eq!(pointed("premium-91, e85"), "premium-91, e85");
    }
}
