//! The questions of the page, each answered by what answers the command of the same name, as pieces of HTML.

use super::field::labelled;
use super::refusal::Refusal;
use super::shop::{Asked, Shop};
use crate::choose::choose;
use crate::estimate::compare::Entrant;
use crate::estimate::likely_curve::likely_curve;
use crate::estimate::spark_map::{Load, MapAxes, Reserve, spark_maps};
use crate::estimate::{Job, JobChange, compare, estimate};
use crate::fuel::PumpFuel;
use crate::fuel::fill::{read_percent, read_volume_m3};
use crate::fuel::tank::{Fill, top_up};
use crate::fueling::fueling;
use crate::goal::goal;
use crate::report::{FuelReport, Report, Shown, SparkMaps, Units, page_piece, render_page};
use crate::scenario::typed::POWER;
use crate::units::{CompressionRatio, Unit};
use rayon::prelude::*;
use serde::Deserialize;

/// Samples of VE and mixture behind the ranges of a fuel flow; they cost no cycle.
const FLOW_SAMPLES: usize = 1000;
/// Ratios of the first curve of a choice.
const FIRST_RATIOS: usize = 9;
/// Fuels of the first curve of a choice.
const FIRST_FUELS: usize = 4;
/// Most ethanol contents of timing tables.
const MOST_CONTENTS: usize = 8;

/// HTML of a result, its messages by the labels of the page.
pub(super) fn piece<S: Shown>(id: &str, result: &S, units: Units) -> Result<String, Refusal> {
    page_piece(id, result, units, &labelled).map_err(Refusal::whole)
}

impl Shop {
    /// What it makes on every fuel.
    pub(super) fn makes(&self, asked: &Asked) -> Result<String, Refusal> {
        let (_, job) = self.job(asked)?;
        piece("makes", &estimate(&job)?, asked.units())
    }

    /// Which piston: `first` is given a first curve, `tell` the share that is done.
    pub(super) fn piston(
        &self,
        asked: &Asked,
        first: &dyn Fn(String),
        tell: &(dyn Fn(f64) + Sync),
    ) -> Result<String, Refusal> {
        let (scenario, job) = self.job(asked)?;
        let ask = scenario.choose_job(job, &self.library).map_err(Refusal::whole)?;
        first(first_curve(&ask.job, (ask.lowest.get(), ask.highest.get()), asked.units())?);
        piece("piston", &choose(&ask, tell).map_err(Refusal::whole)?, asked.units())
    }

    /// Whether a target is realistic.
    pub(super) fn target(&self, asked: &Asked, typed: &str) -> Result<String, Refusal> {
        let wanted = power(typed)?;
        let (scenario, job) = self.job(asked)?;
        let found = goal(&job, &estimate(&job)?, &scenario.costs, wanted).map_err(Refusal::whole)?;
        piece("target", &found, asked.units())
    }

    /// Which injectors and pump.
    pub(super) fn injectors(&self, asked: &Asked) -> Result<String, Refusal> {
        let (scenario, mut job) = self.job(asked)?;
        job.samples = FLOW_SAMPLES;
        piece("injectors", &fueling(&job, &scenario.fueling)?, asked.units())
    }

    /// The timing tables.
    pub(super) fn timing(&self, asked: &Asked, contents: &str) -> Result<String, Refusal> {
        let ethanol_vol_frac = read_contents(contents)?;
        let (_, job) = self.job(asked)?;
        let reserve = Reserve::Octane(job.reserve_octane);
        let axes = MapAxes { loads: Load::USUAL.to_vec(), ethanol_vol_frac, reserve };
        let maps = SparkMaps { maps: spark_maps(&job, &axes)?, load_unit: Unit::Percent };
        piece("timing", &maps, asked.units())
    }

