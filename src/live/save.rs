//! The scenario file that gives what a setting shows: the loaded text with the moved values put in, comments kept.

use super::base::Base;
use super::control::Control;
use super::refusal::Refusal;
use super::setting::Setting;
use crate::engine::{Breathing, Build};
use crate::input::without_unit;
use crate::scenario::{self, MOST_FUELS, numbers, put, section_as_table, take_out};
use toml_edit::{DocumentMut, InlineTable, Item, Table, TableLike, Value};

impl Base {
    /// The text of a scenario file that `endgas estimate` runs to the numbers of a setting.
    ///
    /// It is read again and compared before it is handed out.
    ///
    /// # Errors
    /// [`Refusal`] when the setting is not allowed, or no scenario file can say it.
    pub fn scenario_text(&self, setting: &Setting) -> Result<String, Refusal> {
        let effective = self.effective(setting);
        let wanted = self.job(setting)?;
        let mut document = self.document.clone();
        for (section, control) in [
            ("weather", Control::AirTemperature),
            ("weather", Control::Humidity),
            ("weather", Control::Pressure),
            ("spark", Control::Reserve),
            ("driveline", Control::Loss),
            ("speed", Control::TopSpeed),
        ] {
            if let Some(value) = effective.get(control) {
                put(table(&mut document, section)?, control.key(), value.into());
            }
        }
        if effective.get(Control::TopSpeed).is_some() {
            let speed = table(&mut document, "speed")?;
            for (key, rpm) in [("from_rpm", self.from_rpm), ("step_rpm", self.step_rpm)] {
                if !speed.contains_key(key)
                    && without_unit(key).is_none_or(|short| !speed.contains_key(short))
                {
                    put(speed, key, rpm.into());
                }
            }
        }
        if effective.get(Control::Pressure).is_some() {
            take_out(table(&mut document, "weather")?, "altitude_m");
        }
        let left_out = match effective.get(Control::CompressionRatio) {
            Some(ratio) => put_ratio(&mut document, ratio)?,
            None => String::new(),
        };
        if effective.get(Control::Filling).is_some_and(|position| position != 0.0) {
            put_breathing(&mut document, &wanted.build)?;
        }
        self.put_fuel(&mut document, &effective)?;
        let text = format!("{}{document}{left_out}", header(&effective));
        self.checked(text, &wanted)
    }

    /// Puts the fuel that is burned first in the run, with its mixture.
    fn put_fuel(&self, document: &mut DocumentMut, effective: &Setting) -> Result<(), Refusal> {
        let (spec, lambda) = self.fuel(effective)?;
        let name_of = |spec: &str| self.library.resolve(spec).map(|fuel| fuel.name);
        let name = name_of(&spec).map_err(Refusal::whole)?;
        let run = &self.scenario.fuels;
        // A fuel of the file keeps the words it has there, for other keys name it by them.
        let known = run.iter().find(|fuel| name_of(&fuel.spec).is_ok_and(|known| known == name));
        let spec = known.map_or(spec, |fuel| fuel.spec.clone());
        let others = run.iter().map(|fuel| fuel.spec.as_str()).filter(|other| *other != spec);
        let list: Vec<&str> = [spec.as_str()].into_iter().chain(others).collect();
        if list.len() > MOST_FUELS {
            return Err(Refusal::whole(format!(
                "the scenario runs {MOST_FUELS} fuels already, so {spec} cannot be added; take one out of the file"
            )));
        }
        let fuels = table(document, "fuels")?;
        if run.first().is_none_or(|first| first.spec != spec) {
            put(fuels, "run", Value::Array(list.iter().copied().collect()));
        }
        if lambda != self.scenario.lambda_for(&spec)
            && let Some(lambda) = lambda
        {
            let own = fuels.entry("lambda_for").or_insert(Item::Value(InlineTable::new().into()));
            let own = own.as_table_like_mut().ok_or_else(|| not_a_section("lambda_for"))?;
            put(own, &spec, lambda.get().into());
        }
        Ok(())
    }

