//! Paper: what the head and the roll bear.

use crate::manual::source::Level;
use crate::units::Dots;

use super::rule::{Check, Note, Rule};
use super::sheet::Sheet;

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
    source: "geometry (annulus over thickness)",
    check: Check::Looks(|sheet| {
        let (strip, stock) = (sheet.evidence.strip, sheet.evidence.stock);
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
        vec![Note::new(sheet.at_row(row), format!("the strip is {length} long, and a roll holds {roll}")).row(row)]
    }),
};

/// Stretches over the duty that meet are one finding, told at its blackest place.
fn over_duty(sheet: &Sheet) -> Vec<Note> {
    let (bitmap, stock) = (&sheet.evidence.strip.bitmap, sheet.evidence.stock);
    let rows = bitmap.height() as usize;
    let stretch = (sheet.evidence.strip.resolution.dots(stock.stretch).count() as usize).clamp(1, rows.max(1));
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
            notes.push(Note::new(sheet.at_row(Dots((top + stretch / 2) as i32)), message).row(row));
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
