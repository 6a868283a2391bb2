//! An aside: a block quote that is no safety message. A line along its side.

use super::{Room, set_all};
use crate::layout::bench::Bench;
use crate::layout::galley::{Galley, Mark};
use crate::manual::document::Block;
use crate::units::Dots;

pub fn aside(bench: &Bench, blocks: &[Block], room: Room) -> Galley {
    let bar = bench.line(bench.style.line.thick).max(Dots(2));
    let indent = bench.indent(bench.dots(bench.style.space.indent), room.width).max(bar + Dots(8));
    let mut galley = set_all(bench, "aside", blocks, room.within(indent)).closed();
    galley.shift(indent);
    for chunk in &mut galley.chunks {
        let height = chunk.height;
        chunk.marks.push(Mark::Fill { x: Dots(0), y: Dots(0), width: bar, height, black: true });
    }
    let space = if room.depth == 0 { bench.style.space.block } else { bench.style.space.item };
    Galley { above: bench.dots(space), below: bench.dots(space), ..galley }
}
