//! One file a kind of block. A new kind is a new file and one line in [`set`].

mod aside;
mod balloons;
mod beside;
mod callouts;
mod captions;
mod code;
mod comic;
mod definitions;
mod exposure;
mod figure;
mod gallery;
mod heading;
mod imprint;
mod lettering;
mod lists;
mod model;
mod notes;
mod places;
mod row;
mod rule;
mod safety;
mod size;
mod staging;
mod symbols;
mod table;

pub use beside::{Gap, group as set_group, spaced};
use beside::{apart, groups};
pub use captions::under_picture;
pub use heading::with_subtitle;
pub use imprint::imprint;
pub use symbols::set as set_code;

use std::ops::Range;

use super::bench::Bench;
use super::galley::Galley;
use super::text::{self, Setting};
use crate::manual::document::{Block, Inline, Kind};
use crate::units::Dots;

/// Where a block stands: how wide its column is, how many lists and quotes it is in.
#[derive(Clone, Copy, Debug)]
pub struct Room {
    pub width: Dots,
    pub depth: u32,
    /// Made for one picture: a width that a web page would give it has no say any more.
    pub cell: bool,
}

impl Room {
    pub fn within(self, indent: Dots) -> Room {
        Room { width: self.width - indent, depth: self.depth + 1, cell: false }
    }
}

/// Sets one block. Its galley begins at x = 0 of the room.
pub fn set(bench: &Bench, block: &Block, room: Room) -> Galley {
    match &block.kind {
        Kind::Title(text) | Kind::Heading { text, .. } => headed(bench, text, block, room),
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

/// Which blocks are set as one in this style, and the white above and below them.
pub fn in_groups(bench: &Bench, blocks: &[Block]) -> Vec<(Range<usize>, [Gap; 2])> {
    let mut parts: Vec<(Range<usize>, [Gap; 2])> = match bench.style.figure.beside {
        true => groups(blocks).into_iter().map(|range| (range, [Gap::Usual; 2])).collect(),
        false => apart(blocks),
    };
    for (range, gaps) in parts.iter_mut().filter(|(range, _)| range.start > 0) {
        let [above, own] = [range.start - 1, range.start].map(|n| &blocks[n].kind);
        if matches!((above, own), (Kind::Title(_), Kind::Heading { level, .. }) if *level <= 2) {
            gaps[0] = Gap::UnderTitle;
        }
    }
    parts
}

/// Several blocks, one under the other.
pub fn set_all(bench: &Bench, kind: &'static str, blocks: &[Block], room: Room) -> Galley {
    let groups = in_groups(bench, blocks).into_iter().map(|(range, gaps)| set_some(bench, &blocks[range], gaps, room));
    Galley::stack(kind, groups.collect())
}

/// Blocks that [`in_groups`] found to be set as one.
fn set_some(bench: &Bench, blocks: &[Block], gaps: [Gap; 2], room: Room) -> Galley {
    let galley = match blocks {
        [block] => set(bench, block, room),
        several => {
            let caption = |n: usize, room| under_picture(bench, &several[n], room);
            set_group(bench, several, room, &|n, room| set(bench, &several[n], room), &caption)
        }
    };
    spaced(bench, gaps, galley)
}

/// A title or a heading, and under it the pictures that were written into it.
fn headed(bench: &Bench, text: &[Inline], block: &Block, room: Room) -> Galley {
    let head = |text: &[Inline]| match &block.kind {
        Kind::Heading { level, .. } => heading::heading(bench, *level, text, block.span, room),
        _ => heading::title(bench, text, block.span, room),
    };
    match places::parted(bench, text, bench.heading(bench.style.type_.section)) {
        None => head(text),
        Some((words, figures)) => {
            let kind = head(&words).kind;
            Galley::stack(kind, vec![head(&words), places::figures(bench, &figures, room)])
        }
    }
}

fn paragraph(bench: &Bench, inlines: &[Inline], block: &Block, room: Room) -> Galley {
    let space = bench.dots(bench.style.space.paragraph);
    if let Some((words, figures)) = places::parted(bench, inlines, bench.body()) {
        let after = places::figures(bench, &figures, room);
        if words.is_empty() {
            return after;
        }
        let words = Block { span: block.span, kind: Kind::Paragraph(words) };
        let mut words = set(bench, &words, room);
        // They show what the words say.
        words.chunks.iter_mut().for_each(|chunk| chunk.keep = true);
        return Galley::stack("paragraph", vec![words, after]);
    }
    if let Some(words) = captions::small_print(inlines) {
        let small =
            text::inlines(bench, &words, &Setting { kind: "paragraph", ..Setting::small(bench, "", room.width, block.span) });
        return Galley { above: space, below: space, ..small };
    }
    let mut galley = text::inlines(bench, inlines, &Setting::body(bench, room.width, block.span));
    // Words that end in a colon speak of what follows.
    if let Some(last) = galley.chunks.last_mut().filter(|_| galley.text.trim_end().ends_with(':')) {
        last.keep = true;
    }
    Galley { above: space, below: space, ..galley }
}
