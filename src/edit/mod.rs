//! The writing hand: a gesture on one block of a manual becomes the smallest change of the manual's own text.
//!
//! ```text
//! text + line -> block -> apply(change) -> text again, of which only the changed keys differ
//! ```
//!
//! Text in, text out. Comments, order, line endings and indentation stay. Touches no disk, knows no browser, and never writes what it has
//! not read again itself: a text in which the changed block no longer stands where it stood is refused.

mod alternative;
mod block;
mod fence;
mod header;
mod history;
mod html;
mod keys;
mod lines;
mod loose;
mod merge;
mod reading;
mod values;

#[cfg(test)]
mod tests;

use std::ops::Range;

use serde::{Deserialize, Serialize};

pub use block::{Block, at_line};
pub use history::{History, Way};
pub use merge::follow;
pub use reading::{Balloon, Callout, Panel, Read, read};

/// A place in per cent of a picture's or a panel's width and height, from its top left corner.
pub type At = [f64; 2];

/// One gesture. Indices count as the keys are written, from 0; those of balloons over all panels of the comic.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Change {
    CalloutPut {
        at: At,
        label: String,
    },
    CalloutMove {
        index: usize,
        at: At,
    },
    CalloutRename {
        index: usize,
        label: String,
    },
    CalloutDrop {
        index: usize,
    },
    BalloonMove {
        index: usize,
        at: At,
    },
    /// What speaks; without it the tail goes.
    BalloonTail {
        index: usize,
        to: Option<At>,
    },
    BalloonText {
        index: usize,
        text: String,
    },
    BalloonKind {
        index: usize,
        kind: String,
    },
    /// Left, top, width, height; without them the whole picture is shown.
    Crop {
        crop: Option<[f64; 4]>,
    },
    /// Each as the manual spells it; without one the program chooses.
    Screen {
        screen: Option<String>,
        background: Option<String>,
    },
    /// Without it the figure is as wide as its column.
    Width {
        mm: Option<f64>,
    },
    /// Degrees that the viewer walks to the right and above the horizon.
    Turn {
        turn: f64,
        tilt: f64,
    },
    /// What the picture shows, in words; that of a panel, from 0, in a comic.
    Alt {
        text: String,
        panel: Option<usize>,
    },
    /// A key of the manual's header, in a table or, where that has no name, above the first.
    Header {
        table: String,
        key: String,
        value: String,
    },
    /// A rule of preflight whose findings are left out, and why.
    Allow {
        rule: String,
        reason: String,
    },
    /// A word of one line, the first from a column on (in letters, from 1), spelt otherwise.
    Spelling {
        column: u32,
        from: String,
        to: String,
    },
    /// A picture more, in a paragraph of its own behind what stands on the line.
    PicturePut {
        address: String,
    },
}

/// A text with a change in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edited {
    pub text: String,
    /// The bytes of the changed block.
    pub range: Range<usize>,
}

/// A change, and the bytes that its block took in the text that it was laid on.
pub type Laid = (Edited, Range<usize>);

impl Edited {
    /// The line on which the changed block begins, from 1.
    pub fn line(&self) -> u32 {
        line_of(&self.text, self.range.start)
    }

    /// The line on which its last words stand, from 1.
    pub fn last_line(&self) -> u32 {
        let words = self.text.get(..self.range.end).unwrap_or_default().trim_end_matches(['\n', '\r', '>', ' ', '\t']);
        line_of(&self.text, words.len().max(self.range.start))
    }
}

/// Why a change is not written.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Refused {
    pub words: String,
    pub hint: Option<String>,
    /// The lines that would say the same, for a person to paste.
    pub paste: Option<String>,
}

impl Refused {
    fn new(words: impl Into<String>) -> Refused {
        Refused { words: words.into(), ..Refused::default() }
    }

    fn hint(self, hint: impl Into<String>) -> Refused {
        Refused { hint: Some(hint.into()), ..self }
    }

    fn paste(self, lines: String) -> Refused {
        Refused { paste: Some(lines), ..self }
    }
}

/// Lays a change on the block that [`at_line`] found in this very text.
///
/// # Errors
/// In words, with lines to paste where there are any; the text stays as it is then.
pub fn apply(text: &str, block: &Block, change: &Change) -> Result<Edited, Refused> {
    values::check(change)?;
    let edited = match (block, change) {
        (Block::Fence(fence), _) => fence.changed(text, change)?,
        (Block::Loose(loose), Change::Alt { text: words, .. }) => alternative::changed(text, loose, words)?,
        (Block::Loose(loose), _) => loose.changed(text, change)?,
    };
    // A block that swallowed its neighbours, or broke the list that it stands in, is not written.
    let stands = at_line(&edited.text, edited.line()).is_ok_and(|found| found.range() == edited.range);
    if stands && block::frames(text, &block.range()) == block::frames(&edited.text, &edited.range) {
        return Ok(edited);
    }
    let lines = edited.text.get(edited.range).unwrap_or_default().to_owned();
    Err(Refused::new("a block cannot stand in the place of this picture")
        .hint("give the picture a paragraph of its own, then do it again; or paste these lines where they may stand")
        .paste(lines))
}

/// Lays a change on the block that a page saw on a line of an earlier text: the same block of the text as it is now, wherever it went.
///
/// # Errors
/// As [`apply`]; and when the block is no longer the same, with the lines that it would have become.
pub fn lay(seen: &str, line: u32, now: &str, change: &Change) -> Result<Laid, Refused> {
    values::check(change)?;
    match change {
        Change::Header { table, key, value } => return header::changed(now, &header::Entry::Key { table, key, value }),
        Change::Allow { rule, reason } => return header::changed(now, &header::Entry::Allow { rule, reason }),
        Change::Spelling { column, from, to } => return lines::spelt(seen, (line, *column), now, from, to),
        Change::PicturePut { address } => return lines::put(seen, line, now, address),
        _ => {}
    }
    let block = at_line(seen, line)?;
    let range = block.range();
    let there = follow(seen, range.clone(), now)
        .and_then(|range| at_line(now, line_of(now, range.start)).ok().filter(|found| found.range() == range));
    if let Some(found) = there {
        return Ok((apply(now, &found, change)?, found.range()));
    }
    let lines = apply(seen, &block, change)?;
    let lines = lines.text.get(lines.range).unwrap_or_default();
    Err(Refused::new("this block was changed in the file meanwhile, so that nothing was written")
        .hint("look at it again; or paste these lines over it, which are the block as you saw it with your change")
        .paste(format!("{lines}\n")))
}

/// The line of a byte, from 1.
fn line_of(text: &str, at: usize) -> u32 {
    1 + text.as_bytes().iter().take(at).filter(|byte| **byte == b'\n').count() as u32
}

/// Whether words of the file are a field, a condition or a comment of the template.
fn holds_field(words: &str) -> bool {
    ["{{", "{%", "{#"].iter().any(|tag| words.contains(tag))
}

fn from_field() -> Refused {
    Refused::new("this picture is made from a field: it is another one on every strip")
        .hint("write a figure block with the field in it: picture = \"{{ … }}\"")
}

/// What the lines below one begin with, so that they stand in the same list or quote as the byte does.
fn lead_of(text: &str, at: usize) -> String {
    let before = text.get(..at).unwrap_or_default();
    let line = &before[before.rfind('\n').map_or(0, |end| end + 1)..];
    line.chars().map(|sign| if matches!(sign, '>' | '\t') { sign } else { ' ' }).collect()
}
