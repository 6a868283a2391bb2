//! Type as it falls on paper: specimen lines, looked at and kept.

use stripling::bitmap::{Bitmap, Ink};
use stripling::language::Language;
use stripling::lengths::{Dots, Pt, Resolution};
use stripling::manual::source::Span;
use stripling::type_setting::{Content, Faces, Family, FragmentInk, Measure, Paragraph, Piece, Type};

use crate::golden;

fn piece(text: &str, look: Type) -> Piece<'_> {
    Piece { content: Content::Text { text, look, strike: false, rise: Dots(0), verbatim: false }, span: Span::default() }
}

fn sans(size: f64) -> Type {
    Type { size: Pt::new(size), ..Type::default() }
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
                sheet.fill(fragment.x.0, baseline + strike.top.0, fragment.width.0, strike.thickness.0, true);
            }
        }
    }
    sheet
}

fn measure(width: i32) -> Measure {
    Measure {
        width: Dots(width),
        balanced: false,
        tabular: false,
        justified: false,
        hyphenate: true,
        language: Language::English,
    }
}

/// What stands on every specimen: letters that are easily taken for one another, figures, kerning, accents, other alphabets.
const SPECIMEN: &str = "Lift the beak until it clicks; illumine 0123456789 (48 °C, 230 V~). AV To Wa fjord office efficient. Übergröße, \
żółć, naïve, Ångström, Ţară, ấm; Ωμέγα, Жучок. → ✓ ☐ ½ €";

fn specimen(name: &str, family: Family, bold: bool, italic: bool) {
    let faces = Faces::new(Resolution::EIGHT);
    let mut sheet = Bitmap::new(576, 0);
    for size in [6.0, 7.0, 8.0, 9.0, 12.0, 18.0] {
        let look = Type { family, bold, italic, size: Pt::new(size) };
        let paragraph = faces.set_paragraph(&[piece(SPECIMEN, look)], &measure(576));
        let pitch = Resolution::EIGHT.type_dots(look.size.percent(135)).0;
        sheet = stacked(&sheet, &paint(&faces, &paragraph, 576, pitch));
    }
    golden::compare(&format!("type/{name}"), &sheet);
}

fn stacked(above: &Bitmap, below: &Bitmap) -> Bitmap {
    let mut both = Bitmap::new(above.width().max(below.width()), above.height() + below.height());
    both.put(above, 0, 0, Ink::Black);
    both.put(below, 0, above.height() as i32, Ink::Black);
    both
}

#[test]
fn the_sans_looks_as_kept() {
    specimen("sans-regular", Family::Sans, false, false);
    specimen("sans-bold", Family::Sans, true, false);
    specimen("sans-italic", Family::Sans, false, true);
    specimen("sans-bold-italic", Family::Sans, true, true);
}

#[test]
fn the_mono_looks_as_kept() {
    specimen("mono-regular", Family::Mono, false, false);
    specimen("mono-bold", Family::Mono, true, false);
}

#[test]
fn the_lettering_looks_as_kept() {
    specimen("lettering", Family::Lettering, false, false);
}

#[test]
fn right_to_left_paragraphs_look_as_kept() {
    let faces = Faces::new(Resolution::EIGHT);
    let arabic =
        "ارفع المنقار حتى تسمع نقرة. ضع كيس الشاي على الخطاف واضغط Start لمدة 2 ثانية (230 V). يغمس Heron الكيس ثم يرفعه.";
    let hebrew = "הרימו את המקור עד שיישמע קליק. הניחו את שקיק התה על הוו ולחצו Start במשך 2 שניות (230 V). Heron טובל את השקיק.";
    let mut sheet = Bitmap::new(384, 0);
    for (words, language) in [(arabic, Language::Arabic), (hebrew, Language::Hebrew)] {
        for bold in [false, true] {
            let look = Type { bold, ..sans(9.0) };
            let paragraph = faces.set_paragraph(&[piece(words, look)], &Measure { language, ..measure(384) });
            assert!(paragraph.missing.is_empty());
            sheet = stacked(&sheet, &paint(&faces, &paragraph, 384, 36));
        }
    }
    golden::compare("type/right-to-left", &sheet);
}

