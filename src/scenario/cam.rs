//! As meant: the valve events of `[valves]`, stated or from the cam card in `[valves.cam]`.

use super::parts::mm_to_m;
use crate::engine::cam::{Advertised, Cam, CamFault, CardLift, DurationAt, EventLift, Lobe, LobeCard};
use crate::engine::volumes::SEATED_LATER_DEG;
use crate::engine::{BuildKind, Injection};
use crate::input::{Expected, KeyWay, Section};
use crate::units::{Allowed, Unit};

/// Effective closing and opening, and overlap, that an engine may have.
const EVENT: Allowed = Unit::CrankDegree.of(10.0..=100.0);
const OVERLAP: Allowed = Unit::CrankDegree.of(0.0..=150.0);
/// Durations of a card, and what it advertises.
const DURATION: Allowed = Unit::CrankDegree.of(150.0..=340.0);
const ADVERTISED: Allowed = Unit::CrankDegree.of(180.0..=400.0);
const ADVERTISED_LIFT: Allowed = Unit::Millimetre.of(0.05..=0.6);
/// Lifts of lobe and valve.
const LOBE_LIFT: Allowed = Unit::Millimetre.of(3.0..=15.0);
const VALVE_LIFT: Allowed = Unit::Millimetre.of(3.0..=25.0);
const ROCKER_RATIO: Allowed = Unit::None.of(0.9..=2.5);
const LASH: Allowed = Unit::Millimetre.of(0.02..=1.0);
/// Lobe separation and centres of lobes: those of one lobe in degrees of crank, separation in degrees of cam.
const CENTRE: Allowed = Unit::CrankDegree.of(80.0..=140.0);
const ADVANCE: Allowed = Unit::CrankDegree.of(-20.0..=20.0);

/// Valve events by which the engine breathes, at about 1 mm of lift.
#[derive(Clone, Copy, Debug)]
pub(super) struct Events {
    pub inlet_closes_deg_abdc: f64,
    pub exhaust_opens_deg_bbdc: f64,
    pub overlap_deg: f64,
    pub inlet_seats_later_deg: f64,
    /// The card they come from, where one is given.
    pub cam: Option<Cam>,
}

impl Events {
    /// Those usual of a kind of build.
    pub(super) fn usual(kind: BuildKind, injection: Injection) -> Self {
        let (inlet_closes_deg_abdc, exhaust_opens_deg_bbdc, overlap_deg) = kind.usual_events_deg(injection);
        let inlet_seats_later_deg = SEATED_LATER_DEG;
        Self { inlet_closes_deg_abdc, exhaust_opens_deg_bbdc, overlap_deg, inlet_seats_later_deg, cam: None }
    }
}

const CLOSES: &str = "inlet_closes_deg_abdc";
/// Keys that give the events, in either way.
pub(super) const EVENT_KEYS: [&str; 4] = ["cam", CLOSES, "exhaust_opens_deg_bbdc", "overlap_deg"];

/// The events of `[valves]`.
pub(super) fn events(s: &mut Section<'_, '_>) -> Option<Events> {
    s.one_of(
        None,
        &[
            KeyWay { words: "[valves.cam]", keys: &["cam"], read: &|s| s.sub("cam", true, of_card) },
            KeyWay {
                words: "the events at 1 mm",
                keys: &[CLOSES, "exhaust_opens_deg_bbdc", "overlap_deg"],
                read: &|s| {
                    let closes = s.number(CLOSES, EVENT);
                    let opens = s.number("exhaust_opens_deg_bbdc", EVENT);
                    let overlap = s.number("overlap_deg", OVERLAP);
                    Some(Events {
                        inlet_closes_deg_abdc: closes?,
                        exhaust_opens_deg_bbdc: opens?,
                        overlap_deg: overlap?,
                        inlet_seats_later_deg: SEATED_LATER_DEG,
                        cam: None,
                    })
                },
            },
        ],
    )
}

