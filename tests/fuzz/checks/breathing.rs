//! Builds on pipes.

use super::run::{Run, is_document, taken};
use super::schema::Schema;
use super::{one_in, within};
use endgas::estimate::{Extent, PipedBreathing, breathing_on_pipes};
use endgas::report::Shown as _;
use std::sync::LazyLock;

static SCHEMA: LazyLock<Schema> = LazyLock::new(|| Schema::of(&PipedBreathing::schema()));

/// What `breathing` makes of a scenario on pipes; one in two that are read is run, for gas dynamics are dear.
pub fn breathing(bytes: &[u8]) {
    let Some(Run { scenario, job, .. }) = Run::of(bytes) else { return };
    if scenario.pipes.is_none() || !one_in(2, bytes) {
        return;
    }
    let extent = Extent { worths: false, parts: one_in(16, bytes) };
    let Some(found) = taken(breathing_on_pipes(&job, extent)) else { return };
    let json = is_document(&found, &SCHEMA);
    if one_in(32, bytes) {
        let again = breathing_on_pipes(&job, extent).unwrap();
        assert_eq!(json, is_document(&again, &SCHEMA), "computed again it is another");
    }
    for p in &found.curve {
        within("VE", p.volumetric_efficiency.likely, 1e-3..=3.0);
        within("residual", p.residual_frac, 0.0..=1.0);
    }
}
