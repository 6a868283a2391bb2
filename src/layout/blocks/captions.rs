//! Words that are a caption or small print though nobody said so: guides written for a screen put them in italics under a picture, or
//! between tags of small and raised type.

use super::Room;
use crate::layout::context::Context;
use crate::layout::galley::Galley;
use crate::layout::text::{self, Position, Setting};
use crate::manual::document::{Block, Inline, InlineKind, Kind, plain_text};

/// A caption in italics has no more lines than this; a longer text is one to be read.
const LINES: usize = 2;

/// The words of a paragraph that is raised or lowered as a whole, without that: nothing stands beside them that they could be above or
/// below, so what was meant is small type.
pub fn small_print(inlines: &[Inline]) -> Option<Vec<Inline>> {
    let mut words = Vec::new();
    for inline in inlines {
        match &inline.kind {
            InlineKind::Subscript(inner) | InlineKind::Superscript(inner) => words.extend(inner.iter().cloned()),
            _ if is_white(inline) => words.push(inline.clone()),
            _ => return None,
        }
    }
    words.iter().any(|inline| !is_white(inline)).then_some(words)
}

/// Whether a block that follows a picture may be its caption: emphasised or small from its first word to its last.
pub fn may_be_caption(block: &Block) -> bool {
    let Kind::Paragraph(inlines) = &block.kind else { return false };
    let emphasised = |inline: &Inline| matches!(inline.kind, InlineKind::Emphasis(_));
    let all_emphasised = inlines.iter().all(|inline| emphasised(inline) || is_white(inline)) && inlines.iter().any(emphasised);
    (all_emphasised || small_print(inlines).is_some()) && block.pictures().is_empty()
}

/// How long a paragraph is, in characters.
pub fn length(block: &Block) -> usize {
    match &block.kind {
        Kind::Paragraph(inlines) => plain_text(inlines).chars().count(),
        _ => 0,
    }
}

/// Sets a block for which [`may_be_caption`] holds under its picture.
pub fn under_picture(context: &Context, block: &Block, room: Room) -> Galley {
    let Kind::Paragraph(inlines) = &block.kind else { return Galley::default() };
    if let Some(words) = small_print(inlines) {
        let small = Setting { align: Position::Centre, ..Setting::small(context, "caption", room.width, block.span) };
        return text::inlines(context, &words, &small);
    }
    let body = Setting::body(context, room.width, block.span);
    if room.cell {
        // Beside other captions, some of which are long: all begin at the left.
        return text::inlines(context, inlines, &Setting { kind: "caption", ..body });
    }
    let centred = Setting { align: Position::Centre, balanced: true, hyphenate: false, ..body.clone() };
    let set = text::inlines(context, inlines, &Setting { kind: "caption", ..centred });
    if set.chunks.len() <= LINES { set } else { text::inlines(context, inlines, &body) }
}

fn is_white(inline: &Inline) -> bool {
    match &inline.kind {
        InlineKind::SoftBreak | InlineKind::HardBreak => true,
        InlineKind::Text(text) => text.trim().is_empty(),
        _ => false,
    }
}
