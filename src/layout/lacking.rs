//! The frame that stands where something cannot be shown: a picture, a sign, a code. A frame that is meant is a `Mark::Round`. On the proof only: nothing with a frame is printed.
//!
//! As a printer marks "picture to come": a keyline with its diagonals; on it what was asked for and why it is not here.

use super::context::Context;
use super::galley::{Boxed, Chunk, Mark, SUBDOTS, stroke};
use super::text::{self, Position, Setting};
use crate::geometry::Point;
use crate::lengths::Dots;
use crate::manual::source::{Remark, Span};
use crate::type_setting::{Family, Type};

/// What is asked for and why it cannot be had.
#[derive(Clone, Copy, Debug)]
pub struct Lack<'a> {
    pub name: &'a str,
    pub why: &'a str,
    /// Of what asks for it, relative.
    pub span: Span,
}

/// A frame of this size, at the top left of its chunk. Words that find no room are left out: the finding says them.
pub fn frame(context: &Context, width: Dots, height: Dots, lack: Lack) -> (Chunk, Vec<Remark>) {
    let line = context.line(context.style.line.medium).max(Dots(2));
    let mut chunk = Chunk { height, keep: true, ..Chunk::default() };
    let (right, bottom) = (width.0 * SUBDOTS, height.0 * SUBDOTS);
    for (from, to) in [(0, bottom), (bottom, 0)] {
        let points = stroke(Point::new(0, from), Point::new(right, to), SUBDOTS * 3 / 2);
        chunk.marks.push(Mark::Polygon { points, black: true });
    }
    let mut said = String::new();
    let mut remarks = Vec::new();
    let padding = context.dots(context.style.space.padding).max(Dots(6));
    let inner = width - (padding + line) * 2;
    // Narrower than a short word, the cross alone is clearer than letters in pieces.
    if inner > context.paper.resolution.type_dots(context.small().size.percent(500)) {
        let name = Type { family: Family::Mono, ..context.small() };
        let mut top = Dots(0);
        let mut lines: Vec<Chunk> = Vec::new();
        for (words, look) in [(shortened(lack.name), name), (lack.why.to_string(), context.small())] {
            let setting =
                Setting { look, align: Position::Centre, hyphenate: false, ..Setting::small(context, "line", inner, lack.span) };
            let set = text::plain(context, &broken(&words), &setting);
            remarks.extend(set.remarks.into_iter().filter(|remark| remark.rule == "missing-glyph"));
            lines.extend(set.chunks);
        }
        lines.retain(|line| {
            let fits = top + line.height <= height - padding * 2;
            top += if fits { line.height } else { Dots(0) };
            fits
        });
        let mut y = (height - top) / 2;
        for mut line in lines {
            let (left, wide) = line.boxes.first().map_or((Dots(0), inner), |boxed| (boxed.x, boxed.width));
            let (x, height) = (padding + left, line.height);
            // The diagonals keep off the words.
            chunk.marks.push(Mark::Fill { x, y, width: wide + padding, height, black: false });
            line.shift(padding + (padding / 2), y);
            y += height;
            said.extend(line.boxes.iter().flat_map(|boxed| [boxed.text.as_str(), " "]));
            chunk.marks.append(&mut line.marks);
            chunk.boxes.append(&mut line.boxes);
        }
    }
    chunk.marks.push(Mark::Round { x: Dots(0), y: Dots(0), width, height, radius: Dots(0), border: line, fill: None });
    let text = said.trim_end().to_string();
    chunk.boxes.insert(0, Boxed { kind: "frame", x: Dots(0), y: Dots(0), width, height, span: lack.span, text });
    (chunk, remarks)
}

/// A long address keeps its beginning, which says where it is, and its end, which says what.
fn shortened(name: &str) -> String {
    const MOST: usize = 72;
    let letters: Vec<char> = name.chars().filter(|letter| !letter.is_control()).collect();
    if letters.len() <= MOST {
        return letters.into_iter().collect();
    }
    let half = MOST / 2;
    letters[..half].iter().chain(&['\u{2026}']).chain(&letters[letters.len() - half..]).collect()
}

/// An address may be broken after the marks that part it.
fn broken(words: &str) -> String {
    let mut open = String::with_capacity(words.len() + 16);
    for letter in words.chars() {
        open.push(letter);
        if matches!(letter, '/' | '_' | '-' | '.' | '?' | '&' | '=' | '%') {
            open.push('\u{200b}');
        }
    }
    open
}
