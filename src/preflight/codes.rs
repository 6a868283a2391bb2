//! Paper: QR symbols and barcodes, measured where they stand in the dots of the strip.

use crate::bitmap::Bitmap;
use crate::layout::PlacedBox;
use crate::manual::source::Level;

use super::index::Index;
use super::passages::CodeSeen;
use super::rule::{Check, Note, Rule};

/// Dots that a module should have: 0.375 mm at 8 dots/mm.
const MODULE: i32 = 3;

pub const CODE_MODULE_SMALL: Rule = Rule {
    name: "code-module-small",
    level: Level::Warning,
    what: "a QR symbol or barcode whose modules are under 3 dots",
    why: "dot gain closes the gaps; cheap cameras and old scanners give up",
    mend: "encode less: a short link, fewer characters; or use wider paper",
    source: "common practice, no source",
    check: Check::Looks(|index| {
        let small = measured(index).filter(|(_, measure)| measure.module < MODULE);
        small
            .map(|(code, measure)| {
                Note::new(code.span, format!("the modules of this {} are {} dots wide", named(code), measure.module))
            })
            .collect()
    }),
};

pub const CODE_QUIET_ZONE: Rule = Rule {
    name: "code-quiet-zone",
    level: Level::Error,
    what: "something printed in the quiet zone of a QR symbol (4 modules) or a barcode (Code 128: 10; EAN-13: 11 left, 7 right)",
    why: "a scanner finds a code by the white around it",
    mend: "keep other things away from the code",
    source: "ISO/IEC 18004, ISO/IEC 15417, GS1 General Specifications (known)",
    check: Check::Looks(|index| {
        let crowded = measured(index).filter(|(_, measure)| !measure.quiet);
        crowded
            .map(|(code, _)| Note::new(code.span, format!("something stands in the quiet zone of this {}", named(code))))
            .collect()
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

fn measured<'s>(index: &'s Index) -> impl Iterator<Item = (&'s CodeSeen, Measure)> + use<'s> {
    index.entries.codes.iter().filter_map(|code| {
        let placed = index.evidence.boxes.iter().filter(|placed| placed.kind == code.kind && placed.span == code.span);
        // The block's own box is as wide as the column; the code's is the narrower of the two.
        let narrowest = placed.min_by_key(|placed| (placed.width, placed.height))?;
        measure(&index.evidence.strip.bitmap, narrowest, code).map(|measure| (code, measure))
    })
}

fn measure(bitmap: &Bitmap, placed: &PlacedBox, code: &CodeSeen) -> Option<Measure> {
    let field =
        Field { left: placed.x.0, top: placed.y.0, right: placed.x.0 + placed.width.0, bottom: placed.y.0 + placed.height.0 };
    let (module, symbol) = if code.kind == "qr" { qr(bitmap, field)? } else { bars(bitmap, field)? };
    let above = if code.kind == "qr" { 4 * module } else { 0 };
    let [before, after] = code.quiet.map(|modules| modules as i32 * module);
    let around =
        Field { left: symbol.left - before, top: symbol.top - above, right: symbol.right + after, bottom: symbol.bottom + above };
    let mut rows = around.top..around.bottom;
    let quiet = rows.all(|y| {
        let inside = symbol.top <= y && y < symbol.bottom;
        (around.left..around.right).all(|x| (inside && symbol.left <= x && x < symbol.right) || !bitmap.get(x, y))
    });
    Some(Measure { module, quiet })
}

/// A part of the strip: from its left and top to before its right and bottom.
#[derive(Clone, Copy, Debug)]
struct Field {
    left: i32,
    top: i32,
    right: i32,
    bottom: i32,
}

/// Dots a module and where the symbol stands, by its finders: black and white in 1 : 1 : 3 : 1 : 1 through the middle of each
/// (ISO/IEC 18004).
fn qr(bitmap: &Bitmap, field: Field) -> Option<(i32, Field)> {
    let finders = |y: i32| -> Vec<(i32, i32)> {
        let runs = runs(field.left, field.right, |x| bitmap.get(x, y));
        let found = runs.windows(5).filter(|five| {
            let module = five[0].1;
            five[0].2 && [1, 1, 3, 1, 1].iter().zip(*five).all(|(times, run)| run.1 == module * times)
        });
        found.map(|five| (five[0].0, five[0].1)).collect()
    };
    let in_sight = |y: &i32| finders(*y).len() >= 2;
    let middle = (field.top..field.bottom).find(in_sight)?;
    let (row, module) = (finders(middle), finders(middle).first()?.1);
    let (left, right) = (row.first()?.0, row.last()?.0 + 7 * module);
    // The rows that show the middle of a finder begin two modules below its top.
    let top = middle - 2 * module;
    Some((module, Field { left, top, right, bottom: top + right - left }))
}

/// Dots of the narrowest bar or gap and where the bars stand: columns that are black all the way down the upper half. In the lower
/// one the guards of an EAN-13 outreach its bars, and its first digit stands in the quiet zone by right.
fn bars(bitmap: &Bitmap, whole: Field) -> Option<(i32, Field)> {
    let field = Field { bottom: (whole.top + whole.bottom) / 2, ..whole };
    let bar = |x: i32| (field.top..field.bottom).all(|y| bitmap.get(x, y));
    let runs = runs(field.left, field.right, bar);
    let first = runs.iter().position(|run| run.2)?;
    let last = runs.iter().rposition(|run| run.2)?;
    let module = runs[first..=last].iter().map(|run| run.1).min()?;
    let (left, right) = (runs[first].0, runs[last].0 + runs[last].1);
    Some((module, Field { left, right, ..field }))
}

/// Stretches of one colour from `left` to before `right`: where each begins, how long it is, whether it is black.
fn runs(left: i32, right: i32, black: impl Fn(i32) -> bool) -> Vec<(i32, i32, bool)> {
    let mut runs: Vec<(i32, i32, bool)> = Vec::new();
    for x in left..right {
        let here = black(x);
        match runs.last_mut() {
            Some(run) if run.2 == here => run.1 += 1,
            _ => runs.push((x, 1, here)),
        }
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lengths::{Dots, Resolution};
    use crate::manual::source::Span;
    use crate::pictures::codes::{self, CodeRoom};

    /// A code on a strip of its own, 12 dots from every edge.
    fn on_strip(kind: &'static str, quiet: [u32; 2], code: &Bitmap) -> (Bitmap, PlacedBox, CodeSeen) {
        let mut strip = Bitmap::new(code.width() + 24, code.height() + 24);
        strip.put(code, 12, 12, crate::bitmap::Ink::Black);
        let (width, height) = (Dots(code.width() as i32), Dots(code.height() as i32));
        let placed =
            PlacedBox { kind, x: Dots(12), y: Dots(12), width, height, panel: 0, span: Span::default(), text: String::new() };
        (strip, placed, CodeSeen { span: Span::default(), kind, quiet })
    }

    #[test]
    fn modules_and_quiet_zones_are_measured_in_the_dots() {
        let room = |module| CodeRoom { width: Dots(576), resolution: Resolution::EIGHT, module: Some(Dots(module)) };
        for module in [2, 3, 5] {
            let bars = codes::code128("HERON", &room(module)).unwrap();
            let (strip, placed, code) = on_strip("barcode", [10, 10], &bars.bitmap);
            assert_eq!(measure(&strip, &placed, &code), Some(Measure { module, quiet: true }));
            let mut crowded = strip.clone();
            crowded.set(12 + 9 * module, 20, true);
            assert_eq!(measure(&crowded, &placed, &code), Some(Measure { module, quiet: false }));
        }
        let ean = codes::ean13("4006381333931", &room(3)).unwrap();
        let (strip, placed, code) = on_strip("barcode", [11, 7], &ean.bitmap);
        assert_eq!(measure(&strip, &placed, &code), Some(Measure { module: 3, quiet: true }));
        let square = codes::qr("https://example.com/heron", &CodeRoom { module: None, ..room(3) }).unwrap();
        let (strip, placed, code) = on_strip("qr", [4, 4], &square.bitmap);
        let module = square.module.0;
        assert_eq!(measure(&strip, &placed, &code), Some(Measure { module, quiet: true }));
        let (wide, high) = (square.bitmap.width() as i32, square.bitmap.height() as i32);
        for (x, y) in [(12, 60), (11 + wide, 60), (60, 12), (60, 11 + high)] {
            let mut crowded = strip.clone();
            crowded.set(x, y, true);
            assert_eq!(measure(&crowded, &placed, &code), Some(Measure { module, quiet: false }), "a speck at {x},{y}");
        }
    }
}
