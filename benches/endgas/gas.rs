//! Equilibrium of burned gas and its table.

use crate::{blend, demo};
use divan::{Bencher, black_box};
use endgas::cycle::charge::fresh_mixture;
use endgas::gas::{BurnedTable, Elements};

fn elements(fuel: &str, lambda: f64) -> Elements {
    fresh_mixture(&blend(fuel), lambda, &demo().weather).elements()
}

#[divan::bench(args = [1.0, 0.87])]
fn equilibrium_cold(bencher: Bencher<'_, '_>, lambda: f64) {
    let elements = elements("premium-91", lambda);
    bencher.bench(|| elements.equilibrium_at_pressure(black_box(2500.0), black_box(60e5), None));
}

#[divan::bench(args = [1.0, 0.87])]
fn equilibrium_warm(bencher: Bencher<'_, '_>, lambda: f64) {
    let elements = elements("premium-91", lambda);
    let near = elements.equilibrium_at_pressure(2450.0, 60e5, None).unwrap().guess();
    bencher.bench(|| elements.equilibrium_at_pressure(black_box(2500.0), black_box(60e5), Some(near)));
}

#[divan::bench(args = [("premium-91", 0.87), ("premium-91", 1.0), ("e85", 0.82), ("e85", 1.0)])]
fn burned_table(bencher: Bencher<'_, '_>, (fuel, lambda): (&str, f64)) {
    let elements = elements(fuel, lambda);
    bencher.bench(|| BurnedTable::new(black_box(&elements)));
}

#[divan::bench]
fn burned_table_look_up(bencher: Bencher<'_, '_>) {
    let table = BurnedTable::new(&elements("premium-91", 0.87)).unwrap();
    bencher.bench(|| table.at(black_box(2500.0), black_box(15.6)));
}
