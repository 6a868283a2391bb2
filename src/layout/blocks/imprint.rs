//! The end of the strip: which product, who made it and who answers for it where, document number, revision, date, where the
//! lasting copy is.

use super::Room;
use crate::layout::context::Context;
use crate::layout::galley::{Chunk, Galley};
use crate::layout::text::{self, Setting};
use crate::lengths::Dots;
use crate::manual::document::Header;
use crate::manual::imprint::{self, Words};
use crate::manual::source::Span;
use crate::type_setting::Type;

/// Nothing when the header says nothing of all this.
pub fn imprint(context: &Context, header: &Header, room: Room) -> Option<Galley> {
    let small = context.small();
    let bold = Type { bold: true, ..small };
    let at = |key: &str| header.spans.get(key).copied().unwrap_or_default();
    let said = |words: &Words| match words {
        Words::Fixed(words) => words.clone(),
        Words::Own(words) => text::isolated(context, words).into_owned(),
    };
    let lines: Vec<(String, Type, Span)> = imprint::lines(header)
        .iter()
        .map(|line| (line.words.iter().map(said).collect(), if line.bold { bold } else { small }, at(line.key)))
        .collect();
    if lines.is_empty() {
        return None;
    }
    let mut parts = vec![ruled(context, room.width)];
    for (line, look, span) in lines {
        parts.push(text::plain(
            context,
            &line,
            &Setting { look, hyphenate: false, ..Setting::small(context, "imprint", room.width, span) },
        ));
    }
    let galley = Galley::stack("imprint", parts).solid();
    Some(Galley { above: context.dots(context.style.space.section), ..galley })
}

fn ruled(context: &Context, width: Dots) -> Galley {
    let height = context.line(context.style.line.imprint);
    let mut chunk = Chunk { height, ..Chunk::default() };
    chunk.fill(Dots(0), Dots(0), width, height);
    Galley { chunks: vec![chunk], below: context.dots(context.style.space.item), ..Galley::default() }
}
