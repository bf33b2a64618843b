//! The report page as a document: whole, valid, escaped, and with words for every drawing.

use endgas::choose::result::ChoiceNotice;
use endgas::choose::{Choice, choose};
use endgas::estimate::{Estimate, FuelEstimate, Notice, estimate};
use endgas::fuel::{ContentRange, FuelLibrary};
use endgas::goal::{Costs, goal};
use endgas::report::{Report, Units, render_page};
use endgas::scenario;
use scraper::{Html, Selector};
use std::collections::HashSet;
use std::sync::OnceLock;

fn found() -> &'static (Estimate, Choice) {
    static FOUND: OnceLock<(Estimate, Choice)> = OnceLock::new();
    FOUND.get_or_init(|| {
        let scenario = scenario::read("demo", scenario::DEMO).unwrap();
        let library = FuelLibrary::shipped().unwrap();
        let job = scenario.job(&library, 50, 1).unwrap();
        let ask = scenario.choose_job(job.clone(), &library).unwrap();
        (estimate(&job).unwrap(), choose(&ask, &|_| ()).unwrap())
    })
}

fn page(estimate: &Estimate, choice: &Choice, units: Units) -> String {
    render_page(&Report { estimate, choice, goal: None, units }).unwrap()
}

fn shipped(units: Units) -> String {
    let (estimate, choice) = found();
    page(estimate, choice, units)
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
        let text = shipped(units);
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
    let text = shipped(Units::Metric);
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
    let text = shipped(Units::Metric);
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
    let html = Html::parse_document(&shipped(Units::Metric));
    let fuels = found().0.fuels.len();
    let drawings = all(&html, "svg[role=img]");
    // Torque, power, spark and margin per fuel; power over ratio for at most four; the map.
    assert_eq!(drawings.len(), 4 * fuels + fuels.min(4) + 1);
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

#[test]
fn the_answer_comes_first_and_is_what_the_estimate_says() {
    let html = Html::parse_document(&shipped(Units::Metric));
    let lead = &words(&html, "section:first-of-type .lead")[0];
    let start = |fuel: &&FuelEstimate| fuel.start_peak_power.unwrap().wheel;
    let best = found().0.fuels.iter().max_by(|a, b| start(a).likely.total_cmp(&start(b).likely)).unwrap();
    let power = start(&best);
    let wanted = format!("On {}, expect {:.0} to {:.0} kW at the wheels", best.name, power.low, power.high);
    assert!(lead.starts_with(&wanted), "{lead}");
    let limit =
        format!("Tuned to its own knock limit it likely gives {:.0} kW.", best.peak_power.wheel.likely);
    assert!(lead.ends_with(&limit), "{lead}");
    // A table of power and one of timing.
    let cells = words(&html, "#answer tbody th");
    let names: Vec<&str> = found().0.fuels.iter().map(|f| f.name.as_str()).collect();
    assert_eq!(cells, [&names[..], &names].concat());
}

#[test]
fn units_are_those_asked_for() {
    let (metric, us) = (shipped(Units::Metric), shipped(Units::Us));
    assert!(metric.contains(" kW</b> at the wheels") && metric.contains("crank torque, N m"));
    assert!(us.contains(" hp</b> at the wheels") && us.contains("crank torque, lb-ft"));
    assert!(!us.contains(" kW</b>"));
}

#[test]
fn hostile_names_stay_words() {
    let (estimate, choice) = found();
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
        all(&Html::parse_document(&shipped(Units::Metric)), "section").len()
    );
}

#[test]
fn a_missed_limit_is_told_at_the_top() {
    let (estimate, choice) = found();
    let mut missed = estimate.clone();
    missed.limit_missed = true;
    let said = "A limit stated in the scenario is not met";
    assert!(page(&missed, choice, Units::Metric).contains(said));
    assert!(!page(estimate, choice, Units::Metric).contains(said));
}

#[test]
fn a_choice_without_an_order_and_one_fuel_still_make_a_page() {
    let (estimate, choice) = found();
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
    let (estimate, choice) = found();
    let mut broken = estimate.clone();
    broken.fuels[0].curve[0].spark_deg_btdc = f64::NAN;
    let report = Report { estimate: &broken, choice, goal: None, units: Units::Metric };
    assert!(render_page(&report).unwrap_err().to_string().contains("spark_deg_btdc"));
}

/// The question of a target comes first, with the verdict of the JSON in headline and table.
#[test]
fn a_target_is_answered_first_and_as_elsewhere() {
    let scenario = scenario::read("demo", scenario::DEMO).unwrap();
    let job = scenario.job(&FuelLibrary::shipped().unwrap(), 50, 1).unwrap();
    let (estimate, choice) = found();
    for (wanted_kw, headline, cell) in [
        (110.0, "Yes: already reached as built.", "already reached"),
        (160.0, "Not as built: needs top-end work.", "needs top-end work"),
        (600.0, "No: not credible, even with a race build.", "not credible"),
    ] {
        let goal = goal(&job, estimate, &Costs::USUAL, wanted_kw).unwrap();
        let report = Report { estimate, choice, goal: Some(&goal), units: Units::Metric };
        let html = Html::parse_document(&render_page(&report).unwrap());
        assert_eq!(words(&html, "main section:first-of-type .verdict"), [headline]);
        let cells = words(&html, "#goal table[aria-label='By fuel'] tbody tr:first-child td");
        assert!(cells.iter().any(|said| said == cell), "{wanted_kw}: {cells:?}");
        let first = &all(&html, "main section")[0];
        assert_eq!(first.value().attr("id"), Some("goal"));
    }
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    assert_eq!(shipped(Units::Metric), shipped(Units::Metric));
}
