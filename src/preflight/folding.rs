//! Paper: folds, and the box that the folded strip goes into.

use crate::lengths::{Dots, Mm};
use crate::manual::source::Level;

use super::content::unless;
use super::rule::{Check, Note, Rule};

/// Boxes that a fold must not go through. Those of whole blocks may: their parts stand on several panels.
const WHOLE: &[&str] =
    &["line", "picture", "qr", "barcode", "write-in", "sign", "panel", "balloon", "signal-word", "callout", "key", "row"];

pub const FOLDED_THROUGH: Rule = Rule {
    name: "folded-through",
    level: Level::Error,
    what: "a fold that goes through a line of text, a picture, a code, a row or a panel of a comic",
    why: "thermal paper cracks along the fold; a code with a crack may not scan",
    mend: "make the piece smaller, or the `fold` in the header larger",
    source: "common practice, no source",
    check: Check::Looks(|index| {
        let layout = index.evidence.layout;
        if index.evidence.document.header.fold.is_none() {
            return Vec::new();
        }
        let mut notes = Vec::new();
        for placed in index.evidence.boxes.iter().filter(|placed| WHOLE.contains(&placed.kind)) {
            let bottom = placed.y + placed.height;
            // The end of the last panel is no fold.
            let fold =
                layout.panels.iter().rev().skip(1).map(|panel| panel.bottom).find(|&fold| placed.y < fold && fold < bottom);
            let Some(fold) = fold.filter(|fold| !layout.cuts.contains(fold)) else {
                continue;
            };
            // Making up has said so already where the whole piece is higher than a panel.
            let told = layout.remarks.iter().any(|remark| {
                remark.rule == "panel-too-small" && remark.span.start <= placed.span.start && placed.span.end <= remark.span.end
            });
            if !told {
                notes.push(
                    Note::new(placed.span, format!("a fold goes through this {}", placed.kind.replace('-', " "))).row(fold),
                );
            }
        }
        notes
    }),
};

pub const STACK_OVER_BOX: Rule = Rule {
    name: "stack-over-box",
    level: Level::Warning,
    what: "a folded strip that does not fit `[box] size`, however it is turned; a ribbon whose paper is wider than the box",
    why: "it will be folded once more by hand, or left out",
    mend: "choose another `fold` pitch or a narrower paper, or give the strip fewer panels",
    source: "arithmetic; common practice, no source",
    check: Check::Looks(|index| {
        let header = &index.evidence.document.header;
        let Some(room) = header.box_size else { return Vec::new() };
        let (layout, stock) = (index.evidence.layout, index.evidence.stock);
        let mut sides = room.map(|side| side.micrometres());
        sides.sort_unstable();
        let in_words = format!("the box has {} x {} x {}", room[0], room[1], room[2]);
        if header.fold.is_none() {
            // A ribbon is folded or rolled by hand, as small as it has to be; only its width is what it is.
            let fits = stock.width.micrometres() <= sides[2];
            return unless(fits, || {
                Note::new(index.key("box.size"), format!("the paper is {} wide, and {in_words}", stock.width))
            });
        }
        // Between two cuts is one strip; each is folded by itself.
        let mut stacks: Vec<(Dots, i64)> = Vec::new();
        for panel in &layout.panels {
            let height = panel.bottom - panel.top;
            match stacks.last_mut() {
                Some((highest, count)) if !layout.cuts.contains(&panel.top) => {
                    (*highest, *count) = ((*highest).max(height), *count + 1)
                }
                _ => stacks.push((height, 1)),
            }
        }
        let measures = |&(pitch, count): &(Dots, i64)| {
            [stock.width, layout.resolution.mm(pitch), Mm::from_micrometres(count * stock.thickness.micrometres())]
        };
        let fits = |stack: &[Mm; 3]| {
            let mut own = stack.map(Mm::micrometres);
            own.sort_unstable();
            own.iter().zip(sides).all(|(side, room)| *side <= room)
        };
        let large = stacks.iter().map(measures).find(|stack| !fits(stack));
        let note = |[width, pitch, height]: [Mm; 3]| {
            Note::new(index.key("box.size"), format!("the folded strip takes {width} x {pitch} x {height}, and {in_words}"))
        };
        large.map(note).into_iter().collect()
    }),
};
