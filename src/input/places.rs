//! Where the keys of a file stand, for what only shows once its values are run together.

use super::notes::{Notes, join};
use super::section::without_unit;
use std::collections::BTreeMap;
use toml::de::DeTable;

/// The keys and sections of a file, each with its line and its value.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Places {
    file: String,
    /// By dotted path: the line, from 1, and the value, shortened; a section has none.
    keys: BTreeMap<String, (usize, Option<String>)>,
}

impl Places {
    /// Those of a whole document.
    pub(super) fn of(notes: &Notes<'_>, file: &str, root: Option<&DeTable<'_>>) -> Self {
        let mut places = Self { file: file.to_owned(), keys: BTreeMap::new() };
        if let Some(root) = root {
            places.learn(notes, "", root);
        }
        places
    }

    fn learn(&mut self, notes: &Notes<'_>, section: &str, table: &DeTable<'_>) {
        for (key, value) in table {
            let path = join(section, key.get_ref());
            let line = notes.line(key.span().start);
            let inner = value.get_ref().as_table();
            let said = inner.is_none().then(|| notes.quote(value.span()));
            self.keys.insert(path.clone(), (line, said));
            inner.into_iter().for_each(|inner| self.learn(notes, &path, inner));
        }
    }

    /// File, line, key and value as messages have them, such as `build.toml:71: speed.to_rpm = 9000`; none where the key is not
    /// given.
    ///
    /// # Arguments
    /// - `path`: dotted path of a key, by its name or by that without its unit, or of a section
    pub fn said(&self, path: &str) -> Option<String> {
        let short = || without_unit(path).and_then(|short| self.keys.get_key_value(short));
        let (path, (line, value)) = self.keys.get_key_value(path).or_else(short)?;
        Some(match value {
            Some(value) => format!("{}:{line}: {path} = {value}", self.file),
            None => format!("{}:{line}: [{path}]", self.file),
        })
    }

    /// The first of some keys that is given; the file alone where none is.
    pub fn first_said(&self, paths: &[&str]) -> String {
        paths.iter().find_map(|path| self.said(path)).unwrap_or_else(|| self.file.clone())
    }
}

#[cfg(test)]
mod tests {
    use crate::input::read;

    /// HAND: lines counted by eye.
    #[test]
    fn a_key_is_said_with_file_line_and_value() {
        let text =
            "[speed]\nfrom = \"500 rpm\"\nto_rpm = 9_000 # last\n\n[choose.service]\nheat_soak_c = 40\n";
        let places = read("a.toml", text, |root| {
            let places = root.places("a.toml");
            root.sub("speed", true, |s| {
                let allowed = crate::units::stated::ENGINE_SPEED;
                (s.number("from_rpm", allowed), s.number("to_rpm", allowed))
            });
            root.sub("choose", false, |s| {
                let allowed = crate::units::Unit::CelsiusStep.of(0.0..=40.0);
                s.sub("service", false, |s| s.number("heat_soak_c", allowed))
            });
            Some(places)
        })
        .unwrap();
        let said = |path| places.said(path);
        assert_eq!(said("speed.to_rpm").as_deref(), Some("a.toml:3: speed.to_rpm = 9_000"));
        assert_eq!(said("speed.from_rpm").as_deref(), Some("a.toml:2: speed.from = \"500 rpm\""));
        assert_eq!(said("speed").as_deref(), Some("a.toml:1: [speed]"));
        assert_eq!(
            said("choose.service.heat_soak_c").as_deref(),
            Some("a.toml:6: choose.service.heat_soak_c = 40")
        );
        assert_eq!(said("speed.step_rpm"), None);
        assert_eq!(places.first_said(&["speed.step_rpm", "speed"]), "a.toml:1: [speed]");
        assert_eq!(places.first_said(&["fuels.run"]), "a.toml");
    }
}
