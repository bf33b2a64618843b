//! `endgas live` over a real socket on loopback: what it answers, what it refuses, and that its numbers are those
//! of `endgas estimate`.

use crate::common::cli::{refused, run, scenario};
use crate::common::live::{Reply, Served};
use serde_json::{Value, json};
use std::io::{Read as _, Write as _};
use std::time::{Duration, Instant};

fn demo() -> Served {
    Served::start(&[&scenario("circuit-2400")])
}

fn with(build: &Value, key: &str, value: impl Into<Value>) -> Value {
    let mut changed = build.clone();
    changed[key] = value.into();
    changed
}

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
    let served = Served::start(&[&scenario("circuit-2400"), "--fuel", "e30", "--air-temp", "31 C"]);
    let build = served.build();
    let stated = served.ask("/estimate", &build).json();
    assert_same(&stated["curves"], &estimate(&["--fuel", "e30", "--air-temp", "31 C"]));
    let moved = "compression_ratio=13.2&ethanol_percent=62&ve_band_position=0.3&to_rpm=8000&reserve_octane=2";
    let build = with(&build, "moved", moved);
    let shown = served.ask("/estimate", &build).json()["curves"].clone();
    let saved = served.ask("/scenario", &build).json()["text"].clone();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("saved.toml");
    std::fs::write(&path, saved.as_str().unwrap()).unwrap();
    assert_same(&shown, &estimate(&[path.to_str().unwrap()]));
    // The likely case is the curve about which the estimate samples.
    let quick = served.ask("/likely", &build).json()["curves"].clone();
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
    let served = demo();
    let standing = |reply: &Reply, kind: &str, path: &str| {
        assert_eq!(reply.status, 200, "{path}: {}", reply.body);
        for header in [
            format!("Content-Type: {kind}").as_str(),
            "Content-Security-Policy: default-src 'none'; script-src 'self'",
            "X-Content-Type-Options: nosniff",
            "Cache-Control: no-store",
        ] {
            assert!(reply.head.contains(header), "{path}: {header}\n{}", reply.head);
        }
        assert!(!reply.head.to_ascii_lowercase().contains("access-control"), "{path}");
    };
    for (path, kind) in [
        ("/", "text/html; charset=utf-8"),
        ("/style.css", "text/css; charset=utf-8"),
        ("/page.js", "text/javascript; charset=utf-8"),
        ("/build.js", "text/javascript; charset=utf-8"),
        ("/talks.js", "text/javascript; charset=utf-8"),
        ("/icon.svg", "image/svg+xml"),
        ("/start.json", "application/json"),
    ] {
        standing(&served.get(path), kind, path);
        let port = served.port;
        let head = served.exchange(&format!("HEAD {path} HTTP/1.1\r\nHost: localhost:{port}\r\n\r\n"));
        assert_eq!((head.status, head.body.as_str()), (200, ""), "{path}");
    }
    let build = served.build();
    for path in ["/form", "/sliders", "/likely", "/estimate", "/scenario"] {
        standing(&served.ask(path, &build), "application/json", path);
        assert_eq!(served.get(path).status, 405, "{path}");
    }
    let page = served.get("/").body;
    assert!(!page.contains("http://") && !page.contains("https://"), "the page names no other server");
}

#[test]
fn what_is_not_asked_properly_is_refused() {
    let served = demo();
    let host = format!("Host: 127.0.0.1:{}\r\n", served.port);
    let ask =
        |start: &str, headers: &str| served.exchange(&format!("{start} HTTP/1.1\r\n{headers}\r\n")).status;
    assert_eq!(ask("GET /start.json", "Host: rebound.example\r\n"), 421);
    assert_eq!(ask("GET /start.json", &format!("Host: rebound.example:{}\r\n", served.port)), 421);
    assert_eq!(ask("GET /start.json", ""), 421);
    assert_eq!(ask("PUT /start.json", &host), 405);
    let body = "x".repeat(100_000);
    let posted = format!("GET / HTTP/1.1\r\n{host}Content-Length: 100000\r\n\r\n{body}");
    assert_eq!(served.exchange(&posted).status, 413);
    assert_eq!(ask(&format!("GET /start.json?{}", "a=1&".repeat(300)), &host), 414);
    assert_eq!(ask("GET /", &format!("{host}Cookie: {}\r\n", "c".repeat(20_000))), 431);
    assert_eq!(ask("GET /start.json", &format!("{host}Sec-Fetch-Site: cross-site\r\n")), 403);
    assert_eq!(served.exchange("\u{1}\u{2}\r\n\r\n").status, 400);
    for path in [
        "/none",
        "/Cargo.toml",
        "/../Cargo.toml",
        "/%2e%2e/Cargo.toml",
        "//etc/passwd",
        "/page/index.html",
        "/start.json/",
        "/report/1",
        "*",
    ] {
        assert_eq!(ask(&format!("GET {path}"), &host), 404, "{path}");
    }
    for body in ["", "{", "[]", "{\"text\": 4}", "{\"text\": \"\", \"moved\": 1}"] {
        assert_eq!(served.send("/likely", body.as_bytes()).status, 400, "{body}");
    }
    assert_eq!(served.get("/").status, 200, "it still serves");
}