#[test]
fn signs_and_missing_characters_look_as_kept() {
    let faces = Faces::new(Resolution::EIGHT);
    let signs = "▶ ⏸ ⏻ ⏏ ⚠ ✓ ✔ ✗ ☐ ☑ ① ⑩ → ⇒ ↵ ⇧ ⌫ ⏎ ⌘ ★ ☆ ■ □ ● ◆ ♪ ☀ ❄ ♻ ⚡ ☕ ✂ ☎ ✉ ⌛ ✋ 🔋 🔌 💧 🔥 🐦 🔧 🗑 👍 ❤ 日本 ก 🜁";
    let mut sheet = Bitmap::new(576, 0);
    for size in [7.0, 9.0, 12.0] {
        let paragraph = faces.set_paragraph(&[piece(signs, sans(size))], &measure(576));
        let lacking: Vec<char> = paragraph.missing.iter().map(|missing| missing.0).collect();
        assert_eq!(lacking, ['日', '本', 'ก', '🜁']);
        let pitch = Resolution::EIGHT.type_dots(Pt::new(size * 1.45)).0;
        sheet = stacked(&sheet, &paint(&faces, &paragraph, 576, pitch));
    }
    golden::compare("type/signs", &sheet);
}

#[test]
fn ragged_and_justified_paragraphs_look_as_kept() {
    let faces = Faces::new(Resolution::EIGHT);
    let words = "Vor dem ersten Gebrauch den Reinigungsbehälter mit Entkalkungsmittel füllen und die Gebrauchsanweisung sorgfältig \
    durchlesen. Wenn der Leuchtring fünfmal blinkt, ist der Haken verklemmt: ausschalten, Haken befreien und erneut versuchen.";
    let mut sheet = Bitmap::new(384, 0);
    for justified in [false, true] {
        let measure = Measure { justified, language: Language::German, ..measure(384) };
        let paragraph = faces.set_paragraph(&[piece(words, sans(9.0))], &measure);
        sheet = stacked(&sheet, &paint(&faces, &paragraph, 384, 33));
    }
    let struck = Piece {
        content: Content::Text {
            text: "no longer so, and this neither",
            look: sans(9.0),
            strike: true,
            rise: Dots(0),
            verbatim: false,
        },
        span: Span::default(),
    };
    let raised = Piece {
        content: Content::Text { text: "12", look: sans(6.0), strike: false, rise: Dots(9), verbatim: false },
        span: Span::default(),
    };
    let mixed = [piece("Read this", sans(9.0)), raised, piece(", ", sans(9.0)), struck, piece(".", sans(9.0))];
    sheet = stacked(&sheet, &paint_raised(&faces, &faces.set_paragraph(&mixed, &measure(384))));
    golden::compare("type/paragraphs", &sheet);
}

fn paint_raised(faces: &Faces, paragraph: &Paragraph) -> Bitmap {
    paint(faces, paragraph, 384, 33)
}

/// Invented for the reading; figures, marks, and the pairs that are easily taken for one another.
const READ: &str = "Lift the beak until it clicks, then hang the bag on the little hook below it. Turn the dial to the kind of tea \
you like: 1 is green, 2 is white, 3 is black, 4 is herbal. Press Start for 2 seconds. Heron dips the bag 12 to 48 times, waits, \
and lifts it out when the time is up. Do not reach under the beak while it moves; hot water may drip for 30 more seconds. \
Charge the battery with the cable supplied (5 V, 2 A) until the ring turns from amber to green, about 90 minutes. If the ring \
blinks 5 times, the hook is jammed: switch off, free the hook, and try again. Extra hooks, pads and cables can be bought by post.";

