//! Holds a tree of YAML against the [table of keys](super::keys): out come fields that fit it, and
//! every fault of structure.
//!
//! What does not fit is left out and makes the whole `incomplete`, so that the rest can be read on
//! and all faults are shown at once. Knows nothing of what the texts mean; rules between keys that
//! the table cannot say are in the `read_*` files.

use super::fields::{Field, Fields, Value};
use super::keys::{Choice, Form, Key, Keys, Need};
use super::plain;
use super::yaml::{Content, Entry, Node};
use crate::budget::parts::Text;
use crate::fault::{Fault, Origin};

/// Collects the faults of a file.
#[derive(Debug, Default)]
pub(super) struct Checker {
    /// The faults so far.
    pub faults: Vec<Fault>,
    /// Whether something faulty was left out.
    pub incomplete: bool,
}

/// What a value is called in messages, and its key.
#[derive(Clone, Copy)]
pub(super) struct Named<'a> {
    /// The name in messages, such as `` `unit` `` or ``an entry of `at` ``.
    pub name: &'a str,
    /// The key that the value belongs to.
    pub key: &'static Key,
}

impl Checker {
    /// Notes a fault.
    pub fn fault(&mut self, fault: Fault) {
        self.incomplete = true;
        self.faults.push(fault);
    }

    /// Checks the map with these `entries`, which is called `name` in messages.
    /// `place` is where it would begin if it is empty.
    pub fn map(
        &mut self,
        entries: &[Entry],
        place: Origin,
        name: &str,
        keys: &'static Keys,
    ) -> Fields {
        let origin = entries.first().map_or(place, |entry| entry.key_origin);
        let mut fields = Fields { origin, keys, entries: Vec::new(), rest: Vec::new() };
        for entry in entries {
            self.entry(entry, name, &mut fields);
        }
        self.absent(name, &fields);
        self.choice(name, &fields);
        self.companions(&mut fields);
        fields
    }

    fn entry(&mut self, entry: &Entry, name: &str, fields: &mut Fields) {
        let origin = entry.key_origin;
        if let Some(key) = fields.keys.get(&entry.key) {
            let ticked = format!("`{}`", key.name);
            let named = Named { name: &ticked, key };
            let value = self.value(&entry.value, origin, named, key.forms);
            fields.entries.push(Field { key, origin, value, guessed: false });
            return;
        }
        let nearest = fields.keys.nearest(&entry.key);
        match &fields.keys.rest {
            Some(rest) if nearest.is_none_or(|key| !is_slip(entry, rest, key)) => {
                let ticked = format!("`{}`", entry.key);
                let named = Named { name: &ticked, key: rest };
                if let Some(value) = self.value(&entry.value, origin, named, rest.forms) {
                    fields.rest.push((Text::new(entry.key.clone(), origin), value));
                }
            }
            _ => {
                self.unknown(entry, name, fields.keys, nearest);
                if let Some(key) = nearest {
                    fields.entries.push(Field { key, origin, value: None, guessed: true });
                }
            }
        }
    }

    fn unknown(&mut self, entry: &Entry, name: &str, keys: &Keys, nearest: Option<&Key>) {
        let help = match nearest {
            Some(key) => format!("write `{}`", key.name),
            None => known_keys(keys),
        };
        let what = format!("unknown key `{}` in {name}", entry.key);
        self.fault(Fault::new(entry.key_origin, what).help(help));
    }

    /// Checks a value against `forms`. `place` is where it would begin if it is an empty map.
    pub fn value(
        &mut self,
        node: &Node,
        place: Origin,
        named: Named,
        forms: &'static [Form],
    ) -> Option<Value> {
        match &node.content {
            Content::Scalar(scalar) if forms.iter().any(Form::is_scalar) => {
                match plain::check(scalar, node.origin, named, forms) {
                    Ok(()) => Some(Value::Text(Text::new(scalar.text.clone(), node.origin))),
                    Err(fault) => {
                        self.fault(fault);
                        None
                    }
                }
            }
            Content::Sequence(items) => match list_of(forms) {
                Some(of) => self.list(items, node.origin, named, of),
                None => self.wrong_form(node, named, forms),
            },
            Content::Mapping(entries) => match map_of(forms) {
                Some(keys) => Some(Value::Map(self.map(entries, place, named.name, keys))),
                None => self.wrong_form(node, named, forms),
            },
            Content::Scalar(_) => self.wrong_form(node, named, forms),
        }
    }

