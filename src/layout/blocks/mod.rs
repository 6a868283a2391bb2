//! One file a kind of block. A new kind is a new file and one line in [`set`].

mod aside;
mod balloons;
mod callouts;
mod code;
mod comic;
mod definitions;
mod exposure;
mod figure;
mod heading;
mod imprint;
mod lists;
mod model;
mod notes;
mod numbering;
mod row;
mod rule;
mod safety;
mod symbols;
mod table;

pub use heading::with_subtitle;
pub use imprint::imprint;
pub use symbols::set as set_code;

use super::bench::Bench;
use super::galley::Galley;
use super::text::{self, Setting};
use crate::manual::document::{Block, Kind};
use crate::units::Dots;

/// Where a block stands: how wide its column is, how many lists and quotes it is in.
#[derive(Clone, Copy, Debug)]
pub struct Room {
    pub width: Dots,
    pub depth: u32,
}

impl Room {
    pub fn within(self, indent: Dots) -> Room {
        Room { width: self.width - indent, depth: self.depth + 1 }
    }
}

/// Sets one block. Its galley begins at x = 0 of the room.
pub fn set(bench: &Bench, block: &Block, room: Room) -> Galley {
    match &block.kind {
        Kind::Title(inlines) => heading::title(bench, inlines, block.span, room),
        Kind::Heading { level, text } => heading::heading(bench, *level, text, block.span, room),
        Kind::Paragraph(inlines) => paragraph(bench, inlines, block, room),
        Kind::Procedure { steps } => lists::procedure(bench, steps, room),
        Kind::Bullets { items } => lists::bullets(bench, items, room),
        Kind::Safety(safety) => safety::safety(bench, safety, block.span, room),
        Kind::Aside(blocks) => aside::aside(bench, blocks, room),
        Kind::Figure(figure) => figure::figure(bench, figure, block.span, room),
        Kind::Row(figures) => row::row(bench, figures, room),
        Kind::Model(figure) => model::model(bench, figure, block.span, room),
        Kind::Comic(comic) => comic::comic(bench, comic, room),
        Kind::Code { text } => code::code(bench, text, block.span, room),
        Kind::Table(table) => table::table(bench, table, block.span, room),
        Kind::Definitions(definitions) => definitions::definitions(bench, definitions, room),
        Kind::Notes(notes) => notes::notes(bench, notes, room),
        Kind::Qr { data } => symbols::qr(bench, data, block.span, room),
        Kind::Barcode { symbology, data } => symbols::barcode(bench, *symbology, data, block.span, room),
        Kind::Rule => rule::rule(bench, block.span, room),
        // Where a panel or a strip ends is the business of making up.
        Kind::Fold | Kind::Cut => Galley::default(),
    }
}

/// Several blocks, one under the other.
pub fn set_all(bench: &Bench, kind: &'static str, blocks: &[Block], room: Room) -> Galley {
    Galley::stack(kind, blocks.iter().map(|block| set(bench, block, room)).collect())
}

fn paragraph(bench: &Bench, inlines: &[crate::manual::document::Inline], block: &Block, room: Room) -> Galley {
    let space = bench.dots(bench.style.space.paragraph);
    let mut galley = text::inlines(bench, inlines, &Setting::body(bench, room.width, block.span));
    // Words that end in a colon speak of what follows.
    if let Some(last) = galley.chunks.last_mut().filter(|_| galley.text.trim_end().ends_with(':')) {
        last.keep = true;
    }
    Galley { above: space, below: space, ..galley }
}
