//! Paper: QR symbols and barcodes, measured where they stand in the dots of the strip.

use crate::bitmap::Bitmap;
use crate::layout::PlacedBox;
use crate::manual::source::Level;

use super::rule::{Check, Note, Rule};
use super::sheet::{CodeSeen, Sheet};

/// Dots that a module should have: 0.375 mm at 8 dots/mm.
const MODULE: i32 = 3;

pub const CODE_MODULE_SMALL: Rule = Rule {
    name: "code-module-small",
    level: Level::Warning,
    what: "a QR symbol or barcode whose modules are under 3 dots",
    why: "dot gain closes the gaps; cheap cameras and old scanners give up",
    mend: "encode less: a short link, fewer characters; or use wider paper",
    source: "common practice",
    check: Check::Looks(|sheet| {
        let small = measured(sheet).filter(|(_, measure)| measure.module < MODULE);
        small.map(|(code, measure)| Note::new(code.span, format!("the modules of this {} are {} dots wide", named(code), measure.module))).collect()
    }),
};

pub const CODE_QUIET_ZONE: Rule = Rule {
    name: "code-quiet-zone",
    level: Level::Error,
    what: "something printed in the quiet zone of a QR symbol (4 modules) or a barcode (Code 128: 10; EAN-13: 11 left, 7 right)",
    why: "a scanner finds a code by the white around it",
    mend: "keep other things away from the code",
    source: "ISO/IEC 18004; ISO/IEC 15417; GS1 General Specifications",
    check: Check::Looks(|sheet| {
        let crowded = measured(sheet).filter(|(_, measure)| !measure.quiet);
        crowded.map(|(code, _)| Note::new(code.span, format!("something stands in the quiet zone of this {}", named(code)))).collect()
    }),
};

fn named(code: &CodeSeen) -> &'static str {
    if code.kind == "qr" { "QR symbol" } else { "barcode" }
}

/// A code in the dots.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Measure {
    /// Dots a module.
    module: i32,
    /// Whether the quiet zone is white.
    quiet: bool,
}

fn measured<'s>(sheet: &'s Sheet) -> impl Iterator<Item = (&'s CodeSeen, Measure)> + use<'s> {
    sheet.codes.iter().filter_map(|code| {
        let placed = sheet.evidence.boxes.iter().filter(|placed| placed.kind == code.kind && placed.span == code.span);
        // The block's own box is as wide as the column; the code's is the narrower of the two.
        let narrowest = placed.min_by_key(|placed| (placed.width, placed.height))?;
        measure(&sheet.evidence.strip.bitmap, narrowest, code).map(|measure| (code, measure))
    })
}

fn measure(bitmap: &Bitmap, placed: &PlacedBox, code: &CodeSeen) -> Option<Measure> {
    let (left, right) = (placed.x.0, placed.x.0 + placed.width.0);
    let (top, bottom) = (placed.y.0, placed.y.0 + placed.height.0);
    let column = |x: i32| (top..bottom).any(|y| bitmap.get(x, y));
    let row = |y: i32| (left..right).any(|x| bitmap.get(x, y));
    let (first, last) = ((left..right).find(|&x| column(x))?, (left..right).rev().find(|&x| column(x))?);
    let (upper, lower) = ((top..bottom).find(|&y| row(y))?, (top..bottom).rev().find(|&y| row(y))?);
    let (module, above) = match code.kind {
        // The finder at the top left begins with a bar of seven modules.
        "qr" => ((first..=last).take_while(|&x| bitmap.get(x, upper)).count() as i32 / 7, 4),
        _ => (narrowest_bar(bitmap, first, last, (upper + lower) / 2)?, 0),
    };
    let margin = |modules: u32| modules as i32 * module.max(1);
    let [before, after] = code.quiet.map(margin);
    let up = above * module;
    let blank = |x: std::ops::Range<i32>, y: std::ops::Range<i32>| y.into_iter().all(|y| x.clone().all(|x| !bitmap.get(x, y)));
    let quiet = blank(first - before..first, upper - up..lower + 1 + up)
        && blank(last + 1..last + 1 + after, upper - up..lower + 1 + up)
        && blank(first..last + 1, upper - up..upper)
        && blank(first..last + 1, lower + 1..lower + 1 + up);
    Some(Measure { module, quiet })
}

/// Dots of the narrowest bar or gap in a row.
fn narrowest_bar(bitmap: &Bitmap, first: i32, last: i32, row: i32) -> Option<i32> {
    let mut narrowest: Option<i32> = None;
    let mut from = first;
    for x in first + 1..=last + 1 {
        if x > last || bitmap.get(x, row) != bitmap.get(from, row) {
            narrowest = Some(narrowest.map_or(x - from, |least| least.min(x - from)));
            from = x;
        }
    }
    narrowest
}
