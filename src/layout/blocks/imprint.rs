//! The end of the strip: which product, who made it and who answers for it where, document number, revision, date, where the
//! lasting copy is.

use super::Room;
use crate::layout::bench::Bench;
use crate::layout::galley::{Chunk, Galley};
use crate::layout::text::{self, Setting};
use crate::manual::document::Header;
use crate::manual::imprint::{self, Words};
use crate::manual::source::Span;
use crate::type_setting::Type;
use crate::units::Dots;

/// Nothing when the header says nothing of all this.
pub fn imprint(bench: &Bench, header: &Header, room: Room) -> Option<Galley> {
    let small = bench.small();
    let bold = Type { bold: true, ..small };
    let at = |key: &str| header.spans.get(key).copied().unwrap_or_default();
    let said = |words: &Words| match words {
        Words::Fixed(words) => words.clone(),
        Words::Own(words) => text::isolated(bench, words).into_owned(),
    };
    let lines: Vec<(String, Type, Span)> = imprint::lines(header)
        .iter()
        .map(|line| (line.words.iter().map(said).collect(), if line.bold { bold } else { small }, at(line.key)))
        .collect();
    if lines.is_empty() {
        return None;
    }
    let mut parts = vec![ruled(bench, room.width)];
    for (line, look, span) in lines {
        parts.push(text::plain(
            bench,
            &line,
            &Setting { look, hyphenate: false, ..Setting::small(bench, "imprint", room.width, span) },
        ));
    }
    let galley = Galley::stack("imprint", parts).solid();
    Some(Galley { above: bench.dots(bench.style.space.section), ..galley })
}

fn ruled(bench: &Bench, width: Dots) -> Galley {
    let height = bench.line(bench.style.line.imprint);
    let mut chunk = Chunk { height, ..Chunk::default() };
    chunk.fill(Dots(0), Dots(0), width, height);
    Galley { chunks: vec![chunk], below: bench.dots(bench.style.space.item), ..Galley::default() }
}
