//! Fast table of burned-gas enthalpy and gas constant over temperature and pressure.
//!
//! Bicubic Hermite patches on a regular grid in T and ln p, with fourth-order differences for
//! the node slopes, so value and slopes are continuous and a cycle step costs an interpolation
//! only. The error against the direct solver is bounded in `tests/physics/thermo_reference.rs`.

use super::equilibrium::{EquilibriumError, EquilibriumState};
use super::mixture::Elements;
use super::newton;
use crate::lanes::{Lanes, MOST};

/// Lowest temperature of the table [K].
pub const TEMPERATURE_LOW_K: f64 = 700.0;
/// Spacing in temperature [K].
const TEMPERATURE_STEP_K: f64 = 50.0;
/// Patches in temperature; the table ends at 3500 K.
const TEMPERATURE_CELLS: usize = 56;
/// Lowest pressure of the table [Pa].
pub const PRESSURE_LOW_PA: f64 = 0.3e5;
/// ln 0.3e5.
const LN_PRESSURE_LOW: f64 = 10.308_952_660_644_293;
/// Spacing in ln p.
const LN_PRESSURE_STEP: f64 = 0.45;
/// Patches in ln p; the table ends at about 270 bar.
const PRESSURE_CELLS: usize = 15;
/// Nodes kept beyond the patches on each side for the difference formulas.
const BORDER: usize = 2;
const ROWS: usize = TEMPERATURE_CELLS + 1 + 2 * BORDER;
const COLUMNS: usize = PRESSURE_CELLS + 1 + 2 * BORDER;

/// A quantity with its partial slopes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct WithSlopes<N = f64> {
    /// The value.
    pub value: N,
    /// Slope in temperature [per K].
    pub by_temperature: N,
    /// Slope in ln p [-].
    pub by_ln_pressure: N,
}

/// Enthalpy and gas constant of burned gas at one state.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct BurnedState<N = f64> {
    /// Enthalpy, formation included [J/kg].
    pub enthalpy: WithSlopes<N>,
    /// Gas constant [J/(kg K)].
    pub gas_constant: WithSlopes<N>,
}

/// Coefficients of one patch: value = sum c[j][i] x^i y^j with x, y in 0..1.
type Patch = [[f64; 4]; 4];

/// Burned-gas properties of one set of elements, tabulated.
#[derive(Clone, Debug)]
pub struct BurnedTable {
    patches: Vec<[Patch; 2]>,
}

impl BurnedTable {
    /// Tabulates the equilibrium gas of the given elements.
    ///
    /// # Errors
    /// [`EquilibriumError`] when a node is not found (outside phi 0.5 to 1.6).
    ///
    /// # Example
    /// ```
    /// use endgas::fuel::FuelLibrary;
    /// use endgas::gas::{BurnedTable, FreshMixture};
    /// let blend = FuelLibrary::shipped()?.resolve("e85")?.blend()?;
    /// let elements = FreshMixture::new((&blend).into(), 0.9, 0.008).elements();
    /// let table = BurnedTable::new(&elements)?;
    /// let gas = table.at(2375.0, 45e5_f64.ln());
    ///
    /// let solved = elements.equilibrium_at_pressure(2375.0, 45e5, None)?;
    /// assert!((gas.enthalpy.value - solved.enthalpy_j_per_kg).abs() < 100.0);
    /// // Heat capacity in equilibrium, dissociation included [J/(kg K)].
    /// assert!((1500.0..3000.0).contains(&gas.enthalpy.by_temperature));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(elements: &Elements) -> Result<Self, EquilibriumError> {
        let nodes = nodes(elements)?;
        let enthalpy = |i: usize, j: usize| nodes[i * COLUMNS + j].enthalpy_j_per_kg;
        let gas_constant = |i: usize, j: usize| nodes[i * COLUMNS + j].gas_constant_j_per_kg_k;
        let mut patches = Vec::with_capacity(TEMPERATURE_CELLS * PRESSURE_CELLS);
        for i in 0..TEMPERATURE_CELLS {
            for j in 0..PRESSURE_CELLS {
                patches.push([
                    patch(&enthalpy, i + BORDER, j + BORDER),
                    patch(&gas_constant, i + BORDER, j + BORDER),
                ]);
            }
        }
        Ok(Self { patches })
    }

    /// Properties at a temperature [K] and natural logarithm of pressure [Pa].
    ///
    /// Outside the grid the border patch is continued: enthalpy is right to 0.3 % of the combustion
    /// energy from 600 to 3700 K and 1 to 600 bar, and useless above 3700 K or below 0.2 bar when hot
    /// (`tests/physics/gas_properties.rs`).
    #[inline]
    pub fn at(&self, temperature_k: f64, ln_pressure: f64) -> BurnedState {
        Self::beside((), &[self; MOST], temperature_k, ln_pressure)
    }

    /// Properties of several tables side by side, each at its own temperature [K] and ln of pressure [Pa].
    #[inline(always)]
    pub(crate) fn beside<N: Lanes>(
        token: N::Token,
        tables: &[&Self; MOST],
        temperature_k: N,
        ln_pressure: N,
    ) -> BurnedState<N> {
        let along = (temperature_k - TEMPERATURE_LOW_K) * (1.0 / TEMPERATURE_STEP_K);
        let up = (ln_pressure - LN_PRESSURE_LOW) * (1.0 / LN_PRESSURE_STEP);
        let (mut of, mut corners) = ([&tables[0].patches[0]; MOST], [(0.0, 0.0); MOST]);
        for lane in 0..N::WIDTH {
            let i = cell(along.lane(lane), TEMPERATURE_CELLS);
            let j = cell(up.lane(lane), PRESSURE_CELLS);
            of[lane] = &tables[lane].patches[i * PRESSURE_CELLS + j];
            corners[lane] = (i as f64, j as f64);
        }
        let x = along - N::gathered(token, |lane| corners[lane].0);
        let y = up - N::gathered(token, |lane| corners[lane].1);
        BurnedState {
            enthalpy: evaluate(
                x,
                y.cubics(
                    #[inline(always)]
                    |lane| &of[lane][0],
                ),
            ),
            gas_constant: evaluate(
                x,
                y.cubics(
                    #[inline(always)]
                    |lane| &of[lane][1],
                ),
            ),
        }
    }

    /// Temperature [K] at which the enthalpy is `enthalpy_j_per_kg` at a pressure, from `guess_k`.
    pub fn temperature_at_enthalpy_k(&self, enthalpy_j_per_kg: f64, ln_pressure: f64, guess_k: f64) -> f64 {
        newton::temperature_k(guess_k, |t| {
            let h = self.at(t, ln_pressure).enthalpy;
            (h.value - enthalpy_j_per_kg, h.by_temperature)
        })
    }
}

