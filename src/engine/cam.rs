//! Cam cards: from durations, lift and position to the lift of lifter and valve over crank angle, and to the valve events
//! at any lift.
//!
//! A lobe lifts its lifter by l(a) = L (1 - (|a| / h)^2.5)^m at a degrees of crank from its centre, and by nothing beyond h. It
//! is the square of a parabola, a cam of the textbooks, with two free exponents' worth of shape: h and m are those with which the
//! curve passes through the durations of the card. The 2.5 gives usual lobes the fullness that their durations at 0.200 in
//! show (common practice, no source). The valve has what the rocker makes of it, less the lash.

use crate::units::M_PER_INCH;

/// Lift of the lifter at which durations are compared: 0.050 in [m].
pub const CHECKING_LIFT_M: f64 = 0.050 * M_PER_INCH;
/// Lift of the valve at which its events count for flow [m].
pub const EFFECTIVE_LIFT_M: f64 = 1.0e-3;

/// Lift of the lifter at which advertised durations usually count [m]: 0.006 in with hydraulic, 0.020 in with solid followers
/// (common practice, no source).
const HYDRAULIC_ADVERTISED_LIFT_M: f64 = 0.006 * M_PER_INCH;
const SOLID_ADVERTISED_LIFT_M: f64 = 0.020 * M_PER_INCH;
/// Usual advertised duration at that lift beyond the duration at 0.050 in [deg] (common practice, no source).
const HYDRAULIC_RAMP_DEG: f64 = 52.0;
const SOLID_RAMP_DEG: f64 = 28.0;

/// Power of the angle in the law.
const FULLNESS: f64 = 2.5;
/// Powers m between which a lobe is sought: below, the valve would be dropped on its seat; above, it would hang over it.
const POWERS: (f64, f64) = (1.2, 20.0);
/// Least lift of a lobe, and of a valve without its lash [m]: below, no duration of a card can be had.
const LEAST_LIFT_M: f64 = 2.0e-3;
/// Steps of the mean over half a lobe.
const STEPS: u32 = 360;

/// Where a duration of a card counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DurationAt {
    /// At 0.050 in of the lifter: most cards in inches.
    Lifter050In,
    /// At 1 mm of the lifter.
    Lifter1Mm,
    /// At 1 mm of the valve, lash taken off: most cards of motorcycle and four-valve engines.
    Valve1Mm,
}

/// Greatest lift as a card states it [m].
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CardLift {
    /// Of the lifter, which is that of the lobe; 0.002 to 0.015.
    Lobe(f64),
    /// Of the valve, lobe times rocker ratio, lash not taken off; 0.003 to 0.025.
    Valve(f64),
}

/// Duration that a card advertises.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Advertised {
    /// Duration [deg crank], 180 to 400.
    pub duration_deg: f64,
    /// Lift of the lifter at which it counts [m]; the usual one where the card does not say.
    pub lift_m: Option<f64>,
}

/// What a card says of one lobe and what it drives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LobeCard {
    /// Duration [deg crank], 150 to 340.
    pub duration_deg: f64,
    /// Where that counts.
    pub counted: DurationAt,
    /// Advertised duration, where stated.
    pub advertised: Option<Advertised>,
    /// Greatest lift.
    pub lift: CardLift,
    /// Lift of the valve over that of the lifter [-], 0.9 to 2.5; 1 for a cam that stands on the valve's bucket.
    pub rocker_ratio: f64,
    /// Lash at the valve of solid followers [m]; none with hydraulic followers.
    pub lash_m: Option<f64>,
}

/// Why there is no cam of a card.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CamFault {
    /// The lift is too small to open the valve.
    LiftTooSmall,
    /// The advertised duration does not go with the other one.
    Advertised {
        /// Shortest and longest that does [deg].
        allowed_deg: (f64, f64),
    },
}

