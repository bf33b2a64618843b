//! The page of `endgas live` in a real browser. Without one the test says so and passes.

use crate::common::browser::Browser;
use crate::common::live::Served;
use serde_json::{Value, json};
use std::time::{Duration, Instant};

/// Keys as WebDriver codes them (W3C WebDriver, keyboard actions).
const ARROW_RIGHT: &str = "\u{E014}";
/// Key under which WebDriver names an element.
const ELEMENT: &str = "element-6066-11e4-a52e-4f735466cecf";
/// Longest wait for the page to come to rest.
const REST: Duration = Duration::from_secs(10);

impl Browser {
    fn open(&self, address: &str, wanted: &str) {
        // A new page and not only another fragment of the same one.
        self.post("/url", json!({ "url": "about:blank" }));
        self.post("/url", json!({ "url": address }));
        self.wait_for(wanted);
    }

    /// Waits until the page says that it is in a state.
    fn wait_for(&self, wanted: &str) {
        self.wait_until(&format!("document.body.dataset.state === '{wanted}'"));
    }

    /// Waits until the page is at rest with a control as wanted. Keys and pointer arrive after they were sent.
    fn wait_for_control(&self, wanted: &str) {
        self.wait_until(&format!("{wanted} && document.body.dataset.state === 'settled'"));
    }

    fn wait_until(&self, wanted: &str) {
        let end = Instant::now() + REST;
        while self.script(&format!("return {wanted}")) != true {
            assert!(Instant::now() < end, "not {wanted}: {}", self.script("return document.body.innerText"));
            std::thread::sleep(Duration::from_millis(30));
        }
    }

    /// The path of the curve that moves, in a plot.
    fn curve(&self, plot: &str) -> String {
        let found = self.script(&format!(
            "return document.querySelector('#{plot} path[data-name=now]').getAttribute('d')"
        ));
        found.as_str().unwrap().to_owned()
    }

    fn value(&self, id: &str) -> f64 {
        self.script(&format!("return Number(document.getElementById('{id}').value)")).as_f64().unwrap()
    }

    fn element(&self, selector: &str) -> Value {
        self.post("/element", json!({ "using": "css selector", "value": selector }))
    }

    fn press(&self, selector: &str, keys: &str) {
        let element = self.element(selector);
        self.post(&format!("/element/{}/value", element[ELEMENT].as_str().unwrap()), json!({ "text": keys }));
    }

    /// Drags with the mouse from the middle of an element.
    fn drag(&self, selector: &str, by_px: i32) {
        let origin = self.element(selector);
        let step =
            |x: i32| json!({ "type": "pointerMove", "duration": 60, "origin": origin, "x": x, "y": 0 });
        let down = json!({ "type": "pointerDown", "button": 0 });
        let up = json!({ "type": "pointerUp", "button": 0 });
        let actions = [step(0), down, step(by_px / 2), step(by_px), up];
        self.post("/actions", json!({ "actions": [
            { "type": "pointer", "id": "mouse", "parameters": { "pointerType": "mouse" }, "actions": actions }
        ]}));
    }
}

#[test]
fn the_page_in_a_browser() {
    let Some(browser) = Browser::start() else { return };
    let served = Served::start(&[]);
    let page = format!("http://127.0.0.1:{}/", served.port);
    browser.open(&page, "settled");
    let loaded = browser.curve("plot-power");
    controls_are_named_and_nothing_else_is_asked(&browser, &page);
    let moved = a_hand_and_a_key_move_the_curves(&browser, &loaded);
    an_address_restores_the_state(&browser, &moved);
    a_reset_is_the_scenario(&browser, &loaded);
    a_wrong_address_is_told(&browser, &page);
    it_fits_a_phone_and_prints(&browser, &page);
    let severe: Vec<Value> = browser
        .post("/se/log", json!({ "type": "browser" }))
        .as_array()
        .unwrap()
        .iter()
        // The browser itself logs the refusal that a wrong address is meant to meet.
        .filter(|entry| !entry["message"].as_str().unwrap().contains("400 (Bad Request)"))
        .cloned()
        .collect();
    assert!(severe.is_empty(), "{severe:?}");
}

