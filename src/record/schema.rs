//! The JSON Schema of the record, made from its types: `docs/record.schema.json`.
//!
//! It describes what is written, so every field is required and no further ones are allowed.

use super::Record;
use schemars::generate::SchemaSettings;

/// Returns the JSON Schema (draft 2020-12) of the record, indented, with a closing newline.
pub fn text() -> String {
    let settings = SchemaSettings::draft2020_12().for_serialize();
    let schema = settings.into_generator().into_root_schema_for::<Record>();
    let mut text = serde_json::to_string_pretty(&schema)
        .expect("a schema has text keys and no writer that fails");
    text.push('\n');
    text
}

#[cfg(test)]
mod tests {
    use super::super::sample;
    use super::*;
    use boon::{Compiler, SchemaIndex, Schemas};
    use serde_json::{Value, json};

    struct Validator {
        schemas: Schemas,
        index: SchemaIndex,
    }

    impl Validator {
        fn new() -> Validator {
            let (mut schemas, mut compiler) = (Schemas::new(), Compiler::new());
            let schema = serde_json::from_str(&text()).unwrap();
            compiler.add_resource("record.json", schema).unwrap();
            let index = compiler.compile("record.json", &mut schemas).unwrap();
            Validator { schemas, index }
        }

        fn accepts(&self, value: &Value) -> bool {
            self.schemas.validate(value, self.index).is_ok()
        }
    }

    /// Short records in which each field is filled at least once.
    fn samples() -> Vec<Value> {
        let mut records =
            [sample::judged(), sample::worksheet(), sample::card(), sample::crosscheck()];
        records[2].sections[0].points[0].sheet = Some(super::super::sample_compare::sheet());
        for section in records.iter_mut().flat_map(|record| &mut record.sections) {
            section.points.truncate(2);
            section.points.iter_mut().for_each(|point| point.contributors.truncate(4));
        }
        records.iter().map(|it| serde_json::from_str(&it.to_json().unwrap()).unwrap()).collect()
    }

    /// Every field of every object, as JSON pointer of the object and name.
    fn fields(value: &Value, path: &str, found: &mut Vec<(String, String)>) {
        match value {
            Value::Object(map) => {
                for (name, inner) in map {
                    found.push((path.to_owned(), name.clone()));
                    fields(inner, &format!("{path}/{name}"), found);
                }
            }
            Value::Array(items) => {
                for (index, inner) in items.iter().enumerate() {
                    fields(inner, &format!("{path}/{index}"), found);
                }
            }
            _ => {}
        }
    }

    fn object<'a>(value: &'a mut Value, path: &str) -> &'a mut serde_json::Map<String, Value> {
        value.pointer_mut(path).unwrap().as_object_mut().unwrap()
    }

    /// Objects with names of the user's own: nothing in them is required.
    fn has_free_names(path: &str) -> bool {
        path.ends_with("/document") || path == "/worksheet/instrument"
    }

    #[test]
    fn is_the_committed_one() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/record.schema.json");
        let committed = std::fs::read_to_string(path).unwrap();
        let help = "run `cargo run -- schema record > docs/record.schema.json`";
        assert!(committed == text(), "docs/record.schema.json is out of date: {help}");
    }

    #[test]
    fn accepts_the_samples() {
        let validator = Validator::new();
        assert!(samples().iter().all(|sample| validator.accepts(sample)));
    }

    #[test]
    fn refuses_each_field_removed() {
        let validator = Validator::new();
        for sample in samples() {
            let mut found = Vec::new();
            fields(&sample, "", &mut found);
            assert!(found.len() > 100);
            for (path, name) in found.iter().filter(|(path, _)| !has_free_names(path)) {
                let mut broken = sample.clone();
                object(&mut broken, path).remove(name);
                assert!(!validator.accepts(&broken), "{path}/{name} may be left out");
            }
        }
    }

    #[test]
    fn refuses_each_field_of_a_wrong_type() {
        let validator = Validator::new();
        // A list of a list fits no field: only the matrices have lists in a list, and those of numbers.
        let wrong = [json!([["x"]]), json!({"no such field": 1})];
        for sample in samples() {
            let mut found = Vec::new();
            fields(&sample, "", &mut found);
            for (path, name) in &found {
                let value = &sample.pointer(path).unwrap()[name];
                let swapped = if value.is_string() { json!(-1.5) } else { json!("text") };
                let mut tries = wrong.to_vec();
                // A null may be text in other records; what it may not be is tried by the others.
                tries.extend((!value.is_null()).then_some(swapped));
                for wrong in tries {
                    let mut broken = sample.clone();
                    object(&mut broken, path).insert(name.clone(), wrong.clone());
                    assert!(!validator.accepts(&broken), "{path}/{name} may be {wrong}");
                }
            }
        }
    }

    #[test]
    fn refuses_one_more_field_in_each_object() {
        let validator = Validator::new();
        for sample in samples() {
            let mut found = Vec::new();
            fields(&sample, "", &mut found);
            found.dedup_by(|a, b| a.0 == b.0);
            for (path, _) in &found {
                let mut broken = sample.clone();
                object(&mut broken, path).insert("one more".into(), json!(0));
                assert!(!validator.accepts(&broken), "{path} may hold one more field");
            }
        }
    }

    /// No field of the samples is null in all of them, so that each one's type is tried.
    #[test]
    fn samples_fill_each_field() {
        let mut filled = std::collections::BTreeSet::new();
        let mut all = std::collections::BTreeSet::new();
        let plain = |path: &str| -> String {
            path.split('/').filter(|it| it.parse::<u32>().is_err()).collect::<Vec<_>>().join("/")
        };
        for sample in samples() {
            let mut found = Vec::new();
            fields(&sample, "", &mut found);
            for (path, name) in found {
                let field = format!("{}/{name}", plain(&path));
                if !sample.pointer(&path).unwrap()[&name].is_null() {
                    filled.insert(field.clone());
                }
                all.insert(field);
            }
        }
        let missing: Vec<_> = all.difference(&filled).collect();
        assert!(missing.is_empty(), "never filled: {missing:?}");
    }
}