/// One lobe with what it drives: lift over crank angle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lobe {
    lobe_lift_m: f64,
    rocker_ratio: f64,
    /// Lash, 0 with hydraulic followers [m].
    lash_m: f64,
    /// Half of the period in which the lifter is off the base circle [deg crank].
    half_base_deg: f64,
    power: f64,
    /// Half of the period from seat to seat [deg crank].
    half_seat_deg: f64,
    is_ramp_usual: bool,
}

/// Angle at which the lifter stands at a lift over that at another [-], for a power of the law.
fn angle_ratio(power: f64, share: f64, other: f64) -> f64 {
    let angle = |share: f64| (1.0 - share.powf(1.0 / power)).max(0.0).powf(1.0 / FULLNESS);
    angle(share) / angle(other)
}

/// The power at which a rising function meets a wanted value; the nearest end where it does not.
fn power_for(wanted: f64, of: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = POWERS;
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if of(middle) < wanted { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

impl Lobe {
    /// The lobe of a card.
    ///
    /// Without an advertised duration the usual ramp is taken: 52 deg from 0.006 to 0.050 in with hydraulic, 28 deg from 0.020 to
    /// 0.050 in with solid followers.
    ///
    /// # Errors
    /// [`CamFault`] where no lobe has these figures.
    ///
    /// # Example
    /// HAND: 230 deg at 0.050 in, 115 on either side of the centre.
    /// ```
    /// use endgas::engine::cam::{CHECKING_LIFT_M, CardLift, DurationAt, Lobe, LobeCard};
    /// let lobe = Lobe::new(&LobeCard {
    ///     duration_deg: 230.0,
    ///     counted: DurationAt::Lifter050In,
    ///     advertised: None,
    ///     lift: CardLift::Lobe(8.1e-3),
    ///     rocker_ratio: 1.5,
    ///     lash_m: None,
    /// })
    /// .unwrap();
    /// assert!((lobe.lifter_lift_m(115.0) - CHECKING_LIFT_M).abs() < 1e-9);
    /// assert!((lobe.valve_lift_m(0.0) - 12.15e-3).abs() < 1e-9);
    /// ```
    pub fn new(card: &LobeCard) -> Result<Self, CamFault> {
        let lobe_lift_m = match card.lift {
            CardLift::Lobe(lift_m) => lift_m,
            CardLift::Valve(lift_m) => lift_m / card.rocker_ratio,
        };
        let lash_m = card.lash_m.unwrap_or(0.0);
        if lobe_lift_m < LEAST_LIFT_M || lobe_lift_m * card.rocker_ratio - lash_m < LEAST_LIFT_M {
            return Err(CamFault::LiftTooSmall);
        }
        let share = |lift_m: f64| lift_m / lobe_lift_m;
        let known = share(match card.counted {
            DurationAt::Lifter050In => CHECKING_LIFT_M,
            DurationAt::Lifter1Mm => EFFECTIVE_LIFT_M,
            DurationAt::Valve1Mm => (EFFECTIVE_LIFT_M + lash_m) / card.rocker_ratio,
        });
        let half_known_deg = 0.5 * card.duration_deg;
        let (usual_lift_m, ramp_deg) = match card.lash_m {
            Some(_) => (SOLID_ADVERTISED_LIFT_M, SOLID_RAMP_DEG),
            None => (HYDRAULIC_ADVERTISED_LIFT_M, HYDRAULIC_RAMP_DEG),
        };
        let advertised_m = card.advertised.and_then(|a| a.lift_m).unwrap_or(usual_lift_m);
        let half_at = |lift_m: f64, power: f64| half_known_deg * angle_ratio(power, share(lift_m), known);
        let power = match card.advertised {
            Some(advertised) => {
                let of = |power: f64| 2.0 * half_at(advertised_m, power);
                let allowed_deg = (of(POWERS.0), of(POWERS.1));
                if !(allowed_deg.0..=allowed_deg.1).contains(&advertised.duration_deg) {
                    return Err(CamFault::Advertised { allowed_deg });
                }
                power_for(advertised.duration_deg, of)
            }
            None => power_for(ramp_deg, |power| {
                2.0 * (half_at(usual_lift_m, power) - half_at(CHECKING_LIFT_M, power))
            }),
        };
        let half_base_deg = half_known_deg * angle_ratio(power, 0.0, known);
        let seat_m = card.lash_m.map_or(advertised_m, |lash_m| lash_m / card.rocker_ratio);
        Ok(Self {
            lobe_lift_m,
            rocker_ratio: card.rocker_ratio,
            lash_m,
            half_base_deg,
            power,
            half_seat_deg: half_at(seat_m, power),
            is_ramp_usual: card.advertised.is_none(),
        })
    }

    /// A lobe ground otherwise: open for longer at every lift, and with more lift of the valve; lash and rocker as they are.
    ///
    /// # Arguments
    /// - `longer_deg`: added to its durations [deg crank]
    /// - `higher_m`: added to the greatest lift of the valve [m]
    ///
    /// # Errors
    /// [`CamFault`] where no lobe has these figures.
    pub fn reground(&self, longer_deg: f64, higher_m: f64) -> Result<Self, CamFault> {
        let seat = Advertised {
            duration_deg: self.duration_deg(EventLift::Seat) + longer_deg,
            lift_m: Some(self.lifter_lift_m(self.half_seat_deg)),
        };
        let lobe = Self::new(&LobeCard {
            duration_deg: self.duration_deg(EventLift::Valve1Mm) + longer_deg,
            counted: DurationAt::Valve1Mm,
            advertised: Some(seat),
            lift: CardLift::Lobe(self.lobe_lift_m + higher_m / self.rocker_ratio),
            rocker_ratio: self.rocker_ratio,
            lash_m: (self.lash_m > 0.0).then_some(self.lash_m),
        })?;
        Ok(Self { is_ramp_usual: self.is_ramp_usual, ..lobe })
    }

    /// Lift of the lifter [m] at an angle from the lobe's centre [deg crank].
    pub fn lifter_lift_m(&self, off_centre_deg: f64) -> f64 {
        let along = (off_centre_deg.abs() / self.half_base_deg).min(1.0);
        self.lobe_lift_m * (1.0 - along.powf(FULLNESS)).powf(self.power)
    }

    /// Lift of the valve [m] at an angle from the lobe's centre [deg crank]: rocker ratio times that of the lifter, less the lash.
    pub fn valve_lift_m(&self, off_centre_deg: f64) -> f64 {
        (self.rocker_ratio * self.lifter_lift_m(off_centre_deg) - self.lash_m).max(0.0)
    }

    /// Half of the period in which the lifter is higher than a lift [m], up to that of the lobe [deg crank].
    fn half_period_deg(&self, lifter_lift_m: f64) -> f64 {
        let share = (lifter_lift_m / self.lobe_lift_m).min(1.0);
        self.half_base_deg * (1.0 - share.powf(1.0 / self.power)).powf(1.0 / FULLNESS)
    }

    /// Half of the period counted at a lift [deg crank].
    fn half_at_deg(&self, lift: EventLift) -> f64 {
        match lift {
            EventLift::Seat => self.half_seat_deg,
            EventLift::Lifter050In => self.half_period_deg(CHECKING_LIFT_M),
            EventLift::Valve1Mm => self.half_period_deg((EFFECTIVE_LIFT_M + self.lash_m) / self.rocker_ratio),
        }
    }

    /// Open period counted at a lift [deg crank].
    pub fn duration_deg(&self, lift: EventLift) -> f64 {
        2.0 * self.half_at_deg(lift)
    }

    /// Greatest lift of the lifter [m].
    pub fn lobe_lift_m(&self) -> f64 {
        self.lobe_lift_m
    }

    /// Greatest lift of the valve, lash taken off [m].
    pub fn greatest_valve_lift_m(&self) -> f64 {
        self.valve_lift_m(0.0)
    }

    /// Area under the lift of the valve from seat to seat [m deg].
    pub fn lift_area_m_deg(&self) -> f64 {
        let step = self.half_seat_deg / f64::from(STEPS);
        let sum: f64 = (0..STEPS).map(|i| self.valve_lift_m((f64::from(i) + 0.5) * step)).sum();
        2.0 * sum * step
    }

    /// Whether the ramp is the usual one, for no advertised duration was stated.
    pub fn is_ramp_usual(&self) -> bool {
        self.is_ramp_usual
    }
}

/// Where an event counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum EventLift {
    /// Where the valve leaves and finds its seat: with solid followers where the lifter has taken up the lash, with hydraulic ones at
    /// the lift of the advertised duration, 0.006 in of the lifter where the card does not say.
    Seat,
    /// At 0.050 in of the lifter.
    #[serde(rename = "lifter_050_in")]
    Lifter050In,
    /// At 1 mm of the valve, lash taken off: the events by which the cylinder breathes and compresses.
    #[serde(rename = "valve_1_mm")]
    Valve1Mm,
}

impl EventLift {
    /// All, the longest period first as a rule.
    pub const ALL: [Self; 3] = [Self::Seat, Self::Valve1Mm, Self::Lifter050In];
}

/// Valve events counted at one lift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ValveEvents {
    /// Inlet opens [deg before top dead centre].
    pub inlet_opens_deg_btdc: f64,
    /// Inlet closes [deg after bottom dead centre].
    pub inlet_closes_deg_abdc: f64,
    /// Exhaust opens [deg before bottom dead centre].
    pub exhaust_opens_deg_bbdc: f64,
    /// Exhaust closes [deg after top dead centre].
    pub exhaust_closes_deg_atdc: f64,
}

