//! The one table of keys: what a budget or a worksheet file may hold, map by map.
//!
//! The table drives the reading (`check`), the nearest known key, the JSON Schema
//! ([`schema`](mod@super::schema)) and the page `docs/budget-format.md` ([`format_page`](mod@super::format_page)):
//! a key that is not here does not exist. This file holds the table's own types; the rows are in
//! `keys_budget`, `keys_contributor`, `keys_decision` and `keys_worksheet`. Nothing is read here.

pub use super::keys_budget::BUDGET;
pub use super::keys_worksheet::WORKSHEET;

/// The keys of one map of the file.
#[derive(Debug)]
pub struct Keys {
    /// What the map is called, such as `measurand`; unique, and the name of its schema.
    pub name: &'static str,
    /// One line about the map.
    pub doc: &'static str,
    /// The keys, in the order of the documentation.
    pub keys: &'static [Key],
    /// Keys of which some must be there.
    pub choice: Choice,
    /// What any other key holds, where other keys are allowed.
    pub rest: Option<Key>,
}

/// Keys of a map of which some must be there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Choice {
    /// No such rule.
    Free,
    /// Exactly one of these.
    ExactlyOne(&'static [&'static str]),
    /// At least one of these.
    AtLeastOne(&'static [&'static str]),
}

/// One key.
#[derive(Debug, Clone, Copy)]
pub struct Key {
    /// Its name in the file.
    pub name: &'static str,
    /// The forms that its value may have; the first is the usual one.
    pub forms: &'static [Form],
    /// Whether it must be there.
    pub need: Need,
    /// Which unit its value has; empty where it has none.
    pub unit: &'static str,
    /// What it means, in one line, with the source where there is one.
    pub doc: &'static str,
    /// An example: one line of YAML that begins with the key.
    pub example: &'static str,
    /// The kinds of evidence that it goes with; empty: any, or no evidence in its map.
    pub with: &'static [&'static str],
    /// The kinds of evidence that cannot do without it.
    pub needed_with: &'static [&'static str],
}

/// Whether a key must be there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// It must.
    Required,
    /// It may be left out, and nothing takes its place.
    Optional,
    /// It may be left out; then this holds.
    Default(&'static str),
}

/// A form that a value may have.
#[derive(Debug, Clone, Copy)]
pub enum Form {
    /// Free text.
    Text,
    /// A name, a symbol or a unit.
    Name,
    /// One of a set of words.
    Word(&'static [&'static str]),
    /// A number without a unit.
    Number,
    /// A number with a unit.
    Quantity,
    /// A half-width: `±a`.
    PlusMinus,
    /// A value with a half-width: `x ± a`.
    Around,
    /// A limit in words: `at most x`, `at least x`.
    OneSided,
    /// An expression.
    Expression,
    /// A list, never empty, whose items have one of these forms.
    List(&'static [Form]),
    /// A map.
    Map(&'static Keys),
}

impl Key {
    /// Returns an optional key that goes with anything.
    pub(super) const fn new(
        name: &'static str,
        forms: &'static [Form],
        doc: &'static str,
        example: &'static str,
    ) -> Key {
        let need = Need::Optional;
        let (with, needed_with): (&[&str], &[&str]) = (&[], &[]);
        Key { name, forms, need, unit: "", doc, example, with, needed_with }
    }

    /// Makes the key required.
    pub(super) const fn required(mut self) -> Key {
        self.need = Need::Required;
        self
    }

    /// Says what holds where the key is left out.
    pub(super) const fn default(mut self, value: &'static str) -> Key {
        self.need = Need::Default(value);
        self
    }

    /// Gives the key another example, where it stands in another map.
    pub(super) const fn example(mut self, text: &'static str) -> Key {
        self.example = text;
        self
    }

    /// Says which unit the value has.
    pub(super) const fn unit(mut self, rule: &'static str) -> Key {
        self.unit = rule;
        self
    }

    /// Says which kinds of evidence the key goes with.
    pub(super) const fn with(mut self, kinds: &'static [&'static str]) -> Key {
        self.with = kinds;
        self
    }

    /// Says which kinds of evidence cannot do without the key.
    pub(super) const fn needed_with(mut self, kinds: &'static [&'static str]) -> Key {
        self.needed_with = kinds;
        self
    }

    /// Returns the words that the value may be, over all its forms.
    pub fn words(&self) -> Vec<&'static str> {
        let words = self.forms.iter().filter_map(|form| match form {
            Form::Word(words) => Some(words.iter().copied()),
            _ => None,
        });
        words.flatten().collect()
    }

    /// Returns the value of the example: what follows the key.
    pub fn example_value(&self) -> &'static str {
        self.example.split_once(": ").map_or("", |(_, value)| value)
    }
}

