//! The whole job on the page of `endgas live` in a real browser: from an empty form to the printed sheet.
//! Without Chromium and ChromeDriver on PATH the tests say so and pass.

use crate::common::browser::{ARROW_RIGHT, Browser, ENTER, TAB, axe};
use crate::common::cli::scenario;
use crate::common::live::Served;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// Steps of the page, in their order.
const STEPS: [&str; 10] =
    ["build", "makes", "piston", "target", "pull", "injectors", "tank", "timing", "beside", "customer"];

fn address(served: &Served, step: &str) -> String {
    format!("http://127.0.0.1:{}/{step}", served.port)
}

fn demo() -> Served {
    Served::start(&[&scenario("circuit-2400")])
}

fn screen(browser: &Browser, width: u32, dark: bool) {
    let metrics = json!({ "width": width, "height": 844, "deviceScaleFactor": 1, "mobile": width < 600 });
    browser.devtools("Emulation.setDeviceMetricsOverride", metrics);
    let scheme = if dark { "dark" } else { "light" };
    let features = json!([{ "name": "prefers-color-scheme", "value": scheme }]);
    browser.devtools("Emulation.setEmulatedMedia", json!({ "features": features }));
}

fn settled(browser: &Browser) {
    browser.wait_until("document.body.dataset.state === 'settled'");
}

fn text(browser: &Browser, selector: &str) -> String {
    let found = browser.script(&format!("return document.querySelector({selector:?}).innerText"));
    found.as_str().unwrap_or_default().to_owned()
}

fn answered(browser: &Browser, step: &str) -> String {
    browser.wait_until(&format!("document.getElementById('{step}-result').dataset.state === 'done'"));
    text(browser, &format!("#{step}-result"))
}

/// Nothing went wrong that the page did not tell: the browser logged no error but refusals that are meant.
fn nothing_severe(browser: &Browser) {
    let log = browser.post("/se/log", json!({ "type": "browser" }));
    let severe: Vec<&Value> = log
        .as_array()
        .unwrap()
        .iter()
        .filter(|entry| !entry["message"].as_str().unwrap().contains("400 (Bad Request)"))
        .collect();
    assert!(severe.is_empty(), "{severe:?}");
}

/// From an empty page to the printed sheet without a mouse.
fn the_whole_job_by_keyboard(browser: &Browser, width: u32, dark: bool) {
    let served = Served::start(&[]);
    screen(browser, width, dark);
    browser.open(&address(&served, ""));
    settled(browser);
    assert_eq!(text(browser, "#count"), "6 still to state");
    // Pressed too early, all that is missing is told at once, at its field, and the first has the focus.
    browser.tab_to("#run");
    browser.keys(ENTER);
    browser.wait_until("document.querySelectorAll('#form [aria-invalid]').length >= 6");
    assert_eq!(browser.script("return document.activeElement.id"), "in-engine-cylinders");
    browser.keys("4");
    for (field, typed) in [
        ("in-engine-bore_mm", "3.39"),
        ("in-engine-stroke_mm", "86,5"),
        ("in-engine-compression_ratio", "105"),
        ("in-breathing-peak_power_rpm", "6200"),
    ] {
        browser.tab_to(&format!("#{field}"));
        browser.keys(typed);
        browser.keys(TAB);
    }
    // Inches, in place of millimetres.
    browser.script("document.getElementById('in-engine-cylinders').focus()");
    browser.tab_to("[aria-label='Unit of Bore']");
    browser.keys("in");
    browser.keys(TAB);
    browser.wait_until("document.getElementById('in-engine-bore_mm-wrong').hidden");
    browser.wait_until("document.getElementById('in-engine-stroke_mm-wrong').hidden");
    browser.wait_until("!document.getElementById('in-engine-compression_ratio-wrong').hidden");
    let wrong = text(browser, "#in-engine-compression_ratio-wrong");
    assert!(wrong.starts_with("Compression ratio = 105 is not allowed; it takes"), "{wrong}");
    assert_eq!(browser.script("return document.getElementById('in-engine-compression_ratio').value"), "105");
    browser.script("document.getElementById('in-engine-cylinders').focus()");
    browser.tab_to("#in-engine-compression_ratio");
    browser.keys("11.0");
    browser.tab_to("#in-breathing-kind");
    browser.keys("production-four");
    browser.tab_to(".ticks input[value='premium-91']");
    browser.keys(" ");
    browser.tab_to("#run");
    browser.wait_until("isRight");
    browser.keys(ENTER);
    settled(browser);
    assert!(text(browser, "#numbers").contains("Peak wheel power, kW"));
    let drawn = browser.script("return document.getElementById('plots').innerHTML");
    browser.tab_to("#compression_ratio");
    browser.keys(&ARROW_RIGHT.repeat(5));
    browser.wait_until(
        "document.body.dataset.state === 'settled' && location.hash.includes('compression_ratio=')",
    );
    assert_ne!(browser.script("return document.getElementById('plots').innerHTML"), drawn);
    let figures = browser.script("return [document.body.dataset.likely, document.body.dataset.estimate]");
    eprintln!("at {width} px: likely case and ranges after a change, in the browser [ms]: {figures}");
    which_piston_and_the_printed_sheet(browser, &served);
    nothing_severe(browser);
}

