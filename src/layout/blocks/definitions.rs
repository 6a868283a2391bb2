//! Terms and what they mean: what a light or a sound says.

use super::{Room, set_all};
use crate::layout::bench::Bench;
use crate::layout::galley::{Galley, Hanging};
use crate::layout::text::{self, Setting};
use crate::manual::document::{Definition, plain_text};
use crate::type_setting::Type;
use crate::units::Dots;

/// Terms beside their meanings when all terms are short, else above them.
pub fn definitions(bench: &Bench, definitions: &[Definition], room: Room) -> Galley {
    let look = Type { bold: true, ..bench.body() };
    let gutter = bench.dots(bench.style.space.gutter);
    let terms: Vec<Galley> = definitions
        .iter()
        .map(|definition| text::inlines(bench, &definition.term, &Setting::label("term", look, room.width, definition.span)))
        .collect();
    let most = room.width * 36 / 100;
    let beside = !bench.is_narrow() && terms.iter().all(|term| term.chunks.len() == 1 && width_of(term) <= most);
    let column = if beside { terms.iter().map(width_of).max().unwrap_or_default() + gutter } else { Dots(0) };
    let gap = bench.dots(bench.style.space.item);
    let between = gap * 5 / 4;
    let parts = definitions
        .iter()
        .zip(terms)
        .map(|(definition, mut term)| {
            let indent = if beside { column } else { bench.indent(bench.dots(bench.style.space.indent), room.width) };
            // Meanings of one term stand nearer to each other than one term to the next.
            let meanings = definition.meanings.iter().map(|blocks| {
                let meaning = set_all(bench, "meaning", blocks, room.within(indent));
                Galley { above: gap / 2, below: gap / 2, ..meaning }
            });
            let mut meaning = Galley::stack("meaning", meanings.collect());
            meaning.shift(indent);
            let said = format!("{}\n{}", plain_text(&definition.term), meaning.text);
            let mut part = if beside && !meaning.chunks.is_empty() {
                let mut head = term.chunks.remove(0);
                let above = head.baseline().unwrap_or_default();
                head.shift(Dots(0), -above);
                let below = head.height - above;
                let (marks, boxes) = (head.marks, head.boxes);
                meaning.hang(Hanging { width: column, above, below, marks, boxes }, bench.pitch(look.size));
                meaning.remarks.append(&mut term.remarks);
                meaning
            } else {
                term.chunks.iter_mut().for_each(|chunk| chunk.keep = true);
                meaning.above = Dots(0);
                Galley::stack("definition", vec![Galley { below: Dots(0), ..term }, meaning])
            };
            part.text = said;
            Galley { above: between, below: between, ..part }
        })
        .collect();
    let mut galley = Galley::stack("definitions", parts);
    galley.above = bench.dots(bench.style.space.paragraph);
    galley.below = galley.above;
    galley
}

fn width_of(galley: &Galley) -> Dots {
    galley.chunks.iter().flat_map(|chunk| &chunk.boxes).map(|boxed| boxed.width).max().unwrap_or_default()
}
