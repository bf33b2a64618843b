//! Chromium without a window, driven through ChromeDriver (W3C WebDriver).

use serde_json::{Value, json};
use std::io::{BufRead as _, BufReader};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

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