fn controls_are_named_and_nothing_else_is_asked(browser: &Browser, page: &str) {
    let unnamed = browser.script(
        "return [...document.querySelectorAll('input, select')]\
         .filter(i => !i.labels.length && !i.ariaLabel).map(i => i.outerHTML)",
    );
    assert_eq!(unnamed, json!([]));
    let plots = browser.script("return [...document.querySelectorAll('figure > svg')].map(s => s.ariaLabel)");
    let plots = plots.as_array().unwrap();
    assert!(plots.len() == 4 && plots.iter().all(|said| said.as_str().unwrap().contains("over rpm")));
    let asked = browser.script("return performance.getEntriesByType('resource').map(e => e.name)");
    assert!(asked.as_array().unwrap().iter().all(|name| name.as_str().unwrap().starts_with(page)), "{asked}");
    let rows = browser.script("return document.querySelectorAll('#table tbody tr').length");
    assert_eq!(rows, 11, "the table has every speed");
}

/// Returns the curves and the ratio that were left.
fn a_hand_and_a_key_move_the_curves(browser: &Browser, loaded: &str) -> (String, f64) {
    assert_eq!(browser.value("compression_ratio"), 12.5);
    // From the middle, a ratio of 12, not so far that knock no longer sets the spark.
    browser.drag("#compression_ratio", -20);
    browser.wait_for_control("document.getElementById('compression_ratio').value < 12");
    let (dragged, ratio) = (browser.curve("plot-power"), browser.value("compression_ratio"));
    assert!((10.5..12.0).contains(&ratio), "{ratio}");
    assert_ne!(dragged, loaded);
    let margins = browser.curve("plot-margin");
    browser.press("#reserve_octane", &ARROW_RIGHT.repeat(14));
    browser.wait_for_control("document.getElementById('reserve_octane').value === '8'");
    assert_ne!(browser.curve("plot-margin"), margins);
    let shown = browser.script("return document.getElementById('n-margin').textContent");
    assert_eq!(shown, "+8.0 at the likely limit");
    (browser.curve("plot-power"), ratio)
}

fn an_address_restores_the_state(browser: &Browser, (curve, ratio): &(String, f64)) {
    let address = browser.script("return location.href").as_str().unwrap().to_owned();
    assert!(address.contains(&format!("compression_ratio={ratio}")), "{address}");
    browser.open(&address, "settled");
    assert_eq!(browser.value("compression_ratio"), *ratio);
    assert_eq!(browser.value("reserve_octane"), 8.0);
    assert_eq!(browser.curve("plot-power"), *curve);
    let save = browser.script("return document.getElementById('save').href");
    assert!(save.as_str().unwrap().contains(&format!("scenario.toml?compression_ratio={ratio}")), "{save}");
}

fn a_reset_is_the_scenario(browser: &Browser, loaded: &str) {
    browser.script("document.getElementById('reset').click()");
    browser.wait_for("settled");
    assert_eq!(browser.curve("plot-power"), loaded);
    assert_eq!(browser.script("return location.hash"), "");
}

fn a_wrong_address_is_told(browser: &Browser, page: &str) {
    browser.open(&format!("{page}#compression_ratio=99"), "trouble");
    let said = browser.script("return document.getElementById('trouble').innerText");
    assert_eq!(
        said,
        "compression_ratio = \"99\": it takes a number from 6 to 18. Shown is the last setting that runs."
    );
}

fn it_fits_a_phone_and_prints(browser: &Browser, page: &str) {
    let phone = json!({ "width": 360, "height": 740, "deviceScaleFactor": 1, "mobile": true });
    browser.devtools("Emulation.setDeviceMetricsOverride", phone);
    browser.open(page, "settled");
    let width = browser.script("return document.documentElement.scrollWidth").as_f64().unwrap();
    assert!(width <= 360.0, "{width}");
    browser.devtools("Emulation.clearDeviceMetricsOverride", json!({}));
    browser.devtools("Emulation.setEmulatedMedia", json!({ "media": "print" }));
    let hidden = browser.script(
        "return ['#compression_ratio', '.actions', '#plot-power', '#caution']\
         .map(s => getComputedStyle(document.querySelector(s)).display)",
    );
    assert_eq!(hidden, json!(["none", "none", "block", "block"]));
    let sheet = browser.post("/print", json!({}));
    // A PDF begins "%PDF-"; this is its first five bytes in base 64, less what the sixth decides.
    assert!(sheet.as_str().unwrap().starts_with("JVBERi"), "no PDF");
}
