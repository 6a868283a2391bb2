//! Where pictures stand and how large they are: in sentences, in rows, in tables, beside their text.

use stripling::commands::press::Made;
use stripling::layout::PlacedBox;

use crate::golden;
use crate::manuals::{self, Written};

/// A made-up photograph: rings on a slope of grey.
fn photograph(width: u32, height: u32) -> Vec<u8> {
    let picture = image::GrayImage::from_fn(width, height, |x, y| {
        let (dx, dy) = (i64::from(x) * 3 - i64::from(width), i64::from(y) * 2 - i64::from(height));
        let ring = (dx * dx + dy * dy).isqrt() * 24 / i64::from(width.min(height)) % 6;
        image::Luma([if ring < 2 { 40 } else { 120 + (x * 110 / width) as u8 }])
    });
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Png).expect("a PNG can be written");
    bytes.into_inner()
}

fn made(text: &str, printer: &str, style: &str) -> Made {
    let written = Written::new(text)
        .with("wide.png", photograph(800, 600))
        .with("tall.png", photograph(500, 1100))
        .with("small.png", photograph(100, 80))
        .with("icon.png", photograph(40, 40));
    manuals::press_in_style(&written.manual, printer, style).strip(None, 1).unwrap_or_else(|error| panic!("{error}"))
}

fn pictures(made: &Made) -> Vec<PlacedBox> {
    made.layout.boxes().into_iter().filter(|boxed| boxed.kind == "picture").collect()
}

fn longer(boxed: &PlacedBox) -> i32 {
    boxed.width.0.max(boxed.height.0)
}

const EVERYWHERE: &str = "# Heron\n\nPress ![the key](icon.png) and look at ![the beak](wide.png) while it moves.\n\n1. Put the halves together.\n   ![left](wide.png)\n   ![right](wide.png)\n   ![both](tall.png)\n   Turn them.\n2. Hang it up. [![hook](small.png)](https://example.com/hook)\n\n| Front | Back |\n|---|---|\n| ![front](wide.png) | ![back](wide.png) |\n\n| Part | What it is |\n|---|---|\n| ![body](wide.png) | The body, printed with supports |\n| Screws | 4 of M3 |\n";

#[test]
fn pictures_everywhere() {
    for printer in ["80mm", "58mm"] {
        let name = printer.trim_end_matches("mm");
        golden::compare(&format!("layout/places-{name}"), &made(EVERYWHERE, printer, "plain").strip.bitmap);
    }
    golden::compare("layout/places-compact", &made(EVERYWHERE, "80mm", "compact").strip.bitmap);
}

/// FORMAT.md, "How large a picture is".
#[test]
fn every_picture_is_legible_or_as_large_as_its_pixels_allow() {
    for printer in ["80mm", "58mm"] {
        for style in ["plain", "compact"] {
            let made = made(EVERYWHERE, printer, style);
            let boxes = pictures(&made);
            assert_eq!(boxes.len(), 9, "{printer} {style}");
            for boxed in &boxes {
                let (least, most) = match boxed.text.as_str() {
                    "the key" => (10, 40),
                    "hook" => (99, 100),
                    _ => (160, 1200),
                };
                let longer = longer(boxed);
                assert!((least..=most).contains(&longer), "{printer} {style}: {:?} is {longer} dots", boxed.text);
            }
        }
    }
}

#[test]
fn an_upright_picture_is_at_most_as_high_as_six_fifths_of_the_column() {
    let made = made("![tall](tall.png)\n", "80mm", "plain");
    let boxed = &pictures(&made)[0];
    assert_eq!(boxed.height.0, 568 * 6 / 5);
}

#[test]
fn a_picture_has_no_more_dots_than_pixels() {
    let made = made("![small](small.png)\n", "80mm", "plain");
    assert_eq!(pictures(&made)[0].width.0, 100);
}

#[test]
fn two_in_a_paragraph_stand_side_by_side() {
    let made = made("![a](wide.png) ![b](wide.png)\n", "80mm", "plain");
    let boxes = pictures(&made);
    assert_eq!(boxes[0].y, boxes[1].y);
    assert_eq!(boxes[0].height, boxes[1].height);
    assert!(boxes[0].x + boxes[0].width < boxes[1].x);
}

/// The issue: on guides with ten or more pictures `compact` takes at most 60 % of the paper of `plain`.
#[test]
fn compact_takes_at_most_three_fifths_of_the_paper() {
    let step = |n: usize| {
        format!("{n}. Put part {n} into its place, with the mark up, and press until it clicks.\n\n    ![part {n}](wide.png)\n\n")
    };
    let guide: String = "# Heron\n\n".to_string() + &(1..=12).map(step).collect::<String>();
    let (plain, compact) = (made(&guide, "80mm", "plain"), made(&guide, "80mm", "compact"));
    let (before, after) = (plain.strip.bitmap.height(), compact.strip.bitmap.height());
    assert!(after * 100 <= before * 60, "{after} of {before} rows");
    assert!(pictures(&compact).iter().all(|boxed| longer(boxed) >= 160));
    // Each beside its text: neither is under the other.
    let lines: Vec<PlacedBox> = compact.layout.boxes().into_iter().filter(|boxed| boxed.kind == "line").collect();
    let beside = pictures(&compact).into_iter().filter(|picture| {
        lines.iter().any(|line| line.y < picture.y + picture.height && picture.y < line.y + line.height && line.x > picture.x)
    });
    assert_eq!(beside.count(), 12);
}

#[test]
fn a_box_of_a_pair_leads_to_its_own_line() {
    let made = made(
        "# Heron\n\nWords that the picture shows, and more of them, so that there are a few.\n\n![a](wide.png)\n",
        "80mm",
        "compact",
    );
    let boxed = &pictures(&made)[0];
    assert_eq!(made.source.locate(boxed.span.start).line, 5);
}
