//! JSON schemas that check documents.

use serde_json::Value;

/// A schema that checks documents.
pub struct Schema {
    schemas: boon::Schemas,
    index: boon::SchemaIndex,
}

impl Schema {
    /// The schema of a text, which must be one itself.
    pub fn of(text: &str) -> Self {
        let value: Value = serde_json::from_str(text).unwrap();
        assert_eq!(value["$schema"], "https://json-schema.org/draft/2020-12/schema");
        let (mut schemas, mut compiler) = (boon::Schemas::new(), boon::Compiler::new());
        compiler.add_resource("schema.json", value).unwrap();
        let index = compiler.compile("schema.json", &mut schemas).unwrap_or_else(|e| panic!("{e:#}"));
        Self { schemas, index }
    }

    /// Why a document does not fit; none when it does.
    pub fn refusal(&self, document: &Value) -> Option<String> {
        self.schemas.validate(document, self.index).err().map(|error| format!("{error:#}"))
    }
}