/// `[valves.cam]`.
fn of_card(s: &mut Section<'_, '_>) -> Option<Events> {
    let lashes = lashes(s);
    let ratio = s.number("rocker_ratio", ROCKER_RATIO);
    let exhaust_ratio = s.optional_number("exhaust_rocker_ratio", ROCKER_RATIO);
    let advertised_m = s.optional_number("advertised_lift_mm", ADVERTISED_LIFT).map(mm_to_m);
    let (inlet, exhaust) = (card(s, &INLET), card(s, &EXHAUST));
    s.goes_with("advertised_lift_mm", INLET.advertised, "no advertised intake duration is given");
    let centres = centres(s);
    let lashes = lashes?;
    let inlet = lobe(s, &INLET, inlet?.driven(ratio?, lashes.0, advertised_m));
    let exhaust = lobe(s, &EXHAUST, exhaust?.driven(exhaust_ratio.or(ratio)?, lashes.1, advertised_m));
    let (inlet_centre_deg_atdc, exhaust_centre_deg_btdc) = centres?;
    let cam = Cam { inlet: inlet?, exhaust: exhaust?, inlet_centre_deg_atdc, exhaust_centre_deg_btdc };
    is_within(s, &cam).then(|| {
        let at = cam.events(EventLift::Valve1Mm);
        Events {
            inlet_closes_deg_abdc: at.inlet_closes_deg_abdc,
            exhaust_opens_deg_bbdc: at.exhaust_opens_deg_bbdc,
            overlap_deg: at.overlap_deg().max(0.0),
            inlet_seats_later_deg: cam.inlet_seats_later_deg(),
            cam: Some(cam),
        }
    })
}

/// Whether the events at 1 mm are those of an engine; notes which are not.
fn is_within(s: &mut Section<'_, '_>, cam: &Cam) -> bool {
    let at = cam.events(EventLift::Valve1Mm);
    let overlap_deg = at.overlap_deg().max(0.0);
    // Adding 0 takes the sign off a zero.
    let whole = |deg: f64| deg.round() + 0.0;
    let within = [
        (
            EVENT,
            at.inlet_closes_deg_abdc,
            format!("close the intake {} deg after bottom dead centre", whole(at.inlet_closes_deg_abdc)),
        ),
        (
            EVENT,
            at.exhaust_opens_deg_bbdc,
            format!("open the exhaust {} deg before bottom dead centre", whole(at.exhaust_opens_deg_bbdc)),
        ),
        (OVERLAP, overlap_deg, format!("have an overlap of {overlap_deg:.0} deg")),
    ];
    let key = if s.has(INLET_CENTRE) { INLET_CENTRE } else { ADVANCED };
    let mut is_within = true;
    for (allowed, deg, what) in within {
        if !allowed.range().contains(&deg) {
            let why = format!("at 1 mm of valve lift the cam would {what}; {} is allowed", allowed.ends());
            let hint = "lobe separation is in degrees of cam, every other angle in degrees of crank";
            s.contradiction(key, &why, Some(hint.to_owned()));
            is_within = false;
        }
    }
    is_within
}

/// Keys of one lobe.
struct LobeKeys {
    at_050_in: &'static str,
    at_1_mm_valve: &'static str,
    at_1_mm_lifter: &'static str,
    advertised: &'static str,
    lobe_lift: &'static str,
    valve_lift: &'static str,
}

const INLET: LobeKeys = LobeKeys {
    at_050_in: "inlet_duration_050_in_lifter_deg",
    at_1_mm_valve: "inlet_duration_1_mm_valve_deg",
    at_1_mm_lifter: "inlet_duration_1_mm_lifter_deg",
    advertised: "inlet_advertised_duration_deg",
    lobe_lift: "inlet_lobe_lift_mm",
    valve_lift: "inlet_valve_lift_mm",
};
const EXHAUST: LobeKeys = LobeKeys {
    at_050_in: "exhaust_duration_050_in_lifter_deg",
    at_1_mm_valve: "exhaust_duration_1_mm_valve_deg",
    at_1_mm_lifter: "exhaust_duration_1_mm_lifter_deg",
    advertised: "exhaust_advertised_duration_deg",
    lobe_lift: "exhaust_lobe_lift_mm",
    valve_lift: "exhaust_valve_lift_mm",
};
const INLET_CENTRE: &str = "inlet_centreline_deg_atdc";
const ADVANCED: &str = "advance_deg";

