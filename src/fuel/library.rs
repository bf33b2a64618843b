//! Fuels by name: those shipped with the program, and those in a folder of the user.

use crate::fuel::blend::SHARE_TOLERANCE;
use crate::fuel::checker::Checker;
use crate::fuel::component::{Component, ETHANOL};
use crate::fuel::error::{FuelError, Problem};
use crate::fuel::file::{BEST_POWER_LAMBDA, CONTENT_PERCENT, ComponentFile, FuelFile, PumpFile, read};
use crate::fuel::pump::{ContentRange, PumpFuel, Share, best_power_lambda};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;

macro_rules! shipped {
    ($($path:literal),* $(,)?) => {
        &[$(($path, include_str!(concat!("../../fuels/", $path)))),*]
    };
}

/// Name and text of every shipped fuel file.
const SHIPPED: &[(&str, &str)] = shipped![
    "components/base-euro-95.toml",
    "components/base-euro-98.toml",
    "components/base-premium-91.toml",
    "components/base-premium-93.toml",
    "components/base-regular.toml",
    "components/ethanol.toml",
    "components/isooctane.toml",
    "components/methanol.toml",
    "components/n-heptane.toml",
    "components/natural-gasoline.toml",
    "components/toluene.toml",
    "components/water.toml",
    "pump/e10.toml",
    "pump/e100.toml",
    "pump/e100-hydrous.toml",
    "pump/e30.toml",
    "pump/e85.toml",
    "pump/e85-summer.toml",
    "pump/e85-winter.toml",
    "pump/ethanol-denatured.toml",
    "pump/euro-95.toml",
    "pump/euro-98.toml",
    "pump/premium-91.toml",
    "pump/premium-93.toml",
    "pump/regular-87.toml",
];

/// Largest error of the sum of percentages in a recipe that is taken as rounding [%].
const PERCENT_TOLERANCE: f64 = 0.1;

/// Components and pump fuels by name.
#[derive(Clone, Debug, Default)]
pub struct FuelLibrary {
    components: BTreeMap<String, Arc<Component>>,
    pumps: BTreeMap<String, PumpFuel>,
    /// Pump fuels that a file of the user may stand in for: those shipped and not replaced yet.
    replaceable: BTreeSet<String>,
}

impl FuelLibrary {
    /// The fuels that come with the program.
    ///
    /// # Errors
    /// [`FuelError`] when a shipped file is wrong, which the tests rule out.
    ///
    /// # Example
    /// ```
    /// use endgas::fuel::FuelLibrary;
    /// let tank = FuelLibrary::shipped()?.resolve("premium-91 70 % + e85 30 %")?;
    /// assert!((tank.ethanol.likely - 0.292).abs() < 1e-12);
    /// # Ok::<(), endgas::fuel::FuelError>(())
    /// ```
    pub fn shipped() -> Result<Self, FuelError> {
        let mut library = Self::default();
        library.add(SHIPPED.iter().map(|(file, text)| ((*file).to_owned(), (*text).to_owned())))?;
        library.replaceable = library.pumps.keys().cloned().collect();
        Ok(library)
    }

    /// This library with the fuel files (`*.toml`) of a folder added.
    ///
    /// # Errors
    /// [`FuelError::Read`] when the folder or a file cannot be read, [`FuelError::Syntax`] or
    /// [`FuelError::Invalid`] for the first file that is wrong, with every problem in it. A name
    /// that is taken already is such a problem, unless the file says that it replaces the shipped
    /// pump fuel of that name: none is replaced silently.
    pub fn with_user_folder(self, folder: &Path) -> Result<Self, FuelError> {
        let failed = |path: &Path| {
            let path = path.to_owned();
            move |source| FuelError::Read { path, source }
        };
        let mut paths = Vec::new();
        for entry in std::fs::read_dir(folder).map_err(failed(folder))? {
            let path = entry.map_err(failed(folder))?.path();
            if path.extension().is_some_and(|e| e == "toml") {
                paths.push(path);
            }
        }
        paths.sort();
        let mut files = Vec::new();
        for path in paths {
            let text = std::fs::read_to_string(&path).map_err(failed(&path))?;
            files.push((path.display().to_string(), text));
        }
        self.with_files(files)
    }

    /// This library with fuel files added.
    ///
    /// # Arguments
    /// - `files`: what each file is called in messages, and its text
    ///
    /// # Errors
    /// As [`Self::with_user_folder`], but for reading.
    pub fn with_files(
        mut self,
        files: impl IntoIterator<Item = (String, String)>,
    ) -> Result<Self, FuelError> {
        self.add(files.into_iter())?;
        Ok(self)
    }

