//! A galley: one block, set, before it is made up into panels. Chunks are what a fold may never go through.
//!
//! Everything in a chunk is relative to its top left. A galley knows nothing of where on the strip it will stand, so it can be
//! kept for as long as its block does not change.

use std::sync::{Arc, OnceLock};

use crate::bitmap::{Bitmap, Ink};
use crate::geometry::Point;
use crate::lengths::Dots;
use crate::manual::source::{Remark, Span};
use crate::type_setting::Line;

/// Positions of outlines are in sixteenths of a dot; dot (0, 0) covers 0..16 both ways.
pub const SUBDOTS: i32 = 16;

/// Something that the painter puts down. Order is painting order: later marks cover earlier ones.
#[derive(Clone, Debug)]
pub enum Mark {
    /// A line of text; `measure` is the width it was set to, needed to mirror it.
    Text {
        x: Dots,
        baseline: Dots,
        measure: Dots,
        line: Arc<Line>,
        white: bool,
    },
    /// A filled rectangle.
    Fill {
        x: Dots,
        y: Dots,
        width: Dots,
        height: Dots,
        black: bool,
    },
    /// A rectangle with round corners: filled, then bordered inside its edge.
    Round {
        x: Dots,
        y: Dots,
        width: Dots,
        height: Dots,
        radius: Dots,
        border: Dots,
        fill: Option<bool>,
    },
    Picture {
        x: Dots,
        y: Dots,
        bitmap: Arc<Bitmap>,
        ink: Ink,
    },
    /// A filled outline (non-zero winding), points in sixteenths of a dot.
    Polygon {
        points: Vec<Point<i32>>,
        black: bool,
    },
    /// Black becomes white and white black.
    Invert {
        x: Dots,
        y: Dots,
        width: Dots,
        height: Dots,
    },
    /// A polyline with round joins and ends; points and thickness in sixteenths of a dot.
    Stroke {
        points: Vec<Point<i32>>,
        thickness: i32,
        black: bool,
    },
}

impl Mark {
    /// A line that was set by itself. The white before its first ink counts on both sides, so that its mirror image has as much.
    pub fn line(x: Dots, baseline: Dots, line: Line, white: bool) -> Mark {
        Mark::Text { x, baseline, measure: line.width + line.indent(), line: Arc::new(line), white }
    }

    pub fn shift(&mut self, dx: Dots, dy: Dots) {
        match self {
            Mark::Text { x, baseline: y, .. }
            | Mark::Fill { x, y, .. }
            | Mark::Round { x, y, .. }
            | Mark::Invert { x, y, .. }
            | Mark::Picture { x, y, .. } => {
                *x += dx;
                *y += dy;
            }
            Mark::Polygon { points, .. } | Mark::Stroke { points, .. } => {
                points.iter_mut().for_each(|point| *point += Point::new(dx.0, dy.0) * SUBDOTS);
            }
        }
    }

    /// Mirrors the place of the mark in a column of this width. What the mark shows is not mirrored, only where it stands.
    pub fn mirror(&mut self, column: Dots) {
        match self {
            Mark::Text { x, measure, .. } => *x = column - *x - *measure,
            Mark::Fill { x, width, .. } | Mark::Round { x, width, .. } | Mark::Invert { x, width, .. } => {
                *x = column - *x - *width
            }
            Mark::Picture { x, bitmap, .. } => *x = column - *x - Dots(bitmap.width() as i32),
            Mark::Polygon { points, .. } | Mark::Stroke { points, .. } => {
                points.iter_mut().for_each(|point| point.x = column.0 * SUBDOTS - point.x)
            }
        }
    }
}

/// A region that stands for something the writer wrote.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Boxed {
    pub kind: &'static str,
    pub x: Dots,
    pub y: Dots,
    pub width: Dots,
    pub height: Dots,
    /// Relative to the top-level block.
    pub span: Span,
    pub text: String,
}

#[derive(Clone, Debug, Default)]
pub struct Chunk {
    pub height: Dots,
    /// Space below, dropped where a panel ends.
    pub glue: Dots,
    /// Must stand in the same panel as the chunk after it.
    pub keep: bool,
    /// Where a panel cannot hold all that is kept together, it is parted after this chunk rather than elsewhere.
    pub loose: bool,
    /// How many of its rows are pictures that may be drawn smaller so that a panel is filled.
    pub gives: Dots,
    pub marks: Vec<Mark>,
    pub boxes: Vec<Boxed>,
}

