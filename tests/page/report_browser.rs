//! The report page in a browser, where one is installed: it prints whole on both papers and asks for
//! nothing. Without Chromium these tests say so and end.

use crate::common::cli::{endgas, scenario};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// Places where Chromium is installed by the systems that have it.
const BROWSERS: [&str; 4] =
    ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome", "/snap/bin/chromium"];

fn browser() -> Option<&'static str> {
    let found = BROWSERS.into_iter().find(|path| Path::new(path).exists());
    if found.is_none() {
        eprintln!("skipped: no Chromium at {}", BROWSERS.join(", "));
    }
    found
}

/// Runs the browser on a page with one more option and its own empty profile.
fn browse(browser: &str, folder: &Path, page: &Path, options: &[&str]) -> Output {
    let profile = folder.join("profile");
    Command::new(browser)
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"])
        .args(["--disable-background-networking", "--disable-component-update", "--disable-sync"])
        .arg(format!("--user-data-dir={}", profile.display()))
        .args(options)
        .arg(format!("file://{}", page.display()))
        .output()
        .unwrap()
}

fn page(folder: &Path, name: &str) -> PathBuf {
    let out = folder.join(format!("{name}.html"));
    let output =
        endgas().args(["report", &scenario(name), "--samples", "50", "--out"]).arg(&out).output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    out
}

/// Pages and their size in points, read from the page tree of the PDF.
fn pages(pdf: &[u8]) -> (usize, Vec<String>) {
    let text = String::from_utf8_lossy(pdf);
    let count = text.matches("/Type /Page\n").count();
    let boxes = text.split("/MediaBox [").skip(1).map(|rest| rest.split(']').next().unwrap().to_owned());
    (count, boxes.collect())
}

#[test]
fn the_page_prints_on_a4_and_on_letter() {
    let Some(browser) = browser() else { return };
    let folder = tempfile::tempdir().unwrap();
    let html = std::fs::read_to_string(page(folder.path(), "street-2000")).unwrap();
    for (paper, width) in [("A4", 594.0..596.0), ("letter", 611.0..613.0)] {
        let sized = folder.path().join(format!("{paper}.html"));
        std::fs::write(&sized, html.replace("@page {", &format!("@page {{ size: {paper};"))).unwrap();
        let pdf = folder.path().join(format!("{paper}.pdf"));
        let print = format!("--print-to-pdf={}", pdf.display());
        browse(browser, folder.path(), &sized, &["--no-pdf-header-footer", &print]);
        let (count, boxes) = pages(&std::fs::read(&pdf).unwrap());
        // Four fuels: drawings alone fill three pages; 13 on letter, and more than that would mean broken page breaks.
        assert!((5..=13).contains(&count), "{paper}: {count} pages");
        for size in boxes {
            let right: f64 = size.split_whitespace().nth(2).unwrap().parse().unwrap();
            assert!(width.contains(&right), "{paper}: {size}");
        }
    }
}

#[test]
fn the_page_asks_for_nothing_and_is_no_wider_than_a_phone() {
    let Some(browser) = browser() else { return };
    let folder = tempfile::tempdir().unwrap();
    let page = page(folder.path(), "circuit-2400");
    // A probe put into the page reports what was fetched and how wide the page came out.
    let html = std::fs::read_to_string(&page).unwrap();
    let probe = "<script>onload=()=>{const w=document.documentElement.scrollWidth;const n=performance.getEntriesByType('resource').length;document.body.setAttribute('data-probe',`${n} fetched, ${w<=innerWidth?'fits':'too wide: '+w+' in '+innerWidth}`)}</script></head>";
    let policy = html.find("<meta http-equiv=\"Content-Security-Policy\"").unwrap();
    let end = policy + html[policy..].find('>').unwrap() + 1;
    let open = format!("{}{}", &html[..policy], &html[end..]).replacen("</head>", probe, 1);
    std::fs::write(&page, open).unwrap();
    // The headless window is not narrower than 500 px, so the phone is a frame within it.
    let frame = folder.path().join("phone.html");
    let probed =
        "<!DOCTYPE html><title>phone</title><iframe src=circuit-2400.html width=390 height=800></iframe>";
    let dump = |page: &Path| {
        let output = browse(browser, folder.path(), page, &["--allow-file-access-from-files", "--dump-dom"]);
        String::from_utf8_lossy(&output.stdout).into_owned()
    };
    assert!(dump(&page).contains("data-probe=\"0 fetched, fits\""));
    let narrow = "<script>onload=()=>{document.title=document.querySelector('iframe').contentDocument.body.dataset.probe}</script>";
    std::fs::write(&frame, probed.replace("<iframe", &format!("{narrow}<iframe"))).unwrap();
    let told = dump(&frame);
    assert!(told.contains("<title>0 fetched, fits</title>"), "{}", &told[..told.len().min(200)]);
}
