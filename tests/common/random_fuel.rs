//! Every fuel of the library, for property tests to draw from.

use endgas::fuel::FuelLibrary;
use endgas::fuel::products::Atoms;
use endgas::gas::mixture::FuelVapour;
use proptest::prelude::*;
use proptest::test_runner::TestRunner;
use std::cell::Cell;
use std::sync::LazyLock;

/// A fuel vapour and what it is called.
#[derive(Clone, Debug)]
pub struct Named {
    pub name: String,
    pub vapour: FuelVapour,
}

impl Named {
    /// Lower heating value of the vapour [J/kg].
    pub fn lhv_j_per_kg(&self) -> f64 {
        let FuelVapour { carbon, hydrogen, oxygen, molar_mass_kg_per_mol, poly } = &self.vapour;
        let atoms = Atoms { carbon: *carbon, hydrogen: *hydrogen, oxygen: *oxygen };
        atoms.lower_heating_value_j_per_mol(poly) / molar_mass_kg_per_mol
    }
}

/// Every pump fuel at its lowest, likely and highest ethanol content, and every component that burns.
static FUELS: LazyLock<Vec<Named>> = LazyLock::new(|| {
    let library = FuelLibrary::shipped().unwrap();
    let mut fuels = Vec::new();
    for name in library.names() {
        let pump = library.resolve(name).unwrap();
        for content in [pump.ethanol.low, pump.ethanol.likely, pump.ethanol.high] {
            let blend = pump.blend_at(content).unwrap();
            fuels.push(Named { name: format!("{name} E{content:.2}"), vapour: (&blend).into() });
        }
    }
    for name in library.component_names().into_iter().filter(|name| *name != "water") {
        let c = library.component(name).unwrap();
        let vapour = FuelVapour {
            carbon: c.carbon,
            hydrogen: c.hydrogen,
            oxygen: c.oxygen,
            molar_mass_kg_per_mol: c.molar_mass_kg_per_mol,
            poly: c.vapour,
        };
        fuels.push(Named { name: name.to_owned(), vapour });
    }
    fuels
});

/// Any fuel of the library.
pub fn any_fuel() -> impl Strategy<Value = Named> {
    prop::sample::select(FUELS.as_slice())
}

/// Checks `law` on values of `strategy`; returns the largest of each error that `law` gave back.
pub fn worst_over<S: Strategy, const N: usize>(
    config: ProptestConfig,
    strategy: &S,
    law: impl Fn(S::Value) -> Result<[f64; N], TestCaseError>,
) -> [f64; N] {
    let worst = Cell::new([0.0f64; N]);
    let config = ProptestConfig { failure_persistence: None, ..config };
    let checked = TestRunner::new(config).run(strategy, |value| {
        let errors = law(value)?;
        let old = worst.get();
        worst.set(std::array::from_fn(|i| old[i].max(errors[i])));
        Ok(())
    });
    if let Err(failure) = checked {
        panic!("{failure}");
    }
    worst.get()
}
