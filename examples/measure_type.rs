//! Measures how faces and ways of cutting them read in one bit: character error by tesseract, and how even the stems are.
//!
//!     cargo run --release --example measure_type -- [LOOK …] [FACE=FILE.ttf …]
//!
//! Without arguments it measures every shipped face as the program cuts it. A look (`s`, `sb`, `si`, `sbi`, `m`, `mb`, `l`) is
//! measured cut in every way, and so is another face in the place of the plain sans. Needs tesseract. Prints a table in Markdown; the pictures that were read
//! stand in target/type.

use std::path::Path;
use std::process::Command;

use stripling::bitmap::{Bitmap, Ink};
use stripling::language::Language;
use stripling::lengths::{Dots, Pt, Resolution};
use stripling::manual::source::Span;
use stripling::type_setting::{Content, Faces, Family, Fitting, FragmentInk, Measure, Paragraph, Piece, Rasterising, Type};

/// Invented for the measuring; every letter, figures, and the pairs that are easily taken for one another.
const TEXT: &str = "Lift the beak until it clicks, then hang the bag on the little hook below it. Turn the dial to the kind of tea \
you like: 1 is green, 2 is white, 3 is black, 4 is herbal. Press Start for 2 seconds. Heron dips the bag 12 to 48 times, waits, \
and lifts it out when the time is up. Do not reach under the beak while it moves; hot water may drip for 30 more seconds. \
Before you fill the cup, check that the foot stands level and dry. Charge the battery with the cable supplied (5 V, 2 A) until the \
ring turns from amber to green, about 90 minutes. A full charge lasts for 150 cups. Just wipe the quill with a soft, damp cloth; \
never put it in the dishwasher. If the ring blinks 5 times, the hook is jammed: switch off, free the hook, and try again. Return \
used batteries to a collection point. Keep this sheet. The warranty covers 24 months from the day of purchase, except for wear \
of the felt pad. Extra hooks, pads and cables can be bought by post from Reedbed Works, Mill Lane 7, or from your dealer.";

/// Letters whose stems are straight.
const STEMS: &str = "illumination dulled hub drinking hidden built minimum Hill Pin Tilt unkind kiln blind durum";

/// A look by its letters: s(ans), m(ono), l(ettering), b(old), i(talic).
fn look(letters: &str, size: f64) -> Type {
    let family = match letters.chars().find(|letter| matches!(letter, 'm' | 'l')) {
        Some('m') => Family::Mono,
        Some(_) => Family::Lettering,
        None => Family::Sans,
    };
    Type { family, bold: letters.contains('b'), italic: letters.contains('i'), size: Pt::new(size) }
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let compared: Vec<(&str, &str)> = arguments.iter().filter_map(|argument| argument.split_once('=')).collect();
    let looks: Vec<&str> = arguments.iter().filter(|argument| !argument.contains('=')).map(String::as_str).collect();
    let looks = if looks.is_empty() && compared.is_empty() { vec!["s", "sb", "si", "sbi", "m", "mb", "l"] } else { looks };
    println!("| face | dots/mm | cutting | size | error % | stem mean | stem spread | characters a line of 72 mm |");
    println!("|---|---|---|---|---|---|---|---|");
    for letters in looks {
        for cutting in
            std::iter::once(None).chain(if arguments.is_empty() { None } else { Some(WAYS) }.into_iter().flatten().map(Some))
        {
            measure(&format!("shipped {letters}"), letters, None, cutting);
        }
    }
    for (name, file) in compared {
        let bytes = std::fs::read(file).expect("a font file");
        for cutting in WAYS {
            measure(name, "s", Some(&bytes), Some(cutting));
        }
    }
}

