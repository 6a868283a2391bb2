//! Type as it falls on paper: specimen lines, looked at and kept.

use stripling::bitmap::{Bitmap, Ink};
use stripling::language::Language;
use stripling::manual::source::Span;
use stripling::type_setting::{Content, Faces, Family, FragmentInk, Measure, Paragraph, Piece, Type};
use stripling::units::{Dots, Pt, Resolution};

use crate::golden;

fn piece(text: &str, look: Type) -> Piece<'_> {
    Piece {
        content: Content::Text {
            text,
            look,
            strike: false,
            rise: Dots(0),
        },
        span: Span::default(),
    }
}

fn sans(size: f64) -> Type {
    Type {
        size: Pt::new(size),
        ..Type::default()
    }
}

/// Paints a paragraph with `pitch` dots from baseline to baseline.
fn paint(faces: &Faces, paragraph: &Paragraph, width: i32, pitch: i32) -> Bitmap {
    let mut sheet = Bitmap::new(width as u32, (pitch * paragraph.lines.len() as i32 + pitch / 2) as u32);
    for (number, line) in paragraph.lines.iter().enumerate() {
        let baseline = pitch * (number as i32 + 1);
        for fragment in &line.fragments {
            let FragmentInk::Glyphs { glyphs, strike } = &fragment.ink else {
                continue;
            };
            for glyph in glyphs {
                let dots = faces.dots(glyph.key);
                let (x, y) = (fragment.x.0 + glyph.x + dots.left, baseline + glyph.y + dots.top);
                sheet.put(&dots.bitmap, x, y, Ink::Black);
            }
            if let Some(strike) = strike {
                sheet.fill(
                    fragment.x.0,
                    baseline + strike.top.0,
                    fragment.width.0,
                    strike.thickness.0,
                    true,
                );
            }
        }
    }
    sheet
}

fn measure(width: i32) -> Measure {
    Measure {
        width: Dots(width),
        first: None,
        justified: false,
        hyphenate: true,
        language: Language::English,
    }
}
