//! Faults and findings: what every stage says when something is wrong, as plain data.
//!
//! A [`Fault`] stops the work, a [`Finding`] goes along with the result and never alters a number.
//! Both carry an [`Origin`], an opaque place that only `file` can turn into file, line and column;
//! no other stage knows about files. Texts are lower case, without a final period, and show the
//! value as the user wrote it in backquotes.

use std::fmt;

/// An opaque place in the input: a node of the text (0: none) and an offset into the node's own
/// text, in characters. Only `file` makes and resolves nodes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Origin {
    node: u32,
    offset: u32,
}

impl Origin {
    /// The place of something that no text holds: a budget built by a program.
    pub const NONE: Origin = Origin { node: 0, offset: 0 };

    /// Returns the place of node `node` (from 1) of the text.
    pub fn node(node: u32) -> Origin {
        Origin { node, offset: 0 }
    }

    /// Returns the place `chars` characters further into the same node's text.
    pub fn further(self, chars: usize) -> Origin {
        Origin { node: self.node, offset: self.offset.saturating_add(chars as u32) }
    }

    /// Returns the node's number, 0 where there is none.
    pub fn id(self) -> u32 {
        self.node
    }

    /// Returns the offset into the node's text, in characters.
    pub fn offset(self) -> u32 {
        self.offset
    }
}

/// Something wrong that stops the work: where, what, which rule it breaks, and what to type instead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The place.
    pub origin: Origin,
    /// What is wrong, with the value as it was written.
    pub what: String,
    /// The rule that it breaks; may be empty where `what` says it all.
    pub rule: String,
    /// What to type instead, as it stands, or how to go on; may be empty.
    pub help: String,
}

impl Fault {
    /// Returns a fault at `origin` that says `what`.
    pub fn new(origin: Origin, what: impl Into<String>) -> Fault {
        Fault { origin, what: what.into(), rule: String::new(), help: String::new() }
    }

    /// Adds the rule that is broken.
    pub fn rule(mut self, rule: impl Into<String>) -> Fault {
        self.rule = rule.into();
        self
    }

    /// Adds what to type instead.
    pub fn help(mut self, help: impl Into<String>) -> Fault {
        self.help = help.into();
        self
    }

    /// Returns what is wrong and the rule, in one line.
    pub fn message(&self) -> String {
        if self.rule.is_empty() {
            self.what.clone()
        } else {
            format!("{}: {}", self.what, self.rule)
        }
    }
}

/// One or more faults, in the order of their places: the error type of all stages.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Faults(pub Vec<Fault>);

impl From<Fault> for Faults {
    fn from(fault: Fault) -> Faults {
        Faults(vec![fault])
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, fault) in self.0.iter().enumerate() {
            let separator = if index == 0 { "" } else { "\n" };
            write!(f, "{separator}{}", fault.message())?;
            if !fault.help.is_empty() {
                write!(f, "\nhelp: {}", fault.help)?;
            }
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}

/// How much a finding matters to the reader.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Good to know; nothing to do.
    Note,
    /// Look at it before the result is used.
    Caution,
    /// The result is not what the reader will take it for, unless something is done.
    Warning,
}

impl Severity {
    /// Returns the word that reports print.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Note => "note",
            Severity::Caution => "caution",
            Severity::Warning => "warning",
        }
    }
}

/// Something worth saying that does not stop the work and never alters a number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// A short fixed word for programs, such as `second-order`.
    pub code: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// What was found, in one sentence.
    pub message: String,
    /// What to do about it; may be empty.
    pub help: String,
    /// What it is about in the reader's words (a contributor, points); may be empty.
    pub about: String,
    /// The place in the input.
    pub origin: Origin,
}

impl Finding {
    /// Returns a finding without help, subject or place.
    pub fn new(code: &'static str, severity: Severity, message: impl Into<String>) -> Finding {
        let (help, about) = (String::new(), String::new());
        Finding { code, severity, message: message.into(), help, about, origin: Origin::NONE }
    }

    /// Adds what to do about it.
    pub fn help(mut self, help: impl Into<String>) -> Finding {
        self.help = help.into();
        self
    }

    /// Adds what it is about, and the place.
    pub fn about(mut self, about: impl Into<String>, origin: Origin) -> Finding {
        self.about = about.into();
        self.origin = origin;
        self
    }
}
