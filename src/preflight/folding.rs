//! Paper: folds, and the box that the folded strip goes into.

use crate::manual::source::Level;
use crate::units::Dots;

use super::rule::{Check, Note, Rule};

/// Boxes that a fold must not go through. Those of whole blocks may: their parts stand on several panels.
const WHOLE: &[&str] = &["line", "picture", "qr", "barcode", "sign", "panel", "balloon", "signal-word", "callout", "key", "row"];

pub const FOLDED_THROUGH: Rule = Rule {
    name: "folded-through",
    level: Level::Error,
    what: "a fold that goes through a line of text, a picture, a code, a row or a panel of a comic",
    why: "thermal paper cracks along the fold; a code with a crack may not scan",
    mend: "make the piece smaller, or the `fold` in the header larger",
    source: "common practice, no source",
    check: Check::Looks(|sheet| {
        let layout = sheet.evidence.layout;
        if sheet.evidence.document.header.fold.is_none() {
            return Vec::new();
        }
        let mut notes = Vec::new();
        for placed in sheet.evidence.boxes.iter().filter(|placed| WHOLE.contains(&placed.kind)) {
            let bottom = placed.y + placed.height;
            // The end of the last panel is no fold.
            let fold =
                layout.panels.iter().rev().skip(1).map(|panel| panel.bottom).find(|&fold| placed.y < fold && fold < bottom);
            let Some(fold) = fold.filter(|fold| !layout.cuts.contains(fold)) else { continue };
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
    what: "a folded strip that does not fit `[box] size`, however it is turned",
    why: "it will be folded once more by hand, or left out",
    mend: "choose another `fold` pitch or a narrower paper, or give the strip fewer panels",
    source: "arithmetic",
    check: Check::Looks(|sheet| {
        let Some(room) = sheet.evidence.document.header.box_size else { return Vec::new() };
        let (layout, stock) = (sheet.evidence.layout, sheet.evidence.stock);
        let resolution = layout.resolution;
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
        let mut room_sides = room.map(|side| side.micrometres());
        room_sides.sort_unstable();
        let fits = |&(pitch, count): &(Dots, i64)| {
            let mut sides =
                [stock.width.micrometres(), resolution.mm(pitch).micrometres(), count * stock.thickness.micrometres()];
            sides.sort_unstable();
            sides.iter().zip(room_sides).all(|(side, room)| *side <= room)
        };
        let Some((pitch, count)) = stacks.iter().find(|stack| !fits(stack)) else { return Vec::new() };
        let stack = crate::units::Mm::from_micrometres(count * stock.thickness.micrometres());
        let folded =
            if sheet.evidence.document.header.fold.is_some() { "the folded strip" } else { "the strip is not folded; it" };
        let message = format!(
            "{folded} takes {} x {} x {stack}, and the box has {} x {} x {}",
            stock.width,
            resolution.mm(*pitch),
            room[0],
            room[1],
            room[2]
        );
        let note = Note::new(sheet.key("box.size"), message);
        vec![match sheet.evidence.document.header.fold {
            Some(_) => note,
            None => note.hint("write `fold = \"…\"` in the header: the distance between two folds"),
        }]
    }),
};
