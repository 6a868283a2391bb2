//! The strip as readers that are not ours see it: type by tesseract, codes by rqrr, rxing and zbarimg, also after dot gain.

use std::path::{Path, PathBuf};
use std::process::Command;

use rayon::prelude::*;
use rxing::common::HybridBinarizer;
use rxing::{BarcodeFormat, BinaryBitmap, DecodeHints, Luma8LuminanceSource, MultiFormatReader, Reader};
use stripling::bitmap::{Bitmap, Ink};
use stripling::layout::Mark;
use stripling::manual::document::{Kind, Symbology};
use stripling::prepress::{Made, Prepress};
use stripling::printer;
use stripling::type_setting::{Faces, FragmentInk, Type};

use crate::manuals::{self, PRINTERS, Written, demos};

fn kept(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("target/golden").join(name)
}

/// Every line of running text of body size that holds nothing but letters, as the strip shows it, and what it says.
fn body_lines(made: &Made, press: &Prepress) -> Vec<(Bitmap, String)> {
    let style = &press.style.type_;
    let narrow = made.strip.bitmap.width() == 384;
    let size = if narrow { style.body.0.percent(i32::from(style.narrow)) } else { style.body.0 };
    let body = Faces::new(press.profile.resolution).vertical(&Type { family: style.family.into(), size, ..Type::default() });
    let mut lines = Vec::new();
    for placed in
        made.layout.placed.iter().filter(|placed| !matches!(placed.galley.kind, "comic" | "title" | "heading" | "sub-heading"))
    {
        for mark in &placed.galley.chunks[placed.chunk].marks {
            let Mark::Text { x, baseline, line, white: false, .. } = mark else { continue };
            let letters = line.fragments.iter().all(|fragment| matches!(fragment.ink, FragmentInk::Glyphs { .. }));
            if !letters || (line.ascent, line.descent) != (body.ascent, body.descent) || line.text.chars().count() < 8 {
                continue;
            }
            let (left, top) = ((placed.x + *x).0, (placed.y + *baseline - line.ascent).0);
            let (wide, high) = (line.width.count() + 2, (line.ascent + line.descent).count());
            lines.push((made.strip.bitmap.part(left, top, wide, high), line.text.trim().to_string()));
        }
    }
    lines
}

/// The dots four times as large with soft edges, as ink has them.
fn enlarged(bitmap: &Bitmap) -> image::GrayImage {
    let (width, height) = (bitmap.width(), bitmap.height());
    let dots =
        image::GrayImage::from_fn(width, height, |x, y| image::Luma([if bitmap.get(x as i32, y as i32) { 0 } else { 255 }]));
    image::imageops::resize(&dots, width * 4, height * 4, image::imageops::FilterType::Triangle)
}

