//! Sixteen invented builds of the kinds that a shop sees. Sizes, valves and events are common practice for each kind, no source.

use endgas::choose::Ignition;

/// What one build is told by.
pub struct Invented {
    pub name: &'static str,
    pub kind: &'static str,
    /// Cylinders, bore and stroke [mm], rod length [mm].
    pub block: (u32, f64, f64, f64),
    /// Inlet and exhaust valves a cylinder, and their diameters [mm].
    pub inlet: (u32, f64),
    pub exhaust: (u32, f64),
    /// Inlet closing [deg after bottom dead centre], exhaust opening [deg before it] and overlap [deg].
    pub events_deg: (f64, f64, f64),
    /// Speeds of peak torque and peak power [rpm].
    pub peaks_rpm: (f64, f64),
    pub chamber: &'static str,
    pub injection: &'static str,
    /// Head temperature of an air-cooled engine [C].
    pub head_c: Option<f64>,
    /// Wall temperature that differs from the usual [C]: an iron head runs hotter.
    pub wall_c: Option<f64>,
    pub ignition: Ignition,
}

const TWO_VALVE: Invented = Invented {
    name: "",
    kind: "performance-two-valve",
    block: (8, 102.4, 88.4, 152.4),
    inlet: (1, 51.3),
    exhaust: (1, 40.6),
    events_deg: (58.0, 54.0, 28.0),
    peaks_rpm: (4600.0, 6000.0),
    chamber: "wedge",
    injection: "port",
    head_c: None,
    wall_c: None,
    ignition: Ignition::OneMap,
};

const FOUR_VALVE: Invented = Invented {
    kind: "production-four-valve",
    block: (4, 86.0, 86.0, 145.0),
    inlet: (2, 33.5),
    exhaust: (2, 28.5),
    events_deg: (50.0, 46.0, 16.0),
    peaks_rpm: (4600.0, 6200.0),
    chamber: "pent-roof",
    ignition: Ignition::KnockControl,
    ..TWO_VALVE
};

const AIR_COOLED: Invented = Invented {
    block: (2, 96.0, 75.0, 132.0),
    inlet: (1, 48.0),
    exhaust: (1, 40.0),
    events_deg: (58.0, 56.0, 38.0),
    peaks_rpm: (5600.0, 7000.0),
    chamber: "hemispherical",
    head_c: Some(180.0),
    ..TWO_VALVE
};

