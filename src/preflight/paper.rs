//! Paper: what the head and the roll bear.

use crate::lengths::{Dots, Mm};
use crate::manual::source::Level;

use super::content::unless;
use super::index::Index;
use super::market::{US, sold_in};
use super::rule::{Check, Note, Rule};

pub const BLACK_OVER_DUTY: Rule = Rule {
    name: "black-over-duty",
    level: Level::Warning,
    what: "a stretch of the strip blacker than the printer's `duty`",
    why: "the head slows down, fades towards the end of the stretch, or wears; the supply may give in",
    mend: "use a lighter screen, a smaller picture, or a style without reverse headings there",
    source: "common practice, no source",
    check: Check::Looks(over_duty),
};

pub const STRIP_OVER_ROLL: Rule = Rule {
    name: "strip-over-roll",
    level: Level::Error,
    what: "a strip longer than the paper on a roll",
    why: "no roll can finish it",
    mend: "shorten the manual, part it with a `cut` block, or name the larger roll",
    source: "geometry, an annulus over a thickness (known)",
    check: Check::Looks(|index| {
        let (strip, stock) = (index.evidence.strip, index.evidence.stock);
        let Some(roll) = stock.roll else { return Vec::new() };
        let ends = strip.cuts.iter().copied().chain([strip.bitmap.height()]);
        let mut top = 0;
        let mut longest = (0, 0);
        for end in ends {
            longest = longest.max((end.saturating_sub(top), top));
            top = end;
        }
        let length = strip.resolution.mm(Dots(longest.0 as i32));
        if length <= roll {
            return Vec::new();
        }
        let row = Dots(longest.1 as i32);
        vec![Note::new(index.at_row(row), format!("the strip is {length} long, and a roll holds {roll}")).row(row)]
    }),
};

/// Lower than this a box holds no handwriting.
const WRITABLE: Mm = Mm::from_micrometres(8_000);

pub const WRITE_IN_LOW: Rule = Rule {
    name: "write-in-low",
    level: Level::Warning,
    what: "a box to write in that is lower than 8 mm",
    why: "a pen on a strip that lies on a bench needs room; what does not go into the box is written across the label, or left out",
    mend: "give it 8 mm or more, 15 mm for a signature: `height = \"15 mm\"`",
    source: "common practice, no source",
    check: Check::Looks(|index| {
        let low = index.entries.write_ins.iter().filter(|seen| seen.height < WRITABLE);
        low.map(|seen| Note::new(seen.span, format!("this box to write in is {} high", seen.height))).collect()
    }),
};

pub const PAPER_PHENOL_UNSAID: Rule = Rule {
    name: "paper-phenol-unsaid",
    level: Level::Advice,
    what: "a product for the US, and neither the manual nor the printer's file says that the paper is free of phenols, or one says that it is not",
    why: "thermal paper turns black by a developer, in cheap rolls bisphenol A or S. Paper with bisphenol S that goes with a product asks in California for a warning, given before the sale and off the paper (makers of under ten people are exempt). In the EU paper with 0.02 % of bisphenol A is not sold since 2 January 2020",
    mend: "buy rolls that are free of phenols, and write `phenol_free = true` under `[paper]`, here (`width` says how wide it is) or in the printer's file",
    source: "California's Proposition 65, bisphenol S from 29 December 2024 (seen); (EC) 1907/2006 annex XVII, entry 66 (seen)",
    check: Check::Looks(|index| {
        let said = index.evidence.document.header.phenol_free.or(index.evidence.stock.phenol_free);
        let message = match said {
            Some(true) => return Vec::new(),
            Some(false) => "for the US, on paper that is not free of phenols: a warning may have to be given off the paper",
            None => "for the US, and nothing says whether the paper is free of phenols",
        };
        unless(!sold_in(index, US), || Note::new(index.key("product.markets"), message))
    }),
};

/// Stretches over the duty that meet are one finding, told at its blackest place.
fn over_duty(index: &Index) -> Vec<Note> {
    let (bitmap, stock) = (&index.evidence.strip.bitmap, index.evidence.stock);
    let rows = bitmap.height() as usize;
    let stretch = (index.evidence.strip.resolution.dots(stock.stretch).count() as usize).clamp(1, rows.max(1));
    let mut black = vec![0u64];
    let mut sum = 0;
    for y in 0..bitmap.height() {
        sum += bitmap.row(y).iter().map(|byte| u64::from(byte.count_ones())).sum::<u64>();
        black.push(sum);
    }
    let dots = stretch as u64 * u64::from(bitmap.width());
    let mut notes = Vec::new();
    let mut worst: Option<(u64, usize)> = None;
    let mut last = 0;
    let mut close = |worst: &mut Option<(u64, usize)>| {
        if let Some((black, top)) = worst.take() {
            let row = Dots(top as i32);
            // Rounded up: what is over the limit is never said to be at it.
            let percent = (black * 100).div_ceil(dots.max(1));
            let message = format!("{} of paper are {percent} % black, and the printer bears {} %", stock.stretch, stock.duty);
            notes.push(Note::new(index.at_row(Dots((top + stretch / 2) as i32)), message).row(row));
        }
    };
    for top in 0..(rows + 1).saturating_sub(stretch) {
        let here = black[top + stretch] - black[top];
        if here * 100 <= u64::from(stock.duty) * dots {
            continue;
        }
        if worst.is_some() && top > last + stretch {
            close(&mut worst);
        }
        last = top;
        if worst.is_none_or(|(most, _)| here > most) {
            worst = Some((here, top));
        }
    }
    close(&mut worst);
    notes
}
