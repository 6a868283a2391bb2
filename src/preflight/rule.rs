//! What a rule is, what it is given to look at, and what it hands back. Knows no single rule.

use crate::layout::{Layout, PlacedBox};
use crate::manual::document::{Document, Screen};
use crate::manual::source::{Level, Source, Span};
use crate::strip::Strip;
use crate::units::{Dots, Mm, Paper};

use super::sheet::Sheet;

/// A rule as the writer meets it: by name in `allow` and in a finding, by its words in the README's table.
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
    /// Preflight itself, looking at the whole sheet.
    Looks(fn(&Sheet) -> Vec<Note>),
    /// The same, from a day on (ISO 8601): silent for a manual that was issued before.
    From(&'static str, fn(&Sheet) -> Vec<Note>),
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

/// Everything that preflight looks at. Plain facts: no file is opened and no clock is read to judge them.
#[derive(Clone, Copy)]
pub struct Evidence<'a> {
    pub document: &'a Document,
    pub source: &'a Source,
    pub layout: &'a Layout,
    /// [`Layout::boxes`], made once by whoever needs them too.
    pub boxes: &'a [PlacedBox],
    pub paper: Paper,
    pub strip: &'a Strip,
    /// One for every picture as it was set; see [`super::pictures::facts`].
    pub pictures: &'a [PictureFacts],
    /// Names of the picture files in the manual's folder, relative to it.
    pub folder: &'a [String],
    pub stock: Stock,
    /// Which unit the strip is for, when the manual has units.
    pub unit: Option<&'a str>,
    /// Tag of the language of the manual that is compared with this one.
    pub beside: Option<&'a str>,
}

/// The paper in the printer and what its head bears.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stock {
    /// Width of the paper, margins included.
    pub width: Mm,
    pub thickness: Mm,
    /// How much is on one roll; unknown when `None`.
    pub roll: Option<Mm>,
    /// The stretch over which the head feels black.
    pub stretch: Mm,
    /// Most black, in percent, that such a stretch may hold.
    pub duty: u32,
    /// Whether the paper is free of phenols; `None` where nobody has said.
    pub phenol_free: Option<bool>,
}

/// How a picture came out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PictureFacts {
    pub address: String,
    /// Absolute, of the block or inline that shows it.
    pub span: Span,
    pub screen: Screen,
    /// Whether the picture has tones, whatever screen it was given.
    pub photograph: bool,
    /// Dots for each pixel of the file, in percent; 0 for outlines.
    pub scale_percent: u32,
    /// Thousandths of the picture in which the ink runs together.
    pub clogged: u32,
    /// Thousandths of the picture that come out as bare paper though it is not white there.
    pub washed_out: u32,
}