/// A body without end is given up once it is larger than any log.
#[test]
fn a_body_is_bounded() {
    let served = demo();
    let mut stream = served.connect();
    let host = format!("Host: 127.0.0.1:{}\r\n", served.port);
    write!(stream, "POST /pull HTTP/1.1\r\n{host}Content-Length: 1000000000\r\n\r\n").unwrap();
    let piece = vec![b'x'; 1 << 20];
    // The answer may come while some is still sent.
    let sent = (0..64).take_while(|_| stream.write_all(&piece).is_ok()).count();
    assert!(sent < 64, "all of it was taken");
    let mut said = String::new();
    let _ = stream.read_to_string(&mut said);
    assert!(said.is_empty() || said.starts_with("HTTP/1.1 413 "), "{said}");
    assert_eq!(served.get("/").status, 200, "it still serves");
}

#[test]
fn an_origin_of_another_site_is_refused() {
    let served = demo();
    let host = format!("127.0.0.1:{}", served.port);
    for path in ["/", "/start.json", "/icon.svg"] {
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
    let served = demo();
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
fn a_wrong_setting_is_told_by_label_value_and_range() {
    let served = demo();
    let build = served.build();
    for route in ["/likely", "/estimate", "/scenario"] {
        let reply = served.ask(route, &with(&build, "moved", "compression_ratio=22"));
        assert_eq!(reply.status, 400, "{route}");
        let said: Value = serde_json::from_str(&reply.body).unwrap();
        assert_eq!(said["error"]["key"], "compression_ratio");
        assert_eq!(said["error"]["value"], "22");
        assert_eq!(said["error"]["allowed"], "it takes a number from 6 to 18");
        assert_eq!(said["message"], "Compression ratio \"22\": it takes a number from 6 to 18");
    }
    assert_eq!(served.ask("/likely", &with(&build, "moved", "lambda=NaN")).status, 400);
    assert_eq!(served.ask("/likely", &with(&build, "moved", "fuel=%ff%00<script>")).status, 400);
}

/// HAND: ethanol alone has no base to be blended with; the rev limit ends at 1.4 times that of the scenario, 7500 rpm.
#[test]
fn sliders_end_where_the_engine_does() {
    let served = demo();
    let state = |moved: &str, key: &str| {
        let sliders = served.ask("/likely", &with(&served.build(), "moved", moved)).json()["sliders"].clone();
        ["low", "high"].map(|end| sliders[key][end].as_f64().unwrap())
    };
    assert_eq!(state("", "ethanol_percent"), [0.0, 100.0]);
    assert_eq!(state("fuel=e100", "ethanol_percent"), [100.0, 100.0]);
    assert_eq!(state("", "to_rpm"), [2500.0, 10500.0]);
    assert_eq!(state("", "compression_ratio"), [6.0, 18.0]);
    // Either end of every slider runs.
    let sliders = served.ask("/likely", &served.build()).json()["sliders"].clone();
    for (key, ends) in sliders.as_object().unwrap() {
        for end in ["low", "high"] {
            let moved = format!("{key}={}", ends[end]);
            let reply = served.ask("/likely", &with(&served.build(), "moved", moved.as_str()));
            assert_eq!(reply.status, 200, "{moved}: {}", reply.body);
        }
    }
}

#[test]
fn a_slow_request_holds_up_no_other_and_ends() {
    let served = demo();
    let build = with(&served.build(), "moved", "compression_ratio=12");
    let mut slow: Vec<_> = (0..8).map(|_| served.connect()).collect();
    for stream in &mut slow {
        stream.write_all(b"GET / HTTP/1.1\r\nHost: ").unwrap();
    }
    let start = Instant::now();
    assert_eq!(served.ask("/likely", &build).status, 200);
    assert!(start.elapsed() < Duration::from_secs(4), "{:?}", start.elapsed());
    // One half of a request, sent on slowly, is not waited for without end.
    assert_eq!(Reply::read(slow.remove(0)).status, 408);
}

#[cfg(unix)]
#[test]
fn an_interrupt_ends_it_as_done() {
    let mut served = demo();
    let sent = std::process::Command::new("kill").args(["-INT", &served.child.id().to_string()]).status();
    assert!(sent.unwrap().success());
    assert_eq!(served.child.wait().unwrap().code(), Some(0));
}

#[test]
fn bad_input_ends_it_before_anything_is_served() {
    assert!(refused(&["live", "no-such-file.toml"]).contains("cannot read no-such-file.toml"));
    assert!(refused(&["live", &scenario("circuit-2400"), "--fuel", "kerosene"]).contains("kerosene"));
    assert!(refused(&["live", "--air-temp", "31 C"]).contains("weather needs a build"));
    let served = Served::start(&[&scenario("street-2000")]);
    let taken = served.port.to_string();
    assert!(
        refused(&["live", "--port", &taken]).contains(&format!("cannot listen on 127.0.0.1 port {taken}"))
    );
}

#[test]
fn without_a_scenario_it_begins_with_an_empty_form() {
    let served = Served::start(&[]);
    assert_eq!(served.get("/start.json").json()["text"], "");
    let form = served.ask("/form", &json!({ "text": "", "whole": true })).json();
    assert_eq!(form["ok"], false);
    let problems = form["problems"].as_array().unwrap();
    assert!(
        problems.iter().all(|problem| problem["missing"] == true && problem["path"] != ""),
        "{problems:?}"
    );
    let html = form["form"].as_str().unwrap();
    for words in ["Bore", "Compression ratio", "Peak power", "dial bore gauge", "More: Valves", "Default: "] {
        assert!(html.contains(words), "{words}");
    }
}
