//! Paper: type and lines that the dots can still carry.

use std::collections::BTreeMap;

use crate::layout::Mark;
use crate::lengths::{Dots, Pt, Resolution};
use crate::manual::source::{Level, Span};
use crate::type_setting::{FragmentInk, Line};

use super::index::Index;
use super::rule::{Check, Note, Rule};

/// Least size of type, as an em in 1/64 dot: 6 pt at 8 dots/mm. On coarser paper the same dots make larger points.
fn least() -> i32 {
    Resolution::EIGHT.em(Pt::new(6.0))
}

/// Least size of reverse type: 8 pt at 8 dots/mm; dot gain eats into it from all sides.
fn least_reverse() -> i32 {
    Resolution::EIGHT.em(Pt::new(8.0))
}

/// Least size of numbers that stand alone: calls of notes. Ten shapes are told apart in fewer dots.
fn least_number() -> i32 {
    Resolution::EIGHT.em(Pt::new(4.5))
}

/// A line of so few dots is not sure to be there.
const LEAST_LINE: Dots = Dots(2);

/// What is shorter is no line but a speck of a drawing.
const LINE_LENGTH: Dots = Dots(24);

pub const TYPE_SMALL: Rule = Rule {
    name: "type-small",
    level: Level::Warning,
    what: "type under the safe size of the paper: 17 dots to the em, which is 6 pt at 8 dots/mm",
    why: "below it letters lose stems and close their eyes; nobody reads what is printed there",
    mend: "set `body`, `small` and `minimum` larger in the style file, or use paper with finer dots",
    source: "legibility measured with tesseract: at most 1.1 % of characters misread at 6 pt (seen)",
    check: Check::Looks(|index| {
        let notes = small_type(index, false, least());
        notes
            .into_iter()
            .map(|(span, size)| Note::new(span, format!("type of {size} is under the safe size of this paper")))
            .collect()
    }),
};

pub const REVERSE_SMALL: Rule = Rule {
    name: "reverse-type-small",
    level: Level::Warning,
    what: "white type on black under 23 dots to the em, which is 8 pt at 8 dots/mm; numbers alone may be as small as other type",
    why: "heat spreads: black closes the white stems",
    mend: "set it larger, or black on white",
    source: "common practice, no source",
    check: Check::Looks(|index| {
        let notes = small_type(index, true, least_reverse());
        notes.into_iter().map(|(span, size)| Note::new(span, format!("white type of {size} will close up"))).collect()
    }),
};

pub const LINE_THIN: Rule = Rule {
    name: "line-thin",
    level: Level::Advice,
    what: "a ruled line thinner than 2 dots",
    why: "one worn heating element, and the line is gone",
    mend: "set the lines under `[line]` in the style to 0.25 mm or more",
    source: "common practice, no source",
    check: Check::Looks(|index| {
        let layout = index.evidence.layout;
        let thin = |mark: &Mark| match mark {
            Mark::Fill { width, height, black: true, .. } => {
                (*width).min(*height) < LEAST_LINE && (*width).max(*height) >= LINE_LENGTH
            }
            Mark::Round { border, fill: None, .. } => *border > Dots(0) && *border < LEAST_LINE,
            _ => false,
        };
        let mut found: Option<(Span, Dots)> = None;
        let mut count = 0;
        for placed in &layout.placed {
            let Some(chunk) = placed.galley.chunks.get(placed.chunk) else {
                continue;
            };
            let here = chunk.marks.iter().filter(|mark| thin(mark)).count();
            count += here;
            if here > 0 && found.is_none() {
                found = Some((index.at_row(placed.y + chunk.height / 2), placed.y));
            }
        }
        found
            .map(|(span, row)| Note::new(span, format!("{count} ruled lines are 1 dot thick, the first of them here")).row(row))
            .into_iter()
            .collect()
    }),
};

/// Places with type under a size, one a top-level block, each with its smallest.
fn small_type(index: &Index, reverse: bool, least: i32) -> Vec<(Span, Pt)> {
    let layout = index.evidence.layout;
    let mut found: BTreeMap<u32, (i32, Span)> = BTreeMap::new();
    for placed in &layout.placed {
        let Some(chunk) = placed.galley.chunks.get(placed.chunk) else {
            continue;
        };
        for mark in &chunk.marks {
            let Mark::Text { line, white, .. } = mark else { continue };
            let Some(em) = em(line).filter(|_| *white == reverse) else {
                continue;
            };
            let number = !line.text.is_empty() && line.text.trim_end_matches('.').chars().all(|c| c.is_ascii_digit());
            let least = match (number, reverse) {
                (true, false) => least_number(),
                (true, true) => self::least(),
                (false, _) => least,
            };
            if em < least && found.get(&placed.base).is_none_or(|(smallest, _)| em < *smallest) {
                found.insert(placed.base, (em, line.span.from_base(placed.base)));
            }
        }
    }
    found.into_values().map(|(em, span)| (span, points(em, layout.resolution))).collect()
}

/// The smallest em of a line's glyphs, in 1/64 dot.
fn em(line: &Line) -> Option<i32> {
    let glyphs = line.fragments.iter().filter_map(|fragment| match &fragment.ink {
        FragmentInk::Glyphs { glyphs, .. } => glyphs.iter().map(|glyph| glyph.key.em).min(),
        FragmentInk::Object { .. } => None,
    });
    glyphs.min()
}

/// The size that an em of so many 1/64 dots is on this paper, to a tenth of a point.
fn points(em: i32, resolution: Resolution) -> Pt {
    // dots = points * 25.4/72 * dots_per_metre / 1000
    let thousandths = i64::from(em) * 72 * 10_000_000 / (64 * 254 * i64::from(resolution.dots_per_metre.max(1)));
    Pt::from_thousandths(((thousandths + 50) / 100 * 100) as i32)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_em_leads_back_to_points() {
        // 9 pt at 203.2 dpi is 25.4 dots (CHECKS.md, "Type").
        assert_eq!(points(Resolution::EIGHT.em(Pt::new(9.0)), Resolution::EIGHT), Pt::new(9.0));
        assert_eq!(
            points(Resolution { dots_per_metre: 7087 }.em(Pt::new(7.5)), Resolution { dots_per_metre: 7087 }),
            Pt::new(7.5)
        );
    }

    #[test]
    fn the_safe_size_is_six_points_at_eight_dots() {
        assert_eq!((least() + 32) / 64, 17);
        assert_eq!((least_reverse() + 32) / 64, 23);
    }
}
