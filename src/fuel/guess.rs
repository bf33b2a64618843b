//! Fuels as people call them at the pump: "93", "98 RON", "93 octane", "gasoline", "E58".

use super::pump::PumpFuel;
use super::shelf::Shelf;

/// Words that say no more than that a fuel is meant, and which octane number is.
const PUMP_WORDS: [&str; 11] =
    ["octane", "pump", "gas", "gasoline", "petrol", "fuel", "premium", "super", "regular", "unleaded", "e10"];
/// Words that say that the number is RON, or that it is the mean of RON and MON.
const RESEARCH: &str = "ron";
const ANTI_KNOCK: [&str; 3] = ["aki", "r+m", "(r+m)/2"];
/// Gasoline on which a blend of ethanol is proposed.
const BLEND_BASE: &str = "premium-91";

/// Difference of ethanol content within which a fuel that is sold is proposed [%].
const NEAR_PERCENT: f64 = 10.0;

/// What a name that no fuel has may mean.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Guess {
    /// The one pump fuel of that octane number.
    Fuel(String),
    /// Names or recipes to choose from.
    Proposals(Vec<String>),
}

/// What is meant by a name, in lower case; none when it is like nothing at the pump.
pub(super) fn guess(name: &str, shelf: &Shelf) -> Option<Guess> {
    if let Some(percent) = name.strip_prefix('e').and_then(|rest| rest.trim().parse::<f64>().ok()) {
        return blend(percent, shelf);
    }
    let letters_apart = name.replace(RESEARCH, " ron ").replace('-', " ");
    let mut words: Vec<&str> = letters_apart.split_whitespace().collect();
    let (is_research, is_anti_knock) =
        (words.contains(&RESEARCH), words.iter().any(|word| ANTI_KNOCK.contains(word)));
    words.retain(|word| *word != RESEARCH && !ANTI_KNOCK.contains(word));
    let (numbers, words): (Vec<&str>, Vec<&str>) =
        words.into_iter().partition(|word| word.bytes().all(|byte| byte.is_ascii_digit()));
    if words.iter().any(|word| !PUMP_WORDS.contains(word)) {
        return None;
    }
    let gasolines = shelf.pumps.keys().filter(|name| octane_of(name).is_some());
    match numbers[..] {
        [] if !words.is_empty() => Some(Guess::Proposals(gasolines.cloned().collect())),
        [number] => {
            // European pumps show RON, American ones the mean of RON and MON.
            let is_meant = |name: &&String| {
                let is_of_research = name.starts_with("euro");
                let may_be_meant = if is_of_research { !is_anti_knock } else { !is_research };
                may_be_meant && octane_of(name) == Some(number)
            };
            let found: Vec<String> = gasolines.clone().filter(is_meant).cloned().collect();
            match &found[..] {
                [one] => Some(Guess::Fuel(one.clone())),
                // A slip in a name is nearer to that name than to the pump.
                [] if name.contains('-') => None,
                _ => Some(Guess::Proposals(gasolines.cloned().collect())),
            }
        }
        _ => None,
    }
}

/// The octane number at the end of a name.
fn octane_of(name: &str) -> Option<&str> {
    let (_, number) = name.rsplit_once('-')?;
    number.bytes().all(|byte| byte.is_ascii_digit()).then_some(number)
}

/// The names that are nearest to a content, and a recipe that makes it of pump gasoline.
fn blend(percent: f64, shelf: &Shelf) -> Option<Guess> {
    let base = shelf.pumps.get(BLEND_BASE)?.ethanol.likely * 100.0;
    (base < percent && percent < 100.0).then(|| {
        let gasoline = (1000.0 * (100.0 - percent) / (100.0 - base)).round() / 10.0;
        let ethanol = (10.0 * (100.0 - gasoline)).round() / 10.0;
        let off = |fuel: &PumpFuel| (100.0 * fuel.ethanol.likely - percent).abs();
        let mut sold: Vec<&PumpFuel> =
            shelf.pumps.values().filter(|fuel| off(fuel) <= NEAR_PERCENT).collect();
        sold.sort_by(|a, b| off(a).total_cmp(&off(b)));
        let recipe = format!("\"{BLEND_BASE} {gasoline} % + ethanol {ethanol} %\"");
        Guess::Proposals(sold.into_iter().map(|fuel| fuel.name.clone()).chain([recipe]).collect())
    })
}

#[cfg(test)]
mod tests {
    use crate::fuel::{FuelError, FuelLibrary};

    #[test]
    fn what_the_pump_shows_finds_the_one_fuel_that_has_it() {
        let library = FuelLibrary::shipped().unwrap();
        for (typed, name) in [
            ("93", "premium-93"),
            ("93 octane", "premium-93"),
            ("91 AKI", "premium-91"),
            ("regular 87", "regular-87"),
            ("98", "euro-98"),
            ("RON98", "euro-98"),
            ("95 ron", "euro-95"),
            ("premium 93", "premium-93"),
        ] {
            assert_eq!(library.resolve(typed).unwrap().name, name, "{typed}");
        }
    }

    /// HAND: 46.7 % of a gasoline with 10 % ethanol and 53.3 % ethanol: 4.67 + 53.3 = 57.97 %.
    #[test]
    fn what_may_mean_several_is_proposed() {
        let library = FuelLibrary::shipped().unwrap();
        let proposed = |typed: &str| match library.resolve(typed) {
            Err(FuelError::Unknown { nearest, .. }) => nearest,
            other => panic!("{typed}: {other:?}"),
        };
        // 91 RON is no American premium.
        for typed in ["gasoline", "pump gas", "91 RON", "100 octane"] {
            assert!(proposed(typed).contains(&"premium-91".to_owned()), "{typed}: {:?}", proposed(typed));
        }
        let recipe = proposed("e58").pop().unwrap();
        let blend = library.resolve(recipe.trim_matches('"')).unwrap().blend().unwrap();
        assert!((blend.ethanol_vol_frac - 0.58).abs() < 1e-3, "{recipe}");
        assert!(!proposed("prmium-91").is_empty() && proposed("kerosene") != proposed("gasoline"));
    }
}
