//! An aside: a block quote that is no safety message. A line along its side, a grey band, a frame, a tone behind it, or white on black.

use super::{Room, set_all};
use std::sync::Arc;

use crate::bitmap::{Bitmap, Ink};
use crate::layout::context::Context;
use crate::layout::galley::{Boxed, Galley, Mark};
use crate::layout::style::AsideLook;
use crate::lengths::Dots;
use crate::manual::document::{Block, Kind};

pub fn aside(context: &Context, blocks: &[Block], room: Room) -> Galley {
    let bar = context.line(context.style.line.aside).max(Dots(2));
    let space = if room.depth == 0 { context.style.space.block } else { context.style.space.item };
    let space = context.dots(space);
    let look = match context.style.aside.look {
        // A picture turned into its negative is another picture, and a code is none.
        AsideLook::Reverse if !blocks.iter().all(is_words) => AsideLook::Frame,
        look => look,
    };
    if matches!(look, AsideLook::Frame | AsideLook::Tone | AsideLook::Reverse) {
        let padding = context.dots(context.style.space.padding);
        let inside = room.within((bar + padding) * 2);
        let mut galley = set_all(context, "aside", blocks, inside).whole(context.panel_room).padded(bar + padding, bar + padding);
        galley.shift(bar + padding);
        for chunk in &mut galley.chunks {
            let (width, height) = (room.width, chunk.height);
            let (x, y, radius) = (Dots(0), Dots(0), Dots(0));
            match look {
                AsideLook::Tone => {
                    let tone = Mark::Picture { x, y, bitmap: Arc::new(light(width, height)), ink: Ink::Black };
                    let plates = chunk.boxes.iter().filter(|boxed| boxed.kind == "line").map(plate);
                    chunk.marks = std::iter::once(tone).chain(plates).chain(chunk.marks.drain(..)).collect();
                }
                AsideLook::Reverse => chunk.marks.push(Mark::Invert { x, y, width, height }),
                _ => chunk.marks.insert(0, Mark::Round { x, y, width, height, radius, border: bar, fill: None }),
            }
        }
        return Galley { above: space, below: space, ..galley };
    }
    let band = look == AsideLook::Band;
    let bar = if band { context.dots(context.style.space.indent) / 2 } else { bar };
    let indent = context.indent(context.dots(context.style.space.indent), room.width).max(bar + Dots(8));
    let mut galley = set_all(context, "aside", blocks, room.within(indent)).closed();
    galley.shift(indent);
    for chunk in &mut galley.chunks {
        let height = chunk.height;
        let (x, y) = (Dots(0), Dots(0));
        chunk.marks.push(match band {
            true => Mark::Picture { x, y, bitmap: Arc::new(grey(bar, height)), ink: Ink::Black },
            false => Mark::Fill { x, y, width: bar, height, black: true },
        });
    }
    Galley { above: space, below: space, ..galley }
}

/// Whether a block is made of words alone.
fn is_words(block: &Block) -> bool {
    let words = matches!(block.kind, Kind::Paragraph(_) | Kind::Heading { .. } | Kind::Bullets { .. } | Kind::Procedure { .. });
    words && block.pictures().is_empty()
}

/// The white under a line of words on a tone: between letters its dots would be read as points and accents.
fn plate(line: &Boxed) -> Mark {
    let aside = Dots(6);
    let (x, width, radius) = (line.x - aside, line.width + aside * 2, Dots(5));
    Mark::Round { x, y: line.y, width, height: line.height, radius, border: Dots(0), fill: Some(false) }
}

/// A light tone: two by two dots, an eighth of the ground.
fn light(width: Dots, height: Dots) -> Bitmap {
    let mut tone = Bitmap::new(width.count(), height.count());
    for (row, y) in (2..height.0 - 2).step_by(4).enumerate() {
        for x in ((if row % 2 == 0 { 2 } else { 6 })..width.0 - 2).step_by(8) {
            tone.fill(x, y, 2, 2, true);
        }
    }
    tone
}

/// A tone of dots that heads print evenly: two by two, a quarter of the ground.
fn grey(width: Dots, height: Dots) -> Bitmap {
    let mut tone = Bitmap::new(width.count(), height.count());
    for y in (0..height.0).step_by(4) {
        for x in (0..width.0).step_by(4) {
            tone.fill(x, y, 2, 2, true);
        }
    }
    tone
}
