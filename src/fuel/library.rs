//! Fuels by name: those shipped with the program, and those in a folder of the user.

use crate::fuel::blend::SHARE_TOLERANCE;
use crate::fuel::component::{Component, ETHANOL};
use crate::fuel::error::FuelError;
use crate::fuel::file::{FuelFile, Stage, read};
use crate::fuel::guess::{Guess, guess};
use crate::fuel::pump::PumpFuel;
use crate::fuel::shelf::Shelf;
use crate::input::{Diagnostics, utf8};
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
    shelf: Shelf,
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
        library.shelf.replaceable = library.shelf.pumps.keys().cloned().collect();
        Ok(library)
    }

    /// This library with the fuel files (`*.toml`) of a folder added.
    ///
    /// # Errors
    /// [`FuelError::Read`] when the folder or a file cannot be read, [`FuelError::Files`] with every
    /// problem of every file; files that may rest on a wrong one are not looked at. A name that is taken
    /// already is such a problem, unless the file says that it replaces the shipped pump fuel of that
    /// name: none is replaced silently.
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
            let text = std::fs::read(&path).and_then(utf8).map_err(failed(&path))?;
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
    /// within 0.1. A component (`ethanol`, `toluene`) can stand wherever a fuel can. A gasoline is also found by what its pump shows,
    /// where one alone has it: `93`, `98 RON`, `93 octane`.
    ///
    /// # Errors
    /// [`FuelError::Unknown`] with the nearest names, [`FuelError::Recipe`] for a term that cannot
    /// be read, [`FuelError::RecipeSum`] when the percentages do not add to 100.
    ///
    /// # Example
    /// ```
    /// use endgas::fuel::FuelLibrary;
    /// let blend = FuelLibrary::shipped()?.resolve("70 % premium-91 + 30 % ethanol")?.blend()?;
    /// assert!((blend.ethanol_vol_frac - 0.37).abs() < 1e-9);
    /// assert!(blend.octane.ron > 98.0);
    /// # Ok::<(), endgas::fuel::FuelError>(())
    /// ```
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

    /// The fuel of a name or recipe that burns; see [`Self::resolve`].
    ///
    /// # Errors
    /// As [`Self::resolve`]; and those of its blend, for pure water is a name, but no fuel.
    pub fn burnable(&self, spec: &str) -> Result<PumpFuel, FuelError> {
        let fuel = self.resolve(spec)?;
        fuel.blend().map(|_| fuel)
    }

    /// Names of the pump fuels, sorted.
    pub fn names(&self) -> Vec<&str> {
        self.shelf.pumps.keys().map(String::as_str).collect()
    }

    /// Names of the components, sorted.
    pub fn component_names(&self) -> Vec<&str> {
        self.shelf.components.keys().map(String::as_str).collect()
    }

    /// A component by its name.
    pub fn component(&self, name: &str) -> Option<&Component> {
        self.shelf.components.get(name).map(Arc::as_ref)
    }

    fn named(&self, name: &str) -> Result<PumpFuel, FuelError> {
        let name = name.to_ascii_lowercase();
        if let Some(fuel) = self.shelf.pumps.get(&name) {
            return Ok(fuel.clone());
        }
        match self.shelf.components.get(&name) {
            Some(component) => Ok(PumpFuel::pure(component, self.ethanol()?)),
            None => match guess(&name, &self.shelf) {
                Some(Guess::Fuel(meant)) => self.named(&meant),
                Some(Guess::Proposals(nearest)) => Err(FuelError::Unknown { nearest, name }),
                None => {
                    let known = self.shelf.pumps.keys().chain(self.shelf.components.keys());
                    Err(FuelError::Unknown { nearest: nearest(&name, known), name })
                }
            },
        }
    }

    fn ethanol(&self) -> Result<Arc<Component>, FuelError> {
        self.shelf
            .components
            .get(ETHANOL)
            .cloned()
            .ok_or_else(|| FuelError::Unknown { name: ETHANOL.to_owned(), nearest: Vec::new() })
    }

    /// Adds files, each after those on which it may rest, so that their order does not matter.
    fn add(&mut self, files: impl Iterator<Item = (String, String)>) -> Result<(), FuelError> {
        let mut files: Vec<_> = files.map(|(file, text)| (Stage::of(&text), file, text)).collect();
        files.sort_by_key(|(stage, ..)| *stage);
        // What rests on a wrong file would be told wrong for that alone.
        for of_stage in files.chunk_by(|a, b| a.0 == b.0) {
            let mut problems = Vec::new();
            for (stage, file, text) in of_stage {
                match read(file, text, *stage, &self.shelf) {
                    Ok(FuelFile::Component(one)) => {
                        self.shelf.components.insert(one.name.clone(), Arc::new(*one));
                    }
                    Ok(FuelFile::Pump(fuel)) => {
                        self.shelf.replaceable.remove(&fuel.name);
                        self.shelf.pumps.insert(fuel.name.clone(), *fuel);
                    }
                    Err(Diagnostics(found)) => problems.extend(found),
                }
            }
            if !problems.is_empty() {
                return Err(FuelError::Files { problems: Diagnostics(problems) });
            }
        }
        Ok(())
    }
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
