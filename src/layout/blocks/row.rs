//! Pictures side by side: those of one paragraph, and a table that is mainly pictures.

use super::size::{self, Shape};
use super::{Room, figure};
use crate::layout::context::Context;
use crate::layout::galley::{Chunk, Galley};
use crate::lengths::Dots;
use crate::manual::document::Figure;

/// Rows of pictures, as many side by side as stay legible.
pub fn row(context: &Context, figures: &[Figure], room: Room) -> Galley {
    let shapes: Vec<Shape> = figures.iter().map(|figure| Shape::of(context, figure)).collect();
    let (column, gutter) = (i64::from(room.width.0), size::gutter(context));
    let rows = size::rows(&shapes, column, i64::from(gutter.0), 0);
    let highest = size::highest(&shapes, &rows, column, i64::from(gutter.0));
    let mut parts = Vec::new();
    let mut from = 0;
    for count in rows {
        let here = from..from + count;
        from += count;
        match &figures[here.clone()] {
            // Left over: no larger than its fellows, or it would seem to be the one that matters.
            [alone] if figures.len() > 1 => {
                let width = Dots(size::left_over(shapes[here.start], column, highest) as i32);
                let set = figure::figure(
                    context,
                    &Figure { width: None, ..alone.clone() },
                    alone.picture_span,
                    Room { width, cell: true, ..room },
                );
                let mut set = set;
                set.shift((room.width - width) / 2);
                parts.push(set);
            }
            [alone] => parts.push(figure::figure(context, alone, alone.picture_span, room)),
            several => {
                let widths = size::widths(&shapes[here], column, i64::from(gutter.0), 0);
                parts.push(side_by_side(context, several, &widths, gutter, room));
            }
        }
    }
    let space = context.dots(context.style.space.item);
    let last = parts.len().saturating_sub(1);
    for (n, part) in parts.iter_mut().enumerate() {
        part.above = if n == 0 { context.dots(context.style.space.block) } else { space };
        part.below = if n == last { context.dots(context.style.space.block) } else { space };
    }
    Galley::stack("row", parts)
}

fn side_by_side(context: &Context, figures: &[Figure], widths: &[i64], gutter: Dots, room: Room) -> Galley {
    let all: i64 = widths.iter().sum::<i64>() + i64::from(gutter.0) * (widths.len() as i64 - 1);
    let mut x = Dots(((i64::from(room.width.0) - all) / 2).max(0) as i32);
    let cells = figures.iter().zip(widths).map(|(figure, &width)| {
        let width = Dots(width as i32);
        // The width is decided here.
        let figure = Figure { width: None, ..figure.clone() };
        let cell = figure::figure(context, &figure, figure.picture_span, Room { width, cell: true, ..room });
        let left = x;
        x += width + gutter;
        (left, cell)
    });
    abreast("figure", cells.collect())
}

/// Galleys side by side, their tops on one line, as one chunk.
pub fn abreast(kind: &'static str, cells: Vec<(Dots, Galley)>) -> Galley {
    let mut whole = Galley { kind, ..Galley::default() };
    let mut chunk = Chunk::default();
    for (left, cell) in cells {
        let mut cell = cell.solid();
        cell.shift(left);
        if !whole.text.is_empty() && !cell.text.is_empty() {
            whole.text.push('\n');
        }
        whole.text.push_str(&cell.text);
        whole.remarks.append(&mut cell.remarks);
        whole.above = whole.above.max(cell.above);
        whole.below = whole.below.max(cell.below);
        if let Some(mut part) = cell.chunks.pop() {
            chunk.height = chunk.height.max(part.height);
            chunk.marks.append(&mut part.marks);
            chunk.boxes.append(&mut part.boxes);
        }
    }
    whole.chunks.push(chunk);
    whole
}
