//! `endgas live` over a real socket on loopback: what it answers, what it refuses, and that its numbers are those
//! of `endgas estimate`.

use crate::common::cli::{refused, run, scenario};
use crate::common::live::{Reply, Served};
use serde_json::Value;
use std::io::Write as _;
use std::time::{Duration, Instant};

fn estimate(arguments: &[&str]) -> Value {
    let output = run(&[&["estimate", "--format", "json"], arguments].concat());
    serde_json::from_slice(&output.stdout).unwrap()
}

/// The page's numbers against the first fuel of an estimate; the same bits.
fn assert_same(page: &Value, estimate: &Value) {
    let fuel = &estimate["fuels"][0];
    let of = |peak: &str, what: &str| fuel[peak][what].clone();
    assert_eq!(page["peak_power"]["of"], of("peak_power", "wheel_power_kw"));
    assert_eq!(page["start_peak_power"]["of"], of("start_peak_power", "wheel_power_kw"));
    assert_eq!(page["peak_torque"]["of"], of("peak_torque", "crank_torque_nm"));
    let (shown, found) = (page["curve"].as_array().unwrap(), fuel["curve"].as_array().unwrap());
    assert_eq!(shown.len(), found.len());
    for (shown, found) in shown.iter().zip(found) {
        for key in [
            "speed_rpm",
            "spark_deg_btdc",
            "best_torque_spark_deg_btdc",
            "wheel_power_kw",
            "crank_torque_nm",
            "start_knock_probability",
            "start_wheel_power_kw",
            "start_crank_torque_nm",
        ] {
            assert_eq!(shown[key], found[key], "{key}");
        }
        assert_eq!(shown["octane_margin"]["likely"], found["octane_margin"]);
    }
}

#[test]
fn the_numbers_are_those_of_the_estimate_and_of_the_saved_file() {
    let served = Served::start(&["--fuel", "e30", "--air-temp", "31 C"]);
    let page = served.get("/page.json").json();
    assert_same(&page["base"], &estimate(&["--fuel", "e30", "--air-temp", "31 C"]));
    let query = "compression_ratio=13.2&ethanol_percent=62&ve_band_position=0.3&to_rpm=8000&reserve_octane=2";
    let shown = served.get(&format!("/estimate.json?{query}")).json();
    let saved = served.get(&format!("/scenario.toml?{query}"));
    assert_eq!(saved.status, 200);
    assert!(saved.head.contains("Content-Disposition: attachment; filename=\"endgas-live.toml\""));
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("saved.toml");
    std::fs::write(&path, &saved.body).unwrap();
    assert_same(&shown, &estimate(&[path.to_str().unwrap()]));
    // The likely case is the curve about which the estimate samples.
    let quick = served.get(&format!("/likely.json?{query}")).json();
    for (quick, full) in quick["curve"].as_array().unwrap().iter().zip(shown["curve"].as_array().unwrap()) {
        for key in
            ["spark_deg_btdc", "best_torque_spark_deg_btdc", "best_torque_octane_margin", "torque_lost_frac"]
        {
            assert_eq!(quick[key], full[key], "{key}");
        }
        assert_eq!(quick["octane_margin"]["likely"], full["octane_margin"]["likely"]);
        let power = |v: &Value| v["wheel_power_kw"]["likely"].as_f64().unwrap();
        assert!((power(quick) / power(full) - 1.0).abs() < 0.02);
    }
}

#[test]
fn routes_carry_the_standing_headers_and_their_kind() {
    let served = Served::start(&[]);
    for (path, kind) in [
        ("/", "text/html; charset=utf-8"),
        ("/style.css", "text/css; charset=utf-8"),
        ("/page.js", "text/javascript; charset=utf-8"),
        ("/plot.js", "text/javascript; charset=utf-8"),
        ("/icon.svg", "image/svg+xml"),
        ("/page.json", "application/json"),
        ("/likely.json", "application/json"),
        ("/estimate.json", "application/json"),
        ("/scenario.toml", "application/toml"),
    ] {
        let reply = served.get(path);
        assert_eq!(reply.status, 200, "{path}");
        for header in [
            format!("Content-Type: {kind}").as_str(),
            "Content-Security-Policy: default-src 'none'; script-src 'self'",
            "X-Content-Type-Options: nosniff",
            "Cache-Control: no-store",
        ] {
            assert!(reply.head.contains(header), "{path}: {header}\n{}", reply.head);
        }
        assert!(!reply.head.to_ascii_lowercase().contains("access-control"), "{path}");
        let port = served.port;
        let head = served.exchange(&format!("HEAD {path} HTTP/1.1\r\nHost: localhost:{port}\r\n\r\n"));
        assert_eq!((head.status, head.body.as_str()), (200, ""), "{path}");
    }
    let page = served.get("/").body;
    assert!(!page.contains("http://") && !page.contains("https://"), "the page names no other server");
}