/// What hangs beside the first line of a galley: a badge, a bullet, the number of a note, a term. Its marks and boxes count from the
/// baseline of that line.
#[derive(Clone, Debug, Default)]
pub struct Hanging {
    pub width: Dots,
    /// Reach above and below the baseline.
    pub above: Dots,
    pub below: Dots,
    pub marks: Vec<Mark>,
    pub boxes: Vec<Boxed>,
}

impl Chunk {
    /// Baseline of the first text that stands in it.
    pub fn baseline(&self) -> Option<Dots> {
        self.marks.iter().find_map(|mark| match mark {
            Mark::Text { baseline, .. } => Some(*baseline),
            _ => None,
        })
    }

    pub fn shift(&mut self, dx: Dots, dy: Dots) {
        self.marks.iter_mut().for_each(|mark| mark.shift(dx, dy));
        for boxed in &mut self.boxes {
            boxed.x += dx;
            boxed.y += dy;
        }
    }

    pub fn mirror(&mut self, column: Dots) {
        self.marks.iter_mut().for_each(|mark| mark.mirror(column));
        self.boxes.iter_mut().for_each(|boxed| boxed.x = column - boxed.x - boxed.width);
    }

    pub fn fill(&mut self, x: Dots, y: Dots, width: Dots, height: Dots) {
        self.marks.push(Mark::Fill { x, y, width, height, black: true });
    }
}

#[derive(Clone, Debug, Default)]
pub struct Galley {
    /// Kind of the block, as the layout map names it.
    pub kind: &'static str,
    /// Everything the block says, in reading order.
    pub text: String,
    pub chunks: Vec<Chunk>,
    /// Wanted space above and below; between two galleys the larger of the two holds.
    pub above: Dots,
    pub below: Dots,
    /// Spans are relative to the top-level block.
    pub remarks: Vec<Remark>,
    /// Room for the painter to keep the dots of each chunk, as long as the galley itself is kept.
    pub dots: OnceLock<Vec<ChunkDots>>,
}

/// The dots of a chunk. Marks may reach above or below their chunk: `top` is where the bitmap begins, relative to it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChunkDots {
    pub top: i32,
    pub bitmap: Bitmap,
}

impl Galley {
    pub fn height(&self) -> Dots {
        self.chunks
            .iter()
            .enumerate()
            .map(|(n, chunk)| chunk.height + if n + 1 < self.chunks.len() { chunk.glue } else { Dots(0) })
            .sum()
    }

    pub fn shift(&mut self, dx: Dots) {
        self.chunks.iter_mut().for_each(|chunk| chunk.shift(dx, Dots(0)));
    }

    /// Hangs something at its left beside its first line. A galley with nothing in it gets a line of that pitch; where the first
    /// thing is no text both begin at the top.
    pub fn hang(&mut self, mut sign: Hanging, pitch: Dots) {
        if self.chunks.is_empty() {
            self.chunks.push(Chunk { height: pitch, ..Chunk::default() });
        }
        let several = self.chunks.len() > 1;
        let first = &mut self.chunks[0];
        let baseline = first.baseline().unwrap_or(sign.above);
        let lower = (sign.above - baseline).max(Dots(0));
        first.shift(Dots(0), lower);
        first.height += lower;
        let baseline = baseline + lower;
        sign.marks.iter_mut().for_each(|mark| mark.shift(Dots(0), baseline));
        sign.boxes.iter_mut().for_each(|boxed| boxed.y += baseline);
        first.marks.append(&mut sign.marks);
        sign.boxes.append(&mut first.boxes);
        first.boxes = sign.boxes;
        let short = baseline + sign.below - first.height;
        if short > Dots(0) {
            // A badge taller than its line: the lines below move closer to it rather than away from each other.
            match several {
                true => first.keep = true,
                false => first.height += short,
            }
        }
    }

    /// One galley from several, top to bottom.
    pub fn stack(kind: &'static str, parts: Vec<Galley>) -> Galley {
        let mut whole = Galley { kind, ..Galley::default() };
        let mut below = Dots(0);
        for part in parts {
            if part.chunks.is_empty() {
                whole.remarks.extend(part.remarks);
                continue;
            }
            match whole.chunks.last_mut() {
                None => whole.above = part.above,
                Some(last) => last.glue = below.max(part.above),
            }
            below = part.below;
            if !whole.text.is_empty() && !part.text.is_empty() {
                whole.text.push('\n');
            }
            whole.text.push_str(&part.text);
            whole.chunks.extend(part.chunks);
            whole.remarks.extend(part.remarks);
        }
        whole.below = below;
        whole
    }

