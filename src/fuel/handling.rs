//! Cautions on handling that go with what is in a fuel.

use crate::fuel::component::{METHANOL, WATER};
use crate::fuel::pump::{BEST_POWER_LAMBDA_SOURCE, PumpFuel};

/// Ethanol by volume from which the cautions of high content apply [-]: above E15 a car must be made
/// or changed for it (US pump label, from memory).
const HIGH_ETHANOL: f64 = 0.15;

/// Holds for every fuel. Common practice, no source.
const EVERY_FUEL: [&str; 1] = [
    "Fuel vapour is heavier than air, burns and explodes: ventilate, earth, keep every ignition source away.",
];

/// Ethanol of any share. Water uptake and phase separation: common practice, no source.
const ANY_ETHANOL: [&str; 1] = [
    "Ethanol draws water; cold or enough water splits a low blend into two layers, the lower one ethanol and water. \
     Keep tanks full and closed, drain what has stood, never trust old fuel.",
];

/// Ethanol above [`HIGH_ETHANOL`]. Range: ASTM D5798 (AFDC, read); the rest common practice, no source.
const MUCH_ETHANOL: [&str; 3] = [
    "The ethanol content must be measured, by sensor or by water test, before spark and fuelling are set: E85 may \
     hold 51 to 83 % (ASTM D5798), and it changes with season and fill.",
    "Ethanol attacks bare aluminium, zinc, magnesium, terne plate and some elastomers: use tank, pump, lines, seals \
     and injectors made for it, and renew filters after the change.",
    "A flame of much ethanol is faint and hard to see by day, and the vapour over it in a closed tank can be \
     flammable at ambient temperature, where that over gasoline is too rich.",
];

/// Water of any share. Common practice, no source.
const WITH_WATER: [&str; 1] = [
    "It holds water. With gasoline it may split into layers, which is not modelled: look at a sample, cold.",
];

/// Methanol of any share. Common practice, no source.
const METHANOL_CAUTIONS: [&str; 3] = [
    "Methanol is a poison by swallowing, by breath and through the skin; little blinds or kills, and it gives no \
     warning. Gloves, goggles, fresh air; at any contact see a doctor at once.",
    "A methanol flame cannot be seen by day. Keep plenty of water at hand (it mixes and puts the fire out) and \
     feel for heat before coming near.",
    "Methanol attacks aluminium, magnesium, zinc and many elastomers and draws water faster than ethanol: flush the \
     fuel system with gasoline after use, and measure the content of every mixture.",
];

impl PumpFuel {
    /// Cautions on handling this fuel, the general first.
    pub fn cautions(&self) -> Vec<&'static str> {
        let mut cautions = EVERY_FUEL.to_vec();
        let high = self.ethanol.high;
        if high > 0.0 {
            cautions.extend(ANY_ETHANOL);
        }
        if high > HIGH_ETHANOL {
            cautions.extend(MUCH_ETHANOL);
        }
        if self.holds(WATER) {
            cautions.extend(WITH_WATER);
        }
        if self.holds(METHANOL) {
            cautions.extend(METHANOL_CAUTIONS);
        }
        cautions
    }

    /// Why best-power lambda is what it is, in words with the source.
    pub fn best_power_lambda_source(&self) -> String {
        let usual = super::pump::best_power_lambda(self.ethanol.likely);
        if (self.best_power_lambda - usual).abs() > 1e-3 {
            return "as the fuel file states it, by volume where fuels are mixed".to_owned();
        }
        let mut text = BEST_POWER_LAMBDA_SOURCE.to_owned();
        if self.holds(METHANOL) {
            text += "; methanol as gasoline for want of a figure, racing practice runs it richer for cooling";
        }
        text
    }

    /// Whether a component is in the fuel, ethanol apart.
    fn holds(&self, component: &str) -> bool {
        self.base.iter().any(|s| s.component.name == component && s.vol_frac > 0.0)
    }
}
