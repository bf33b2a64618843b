//! The report page as a document: whole, valid, escaped, and with words for every drawing.

use super::reports::{Made, longest, shipped};
use crate::common::cli::quiet;
use endgas::choose::Choice;
use endgas::choose::result::ChoiceNotice;
use endgas::estimate::{Estimate, Notice};
use endgas::fuel::ContentRange;
use endgas::goal::{Costs, goal};
use endgas::report::{Report, Units, render_page};
use scraper::{Html, Selector};
use serde_json::Value;
use std::collections::{BTreeSet, HashSet};

fn demo() -> &'static Made {
    shipped().iter().find(|made| made.name == "circuit-2400").unwrap()
}

fn page(estimate: &Estimate, choice: &Choice, units: Units) -> String {
    render_page(&Report { build: &demo().job.build, estimate, choice, goal: None, units }).unwrap()
}

fn all<'a>(html: &'a Html, selector: &str) -> Vec<scraper::ElementRef<'a>> {
    html.select(&Selector::parse(selector).unwrap()).collect()
}

fn words(html: &Html, selector: &str) -> Vec<String> {
    all(html, selector).iter().map(|e| e.text().collect::<String>()).collect()
}

#[test]
fn the_page_is_a_valid_document_with_its_head() {
    for units in [Units::Metric, Units::Us] {
        let text = demo().page(false, units);
        let html = Html::parse_document(&text);
        assert_eq!(html.errors, Vec::<String>::new());
        assert!(text.starts_with("<!DOCTYPE html><html lang=\"en\">") && text.ends_with("</html>\n"));
        assert_eq!(all(&html, "meta[charset=utf-8]").len(), 1);
        assert_eq!(all(&html, "meta[name=viewport]").len(), 1);
        assert_eq!(words(&html, "head > title"), ["Circuit four, 2.4 litres: power and knock estimate"]);
        assert_eq!(words(&html, "h1"), ["Circuit four, 2.4 litres"]);
    }
}

#[test]
fn ids_are_unique_and_every_reference_leads_to_one() {
    let text = demo().page(false, Units::Metric);
    let html = Html::parse_document(&text);
    let ids: Vec<&str> = all(&html, "[id]").iter().map(|e| e.attr("id").unwrap()).collect();
    let set: HashSet<&str> = ids.iter().copied().collect();
    assert_eq!(ids.len(), set.len());
    assert!(ids.len() > 40);
    for element in all(&html, "[aria-labelledby]") {
        let named = element.attr("aria-labelledby").unwrap();
        assert!(named.split(' ').all(|id| set.contains(id)), "{named}");
    }
    for link in all(&html, "a[href]") {
        let target = link.attr("href").unwrap();
        assert!(target.strip_prefix('#').is_some_and(|id| set.contains(id)), "{target}");
    }
}

#[test]
fn nothing_is_fetched_and_no_script_runs() {
    let text = demo().page(false, Units::Metric);
    let html = Html::parse_document(&text);
    for selector in ["script", "link", "img", "iframe", "object", "image", "use", "[src]", "[srcset]"] {
        assert!(all(&html, selector).is_empty(), "{selector}");
    }
    assert!(!text.contains("@import") && !text.contains("url(") && !text.contains("http://www"));
    let policy = all(&html, "meta[http-equiv=Content-Security-Policy]");
    assert!(policy[0].attr("content").unwrap().contains("default-src 'none'"));
}

#[test]
fn every_drawing_has_a_title_a_sentence_and_numbers_near_it() {
    let html = Html::parse_document(&demo().page(false, Units::Metric));
    let fuels = demo().estimate.fuels.len();
    let drawings = all(&html, "svg[role=img]");
    // Torque, power, spark and margin per fuel; power over ratio for at most four; the map; that of the first sheet.
    assert_eq!(drawings.len(), 4 * fuels + fuels.min(4) + 2);
    for drawing in drawings {
        for part in ["title", "desc"] {
            let selector = Selector::parse(part).unwrap();
            let text: String = drawing.select(&selector).flat_map(|e| e.text()).collect();
            assert!(text.len() >= 10, "{text}");
        }
    }
    for section in ["#power", "#compression", "#spark"] {
        assert!(!all(&html, &format!("{section} details table")).is_empty(), "{section}");
    }
}

