//! Values that fit the [table of keys](super::keys), and how the parts are taken from them.
//!
//! What was faulty is `None`, with its fault noted by `check`; texts are as they stand in the file.

use super::keys::{Key, Keys};
use crate::budget::parts::Text;
use crate::fault::Origin;

/// A value that fits the table.
#[derive(Debug, Clone)]
pub(super) enum Value {
    /// A single value.
    Text(Text),
    /// A list, with its place.
    List(Origin, Vec<Value>),
    /// A map.
    Map(Fields),
}

/// A map that fits the table, its entries in the order of the file.
#[derive(Debug, Clone)]
pub(super) struct Fields {
    /// The place: the first key, or where the map would begin if it is empty.
    pub origin: Origin,
    /// Its keys.
    pub keys: &'static Keys,
    /// The entries with keys of the table.
    pub entries: Vec<Field>,
    /// The entries with other keys, where they are allowed.
    pub rest: Vec<(Text, Value)>,
}

/// One entry of a map.
#[derive(Debug, Clone)]
pub(super) struct Field {
    /// The key.
    pub key: &'static Key,
    /// The place of the key.
    pub origin: Origin,
    /// The value; `None` where it was faulty.
    pub value: Option<Value>,
    /// Whether the key was written differently and this one is the nearest.
    pub guessed: bool,
}

impl Fields {
    /// Whether the map holds evidence.
    pub fn is_evidence(&self) -> bool {
        self.keys.alternatives().contains(&"limits") && self.keys.get("readings").is_some()
    }

    /// Returns the kinds of evidence that are there, in the order of the file.
    pub fn kinds(&self) -> Vec<&'static str> {
        let names = self.keys.alternatives();
        let present = self.entries.iter().map(|field| field.key.name);
        present.filter(|name| names.contains(name)).collect()
    }

    /// Returns the entry of `name`.
    pub fn field(&self, name: &str) -> Option<&Field> {
        self.entries.iter().find(|field| field.key.name == name)
    }

    /// Whether the key `name` is there, right or faulty.
    pub fn has(&self, name: &str) -> bool {
        self.field(name).is_some()
    }

    /// Returns the value of `name`, if it is there and right.
    pub fn value(&self, name: &str) -> Option<&Value> {
        self.field(name)?.value.as_ref()
    }

    /// Returns the single value of `name`.
    pub fn text(&self, name: &str) -> Option<Text> {
        self.value(name)?.text()
    }

    /// Returns the map of `name`.
    pub fn map(&self, name: &str) -> Option<&Fields> {
        self.value(name)?.map()
    }

    /// Returns the items of the list of `name`, none where it is not there.
    pub fn items(&self, name: &str) -> &[Value] {
        match self.value(name) {
            Some(Value::List(_, items)) => items,
            _ => &[],
        }
    }

    /// Returns the single values of the list of `name`.
    pub fn texts(&self, name: &str) -> Vec<Text> {
        self.items(name).iter().filter_map(Value::text).collect()
    }

    /// Returns the other keys with their single values.
    pub fn rest_texts(&self) -> Vec<(Text, Text)> {
        let pair = |(key, value): &(Text, Value)| Some((key.clone(), value.text()?));
        self.rest.iter().filter_map(pair).collect()
    }
}

impl Value {
    /// Returns the single value.
    pub fn text(&self) -> Option<Text> {
        match self {
            Value::Text(text) => Some(text.clone()),
            _ => None,
        }
    }

    /// Returns the map.
    pub fn map(&self) -> Option<&Fields> {
        match self {
            Value::Map(fields) => Some(fields),
            _ => None,
        }
    }
}
