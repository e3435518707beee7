//! The JSON Schema of budgets and worksheets, written from the [table of keys](super::keys).
//!
//! Draft 2020-12, one definition a map, no further properties where the table allows none. What a text
//! means (units, dimensions, expressions) is beyond a schema. Numbers may be texts, as the program reads
//! texts.

use serde_json::{Map, Value, json};

use super::keys::{Choice, Form, Key, Keys, Need, all_maps};
use super::read::{Kind, VERSION};

/// Returns the schema of a budget or a worksheet file.
pub fn schema(kind: Kind) -> Value {
    let root = kind.keys();
    let mut definitions = Map::new();
    for keys in all_maps(root).into_iter().skip(1) {
        definitions.insert(definition_name(keys), object(keys));
    }
    let mut schema = Map::new();
    let draft = "https://json-schema.org/draft/2020-12/schema";
    schema.insert("$schema".into(), json!(draft));
    schema.insert("title".into(), json!(format!("Surebound {}, format {VERSION}", root.name)));
    if let Value::Object(members) = object(root) {
        schema.extend(members);
    }
    let version = json!({"description": root.keys[0].doc, "enum": [VERSION, VERSION.to_string()]});
    if let Some(Value::Object(properties)) = schema.get_mut("properties") {
        properties.insert(root.keys[0].name.into(), version);
    }
    definitions.retain(|_, definition| !definition.is_null());
    schema.insert("$defs".into(), Value::Object(definitions));
    Value::Object(schema)
}

/// The schema of one map.
fn object(keys: &Keys) -> Value {
    let properties: Map<String, Value> =
        keys.keys.iter().map(|key| (key.name.to_string(), property(key))).collect();
    let required: Vec<&str> =
        keys.keys.iter().filter(|key| key.need == Need::Required).map(|key| key.name).collect();
    let further = keys.rest.as_ref().map_or(json!(false), property);
    let mut object = json!({
        "type": "object",
        "description": keys.doc,
        "properties": properties,
        "required": required,
        "additionalProperties": further,
    });
    let choose = |names: &[&str]| -> Vec<Value> {
        names.iter().map(|name| json!({"required": [name]})).collect()
    };
    match keys.choice {
        Choice::Free => {}
        Choice::ExactlyOne(names) => object["oneOf"] = json!(choose(names)),
        Choice::AtLeastOne(names) => object["anyOf"] = json!(choose(names)),
    }
    company(keys, &mut object);
    object
}

/// Keys that go with some kinds of evidence only, and kinds that need a key.
fn company(keys: &Keys, object: &mut Value) {
    let kinds = keys.alternatives();
    let mut goes = Map::new();
    let mut needs: Map<String, Value> = Map::new();
    for key in keys.keys {
        let with: Vec<Value> = kinds
            .iter()
            .filter(|kind| key.with.contains(kind))
            .map(|kind| json!({"required": [kind]}))
            .collect();
        if !with.is_empty() {
            goes.insert(key.name.into(), json!({"anyOf": with}));
        }
        for kind in key.needed_with {
            needs.insert((*kind).into(), json!([key.name]));
        }
    }
    if !goes.is_empty() {
        object["dependentSchemas"] = Value::Object(goes);
        object["dependentRequired"] = Value::Object(needs);
    }
}

fn property(key: &Key) -> Value {
    let mut description = key.doc.to_string();
    if !key.unit.is_empty() {
        description.push_str(&format!("; unit: {}", key.unit));
    }
    if let Need::Default(value) = key.need {
        description.push_str(&format!("; default: {value}"));
    }
    match value(key.forms) {
        Value::Object(mut members) => {
            members.insert("description".into(), json!(description));
            Value::Object(members)
        }
        other => other,
    }
}

/// The schema of a value in any of `forms`.
fn value(forms: &[Form]) -> Value {
    let mut schemas: Vec<Value> = Vec::new();
    for form in forms.iter().map(form) {
        if !schemas.contains(&form) {
            schemas.push(form);
        }
    }
    match schemas.as_slice() {
        [one] => one.clone(),
        _ => json!({ "anyOf": schemas }),
    }
}

