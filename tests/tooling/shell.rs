//! Completions and manual pages: each is there, whole, and names every command.

use super::{commands, endgas, printed};
use std::process::Command;

const SHELLS: [&str; 5] = ["bash", "elvish", "fish", "powershell", "zsh"];

#[test]
fn completions_name_every_command_and_its_options() {
    for shell in SHELLS {
        let script = printed(&["completions", shell]);
        for command in commands() {
            assert!(script.contains(&command), "{shell} {command}");
        }
        for option in ["wheel-power", "fuel-folder", "format", "samples"] {
            assert!(script.contains(option), "{shell} {option}");
        }
    }
    assert_eq!(endgas(&["completions", "tcsh"]).status.code(), Some(2));
}

#[test]
fn completions_go_to_a_file_whole_or_not_at_all() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("endgas.fish");
    let output = endgas(&["completions", "fish", "--out", file.to_str().unwrap()]);
    assert!(output.status.success() && output.stdout.is_empty());
    assert_eq!(std::fs::read_to_string(&file).unwrap(), printed(&["completions", "fish"]));
    let output = endgas(&["completions", "fish", "--out", folder.path().to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn completions_know_files_from_folders() {
    let script = printed(&["completions", "zsh"]);
    for (option, hint) in [("--out=", "_files"), ("--plot=", "_files -/"), ("--fuel-folder=", "_files -/")] {
        let mut lines = script.lines().filter(|line| line.contains(option));
        assert!(
            lines.clone().count() > 0 && lines.any(|line| line.contains(&format!(":{hint}'"))),
            "{option}"
        );
    }
}

#[test]
fn bash_reads_its_completions() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("endgas.bash");
    std::fs::write(&path, printed(&["completions", "bash"])).unwrap();
    match Command::new("bash").arg("-n").arg(&path).output() {
        Ok(output) => {
            assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        }
        Err(error) => println!("skipped: no bash ({error})"),
    }
}

#[test]
fn there_is_a_manual_page_for_every_command() {
    let folder = tempfile::tempdir().unwrap();
    let target = folder.path().join("man1");
    let output = endgas(&["man", "--out", target.to_str().unwrap()]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let mut names: Vec<String> = commands().iter().map(|command| format!("endgas-{command}.1")).collect();
    names.extend(["endgas.1".to_owned(), "endgas-fuel-mix.1".to_owned()]);
    names.sort();
    let entries = std::fs::read_dir(&target).unwrap().map(|entry| entry.unwrap().file_name());
    let mut found: Vec<String> = entries.map(|name| name.into_string().unwrap()).collect();
    found.sort();
    assert_eq!(found, names);
    for name in names {
        let page = std::fs::read_to_string(target.join(&name)).unwrap();
        is_a_page(&page, name.trim_end_matches(".1"));
    }
    let main = std::fs::read_to_string(target.join("endgas.1")).unwrap();
    assert_eq!(main, printed(&["man"]));
    for command in commands() {
        assert!(main.contains(&format!("endgas\\-{}(1)", command.replace('-', "\\-"))), "{command}");
    }
}

/// Structure of a page: a title line, the sections in their order, requests that are known, no line that groff would
/// take for a request by mistake.
fn is_a_page(page: &str, name: &str) {
    let title = page.lines().find(|line| line.starts_with(".TH ")).unwrap();
    assert!(title.starts_with(&format!(".TH {name} 1 ")) && title.contains("\"endgas "), "{title}");
    let sections: Vec<&str> = page.lines().filter_map(|line| line.strip_prefix(".SH ")).collect();
    let place = |wanted: &str| sections.iter().position(|section| section.trim_matches('"') == wanted);
    let order = [place("NAME"), place("SYNOPSIS"), place("DESCRIPTION"), place("OPTIONS")];
    assert!(order.iter().all(Option::is_some) && order.is_sorted(), "{name}: {sections:?}");
    for line in page.lines().filter(|line| line.starts_with(['.', '\''])) {
        let request = line.trim_start_matches(['.', '\'']).split_whitespace().next().unwrap_or_default();
        let known =
            ["TH", "SH", "SS", "TP", "PP", "RS", "RE", "IP", "br", "nf", "fi", "ie", "el", "ds", "sp"];
        assert!(known.contains(&request), "{name}: {line}");
    }
    assert!(page.chars().all(|c| c == '\n' || c == '\t' || !c.is_control()), "{name}");
}

#[test]
fn a_folder_that_cannot_be_made_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("file");
    std::fs::write(&file, "mine").unwrap();
    let output = endgas(&["man", "--out", file.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "mine");
}
