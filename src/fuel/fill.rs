//! Volumes of fuel as typed: `20 L e85`, `5.5 gal e85 at 71 %`.

use crate::fuel::error::FuelError;
use crate::fuel::library::FuelLibrary;
use crate::fuel::pump::{ContentRange, PumpFuel};
use crate::fuel::tank::Fill;
use crate::units::{Unit, split_number};

/// Largest volume taken [m3]: a road tanker; more is a slip.
const LARGEST_M3: f64 = 50.0;

impl FuelLibrary {
    /// A volume of a fuel: `20 L e85`, `5 gal premium-91`, with a measured content `20 L e85 at 71 %`.
    ///
    /// # Errors
    /// [`FuelError::Fill`] for text that cannot be read, else as [`Self::measured`].
    pub fn fill(&self, text: &str) -> Result<Fill, FuelError> {
        let (volume_m3, rest) = split_volume(text)?;
        if rest.is_empty() {
            return Err(unreadable(text));
        }
        Ok(Fill { fuel: self.measured(rest)?, volume_m3 })
    }

    /// A fuel or recipe, with a measured ethanol content where one is given: `e85`, `e85 at 71 %`.
    ///
    /// # Errors
    /// [`FuelError::Fill`] for a content that cannot be read, [`FuelError::EthanolContent`] for one that
    /// the fuel cannot have, [`FuelError::NotPositive`] for water, else as [`Self::resolve`].
    pub fn measured(&self, text: &str) -> Result<PumpFuel, FuelError> {
        let Some((spec, content)) = text.rsplit_once(" at ") else {
            return self.burnable(text);
        };
        let content = read_percent(content).ok_or_else(|| unreadable(text))?;
        let fuel = self.resolve(spec)?;
        fuel.blend_at(content)?;
        Ok(PumpFuel { ethanol: ContentRange::known(content), ..fuel })
    }
}

/// A volume as typed, `60 L` or `16 gal` [m3].
///
/// # Errors
/// [`FuelError::Fill`] when it is not a number with a unit, or not from 0 to 50 m3.
pub fn read_volume_m3(text: &str) -> Result<f64, FuelError> {
    match split_volume(text)? {
        (volume_m3, "") => Ok(volume_m3),
        _ => Err(unreadable(text)),
    }
}

/// A percentage as typed, `50`, `50%` or `50 %`, as a fraction [-].
pub fn read_percent(text: &str) -> Option<f64> {
    let percent: f64 = text.trim().trim_end_matches('%').trim_end().parse().ok()?;
    (0.0..=100.0).contains(&percent).then_some(percent / 100.0)
}

/// The volume at the head of a text [m3], and the rest of it.
fn split_volume(text: &str) -> Result<(f64, &str), FuelError> {
    let (number, rest) = split_number(text);
    let (unit, rest) = rest.split_at(rest.find(char::is_whitespace).unwrap_or(rest.len()));
    let unit = Unit::spelled(unit, &[Unit::Litre, Unit::UsGallon]).ok_or_else(|| unreadable(text))?;
    let volume_m3 = unit.to_si(number.parse().map_err(|_| unreadable(text))?);
    if !(volume_m3 > 0.0 && volume_m3 <= LARGEST_M3) {
        return Err(unreadable(text));
    }
    Ok((volume_m3, rest.trim()))
}

fn unreadable(text: &str) -> FuelError {
    FuelError::Fill { text: text.trim().to_owned() }
}