    /// What a tank holds.
    pub(super) fn tank(&self, tank: &Tank) -> Result<String, Refusal> {
        let at = |key: &'static str, typed: &str| {
            let typed = typed.to_owned();
            move |error: crate::fuel::FuelError| Refusal::new(key, &typed, error.to_string())
        };
        let lines = tank.fills.lines().map(str::trim).filter(|line| !line.is_empty());
        let fills: Vec<Fill> = lines
            .map(|line| self.library.fill(&pointed(line)).map_err(at("fills", line)))
            .collect::<Result<_, _>>()?;
        if fills.is_empty() {
            return Err(Refusal::new("fills", "", "say what is in the tank, such as \"20 L e85\""));
        }
        let top = match (tank.to.trim(), tank.add.trim()) {
            ("", "") => None,
            (to, "") => return Err(Refusal::new("add", to, "say which fuel to add, such as e85")),
            ("", add) => {
                return Err(Refusal::new("to", add, "say the ethanol content to reach, such as 50 %"));
            }
            (to, add) => {
                let content = read_percent(&pointed(to))
                    .ok_or_else(|| Refusal::new("to", to, "it is a content from 0 to 100 %"))?;
                let added: PumpFuel = self.library.measured(&pointed(add)).map_err(at("add", add))?;
                let size = match tank.size.trim() {
                    "" => None,
                    size => Some(read_volume_m3(&pointed(size)).map_err(at("size", size))?),
                };
                Some(top_up(&fills, &added, content, size).map_err(at("to", to))?)
            }
        };
        let report = FuelReport::mix(fills, top).map_err(Refusal::whole)?;
        piece("tank", &report, if tank.us { Units::Us } else { Units::Metric })
    }

    /// Two builds side by side.
    pub(super) fn beside(&self, first: &Asked, second: &Asked, names: [&str; 2]) -> Result<String, Refusal> {
        let (scenario, job) = self.job(first)?;
        let (other, _) = self.job(second)?;
        let is_weather_replaced = other.weather != scenario.weather;
        let on_same = crate::scenario::Scenario { weather: scenario.weather, ..other };
        let second = on_same
            .job_on(job.fuels.clone(), &self.library, job.samples, job.seed)
            .map_err(Refusal::whole)?;
        let entrant = |name: &str, job, is_weather_replaced| Entrant {
            name: name.to_owned(),
            job,
            is_weather_replaced,
        };
        let entrants = [entrant(names[0], job, false), entrant(names[1], second, is_weather_replaced)];
        piece("beside", &compare(&entrants, true)?, first.units())
    }

    /// The page for the customer: the number under which it is kept.
    pub(super) fn customer(
        &self,
        asked: &Asked,
        target: &str,
        tell: &(dyn Fn(f64) + Sync),
    ) -> Result<u64, Refusal> {
        let wanted = if target.trim().is_empty() { None } else { Some(power(target)?) };
        let (scenario, job) = self.job(asked)?;
        let ask = scenario.choose_job(job.clone(), &self.library).map_err(Refusal::whole)?;
        let estimate = estimate(&job)?;
        let choice = choose(&ask, tell).map_err(Refusal::whole)?;
        let goal = wanted
            .map(|kw| goal(&job, &estimate, &scenario.costs, kw))
            .transpose()
            .map_err(Refusal::whole)?;
        let report = Report {
            build: &job.build,
            estimate: &estimate,
            choice: &choice,
            goal: goal.as_ref(),
            units: asked.units(),
        };
        Ok(self.keep_page(render_page(&report).map_err(Refusal::whole)?))
    }

    /// What a field does to the answer: it and its likely power and knock margin, a twentieth up and down.
    pub(super) fn does(
        &self,
        asked: &Asked,
        change: impl Fn(f64) -> Option<String>,
    ) -> Result<String, Refusal> {
        let now = self.peak(&asked.text)?;
        let said: Vec<String> = [1.05, 0.95]
            .into_iter()
            .filter_map(|factor| {
                let then = self.peak(&change(factor)?).ok()?;
                let (power, margin) = (then.0 - now.0, then.1 - now.1);
                let words = if factor > 1.0 { "5 % more" } else { "5 % less" };
                let kw = asked.units().of(crate::report::Dimension::Power, power);
                Some(format!(
                    "{words}: {} {} at the wheels, knock margin {} octane numbers",
                    crate::report::signed(kw, 1),
                    asked.units().symbol(crate::report::Dimension::Power),
                    crate::report::signed(margin, 1)
                ))
            })
            .collect();
        match said.is_empty() {
            true => Err(Refusal::whole("a twentieth more or less is not allowed here, or it is not stated")),
            false => Ok(said.join(". ") + ". Likely case, first fuel, at the likely limit."),
        }
    }

    /// Likely peak wheel power [kW] and worst knock margin at MBT timing of a text.
    fn peak(&self, text: &str) -> Result<(f64, f64), Refusal> {
        let likely = self.base(text)?.likely(&super::setting::Setting::default())?;
        Ok((likely.peak_power.of.likely, likely.tightest_at_best_torque.octane_margin))
    }
}

