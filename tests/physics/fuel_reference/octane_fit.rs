//! The interaction of ethanol in RON, fitted in the open: what the rows give, whether the fit predicts
//! a base it has not seen, and why the shipped value is what it is.

use super::octane_rows::{ASSUMED, BLEND_ROWS, BlendRow};
use super::rows::row;
use argmin::core::{CostFunction, Error, Executor, State};
use argmin::solver::brent::BrentOpt;
use endgas::fuel::octane::OCTANE_BLENDING;

fn residual(row_of: &BlendRow, z: f64) -> f64 {
    (row_of.ron)(z) - row(row_of.id).middle()
}

fn rms(rows: &[&BlendRow], z: f64) -> f64 {
    (rows.iter().map(|r| residual(r, z).powi(2)).sum::<f64>() / rows.len() as f64).sqrt()
}

struct Rows<'a>(&'a [&'a BlendRow]);

impl CostFunction for Rows<'_> {
    type Param = f64;
    type Output = f64;

    fn cost(&self, z: &f64) -> Result<f64, Error> {
        Ok(rms(self.0, *z).powi(2))
    }
}

/// Interaction of least squares over some rows.
fn fitted(rows: &[&BlendRow]) -> f64 {
    let run = Executor::new(Rows(rows), BrentOpt::new(-30.0, 60.0)).configure(|s| s.max_iters(100)).run();
    *run.unwrap().state().get_best_param().unwrap()
}

/// Rms over all rows, each predicted by a fit to the other bases alone.
fn left_out_rms(rows: &[&BlendRow]) -> f64 {
    let mut squares = 0.0;
    let mut bases: Vec<&str> = rows.iter().map(|r| r.base).collect();
    bases.dedup();
    for base in bases {
        let (out, kept): (Vec<&BlendRow>, Vec<&BlendRow>) = rows.iter().partition(|r| r.base == base);
        let z = fitted(&kept);
        println!(
            "  without {base:<30} Z {z:>5.1}, there rms {:.2}, at Z 0 {:.2}",
            rms(&out, z),
            rms(&out, 0.0)
        );
        squares += rms(&out, z).powi(2) * out.len() as f64;
    }
    (squares / rows.len() as f64).sqrt()
}

/// The guard against overfitting: a fitted Z must predict the base left out better than Z = 0, with and
/// without the rows whose base is assumed. Most rows are from memory (see their basis), so the lower
/// of the two fits, rounded, is shipped, and the band of Z stays wide.
#[test]
fn the_shipped_interaction_is_what_the_rows_give() {
    let all: Vec<&BlendRow> = BLEND_ROWS.iter().collect();
    let stated: Vec<&BlendRow> = BLEND_ROWS.iter().filter(|r| r.base != ASSUMED).collect();
    let mut fits = Vec::new();
    for (name, rows) in [("all rows", &all), ("rows of stated base", &stated)] {
        println!("{name}:");
        let left_out = left_out_rms(rows);
        let z = fitted(rows);
        println!(
            "  Z {z:.2}: rms {:.2}, left out {left_out:.2}; Z 0: {:.2}; Z {}: {:.2}",
            rms(rows, z),
            rms(rows, 0.0),
            OCTANE_BLENDING.z_ron,
            rms(rows, OCTANE_BLENDING.z_ron)
        );
        assert!(left_out < rms(rows, 0.0), "{name}: the fit does not carry over to another base");
        assert!(OCTANE_BLENDING.z_ron_band.contains(&z));
        fits.push(z);
    }
    let lower = fits[0].min(fits[1]);
    assert_eq!(OCTANE_BLENDING.z_ron, lower.round(), "fits {fits:?}");
}

/// One base alone speaks against an interaction: the guard is not empty.
#[test]
fn the_base_of_ron_95_is_predicted_worse_and_stays_inside_the_band() {
    let rows: Vec<&BlendRow> = BLEND_ROWS.iter().filter(|r| r.base == "RON 95").collect();
    assert!(rms(&rows, OCTANE_BLENDING.z_ron) > rms(&rows, 0.0));
    assert!(rms(&rows, OCTANE_BLENDING.z_ron) < 1.5);
}
