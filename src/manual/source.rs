//! Where text came from. A span points into the assembled text; the source leads it back to file, line and column.

use std::fmt;

/// A range of bytes.
///
/// The span of a top-level block is absolute: it points into [`Source::text`]. Every span *inside* a block (its inlines, its
/// nested blocks) is relative to the start of the top-level block that holds it, so that a block which did not change is
/// equal, and hashes alike, wherever an edit above has moved it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Span {
    pub start: u32,
    pub end: u32,
}

impl Span {
    pub fn new(start: usize, end: usize) -> Span {
        Span { start: start as u32, end: end as u32 }
    }

    /// This span moved right by `base` bytes: from relative to absolute.
    pub fn from_base(self, base: u32) -> Span {
        Span { start: self.start + base, end: self.end + base }
    }

    /// This span as seen from `base`: from absolute to relative.
    pub fn relative_to(self, base: u32) -> Span {
        Span { start: self.start.saturating_sub(base), end: self.end.saturating_sub(base) }
    }
}

/// A place a person can go to: file as the writer names it, line and column from 1 (columns count characters).
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    pub file: String,
    pub line: u32,
    pub column: u32,
}

impl fmt::Display for Place {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}:{}:{}", self.file, self.line, self.column)
    }
}

/// How much a remark weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Level {
    Advice,
    Warning,
    Error,
}

/// Something noticed while reading, laying out or screening: what preflight later calls a finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Remark {
    /// Name of the rule it belongs to, as `allow` in the header spells it: `unknown-key`, `missing-glyph`.
    pub rule: &'static str,
    pub level: Level,
    /// One sentence that says what is wrong here.
    pub message: String,
    /// What to do about it.
    pub hint: Option<String>,
    /// Absolute.
    pub span: Span,
}