/// The order with its ratio, and the range of every fuel as the estimate has it.
#[test]
fn the_answer_comes_first_and_names_the_ratio_to_order() {
    for made in shipped() {
        let html = Html::parse_document(&made.page(false, Units::Metric));
        assert_eq!(all(&html, "main section")[0].attr("id"), Some("answer"));
        let verdict = &words(&html, "#answer .verdict")[0];
        match &made.choice.order {
            Some(order) => {
                let wanted = format!("Order {:.1}:1", order.compression_ratio);
                assert!(verdict.starts_with(&wanted), "{}: {verdict}", made.name);
            }
            None => assert_eq!(verdict, "Order nothing yet."),
        }
        let rows = all(&html, "#answer .ranges tbody tr");
        assert_eq!(rows.len(), made.estimate.fuels.len());
        for (row, fuel) in rows.iter().zip(&made.estimate.fuels) {
            let band = fuel.start_peak_power.unwrap_or(fuel.peak_power).wheel;
            let cells: Vec<String> =
                row.select(&Selector::parse("td.n").unwrap()).map(|cell| cell.text().collect()).collect();
            assert_eq!(
                cells,
                [band.low, band.likely, band.high].map(|kw| format!("{kw:.0}")),
                "{}",
                fuel.name
            );
        }
    }
    let circuit = Html::parse_document(&demo().page(false, Units::Metric));
    let said = words(&circuit, "#answer p").join(" ");
    let first = demo().choice.pistons[0].row.compression_ratio;
    assert!(said.contains(&format!("Of the off-the-shelf pistons {first:.1}:1 comes first.")), "{said}");
}

/// The reader is no editor of files: what the shop reads is told by its name in the trade.
#[test]
fn no_key_of_a_scenario_is_shown() {
    let schema: Value = serde_json::from_str(&quiet(&["schema", "scenario"], 0)).unwrap();
    let mut keys = BTreeSet::new();
    keys_of(&schema, &mut keys);
    let with_joint: Vec<&String> = keys.iter().filter(|key| key.contains('_')).collect();
    assert!(with_joint.len() > 60, "{with_joint:?}");
    let sections: Vec<&String> = schema["properties"].as_object().unwrap().keys().collect();
    assert!(sections.iter().any(|section| *section == "fuels"));
    for made in shipped().iter().chain([longest()]) {
        for units in [Units::Metric, Units::Us] {
            let html = Html::parse_document(&made.page(true, units));
            let said = words(&html, "body").join(" ");
            for key in &with_joint {
                assert!(!said.contains(key.as_str()), "{}: {key}", made.name);
            }
            for section in &sections {
                assert!(!said.contains(&format!("[{section}]")), "{}: [{section}]", made.name);
                for key in &keys {
                    let path = format!("{section}.{key}");
                    assert!(!said.contains(&path), "{}: {path}", made.name);
                }
            }
        }
    }
}

/// Names of all properties of a schema.
fn keys_of(schema: &Value, keys: &mut BTreeSet<String>) {
    match schema {
        Value::Object(map) => {
            if let Some(properties) = map.get("properties").and_then(Value::as_object) {
                keys.extend(properties.keys().cloned());
            }
            map.values().for_each(|value| keys_of(value, keys));
        }
        Value::Array(values) => values.iter().for_each(|value| keys_of(value, keys)),
        _ => {}
    }
}

#[test]
fn units_are_those_asked_for() {
    let (metric, us) = (demo().page(false, Units::Metric), demo().page(false, Units::Us));
    assert!(metric.contains("Peak wheel power, kW") && metric.contains("flywheel torque, N m"));
    assert!(us.contains("Peak wheel power, hp") && us.contains("flywheel torque, lb-ft"));
    assert!(us.contains("bore and stroke 3.681 by 3.441 in") && !us.contains(", kW"));
}