/// Writes a picture for a reader to look at.
fn write(picture: &image::GrayImage, path: &Path) {
    std::fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
    picture.save(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
}

/// Levenshtein's distance.
fn distance(wanted: &[char], seen: &[char]) -> usize {
    let mut row: Vec<usize> = (0..=seen.len()).collect();
    for (i, x) in wanted.iter().enumerate() {
        let mut before = std::mem::replace(&mut row[0], i + 1);
        for (j, y) in seen.iter().enumerate() {
            let next = (before + usize::from(x != y)).min(row[j] + 1).min(row[j + 1] + 1);
            before = std::mem::replace(&mut row[j + 1], next);
        }
    }
    row[seen.len()]
}

#[test]
#[ignore = "needs tesseract: tests/run"]
fn tesseract_reads_heron_at_body_size() {
    // Character error at most 1 % at 7 pt and up: measured here (CHECKS.md, "Type").
    let heron = demos().into_iter().find(|demo| demo.name == "heron").expect("Heron");
    for printer in ["80mm", "58mm"] {
        let press = manuals::press(&heron.manual, Some(printer), None);
        let lines = body_lines(&manuals::drafted(&press), &press);
        let said: Vec<&str> = lines.iter().map(|(_, said)| said.as_str()).collect();
        let wanted: Vec<char> = said.join("\n").chars().map(plain).collect();
        assert!(wanted.len() > 2_000, "{printer}: only {} characters are body text", wanted.len());
        let (mut sheet, mut y) = (Bitmap::new(900, lines.iter().map(|(line, _)| line.height() + 8).sum::<u32>() + 40), 20);
        for (line, _) in &lines {
            sheet.put(line, 20, y, Ink::Black);
            y += line.height() as i32 + 8;
        }
        let path = kept(&format!("read-heron-{printer}.png"));
        write(&enlarged(&sheet), &path);
        let output = Command::new("tesseract").arg(&path).args(["-", "--psm", "6", "--dpi", "812"]).output().expect("tesseract");
        let seen = String::from_utf8_lossy(&output.stdout);
        let seen: Vec<&str> = seen.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
        let seen: Vec<char> = seen.join("\n").chars().map(plain).collect();
        let wrong = distance(&wanted, &seen);
        let share = wrong as f64 * 100.0 / wanted.len() as f64;
        println!("{printer}: {wrong} of {} characters, {share:.2} %", wanted.len());
        assert!(
            share <= 1.0,
            "{printer}: {share:.2} % of {} characters are read wrongly:\n{}",
            wanted.len(),
            seen.iter().collect::<String>()
        );
    }
}

/// Quotation marks and dashes that a reader may take for one another.
fn plain(letter: char) -> char {
    match letter {
        '\u{2018}' | '\u{2019}' | '`' => '\'',
        '\u{201C}' | '\u{201D}' => '"',
        '\u{2010}'..='\u{2014}' => '-',
        '\u{a0}' => ' ',
        other => other,
    }
}

/// A code on the paper, with white around it, and what it must say.
struct Shown {
    what: String,
    format: BarcodeFormat,
    paper: Bitmap,
    data: String,
}

/// Every code of every demo, cut out of the paper that the printer's bytes make.
fn codes_on_paper(printer: &str) -> Vec<Shown> {
    let demos = demos();
    demos
        .par_iter()
        .flat_map(|demo| {
            let press = manuals::press(&demo.manual, Some(printer), demo.units.as_deref());
            let made = manuals::first(&press);
            let seen = printer::decode(&printer::encode(&made.strip, &press.profile), &press.profile);
            let mut wanted = Vec::new();
            made.document.walk(&mut |_, block| match &block.kind {
                Kind::Qr { data } => wanted.push((BarcodeFormat::QR_CODE, data.clone())),
                Kind::Barcode { symbology: Symbology::Code128, data } => wanted.push((BarcodeFormat::CODE_128, data.clone())),
                Kind::Barcode { symbology: Symbology::Ean13, data } => wanted.push((BarcodeFormat::EAN_13, data.clone())),
                _ => {}
            });
            let map = manuals::map(&made);
            let mut boxes: Vec<_> = map.boxes.iter().filter(|placed| matches!(placed.kind, "qr" | "barcode")).collect();
            boxes.dedup_by_key(|placed| placed.y);
            assert_eq!(boxes.len(), wanted.len(), "{}", demo.name);
            let shown = |((format, data), placed): ((BarcodeFormat, String), &&stripling::strip::map::MapBox)| {
                let mut paper = Bitmap::new(placed.width as u32 + 40, placed.height as u32 + 40);
                let part = seen.bitmap.part(placed.x, placed.y, placed.width as u32, placed.height as u32);
                paper.put(&part, 20, 20, Ink::Black);
                Shown { what: format!("{} of {} on {printer}", placed.kind, demo.name), format, paper, data }
            };
            wanted.into_iter().zip(&boxes).map(shown).collect::<Vec<_>>()
        })
        .collect()
}

/// Grey samples of the paper, 4 for each dot both ways; `gained`: black is a sample larger on every side, which makes 88 % of
/// half ink in single dots and 72 % of half ink in dots two by two, more than the 12 % of CHECKS.md.
fn samples(bitmap: &Bitmap, gained: bool) -> (Vec<u8>, u32, u32) {
    const TIMES: i64 = 4;
    let (width, height) = (bitmap.width() * TIMES as u32, bitmap.height() * TIMES as u32);
    let reach = i64::from(gained);
    let black = |x: i64, y: i64| bitmap.get(x.div_euclid(TIMES) as i32, y.div_euclid(TIMES) as i32);
    let grown = |x: i64, y: i64| [-reach, reach].iter().any(|dy| [-reach, reach].iter().any(|dx| black(x + dx, y + dy)));
    let all = (0..i64::from(height)).flat_map(|y| (0..i64::from(width)).map(move |x| (x, y)));
    (all.map(|(x, y)| if grown(x, y) { 0 } else { 255 }).collect(), width, height)
}

fn read_by_library(shown: &Shown, gained: bool) -> Option<String> {
    let (luma, width, height) = samples(&shown.paper, gained);
    if shown.format == BarcodeFormat::QR_CODE {
        let at = |x: usize, y: usize| luma[y * width as usize + x];
        let mut picture = rqrr::PreparedImage::prepare_from_greyscale(width as usize, height as usize, at);
        return picture.detect_grids().first()?.decode().ok().map(|(_, said)| said);
    }
    let source = Luma8LuminanceSource::new(luma, width, height).ok()?;
    let hints = DecodeHints { TryHarder: Some(true), PossibleFormats: Some([shown.format].into()), ..DecodeHints::default() };
    let mut picture = BinaryBitmap::new(HybridBinarizer::new(source));
    MultiFormatReader::default().decode_with_hints(&mut picture, &hints).ok().map(|read| read.getText().to_string())
}

#[test]
fn every_code_of_the_demos_is_read_back_from_the_paper_also_after_dot_gain() {
    let mut kinds = [0; 3];
    for (printer, _) in PRINTERS {
        let shown = codes_on_paper(printer);
        for (n, format) in [BarcodeFormat::QR_CODE, BarcodeFormat::CODE_128, BarcodeFormat::EAN_13].iter().enumerate() {
            kinds[n] += shown.iter().filter(|shown| shown.format == *format).count();
        }
        shown.par_iter().for_each(|shown| {
            for gained in [false, true] {
                assert_eq!(
                    read_by_library(shown, gained).as_deref(),
                    Some(shown.data.as_str()),
                    "{}, gained {gained}",
                    shown.what
                );
            }
        });
    }
    assert!(kinds.iter().all(|&count| count >= 5), "QR, Code 128 and EAN-13 on every printer: {kinds:?}");
}

/// Five links and a footnote in one section, one link in the next.
const LINKED: &str = "+++\ntitle = \"Reed\"\nstyle = \"own.toml\"\n+++\n\n## Parts\n\n[One](https://example.com/one), [two](https://example.com/two),\n\
    a note[^n], [three](https://example.com/three), [four](https://example.com/four?size=M3&kind=hex), [one](https://example.com/one).\n\n\
    [^n]: Measured dry.\n\n## More\n\n[Last](https://example.com/last)\n";

#[test]
fn many_addresses_of_a_section_go_into_one_code_where_the_style_says_so() {
    for (printer, _) in PRINTERS {
        let written = Written::new(LINKED).with("own.toml", "links = \"codes\"\n");
        let made = manuals::drafted(&manuals::press(&written.manual, Some(printer), None));
        let boxes = made.layout.boxes();
        let codes: Vec<_> = boxes.iter().filter(|placed| placed.kind == "qr").collect();
        assert_eq!(codes.len(), 1, "a section with few addresses has notes");
        let data = "1 https://example.com/one\n2 https://example.com/two\n4 https://example.com/three\n5 https://example.com/four?size=M3&kind=hex";
        let code = codes[0];
        let mut paper = Bitmap::new(code.width.0 as u32 + 40, code.height.0 as u32 + 40);
        paper.put(&made.strip.bitmap.part(code.x.0, code.y.0, code.width.0 as u32, code.height.0 as u32), 20, 20, Ink::Black);
        let shown = Shown { what: "links".into(), format: BarcodeFormat::QR_CODE, paper, data: data.into() };
        for gained in [false, true] {
            assert_eq!(read_by_library(&shown, gained).as_deref(), Some(data), "{printer}, gained {gained}");
        }
        let said = |text: &str| boxes.iter().any(|placed| placed.text == text);
        assert!(said("1\u{2013}2, 4\u{2013}5"), "the reader sees which notes it holds");
        assert!(boxes.iter().any(|placed| placed.text.contains("Measured dry.")));
        assert!(boxes.iter().any(|placed| placed.text.contains("https://example.com/last")));
    }
}

#[test]
fn no_address_is_printed_where_the_style_says_so() {
    let written = Written::new(LINKED).with("own.toml", "links = \"none\"\n");
    let made = manuals::drafted(&manuals::press(&written.manual, Some("80mm"), None));
    let boxes = made.layout.boxes();
    assert!(!boxes.iter().any(|placed| placed.text.contains("example.com")));
    let calls: Vec<&str> = boxes.iter().filter(|placed| placed.kind == "note-call").map(|placed| placed.text.as_str()).collect();
    assert_eq!(calls, ["1"], "the footnote is the first note now");
    assert!(boxes.iter().any(|placed| placed.kind == "notes" && placed.text.contains("1 Measured dry.")));
}

#[test]
#[ignore = "needs zbarimg: tests/run"]
fn zbarimg_reads_every_code_of_the_demos() {
    for (printer, _) in PRINTERS {
        codes_on_paper(printer).par_iter().enumerate().for_each(|(n, shown)| {
            for gained in [false, true] {
                let (luma, width, height) = samples(&shown.paper, gained);
                let path = kept(&format!("code-{printer}-{n}-{gained}.png"));
                write(&image::GrayImage::from_raw(width, height, luma).expect("a picture"), &path);
                let seen = Command::new("zbarimg").args(["--quiet", "--raw"]).arg(&path).output().expect("zbarimg");
                assert_eq!(String::from_utf8_lossy(&seen.stdout).trim(), shown.data, "{}, gained {gained}", shown.what);
            }
        });
    }
}
