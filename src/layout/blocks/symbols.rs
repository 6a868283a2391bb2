//! QR symbols and barcodes: whole dots a module, quiet zones kept.

use std::sync::Arc;

use super::Room;
use crate::bitmap::Ink;
use crate::layout::context::Context;
use crate::layout::galley::{Boxed, Chunk, Galley, Mark};
use crate::layout::lacking::{Lack, frame};
use crate::layout::text::one_line;
use crate::lengths::{Dots, Mm};
use crate::manual::document::Symbology;
use crate::manual::source::{Remark, Span};
use crate::pictures::Error;
use crate::pictures::codes::{self, Code, CodeRoom, HumanPart};

/// A QR symbol larger than this is no easier to scan.
const LARGEST_QR: Mm = Mm::from_micrometres(30_000);

pub fn qr(context: &Context, data: &str, span: Span, room: Room) -> Galley {
    placed(context, "qr", data, qr_code(context, data, room), span, room)
}

/// The same with a line for the reader under it, or none where it does not go into the column.
pub fn qr_with_words(context: &Context, data: &str, words: String, span: Span, room: Room) -> Option<Galley> {
    let mut code = qr_code(context, data, room).ok()?;
    let (width, top) = (Dots(code.bitmap.width() as i32), Dots(code.bitmap.height() as i32));
    code.human = vec![HumanPart { text: words, x: Dots(0), width, top }];
    Some(placed(context, "qr", data, Ok(code), span, room))
}

fn qr_code(context: &Context, data: &str, room: Room) -> Result<Code, Error> {
    let resolution = context.paper.resolution;
    let width = room.width.min(resolution.dots(LARGEST_QR));
    codes::qr(data, &CodeRoom::new(width, resolution)).or_else(|_| codes::qr(data, &CodeRoom::new(room.width, resolution)))
}

pub fn barcode(context: &Context, symbology: Symbology, data: &str, span: Span, room: Room) -> Galley {
    let place = CodeRoom::new(room.width, context.paper.resolution);
    let code = match symbology {
        Symbology::Code128 => codes::code128(data, &place),
        Symbology::Ean13 => codes::ean13(data, &place),
    };
    placed(context, "barcode", data, code, span, room)
}

fn placed(context: &Context, kind: &'static str, data: &str, code: Result<Code, Error>, span: Span, room: Room) -> Galley {
    let space = context.dots(context.style.space.block);
    match code {
        Ok(code) => {
            let (mut chunk, remarks) = set(context, code, span, room.width);
            if context.language.is_rtl() {
                // The column will be mirrored; a code and the digits under it are not.
                chunk.mirror(room.width);
            }
            let (x, width, height) = (Dots(0), room.width, chunk.height);
            chunk.boxes.insert(0, Boxed { kind, x, y: Dots(0), width, height, span, text: data.to_string() });
            Galley { kind, text: data.to_string(), chunks: vec![chunk], above: space, below: space, remarks, ..Galley::default() }
        }
        Err(error) => {
            let largest = context.paper.resolution.dots(LARGEST_QR).min(room.width);
            let (width, height) = if kind == "qr" { (largest, largest) } else { (room.width, largest / 2) };
            let name = if data.is_empty() { kind } else { data };
            let (mut chunk, mut remarks) = frame(context, width, height, Lack { name, why: &error.to_string(), span });
            chunk.shift((room.width - width) / 2, Dots(0));
            if context.language.is_rtl() {
                chunk.mirror(room.width);
            }
            remarks.push(error.remark(span));
            let text = chunk.boxes.first().map_or_else(String::new, |boxed| boxed.text.clone());
            Galley { kind: "figure", text, chunks: vec![chunk], above: space, below: space, remarks, ..Galley::default() }
        }
    }
}

/// A code in the middle of the column, what a person reads under its bars.
pub fn set(context: &Context, code: Code, span: Span, column: Dots) -> (Chunk, Vec<Remark>) {
    let (width, mut height) = (Dots(code.bitmap.width() as i32), Dots(code.bitmap.height() as i32));
    let left = context.style.figure.align.left(column - width);
    let mut chunk = Chunk::default();
    chunk.marks.push(Mark::Picture { x: left, y: Dots(0), bitmap: Arc::new(code.bitmap), ink: Ink::Black });
    let (look, mut remarks) = (context.code(), Vec::new());
    // In several parts under their bars the figures are spread, each under its own bars; one part stands together.
    let spread = code.human.len() > 1;
    for part in &code.human {
        let cap = context.faces.vertical(&look).cap_height;
        let baseline = part.top + Dots(4) + cap;
        height = height.max(baseline + Dots(3));
        let count = part.text.chars().count().max(1) as i32;
        let words = if spread { part.text.chars().map(String::from).collect() } else { vec![part.text.replace(' ', "\u{a0}")] };
        let (mut first, mut last) = (left + part.x + part.width, left + part.x);
        for (n, word) in words.iter().enumerate() {
            let line = one_line(context, word, look, span, &mut remarks);
            let (from, room) = if spread {
                (part.width * n as i32 / count, part.width * (n as i32 + 1) / count - part.width * n as i32 / count)
            } else {
                (Dots(0), part.width)
            };
            let x = left + part.x + from + (room - line.width) / 2;
            (first, last) = (first.min(x), last.max(x + line.width));
            chunk.marks.push(Mark::Text { x, baseline, measure: line.width, line: Arc::new(line), white: false });
        }
        let (y, width, height) = (part.top, last - first, cap + Dots(7));
        chunk.boxes.push(Boxed { kind: "reading", x: first, y, width, height, span, text: part.text.clone() });
    }
    chunk.height = height;
    (chunk, remarks)
}
