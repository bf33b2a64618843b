//! With US units no metric figure stands in text, tables, plots or the page.

use crate::common::cli::{entries, run};
use scraper::Html;

const SHIPPED: [&str; 5] =
    ["air-twin-1100", "big-eight-6200", "circuit-2400", "ported-four-1800", "street-2000"];
/// Metric units that are nothing else, with and without a number before them.
const METRIC: [&str; 20] = [
    "mm", "kW", "kPa", "MPa", "Nm", "kg/h", "kg/s", "kg/L", "kg/m3", "L/h", "m/s", "m/s2", "km/s2", "km/h",
    "MJ/kg", "MJ/L", "kJ/kg", "g/kWh", "kW/L", "cm3",
];
/// Words that are a metric unit after a number or a comma alone. cc is at home in shops of either system.
const METRIC_AFTER_A_NUMBER: [&str; 6] = ["C", "K", "L", "N", "kg", "bar"];
/// The same in the name of a column.
const METRIC_IN_A_NAME: [&str; 14] =
    ["mm", "kw", "kpa", "nm", "bar", "kg", "l", "m", "c", "k", "kwh", "mj", "kj", "g"];

/// What of a text is a metric figure, with the word before it.
fn metric_figures(text: &str) -> Vec<String> {
    // Builders say an engine's displacement in litres too, and a K ends the row of a change that knocks.
    let text = text.replace("cu in (", "cu in, said to be ").replace(" K\n", "\n");
    let words: Vec<&str> = text.split_whitespace().collect();
    let plain = |word: &str| word.trim_matches(|c: char| ".,;:()\"".contains(c)).to_owned();
    let is_number = |word: &str| plain(word).ends_with(|c: char| c.is_ascii_digit());
    let is_metric = |before: &str, word: &str| {
        let is_unit_place = is_number(before) || before.ends_with(',');
        METRIC.contains(&word) || is_unit_place && METRIC_AFTER_A_NUMBER.contains(&word)
    };
    let is_displacement = |i: usize| i >= 3 && words[i - 3..i] == ["said", "to", "be"];
    let pairs = words.windows(2).enumerate().filter(|(i, _)| !is_displacement(*i));
    let pairs = pairs.map(|(_, pair)| (pair[0], plain(pair[1])));
    pairs.filter(|(before, word)| is_metric(before, word)).map(|(a, b)| format!("{} {b}", plain(a))).collect()
}

fn metric_columns(csv: &str) -> Vec<String> {
    let heads = csv.lines().next().unwrap_or_default().split(',');
    heads
        .filter(|head| head.split('_').any(|part| METRIC_IN_A_NAME.contains(&part)))
        .map(str::to_owned)
        .collect()
}

/// The words of a drawing or page, without those that a style or a script holds.
fn words_of(markup: &str) -> String {
    let html = Html::parse_document(markup);
    let is_code = |node: &scraper::node::Element| ["style", "script"].contains(&node.name());
    let texts = html
        .tree
        .nodes()
        .filter(|node| !node.ancestors().any(|above| above.value().as_element().is_some_and(is_code)));
    texts
        .filter_map(|node| node.value().as_text().map(|text| text.text.to_string()))
        .collect::<Vec<_>>()
        .join(" ")
}

fn printed(arguments: &[&str]) -> String {
    let output = run(&[arguments, &["--units", "us"]].concat());
    assert_ne!(output.status.code(), Some(2), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn check(arguments: &[&str], plots: bool) {
    let folder = tempfile::tempdir().unwrap();
    let plot = ["--plot", folder.path().to_str().unwrap()];
    let text = printed(&[arguments, if plots { &plot } else { &[] }].concat());
    assert_eq!(metric_figures(&text), Vec::<String>::new(), "{arguments:?}\n{text}");
    for name in entries(folder.path()).iter().filter(|name| name.ends_with(".svg")) {
        let words = words_of(&std::fs::read_to_string(folder.path().join(name)).unwrap());
        assert!(
            words.contains("rpm") || words.contains("ethanol") || words.contains("ratio"),
            "{name}: {words}"
        );
        assert_eq!(metric_figures(&words), Vec::<String>::new(), "{arguments:?} {name}");
    }
}

#[test]
fn text_tables_and_plots() {
    for name in SHIPPED {
        let file = format!("scenarios/{name}.toml");
        for (arguments, has_plots) in [
            (vec!["estimate", &file, "--samples", "50"], true),
            (vec!["fueling", &file], true),
            (vec!["volumes", &file, "--wanted", "12.5"], false),
            (vec!["volumes", &file, "--wanted", "8"], false),
        ] {
            check(&arguments, has_plots);
        }
        for command in ["estimate", "fueling", "volumes"] {
            let few: &[&str] = if command == "estimate" { &["--samples", "50"] } else { &[] };
            let csv = printed(&[&[command, &file, "--format", "csv"], few].concat());
            assert_eq!(metric_columns(&csv), Vec::<String>::new(), "{command} {name}");
        }
    }
    check(&["breathing", "tests/data/on_pipes.toml", "--show", "all"], true);
    // What is slow, where a column or a sentence is of its own.
    check(&["goal", "scenarios/air-twin-1100.toml", "--samples", "50", "--wheel-power", "90 hp"], false);
    let builds =
        ["street-2000", "air-twin-1100", "ported-four-1800"].map(|name| format!("scenarios/{name}.toml"));
    let [first, second, third] = builds.each_ref().map(String::as_str);
    check(&["estimate", first, second, third, "--samples", "50", "--fuel", "e30", "--show", "all"], true);
    let street = ["spark", "scenarios/street-2000.toml", "--fuel", "premium-91"];
    check(&street, true);
    let csv = printed(&[&street[..], &["--format", "csv"]].concat());
    assert_eq!(metric_columns(&csv), Vec::<String>::new());
}

#[test]
fn fuels() {
    check(&["fuel", "e85", "premium-93", "methanol"], false);
    check(&["fuel", "mix", "20 L e85", "30 L premium-91", "--to", "40 %", "--add", "e85"], false);
    check(&["fuel", "premium-91", "--sweep"], true);
    let csv = printed(&["fuel", "e85", "--sweep", "--format", "csv"]);
    assert_eq!(metric_columns(&csv), Vec::<String>::new());
}

/// What is slow, a choice and the page that holds one.
#[test]
fn choice_and_page() {
    let one_fuel = ["scenarios/street-2000.toml", "--samples", "50", "--fuel", "premium-91"];
    let page = printed(&[&["report"], &one_fuel[..], &["--wheel-power", "110 hp"]].concat());
    let words = words_of(&page);
    assert!(words.contains("hp"));
    assert_eq!(metric_figures(&words), Vec::<String>::new());
    check(&[&["choose"], &one_fuel[..]].concat(), true);
    let csv = printed(&[&["choose"], &one_fuel[..], &["--format", "csv"]].concat());
    assert_eq!(metric_columns(&csv), Vec::<String>::new());
}

#[test]
fn a_metric_figure_is_found() {
    assert_eq!(
        metric_figures("10 K cooler, 91 bar and 3 L; 122 cu in (2.00 L), 15 C; pressure, bar"),
        ["10 K", "91 bar", "3 L", "15 C", "pressure bar"]
    );
    assert_eq!(metric_figures("25 cc, 0.5 in and K 12, the longer the bar"), Vec::<String>::new());
    assert_eq!(metric_columns("fuel,air_flow_kg_per_s,power_hp\n1,2,3"), ["air_flow_kg_per_s"]);
}