    /// The fuel of a name or a recipe by volume.
    ///
    /// A recipe is a sum of names with percentages, in either order and with blanks as you like:
    /// `premium-91 70 % + e85 30 %`, `70% premium-91 + 30% ethanol`. The percentages add to 100
    /// within 0.1. A component (`ethanol`, `toluene`) can stand wherever a fuel can.
    ///
    /// # Errors
    /// [`FuelError::Unknown`] with the nearest names, [`FuelError::Recipe`] for a term that cannot
    /// be read, [`FuelError::RecipeSum`] when the percentages do not add to 100.
    pub fn resolve(&self, spec: &str) -> Result<PumpFuel, FuelError> {
        if !spec.contains(['%', '+']) {
            return self.named(spec.trim());
        }
        let mut shares: Vec<(PumpFuel, f64)> = Vec::new();
        for term in spec.split('+') {
            let (name, percent) = read_term(term).ok_or_else(|| FuelError::Recipe {
                recipe: spec.trim().to_owned(),
                term: term.trim().to_owned(),
            })?;
            shares.push((self.named(name)?, percent));
        }
        let sum_percent: f64 = shares.iter().map(|(_, percent)| percent).sum();
        if (sum_percent - 100.0).abs() > PERCENT_TOLERANCE + 1e-9 {
            return Err(FuelError::RecipeSum { recipe: spec.trim().to_owned(), sum_percent });
        }
        let name = shares.iter().map(|(f, p)| format!("{} {p} %", f.name)).collect::<Vec<_>>().join(" + ");
        let shares: Vec<(&PumpFuel, f64)> = shares.iter().map(|(f, p)| (f, p / sum_percent)).collect();
        PumpFuel::mixed(&name, &shares)
    }

    /// Names of the pump fuels, sorted.
    pub fn names(&self) -> Vec<&str> {
        self.pumps.keys().map(String::as_str).collect()
    }

    /// Names of the components, sorted.
    pub fn component_names(&self) -> Vec<&str> {
        self.components.keys().map(String::as_str).collect()
    }

    /// A component by its name.
    pub fn component(&self, name: &str) -> Option<&Component> {
        self.components.get(name).map(Arc::as_ref)
    }

    fn named(&self, name: &str) -> Result<PumpFuel, FuelError> {
        let name = name.to_ascii_lowercase();
        if let Some(fuel) = self.pumps.get(&name) {
            return Ok(fuel.clone());
        }
        match self.components.get(&name) {
            Some(component) => Ok(PumpFuel::pure(component, self.ethanol()?)),
            None => {
                let known = self.pumps.keys().chain(self.components.keys());
                Err(FuelError::Unknown { nearest: nearest(&name, known), name })
            }
        }
    }

    fn ethanol(&self) -> Result<Arc<Component>, FuelError> {
        self.components
            .get(ETHANOL)
            .cloned()
            .ok_or_else(|| FuelError::Unknown { name: ETHANOL.to_owned(), nearest: Vec::new() })
    }

    /// Adds files: components first (those of stated vapour before those with a surrogate), then
    /// pump fuels, so that the order of the files does not matter.
    fn add(&mut self, files: impl Iterator<Item = (String, String)>) -> Result<(), FuelError> {
        let (mut pure, mut mixed, mut pumps) = (Vec::new(), Vec::new(), Vec::new());
        for (file, text) in files {
            match read(&file, &text)? {
                FuelFile::Component(c) if c.needs_others() => mixed.push((file, *c)),
                FuelFile::Component(c) => pure.push((file, *c)),
                FuelFile::Pump(p) => pumps.push((file, *p)),
            }
        }
        for (file, component) in pure.into_iter().chain(mixed) {
            self.add_component(&file, component)?;
        }
        for (file, pump) in pumps {
            self.add_pump(&file, pump)?;
        }
        Ok(())
    }

    fn add_component(&mut self, file: &str, component: ComponentFile) -> Result<(), FuelError> {
        let mut check = Checker::default();
        self.check_free(&component.name, &mut check);
        let component = component.check(|key, name| self.find(key, name).map(Arc::as_ref), &mut check);
        let component = check.finish(file, component)?;
        self.components.insert(component.name.clone(), Arc::new(component));
        Ok(())
    }