/// What a card says of one lobe by itself, its key of duration first.
struct LobeLine {
    key: &'static str,
    duration_deg: f64,
    counted: DurationAt,
    advertised_deg: Option<f64>,
    lift: CardLift,
}

impl LobeLine {
    /// The line with what the lobe drives.
    fn driven(
        &self,
        rocker_ratio: f64,
        lash_m: Option<f64>,
        lift_m: Option<f64>,
    ) -> (&'static str, LobeCard) {
        let advertised = self.advertised_deg.map(|duration_deg| Advertised { duration_deg, lift_m });
        let Self { key, duration_deg, counted, lift, .. } = *self;
        (key, LobeCard { duration_deg, counted, advertised, lift, rocker_ratio, lash_m })
    }
}

/// Lash of inlet and exhaust [m], none with hydraulic followers.
type Lashes = (Option<f64>, Option<f64>);

/// What rides on the cam: hydraulic followers, or solid ones, which their lash tells.
fn lashes(s: &mut Section<'_, '_>) -> Option<Lashes> {
    const FOLLOWERS: &str = "followers";
    const KEYS: [&str; 2] = ["inlet_lash_mm", "exhaust_lash_mm"];
    let hydraulic = Expected::Word(vec!["hydraulic"]);
    let ways = format!("{hydraulic}; or give {} of solid followers", KEYS[0]);
    s.one_of(
        Some((FOLLOWERS, Expected::OneOf(ways))),
        &[
            KeyWay {
                words: "followers = \"hydraulic\"",
                keys: &[FOLLOWERS],
                read: &|s| {
                    let is_solid = s.find(FOLLOWERS).is_some_and(|g| g.value().as_str() == Some("solid"));
                    if is_solid {
                        let why = "solid followers have lash: give inlet_lash_mm in its place";
                        s.contradiction(FOLLOWERS, why, None);
                        return None;
                    }
                    s.word(FOLLOWERS, &[("hydraulic", (None, None))])
                },
            },
            KeyWay {
                words: KEYS[0],
                keys: &KEYS,
                read: &|s| {
                    let inlet = s.number(KEYS[0], LASH).map(mm_to_m);
                    let exhaust = s.optional_number(KEYS[1], LASH).map(mm_to_m);
                    inlet.map(|inlet| (Some(inlet), exhaust.or(Some(inlet))))
                },
            },
        ],
    )
}

/// Duration, advertised duration and lift of one lobe.
fn card(s: &mut Section<'_, '_>, keys: &LobeKeys) -> Option<LobeLine> {
    let LobeKeys { at_050_in, at_1_mm_valve, at_1_mm_lifter, .. } = *keys;
    let ways =
        format!("{DURATION}, counted at 0.050 in of the lifter; or give {at_1_mm_valve} or {at_1_mm_lifter}");
    let read = |s: &mut Section<'_, '_>, key: &'static str, at: DurationAt| {
        Some((key, s.number(key, DURATION)?, at))
    };
    let duration = s.one_of(
        Some((at_050_in, Expected::OneOf(ways))),
        &[
            KeyWay {
                words: at_050_in,
                keys: &[at_050_in],
                read: &|s| read(s, at_050_in, DurationAt::Lifter050In),
            },
            KeyWay {
                words: at_1_mm_valve,
                keys: &[at_1_mm_valve],
                read: &|s| read(s, at_1_mm_valve, DurationAt::Valve1Mm),
            },
            KeyWay {
                words: at_1_mm_lifter,
                keys: &[at_1_mm_lifter],
                read: &|s| read(s, at_1_mm_lifter, DurationAt::Lifter1Mm),
            },
        ],
    );
    let advertised_deg = s.optional_number(keys.advertised, ADVERTISED);
    let (lobe, valve) = (keys.lobe_lift, keys.valve_lift);
    let ways = format!("{LOBE_LIFT}; or give {valve}, lobe lift times rocker ratio");
    let lift = s.one_of(
        Some((lobe, Expected::OneOf(ways))),
        &[
            KeyWay {
                words: lobe,
                keys: &[lobe],
                read: &|s| Some(CardLift::Lobe(mm_to_m(s.number(lobe, LOBE_LIFT)?))),
            },
            KeyWay {
                words: valve,
                keys: &[valve],
                read: &|s| Some(CardLift::Valve(mm_to_m(s.number(valve, VALVE_LIFT)?))),
            },
        ],
    );
    let (key, duration_deg, counted) = duration?;
    Some(LobeLine { key, duration_deg, counted, advertised_deg, lift: lift? })
}