impl ValveEvents {
    /// Both valves open [deg crank]; negative where both are shut.
    pub fn overlap_deg(&self) -> f64 {
        self.inlet_opens_deg_btdc + self.exhaust_closes_deg_atdc
    }
}

/// Both lobes, installed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cam {
    /// Lobe of the inlet valves.
    pub inlet: Lobe,
    /// Lobe of the exhaust valves.
    pub exhaust: Lobe,
    /// Centre of the inlet lobe [deg crank after top dead centre], 80 to 140.
    pub inlet_centre_deg_atdc: f64,
    /// Centre of the exhaust lobe [deg crank before top dead centre], 80 to 140.
    pub exhaust_centre_deg_btdc: f64,
}

impl Cam {
    /// Valve events counted at a lift.
    pub fn events(&self, lift: EventLift) -> ValveEvents {
        let (inlet, exhaust) = (self.inlet.half_at_deg(lift), self.exhaust.half_at_deg(lift));
        ValveEvents {
            inlet_opens_deg_btdc: inlet - self.inlet_centre_deg_atdc,
            inlet_closes_deg_abdc: inlet + self.inlet_centre_deg_atdc - 180.0,
            exhaust_opens_deg_bbdc: exhaust + self.exhaust_centre_deg_btdc - 180.0,
            exhaust_closes_deg_atdc: exhaust - self.exhaust_centre_deg_btdc,
        }
    }

