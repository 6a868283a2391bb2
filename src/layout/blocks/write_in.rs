//! A ruled box for a hand, a stamp or a signature, and what belongs into it in small type under it.

use super::Room;
use crate::layout::context::Context;
use crate::layout::galley::{Boxed, Chunk, Galley, Mark};
use crate::layout::text::{self, Setting};
use crate::lengths::{Dots, Mm};
use crate::manual::source::Span;

/// Between the box and its label.
const GAP: Mm = Mm::from_micrometres(500);

/// As wide as the room; `height` is that of the box, its line included. No fold parts the box from its label.
pub fn write_in(context: &Context, height: Mm, label: &str, span: Span, room: Room) -> Galley {
    // A single row of dots breaks where one of them is dead.
    let border = context.line(context.style.line.medium).max(Dots(2));
    let (x, y, width, height) = (Dots(0), Dots(0), room.width, context.paper.resolution.dots(height).max(border * 2));
    let mut frame = Chunk { height, ..Chunk::default() };
    frame.marks.push(Mark::Round { x, y, width, height, radius: Dots(0), border, fill: None });
    frame.boxes.push(Boxed { kind: "write-in", x, y, width, height, span, text: label.to_string() });
    let frame = Galley { chunks: vec![frame], below: context.paper.resolution.dots(GAP), ..Galley::default() };
    let label = text::plain(context, label, &Setting::small(context, "write-in", room.width, span));
    let space = if room.depth == 0 { context.style.space.block } else { context.style.space.item };
    let space = context.dots(space);
    Galley { above: space, below: space, ..Galley::stack("write-in", vec![frame, label]).solid() }
}