/// Value and slopes from the cubics in x, their values and slopes in y.
#[inline(always)]
fn evaluate<N: Lanes>(x: N, [a, b]: [[N; 4]; 2]) -> WithSlopes<N> {
    WithSlopes {
        value: a[0] + x * (a[1] + x * (a[2] + x * a[3])),
        by_temperature: (a[1] + x * (a[2] * 2.0 + x * (a[3] * 3.0))) * (1.0 / TEMPERATURE_STEP_K),
        by_ln_pressure: (b[0] + x * (b[1] + x * (b[2] + x * b[3]))) * (1.0 / LN_PRESSURE_STEP),
    }
}

#[inline(always)]
fn cell(position: f64, cells: usize) -> usize {
    (position as usize).min(cells - 1)
}

fn nodes(elements: &Elements) -> Result<Vec<EquilibriumState>, EquilibriumError> {
    let mut nodes: Vec<EquilibriumState> = Vec::with_capacity(ROWS * COLUMNS);
    for i in 0..ROWS {
        let temperature = TEMPERATURE_LOW_K + (i as f64 - BORDER as f64) * TEMPERATURE_STEP_K;
        for j in 0..COLUMNS {
            let pressure = PRESSURE_LOW_PA * ((j as f64 - BORDER as f64) * LN_PRESSURE_STEP).exp();
            let start = match (i, j) {
                (0, 0) => None,
                (_, 0) => Some(nodes[(i - 1) * COLUMNS].guess()),
                _ => Some(nodes[i * COLUMNS + j - 1].guess()),
            };
            nodes.push(elements.equilibrium_at_pressure(temperature, pressure, start)?);
        }
    }
    Ok(nodes)
}

/// Slope at the middle of five equally spaced values, spacing 1 (fourth order).
fn slope(f: [f64; 4]) -> f64 {
    (f[0] - 8.0 * f[1] + 8.0 * f[2] - f[3]) / 12.0
}

/// Hermite patch whose lower corner is node (i, j).
fn patch(node: &impl Fn(usize, usize) -> f64, i: usize, j: usize) -> Patch {
    let by_x = |i: usize, j: usize| slope([node(i - 2, j), node(i - 1, j), node(i + 1, j), node(i + 2, j)]);
    let by_y = |i: usize, j: usize| slope([node(i, j - 2), node(i, j - 1), node(i, j + 1), node(i, j + 2)]);
    let by_xy = |i: usize, j: usize| slope([by_x(i, j - 2), by_x(i, j - 1), by_x(i, j + 1), by_x(i, j + 2)]);
    // Rows: value at 0, value at 1, slope at 0, slope at 1 in x; columns the same in y.
    let corner = |f: &dyn Fn(usize, usize) -> f64| [[f(i, j), f(i, j + 1)], [f(i + 1, j), f(i + 1, j + 1)]];
    let (v, vx, vy, vxy) = (corner(node), corner(&by_x), corner(&by_y), corner(&by_xy));
    let data = [
        [v[0][0], v[0][1], vy[0][0], vy[0][1]],
        [v[1][0], v[1][1], vy[1][0], vy[1][1]],
        [vx[0][0], vx[0][1], vxy[0][0], vxy[0][1]],
        [vx[1][0], vx[1][1], vxy[1][0], vxy[1][1]],
    ];
    // Hermite basis: cubic coefficients from (f0, f1, f0', f1').
    const BASIS: [[f64; 4]; 4] =
        [[1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0], [-3.0, 3.0, -2.0, -1.0], [2.0, -2.0, 1.0, 1.0]];
    let mut out = [[0.0; 4]; 4];
    for (m, row) in out.iter_mut().enumerate() {
        for (n, coefficient) in row.iter_mut().enumerate() {
            for (a, line) in data.iter().enumerate() {
                for (b, value) in line.iter().enumerate() {
                    *coefficient += BASIS[n][a] * value * BASIS[m][b];
                }
            }
        }
    }
    out
}
