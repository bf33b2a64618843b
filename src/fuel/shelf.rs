//! What a library holds: components and pump fuels by name.

use crate::fuel::component::Component;
use crate::fuel::pump::PumpFuel;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Components and pump fuels by name.
#[derive(Clone, Debug, Default)]
pub(super) struct Shelf {
    pub(super) components: BTreeMap<String, Arc<Component>>,
    pub(super) pumps: BTreeMap<String, PumpFuel>,
    /// Pump fuels that a file of the user may stand in for: those shipped and not replaced yet.
    pub(super) replaceable: BTreeSet<String>,
}

impl Shelf {
    /// Whether a fuel or component has the name already.
    pub(super) fn has(&self, name: &str) -> bool {
        self.pumps.contains_key(name) || self.components.contains_key(name)
    }
}
