//! Sets a text and writes it as a PNG, so that type can be looked at:
//!
//!     cargo run --example specimen -- OUT.png SIZE [WIDTH] [TEXT] [LOOK]
//!
//! LOOK is made of `m`(ono), `l`(ettering), `b`(old), `i`(talic). LANGUAGE_TAG sets the language, FACE a further font file.

use stripling::bitmap::{Bitmap, Ink};
use stripling::language::Language;
use stripling::lengths::{Dots, Pt, Resolution};
use stripling::manual::source::Span;
use stripling::type_setting::*;

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    if arguments.len() < 3 {
        eprintln!("specimen OUT.png SIZE [WIDTH] [TEXT] [LOOK]");
        std::process::exit(2);
    }
    let size: f64 = arguments[2].parse().expect("a size in points");
    let width: i32 = arguments.get(3).map_or(576, |width| width.parse().expect("a width in dots"));
    let text = arguments.get(4).map_or("Lift the beak until it clicks.", String::as_str);
    let look = arguments.get(5).map_or("", String::as_str);
    let mut faces = Faces::new(Resolution::EIGHT);
    if let Ok(file) = std::env::var("FACE") {
        faces = faces.with_face("und", std::fs::read(file).expect("a font file")).expect("a font that can be used");
    }
    let language = match std::env::var("LANGUAGE_TAG").as_deref() {
        Ok("ar") => Language::Arabic,
        Ok("he") => Language::Hebrew,
        Ok("de") => Language::German,
        Ok("ja") => Language::Japanese,
        _ => Language::English,
    };
    let look = Type {
        family: if look.contains('m') {
            Family::Mono
        } else if look.contains('l') {
            Family::Lettering
        } else {
            Family::Sans
        },
        bold: look.contains('b'),
        italic: look.contains('i'),
        size: Pt::new(size),
    };
    let pieces =
        [Piece { content: Content::Text { text, look, strike: false, rise: Dots(0), verbatim: false }, span: Span::default() }];
    let measure = Measure { width: Dots(width), balanced: false, tabular: false, justified: false, hyphenate: true, language };
    let start = std::time::Instant::now();
    let paragraph = faces.set_paragraph(&pieces, &measure);
    eprintln!("cold {:?}", start.elapsed());
    let start = std::time::Instant::now();
    let again = faces.set_paragraph(&pieces, &measure);
    eprintln!("warm {:?}, same {}", start.elapsed(), again == paragraph);
    let pitch = look.size.percent(130);
    let pitch = Resolution::EIGHT.type_dots(pitch).0;
    let mut sheet = Bitmap::new(width as u32 + 16, (pitch * (paragraph.lines.len() as i32 + 1)) as u32);
    for (number, line) in paragraph.lines.iter().enumerate() {
        eprintln!("{:4} {}", line.width.0, line.text);
        let baseline = pitch * (number as i32 + 1);
        for fragment in &line.fragments {
            if let FragmentInk::Glyphs { glyphs, .. } = &fragment.ink {
                for glyph in glyphs {
                    let dots = faces.dots(glyph.key);
                    sheet.put(&dots.bitmap, 8 + fragment.x.0 + glyph.x + dots.left, baseline + glyph.y + dots.top, Ink::Black);
                }
            }
        }
    }
    eprintln!("missing {:?}", paragraph.missing);
    let pixels: Vec<u8> = sheet.data().iter().map(|byte| !byte).collect();
    let file = std::fs::File::create(&arguments[1]).expect("the picture's file");
    let mut encoder = png::Encoder::new(file, sheet.width(), sheet.height());
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::One);
    encoder.write_header().and_then(|mut writer| writer.write_image_data(&pixels)).expect("the picture");
}