/// What is said of a tank.
#[derive(Clone, Debug, Default, Deserialize)]
pub struct Tank {
    /// Fills, one a line.
    pub fills: String,
    /// Ethanol content to reach.
    #[serde(default)]
    pub to: String,
    /// Fuel to add for it.
    #[serde(default)]
    pub add: String,
    /// Volume that the tank holds.
    #[serde(default)]
    pub size: String,
    /// Whether US units are shown.
    #[serde(default)]
    pub us: bool,
}

/// A decimal comma between digits as a point.
pub(super) fn pointed(typed: &str) -> String {
    let letters: Vec<char> = typed.chars().collect();
    let is_digit = |at: Option<usize>| at.and_then(|at| letters.get(at)).is_some_and(char::is_ascii_digit);
    let after = |at: usize| letters[at + 1..].iter().take_while(|c| c.is_ascii_digit()).count();
    let point = |(at, letter): (usize, &char)| {
        // Three digits behind a comma may be thousands: left as it is, to be refused.
        let is_decimal = *letter == ',' && is_digit(at.checked_sub(1)) && (1..=2).contains(&after(at));
        if is_decimal { '.' } else { *letter }
    };
    letters.iter().enumerate().map(point).collect()
}

fn power(typed: &str) -> Result<f64, Refusal> {
    POWER.read(&pointed(typed)).map_err(|error| Refusal::new("target", typed, error.to_string()))
}

/// Ethanol contents between semicolons or commas, as fractions.
fn read_contents(typed: &str) -> Result<Vec<f64>, Refusal> {
    let wrong = || {
        let why = format!("they are up to {MOST_CONTENTS} contents from 0 to 100 %, rising, as 10; 30; 85");
        Refusal::new("contents", typed, why)
    };
    let entries = typed.split([';', ',']).map(str::trim).filter(|entry| !entry.is_empty());
    let read: Vec<f64> =
        entries.map(|entry| read_percent(entry).ok_or_else(wrong)).collect::<Result<_, _>>()?;
    let is_rising = read.windows(2).all(|pair| pair[0] < pair[1]);
    if is_rising && read.len() <= MOST_CONTENTS { Ok(read) } else { Err(wrong()) }
}

/// Likely peak power over ratio at a few ratios: what is seen at once of a choice.
fn first_curve(job: &Job, (low, high): (f64, f64), units: Units) -> Result<String, Refusal> {
    let ratios: Vec<f64> =
        (0..FIRST_RATIOS).map(|i| low + (high - low) * i as f64 / (FIRST_RATIOS - 1) as f64).collect();
    let fuels = &job.fuels[..job.fuels.len().min(FIRST_FUELS)];
    let peak = |ratio: f64, fuel: usize| -> Option<(f64, f64)> {
        let mut at = job.clone();
        JobChange::CompressionRatio(CompressionRatio::new(ratio).ok()?).apply(&mut at);
        let in_use = fuels[fuel].in_use(&at.weather).ok()?;
        let curve = likely_curve(&at, (&fuels[fuel].fuel.name, &in_use)).ok()?;
        let kw = curve.points.iter().map(|point| curve.wheel_power_kw(point)).fold(0.0, f64::max);
        Some((ratio, kw))
    };
    let curves: Vec<(String, Vec<(f64, f64)>)> = (0..fuels.len())
        .into_par_iter()
        .map(|fuel| {
            let points = ratios.iter().filter_map(|ratio| peak(*ratio, fuel)).collect();
            (fuels[fuel].fuel.name.clone(), points)
        })
        .collect();
    crate::report::power_over_ratio("first", &curves, units).map_err(Refusal::whole)
}