    /// All chunks made into one, with the space between them: nothing may fold it. It is not kept with what follows.
    pub fn solid(mut self) -> Galley {
        let mut one = Chunk::default();
        let count = self.chunks.len();
        for (n, mut chunk) in self.chunks.drain(..).enumerate() {
            chunk.shift(Dots(0), one.height);
            one.marks.append(&mut chunk.marks);
            one.boxes.append(&mut chunk.boxes);
            one.height += chunk.height;
            one.gives += chunk.gives;
            if n + 1 < count {
                one.height += chunk.glue;
            }
        }
        if count > 0 {
            self.chunks.push(one);
        }
        self
    }

    /// All chunks kept on one panel: made into one where a panel has room for them; else parted only between chunks, and only because
    /// they must.
    pub fn whole(mut self, room: Option<Dots>) -> Galley {
        if room.is_none_or(|room| self.height() <= room) {
            return self.solid();
        }
        let count = self.chunks.len();
        for chunk in self.chunks.iter_mut().take(count.saturating_sub(1)) {
            (chunk.keep, chunk.loose) = (true, chunk.loose || !chunk.keep);
        }
        self
    }

    /// Rows of pictures that may be drawn smaller.
    pub fn gives(&self) -> Dots {
        self.chunks.iter().map(|chunk| chunk.gives).sum()
    }

    /// The space between the chunks becomes part of them, so that a line along the side has no gaps.
    pub fn closed(mut self) -> Galley {
        let count = self.chunks.len();
        for chunk in self.chunks.iter_mut().take(count.saturating_sub(1)) {
            chunk.height += chunk.glue;
            chunk.glue = Dots(0);
        }
        self
    }

    /// Adds empty space at the top and the bottom, inside the first and the last chunk.
    pub fn padded(mut self, top: Dots, bottom: Dots) -> Galley {
        if let Some(first) = self.chunks.first_mut() {
            first.shift(Dots(0), top);
            first.height += top;
        }
        if let Some(last) = self.chunks.last_mut() {
            last.height += bottom;
        }
        self
    }

    /// The same galley as part of a block that begins `delta` bytes before its own.
    pub fn rebased(mut self, delta: u32) -> Galley {
        let moved = |span: Span| span.from_base(delta);
        self.chunks.iter_mut().flat_map(|chunk| &mut chunk.boxes).for_each(|boxed| boxed.span = moved(boxed.span));
        self.remarks.iter_mut().for_each(|remark| remark.span = moved(remark.span));
        self
    }

    /// For languages written right to left: everything stands where its mirror image would.
    pub fn mirror(&mut self, column: Dots) {
        self.chunks.iter_mut().for_each(|chunk| chunk.mirror(column));
    }
}

/// The four points of a straight stroke with flat ends, in sixteenths of a dot.
pub fn stroke(from: Point<i32>, to: Point<i32>, thickness: i32) -> Vec<Point<i32>> {
    let way = (to - from).wide();
    let length = way.length().max(1);
    let half = i64::from(thickness) / 2;
    let aside = Point::new((-way.y * half / length) as i32, (way.x * half / length) as i32);
    vec![from + aside, to + aside, to - aside, from - aside]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(heights: &[i32]) -> Galley {
        Galley {
            chunks: heights.iter().map(|&height| Chunk { height: Dots(height), ..Chunk::default() }).collect(),
            above: Dots(5),
            below: Dots(9),
            ..Galley::default()
        }
    }

    #[test]
    fn between_two_galleys_the_larger_space_holds() {
        let whole = Galley::stack("x", vec![of(&[10]), of(&[20])]);
        assert_eq!(whole.height(), Dots(10 + 9 + 20));
        assert_eq!((whole.above, whole.below), (Dots(5), Dots(9)));
    }

    #[test]
    fn a_solid_galley_is_one_chunk_of_the_same_height() {
        let whole = Galley::stack("x", vec![of(&[10, 3]), of(&[20])]);
        let height = whole.height();
        let solid = whole.solid();
        assert_eq!((solid.chunks.len(), solid.height()), (1, height));
    }

    #[test]
    fn mirroring_twice_changes_nothing() {
        let mut galley = of(&[10]);
        galley.chunks[0].fill(Dots(3), Dots(0), Dots(4), Dots(2));
        galley.mirror(Dots(50));
        assert!(matches!(galley.chunks[0].marks[0], Mark::Fill { x: Dots(43), .. }));
        galley.mirror(Dots(50));
        assert!(matches!(galley.chunks[0].marks[0], Mark::Fill { x: Dots(3), .. }));
    }
}