    /// The text, if reading it gives the job that is wanted.
    fn checked(&self, text: String, wanted: &crate::estimate::Job) -> Result<String, Refusal> {
        let failed = |why: String| Refusal::whole(format!("no scenario file can say this setting: {why}"));
        let mut read = scenario::read("saved scenario", &text).map_err(|error| failed(error.to_string()))?;
        // The page goes on with what its pipes breathe as loaded, whatever ratio or rpm is moved; the file is computed anew when it is run.
        let on = |scenario: &scenario::Scenario| scenario.pipes.as_ref().map(|pipes| pipes.on.clone());
        if on(&read) == on(&self.scenario) {
            read.computed.clone_from(&self.scenario.computed);
        }
        let job = read
            .job(&self.library, wanted.samples, wanted.seed)
            .map_err(|error| failed(error.to_string()))?;
        let first = |job: &crate::estimate::Job| {
            job.fuels.first().map(|f| (f.fuel.base.clone(), f.fuel.ethanol, f.lambda))
        };
        let same = job.build == wanted.build
            && job.weather == wanted.weather
            && job.speeds_rpm == wanted.speeds_rpm
            && job.reserve_octane == wanted.reserve_octane
            && first(&job) == first(wanted);
        if same { Ok(text) } else { Err(failed("it would be read as another engine or day".to_owned())) }
    }
}

/// Comment at the head of a saved file: what was moved.
fn header(effective: &Setting) -> String {
    let fuel = effective.fuel.iter().map(|fuel| format!("fuel = {fuel}"));
    let numbers = Control::ALL
        .into_iter()
        .filter_map(|c| effective.get(c).map(|value| format!("{} = {value}", c.key())));
    let moved: Vec<String> = fuel.chain(numbers).collect();
    if moved.is_empty() {
        return String::new();
    }
    format!("# Set by `endgas live`: {}.\n\n", moved.join(", "))
}

fn not_a_section(name: &str) -> Refusal {
    Refusal::whole(format!("[{name}] is no section of the scenario"))
}

/// A section, made when it is missing.
fn table<'d>(document: &'d mut DocumentMut, name: &str) -> Result<&'d mut dyn TableLike, Refusal> {
    let section = document.entry(name).or_insert(Item::Table(Table::new()));
    section.as_table_like_mut().ok_or_else(|| not_a_section(name))
}

/// States the ratio; measured volumes, which would contradict it, come back as comments for the end of the file.
fn put_ratio(document: &mut DocumentMut, ratio: f64) -> Result<String, Refusal> {
    let engine = table(document, "engine")?;
    let volumes = engine.remove("volumes");
    put(engine, "compression_ratio", ratio.into());
    let Some(volumes) = volumes else { return Ok(String::new()) };
    let text = match volumes {
        Item::Table(table) => table.to_string(),
        other => other.to_string(),
    };
    let lines: String = text.lines().map(|line| format!("# {line}").trim_end().to_owned() + "\n").collect();
    Ok(format!("\n# Left out, since compression_ratio is stated:\n# [engine.volumes]\n{lines}"))
}

