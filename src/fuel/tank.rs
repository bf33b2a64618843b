//! What a tank holds after filling up, and how much to add for a wanted ethanol content.

use crate::fuel::error::FuelError;
use crate::fuel::pump::PumpFuel;

/// Difference of contents by volume that is rounding [-].
const CONTENT_ROUNDING: f64 = 1e-9;

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
///
/// # Example
/// ```
/// use endgas::fuel::FuelLibrary;
/// use endgas::fuel::tank::{Fill, mix};
/// let library = FuelLibrary::shipped()?;
/// let fill = |name, litres: f64| Ok(Fill { fuel: library.resolve(name)?, volume_m3: litres / 1000.0 });
/// let tank = mix("tank", &[fill("e85", 20.0)?, fill("premium-91", 30.0)?])?;
/// // Hand check: (20 x 74 % + 30 x 10 %) / 50.
/// assert!((tank.ethanol.likely - 0.356).abs() < 1e-9);
/// # Ok::<(), endgas::fuel::FuelError>(())
/// ```
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
/// [`FuelError::EthanolContent`] when the target content does not lie between that of the tank
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
    // A content worked out from volumes is rarely the wanted one to the last digit.
    let is_there = (wanted_content - tank_content).abs() < CONTENT_ROUNDING;
    let added_m3 = if is_there {
        0.0
    } else {
        tank_volume_m3 * (wanted_content - tank_content) / (added_content - wanted_content)
    };
    let in_range = is_there || (low..=high).contains(&wanted_content);
    let possible = in_range && added_m3.is_finite() && added_m3 >= 0.0;
    if possible {
        Ok(added_m3)
    } else {
        Err(FuelError::EthanolContent { fuel: "tank".to_owned(), value: wanted_content, low, high })
    }
}

/// What to add to a tank, and what it then holds.
#[derive(Clone, Debug, PartialEq)]
pub struct TopUp {
    /// Volume in the tank before [m3].
    pub tank_volume_m3: f64,
    /// Ethanol in the tank before, likely, by volume [-].
    pub tank_content: f64,
    /// The fuel to add and how much of it.
    pub added: Fill,
    /// The fuel in the tank afterwards.
    pub fuel: PumpFuel,
}

/// How much of a fuel to add so that the likely ethanol content comes to a wanted one.
///
/// # Arguments
/// - `tank`: what is in the tank; must not be empty
/// - `added`: the fuel to add
/// - `wanted_content`: ethanol by volume [-], 0 to 1
/// - `tank_size_m3`: volume that the tank holds [m3], when it sets a limit
///
/// # Errors
/// [`FuelError::Unreachable`] with the range that can be reached, [`FuelError::Overfull`], else as [`mix`].
pub fn top_up(
    tank: &[Fill],
    added: &PumpFuel,
    wanted_content: f64,
    tank_size_m3: Option<f64>,
) -> Result<TopUp, FuelError> {
    let volume_m3: f64 = tank.iter().map(|f| f.volume_m3).sum();
    let before = mix("tank", tank)?;
    let (content, rich) = (before.ethanol.likely, added.ethanol.likely);
    // Filled to the brim; without a size the added fuel can outweigh all else.
    let furthest = match tank_size_m3 {
        Some(size) if size < volume_m3 => {
            return Err(FuelError::Overfull { volume_l: volume_m3 * 1e3, tank_l: size * 1e3 });
        }
        Some(size) => (content * volume_m3 + rich * (size - volume_m3)) / size,
        None => rich,
    };
    let unreachable = || FuelError::Unreachable {
        wanted_percent: 100.0 * wanted_content,
        added: added.name.clone(),
        tank_percent: 100.0 * content,
        low_percent: 100.0 * content.min(furthest),
        high_percent: 100.0 * content.max(furthest),
        full: tank_size_m3.is_some(),
    };
    let add_m3 = volume_to_add_m3(volume_m3, content, rich, wanted_content).map_err(|_| unreachable())?;
    if tank_size_m3.is_some_and(|size| volume_m3 + add_m3 > size * (1.0 + 1e-9)) {
        return Err(unreachable());
    }
    let added = Fill { fuel: added.clone(), volume_m3: add_m3 };
    let fuel = mix("tank", &[tank, std::slice::from_ref(&added)].concat())?;
    Ok(TopUp { tank_volume_m3: volume_m3, tank_content: content, added, fuel })
}
