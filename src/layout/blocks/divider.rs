//! A rule across the column: a line, a row of dots, or an ornament.

use super::Room;
use crate::geometry::Point;
use crate::layout::context::Context;
use crate::layout::galley::{Boxed, Chunk, Galley, Mark, SUBDOTS};
use crate::layout::style::RuleLook;
use crate::lengths::Dots;
use crate::manual::source::Span;

pub fn rule(context: &Context, span: Span, room: Room) -> Galley {
    let line = context.line(context.style.line.medium);
    let x_height = context.faces.vertical(&context.body()).x_height;
    let middle = room.width / 2;
    let mut chunk = Chunk { height: line, ..Chunk::default() };
    match context.style.rule.look {
        RuleLook::Line => chunk.fill(Dots(0), Dots(0), room.width, line),
        RuleLook::Dots => {
            // Five of them, in the middle of the column.
            let size = (x_height / 3).max(line + Dots(2));
            chunk.height = size;
            for n in -2..=2 {
                let x = middle - size / 2 + x_height * 2 * n;
                let (y, border, fill) = (Dots(0), Dots(0), Some(true));
                chunk.marks.push(Mark::Round { x, y, width: size, height: size, radius: size / 2, border, fill });
            }
        }
        RuleLook::Ornament => {
            // A lozenge between two lines.
            let (half, gap) = (x_height / 2, x_height);
            chunk.height = half * 2;
            let [x, y, side] = [middle, half, half].map(|dots| dots.0 * SUBDOTS);
            let points = [(0, -side), (side, 0), (0, side), (-side, 0)].map(|(dx, dy)| Point::new(x + dx, y + dy)).to_vec();
            chunk.marks.push(Mark::Polygon { points, black: true });
            let long = (middle - half - gap).max(Dots(0)).min(room.width / 5);
            for left in [middle - half - gap - long, middle + half + gap] {
                chunk.fill(left, half - line / 2, long, line);
            }
        }
    }
    let height = chunk.height;
    chunk.boxes.push(Boxed { kind: "rule", x: Dots(0), y: Dots(0), width: room.width, height, span, text: String::new() });
    let space = context.dots(context.style.space.block);
    Galley { kind: "rule", chunks: vec![chunk], above: space, below: space, ..Galley::default() }
}
