//! Thermochemistry rows: worst relative error over whole reference tables.

use super::Check;
use crate::common::tables::{reference_fuels, relative, table};
use endgas::gas::mixture::FreshMixture;
use endgas::gas::otto::fuel_air_otto;

const SOURCE: &str = "Cantera 3.2.0, NASA TM-4513 polynomials, 300 cycles";

pub(crate) fn checks() -> Vec<Check> {
    let fuels = reference_fuels();
    let (mut work, mut burned) = (0.0_f64, 0.0_f64);
    for row in table("thermo/D_fuel_air_otto.csv") {
        let fresh = FreshMixture::new(fuels[row.text("fuel")], 1.0 / row.number("phi"), 0.0);
        let otto = fuel_air_otto(
            &fresh,
            row.number("residual_mass_frac"),
            row.number("T1_K"),
            row.number("p1_bar") * 1e5,
            row.number("cr"),
        )
        .unwrap();
        work = work.max(100.0 * relative(otto.work_j_per_kg, row.number("work_J_per_kg_mix")));
        burned = burned.max((otto.burned.temperature_k - row.number("T3_K")).abs());
    }
    vec![
        Check::new("fuel-air Otto work, worst error", "%", (0.0, 0.05), work, 4, SOURCE),
        Check::new("burned temperature, worst error", "K", (0.0, 2.0), burned, 4, SOURCE),
    ]
}
