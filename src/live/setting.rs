//! What was moved, read from a query.

use super::control::{CONTROLS, Control};
use super::refusal::Refusal;

/// The key of the fuel, which is a word and not a number.
pub(super) const FUEL: &str = "fuel";

/// What was moved away from the scenario as loaded; nothing is by default.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Setting {
    /// Fuel whose base is burned, by name or recipe.
    pub fuel: Option<String>,
    values: [Option<f64>; CONTROLS],
}

impl Setting {
    /// Reads a query, `key=value` joined by `&`, percent-encoded.
    ///
    /// Numbers must be finite and within the range of their key; whether the whole runs is found by
    /// [`super::Base::job`].
    ///
    /// # Errors
    /// [`Refusal`] for the first key that is unknown or stands twice, or whose value is no number or out of range.
    pub fn read(query: &str) -> Result<Self, Refusal> {
        let mut setting = Self::default();
        for (key, value) in form_urlencoded::parse(query.as_bytes()) {
            let twice = || Refusal::new(&key, &value, "it is given twice; give it once");
            if key == FUEL {
                if setting.fuel.replace(value.to_string()).is_some() {
                    return Err(twice());
                }
                continue;
            }
            let control = Control::of_key(&key).ok_or_else(|| {
                let known: Vec<&str> =
                    [FUEL].into_iter().chain(Control::ALL.into_iter().map(Control::key)).collect();
                Refusal::new(&key, &value, format!("no such key; known are {}", known.join(", ")))
            })?;
            let number: Option<f64> = value.trim().parse().ok();
            let range = control.facts().allowed.range();
            let number = number
                .filter(|number| range.contains(number))
                .ok_or_else(|| Refusal::out_of(control, &value, &range))?;
            if setting.values[control as usize].replace(number).is_some() {
                return Err(twice());
            }
        }
        Ok(setting)
    }

    /// The number a control was moved to, in the unit of its key.
    pub fn get(&self, control: Control) -> Option<f64> {
        self.values[control as usize]
    }

    /// The same in the unit used inside.
    pub(super) fn si(&self, control: Control) -> Option<f64> {
        self.get(control).map(|value| control.facts().allowed.unit.to_si(value))
    }

    /// This setting with a control moved.
    ///
    /// # Errors
    /// [`Refusal`] when the value is not in the range of its key.
    pub fn with(mut self, control: Control, value: f64) -> Result<Self, Refusal> {
        let moved = Self::read(&format!("{}={value}", control.key()))?;
        self.values[control as usize] = moved.get(control);
        Ok(self)
    }

    /// This setting, with another one standing in for what it leaves unmoved.
    pub(super) fn over(&self, preset: &Self) -> Self {
        Self {
            fuel: self.fuel.clone().or_else(|| preset.fuel.clone()),
            values: std::array::from_fn(|i| self.values[i].or(preset.values[i])),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_query_is_read() {
        let read = Setting::read("compression_ratio=13.25&fuel=premium-91+70+%25+%2B+e85+30+%25&lambda=0.9")
            .unwrap();
        assert_eq!(read.get(Control::CompressionRatio), Some(13.25));
        assert_eq!(read.get(Control::Lambda), Some(0.9));
        assert_eq!(read.get(Control::Pressure), None);
        assert_eq!(read.fuel.as_deref(), Some("premium-91 70 % + e85 30 %"));
        assert_eq!(Setting::read("").unwrap(), Setting::default());
        assert_eq!(Setting::read("&&").unwrap(), Setting::default());
    }

    #[test]
    fn a_wrong_query_is_told_with_key_value_and_range() {
        for (query, key, value, allowed) in [
            ("compression_ratio=5.9", "compression_ratio", "5.9", "it takes a number from 6 to 18"),
            ("compression_ratio=18.01", "compression_ratio", "18.01", "it takes a number from 6 to 18"),
            ("lambda=NaN", "lambda", "NaN", "it takes a number from 0.7 to 1.3"),
            ("lambda=inf", "lambda", "inf", "it takes a number from 0.7 to 1.3"),
            ("pressure_kpa=", "pressure_kpa", "", "it takes a number from 50 to 110 kPa"),
            ("air_temperature_c=hot", "air_temperature_c", "hot", "it takes a number from -20 to 50 C"),
            ("to_rpm=1e9", "to_rpm", "1e9", "it takes a number from 500 to 15000 rpm"),
            ("ve_band_position=-1.5", "ve_band_position", "-1.5", "it takes a number from -1 to 1"),
            ("fuel=e85&fuel=e30", "fuel", "e30", "it is given twice"),
            ("lambda=0.9&lambda=0.9", "lambda", "0.9", "it is given twice"),
            ("boost=2", "boost", "2", "no such key; known are fuel, compression_ratio"),
        ] {
            let refused = Setting::read(query).unwrap_err();
            assert_eq!((refused.key.as_str(), refused.value.as_str()), (key, value), "{query}");
            assert!(refused.allowed.starts_with(allowed), "{query}: {}", refused.allowed);
        }
    }

    #[test]
    fn every_key_is_its_own_and_every_bound_is_allowed() {
        for control in Control::ALL {
            let range = control.facts().allowed.range();
            for bound in [range.start(), range.end()] {
                let read = Setting::default().with(control, *bound).unwrap();
                assert_eq!(read.get(control), Some(*bound));
            }
            assert!(Setting::default().with(control, range.end() + 0.01).is_err());
            assert_eq!(Control::of_key(control.key()), Some(control));
        }
    }
}