/// Puts the moved table of volumetric efficiency in place of what `[breathing]` held.
fn put_breathing(document: &mut DocumentMut, moved: &Build) -> Result<(), Refusal> {
    let Breathing::Table { speed_rpm, volumetric_efficiency, spread, .. } = &moved.breathing else {
        return Err(not_a_section("breathing"));
    };
    let section = section_as_table(document, "breathing").ok_or_else(|| not_a_section("breathing"))?;
    // What the values go with stays as it stands.
    let kept = ["speed_rpm", "volumetric_efficiency", "spread_percent", "follows"];
    // The kind goes on to say what is usual for valves that are not stated.
    let kind = section.remove("kind");
    let others: Vec<String> =
        section.iter().map(|(key, _)| key.to_owned()).filter(|key| !kept.contains(&key.as_str())).collect();
    for key in &others {
        section.remove(key);
    }
    put(section, kept[0], numbers(speed_rpm));
    put(section, kept[1], numbers(volumetric_efficiency));
    if !others.is_empty()
        && let Some(mut first) = section.key_mut(kept[0])
    {
        first
            .leaf_decor_mut()
            .set_prefix(format!("# Set by `endgas live` in place of {}.\n", others.join(", ")));
    }
    let percent = (spread * 1.0e8).round() / 1.0e6;
    put(section, kept[2], percent.into());
    if let Some(kind) = kind {
        section.insert("kind", kind);
    }
    if !others.is_empty() {
        // The bench sheet or the kind of build may have given the flow coefficient, which pumping and gas exchange still need.
        let flow = moved.valves.mean_flow_coefficient;
        put(table(document, "valves")?, "mean_flow_coefficient", flow.into());
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::estimate::estimate;
    use crate::fuel::FuelLibrary;

    const SCENARIOS: [&str; 5] = [
        include_str!("../../scenarios/circuit-2400.toml"),
        include_str!("../../scenarios/street-2000.toml"),
        include_str!("../../scenarios/ported-four-1800.toml"),
        include_str!("../../scenarios/big-eight-6200.toml"),
        include_str!("../../scenarios/air-twin-1100.toml"),
    ];

    fn base(text: &str) -> Base {
        let read = scenario::read("test", text).unwrap();
        Base::new(read, text, FuelLibrary::shipped().unwrap()).unwrap()
    }

    /// Each saved file, run as the command line runs it, gives the numbers that the page shows.
    #[test]
    fn a_saved_file_gives_the_numbers_shown() {
        let library = FuelLibrary::shipped().unwrap();
        for text in SCENARIOS {
            let base = base(text);
            for query in [
                "",
                "compression_ratio=11.7",
                "fuel=e85&ethanol_percent=61",
                "fuel=euro-98&lambda=0.91&reserve_octane=2.5",
                "ve_band_position=-0.4&to_rpm=5900&measured_loss_percent=17",
                "air_temperature_c=38&relative_humidity_percent=71&pressure_kpa=93.4",
            ] {
                let setting = Setting::read(query).unwrap();
                let shown = base.sampled(&setting).unwrap();
                let saved = base.scenario_text(&setting).unwrap();
                let job = scenario::read("saved", &saved).unwrap().job(&library, 400, 1).unwrap();
                let found = estimate(&job).unwrap();
                let fuel = &found.fuels[0];
                assert_eq!(shown.peak_power.of, fuel.peak_power.wheel.into(), "{query}\n{saved}");
                for (shown, found) in shown.curve.iter().zip(&fuel.curve) {
                    assert_eq!(shown.wheel_power_kw, found.wheel_power_kw.into());
                    assert_eq!(shown.octane_margin.likely, found.octane_margin);
                    assert_eq!(shown.spark_deg_btdc, found.spark_deg_btdc);
                }
            }
        }
    }

    /// The pipes stay in a saved file, which computes them anew at its own ratio and rpm: within 1 % of the power shown.
    #[test]
    fn a_build_on_pipes_is_saved_with_its_pipes() {
        let (library, text) =
            (FuelLibrary::shipped().unwrap(), include_str!("../../scenarios/piped-four-2000.toml"));
        let base = base(text);
        assert_eq!(base.scenario_text(&Setting::default()).unwrap(), text);
        for query in ["compression_ratio=11.2", "fuel=e85&to_rpm=7500", "ve_band_position=0.5"] {
            let setting = Setting::read(query).unwrap();
            let shown = base.sampled(&setting).unwrap().peak_power.of.likely;
            let saved = base.scenario_text(&setting).unwrap();
            assert_eq!(saved.contains("\n[breathing.pipes]"), !query.contains("ve_band"), "{saved}");
            let job = scenario::read("saved", &saved).unwrap().job(&library, 400, 1).unwrap();
            let found = estimate(&job).unwrap().fuels[0].peak_power.wheel.likely;
            assert!((found / shown - 1.0).abs() < 0.01, "{query}: {found} {shown}");
        }
    }

    #[test]
    fn comments_stay_and_what_was_not_moved_is_the_loaded_text() {
        for text in SCENARIOS {
            assert_eq!(base(text).scenario_text(&Setting::default()).unwrap(), text);
        }
        let saved = base(SCENARIOS[0])
            .scenario_text(&Setting::read("compression_ratio=13&to_rpm=8000").unwrap())
            .unwrap();
        assert!(saved.starts_with("# Set by `endgas live`: compression_ratio = 13, to_rpm = 8000.\n"));
        let line = "compression_ratio = 13.0   # 6 to 18; or leave it out and give [engine.volumes], see street-2000.toml";
        assert!(saved.contains(line), "{saved}");
        let changed = saved.lines().filter(|line| !SCENARIOS[0].lines().any(|was| was == *line)).count();
        assert_eq!(changed, 3, "head, ratio and speed:\n{saved}");
    }

    #[test]
    fn a_moved_filling_says_what_it_replaces() {
        let saved =
            base(SCENARIOS[0]).scenario_text(&Setting::read("ve_band_position=0.5").unwrap()).unwrap();
        let told = "[breathing]\n# Set by `endgas live` in place of peak_torque_rpm, peak_power_rpm.\nspeed_rpm = [2500.0, ";
        assert!(saved.contains(told), "{saved}");
    }

    #[test]
    fn measured_volumes_are_kept_as_comments() {
        let saved =
            base(SCENARIOS[1]).scenario_text(&Setting::read("compression_ratio=10.5").unwrap()).unwrap();
        assert!(saved.contains("\n# [engine.volumes]\n"), "{saved}");
        assert!(saved.contains("# chamber_cc_by_cylinder = [46.0, 46.5, 46.1, 46.2]"), "{saved}");
    }
}
