//! Knock: how far the end gas is from autoignition.
//!
//! The ignition integral I of the end gas is taken for octane number 100. A fuel of octane index
//! OI reaches I (OI/100)^-b, so the index that just reaches 1 is the octane requirement
//! 100 I^(1/b), b the octane exponent of the delay law.

pub mod delay;

use crate::cycle::{CycleState, Watch};
use crate::engine::Injection;
use crate::lanes::Lanes;
pub use delay::{BlendDelay, EndGas, KnockFit};

/// Burned fraction at which the integral stops [-]: the last tenth burns in cooled layers at the
/// walls, where autoignition is not heard (85 to 90 % is usual; common practice, no source).
pub const END_OF_INTEGRAL: f64 = 0.90;

/// Integral of dt / tau of the end gas at octane number 100 (Livengood and Wu 1955; `from memory`).
///
/// The temperature is that of the adiabatic core of the unburned gas: autoignition begins where the
/// walls have not cooled it.
///
/// Feed it every state of the closed cycle in order. Between two states the rate is taken to grow
/// exponentially.
///
/// # Example
/// Gas held for 1 ms at 40 bar and 850 K, where the integral is simply time over delay. In a cycle,
/// give `|state| integral.add(state)` to [`crate::cycle::ClosedCycle::run`].
/// ```
/// use endgas::cycle::CycleState;
/// use endgas::knock::{BlendDelay, EndGas, KnockFit, KnockIntegral, ln_integral_allowed, octane_requirement};
/// let gas = EndGas { lambda: 0.9, residual_frac: 0.05, water_mole_frac: 0.01, ethanol_mole_frac: 0.1 };
/// let law = BlendDelay::new(&KnockFit::SHIPPED, &gas, 3000.0);
/// let mut integral = KnockIntegral::new(law);
/// for step in 0..=20 {
///     integral.add(&CycleState {
///         crank_angle_deg: 0.9 * f64::from(step),
///         time_s: 5e-5 * f64::from(step),
///         pressure_pa: 40e5,
///         unburned_temperature_k: 840.0,
///         burned_temperature_k: 0.0,
///         core_temperature_k: 850.0,
///         burn_fraction: 0.0,
///     });
/// }
/// assert!((integral.value() * law.delay_at_100_s(40e5, 850.0) / 1e-3 - 1.0).abs() < 1e-9);
///
/// // A fuel of just the required octane index brings the integral to 1.
/// let required = octane_requirement(integral.value(), law.octane_exponent());
/// let stood = ln_integral_allowed(required, law.octane_exponent());
/// assert!((stood - integral.value().ln()).abs() < 1e-12);
/// ```
#[derive(Clone, Copy, Debug)]
pub struct KnockIntegral<N = f64> {
    law: BlendDelay<N>,
    sum: N,
    /// Of the last state that counted: time, burned fraction, rate and its logarithm.
    last: [N; 4],
    /// 1 once a state has counted.
    begun: N,
}

/// Temperature of the core below which nothing counts [K].
const COOLEST_K: f64 = 500.0;

impl KnockIntegral {
    /// An empty integral.
    pub fn new(law: BlendDelay) -> Self {
        Self { law, sum: 0.0, last: [0.0; 4], begun: 0.0 }
    }

    /// Adds the span up to this state.
    #[inline]
    pub fn add(&mut self, state: &CycleState) {
        self.add_where(state, true);
    }

    /// The integral at octane number 100 [-].
    pub fn value(&self) -> f64 {
        self.sum
    }
}

impl<N: Lanes> KnockIntegral<N> {
    #[inline(always)]
    fn add_where(&mut self, state: &CycleState<N>, going: N::Mask) {
        let [old_time, old_fraction, from, old_ln] = self.last;
        let (end, one) = (old_time.everywhere(END_OF_INTEGRAL), old_time.everywhere(1.0));
        let counts = going
            & !state.core_temperature_k.is_below(old_time.everywhere(COOLEST_K))
            & old_fraction.is_below(end);
        if N::all(!counts) {
            return;
        }
        let ln = -self.law.ln_delay_at_100(state.pressure_pa, state.core_temperature_k);
        // The span that crosses the end of the integral counts up to the end alone.
        let crosses = end.is_below(state.burn_fraction);
        let upto = -(old_fraction - END_OF_INTEGRAL) / (state.burn_fraction - old_fraction);
        let part = N::select(crosses, upto, one);
        let growth = part * (ln - old_ln);
        let to = (old_ln + growth).exp();
        let is_level = (growth * growth).is_below(old_time.everywhere(1e-6));
        let level = from * (growth * (growth * (1.0 / 6.0) + 0.5) + 1.0);
        let mean = N::select(is_level, level, (to - from) / growth);
        let whole = mean * part * (state.time_s - old_time);
        let spans = counts & old_time.everywhere(0.5).is_below(self.begun);
        self.sum = N::select(spans, self.sum + whole, self.sum);
        self.last = [
            N::select(counts, state.time_s, old_time),
            N::select(counts, state.burn_fraction, old_fraction),
            N::select(counts, to, from),
            N::select(counts, ln, old_ln),
        ];
        self.begun = N::select(counts, one, self.begun);
    }
}

