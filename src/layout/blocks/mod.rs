//! One file a kind of block, and one line in [`set`]; what else a new kind needs stands in DEVELOPERS.md, "How to add".

mod aside;
mod balloons;
mod callouts;
mod captions;
mod code;
mod comic;
mod definitions;
mod divider;
mod exposure;
mod figure;
mod gallery;
mod ground;
mod heading;
mod imprint;
mod lettering;
mod lists;
mod model;
mod notes;
mod panel_stage;
mod places;
mod row;
mod safety;
mod side_by_side;
mod size;
mod staging;
mod symbols;
mod table;
mod write_in;

pub use captions::under_picture;
pub use heading::with_subtitle;
pub use imprint::imprint;
pub use side_by_side::{Gap, group as set_group, spaced};
use side_by_side::{apart, groups};
pub use symbols::set as set_code;

use std::ops::Range;

use super::context::Context;
use super::galley::Galley;
use super::text::{self, Setting};
use crate::lengths::Dots;
use crate::manual::document::{Block, Inline, Kind};

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
pub fn set(context: &Context, block: &Block, room: Room) -> Galley {
    match &block.kind {
        Kind::Title(text) | Kind::Heading { text, .. } => headed(context, text, block, room),
        Kind::Paragraph(inlines) => paragraph(context, inlines, block, room),
        Kind::Procedure { steps } => lists::procedure(context, steps, room),
        Kind::Bullets { items } => lists::bullets(context, items, room),
        Kind::Safety(safety) => safety::safety(context, safety, block.span, room),
        Kind::Aside(blocks) => aside::aside(context, blocks, room),
        Kind::Figure(figure) => figure::figure(context, figure, block.span, room),
        Kind::Row(figures) => row::row(context, figures, room),
        Kind::Model(figure) => model::model(context, figure, block.span, room),
        Kind::Comic(comic) => comic::comic(context, comic, room),
        Kind::Code { text } => code::code(context, text, block.span, room),
        Kind::Table(table) => table::table(context, table, block.span, room),
        Kind::Definitions(definitions) => definitions::definitions(context, definitions, room),
        Kind::Notes(notes) => notes::notes(context, notes, room),
        Kind::Qr { data } => symbols::qr(context, data, block.span, room),
        Kind::Barcode { symbology, data } => symbols::barcode(context, *symbology, data, block.span, room),
        Kind::WriteIn { height, label } => write_in::write_in(context, *height, label, block.span, room),
        Kind::Rule => divider::rule(context, block.span, room),
        // Where a panel or a strip ends is the business of making up.
        Kind::Fold | Kind::Cut => Galley::default(),
    }
}

/// Which blocks are set as one in this style, and the white above and below them.
pub fn in_groups(context: &Context, blocks: &[Block]) -> Vec<(Range<usize>, [Gap; 2])> {
    let mut parts: Vec<(Range<usize>, [Gap; 2])> = match context.style.figure.beside {
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
pub fn set_all(context: &Context, kind: &'static str, blocks: &[Block], room: Room) -> Galley {
    let groups = in_groups(context, blocks).into_iter().map(|(range, gaps)| set_some(context, &blocks[range], gaps, room));
    Galley::stack(kind, groups.collect())
}

/// Blocks that [`in_groups`] found to be set as one.
fn set_some(context: &Context, blocks: &[Block], gaps: [Gap; 2], room: Room) -> Galley {
    let galley = match blocks {
        [block] => set(context, block, room),
        several => {
            let caption = |n: usize, room| under_picture(context, &several[n], room);
            set_group(context, several, room, &|n, room| set(context, &several[n], room), &caption)
        }
    };
    spaced(context, gaps, galley)
}

/// A title or a heading, and under it the pictures that were written into it.
fn headed(context: &Context, text: &[Inline], block: &Block, room: Room) -> Galley {
    let head = |text: &[Inline]| match &block.kind {
        Kind::Heading { level, .. } => heading::heading(context, *level, text, block.span, room),
        _ => heading::title(context, text, block.span, room),
    };
    match places::parted(context, text, context.heading(context.style.type_.section)) {
        None => head(text),
        Some((words, figures)) => {
            let kind = head(&words).kind;
            Galley::stack(kind, vec![head(&words), places::figures(context, &figures, room)])
        }
    }
}

fn paragraph(context: &Context, inlines: &[Inline], block: &Block, room: Room) -> Galley {
    let space = context.dots(context.style.space.paragraph);
    if let Some((words, figures)) = places::parted(context, inlines, context.body()) {
        let after = places::figures(context, &figures, room);
        if words.is_empty() {
            return after;
        }
        let words = Block { span: block.span, kind: Kind::Paragraph(words) };
        let mut words = set(context, &words, room);
        // They show what the words say.
        words.chunks.iter_mut().for_each(|chunk| chunk.keep = true);
        return Galley::stack("paragraph", vec![words, after]);
    }
    if let Some(words) = captions::small_print(inlines) {
        let small =
            text::inlines(context, &words, &Setting { kind: "paragraph", ..Setting::small(context, "", room.width, block.span) });
        return Galley { above: space, below: space, ..small };
    }
    let mut galley = text::inlines(context, inlines, &Setting::body(context, room.width, block.span));
    // Words that end in a colon speak of what follows.
    if let Some(last) = galley.chunks.last_mut().filter(|_| galley.text.trim_end().ends_with(':')) {
        last.keep = true;
    }
    Galley { above: space, below: space, ..galley }
}
