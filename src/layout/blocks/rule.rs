//! A rule across the column.

use super::Room;
use crate::layout::bench::Bench;
use crate::layout::galley::{Boxed, Chunk, Galley};
use crate::manual::source::Span;
use crate::units::Dots;

pub fn rule(bench: &Bench, span: Span, room: Room) -> Galley {
    let height = bench.line(bench.style.line.medium);
    let mut chunk = Chunk { height, ..Chunk::default() };
    chunk.fill(Dots(0), Dots(0), room.width, height);
    chunk.boxes.push(Boxed { kind: "rule", x: Dots(0), y: Dots(0), width: room.width, height, span, text: String::new() });
    let space = bench.dots(bench.style.space.block);
    Galley { kind: "rule", chunks: vec![chunk], above: space, below: space, ..Galley::default() }
}