    /// A list of single values is kept whole or not at all, a list of maps without its faulty ones.
    fn list(
        &mut self,
        items: &[Node],
        origin: Origin,
        named: Named,
        forms: &'static [Form],
    ) -> Option<Value> {
        if items.is_empty() {
            let what = format!("{} is an empty list", named.name);
            let fault = Fault::new(origin, what).rule("at least one entry is expected");
            self.fault(fault.help(plain::example(named)));
            return None;
        }
        let name = format!("an entry of `{}`", named.key.name);
        let named = Named { name: &name, key: named.key };
        let values = items.iter().map(|item| self.value(item, item.origin, named, forms));
        let values: Vec<Option<Value>> = values.collect();
        let whole = map_of(forms).is_some() || values.iter().all(Option::is_some);
        whole.then(|| Value::List(origin, values.into_iter().flatten().collect()))
    }

    fn wrong_form(&mut self, node: &Node, named: Named, forms: &'static [Form]) -> Option<Value> {
        let found = match &node.content {
            Content::Scalar(scalar) if plain::is_nothing(scalar) => "empty",
            Content::Scalar(_) => "a single value",
            Content::Sequence(_) => "a list",
            Content::Mapping(_) => "a map",
        };
        let mut expected = Vec::new();
        if forms.iter().any(Form::is_scalar) {
            expected.push("a single value");
        }
        if list_of(forms).is_some() {
            expected.push("a list");
        }
        if map_of(forms).is_some() {
            expected.push("a map");
        }
        let what = format!("{} is {found}", named.name);
        let rule = format!("{} is expected", expected.join(" or "));
        let help = plain::example(named);
        self.fault(Fault::new(node.origin, what).rule(rule).help(help));
        None
    }

    /// Required keys that are not there.
    fn absent(&mut self, name: &str, fields: &Fields) {
        for key in fields.keys.keys {
            if key.need == Need::Required && !fields.has(key.name) {
                let fault =
                    Fault::new(fields.origin, format!("`{}` is missing in {name}", key.name));
                self.fault(fault.help(match key.forms {
                    // What was found is nobody's to suggest.
                    [Form::Word(words)] if words.contains(&"false") => {
                        format!("write `{}: ` and what was found: {}", key.name, words.join(", "))
                    }
                    _ => format!("write `{}`", key.example),
                }));
            }
        }
    }

    /// Keys of which exactly one or at least one must be there.
    fn choice(&mut self, name: &str, fields: &Fields) {
        let names = fields.keys.alternatives();
        let exactly = matches!(fields.keys.choice, Choice::ExactlyOne(_));
        let present: Vec<&Field> =
            fields.entries.iter().filter(|field| names.contains(&field.key.name)).collect();
        if present.is_empty() && !names.is_empty() {
            self.none_of(name, fields, names, exactly);
        }
        let written: Vec<&&Field> = present.iter().filter(|field| !field.guessed).collect();
        if let (true, [first, others @ ..]) = (exactly, written.as_slice()) {
            for other in others {
                let what = format!("`{}` beside `{}`", other.key.name, first.key.name);
                let (rule, help) = if fields.is_evidence() {
                    (
                        "there is exactly one kind of evidence",
                        "leave one out, or write two contributors",
                    )
                } else {
                    ("exactly one of the two is expected", "leave one out")
                };
                self.fault(Fault::new(other.origin, what).rule(rule).help(help));
            }
        }
    }