    /// How much later than at 1 mm of its lift the inlet valve seats [deg crank].
    pub fn inlet_seats_later_deg(&self) -> f64 {
        self.inlet.half_at_deg(EventLift::Seat) - self.inlet.half_at_deg(EventLift::Valve1Mm)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const V8: LobeCard = LobeCard {
        duration_deg: 230.0,
        counted: DurationAt::Lifter050In,
        advertised: None,
        lift: CardLift::Lobe(0.320 * M_PER_INCH),
        rocker_ratio: 1.5,
        lash_m: None,
    };
    /// A bucket over each valve.
    const BUCKET: LobeCard = LobeCard {
        duration_deg: 240.0,
        counted: DurationAt::Valve1Mm,
        advertised: None,
        lift: CardLift::Valve(10.0e-3),
        rocker_ratio: 1.0,
        lash_m: Some(0.2e-3),
    };

    /// The card passes through what it states, whatever that is.
    #[test]
    fn a_lobe_has_the_durations_and_lift_of_its_card() {
        let lobe = Lobe::new(&V8).unwrap();
        assert_relative_eq!(lobe.duration_deg(EventLift::Lifter050In), 230.0, epsilon = 1e-9);
        assert_relative_eq!(lobe.duration_deg(EventLift::Seat), 282.0, epsilon = 1e-6);
        assert_relative_eq!(lobe.lifter_lift_m(-141.0) / M_PER_INCH, 0.006, epsilon = 1e-6);
        let stated = Advertised { duration_deg: 290.0, lift_m: Some(0.004 * M_PER_INCH) };
        let stated = Lobe::new(&LobeCard { advertised: Some(stated), ..V8 }).unwrap();
        assert_relative_eq!(stated.lifter_lift_m(145.0) / M_PER_INCH, 0.004, epsilon = 1e-6);
        assert_relative_eq!(stated.lifter_lift_m(115.0) / M_PER_INCH, 0.050, epsilon = 1e-6);
        let bucket = Lobe::new(&BUCKET).unwrap();
        // HAND: 1 mm of the valve is 1.2 mm of the lobe; 10 mm on the card are 9.8 mm at the valve.
        assert_relative_eq!(bucket.lifter_lift_m(120.0), 1.2e-3, epsilon = 1e-9);
        assert_relative_eq!(bucket.valve_lift_m(120.0), 1.0e-3, epsilon = 1e-9);
        assert_relative_eq!(bucket.greatest_valve_lift_m(), 9.8e-3, epsilon = 1e-12);
        assert_relative_eq!(
            bucket.valve_lift_m(0.5 * bucket.duration_deg(EventLift::Seat)),
            0.0,
            epsilon = 1e-9
        );
        let ramp = bucket.half_period_deg(SOLID_ADVERTISED_LIFT_M) - bucket.half_period_deg(CHECKING_LIFT_M);
        assert_relative_eq!(2.0 * ramp, 28.0, epsilon = 1e-6);
    }

    /// HAND: 8 deg more at the seat and at 1 mm, 1 mm more at the valve; as it was with neither.
    #[test]
    fn a_lobe_ground_otherwise_has_what_was_added() {
        for card in [V8, BUCKET] {
            let lobe = Lobe::new(&card).unwrap();
            let more = lobe.reground(8.0, 1.0e-3).unwrap();
            for at in [EventLift::Seat, EventLift::Valve1Mm] {
                assert_relative_eq!(more.duration_deg(at), lobe.duration_deg(at) + 8.0, epsilon = 1e-6);
            }
            let lift_m = lobe.greatest_valve_lift_m() + 1.0e-3;
            assert_relative_eq!(more.greatest_valve_lift_m(), lift_m, epsilon = 1e-12);
            let same = lobe.reground(0.0, 0.0).unwrap();
            assert_relative_eq!(same.lift_area_m_deg(), lobe.lift_area_m_deg(), max_relative = 1e-6);
        }
    }

    /// Common practice, no source: a flat hydraulic lobe of 230 deg at 0.050 in and 0.320 in of lift has 138 to 150 deg at 0.200 in.
    #[test]
    fn a_usual_lobe_is_as_full_as_a_usual_lobe_is() {
        let at_200 = 2.0 * Lobe::new(&V8).unwrap().half_period_deg(0.200 * M_PER_INCH);
        assert!((138.0..150.0).contains(&at_200), "{at_200}");
    }

    #[test]
    fn lift_falls_smoothly_from_the_centre_to_nothing() {
        for card in [V8, BUCKET] {
            let lobe = Lobe::new(&card).unwrap();
            let lifts: Vec<f64> = (0..400).map(|i| lobe.lifter_lift_m(0.5 * f64::from(i))).collect();
            assert!(lifts.windows(2).all(|w| w[0] >= w[1] && w[0] - w[1] < 0.3e-3), "{lifts:?}");
            assert_eq!(lobe.lifter_lift_m(lobe.half_base_deg), 0.0);
            let area = lobe.lift_area_m_deg();
            let box_m_deg = lobe.greatest_valve_lift_m() * lobe.duration_deg(EventLift::Seat);
            assert!((0.4..0.65).contains(&(area / box_m_deg)), "{}", area / box_m_deg);
        }
    }

    // HAND: centre at 106, 115 deg of either side: opens 9 before top, closes 106 + 115 - 180 = 41 after bottom. Separation 110 puts
    // the exhaust at 114: 118 of either side opens it 52 before bottom and closes it 4 after top; overlap 9 + 4.
    #[test]
    fn events_by_hand() {
        let (inlet, exhaust) = (V8, LobeCard { duration_deg: 236.0, ..V8 });
        let cam = Cam {
            inlet: Lobe::new(&inlet).unwrap(),
            exhaust: Lobe::new(&exhaust).unwrap(),
            inlet_centre_deg_atdc: 106.0,
            exhaust_centre_deg_btdc: 114.0,
        };
        let at = cam.events(EventLift::Lifter050In);
        let found = [
            at.inlet_opens_deg_btdc,
            at.inlet_closes_deg_abdc,
            at.exhaust_opens_deg_bbdc,
            at.exhaust_closes_deg_atdc,
            at.overlap_deg(),
        ];
        for (found, by_hand) in found.into_iter().zip([9.0, 41.0, 52.0, 4.0, 13.0]) {
            assert_relative_eq!(found, by_hand, epsilon = 1e-9);
        }
        // 67 deg at 0.006 in; 1 mm of this valve lies between the two.
        assert_relative_eq!(cam.events(EventLift::Seat).inlet_closes_deg_abdc, 67.0, epsilon = 1e-6);
        let effective = cam.events(EventLift::Valve1Mm).inlet_closes_deg_abdc;
        assert!((48.0..54.0).contains(&effective), "{effective}");
        assert_relative_eq!(cam.inlet_seats_later_deg(), 67.0 - effective, epsilon = 1e-6);
    }

    #[test]
    fn more_lash_shortens_and_more_ratio_lengthens_what_the_valve_sees() {
        let at = |lash_m: f64, rocker_ratio: f64| {
            let counted = DurationAt::Lifter050In;
            let card = LobeCard {
                counted,
                lash_m: Some(lash_m),
                rocker_ratio,
                lift: CardLift::Lobe(8.0e-3),
                ..BUCKET
            };
            let lobe = Lobe::new(&card).unwrap();
            [EventLift::Seat, EventLift::Valve1Mm].map(|lift| lobe.duration_deg(lift))
        };
        let (less, more, rocked) = (at(0.2e-3, 1.0), at(0.4e-3, 1.0), at(0.2e-3, 1.5));
        assert!((0..2).all(|i| more[i] < less[i] && less[i] < rocked[i]), "{less:?} {more:?} {rocked:?}");
    }

    #[test]
    fn cards_that_cannot_be_are_refused() {
        let lift = |lift_m: f64| Lobe::new(&LobeCard { lift: CardLift::Lobe(lift_m), ..V8 });
        assert_eq!(lift(1.9e-3), Err(CamFault::LiftTooSmall));
        let advertised = |duration_deg: f64| {
            Lobe::new(&LobeCard { advertised: Some(Advertised { duration_deg, lift_m: None }), ..V8 })
        };
        let Err(CamFault::Advertised { allowed_deg: (least, most) }) = advertised(228.0) else { panic!() };
        assert!(230.0 < least && least < 260.0 && 300.0 < most, "{least} {most}");
        assert!(advertised(0.5 * (least + most)).is_ok());
        assert!(advertised(most + 1.0).is_err());
    }
}
