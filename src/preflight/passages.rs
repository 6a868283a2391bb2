//! What a manual says, part by part: the kinds of entries that [`super::indexing`] gathers. Judges nothing.

use crate::geometry::Rect;
use crate::language::SignalWord;
use crate::lengths::Mm;
use crate::manual::document::{Permille, Screen, Treatment};
use crate::manual::source::Span;

/// What a passage is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    Title,
    Heading(u8),
    Text,
    Step,
    Item,
    Safety,
    Caption,
    Cell,
    Balloon,
    Note,
}

/// A paragraph, heading, cell, caption …: what one reads in one breath.
#[derive(Clone, Debug)]
pub struct Passage {
    pub role: Role,
    /// Absolute.
    pub span: Span,
    pub text: String,
    /// Lower case, with plain apostrophes and spaces: what words are looked for in.
    pub lower: String,
}

/// One step of a procedure.
#[derive(Clone, Debug)]
pub struct StepSeen {
    pub span: Span,
    /// What its first paragraph says.
    pub text: String,
    /// All that it says, lower case.
    pub lower: String,
    /// Procedures and lists that it is inside of.
    pub depth: u32,
    /// Which list it belongs to, counted from the top.
    pub list: usize,
    /// Which section it stands in: headings before it.
    pub section: usize,
}

/// One list without numbers.
#[derive(Clone, Debug)]
pub struct ListSeen {
    pub span: Span,
    /// What each item says first.
    pub items: Vec<String>,
    pub ticks: bool,
}

#[derive(Clone, Debug)]
pub struct SafetySeen {
    pub span: Span,
    pub label_span: Span,
    pub label: String,
    pub word: SignalWord,
    /// Names of all signs in it.
    pub signs: Vec<String>,
    pub text: String,
    pub lower: String,
}

#[derive(Clone, Debug)]
pub struct PictureSeen {
    pub span: Span,
    pub address: String,
    /// Nothing where the manual has no room to say it.
    pub alt: String,
    /// left, top, width, height of the shown part
    pub crop: Option<Rect<Permille>>,
    /// The one the writer asks for.
    pub screen: Option<Screen>,
    pub treatment: Treatment,
}

/// A light, key or reading in a list or table, and what stands beside it.
#[derive(Clone, Debug)]
pub struct Meaning {
    /// Lists and tables are counted from the top.
    pub list: usize,
    pub span: Span,
    pub address: String,
    /// Lower case.
    pub lower: String,
}

/// A run of plain text: no key, no code.
#[derive(Clone, Debug)]
pub struct Run {
    pub span: Span,
    pub text: String,
}

/// A QR symbol or a barcode.
#[derive(Clone, Debug)]
pub struct CodeSeen {
    pub span: Span,
    /// The kind of its box on the strip.
    pub kind: &'static str,
    /// Quiet zone that its standard asks for: left and right, in modules.
    pub quiet: [u32; 2],
}

/// A box to write in.
#[derive(Clone, Copy, Debug)]
pub struct WriteInSeen {
    pub span: Span,
    /// As the writer wants it.
    pub height: Mm,
}

/// Lower case, with one kind of apostrophe and of space.
pub fn folded(text: &str) -> String {
    text.chars()
        .flat_map(char::to_lowercase)
        .map(|character| match character {
            '\u{2019}' => '\'',
            '\u{a0}' | '\u{202f}' | '\u{2009}' | '\n' => ' ',
            other => other,
        })
        .filter(|&character| character != '\u{ad}')
        .collect()
}
