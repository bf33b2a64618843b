//! Standing cautions: what must be known before anything is bought, cut, filled or run.

use crate::fuel::PumpFuel;
use crate::fuel::handling::FuelHazard;

/// Of every estimate and choice.
pub(in crate::report) const ESTIMATE: &[&str] = &[
    "This is an estimate, not a calibration. Start retarded, listen for knock with proper equipment, and pull timing when in doubt.",
    "Never lean the mixture to cure knock: pull timing, add octane, cool the charge, lower the ratio.",
    "Ethanol content varies from pump to pump and fill to fill; measure it before relying on it.",
    "Fuel vapour burns and explodes; ethanol and methanol flames are hard to see. Ventilate, earth, keep ignition sources away.",
    "Check local emissions and road law before building or changing an engine for the road.",
    "The judgement of the licensed or qualified practitioner on the spot comes before these numbers.",
];

/// Of every look at cam, ports and pipes.
pub(in crate::report) const BREATHING: &[&str] = &[
    "An estimate, not a promise: gas dynamics of one cylinder with usual losses. A flow bench and a dyno decide; start retarded and listen for knock, for more VE is less knock margin.",
    "More lift, duration, advance or valve size brings valves nearer to pistons and springs nearer to their limits: measure clearance and coil bind before the engine is turned.",
    "Local emissions and road law (exhaust noise too), and the judgement of the licensed or qualified practitioner on the spot, come first.",
];

/// Of every fuel system.
pub(in crate::report) const FUELING: &[&str] = &[
    "An estimate, not a calibration: measure mixture and fuel pressure at full throttle, listen for knock with proper equipment and pull timing. An engine that runs out of fuel runs lean and is destroyed.",
    "Ethanol content varies from fill to fill: measure it. Use hoses, seals, pumps and regulators made for the content.",
    "Fuel under pressure and its vapour burn and explode; ethanol flames are hard to see. Relieve the pressure, ventilate, keep ignition sources away.",
    "Bands of piston speed, acceleration and pressure are of whole classes of engines: the weakest part of this one decides. Single cycles, and knock above all, go well beyond the mean peak pressure.",
    "Local emissions and road law, and the judgement of the licensed or qualified practitioner on the spot, come first.",
];

/// Of every goal.
pub(in crate::report) const GOAL: &[&str] = &[
    "An estimate, not a promise: what a change is worth is that of the model, with the timing tuned anew; parts, sealing, tuning and dyno decide. Listen for knock with proper equipment and pull timing; never lean a mixture to cure it.",
    "More rpm, ratio or VE loads rods, pistons and valve gear: have the parts judged for it.",
    "Ethanol content varies from fill to fill: measure it before a plan rests on it. Fuel vapour burns and explodes.",
    "Local emissions and road law, and the judgement of the licensed or qualified practitioner on the spot, come first.",
];

/// Of every timing map.
pub(in crate::report) const SPARK_MAP: &[&str] = &[
    "An estimate, never a calibration: start from the timing to start from or less, with knock detection, and add timing towards the likely limit.",
    "The knock limit of the model is good to some 4 octane numbers, about 5 deg of timing, until one knock-limited point of the real engine is known.",
    "Measure the ethanol content before a map over content is used; with less ethanol than thought the timing is too far advanced.",
    "Below about 60 % of full load the model is a guide only: a light load burns more slowly than it says, and with much valve overlap at low rpm it counts too much hot exhaust gas, so that knock looks nearer than it is.",
];

/// How to handle a fuel.
pub(in crate::report) fn handling(fuel: &PumpFuel) -> impl Iterator<Item = &'static str> {
    fuel.hazards().flat_map(of_hazard).copied()
}

/// What a hazard asks for. Common practice, no source, but where a source is named.
fn of_hazard(hazard: FuelHazard) -> &'static [&'static str] {
    match hazard {
        FuelHazard::Vapour => &[
            "Fuel vapour is heavier than air, burns and explodes: ventilate, earth, keep every ignition source away.",
        ],
        FuelHazard::Ethanol => &[
            "Ethanol draws water; cold or enough water splits a low blend into two layers, the lower one ethanol and water. \
     Keep tanks full and closed, drain what has stood, never trust old fuel.",
        ],
        // Range: ASTM D5798 (AFDC, read).
        FuelHazard::MuchEthanol => &[
            "The ethanol content must be measured, by sensor or by water test, before timing and fuelling are set: E85 may \
     hold 51 to 83 % (ASTM D5798), and it changes with season and fill.",
            "Ethanol attacks bare aluminium, zinc, magnesium, terne plate and some elastomers: use tank, pump, lines, seals \
     and injectors made for it, and renew filters after the change.",
            "A flame of much ethanol is faint and hard to see by day, and the vapour over it in a closed tank can be \
     flammable at ambient temperature, where that over gasoline is too rich.",
        ],
        FuelHazard::Water => &[
            "It holds water. With gasoline it may split into layers, which is not modelled: look at a sample, cold.",
        ],
        FuelHazard::Methanol => &[
            "Methanol is a poison by swallowing, by breath and through the skin; little blinds or kills, and it gives no \
     warning. Gloves, goggles, fresh air; at any contact see a doctor at once.",
            "A methanol flame cannot be seen by day. Keep plenty of water at hand (it mixes and puts the fire out) and \
     feel for heat before coming near.",
            "Methanol attacks aluminium, magnesium, zinc and many elastomers and draws water faster than ethanol: flush the \
     fuel system with gasoline after use, and measure the content of every mixture.",
        ],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fuel::FuelLibrary;

    #[test]
    fn cautions_go_with_what_is_in_the_fuel() {
        let library = FuelLibrary::shipped().unwrap();
        let said = |spec: &str| handling(&library.resolve(spec).unwrap()).collect::<Vec<_>>().join("\n");
        assert!(!said("base-regular").contains("thanol"));
        let premium = said("premium-91");
        assert!(premium.contains("draws water") && !premium.contains("must be measured"));
        let e85 = said("e85");
        for word in ["must be measured", "51 to 83 %", "attacks", "faint", "vapour"] {
            assert!(e85.contains(word), "{word}");
        }
        assert!(said("e100-hydrous").contains("split into layers") && !e85.contains("It holds water"));
        for spec in ["methanol", "premium-91 90 % + methanol 10 %"] {
            let methanol = said(spec);
            for word in ["poison", "cannot be seen", "attacks aluminium", "measure the content"] {
                assert!(methanol.contains(word), "{spec}: {word}");
            }
        }
    }
}