fn form(form: &Form) -> Value {
    match form {
        Form::Text => json!({"type": ["string", "number", "boolean"]}),
        Form::Word(words) => {
            let texts = words.iter().map(|word| json!(word));
            let truths = words.iter().filter_map(|word| word.parse::<bool>().ok());
            json!({"enum": texts.chain(truths.map(|truth| json!(truth))).collect::<Vec<Value>>()})
        }
        Form::List(items) => json!({"type": "array", "items": value(items), "minItems": 1}),
        Form::Map(keys) => json!({"$ref": format!("#/$defs/{}", definition_name(keys))}),
        Form::Name
        | Form::Number
        | Form::Quantity
        | Form::PlusMinus
        | Form::Around
        | Form::OneSided
        | Form::Expression => json!({"type": ["string", "number"]}),
    }
}

fn definition_name(keys: &Keys) -> String {
    keys.name.replace(' ', "_")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::file::tests::{BUDGET_TEXT, WORKSHEET_TEXT};

    fn valid(kind: Kind, text: &str) -> Result<(), String> {
        let yaml: serde_yaml::Value = serde_yaml::from_str(text).unwrap();
        let mut schemas = boon::Schemas::new();
        let mut compiler = boon::Compiler::new();
        compiler.add_resource("mem:schema", schema(kind)).unwrap();
        let index = compiler.compile("mem:schema", &mut schemas).unwrap();
        schemas.validate(&to_json(&yaml), index).map_err(|error| error.to_string())
    }

    /// As JSON has it: keys are texts.
    fn to_json(yaml: &serde_yaml::Value) -> Value {
        match yaml {
            serde_yaml::Value::Mapping(map) => {
                let key = |key: &serde_yaml::Value| match to_json(key) {
                    Value::String(text) => text,
                    other => other.to_string(),
                };
                Value::Object(map.iter().map(|(k, v)| (key(k), to_json(v))).collect())
            }
            serde_yaml::Value::Sequence(items) => items.iter().map(to_json).collect(),
            other => serde_json::to_value(other).unwrap(),
        }
    }

    #[test]
    fn accepts_whole_files() {
        assert_eq!(valid(Kind::Budget, BUDGET_TEXT), Ok(()));
        assert_eq!(valid(Kind::Worksheet, WORKSHEET_TEXT), Ok(()));
    }

    #[test]
    fn refuses_what_the_reader_refuses() {
        let changes = [
            ("title:", "titel:"),
            ("  unit: µm\n", ""),
            ("surebound: 1", "surebound: 2"),
            ("shape: triangular", "shape: round"),
            ("step: 1 µm\n", "step: 1 µm\n    shape: rectangular\n"),
            ("    use: single\n", ""),
            ("{times_U: 1}", "{times_U: 1, width: 1 µm}"),
            ("{times_U: 1}", "{}"),
            ("{times_U: 1}", "{consumers_risk: 2 %}"),
            ("method: t", "method: exactly"),
            ("symbol: L", "symbol: [L]"),
        ];
        for (from, to) in changes {
            let text = BUDGET_TEXT.replacen(from, to, 1);
            assert_ne!(text, BUDGET_TEXT, "{from}");
            assert!(valid(Kind::Budget, &text).is_err(), "{to}");
        }
    }

    #[test]
    fn names_every_key_with_its_meaning() {
        for kind in [Kind::Budget, Kind::Worksheet] {
            let schema = schema(kind);
            for keys in all_maps(kind.keys()).into_iter().skip(1) {
                let properties = &schema["$defs"][definition_name(keys)]["properties"];
                for key in keys.keys {
                    let described = properties[key.name]["description"].is_string();
                    assert!(described, "{}.{}", keys.name, key.name);
                }
            }
        }
    }
}