/// Centres of the lobes [deg after, deg before top dead centre].
fn centres(s: &mut Section<'_, '_>) -> Option<(f64, f64)> {
    const SEPARATION: &str = "lobe_separation_deg";
    const EXHAUST_CENTRE: &str = "exhaust_centreline_deg_btdc";
    let ways = format!("{CENTRE}; or give {EXHAUST_CENTRE}");
    let one = |s: &mut Section<'_, '_>, key: &'static str, allowed: Allowed, is_first: bool| {
        Some((s.number(key, allowed)?, is_first))
    };
    let exhaust = s.one_of(
        Some((SEPARATION, Expected::OneOf(ways))),
        &[
            KeyWay { words: SEPARATION, keys: &[SEPARATION], read: &|s| one(s, SEPARATION, CENTRE, true) },
            KeyWay {
                words: EXHAUST_CENTRE,
                keys: &[EXHAUST_CENTRE],
                read: &|s| one(s, EXHAUST_CENTRE, CENTRE, false),
            },
        ],
    );
    let ways = format!("{CENTRE}; or give {ADVANCED}, 0 is straight up");
    let inlet = s.one_of(
        Some((INLET_CENTRE, Expected::OneOf(ways))),
        &[
            KeyWay {
                words: INLET_CENTRE,
                keys: &[INLET_CENTRE],
                read: &|s| one(s, INLET_CENTRE, CENTRE, true),
            },
            KeyWay { words: ADVANCED, keys: &[ADVANCED], read: &|s| one(s, ADVANCED, ADVANCE, false) },
        ],
    );
    // Separation is half of the way from one centre to the other; the advance moves both.
    Some(match (inlet?, exhaust?) {
        ((inlet, true), (separation, true)) => (inlet, 2.0 * separation - inlet),
        ((inlet, true), (exhaust, false)) => (inlet, exhaust),
        ((advance, false), (separation, true)) => (separation - advance, separation + advance),
        ((advance, false), (exhaust, false)) => (exhaust - 2.0 * advance, exhaust),
    })
}

/// The lobe of a card, with its key of duration; notes why there is none.
fn lobe(s: &mut Section<'_, '_>, keys: &LobeKeys, (key, card): (&'static str, LobeCard)) -> Option<Lobe> {
    match Lobe::new(&card) {
        Ok(lobe) => Some(lobe),
        Err(CamFault::LiftTooSmall) => {
            let lift = if s.has(keys.lobe_lift) { keys.lobe_lift } else { keys.valve_lift };
            s.contradiction(lift, "with rocker ratio and lash it leaves the valve less than 2 mm", None);
            None
        }
        Err(CamFault::Advertised { allowed_deg: (least, most) }) => {
            let why = format!(
                "with {key} = {} and this lift it takes {:.0} to {:.0} deg",
                card.duration_deg,
                least.ceil(),
                most.floor()
            );
            let hint = "an advertised duration counts at 0.006 in of the lifter with hydraulic and at 0.020 in with solid \
                        followers, or at advertised_lift_mm";
            s.contradiction(keys.advertised, &why, Some(hint.to_owned()));
            None
        }
    }
}