impl Watch for KnockIntegral {
    type Beside<N: Lanes> = KnockIntegral<N>;

    #[inline(always)]
    fn beside<N: Lanes>(token: N::Token, of: impl Fn(usize) -> Self) -> KnockIntegral<N> {
        let each = |get: fn(Self) -> f64| N::gathered(token, |lane| get(of(lane)));
        KnockIntegral {
            law: BlendDelay::beside(token, |lane| of(lane).law),
            sum: each(|integral| integral.sum),
            last: std::array::from_fn(|i| N::gathered(token, |lane| of(lane).last[i])),
            begun: each(|integral| integral.begun),
        }
    }

    #[inline(always)]
    fn see<N: Lanes>(integral: &mut KnockIntegral<N>, state: &CycleState<N>, going: N::Mask) {
        integral.add_where(state, going);
    }

    #[inline(always)]
    fn seen_at<N: Lanes>(self, integral: &KnockIntegral<N>, lane: usize) -> Self {
        Self {
            law: self.law,
            sum: integral.sum.lane(lane),
            last: integral.last.map(|of| of.lane(lane)),
            begun: integral.begun.lane(lane),
        }
    }
}

/// Deposits in the chambers and what they add to the octane that an engine needs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Deposits {
    /// A fresh engine.
    #[default]
    Clean,
    /// As after some 15 000 miles.
    Usual,
    /// As in an engine that idles, burns oil or runs on fuel without detergent.
    Heavy,
}

impl Deposits {
    /// All with the word for each.
    pub const ALL: [(&'static str, Self); 3] =
        [("clean", Self::Clean), ("usual", Self::Usual), ("heavy", Self::Heavy)];

    /// Octane numbers that the engine needs more than when it was clean [-].
    ///
    /// # Source
    /// 3 to 6 over the first 10 000 to 15 000 miles in carburetted and port-injected engines, 6 to 9 in older ones
    /// (`from memory`): 4.5 and 7.5, the middles.
    pub fn octane(self) -> f64 {
        match self {
            Self::Clean => 0.0,
            Self::Usual => 4.5,
            Self::Heavy => 7.5,
        }
    }

    /// The word for it.
    pub fn key(self) -> &'static str {
        Self::ALL.iter().find(|(_, deposits)| *deposits == self).map_or("", |(key, _)| *key)
    }
}

/// Octane numbers that one engine needs beyond the model [-].
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct OwnNeed {
    /// For its deposits and a weak tank.
    pub allowed: f64,
    /// As known points have shown, at [`delay::DAMPING_SPEED_RPM`].
    pub shown: f64,
    /// The same per unit of ln speed.
    pub shown_per_ln_speed: f64,
}

impl OwnNeed {
    /// All of it at a speed [rpm].
    pub fn octane(&self, speed_rpm: f64) -> f64 {
        self.allowed + self.shown + self.shown_per_ln_speed * ln_speed(speed_rpm)
    }
}

/// ln of a speed [rpm] over that at which the knock model is surest.
pub fn ln_speed(speed_rpm: f64) -> f64 {
    (speed_rpm / delay::DAMPING_SPEED_RPM).ln()
}

/// Octane requirement [-]: the octane index at which an integral taken at octane 100 would be 1.
pub fn octane_requirement(integral_at_100: f64, octane_exponent: f64) -> f64 {
    100.0 * integral_at_100.powf(1.0 / octane_exponent)
}

/// Natural logarithm of the ignition integral at octane 100 that a fuel of the given octane index just
/// stands: ln (OI/100)^b, the inverse of [`octane_requirement`].
pub fn ln_integral_allowed(octane_index: f64, octane_exponent: f64) -> f64 {
    octane_exponent * (octane_index / 100.0).ln()
}

/// Weight K of the sensitivity of gasoline in the octane index, OI = RON - K S (Kalghatgi, SAE 2001-01-3584; form read in the abstract of
/// Zhou et al., SAE 2017-01-0666).
///
/// Port injection, naturally aspirated, full load: 0 (-0.2 to 0.2; Kalghatgi 2001 and Mittal and Heywood SAE
/// 2009-01-2622, `from memory`). Direct injection: -0.1 (-0.8 to 0, the low values in boosted or cool engines, same
/// sources); its charge cooling is counted in the charge temperature, not here.
pub fn sensitivity_weight(injection: Injection) -> f64 {
    match injection {
        Injection::Port => 0.0,
        Injection::Direct => -0.1,
    }
}
