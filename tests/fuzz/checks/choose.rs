//! Choices of a compression ratio.

use super::run::{Run, is_document, taken};
use super::schema::Schema;
use super::{LIBRARY, one_in, within};
use endgas::choose::Choice;
use endgas::choose::result::RatioRow;
use endgas::report::Shown as _;
use std::sync::LazyLock;

static SCHEMA: LazyLock<Schema> = LazyLock::new(|| Schema::of(&Choice::schema()));

/// What `choose` makes of a scenario.
pub fn choose(bytes: &[u8]) {
    let Some(Run { scenario, job, .. }) = Run::of(bytes) else { return };
    let Some(ask) = taken(scenario.choose_job(job, &LIBRARY)) else { return };
    let made = || endgas::choose::choose(&ask, &|share| within("share done", share, 0.0..=1.0));
    let Some(choice) = taken(made()) else { return };
    let json = is_document(&choice, &SCHEMA);
    is_choice(&choice, (ask.lowest.get(), ask.highest.get()));
    if one_in(8, bytes) {
        assert_eq!(json, is_document(&made().unwrap(), &SCHEMA), "chosen again it is another");
    }
}

/// Shares, ratios and losses of a choice between two ratios.
pub(super) fn is_choice(choice: &Choice, (lowest, highest): (f64, f64)) {
    within("sum of shares", choice.fuels.iter().map(|fuel| fuel.share_frac).sum(), 1.0..=1.0);
    assert!(choice.curve.windows(2).all(|pair| pair[0].compression_ratio < pair[1].compression_ratio));
    for row in &choice.curve {
        within("ratio", row.compression_ratio, lowest..=highest);
        is_row(row);
    }
    if let Some(order) = &choice.order {
        within("order", order.compression_ratio, lowest..=highest);
        let row = choice.curve.iter().find(|row| row.compression_ratio == order.compression_ratio);
        assert!(row.unwrap().within_limits, "the ratio to order is over a limit");
        within("most power", order.most_power_ratio, order.same_from..=order.same_to);
        assert!(order.octane_per_ratio > 0.0);
    }
    let places: Vec<usize> = choice.pistons.iter().map(|piston| piston.place).collect();
    assert!(places.iter().enumerate().all(|(i, place)| *place == i + 1), "{places:?}");
    choice.pistons.iter().for_each(|piston| is_row(&piston.row));
}

fn is_row(row: &RatioRow) {
    let bands = row.power_kw.iter().chain(&row.fitted_power_kw).chain(row.start_power_kw.iter().flatten());
    for band in bands.chain([&row.weighted_power_kw, &row.fitted_weighted_power_kw]) {
        assert!(band.low <= band.likely && band.likely <= band.high, "{band:?}");
        within("wheel power", band.low, 0.0..=1e5);
    }
    within("retard", row.worst_retard_deg, 0.0..=180.0);
    for fuel in &row.fuels {
        within("retard", fuel.retard_deg, 0.0..=180.0);
        within("torque lost", fuel.torque_lost_frac, -1e-9..=1.0);
        within("knock probability", fuel.knock_probability, 0.0..=1.0);
        within("cylinder pressure", fuel.peak_pressure_bar, 1.0..=1e3);
    }
}
