//! The report page in a real browser: its first sheet takes one side of paper, no page stays half blank, and a phone shows
//! every column. Without a browser these tests say so and end.

use super::reports::{Made, longest, shipped};
use crate::common::browser::{Browser, axe};
use base64::Engine as _;
use endgas::report::Units;
use lopdf::Document;
use lopdf::content::Content;
use serde_json::json;
use std::path::Path;
use std::time::{Duration, Instant};

/// Papers with width and height [cm] (ISO 216, ANSI A).
const PAPERS: [(&str, f64, f64); 2] = [("A4", 21.0, 29.7), ("Letter", 21.59, 27.94)];
/// Points of PDF in a centimetre.
const POINTS_PER_CM: f64 = 72.0 / 2.54;
/// Margin above and below of the style sheet [cm].
const MARGIN_CM: f64 = 1.3;
/// Longest wait for a page.
const LOADED: Duration = Duration::from_secs(20);
/// Phones upright [px].
const PHONES: [u32; 2] = [390, 360];

/// Every page: name, whether with a target, units, text.
fn reports() -> Vec<(String, String)> {
    let made: Vec<&Made> = shipped().iter().chain([longest()]).collect();
    let cases = made.iter().flat_map(|made| {
        [(false, Units::Metric), (true, Units::Metric), (true, Units::Us)].map(|case| (*made, case))
    });
    cases
        .map(|(made, (has_goal, units))| {
            (format!("{}, target {has_goal}, {units:?}", made.name), made.page(has_goal, units))
        })
        .collect()
}

fn open(browser: &Browser, folder: &Path, text: &str) {
    let file = folder.join("report.html");
    std::fs::write(&file, text).unwrap();
    // A new page and not the one before, which has the same address.
    browser.post("/url", json!({ "url": "about:blank" }));
    browser.post("/url", json!({ "url": format!("file://{}", file.display()) }));
    let is_whole = "return document.readyState === 'complete' && document.querySelector('footer') !== null";
    let end = Instant::now() + LOADED;
    while browser.script(is_whole) != true {
        assert!(Instant::now() < end, "the page does not load");
        std::thread::sleep(Duration::from_millis(30));
    }
}

fn print(browser: &Browser, (_, width, height): (&str, f64, f64)) -> Document {
    let sheet = browser.post("/print", json!({ "page": { "width": width, "height": height } }));
    let pdf = base64::engine::general_purpose::STANDARD.decode(sheet.as_str().unwrap()).unwrap();
    Document::load_mem(&pdf).unwrap()
}

/// How far down each page words reach, as a share of its height between the margins.
fn fills(pdf: &Document, height_cm: f64) -> Vec<f64> {
    let lowest_cm = pdf.page_iter().map(|page| {
        let content = Content::decode(&pdf.get_page_content(page)).unwrap();
        height_cm - lowest_words(&content) / POINTS_PER_CM
    });
    lowest_cm.map(|cm| (cm - MARGIN_CM) / (height_cm - 2.0 * MARGIN_CM)).collect()
}

/// Height of the lowest words over the foot of the page [pt]: where their matrix puts them through those around it.
fn lowest_words(content: &Content) -> f64 {
    let (mut now, mut kept, mut lowest) = ([0.0, 1.0, 0.0], Vec::new(), f64::INFINITY);
    for operation in &content.operations {
        let numbers: Vec<f64> =
            operation.operands.iter().filter_map(|n| n.as_float().ok()).map(f64::from).collect();
        match (operation.operator.as_str(), numbers.as_slice()) {
            ("q", _) => kept.push(now),
            ("Q", _) => now = kept.pop().unwrap(),
            // The part of a matrix that gives heights: what x, y and 1 add to them.
            ("cm", [a, b, c, d, e, f]) => {
                let [of_x, of_y, of_1] = now;
                now = [of_x * a + of_y * b, of_x * c + of_y * d, of_x * e + of_y * f + of_1];
            }
            ("Tm", [.., x, y]) => lowest = lowest.min(now[0] * x + now[1] * y + now[2]),
            _ => {}
        }
    }
    lowest
}