#[test]
fn hostile_names_stay_words() {
    let Made { estimate, choice, .. } = demo();
    let (mut estimate, mut choice) = (estimate.clone(), choice.clone());
    let hostile = "<script>alert(1)</script>\"'></title></style><!-- & \u{0} \u{1b}[31m";
    estimate.scenario = hostile.to_owned();
    estimate.note = hostile.to_owned();
    let notice = Notice::EthanolRange { fuel: hostile.to_owned(), content: ContentRange::known(0.1) };
    estimate.notices.push(notice.clone());
    for (i, fuel) in estimate.fuels.iter_mut().enumerate() {
        fuel.name = format!("{i}\"><script>x</script><svg onload=a>");
        fuel.title = hostile.to_owned();
        choice.fuels[i].name = fuel.name.clone();
    }
    choice.stood.base = hostile.to_owned();
    choice.notices.push(ChoiceNotice::Knock(notice));
    let text = page(&estimate, &choice, Units::Metric);
    let html = Html::parse_document(&text);
    assert_eq!(html.errors, Vec::<String>::new());
    assert!(all(&html, "script").is_empty() && all(&html, "[onload]").is_empty());
    assert!(words(&html, "h1")[0].starts_with("<script>alert(1)</script>\"'></title></style><!-- & "));
    assert!(words(&html, "head > title")[0].starts_with("<script>alert(1)"));
    assert!(words(&html, "#answer tbody th")[0].starts_with("0\"><script>"));
    assert_eq!(
        all(&html, "section").len(),
        all(&Html::parse_document(&demo().page(false, Units::Metric)), "section").len()
    );
}

#[test]
fn a_missed_limit_is_told_at_the_top() {
    let Made { estimate, choice, .. } = demo();
    let mut missed = estimate.clone();
    missed.limit_missed = true;
    let said = "A limit stated for this build is not met";
    assert!(page(&missed, choice, Units::Metric).contains(said));
    assert!(!page(estimate, choice, Units::Metric).contains(said));
}

#[test]
fn a_choice_without_an_order_and_one_fuel_still_make_a_page() {
    let Made { estimate, choice, .. } = demo();
    let (mut estimate, mut choice) = (estimate.clone(), choice.clone());
    choice.order = None;
    choice.half_steps.clear();
    choice.variants.clear();
    estimate.fuels.truncate(1);
    estimate.fuels[0].curve[0].cautious_spark_deg_btdc = None;
    let text = page(&estimate, &choice, Units::Metric);
    assert!(text.contains("Order nothing yet: no compression ratio from"));
    assert!(!text.contains("NaN") && !text.contains("inf "));
}

#[test]
fn numbers_that_are_not_finite_are_refused() {
    let Made { estimate, choice, .. } = demo();
    let mut broken = estimate.clone();
    broken.fuels[0].curve[0].spark_deg_btdc = f64::NAN;
    let report =
        Report { build: &demo().job.build, estimate: &broken, choice, goal: None, units: Units::Metric };
    assert!(render_page(&report).unwrap_err().to_string().contains("spark_deg_btdc"));
}

/// The question of a target comes first, with the verdict of the JSON in headline and table.
#[test]
fn a_target_is_answered_first_and_as_elsewhere() {
    let Made { job, estimate, choice, .. } = demo();
    for (wanted_kw, headline, cell) in [
        (110.0, "Yes: already reached as built.", "already reached"),
        (160.0, "Not as built: needs top-end work.", "needs top-end work"),
        (600.0, "No: not credible, even with a race build.", "not credible"),
    ] {
        let goal = goal(job, estimate, &Costs::USUAL, wanted_kw).unwrap();
        let report = Report { build: &job.build, estimate, choice, goal: Some(&goal), units: Units::Metric };
        let html = Html::parse_document(&render_page(&report).unwrap());
        assert_eq!(words(&html, "main section:first-of-type .verdict")[0], headline);
        let cells = words(&html, "#goal table[aria-label='By fuel'] tbody tr:first-child td");
        assert!(cells.iter().any(|said| said == cell), "{wanted_kw}: {cells:?}");
        let sections = all(&html, "main section");
        let ids: Vec<_> = sections.iter().take(2).filter_map(|section| section.attr("id")).collect();
        assert_eq!(ids, ["answer", "goal"]);
    }
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    assert_eq!(demo().page(false, Units::Metric), demo().page(false, Units::Metric));
}
