//! Fuel-air Otto cycles computed by others beside those of the gas layer, as rows of `thermo/D_fuel_air_otto.csv`.

use super::tables::{Row, relative};
use endgas::gas::mixture::{FreshMixture, FuelVapour};
use endgas::gas::otto::fuel_air_otto;
use std::collections::HashMap;
use std::ops::RangeInclusive;

/// What is compared, with how far it may be off: temperatures [K], the rest as a share.
pub const BOUNDS: [(&str, f64); 6] =
    [("T2 [K]", 0.02), ("T3 [K]", 0.05), ("T4 [K]", 0.05), ("p3", 2e-5), ("work", 5e-5), ("imep", 5e-5)];

/// How far the cycle of a row is off, in the order of [`BOUNDS`].
///
/// # Errors
/// Words naming file, line and column, or what the gas layer says.
pub fn errors(row: &Row, fuels: &HashMap<String, FuelVapour>) -> Result<[f64; 6], String> {
    const ABOVE_NOTHING: RangeInclusive<f64> = f64::MIN_POSITIVE..=1e9;
    let fuel = fuels.get(row.read_text("fuel")?);
    let fuel = fuel.ok_or_else(|| row.wrong("fuel", "is no fuel of fuels.csv"))?;
    let fresh = FreshMixture::new(*fuel, 1.0 / row.read_number("phi", 0.5..=1.6)?, 0.0);
    let otto = fuel_air_otto(
        &fresh,
        row.read_number("residual_mass_frac", 0.0..=0.3)?,
        row.read_number("T1_K", 280.0..=450.0)?,
        row.read_number("p1_bar", 0.1..=10.0)? * 1e5,
        row.read_number("cr", 2.0..=30.0)?,
    )
    .map_err(|error| row.wrong("cr", &format!("gives no cycle: {error}")))?;
    let wanted = |column| row.read_number(column, ABOVE_NOTHING);
    Ok([
        (otto.compressed_temperature_k - wanted("T2_K")?).abs(),
        (otto.burned.temperature_k - wanted("T3_K")?).abs(),
        (otto.expanded.temperature_k - wanted("T4_K")?).abs(),
        relative(otto.burned.pressure_pa, wanted("p3_bar")? * 1e5),
        relative(otto.work_j_per_kg, wanted("work_J_per_kg_mix")?),
        relative(otto.imep_pa, wanted("imep_bar")? * 1e5),
    ])
}
