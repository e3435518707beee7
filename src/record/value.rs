//! Values with a JSON form of their own: degrees of freedom, and texts by name in their order.

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{self, MapAccess, Visitor};
use serde::ser::SerializeMap;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::borrow::Cow;
use std::fmt;

/// The word that stands for infinite degrees of freedom.
const INFINITE: &str = "infinite";

/// Degrees of freedom, dimensionless: a number over 0, or infinite where the uncertainty counts as
/// exactly known. In JSON a number, or the word `infinite`.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Dof(f64);

impl Dof {
    /// Infinite degrees of freedom.
    pub const INFINITE: Dof = Dof(f64::INFINITY);

    /// Returns the degrees of freedom, `None` for a number that is not over 0 and for NaN.
    pub fn new(dof: f64) -> Option<Dof> {
        (dof > 0.0).then_some(Dof(dof))
    }

    /// Returns the number, `f64::INFINITY` for infinite.
    pub fn get(self) -> f64 {
        self.0
    }

    /// Returns whether they are infinite.
    pub fn is_infinite(self) -> bool {
        self.0.is_infinite()
    }
}

impl Serialize for Dof {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        if self.is_infinite() {
            serializer.serialize_str(INFINITE)
        } else {
            serializer.serialize_f64(self.0)
        }
    }
}

impl<'de> Deserialize<'de> for Dof {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Dof, D::Error> {
        struct DofVisitor;
        impl Visitor<'_> for DofVisitor {
            type Value = Dof;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "a number over 0 or the word `{INFINITE}`")
            }
            fn visit_f64<E: de::Error>(self, dof: f64) -> Result<Dof, E> {
                let finite = Dof::new(dof).filter(|dof| !dof.is_infinite());
                finite.ok_or_else(|| E::invalid_value(de::Unexpected::Float(dof), &self))
            }
            fn visit_u64<E: de::Error>(self, dof: u64) -> Result<Dof, E> {
                self.visit_f64(dof as f64)
            }
            fn visit_str<E: de::Error>(self, word: &str) -> Result<Dof, E> {
                if word == INFINITE {
                    Ok(Dof::INFINITE)
                } else {
                    Err(E::invalid_value(de::Unexpected::Str(word), &self))
                }
            }
        }
        deserializer.deserialize_any(DofVisitor)
    }
}

impl JsonSchema for Dof {
    fn schema_name() -> Cow<'static, str> {
        "Dof".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "Degrees of freedom: a number over 0, or the word `infinite`.",
            "anyOf": [{"type": "number", "exclusiveMinimum": 0}, {"const": INFINITE}]
        })
    }
}

/// Texts by name, in the order in which they were written. In JSON an object of texts.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Texts(pub Vec<(String, String)>);

impl Texts {
    /// Returns the text of a name, if it is there.
    pub fn get(&self, name: &str) -> Option<&str> {
        self.0.iter().find(|(key, _)| key == name).map(|(_, text)| text.as_str())
    }
}

impl Serialize for Texts {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (name, text) in &self.0 {
            map.serialize_entry(name, text)?;
        }
        map.end()
    }
}

impl<'de> Deserialize<'de> for Texts {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Texts, D::Error> {
        struct TextsVisitor;
        impl<'de> Visitor<'de> for TextsVisitor {
            type Value = Texts;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object of texts")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Texts, A::Error> {
                let mut texts = Texts::default();
                while let Some((name, text)) = map.next_entry::<String, String>()? {
                    if texts.get(&name).is_some() {
                        return Err(de::Error::custom(format_args!("`{name}` is there twice")));
                    }
                    texts.0.push((name, text));
                }
                Ok(texts)
            }
        }
        deserializer.deserialize_map(TextsVisitor)
    }
}

impl JsonSchema for Texts {
    fn schema_name() -> Cow<'static, str> {
        "Texts".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "Texts by name, in the order in which they were written; any names.",
            "type": "object",
            "additionalProperties": {"type": "string"}
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn writes_infinite_degrees_of_freedom_as_a_word() {
        assert_eq!(serde_json::to_string(&Dof::INFINITE).unwrap(), "\"infinite\"");
        assert_eq!(serde_json::to_string(&Dof::new(16.5).unwrap()).unwrap(), "16.5");
    }

    #[test]
    fn reads_back_what_it_writes() {
        for dof in [Dof::INFINITE, Dof::new(1.0).unwrap(), Dof::new(16.725).unwrap()] {
            let json = serde_json::to_string(&dof).unwrap();
            assert_eq!(serde_json::from_str::<Dof>(&json).unwrap(), dof);
        }
        assert_eq!(serde_json::from_str::<Dof>("9").unwrap().get(), 9.0);
    }

    #[test]
    fn refuses_zero_negative_and_undefined_degrees_of_freedom() {
        assert!([0.0, -1.0, f64::NAN, f64::NEG_INFINITY].iter().all(|&x| Dof::new(x).is_none()));
        for json in ["0", "-3", "\"inf\"", "null", "true", "1e999"] {
            assert!(serde_json::from_str::<Dof>(json).is_err(), "{json}");
        }
    }

    #[test]
    fn keeps_the_order_of_texts_and_refuses_a_name_twice() {
        let json = r#"{"number":"CP-031","author":"A","date":"2026-11-02"}"#;
        let texts: Texts = serde_json::from_str(json).unwrap();
        assert_eq!(texts.get("author"), Some("A"));
        assert_eq!(serde_json::to_string(&texts).unwrap(), json);
        assert!(serde_json::from_str::<Texts>(r#"{"a":"1","a":"2"}"#).is_err());
        assert!(serde_json::from_str::<Texts>(r#"{"a":1}"#).is_err());
    }
}
