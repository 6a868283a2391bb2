//! An aside: a block quote that is no safety message. A line along its side, a grey band, or a frame.

use super::{Room, set_all};
use std::sync::Arc;

use crate::bitmap::{Bitmap, Ink};
use crate::layout::bench::Bench;
use crate::layout::galley::{Galley, Mark};
use crate::layout::style::AsideLook;
use crate::manual::document::Block;
use crate::units::Dots;

pub fn aside(bench: &Bench, blocks: &[Block], room: Room) -> Galley {
    let bar = bench.line(bench.style.line.aside).max(Dots(2));
    let space = if room.depth == 0 { bench.style.space.block } else { bench.style.space.item };
    let space = bench.dots(space);
    if bench.style.aside.look == AsideLook::Frame {
        let padding = bench.dots(bench.style.space.padding);
        let inside = room.within((bar + padding) * 2);
        let mut galley = set_all(bench, "aside", blocks, inside).whole(bench.panel_room).padded(bar + padding, bar + padding);
        galley.shift(bar + padding);
        for chunk in &mut galley.chunks {
            let (width, height) = (room.width, chunk.height);
            let (x, y, radius) = (Dots(0), Dots(0), Dots(0));
            chunk.marks.insert(0, Mark::Round { x, y, width, height, radius, border: bar, fill: None });
        }
        return Galley { above: space, below: space, ..galley };
    }
    let band = bench.style.aside.look == AsideLook::Band;
    let bar = if band { bench.dots(bench.style.space.indent) / 2 } else { bar };
    let indent = bench.indent(bench.dots(bench.style.space.indent), room.width).max(bar + Dots(8));
    let mut galley = set_all(bench, "aside", blocks, room.within(indent)).closed();
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
