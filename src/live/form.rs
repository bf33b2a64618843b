//! The form of a build as HTML: first what an engine needs, the rest behind folds, each field with its unit, how it is
//! measured and what stands for it.

use super::edit::{sections, typed_of};
use super::field::{FIELDS, FUELS, Field, section_label};
use crate::fuel::FuelLibrary;
use crate::input::Expected;
use crate::printable::printable;
use crate::units::Unit;
use maud::{Markup, html};
use toml_edit::DocumentMut;

/// Section that nobody states by hand.
const WRITTEN_BY_A_FIT: &str = "breathing.follows";

/// Ids in HTML are those of the paths without dots.
fn id(field: &Field) -> String {
    format!("in-{}", field.path.replace('.', "-"))
}

/// The form of a text.
pub(super) fn form(document: &DocumentMut, library: &FuelLibrary) -> String {
    let first: Vec<&Field> = FIELDS.iter().filter(|field| field.is_first()).collect();
    html! {
        div .fields { @for field in &first { (shown(document, field, library)) } }
        p { "All else is taken as usual for the kind of build, and widens the range. Worth stating next: valve events, driveline, weather." }
        @for section in sections() {
            @let fields: Vec<&Field> = FIELDS.iter().filter(|f| f.section == section && !f.is_first()).collect();
            @let stated = fields.iter().filter(|field| !typed_of(document, field).0.is_empty()).count();
            @if !fields.is_empty() && (stated > 0 || section != WRITTEN_BY_A_FIT) {
                details .more {
                    summary { "More: " (section_label(section)) @if stated > 0 { " (" (stated) " stated)" } }
                    div .fields { @for field in &fields { (shown(document, field, library)) } }
                }
            }
        }
    }
    .into_string()
}

fn shown(document: &DocumentMut, field: &Field, library: &FuelLibrary) -> Markup {
    let (typed, unit) = typed_of(document, field);
    let id = id(field);
    if field.path == FUELS {
        return fuels(&typed, field, &id, library);
    }
    html! {
        div .field data-path=(field.path) {
            label for=(id) { (field.label) }
            span .typed { (control(field, &id, &typed)) (units(field, unit)) }
            p .wrong id={ (id) "-wrong" } hidden {}
            (how(field))
        }
    }
}

fn control(field: &Field, id: &str, typed: &str) -> Markup {
    let described = format!("{id}-wrong");
    match &field.takes {
        Expected::Word(words) => html! {
            select id=(id) aria-describedby=(described) {
                option value="" { "not stated" }
                @for word in words { option value=(word) selected[*word == typed] { (word) } }
                @if !typed.is_empty() && !words.contains(&typed) { option value=(typed) selected { (printable(typed)) } }
            }
        },
        takes => {
            let is_number = matches!(takes, Expected::Number(_) | Expected::Count { .. });
            html! {
                input id=(id) type="text" value=(typed) aria-describedby=(described)
                    inputmode=[is_number.then_some("decimal")] placeholder=[field.usual.as_deref()] autocomplete="off";
            }
        }
    }
}

/// Choice of the unit, where there is one.
fn units(field: &Field, chosen: Unit) -> Markup {
    let family = field.unit().family();
    html! {
        @if family.len() > 1 {
            select .unit aria-label={ "Unit of " (field.label) } {
                @for unit in family { option value=(unit.symbol()) selected[*unit == chosen] { (unit.symbol()) } }
            }
        } @else if !field.unit().symbol().is_empty() { span .unit { (field.unit().symbol()) } }
    }
}

/// How it is measured, what it takes, what stands for it, what it does to the answer.
fn how(field: &Field) -> Markup {
    html! {
        details .how {
            summary { "About " span .quiet { (field.label.to_lowercase()) } }
            p { (field.words) }
            p { "Takes " (field.takes.to_string()) "." @if let Some(usual) = &field.usual { " Default: " (usual) "." } }
            @if matches!(field.takes, Expected::Number(_)) {
                p { button type="button" .does { "What it does to the answer" } " " span .done role="status" {} }
            }
        }
    }
}

/// Fuels: those of the library to tick, and recipes.
fn fuels(typed: &str, field: &Field, id: &str, library: &FuelLibrary) -> Markup {
    let run: Vec<&str> = typed.split(';').map(str::trim).filter(|fuel| !fuel.is_empty()).collect();
    let names = library.names();
    let recipes: Vec<&str> = run.iter().copied().filter(|fuel| !names.contains(fuel)).collect();
    html! {
        fieldset .field .fuels data-path=(field.path) {
            legend { "Fuels" }
            div .ticks {
                @for name in &names {
                    label { input type="checkbox" value=(name) checked[run.contains(name)]; " " (name) }
                }
            }
            label for=(id) { "Others, or recipes by volume, between semicolons" }
            input id=(id) type="text" value=(recipes.join("; ")) placeholder="premium-91 70 % + e85 30 %"
                aria-describedby={ (id) "-wrong" } autocomplete="off";
            p .wrong id={ (id) "-wrong" } hidden {}
            (how(field))
        }
    }
}