/// The first sheet by itself is one page; with all that follows no page but the last is less than two thirds full.
#[test]
fn the_first_sheet_takes_one_side_and_no_page_is_half_blank() {
    let Some(browser) = Browser::start() else { return };
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in reports() {
        open(&browser, folder.path(), &text);
        for paper in PAPERS {
            let pdf = print(&browser, paper);
            let fills = fills(&pdf, paper.2);
            let (last, others) = fills.split_last().unwrap();
            assert!(others.len() > 5 && *last > 0.0, "{name}, {}: {fills:.2?}", paper.0);
            assert!(
                others.iter().all(|fill| (0.66..1.01).contains(fill)),
                "{name}, {}: {fills:.2?}",
                paper.0
            );
            eprintln!("{name}, {}: {} pages, full to {fills:.2?}", paper.0, fills.len());
        }
        browser.script(
            "document.querySelectorAll('main > section:not(#answer), footer').forEach(e => e.remove())",
        );
        for paper in PAPERS {
            let pages = print(&browser, paper).page_iter().count();
            assert_eq!(pages, 1, "{name}, {}", paper.0);
        }
    }
}

/// With all folds open nothing is wider than the screen, and every number has its column head above it or before it.
#[test]
fn a_phone_shows_every_column_with_its_head() {
    let Some(browser) = Browser::start() else { return };
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in reports() {
        for width in PHONES {
            browser.widen(width);
            open(&browser, folder.path(), &text);
            let found = browser.script(PHONE);
            assert_eq!(found["fetched"], 0, "{name}");
            assert_eq!(found["width"], width, "{name}");
            assert!(found["heads"].as_u64().unwrap() > 100, "{name}: {found}");
            assert_eq!(found["outside"], json!([]), "{name}, {width} px");
        }
    }
}

/// Opens all folds; says how wide the page is, how many heads it shows, and which lie outside or are not shown.
const PHONE: &str = "
    document.querySelectorAll('details').forEach(fold => fold.open = true);
    const seen = box => box.width > 0 && box.left >= 0 && box.right <= innerWidth + 0.5;
    let heads = 0;
    const outside = [];
    for (const table of document.querySelectorAll('table')) {
        const columns = table.querySelectorAll('thead th');
        if (getComputedStyle(table.tHead).display !== 'none') {
            for (const head of columns) {
                heads += 1;
                if (!seen(head.getBoundingClientRect())) outside.push(table.ariaLabel + ': ' + head.innerText);
            }
        }
        for (const cell of table.querySelectorAll('tbody th, tbody td')) {
            if (!seen(cell.getBoundingClientRect())) outside.push(table.ariaLabel + ': ' + cell.innerText);
            if (getComputedStyle(table.tHead).display === 'none' && cell.tagName === 'TD') {
                heads += 1;
                const head = getComputedStyle(cell, '::before');
                if (head.content.length < 4 || head.display === 'none') outside.push('no head over ' + cell.innerText);
            }
        }
    }
    for (const box of document.querySelectorAll('.scroll'))
        if (box.scrollWidth > box.clientWidth) outside.push(box.ariaLabel + ': moves sideways');
    return { fetched: performance.getEntriesByType('resource').length, width: document.documentElement.scrollWidth, heads, outside };";

/// Rules of axe-core on the page at both widths, light and dark.
#[test]
fn an_accessibility_checker_finds_nothing() {
    let Some(browser) = Browser::start() else { return };
    let Some(checker) = axe() else { return };
    let folder = tempfile::tempdir().unwrap();
    let text = longest().page(true, Units::Metric);
    for (width, scheme) in [(1280, "light"), (1280, "dark"), (390, "light"), (390, "dark")] {
        browser.widen(width);
        let feature = json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] });
        browser.devtools("Emulation.setEmulatedMedia", feature);
        open(&browser, folder.path(), &text);
        browser.script("document.querySelectorAll('details').forEach(fold => fold.open = true)");
        let found = browser.script(&format!("{checker}; return axe.run().then({RULES})"));
        assert!(found["passed"].as_u64().unwrap() > 20, "{found}");
        assert_eq!(found["broken"], json!([]), "{width} px, {scheme}");
    }
}

/// How many rules hold, and what breaks the others.
const RULES: &str = "found => ({
    passed: found.passes.length,
    broken: found.violations.map(rule => rule.id + ': ' + rule.nodes.slice(0, 3).map(node => node.html).join(' ')),
})";
