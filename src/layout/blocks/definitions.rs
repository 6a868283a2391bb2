//! Terms and what they mean: what a light or a sound says.

use super::{Room, set_all};
use crate::layout::context::Context;
use crate::layout::galley::{Chunk, Galley, Hanging};
use crate::layout::signals::{Asked, Drawn};
use crate::layout::text::{self, Setting};
use crate::lengths::Dots;
use crate::manual::document::{Definition, Inline, InlineKind, Picture, plain_text};
use crate::manual::source::Span;
use crate::pictures::signals::{Form, is_signal};
use crate::type_setting::Type;

/// A signal as a term is so large, in percent of running text.
const SIGNAL: i32 = 110;

/// Terms beside their meanings when all terms are short, else above them. Signals stand in one column with their meanings beside; words among
/// them stand in the same column.
pub fn definitions(context: &Context, definitions: &[Definition], room: Room) -> Galley {
    let gutter = context.dots(context.style.space.gutter);
    let mut terms = Vec::new();
    // As many as can be are drawn; the room that they need is the column's.
    let widest = room.width * 46 / 100;
    for definition in definitions {
        let drawn = |room: Dots| signal(&definition.term).and_then(|(picture, span)| drawn(context, picture, span, room));
        terms.push(match drawn(widest) {
            Some(drawn) => Term::Signal(drawn),
            None => drawn(room.width).map_or_else(|| Term::Words(words(context, definition, room.width)), Term::Wide),
        });
    }
    let signals = terms.iter().any(|term| matches!(term, Term::Signal(_) | Term::Wide(_)));
    let column = match signals {
        true => {
            let beside = terms.iter().filter(|term| !matches!(term, Term::Wide(_)));
            let most = beside.map(|term| term.width().min(widest)).max().unwrap_or_default();
            for (term, definition) in terms.iter_mut().zip(definitions) {
                if matches!(term, Term::Words(_)) {
                    *term = Term::Words(words(context, definition, most));
                }
            }
            Some(most + gutter)
        }
        false => {
            let most = room.width * 36 / 100;
            let beside = |term: &Term| matches!(term, Term::Words(words) if words.chunks.len() == 1) && term.width() <= most;
            let beside = !context.is_narrow() && terms.iter().all(beside);
            beside.then(|| terms.iter().map(Term::width).max().unwrap_or_default() + gutter)
        }
    };
    let gap = context.dots(context.style.space.item);
    // The scale of one time line is no part of the next.
    let between = if signals { gap * 2 } else { gap * 5 / 4 };
    let parts = definitions
        .iter()
        .zip(terms)
        .map(|(definition, term)| {
            let indent = column.unwrap_or_else(|| context.indent(context.dots(context.style.space.indent), room.width));
            // Meanings of one term stand nearer to each other than one term to the next.
            let meanings = definition.meanings.iter().map(|blocks| {
                let meaning = set_all(context, "meaning", blocks, room.within(indent));
                Galley { above: gap / 2, below: gap / 2, ..meaning }
            });
            let mut meaning = Galley::stack("meaning", meanings.collect());
            meaning.shift(indent);
            let said = format!("{}\n{}", term.said(definition), meaning.text);
            let mut part = match (term, column) {
                (Term::Signal(drawn), _) => beside_signal(context, drawn, meaning),
                (Term::Wide(drawn), _) => {
                    let mut sign = beside_signal(context, drawn, Galley::default());
                    sign.chunks.iter_mut().for_each(|chunk| chunk.keep = true);
                    meaning.above = Dots(0);
                    Galley::stack("definition", vec![Galley { below: gap, ..sign }, meaning])
                }
                (Term::Words(term), Some(column)) if !meaning.chunks.is_empty() => hung(context, term, meaning, column),
                (Term::Words(mut term), _) => {
                    term.chunks.iter_mut().for_each(|chunk| chunk.keep = true);
                    meaning.above = Dots(0);
                    Galley::stack("definition", vec![Galley { below: Dots(0), ..term }, meaning])
                }
            };
            part.text = said;
            Galley { above: between, below: between, ..part }
        })
        .collect();
    let mut galley = Galley::stack("definitions", parts);
    galley.above = context.dots(context.style.space.paragraph);
    galley.below = galley.above;
    galley
}

enum Term {
    Words(Galley),
    Signal(Drawn),
    /// Wider than the column: above its meaning.
    Wide(Drawn),
}

