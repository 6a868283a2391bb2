//! What a rule is and what it hands back. Knows no single rule.

use crate::lengths::Dots;
use crate::manual::source::{Level, Span};

use super::index::Index;

/// A rule as the writer meets it: by name in `allow` and in a finding, by its words in the handbook's list.
#[derive(Debug)]
pub struct Rule {
    /// In kebab-case; also what `[preflight] allow` spells.
    pub name: &'static str,
    pub level: Level,
    /// What it looks for.
    pub what: &'static str,
    /// Why that matters.
    pub why: &'static str,
    /// What to do about it.
    pub mend: &'static str,
    /// Where the rule comes from, with the clause, and how that is known: "seen" (looked up in public text), "known" (recalled, or read
    /// only in what others say of it), or "common practice, no source".
    pub source: &'static str,
    pub check: Check,
}

/// Who notices.
#[derive(Debug)]
pub enum Check {
    /// Preflight itself, looking at the whole index.
    Looks(fn(&Index) -> Vec<Note>),
    /// The same, from a day on (ISO 8601): silent for a manual that was issued before.
    From(&'static str, fn(&Index) -> Vec<Note>),
    /// A room below, while it reads, sets or screens: its remark carries the level and the place.
    Remarked,
    /// Preflight itself, while it works off the header's `allow`.
    OfAllow,
}

/// What a rule has to say about one place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// Absolute, in the assembled text.
    pub span: Span,
    pub message: String,
    /// More to the point than the rule's own `mend`.
    pub hint: Option<String>,
    /// The row of the strip, where the place on paper is known better than by what stands at the span.
    pub row: Option<Dots>,
}

impl Note {
    pub fn new(span: Span, message: impl Into<String>) -> Note {
        Note { span, message: message.into(), hint: None, row: None }
    }

    pub fn hint(self, hint: impl Into<String>) -> Note {
        Note { hint: Some(hint.into()), ..self }
    }

    pub fn row(self, row: Dots) -> Note {
        Note { row: Some(row), ..self }
    }
}
