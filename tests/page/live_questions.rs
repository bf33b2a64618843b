//! The questions of the page over a socket: each is answered by what answers the command of the same name.

use crate::common::cli::{quiet, run, scenario};
use crate::common::live::Served;
use serde_json::{Value, json};

fn demo() -> Served {
    Served::start(&[&scenario("circuit-2400")])
}

/// Words of a piece of HTML, without its tags.
fn words(html: &str) -> String {
    let fragment = scraper::Html::parse_fragment(html);
    let text: Vec<&str> = fragment.root_element().text().collect();
    text.join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Every line of a text of the program that is prose stands in the piece, but for what names keys of a file.
fn says_the_same(html: &str, text: &str) {
    // The dash of a point is the mark of a list on the page.
    let flat = text.split_whitespace().filter(|word| *word != "-").collect::<Vec<_>>().join(" ");
    let said = words(html);
    let sentences =
        flat.split(". ").filter(|sentence| !sentence.contains(['_', '[', '|']) && sentence.len() > 40);
    let (mut found, mut all) = (0, 0);
    for sentence in sentences {
        all += 1;
        found += usize::from(said.contains(sentence));
    }
    assert!(all > 0 && found * 10 >= all * 8, "{found} of {all} sentences:\n{text}\n{said}");
}

#[test]
fn answers_are_those_of_the_commands() {
    let served = demo();
    let build = served.build();
    let demo = scenario("circuit-2400");
    let piston = served.ask("/piston", &build).done();
    let said = String::from_utf8(run(&["choose", &demo]).stdout).unwrap();
    says_the_same(piston["html"].as_str().unwrap(), said.split("More: --show").next().unwrap());
    let mut target = build.clone();
    target["target"] = json!("180 kW");
    let said = String::from_utf8(run(&["goal", &demo, "--wheel-power", "180 kW"]).stdout).unwrap();
    let html = served.ask("/target", &target).json()["html"].clone();
    says_the_same(html.as_str().unwrap(), said.split("More: --show").next().unwrap());
    let html = served.ask("/injectors", &build).json()["html"].clone();
    says_the_same(html.as_str().unwrap(), &String::from_utf8(run(&["fueling", &demo]).stdout).unwrap());
    let tank = json!({ "fills": "20 L e85\n12,5 L premium-91" });
    let html = served.ask("/tank", &tank).json()["html"].clone();
    says_the_same(html.as_str().unwrap(), &quiet(&["fuel", "mix", "20 L e85", "12.5 L premium-91"], 0));
}

#[test]
fn plots_are_those_of_the_reports_panel_by_panel() {
    let served = demo();
    let html = served.ask("/makes", &served.build()).json()["html"].as_str().unwrap().to_owned();
    let fragment = scraper::Html::parse_fragment(&html);
    let figures = scraper::Selector::parse("section.figure figure svg[role=img]").unwrap();
    assert!(fragment.select(&figures).count() >= 5, "{}", fragment.select(&figures).count());
    assert!(!html.contains("<script") && !html.contains(" style="), "nothing that the policy would block");
    let ids: Vec<&str> =
        html.match_indices(" id=\"").map(|(at, _)| html[at + 5..].split('"').next().unwrap()).collect();
    let mut once = ids.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(once.len(), ids.len(), "an id stands twice");
}

#[test]
fn a_mistake_is_told_at_its_field() {
    let served = demo();
    let build = served.build();
    let refused = |route: &str, key: &str, value: &str| -> Value {
        let mut asked = build.clone();
        asked[key] = json!(value);
        let reply = served.ask(route, &asked);
        assert_eq!(reply.status, 400, "{route}: {}", reply.body);
        serde_json::from_str(&reply.body).unwrap()
    };
    assert_eq!(refused("/target", "target", "300")["error"]["key"], "target");
    assert_eq!(refused("/timing", "contents", "85; 10")["error"]["key"], "contents");
    for (key, tank) in [
        ("fills", json!({ "fills": "20 e85" })),
        ("fills", json!({ "fills": "" })),
        ("to", json!({ "fills": "20 L e85", "to": "half", "add": "e85" })),
        ("add", json!({ "fills": "20 L e85", "to": "50 %", "add": "kerosene" })),
        ("add", json!({ "fills": "20 L e85", "to": "50 %" })),
    ] {
        let reply = served.ask("/tank", &tank);
        let said: Value = serde_json::from_str(&reply.body).unwrap();
        assert_eq!((reply.status, said["error"]["key"].as_str().unwrap()), (400, key), "{tank}: {said}");
    }
}

#[test]
fn a_pull_is_judged_fitted_and_mapped_by_hand() {
    let served = demo();
    let log =
        std::fs::read_to_string(scenario("pulls/circuit-2400-pull-good").replace(".toml", ".csv")).unwrap();
    let ask = |columns: Value, fit: bool, log: &str| {
        let mut asked = served.build();
        asked["name"] = json!("pull.csv");
        asked["columns"] = columns;
        asked["fit"] = json!(fit);
        served.send("/pull", format!("{asked}\n{log}").as_bytes()).done()
    };
    let judged = ask(json!([]), true, &log);
    assert!(words(judged["html"].as_str().unwrap()).contains("checks pass"), "{judged}");
    // The fitted build is a build, and is told as such.
    let fitted = judged["fitted"].as_str().unwrap();
    assert!(fitted.contains("Fitted by endgas"));
    let form = served.ask("/form", &json!({ "text": fitted })).json();
    assert_eq!(form["ok"], true, "{form}");
    // Headings that say nothing are mapped by hand.
    let header = log.lines().find(|line| !line.starts_with('#')).unwrap();
    let channels: Vec<String> = (0..header.split(';').count()).map(|i| format!("ch{i}")).collect();
    // Its line of units would say it too.
    let units = log.lines().skip_while(|line| *line != header).nth(1).unwrap();
    let unclear = log.replace(header, &channels.join(";")).replace(&format!("{units}\n"), "");
    let asked = ask(json!([]), false, &unclear);
    let columns = asked["columns"].as_str().unwrap();
    assert!(
        columns.contains("data-heading=\"ch0\"") && asked["html"].as_str().unwrap().contains("not clear"),
        "{asked}"
    );
}

#[test]
fn the_page_for_the_customer_is_the_report() {
    let served = demo();
    let mut asked = served.build();
    asked["target"] = json!("");
    let made = served.ask("/customer", &asked).done();
    let address = made["address"].as_str().unwrap();
    let page = served.get(&format!("/{address}"));
    assert_eq!(page.status, 200);
    assert!(
        page.head.contains("Content-Security-Policy: default-src 'none'; style-src 'unsafe-inline'"),
        "{}",
        page.head
    );
    let report = quiet(&["report", &scenario("circuit-2400")], 0);
    assert_eq!(page.body, report, "it is what the command makes");
    let saved = served.get(&format!("/{address}?save"));
    assert!(saved.head.contains("Content-Disposition: attachment"));
}

/// A long answer that nobody reads any more is given up: the next one is soon there.
#[test]
fn a_choice_can_be_cancelled() {
    let served = demo();
    let build = served.build().to_string();
    for _ in 0..4 {
        let mut stream = served.connect();
        use std::io::{Read as _, Write as _};
        write!(
            stream,
            "POST /piston HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nContent-Length: {}\r\n\r\n{build}",
            served.port,
            build.len()
        )
        .unwrap();
        let mut some = [0; 512];
        assert!(stream.read(&mut some).unwrap() > 0);
    }
    let done = served.ask("/piston", &served.build()).done();
    assert!(words(done["html"].as_str().unwrap()).contains("Order "));
}