impl Term {
    fn width(&self) -> Dots {
        match self {
            Term::Words(galley) => {
                galley.chunks.iter().flat_map(|chunk| &chunk.boxes).map(|boxed| boxed.width).max().unwrap_or_default()
            }
            Term::Signal(drawn) | Term::Wide(drawn) => drawn.width,
        }
    }

    fn said(&self, definition: &Definition) -> String {
        match self {
            Term::Words(_) => plain_text(&definition.term),
            Term::Signal(drawn) | Term::Wide(drawn) => drawn.boxes.first().map(|boxed| boxed.text.clone()).unwrap_or_default(),
        }
    }
}

fn look(context: &Context) -> Type {
    Type { bold: true, ..context.body() }
}

fn words(context: &Context, definition: &Definition, width: Dots) -> Galley {
    text::inlines(context, &definition.term, &Setting::label("term", look(context), width, definition.span))
}

/// The one signal that a term is, if it is nothing else.
fn signal(term: &[Inline]) -> Option<(&Picture, Span)> {
    let mut found = None;
    for inline in term {
        match &inline.kind {
            InlineKind::Picture(picture) if found.is_none() && is_signal(&picture.address) => {
                found = Some((picture, inline.span))
            }
            InlineKind::Text(text) if text.trim().is_empty() => {}
            InlineKind::SoftBreak | InlineKind::HardBreak => {}
            _ => return None,
        }
    }
    found
}

/// `None` when it cannot be drawn, or not in that room.
fn drawn(context: &Context, picture: &Picture, span: Span, room: Dots) -> Option<Drawn> {
    let look = Type { size: context.body().size.percent(SIGNAL), ..context.body() };
    let (address, alt) = (&picture.address, &picture.alt);
    Asked { address, alt, form: Form::Large, look, room, white: false, span }.draw(context).ok()
}

/// A signal at the left of its meaning, the middle of the lower of the two on that of the higher; a long meaning begins beside its signal.
fn beside_signal(context: &Context, drawn: Drawn, mut meaning: Galley) -> Galley {
    let high = drawn.above + drawn.below;
    let mut sign = Chunk { height: high, marks: drawn.marks, boxes: drawn.boxes, ..Chunk::default() };
    sign.shift(Dots(0), drawn.above);
    if context.language.is_rtl() {
        // The column will be mirrored; a drawing is not.
        sign.mirror(drawn.width);
    }
    let cap = context.faces.vertical(&context.body()).cap_height;
    let whole = meaning.height();
    if context.panel_room.is_some_and(|panel| whole > panel / 3) {
        let above = meaning.chunks.first().and_then(Chunk::baseline).unwrap_or(cap);
        sign.shift(Dots(0), -above);
        let (marks, boxes) = (sign.marks, sign.boxes);
        let below = (high - above).max(Dots(0));
        meaning.hang(Hanging { width: drawn.width, above, below, marks, boxes }, context.pitch(context.body().size));
    } else {
        meaning = meaning.solid();
        if meaning.chunks.is_empty() {
            meaning.chunks.push(Chunk::default());
        }
        let words = &mut meaning.chunks[0];
        let lower = (high - words.height) / 2;
        if lower > Dots(0) {
            words.shift(Dots(0), lower);
            words.height = high;
        } else {
            // Beside several lines it stands at the first, as far as it is no higher.
            let baseline = words.baseline().unwrap_or(cap);
            sign.shift(Dots(0), (baseline - cap / 2 - high / 2).max(Dots(0)));
        }
        words.marks.append(&mut sign.marks);
        sign.boxes.append(&mut words.boxes);
        words.boxes = sign.boxes;
    }
    meaning.remarks.extend(drawn.remarks);
    meaning
}

/// A term at the left of the first line of its meaning.
fn hung(context: &Context, term: Galley, mut meaning: Galley, column: Dots) -> Galley {
    let mut term = term.solid();
    let mut head = term.chunks.pop().unwrap_or_default();
    let above = head.baseline().unwrap_or_default();
    head.shift(Dots(0), -above);
    let below = head.height - above;
    let (marks, boxes) = (head.marks, head.boxes);
    meaning.hang(Hanging { width: column, above, below, marks, boxes }, context.pitch(look(context).size));
    meaning.remarks.append(&mut term.remarks);
    meaning
}