    fn none_of(&mut self, name: &str, fields: &Fields, names: &[&str], exactly: bool) {
        let list = listed(names.iter().copied(), "and");
        let fault = if fields.is_evidence() {
            Fault::new(fields.origin, format!("{name} has no evidence"))
        } else if names.len() < fields.keys.keys.len() && !exactly {
            Fault::new(fields.origin, format!("`{}` is missing in {name}", names[0]))
        } else {
            Fault::new(fields.origin, format!("{name} has none of its keys"))
        };
        let number = if exactly { "exactly" } else { "at least" };
        let example = fields.keys.get(names[0]).map_or("", |key| key.example);
        let help = if fields.is_evidence() { "limits: ±0.5 µm" } else { example };
        let fault = fault.rule(format!("{number} one of {list} is expected"));
        self.fault(fault.help(format!("write one of them, such as `{help}`")));
    }

    /// Keys that belong to another kind of evidence are dropped; those that it needs are missed.
    fn companions(&mut self, fields: &mut Fields) {
        if !fields.is_evidence() {
            return;
        }
        let kinds = fields.kinds();
        let Some(first) = kinds.first().copied() else { return };
        let fits = |field: &Field| {
            field.key.with.is_empty() || kinds.iter().any(|kind| field.key.with.contains(kind))
        };
        let (kept, others) = std::mem::take(&mut fields.entries).into_iter().partition(fits);
        fields.entries = kept;
        let others: Vec<Field> = others;
        for field in others.iter().filter(|field| !field.guessed) {
            let what = format!("`{}` does not go with `{first}`", field.key.name);
            let fault = Fault::new(field.origin, what).rule(home(field.key, first, fields.keys));
            self.fault(fault.help(format!("leave `{}` out", field.key.name)));
        }
        for key in fields.keys.keys {
            if key.needed_with.contains(&first) && !fields.has(key.name) {
                let what = format!("`{}` is missing beside `{first}`", key.name);
                let fault = Fault::new(fields.origin, what);
                self.fault(fault.help(format!("write `{}`", key.example)));
            }
        }
    }
}

/// Returns `names` in backquotes, with commas and `last` before the last one.
pub(super) fn listed<'a>(names: impl Iterator<Item = &'a str>, last: &str) -> String {
    let names: Vec<String> = names.map(|name| format!("`{name}`")).collect();
    match names.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., end] => format!("{} {last} {end}", first.join(", ")),
    }
}

fn known_keys(keys: &Keys) -> String {
    let names = keys.keys.iter().map(|key| key.name);
    match keys.keys {
        [only] => format!("the only key here is `{}`", only.name),
        _ => format!("the keys here are {}", listed(names, "and")),
    }
}

fn list_of(forms: &'static [Form]) -> Option<&'static [Form]> {
    forms.iter().find_map(|form| match form {
        Form::List(items) => Some(*items),
        _ => None,
    })
}

fn map_of(forms: &'static [Form]) -> Option<&'static Keys> {
    forms.iter().find_map(|form| match form {
        Form::Map(keys) => Some(*keys),
        _ => None,
    })
}

/// Whether a key that may have any name is more likely a slip for `key`: its value is nothing that
/// another key may hold, a number or a quantity.
fn is_slip(entry: &Entry, rest: &Key, key: &Key) -> bool {
    let takes_numbers = rest.forms.iter().all(Form::is_numeric);
    let number = match &entry.value.content {
        Content::Scalar(scalar) => plain::begins_as_number(&scalar.text),
        _ => false,
    };
    let same = entry.key.eq_ignore_ascii_case(key.name);
    same || (takes_numbers && !number)
}

/// Says which kinds of evidence `key` belongs to.
fn home(key: &Key, kind: &str, keys: &Keys) -> String {
    let kinds = keys.alternatives();
    let with: Vec<&str> = kinds.iter().copied().filter(|name| key.with.contains(name)).collect();
    if kind == "thermal" {
        let beside = super::keys_contributor::BESIDE_THERMAL.iter().copied();
        return format!("beside `thermal` stand only {}", listed(beside, "and"));
    }
    if with.len() > 4 {
        let without = kinds.iter().copied().filter(|name| !key.with.contains(name));
        return format!("it goes with any evidence but {}", listed(without, "and"));
    }
    format!("it belongs to {}", listed(with.into_iter(), "and"))
}
