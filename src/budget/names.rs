//! The names that expressions of one budget may use, and what each stands for.

use super::formula::Formula;
use crate::fault::Origin;
use crate::model::{Kind, TapeBuilder, tape::Slot};
use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

/// The name that stands for what the instrument shows.
pub const READING: &str = "reading";

/// What a name stands for.
#[derive(Debug, Clone)]
pub enum Role {
    /// What the instrument shows.
    Reading,
    /// The point's value.
    Symbol,
    /// A key of the points' entries.
    Key,
    /// An input with a best estimate; a point's key of the same name comes before it.
    Estimate {
        /// The best estimate.
        formula: Formula,
    },
    /// An input whose value comes wholly from contributors.
    Bare,
}

/// One name.
#[derive(Debug, Clone)]
pub struct Name {
    /// The name, folded.
    pub word: String,
    /// The place where it is defined, or first used.
    pub origin: Origin,
    /// What it stands for.
    pub role: Role,
    /// Dimension and temperature scale.
    pub kind: Kind,
}

/// The names of a budget; a name's index never changes.
#[derive(Debug, Clone)]
pub struct Names {
    list: Vec<Name>,
    index: BTreeMap<String, usize>,
    /// Made when first asked for, anew after an addition.
    words: OnceLock<Arc<[String]>>,
}

impl Names {
    /// Returns an empty list.
    pub fn new() -> Names {
        Names { list: Vec::new(), index: BTreeMap::new(), words: OnceLock::new() }
    }

    /// Adds a name that is not there yet and returns its index.
    pub fn add(&mut self, name: Name) -> usize {
        let at = self.list.len();
        self.index.insert(name.word.clone(), at);
        self.list.push(name);
        self.words = OnceLock::new();
        at
    }

    /// Changes what a name stands for: a key that turns out to have a default.
    pub(super) fn set_role(&mut self, index: usize, role: Role) {
        self.list[index].role = role;
    }

    /// Returns the index of a folded name.
    pub fn find(&self, word: &str) -> Option<usize> {
        self.index.get(word).copied()
    }

    /// Returns the name with an index.
    pub fn get(&self, index: usize) -> &Name {
        &self.list[index]
    }

    /// Returns the kind of a folded name.
    pub fn kind_of(&self, word: &str) -> Option<Kind> {
        self.find(word).map(|index| self.list[index].kind.clone())
    }

    /// Number of names.
    pub fn len(&self) -> usize {
        self.list.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// All names in order.
    pub fn iter(&self) -> impl Iterator<Item = &Name> {
        self.list.iter()
    }

    /// All words in order.
    pub fn words(&self) -> Arc<[String]> {
        self.words.get_or_init(|| self.list.iter().map(|it| it.word.clone()).collect()).clone()
    }

    /// Adds one leaf per name to a tape and returns their nodes by index.
    pub fn leaf_slots(&self, builder: &mut TapeBuilder) -> Vec<Slot> {
        self.list.iter().enumerate().map(|(index, it)| builder.leaf(index, it.origin)).collect()
    }
}

impl Default for Names {
    fn default() -> Names {
        Names::new()
    }
}