fn which_piston_and_the_printed_sheet(browser: &Browser, served: &Served) {
    browser.script("document.activeElement.blur()");
    browser.tab_to("#questions a[href='#piston']");
    browser.keys(ENTER);
    browser.tab_to("[data-ask=piston]");
    browser.keys(ENTER);
    browser.wait_until("document.querySelector('#piston-result .first svg') !== null");
    let first = browser.script("return document.body.dataset.first");
    eprintln!("first curve of a choice, in the browser [ms]: {first}");
    let said = answered(browser, "piston");
    assert!(said.contains("Order ") && said.contains("Cautions"), "{said}");
    browser.script("document.activeElement.blur()");
    browser.tab_to("#questions a[href='#customer']");
    browser.keys(ENTER);
    browser.tab_to("[data-ask=customer]");
    browser.keys(ENTER);
    answered(browser, "customer");
    let sheet = browser.script("return document.querySelector('#customer-result a').href");
    let sheet = sheet.as_str().unwrap();
    assert!(sheet.starts_with(&address(served, "report/")), "{sheet}");
    browser.open(sheet);
    browser.wait_until("document.querySelectorAll('svg').length > 2");
    // Its own style is not held back by the policy.
    assert_ne!(browser.script("return getComputedStyle(document.body).maxWidth"), "none");
    let printed = browser.post("/print", json!({}));
    // A PDF begins "%PDF-"; this is its first five bytes in base 64, less what the sixth decides.
    assert!(printed.as_str().unwrap().starts_with("JVBERi"), "no PDF");
}

#[test]
fn the_whole_job_by_keyboard_wide_and_light() {
    if let Some(browser) = Browser::start() {
        the_whole_job_by_keyboard(&browser, 1280, false);
    }
}

#[test]
fn the_whole_job_by_keyboard_on_a_phone_in_the_dark() {
    if let Some(browser) = Browser::start() {
        the_whole_job_by_keyboard(&browser, 390, true);
    }
}

#[test]
fn nothing_is_lost_and_everything_can_be_taken_back() {
    let Some(browser) = Browser::start() else { return };
    let served = demo();
    browser.open(&address(&served, "#makes"));
    settled(&browser);
    let stated = text(&browser, "#numbers");
    let ratio =
        |browser: &Browser| browser.script("return document.getElementById('compression_ratio').value");
    browser.drag("#compression_ratio", -40);
    browser
        .wait_until("document.body.dataset.state === 'settled' && build.moved.includes('compression_ratio')");
    let (dragged, moved) = (ratio(&browser), text(&browser, "#numbers"));
    assert_ne!(moved, stated);
    // A reload and the address keep what was moved.
    browser.post("/refresh", json!({}));
    settled(&browser);
    assert_eq!((ratio(&browser), text(&browser, "#numbers")), (dragged, moved.clone()));
    // Two builds side by side.
    browser.script("document.getElementById('keep').click(); document.getElementById('reset').click()");
    browser.wait_until("build.moved === ''");
    browser.script("document.querySelector('[data-ask=beside]').click()");
    let beside = answered(&browser, "beside");
    assert!(beside.contains("compression ratio"), "{beside}");
    browser.script("document.getElementById('undo').click()");
    browser.wait_until("build.moved.includes('compression_ratio')");
    // What cannot be read is told at its field and kept; what is out of range too.
    browser.open(&address(&served, "#makes"));
    settled(&browser);
    let type_in = |typed: &str| {
        browser.script(&format!(
            "const box = document.querySelector('[data-key=compression_ratio] [type=text]'); box.focus(); box.value = {typed:?};\
             box.dispatchEvent(new Event('change', {{ bubbles: true }}))"
        ))
    };
    for wrong in ["1,200", "19", "twelve"] {
        type_in(wrong);
        let said = text(&browser, "#compression_ratio-wrong");
        assert_eq!(said, format!("\"{wrong}\": it takes a number from 6.0 to 18.0"));
    }
    type_in("12,5");
    browser.wait_until("build.moved.includes('compression_ratio=12.5')");
    nothing_severe(&browser);
}