type Way = (&'static str, Fitting, u16);

const WAYS: [Way; 9] = [
    ("as designed, 128", Fitting::None, 128),
    ("as designed, 112", Fitting::None, 112),
    ("as designed, 96", Fitting::None, 96),
    ("heights, 128", Fitting::Heights, 128),
    ("heights, 112", Fitting::Heights, 112),
    ("heights, 96", Fitting::Heights, 96),
    ("full, 128", Fitting::Full, 128),
    ("full, 96", Fitting::Full, 96),
    ("own, 128", Fitting::Own, 128),
];

/// Prints the rows of one face cut in one way, `None` as the program cuts it.
fn measure(name: &str, letters: &str, bytes: Option<&Vec<u8>>, cutting: Option<Way>) {
    for (resolution, shown) in [(Resolution::EIGHT, "8"), (Resolution { dots_per_metre: 7087 }, "7.09")] {
        let mut set = Faces::new(resolution);
        if let Some((_, fitting, threshold)) = cutting {
            set = set.cut_as(Rasterising { fitting, threshold, thicken: 0, slant: 0 });
        }
        if let Some(bytes) = bytes {
            set = set.instead(Family::Sans, false, false, bytes.clone()).expect("a font that can be used");
        }
        let way = cutting.map_or("as chosen", |(way, ..)| way);
        for size in [6.0, 7.0, 8.0, 9.0] {
            let look = look(letters, size);
            let file = format!("{name}-{shown}-{way}-{size}").replace([' ', ','], "");
            let (error, per_line) = error(&set, look, resolution, &file);
            let (mean, spread) = stems(&set, look);
            println!("| {name} | {shown} | {way} | {size} | {error:.2} | {mean:.2} | {spread:.2} | {per_line} |");
        }
    }
}

fn set(faces: &Faces, text: &str, look: Type, width: i32) -> Paragraph {
    let pieces =
        [Piece { content: Content::Text { text, look, strike: false, rise: Dots(0), verbatim: false }, span: Span::default() }];
    let measure = Measure {
        width: Dots(width),
        balanced: false,
        tabular: false,
        justified: false,
        hyphenate: false,
        language: Language::English,
    };
    faces.set_paragraph(&pieces, &measure)
}

fn paint(faces: &Faces, paragraph: &Paragraph, width: i32, pitch: i32) -> Bitmap {
    let mut sheet = Bitmap::new(width as u32 + 64, (pitch * (paragraph.lines.len() as i32 + 2)) as u32);
    for (number, line) in paragraph.lines.iter().enumerate() {
        for fragment in &line.fragments {
            let FragmentInk::Glyphs { glyphs, .. } = &fragment.ink else {
                continue;
            };
            for glyph in glyphs {
                let dots = faces.dots(glyph.key);
                let (x, y) = (32 + fragment.x.0 + glyph.x + dots.left, pitch * (number as i32 + 2) + glyph.y + dots.top);
                sheet.put(&dots.bitmap, x, y, Ink::Black);
            }
        }
    }
    sheet
}

/// Share of characters that tesseract reads wrongly, in per cent, and how many characters a full line holds.
fn error(faces: &Faces, look: Type, resolution: Resolution, name: &str) -> (f64, usize) {
    let width = resolution.dots(stripling::lengths::Mm::new(72.0)).0;
    let paragraph = set(faces, TEXT, look, width);
    let pitch = resolution.type_dots(look.size.percent(130)).0;
    let sheet = paint(faces, &paragraph, width, pitch);
    let file = Path::new("target/type").join(format!("{name}.png"));
    std::fs::create_dir_all("target/type").expect("target/type");
    write(&file, &sheet, resolution);
    // One thread: several only wait for each other on a busy machine.
    let output = Command::new("tesseract")
        .env("OMP_THREAD_LIMIT", "1")
        .arg(&file)
        .args(["-", "--psm", "6", "-l", "eng"])
        .output()
        .expect("tesseract");
    let read: Vec<String> =
        String::from_utf8_lossy(&output.stdout).lines().map(str::to_string).filter(|line| !line.trim().is_empty()).collect();
    let wanted: Vec<char> = TEXT.chars().collect();
    let read: Vec<char> = read.join(" ").chars().map(|c| if matches!(c, '\u{2018}' | '\u{2019}') { '\'' } else { c }).collect();
    let lines = paragraph.lines.len().saturating_sub(1).max(1);
    let full: usize = paragraph.lines.iter().take(lines).map(|line| line.text.chars().count()).sum();
    (distance(&wanted, &read) as f64 * 100.0 / wanted.len() as f64, full / lines)
}

fn write(path: &Path, bitmap: &Bitmap, resolution: Resolution) {
    let file = std::fs::File::create(path).expect("a picture can be written");
    let mut encoder = png::Encoder::new(file, bitmap.width(), bitmap.height());
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::One);
    let (dots, unit) = (resolution.dots_per_metre, png::Unit::Meter);
    encoder.set_pixel_dims(Some(png::PixelDimensions { xppu: dots, yppu: dots, unit }));
    let data: Vec<u8> = bitmap.data().iter().map(|byte| !byte).collect();
    encoder.write_header().and_then(|mut writer| writer.write_image_data(&data)).expect("a picture can be written");
}

/// Levenshtein's distance.
fn distance(a: &[char], b: &[char]) -> usize {
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut before = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let next = (before + usize::from(x != y)).min(row[j] + 1).min(row[j + 1] + 1);
            before = row[j + 1];
            row[j + 1] = next;
        }
    }
    row[b.len()]
}

/// Mean width of upright stems and its standard deviation, in dots: runs of black in the rows between a third and two thirds
/// of the x-height, without those longer than twice the median (bars and bowls).
fn stems(faces: &Faces, look: Type) -> (f64, f64) {
    let x_height = faces.vertical(&look).x_height.0;
    let paragraph = set(faces, STEMS, look, 4000);
    let sheet = paint(faces, &paragraph, 4000, 200);
    let mut runs = Vec::new();
    for y in 400 - x_height * 2 / 3..=400 - x_height / 3 {
        let mut run = 0;
        for x in 0..sheet.width() as i32 {
            if sheet.get(x, y) {
                run += 1;
            } else if run > 0 {
                runs.push(run);
                run = 0;
            }
        }
    }
    runs.sort_unstable();
    let median = runs.get(runs.len() / 2).copied().unwrap_or(1);
    let kept: Vec<f64> = runs.into_iter().filter(|&run| run <= 2 * median).map(f64::from).collect();
    let mean = kept.iter().sum::<f64>() / kept.len() as f64;
    let spread = (kept.iter().map(|run| (run - mean) * (run - mean)).sum::<f64>() / kept.len() as f64).sqrt();
    (mean, spread)
}
