//! Chromium without a window, driven through ChromeDriver (W3C WebDriver).

use serde_json::{Value, json};
use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// Keys as WebDriver codes them (W3C WebDriver, keyboard actions).
pub const TAB: &str = "\u{E004}";
pub const ENTER: &str = "\u{E007}";
pub const ARROW_RIGHT: &str = "\u{E014}";
/// Longest wait for a page.
const REST: Duration = Duration::from_secs(60);
/// Most presses of the tabulator on the way to an element.
const MOST_TABS: usize = 400;

/// The script of axe-core; says so where it is not installed.
#[allow(clippy::print_stderr, reason = "what was skipped is for a person to read")]
pub fn axe() -> Option<String> {
    let script =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/page/axe/node_modules/axe-core/axe.min.js");
    let found = std::fs::read_to_string(script).ok();
    if found.is_none() {
        eprintln!("skipped: no axe-core; npm ci in tests/page/axe");
    }
    found
}

fn on_path(names: &[&str]) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    let folders: Vec<PathBuf> = std::env::split_paths(&path).collect();
    names
        .iter()
        .flat_map(|name| folders.iter().map(move |folder| folder.join(name)))
        .find(|file| file.is_file())
}

/// A browser with its driver, ended when dropped.
pub struct Browser {
    driver: Child,
    agent: ureq::Agent,
    session: String,
    _profile: tempfile::TempDir,
}

impl Browser {
    /// Says so and returns none without both on PATH.
    #[allow(clippy::print_stderr, reason = "what was skipped is for a person to read")]
    pub fn start() -> Option<Self> {
        let found =
            on_path(&["chromium", "chromium-browser", "google-chrome"]).zip(on_path(&["chromedriver"]));
        let Some((browser, driver)) = found else {
            eprintln!("skipped: no chromium and chromedriver on PATH");
            return None;
        };
        let mut driver = Command::new(driver)
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(driver.stdout.take().unwrap()).lines();
        let port = lines.find_map(|line| {
            let line = line.unwrap();
            line.split_once("started successfully on port ")?.1.trim_end_matches('.').parse::<u16>().ok()
        });
        let root = format!("http://127.0.0.1:{}/session", port.expect("the driver names its port"));
        // What else it prints is read, so that it never waits for a reader.
        std::thread::spawn(move || lines.for_each(drop));
        let profile = tempfile::tempdir().unwrap();
        let config = ureq::Agent::config_builder().timeout_global(Some(Duration::from_secs(20)));
        let agent: ureq::Agent = config.http_status_as_error(false).build().into();
        let mut made = Self { driver, agent, session: root.clone(), _profile: profile };
        let folder = format!("--user-data-dir={}", made._profile.path().display());
        let arguments = [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            &folder,
        ];
        let session = made.post(
            "",
            json!({ "capabilities": { "alwaysMatch": {
                "goog:chromeOptions": { "binary": browser, "args": arguments },
                "goog:loggingPrefs": { "browser": "ALL" },
            }}}),
        );
        made.session = format!("{root}/{}", session["sessionId"].as_str().unwrap());
        Some(made)
    }

    /// What the driver answers to a request of the session.
    pub fn post(&self, path: &str, body: Value) -> Value {
        let mut reply = self.agent.post(format!("{}{path}", self.session)).send_json(&body).unwrap();
        let said: Value = reply.body_mut().with_config().limit(50_000_000).read_json().unwrap();
        assert!(reply.status().is_success(), "{path}: {said}");
        said["value"].clone()
    }

    pub fn script(&self, text: &str) -> Value {
        self.post("/execute/sync", json!({ "script": text, "args": [] }))
    }

    pub fn devtools(&self, command: &str, parameters: Value) {
        self.post("/goog/cdp/execute", json!({ "cmd": command, "params": parameters }));
    }

    /// What a script gives to `done`, later.
    pub fn later(&self, text: &str) -> Value {
        let script = format!("const done = arguments[0]; {text}");
        self.post("/execute/async", json!({ "script": script, "args": [] }))
    }

    /// Opens an address as a new page, and not only as another fragment of the same one.
    pub fn open(&self, address: &str) {
        self.post("/url", json!({ "url": "about:blank" }));
        self.post("/url", json!({ "url": address }));
    }

    /// Waits until something holds on the page.
    pub fn wait_until(&self, wanted: &str) {
        let end = Instant::now() + REST;
        while self.script(&format!("return {wanted}")) != true {
            assert!(Instant::now() < end, "not {wanted}: {}", self.script("return document.body.innerText"));
            std::thread::sleep(Duration::from_millis(30));
        }
    }

    pub fn element(&self, selector: &str) -> Value {
        self.post("/element", json!({ "using": "css selector", "value": selector }))
    }

    /// Types keys at what has the focus.
    pub fn keys(&self, keys: &str) {
        let actions: Vec<Value> = keys
            .chars()
            .flat_map(|key| {
                ["keyDown", "keyUp"].map(|kind| json!({ "type": kind, "value": key.to_string() }))
            })
            .collect();
        self.post("/actions", json!({ "actions": [{ "type": "key", "id": "keys", "actions": actions }] }));
    }

    /// Goes on by the tabulator until an element has the focus.
    pub fn tab_to(&self, selector: &str) {
        for _ in 0..MOST_TABS {
            if self.script(&format!("return document.activeElement.matches({selector:?})")) == true {
                return;
            }
            self.keys(TAB);
        }
        panic!("{selector} is not reached by the keyboard");
    }

    /// Drags with the mouse from the middle of an element.
    pub fn drag(&self, selector: &str, by_px: i32) {
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

    /// Shows the page as on a screen so wide, high enough for a phone.
    pub fn widen(&self, width_px: u32) {
        let screen =
            json!({ "width": width_px, "height": 800, "deviceScaleFactor": 1, "mobile": width_px < 600 });
        self.devtools("Emulation.setDeviceMetricsOverride", screen);
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.agent.delete(&self.session).call();
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}