/// The builds.
pub const BUILDS: [Invented; 16] = [
    Invented {
        name: "V8, iron heads, carburettor",
        kind: "carburetted-two-valve",
        block: (8, 101.6, 88.4, 144.8),
        inlet: (1, 49.3),
        exhaust: (1, 38.1),
        events_deg: (52.0, 50.0, 20.0),
        peaks_rpm: (3600.0, 5000.0),
        wall_c: Some(210.0),
        ..TWO_VALVE
    },
    Invented {
        name: "V8, iron heads, injection",
        kind: "injected-two-valve",
        block: (8, 101.6, 88.4, 144.8),
        inlet: (1, 49.3),
        exhaust: (1, 38.1),
        events_deg: (50.0, 48.0, 16.0),
        peaks_rpm: (4000.0, 5200.0),
        wall_c: Some(210.0),
        ..TWO_VALVE
    },
    Invented { name: "V8, aluminium heads, carburettor", ..TWO_VALVE },
    Invented {
        name: "V8, aluminium heads, injection",
        block: (8, 103.3, 92.0, 154.9),
        inlet: (1, 53.0),
        exhaust: (1, 40.5),
        events_deg: (55.0, 52.0, 18.0),
        peaks_rpm: (4700.0, 6200.0),
        ignition: Ignition::KnockControl,
        ..TWO_VALVE
    },
    Invented { name: "street four, port", ..FOUR_VALVE },
    Invented {
        name: "street four, direct",
        inlet: (2, 34.0),
        exhaust: (2, 29.0),
        events_deg: (50.0, 46.0, 20.0),
        peaks_rpm: (4600.0, 6400.0),
        injection: "direct",
        ..FOUR_VALVE
    },
    Invented {
        name: "street four, two valves",
        kind: "injected-two-valve",
        block: (4, 83.0, 86.0, 144.0),
        inlet: (1, 40.0),
        exhaust: (1, 33.0),
        events_deg: (48.0, 46.0, 16.0),
        peaks_rpm: (3800.0, 5400.0),
        ..TWO_VALVE
    },
    Invented {
        name: "four-valve V8",
        block: (8, 92.2, 92.7, 153.0),
        inlet: (2, 37.0),
        exhaust: (2, 31.8),
        events_deg: (52.0, 50.0, 20.0),
        peaks_rpm: (4500.0, 6500.0),
        ..FOUR_VALVE
    },
    Invented {
        name: "sport four",
        kind: "sport-four-valve",
        block: (4, 86.0, 86.0, 140.0),
        inlet: (2, 35.5),
        exhaust: (2, 30.0),
        events_deg: (60.0, 55.0, 45.0),
        peaks_rpm: (6200.0, 8000.0),
        ..FOUR_VALVE
    },
    Invented {
        name: "sport four, one map",
        kind: "sport-four-valve",
        block: (4, 81.0, 87.2, 138.0),
        inlet: (2, 34.0),
        exhaust: (2, 28.5),
        events_deg: (59.0, 54.0, 40.0),
        peaks_rpm: (6000.0, 7600.0),
        ignition: Ignition::OneMap,
        ..FOUR_VALVE
    },
    Invented {
        name: "motorcycle four",
        kind: "motorcycle",
        block: (4, 76.0, 55.0, 102.0),
        inlet: (2, 30.0),
        exhaust: (2, 25.5),
        events_deg: (62.0, 58.0, 50.0),
        peaks_rpm: (9000.0, 11_500.0),
        ignition: Ignition::OneMap,
        ..FOUR_VALVE
    },
    Invented {
        name: "motorcycle twin",
        kind: "motorcycle",
        block: (2, 94.0, 67.6, 125.0),
        inlet: (2, 39.0),
        exhaust: (2, 33.0),
        events_deg: (62.0, 58.0, 45.0),
        peaks_rpm: (7000.0, 9200.0),
        ignition: Ignition::OneMap,
        ..FOUR_VALVE
    },
    Invented { name: "air-cooled twin", ..AIR_COOLED },
    Invented {
        name: "air-cooled twin, long stroke",
        kind: "injected-two-valve",
        block: (2, 98.4, 101.6, 190.0),
        inlet: (1, 46.0),
        exhaust: (1, 39.0),
        events_deg: (48.0, 46.0, 20.0),
        peaks_rpm: (3300.0, 5200.0),
        head_c: Some(185.0),
        ..AIR_COOLED
    },
    Invented {
        name: "air-cooled flat four",
        kind: "carburetted-two-valve",
        block: (4, 90.5, 69.0, 137.0),
        inlet: (1, 40.0),
        exhaust: (1, 35.0),
        events_deg: (48.0, 46.0, 18.0),
        peaks_rpm: (3000.0, 4600.0),
        chamber: "wedge",
        head_c: Some(185.0),
        ..AIR_COOLED
    },
    Invented {
        name: "air-cooled flat six",
        block: (6, 97.0, 72.8, 127.0),
        events_deg: (56.0, 54.0, 30.0),
        inlet: (1, 48.0),
        exhaust: (1, 41.0),
        peaks_rpm: (5000.0, 6300.0),
        head_c: Some(175.0),
        ..AIR_COOLED
    },
];

impl Invented {
    /// The scenario of this build on some fuels, written as TOML.
    pub fn scenario(&self, fuels: &str) -> String {
        let (cylinders, bore, stroke, rod) = self.block;
        let (closes, opens, overlap) = self.events_deg;
        let (torque, power) = self.peaks_rpm;
        let optional =
            |key: &str, value: Option<f64>| value.map_or_else(String::new, |c| format!("{key} = {c}\n"));
        let ignition = match self.ignition {
            Ignition::KnockControl => "knock-control",
            Ignition::MapPerFuel => "map-per-fuel",
            Ignition::OneMap => "one-map",
        };
        // Peak torque, peak power, and between and beyond: where the limits are judged and power is made.
        let step = ((power - torque) / 2.0).ceil();
        format!(
            "[scenario]\nname = \"{}\"\n[engine]\ncylinders = {cylinders}\nbore_mm = {bore}\nstroke_mm = {stroke}\n\
             rod_length_mm = {rod}\ncompression_ratio = 10\n[valves]\ninlet_count = {}\ninlet_diameter_mm = {}\nexhaust_count = {}\n\
             exhaust_diameter_mm = {}\ninlet_closes_deg_abdc = {closes}\nexhaust_opens_deg_bbdc = {opens}\noverlap_deg = {overlap}\n\
             [breathing]\nkind = \"{}\"\npeak_torque_rpm = {torque}\npeak_power_rpm = {power}\n[combustion]\nchamber = \"{}\"\n{}{}\
             [injection]\nkind = \"{}\"\n[driveline]\nlayout = \"rear-manual\"\n[weather]\nair_temperature_c = 25\npressure_kpa = 99\n\
             relative_humidity_percent = 40\n[fuels]\nrun = [{fuels}]\n[speed]\nfrom_rpm = {}\nto_rpm = {}\nstep_rpm = {step}\n\
             [choose]\nignition = \"{ignition}\"\n",
            self.name,
            self.inlet.0,
            self.inlet.1,
            self.exhaust.0,
            self.exhaust.1,
            self.kind,
            self.chamber,
            optional("head_temperature_c", self.head_c),
            optional("wall_temperature_c", self.wall_c),
            self.injection,
            torque,
            power + step,
        )
    }
}
