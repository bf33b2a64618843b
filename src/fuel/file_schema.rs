//! The JSON schemas of the fuel files, from the types and ranges that read them.

use crate::fuel::file::{ComponentFile, PumpFile, SHARE};
use schemars::generate::SchemaSettings;
use schemars::transform::{RecursiveTransform, Transform as _};
use schemars::{JsonSchema, Schema};
use serde_json::{Value, json};

/// JSON Schema (draft 2020-12) of a fuel file that holds a component.
///
/// It refuses what is wrong with a key by itself and what is missing; shares that do not add to 1 and names that are
/// not known or taken only [`super::FuelLibrary`] finds.
///
/// # Example
/// ```
/// let schema = endgas::fuel::component_schema();
/// assert_eq!(schema["properties"]["kind"]["const"], "component");
/// ```
pub fn component_schema() -> Value {
    schema_of::<ComponentFile>()
}

/// JSON Schema (draft 2020-12) of a fuel file that holds a pump fuel; see [`component_schema`].
pub fn pump_schema() -> Value {
    schema_of::<PumpFile>()
}

fn schema_of<T: JsonSchema>() -> Value {
    let settings = SchemaSettings::draft2020_12();
    let mut schema = settings.into_generator().into_root_schema_for::<T>();
    RecursiveTransform(without_null).transform(&mut schema);
    schema.to_value()
}

/// Takes out the null that stands for a key left out: TOML has none.
fn without_null(schema: &mut Schema) {
    if let Some(Value::Array(types)) = schema.get_mut("type") {
        types.retain(|kind| kind != "null");
        if let [only] = types.as_slice() {
            let only = only.clone();
            schema.insert("type".to_owned(), only);
        }
    }
    if let Some(Value::Array(any)) = schema.get_mut("anyOf") {
        any.retain(|branch| *branch != json!({ "type": "null" }));
        if let [Value::Object(only)] = any.as_slice() {
            let only = only.clone();
            schema.remove("anyOf");
            only.into_iter().for_each(|(key, value)| drop(schema.insert(key, value)));
        }
    }
}

/// Shares by name.
pub(super) fn shares(schema: &mut Schema) {
    let share = json!({ "type": "number", "minimum": SHARE.start(), "maximum": SHARE.end() });
    schema.insert("additionalProperties".to_owned(), share);
}

/// Atoms, or molar mass and ratios.
pub(super) fn one_composition(schema: &mut Schema) {
    one_of(
        schema,
        &[
            (&["carbon", "hydrogen"], &["oxygen"]),
            (&["molar_mass_g_per_mol", "hydrogen_to_carbon"], &["oxygen_to_carbon"]),
        ],
    );
}

/// A polynomial, or a surrogate.
pub(super) fn one_vapour(schema: &mut Schema) {
    one_of(schema, &[(&["low", "high"], &[]), (&["surrogate"], &[])]);
}

/// Keys that must be given and keys that may.
type Way<'a> = (&'a [&'a str], &'a [&'a str]);

/// Asks for the keys of one way and refuses those of the others.
fn one_of(schema: &mut Schema, ways: &[Way<'_>]) {
    let branches = ways.iter().enumerate().map(|(i, (required, _))| {
        let others = ways.iter().enumerate().filter(|(other, _)| *other != i);
        let refused = others.flat_map(|(_, (must, may))| must.iter().chain(may.iter()));
        let refused: serde_json::Map<String, Value> =
            refused.map(|key| ((*key).to_owned(), json!({ "not": {} }))).collect();
        json!({ "required": required, "properties": refused })
    });
    let branches: Vec<Value> = branches.collect();
    schema.insert("oneOf".to_owned(), json!(branches));
}