    fn add_pump(&mut self, file: &str, pump: PumpFile) -> Result<(), FuelError> {
        let mut check = Checker::default();
        check.name(&pump.name);
        self.check_replacing(&pump, &mut check);
        let ethanol = checked_content(&pump, &mut check);
        let base = self.checked_base(&pump, &mut check);
        if let Some(lambda) = pump.best_power_lambda {
            check.range("best_power_lambda", lambda, BEST_POWER_LAMBDA);
        }
        let said = check.words("ethanol.source", &pump.ethanol.source);
        let mut sources = vec![format!("{}: ethanol content: {said}", pump.name)];
        if let Some(base) = &pump.base {
            sources.push(format!("{}: base: {}", pump.name, check.words("base.source", &base.source)));
        }
        let fuel = PumpFuel {
            name: pump.name,
            title: check.words("title", &pump.title),
            base,
            best_power_lambda: pump.best_power_lambda.unwrap_or(best_power_lambda(ethanol.likely)),
            ethanol,
            sources,
            ethanol_component: self.ethanol()?,
        };
        let fuel = check.finish(file, fuel)?;
        self.replaceable.remove(&fuel.name);
        self.pumps.insert(fuel.name.clone(), fuel);
        Ok(())
    }

    fn checked_base(&self, pump: &PumpFile, check: &mut Checker) -> Vec<Share> {
        let Some(table) = &pump.base else {
            check.range(
                "ethanol.low_vol_percent (without [base])",
                pump.ethanol.low_vol_percent,
                100.0..=100.0,
            );
            return Vec::new();
        };
        check.shares("base.parts", &table.parts);
        let total: f64 = table.parts.values().sum();
        let mut base = Vec::new();
        for (name, share) in &table.parts {
            match self.find("base.parts", name) {
                Ok(c) if c.name == ETHANOL => check.problems.push(Problem::NotAllowedHere {
                    key: "base.parts".to_owned(),
                    name: name.clone(),
                    why: "state it under [ethanol]",
                }),
                Ok(c) => base.push(Share { component: Arc::clone(c), vol_frac: share / total }),
                Err(problem) => check.problems.push(problem),
            }
        }
        base
    }

    fn find(&self, key: &str, name: &str) -> Result<&Arc<Component>, Problem> {
        self.components.get(name).ok_or_else(|| Problem::UnknownComponent {
            key: key.to_owned(),
            name: name.to_owned(),
            nearest: nearest(name, self.components.keys()),
        })
    }

    /// A pump fuel takes a free name, or says that it replaces the shipped fuel of its name.
    fn check_replacing(&self, pump: &PumpFile, check: &mut Checker) {
        let name = &pump.name;
        match &pump.replaces {
            None if self.replaceable.contains(name) => {
                check.problems.push(Problem::ShippedPump { name: name.clone() });
            }
            None => self.check_free(name, check),
            Some(replaces) if replaces != name => {
                check
                    .problems
                    .push(Problem::ReplacesOther { name: name.clone(), replaces: replaces.clone() });
            }
            Some(_) if self.replaceable.contains(name) => {}
            // Replaced by another file of the folder.
            Some(_) if self.pumps.contains_key(name) => {
                check.problems.push(Problem::NameTaken { name: name.clone() });
            }
            Some(_) => check.problems.push(Problem::ReplacesNothing { name: name.clone() }),
        }
    }

    fn check_free(&self, name: &str, check: &mut Checker) {
        if self.pumps.contains_key(name) || self.components.contains_key(name) {
            check.problems.push(Problem::NameTaken { name: name.to_owned() });
        }
    }
}

fn checked_content(pump: &PumpFile, check: &mut Checker) -> ContentRange {
    let table = &pump.ethanol;
    let mut frac = |key: &str, percent| check.range(key, percent, CONTENT_PERCENT) / 100.0;
    let range = ContentRange {
        low: frac("ethanol.low_vol_percent", table.low_vol_percent),
        likely: frac("ethanol.likely_vol_percent", table.likely_vol_percent),
        high: frac("ethanol.high_vol_percent", table.high_vol_percent),
    };
    if range.low > range.likely || range.likely > range.high {
        check.problems.push(Problem::Order { key: "ethanol".to_owned() });
    }
    range
}

/// Name and percentage of one term of a recipe, in either order.
fn read_term(term: &str) -> Option<(&str, f64)> {
    let (before, after) = term.split_once('%')?;
    let (before, after) = (before.trim(), after.trim());
    let (name, number) = match after.is_empty() {
        false => (after, before),
        true => before.rsplit_once(char::is_whitespace)?,
    };
    let percent: f64 = number.trim().parse().ok()?;
    let name = name.trim();
    let fits = percent.is_finite() && (0.0..=100.0 + 100.0 * SHARE_TOLERANCE).contains(&percent);
    (fits && !name.is_empty() && !name.contains([' ', '\t', '%'])).then_some((name, percent))
}

/// At most three known names that look like the one given, best first.
fn nearest<'a>(name: &str, known: impl Iterator<Item = &'a String>) -> Vec<String> {
    let mut scored: Vec<(f64, &String)> =
        known.map(|k| (strsim::jaro_winkler(name, k), k)).filter(|(score, _)| *score > 0.75).collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(b.1)));
    scored.into_iter().take(3).map(|(_, k)| k.clone()).collect()
}
