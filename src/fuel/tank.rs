//! What a tank holds after filling up, and how much to add for a wanted ethanol content.

use crate::fuel::error::FuelError;
use crate::fuel::pump::PumpFuel;

/// A volume of one fuel.
#[derive(Clone, Debug, PartialEq)]
pub struct Fill {
    /// The fuel.
    pub fuel: PumpFuel,
    /// Its volume [m3], 0 or more; volumes add.
    pub volume_m3: f64,
}

/// The fuel in a tank into which several fuels were filled.
///
/// # Errors
/// [`FuelError::Share`] for a volume that is negative or not a number, [`FuelError::Empty`] when
/// nothing was filled in.
pub fn mix(name: &str, fills: &[Fill]) -> Result<PumpFuel, FuelError> {
    for fill in fills {
        if !(fill.volume_m3.is_finite() && fill.volume_m3 >= 0.0) {
            return Err(FuelError::Share {
                blend: name.to_owned(),
                part: fill.fuel.name.clone(),
                value: fill.volume_m3,
            });
        }
    }
    let total_m3: f64 = fills.iter().map(|f| f.volume_m3).sum();
    let shares: Vec<(&PumpFuel, f64)> =
        fills.iter().filter(|f| f.volume_m3 > 0.0).map(|f| (&f.fuel, f.volume_m3 / total_m3)).collect();
    PumpFuel::mixed(name, &shares)
}

/// Volume to add to a tank so that it comes to a wanted ethanol content [m3].
///
/// V = tank (wanted - in tank) / (added - wanted), volumes adding. All contents by volume, 0 to 1.
///
/// # Errors
/// [`FuelError::EthanolContent`] when the wanted content does not lie between that of the tank
/// (included) and that of the added fuel (excluded), or a value is not a number.
///
/// # Example
/// Hand check: 20 L of E10 and 20 (0.30 - 0.10)/(0.74 - 0.30) = 9.09 L of E74 make 29.09 L of E30.
/// ```
/// let litres = 1000.0 * endgas::fuel::tank::volume_to_add_m3(0.020, 0.10, 0.74, 0.30)?;
/// assert!((litres - 9.0909).abs() < 1e-3);
/// # Ok::<(), endgas::fuel::FuelError>(())
/// ```
pub fn volume_to_add_m3(
    tank_volume_m3: f64,
    tank_content: f64,
    added_content: f64,
    wanted_content: f64,
) -> Result<f64, FuelError> {
    let (low, high) = (tank_content.min(added_content), tank_content.max(added_content));
    let added_m3 = if wanted_content == tank_content {
        0.0
    } else {
        tank_volume_m3 * (wanted_content - tank_content) / (added_content - wanted_content)
    };
    let possible = (low..=high).contains(&wanted_content) && added_m3.is_finite() && added_m3 >= 0.0;
    if possible {
        Ok(added_m3)
    } else {
        Err(FuelError::EthanolContent { fuel: "tank".to_owned(), value: wanted_content, low, high })
    }
}