#[test]
fn what_is_not_asked_properly_is_refused() {
    let served = Served::start(&[]);
    let host = format!("Host: 127.0.0.1:{}\r\n", served.port);
    let ask =
        |start: &str, headers: &str| served.exchange(&format!("{start} HTTP/1.1\r\n{headers}\r\n")).status;
    assert_eq!(ask("GET /page.json", "Host: rebound.example\r\n"), 421);
    assert_eq!(ask("GET /page.json", &format!("Host: rebound.example:{}\r\n", served.port)), 421);
    assert_eq!(ask("GET /page.json", ""), 421);
    assert_eq!(ask("PUT /page.json", &host), 405);
    assert_eq!(ask("POST /page.json", &format!("{host}Content-Length: 4\r\n")), 405);
    let body = "x".repeat(100_000);
    let posted = format!("GET / HTTP/1.1\r\n{host}Content-Length: 100000\r\n\r\n{body}");
    assert_eq!(served.exchange(&posted).status, 413);
    assert_eq!(ask(&format!("GET /likely.json?{}", "a=1&".repeat(300)), &host), 414);
    assert_eq!(ask("GET /", &format!("{host}Cookie: {}\r\n", "c".repeat(20_000))), 431);
    assert_eq!(ask("GET /page.json", &format!("{host}Sec-Fetch-Site: cross-site\r\n")), 403);
    assert_eq!(served.exchange("\u{1}\u{2}\r\n\r\n").status, 400);
    for path in [
        "/none",
        "/Cargo.toml",
        "/../Cargo.toml",
        "/%2e%2e/Cargo.toml",
        "//etc/passwd",
        "/page/index.html",
        "/page.json/",
        "*",
    ] {
        assert_eq!(ask(&format!("GET {path}"), &host), 404, "{path}");
    }
    assert_eq!(served.get("/").status, 200, "it still serves");
}

#[test]
fn a_wrong_setting_is_told_by_key_value_and_range() {
    let served = Served::start(&[]);
    for route in ["likely.json", "estimate.json", "scenario.toml"] {
        let reply = served.get(&format!("/{route}?compression_ratio=22"));
        assert_eq!(reply.status, 400, "{route}");
        let said: Value = serde_json::from_str(&reply.body).unwrap();
        assert_eq!(said["error"]["key"], "compression_ratio");
        assert_eq!(said["error"]["value"], "22");
        assert_eq!(said["error"]["allowed"], "it takes a number from 6 to 18");
        assert_eq!(said["message"], "compression_ratio = \"22\": it takes a number from 6 to 18");
    }
    assert_eq!(served.get("/likely.json?lambda=NaN").status, 400);
    assert_eq!(served.get("/likely.json?fuel=%ff%00<script>").status, 400);
}

#[test]
fn an_origin_of_another_site_is_refused() {
    let served = Served::start(&[]);
    let host = format!("127.0.0.1:{}", served.port);
    for path in ["/", "/page.json", "/likely.json", "/scenario.toml"] {
        let from = |origin: &str| {
            served
                .exchange(&format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nOrigin: {origin}\r\n\r\n"))
                .status
        };
        assert_eq!(from(&format!("http://{host}")), 200, "{path}");
        for other in ["http://shop.example", "null", &format!("https://{host}"), "http://127.0.0.1:1"] {
            assert_eq!(from(other), 403, "{path} from {other}");
        }
    }
}

/// More clients than are served at a time: each gets an answer, and once the first are gone all are served.
#[test]
fn a_client_too_many_is_told_and_not_reset() {
    const AT_A_TIME: usize = 64;
    let served = Served::start(&[]);
    let waiting: Vec<_> = (0..AT_A_TIME).map(|_| served.connect()).collect();
    let told: Vec<u16> = std::thread::scope(|scope| {
        let asking: Vec<_> = (0..70).map(|_| scope.spawn(|| served.get("/").status)).collect();
        asking.into_iter().map(|asked| asked.join().unwrap()).collect()
    });
    assert_eq!(told, [503; 70]);
    drop(waiting);
    let end = Instant::now() + Duration::from_secs(5);
    while served.get("/").status != 200 {
        assert!(Instant::now() < end, "places are not given back");
    }
}

#[test]
fn a_slow_request_holds_up_no_other_and_ends() {
    let served = Served::start(&[]);
    let mut slow: Vec<_> = (0..8).map(|_| served.connect()).collect();
    for stream in &mut slow {
        stream.write_all(b"GET / HTTP/1.1\r\nHost: ").unwrap();
    }
    let start = Instant::now();
    assert_eq!(served.get("/likely.json?compression_ratio=12").status, 200);
    assert!(start.elapsed() < Duration::from_secs(4), "{:?}", start.elapsed());
    // One half of a request, sent on slowly, is not waited for without end.
    assert_eq!(Reply::read(slow.remove(0)).status, 408);
}

#[cfg(unix)]
#[test]
fn an_interrupt_ends_it_as_done() {
    let mut served = Served::start(&[]);
    let sent = std::process::Command::new("kill").args(["-INT", &served.child.id().to_string()]).status();
    assert!(sent.unwrap().success());
    assert_eq!(served.child.wait().unwrap().code(), Some(0));
}

#[test]
fn bad_input_ends_it_before_anything_is_served() {
    assert!(refused(&["live", "no-such-file.toml"]).contains("cannot read no-such-file.toml"));
    assert!(refused(&["live", "--fuel", "kerosene"]).contains("kerosene"));
    let served = Served::start(&[&scenario("street-2000")]);
    let taken = served.port.to_string();
    assert!(
        refused(&["live", "--port", &taken]).contains(&format!("cannot listen on 127.0.0.1 port {taken}"))
    );
}
