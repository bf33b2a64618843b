//! The octane rows with the model's figure for each, at any interaction Z of RON.

use super::rows::{LIBRARY, defined_blend};
use endgas::fuel::octane::OCTANE_BLENDING;
use endgas::fuel::{Blend, OctaneRating};

/// Ethanol in a base of known octane.
pub fn on_base(ron: f64, mon: f64, ethanol_vol_frac: f64) -> Blend {
    defined_blend(100.0, OctaneRating { ron, mon }, ethanol_vol_frac)
}

/// RON of a blend on the base that gives a known RON at 10 % ethanol, with the same interaction.
fn anchored_ron(at_e10: f64, ethanol_vol_frac: f64, z: f64) -> f64 {
    let at = |base: f64, content: f64| on_base(base, 0.0, content).octane_at_z(z).ron;
    let (low, high) = (at(0.0, 0.10), at(100.0, 0.10));
    at(100.0 * (at_e10 - low) / (high - low), ethanol_vol_frac)
}

/// One RON row of a blend: its id, the base it belongs to, and the model at an interaction.
pub struct BlendRow {
    pub id: &'static str,
    pub base: &'static str,
    pub ron: fn(f64) -> f64,
}

/// The base that no source states.
pub const ASSUMED: &str = "plateau, base assumed RON 88";

/// Every RON row of a blend. A series that states no base is taken from its E10 row.
pub const BLEND_ROWS: [BlendRow; 12] = [
    BlendRow { id: "M_JUNG_E20", base: "E10 of RON 91", ron: |z| anchored_ron(91.0, 0.20, z) },
    BlendRow { id: "M_JUNG_E30", base: "E10 of RON 91", ron: |z| anchored_ron(91.0, 0.30, z) },
    BlendRow { id: "M_AND_D20", base: "E10 of RON 92.5", ron: |z| anchored_ron(92.5, 0.20, z) - 92.5 },
    BlendRow { id: "M_AND_D30", base: "E10 of RON 92.5", ron: |z| anchored_ron(92.5, 0.30, z) - 92.5 },
    BlendRow { id: "A12_88_E10", base: "RON 88.2", ron: |z| on_base(88.2, 82.0, 0.10).octane_at_z(z).ron },
    BlendRow { id: "A12_88_E20", base: "RON 88.2", ron: |z| on_base(88.2, 82.0, 0.20).octane_at_z(z).ron },
    BlendRow { id: "A12_88_E30", base: "RON 88.2", ron: |z| on_base(88.2, 82.0, 0.30).octane_at_z(z).ron },
    BlendRow { id: "A12_95_E10", base: "RON 95", ron: |z| on_base(95.0, 85.0, 0.10).octane_at_z(z).ron },
    BlendRow { id: "A12_95_E85", base: "RON 95", ron: |z| on_base(95.0, 85.0, 0.85).octane_at_z(z).ron },
    BlendRow { id: "M_E85_RON", base: "RON 95", ron: |z| on_base(95.0, 85.0, 0.85).octane_at_z(z).ron },
    BlendRow { id: "R_E40_RON", base: ASSUMED, ron: |z| on_base(88.0, 82.0, 0.40).octane_at_z(z).ron },
    BlendRow { id: "RON_FLAT", base: ASSUMED, ron: |z| on_base(88.0, 82.0, 0.45).octane_at_z(z).ron },
];

/// US regular blendstock with ethanol by volume.
pub fn regular(ethanol_vol_frac: f64) -> OctaneRating {
    LIBRARY.resolve("regular-87").unwrap().blend_at(ethanol_vol_frac).unwrap().octane
}

/// Row and our figure for every octane row that did not set a shipped figure.
pub fn residual_rows() -> Vec<(&'static str, f64)> {
    let ethanol = LIBRARY.resolve("ethanol").unwrap().blend().unwrap().octane;
    let mut rows = vec![
        ("R_ETOH_RON", ethanol.ron),
        ("R_ETOH_MON", ethanol.mon),
        ("R_ETOH_AKI", ethanol.aki()),
        ("M_ETOH_RON_F", ethanol.ron),
        ("M_ETOH_MON_F", ethanol.mon),
        ("M_ETOH_RON_N", ethanol.ron),
        ("M_ETOH_MON_N", ethanol.mon),
        ("ETOH_RON", ethanol.ron),
        ("M_BOB_AKI", regular(0.0).aki()),
        ("M_E10_AKI", regular(0.10).aki()),
        ("M_E15_AKI", regular(0.15).aki()),
        ("M_E30_AKI", regular(0.30).aki()),
        ("M_E85_MON", on_base(95.0, 85.0, 0.85).octane.mon),
        ("A12_95_E85M", on_base(95.0, 85.0, 0.85).octane.mon),
    ];
    rows.extend(BLEND_ROWS.iter().map(|row| (row.id, (row.ron)(OCTANE_BLENDING.z_ron))));
    rows
}