#[test]
fn every_question_is_answered_on_a_phone_and_reached_by_scrolling_down() {
    let Some(browser) = Browser::start() else { return };
    let served = demo();
    screen(&browser, 390, false);
    browser.open(&address(&served, "#makes"));
    settled(&browser);
    let pull = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("scenarios/pulls");
    for step in STEPS {
        browser.script(&format!("location.hash = '{step}'"));
        browser.wait_until(&format!("!document.getElementById('{step}').hidden"));
        ask(&browser, step, &pull);
        let wide = browser.script("return document.documentElement.scrollWidth").as_f64().unwrap();
        assert!(wide <= 390.0, "{step}: {wide}");
        let outside = browser.script(
            "return [...document.querySelectorAll('section:not([hidden]) figure svg')].map(s => s.getBoundingClientRect())\
             .filter(r => r.width && (r.left < 0 || r.right > 390 || r.width < 250)).length",
        );
        assert_eq!(outside, 0, "{step}: a plot is not on the screen");
        accessible(&browser, step);
    }
    screen(&browser, 1280, true);
    for step in STEPS {
        browser.script(&format!("location.hash = '{step}'"));
        browser.wait_until(&format!("!document.getElementById('{step}').hidden"));
        accessible(&browser, step);
    }
    nothing_severe(&browser);
}

/// Asks the question of a step, with what it needs.
fn ask(browser: &Browser, step: &str, pulls: &Path) {
    let said = match step {
        "build" => return,
        "target" => "document.getElementById('wanted').value = '180 kW'",
        "tank" => {
            "document.getElementById('fills').value = '12,5 L e85\\n20 L premium-91';\
             document.getElementById('to').value = '40 %'; document.getElementById('add').value = 'e85'"
        }
        "timing" => "document.getElementById('contents').value = '10; 85'",
        "beside" => "kept = { ...build, moved: 'compression_ratio=11', name: 'Lower ratio' }",
        "pull" => {
            let log = pulls.join("circuit-2400-pull-good.csv");
            let log =
                std::fs::read_to_string(&log).unwrap_or_else(|error| panic!("{}: {error}", log.display()));
            browser.script(&format!("chosen(new File([{}], 'pull.csv'))", json!(log)));
            "0"
        }
        _ => "0",
    };
    browser.script(said);
    browser.script(&format!("document.querySelector('#{step} [data-ask={step}]').click()"));
    let said = answered(browser, step);
    let wrong = browser.script(&format!(
        "return [...document.querySelectorAll('#{step} .missed, #{step} .wrong:not([hidden])')].map(p => p.textContent)"
    ));
    assert_eq!(wrong, json!([]), "{step}");
    assert!(said.len() > 40, "{step}: {said}");
}

/// No violation of the rules of axe-core, where it is installed: `npm ci` in `tests/page/axe`.
fn accessible(browser: &Browser, step: &str) {
    let Some(source) = axe() else { return };
    browser.script(&source);
    let found = browser.later(
        "axe.run(document, { resultTypes: ['violations'] }).then(r => done(r.violations.map(v => \
         `${v.id}: ${v.nodes.map(n => n.target.join(' ')).slice(0, 4).join(' | ')} ${v.nodes[0].failureSummary}`)))",
    );
    assert_eq!(found, json!([]), "{step}");
}

#[test]
fn a_script_of_another_origin_is_blocked() {
    let Some(browser) = Browser::start() else { return };
    let served = demo();
    browser.open(&address(&served, "#build"));
    settled(&browser);
    let blocked = browser.later(
        "document.addEventListener('securitypolicyviolation', e => done(e.effectiveDirective));\
         const s = document.createElement('script'); s.src = 'http://127.0.0.1:9/x.js'; document.head.append(s)",
    );
    assert_eq!(blocked, "script-src-elem");
    // A page of another origin on this machine reads and changes nothing.
    let other = demo();
    browser.open(&address(&other, "icon.svg"));
    let port = served.port;
    let read = browser.later(&format!(
        "fetch('http://127.0.0.1:{port}/start.json').then(r => r.text()).then(done, e => done('refused'))"
    ));
    assert_eq!(read, "refused");
}