#[test]
#[ignore = "needs tesseract: tests/run"]
fn tesseract_reads_type_from_seven_points_up() {
    // Character error at most 1 % at 7 pt and up: measured here (CHECKS.md, "Type").
    for resolution in [Resolution::EIGHT, Resolution { dots_per_metre: 7087 }] {
        let faces = Faces::new(resolution);
        for (name, family, bold, italic) in [
            ("sans", Family::Sans, false, false),
            ("bold", Family::Sans, true, false),
            ("italic", Family::Sans, false, true),
            ("mono", Family::Mono, false, false),
            ("lettering", Family::Lettering, false, false),
        ] {
            for size in [7.0, 8.0, 9.0] {
                let look = Type { family, bold, italic, size: Pt::new(size) };
                let paragraph = faces.set_paragraph(&[piece(READ, look)], &Measure { hyphenate: false, ..measure(540) });
                let sheet = paint(&faces, &paragraph, 540, resolution.type_dots(look.size.percent(135)).0);
                let mut framed = Bitmap::new(600, sheet.height() + 60);
                framed.put(&sheet, 30, 30, Ink::Black);
                let error = reading_error(&framed, &format!("{name}-{size}-{}", resolution.dots_per_metre));
                assert!(error <= 0.01, "{name} {size} pt at {} dots/m: {:.2} %", resolution.dots_per_metre, error * 100.0);
            }
        }
    }
}

/// Share of the characters of [`READ`] that tesseract reads wrongly.
fn reading_error(sheet: &Bitmap, name: &str) -> f64 {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("target/golden/read-{name}.png"));
    golden::write(&path, sheet);
    let output = std::process::Command::new("tesseract")
        .env("OMP_THREAD_LIMIT", "1")
        .arg(&path)
        .args(["-", "--psm", "6", "--dpi", "203"])
        .output()
        .expect("tesseract");
    let seen = String::from_utf8_lossy(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    let (wanted, seen): (Vec<char>, Vec<char>) = (READ.chars().collect(), seen.chars().collect());
    let mut row: Vec<usize> = (0..=seen.len()).collect();
    for (i, x) in wanted.iter().enumerate() {
        let mut before = std::mem::replace(&mut row[0], i + 1);
        for (j, y) in seen.iter().enumerate() {
            let next = (before + usize::from(x != y)).min(row[j] + 1).min(row[j + 1] + 1);
            before = std::mem::replace(&mut row[j + 1], next);
        }
    }
    row[seen.len()] as f64 / wanted.len() as f64
}

#[test]
fn stems_of_one_line_are_even() {
    // Spread of vertical stems inside one line, 7 pt: measured here, Noto Sans 0.61 unhinted, 0.33 fitted (CHECKS.md, "Type").
    let stems = "illumination dulled hub drinking hidden built minimum Hill Pin Tilt unkind kiln blind durum";
    for resolution in [Resolution::EIGHT, Resolution { dots_per_metre: 7087 }] {
        let faces = Faces::new(resolution);
        for size in [6.0, 7.0, 8.0, 9.0] {
            let line = faces.set_line(&[piece(stems, sans(size))], Language::English);
            let sheet = paint(&faces, &line, line.lines[0].width.0 + 1, 60);
            let x_height = faces.vertical(&sans(size)).x_height.0;
            let mut runs = Vec::new();
            for y in 60 - x_height * 2 / 3..=60 - x_height / 3 {
                let mut run = 0;
                for x in 0..=sheet.width() as i32 {
                    if sheet.get(x, y) {
                        run += 1;
                    } else if run > 0 {
                        runs.push(run);
                        run = 0;
                    }
                }
            }
            runs.sort_unstable();
            let median = runs[runs.len() / 2];
            let stems: Vec<f64> = runs.iter().filter(|&&run| run <= 2 * median).map(|&run| f64::from(run)).collect();
            let mean = stems.iter().sum::<f64>() / stems.len() as f64;
            let spread = (stems.iter().map(|run| (run - mean).powi(2)).sum::<f64>() / stems.len() as f64).sqrt();
            assert!(spread <= 0.33, "{size} pt at {} dots/m: {spread:.2} dots", resolution.dots_per_metre);
            assert!(median >= 2, "{size} pt: stems of {median} dots");
        }
    }
}