impl Form {
    /// Whether the form is written as a single value, neither list nor map.
    pub fn is_scalar(&self) -> bool {
        !matches!(self, Form::List(_) | Form::Map(_))
    }

    /// Whether the form holds a number, alone or in an expression.
    pub fn is_numeric(&self) -> bool {
        use Form::{Around, Expression, Number, OneSided, PlusMinus, Quantity};
        matches!(self, Number | Quantity | PlusMinus | Around | OneSided | Expression)
    }
}

impl Keys {
    /// Returns the key `name`.
    pub fn get(&self, name: &str) -> Option<&'static Key> {
        self.keys.iter().find(|key| key.name == name)
    }

    /// Returns the known key nearest to `written`, where one is near: at most one letter in three
    /// differs (exchanged neighbours count once); case, spaces and hyphens are no difference.
    pub fn nearest(&self, written: &str) -> Option<&'static Key> {
        let found = nearest(written, self.keys.iter().map(|key| key.name))?;
        self.get(found)
    }

    /// Returns the kinds of evidence among which exactly one is to be chosen.
    pub fn alternatives(&self) -> &'static [&'static str] {
        match self.choice {
            Choice::Free => &[],
            Choice::ExactlyOne(names) | Choice::AtLeastOne(names) => names,
        }
    }
}

/// Returns the candidate nearest to `written`, where one is near; see [`Keys::nearest`].
pub fn nearest<'a>(written: &str, candidates: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let plain = |text: &str| text.trim().to_lowercase().replace(['-', ' '], "_");
    let written = plain(written);
    let distance = |name: &str| strsim::damerau_levenshtein(&written, &plain(name));
    let near = |name: &str| {
        let longest = written.chars().count().max(name.chars().count());
        distance(name) < longest && distance(name) * 3 <= longest.max(3)
    };
    candidates.filter(|name| near(name)).min_by_key(|name| distance(name))
}

/// Returns all maps that the file whose outermost map is `root` may hold: `root`, then the others
/// in the order in which they are met.
pub fn all_maps(root: &'static Keys) -> Vec<&'static Keys> {
    let mut found: Vec<&'static Keys> = vec![root];
    let mut next = 0;
    while next < found.len() {
        let keys = found[next];
        for key in keys.keys.iter().chain(keys.rest.iter()) {
            collect(key.forms, &mut found);
        }
        next += 1;
    }
    found
}

fn collect(forms: &'static [Form], found: &mut Vec<&'static Keys>) {
    for form in forms {
        match form {
            Form::List(items) => collect(items, found),
            Form::Map(keys) if !found.iter().any(|known| known.name == keys.name) => {
                found.push(keys);
            }
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_maps_and_keys_are_unique() {
        for root in [&BUDGET, &WORKSHEET] {
            for keys in all_maps(root) {
                for (index, key) in keys.keys.iter().enumerate() {
                    let twice = keys.keys[..index].iter().any(|other| other.name == key.name);
                    assert!(!twice, "`{}` twice in {}", key.name, keys.name);
                }
            }
        }
    }

    #[test]
    fn finds_the_nearest_key() {
        let cases = [
            ("tolerence", Some("tolerance")),
            ("Title", Some("title")),
            ("modle", Some("model")),
            ("contributor", Some("contributors")),
            ("half_width", None),
            ("x", None),
        ];
        for (written, expected) in cases {
            assert_eq!(BUDGET.nearest(written).map(|key| key.name), expected, "{written}");
        }
    }

    #[test]
    fn every_example_begins_with_its_key() {
        for root in [&BUDGET, &WORKSHEET] {
            for keys in all_maps(root) {
                for key in keys.keys {
                    let head = format!("{}: ", key.name);
                    assert!(key.example.starts_with(&head), "{}: {}", keys.name, key.example);
                    assert!(!key.doc.is_empty() && !key.doc.ends_with('.'), "{}", key.doc);
                }
            }
        }
    }

    #[test]
    fn kinds_of_evidence_named_by_keys_exist() {
        for keys in all_maps(&BUDGET) {
            for key in keys.keys {
                for kind in key.with.iter().chain(key.needed_with) {
                    assert!(super::super::keys_contributor::KINDS.contains(kind), "{kind}");
                }
            }
        }
    }
}
