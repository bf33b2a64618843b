//! The page: its files as they are, and what it begins with.

use serde::Serialize;

/// The page.
pub(super) const HTML: &str = include_str!("page/index.html");
/// Its look.
pub(super) const STYLE: &str = include_str!("page/style.css");
/// Its doings, by address.
pub(super) const SCRIPTS: [(&str, &str); 3] = [
    ("/page.js", include_str!("page/page.js")),
    ("/build.js", include_str!("page/build.js")),
    ("/talks.js", include_str!("page/talks.js")),
];
/// Its mark in a tab of the browser.
pub(super) const ICON: &str = include_str!("page/icon.svg");
/// What a page for a customer may load: its own style alone.
pub(super) const REPORT_POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; \
     frame-ancestors 'none'";

/// What the page begins with.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Start {
    /// Text of the scenario; empty to begin with an empty form.
    pub text: String,
    /// Name of its file, under which it is saved again; empty where there is none.
    pub file: String,
    /// Whether US units are shown until others are chosen.
    pub us: bool,
    /// Text of the built-in example.
    pub example: &'static str,
}

impl Start {
    /// The page with a scenario, or with an empty form.
    pub fn new(text: String, file: String, us: bool) -> Self {
        Self { text, file, us, example: crate::scenario::DEMO }
    }
}
