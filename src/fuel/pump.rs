//! A fuel as it is sold or mixed: what it holds besides ethanol, and how much ethanol it may hold.

use crate::fuel::blend::Blend;
use crate::fuel::component::Component;
use crate::fuel::error::FuelError;
use schemars::JsonSchema;
use serde::Serialize;
use std::sync::Arc;

/// Ethanol content of a fuel as sold, by volume [-]; all three equal when it is known.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ContentRange {
    /// Lowest content met or allowed [-].
    pub low: f64,
    /// Likely content [-].
    pub likely: f64,
    /// Highest content met or allowed [-].
    pub high: f64,
}

impl ContentRange {
    /// A content that is known [-].
    pub fn known(vol_frac: f64) -> Self {
        Self { low: vol_frac, likely: vol_frac, high: vol_frac }
    }

    /// Whether it is one value, not a range.
    pub fn is_known(&self) -> bool {
        self.high - self.low < 1e-9
    }
}

/// A share of a component by liquid volume.
#[derive(Clone, Debug, PartialEq)]
pub struct Share {
    /// The component.
    pub component: Arc<Component>,
    /// Its share by liquid volume at 15 C [-].
    pub vol_frac: f64,
}

/// A fuel as sold, or a mixture of such fuels.
#[derive(Clone, Debug, PartialEq)]
pub struct PumpFuel {
    /// Name or recipe by which it was asked for.
    pub name: String,
    /// Name for people.
    pub title: String,
    /// Everything but ethanol; the shares add to 1, or there are none when it is all ethanol.
    pub base: Vec<Share>,
    /// How much ethanol it may hold.
    pub ethanol: ContentRange,
    /// Lambda at which it gives best power [-]; see [`best_power_lambda`].
    pub best_power_lambda: f64,
    /// Where its figures come from, one text for each statement.
    pub sources: Vec<String>,
    pub(super) ethanol_component: Arc<Component>,
}

impl PumpFuel {
    /// The blend at the likely ethanol content.
    ///
    /// # Errors
    /// As [`Blend::from_parts`].
    pub fn blend(&self) -> Result<Blend, FuelError> {
        self.blend_at(self.ethanol.likely)
    }

    /// The blend at another ethanol content by volume, everything else in the same proportions.
    ///
    /// # Errors
    /// [`FuelError::EthanolContent`] when the content is not from 0 to 1, or is below 1 for a fuel
    /// that holds nothing but ethanol; else as [`Blend::from_parts`].
    pub fn blend_at(&self, ethanol_vol_frac: f64) -> Result<Blend, FuelError> {
        let low = if self.base.is_empty() { 1.0 } else { 0.0 };
        if !(low..=1.0).contains(&ethanol_vol_frac) {
            return Err(FuelError::EthanolContent {
                fuel: self.name.clone(),
                value: ethanol_vol_frac,
                low,
                high: 1.0,
            });
        }
        let mut parts: Vec<(&Component, f64)> =
            self.base.iter().map(|s| (s.component.as_ref(), s.vol_frac * (1.0 - ethanol_vol_frac))).collect();
        parts.push((self.ethanol_component.as_ref(), ethanol_vol_frac));
        Blend::from_parts(&self.name, &self.title, &parts)
    }

    /// A mixture of fuels by volume; `shares` add to 1.
    ///
    /// The ends of its ethanol range are those of the parts taken together. What it holds besides
    /// ethanol is mixed at the likely content of each part and kept for other contents.
    pub(super) fn mixed(name: &str, shares: &[(&Self, f64)]) -> Result<Self, FuelError> {
        let Some((first, _)) = shares.first() else {
            return Err(FuelError::Empty { blend: name.to_owned() });
        };
        let ethanol_component = Arc::clone(&first.ethanol_component);
        let mean = |of: fn(&Self) -> f64| -> f64 { shares.iter().map(|(fuel, v)| v * of(fuel)).sum() };
        let likely = mean(|f| f.ethanol.likely).min(1.0);
        let mut base: Vec<Share> = Vec::new();
        for (fuel, v) in shares {
            for share in &fuel.base {
                let vol_frac = v * (1.0 - fuel.ethanol.likely) * share.vol_frac;
                match base.iter_mut().find(|s| s.component.name == share.component.name) {
                    Some(known) => known.vol_frac += vol_frac,
                    None => base.push(Share { component: Arc::clone(&share.component), vol_frac }),
                }
            }
        }
        base.retain(|s| s.vol_frac > 0.0);
        let total: f64 = base.iter().map(|s| s.vol_frac).sum();
        base.iter_mut().for_each(|s| s.vol_frac /= total);
        Ok(Self {
            name: name.to_owned(),
            title: shares
                .iter()
                .map(|(f, v)| format!("{:.1} % {}", 100.0 * v, f.title))
                .collect::<Vec<_>>()
                .join(" + "),
            base,
            ethanol: ContentRange {
                low: mean(|f| f.ethanol.low).clamp(0.0, likely),
                likely,
                high: mean(|f| f.ethanol.high).clamp(likely, 1.0),
            },
            best_power_lambda: mean(|f| f.best_power_lambda),
            sources: shares.iter().flat_map(|(f, _)| f.sources.iter().cloned()).collect(),
            ethanol_component,
        })
    }

    /// Where the figures of its components come from, one text for each group.
    pub fn component_sources(&self) -> Vec<String> {
        let ethanol = (self.ethanol.high > 0.0).then_some(&self.ethanol_component);
        let components = self.base.iter().map(|s| &s.component).chain(ethanol);
        components
            .flat_map(|c| {
                let s = &c.sources;
                [
                    ("composition", &s.composition),
                    ("density", &s.density),
                    ("heat", &s.heat),
                    ("octane", &s.octane),
                    ("vapour", &s.vapour),
                ]
                .into_iter()
                .filter(|(_, text)| !text.is_empty())
                .map(|(group, text)| format!("{}: {group}: {text}", c.name))
            })
            .collect()
    }

    /// A component taken as a fuel by itself.
    pub(super) fn pure(component: &Arc<Component>, ethanol_component: Arc<Component>) -> Self {
        let is_ethanol = component.name == ethanol_component.name;
        let content = if is_ethanol { 1.0 } else { 0.0 };
        let base = Share { component: Arc::clone(component), vol_frac: 1.0 };
        Self {
            name: component.name.clone(),
            title: component.title.clone(),
            base: if is_ethanol { Vec::new() } else { vec![base] },
            ethanol: ContentRange::known(content),
            best_power_lambda: best_power_lambda(content),
            sources: vec![format!("{}: see the component", component.name)],
            ethanol_component,
        }
    }
}

/// Where the lambda of best power comes from, in words.
pub const BEST_POWER_LAMBDA_SOURCE: &str = "0.87 for gasoline (Heywood, Internal Combustion Engine Fundamentals, \
     1988, from memory; 0.85 to 0.90), 0.86 for E85 (common practice, no source); the optimum is flat";

/// Lambda at best power by ethanol content [-]: see [`BEST_POWER_LAMBDA_SOURCE`]; straight between
/// gasoline and E85, constant above 85 %.
pub fn best_power_lambda(ethanol_vol_frac: f64) -> f64 {
    0.87 - 0.01 * (ethanol_vol_frac / 0.85).clamp(0.0, 1.0)
}
