//! What is put into the live page: fields typed into its form, and a log with what is said of it.

use super::page::posted;
use super::{said, shown};
use endgas::scenario::read;
use serde_json::{Map, Value, json};

/// The build of the page: few rpm, so that a log is soon judged.
const BUILD: &str = "[engine]\ncylinders = 4\nbore_mm = 86.0\nstroke_mm = 86.0\ncompression_ratio = 11.0\n\
    [breathing]\nkind = \"production-four-valve\"\npeak_power_rpm = 6200\n[fuels]\nrun = [\"premium-91\"]\n\
    [speed]\nfrom_rpm = 4000\nto_rpm = 5000\nstep_rpm = 500\n";

/// Lines "KEY=TYPED" up to an empty one, then a log, which may be missing. A key with a dot is a field of the form, its unit behind a
/// bar; any other says something of the log.
pub fn upload(bytes: &[u8]) {
    let end = bytes.windows(2).position(|two| two == b"\n\n");
    let (head, log) = end.map_or((bytes, &b""[..]), |end| (&bytes[..end], &bytes[end + 2..]));
    let Ok(head) = std::str::from_utf8(head) else { return };
    let (mut changes, mut asked, mut columns) = (Vec::new(), Map::new(), Vec::new());
    for (key, typed) in head.lines().filter_map(|line| line.split_once('=')) {
        match key {
            _ if key.contains('.') => {
                let (typed, unit) = typed.split_once('|').unwrap_or((typed, ""));
                changes.push(json!({ "path": key, "typed": typed, "unit": unit }));
            }
            "column" => columns.push(typed),
            "keep_ends" | "fit" | "fit_anyway" | "us" => drop(asked.insert(key.to_owned(), true.into())),
            _ => drop(asked.insert(key.to_owned(), typed.into())),
        }
    }
    let Some(text) = typed_into(&changes) else { return };
    if log.is_empty() {
        return;
    }
    asked.insert("columns".to_owned(), columns.into());
    asked.insert("text".to_owned(), text.into());
    asked.entry("name").or_insert_with(|| super::LABEL.into());
    let body = [Value::from(asked).to_string().as_bytes(), b"\n", log].concat();
    let answer = posted("/pull", body);
    let Some(done) = answer
        .lines()
        .map(|line| serde_json::from_str::<Value>(line).unwrap())
        .find_map(|line| line.get("done").cloned())
    else {
        return;
    };
    shown(done["html"].as_str().unwrap());
    if let Some(columns) = done["columns"].as_str() {
        is_html(columns);
    }
    if let Some(fitted) = done["fitted"].as_str() {
        read("fitted", fitted).unwrap();
    }
}

/// The text that typed fields make; none where it is no build. Put in again without a change it stays as it is.
fn typed_into(changes: &[Value]) -> Option<String> {
    let form = |text: &str, changes: &[Value]| -> Value {
        let body = json!({ "text": text, "changes": changes, "whole": true }).to_string();
        serde_json::from_str(&posted("/form", body.into_bytes())).unwrap()
    };
    let made = form(BUILD, changes);
    let text = made["text"].as_str()?;
    let again = form(text, &[]);
    for key in ["text", "ok", "problems", "form", "name"] {
        assert_eq!(made[key], again[key], "{key} is another when read again");
    }
    is_html(made["form"].as_str().unwrap());
    for problem in made["problems"].as_array().unwrap() {
        said(problem["message"].as_str().unwrap());
    }
    // A problem that is told of the whole is one of the estimate.
    if made["ok"] == true {
        read("typed", text).unwrap();
    }
    (made["ok"] == true).then(|| text.to_owned())
}

/// HTML in which what was put in stands as it is in its own field and as the heading that is asked for, and nowhere else.
fn is_html(html: &str) {
    let mut outside = html.to_owned();
    for attribute in ["value=\"", "data-heading=\""] {
        let (first, rest) = outside.split_once(attribute).unwrap_or((&outside, ""));
        let after = |part: &str| part.split_once('"').map_or(String::new(), |(_, after)| after.to_owned());
        outside = first.to_owned() + &rest.split(attribute).map(after).collect::<String>();
    }
    shown(&outside);
}
