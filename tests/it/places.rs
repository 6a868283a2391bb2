//! Where pictures stand and how large they are: in sentences, in rows, in tables, beside their text.

use stripling::layout::PlacedBox;
use stripling::prepress::Made;

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

fn texts(made: &Made, kind: &str) -> Vec<String> {
    made.layout.boxes().into_iter().filter(|boxed| boxed.kind == kind).map(|boxed| boxed.text).collect()
}

/// The one box of that kind whose text begins so.
fn boxed(made: &Made, kind: &str, begins: &str) -> PlacedBox {
    let mut found = made.layout.boxes().into_iter().filter(|boxed| boxed.kind == kind && boxed.text.starts_with(begins));
    found.next().unwrap_or_else(|| panic!("no {kind} begins with {begins:?}"))
}

/// White between the foot of one box and the top of another, in dots.
fn white(above: &PlacedBox, below: &PlacedBox) -> i32 {
    (below.y - above.y - above.height).0
}

#[test]
fn a_picture_stands_nearer_to_its_own_words_than_to_others() {
    let words = |n: usize| format!("Words {n} on what is to be done, and how one sees that it was done well.");
    let leads = made(&format!("![a](wide.png)\n\n{}\n\n![b](wide.png)\n\n{}\n", words(1), words(2)), "80mm", "plain");
    let (first, second) = (pictures(&leads)[0].clone(), pictures(&leads)[1].clone());
    let last = leads.layout.boxes().into_iter().rfind(|line| line.kind == "line" && line.y < second.y).expect("a line");
    assert!(white(&first, &boxed(&leads, "line", "Words 1")) + 8 <= white(&last, &second));
    let follows = made(&format!("{}\n\n![a](wide.png)\n\n{}\n\n![b](wide.png)\n", words(1), words(2)), "80mm", "plain");
    let (first, second) = (pictures(&follows)[0].clone(), pictures(&follows)[1].clone());
    let last = follows.layout.boxes().into_iter().rfind(|line| line.kind == "line" && line.y < second.y).expect("a line");
    assert!(white(&last, &second) + 8 <= white(&first, &boxed(&follows, "line", "Words 2")));
}

#[test]
fn words_in_italics_under_a_picture_are_its_caption() {
    let made = made("![a](wide.png)\n*Quadruped, front view*\n\nIt walks.\n\n*Not a caption.*\n", "80mm", "plain");
    let (picture, caption) = (&pictures(&made)[0], boxed(&made, "line", "Quadruped"));
    let middle = |boxed: &PlacedBox| boxed.x.0 + boxed.width.0 / 2;
    assert!((middle(picture) - middle(&caption)).abs() <= 4, "{caption:?} under {picture:?}");
    // One piece, which nothing folds.
    assert_eq!(texts(&made, "figure"), ["a\nQuadruped, front view"]);
    assert!(boxed(&made, "line", "Not a caption.").x.0 < 10);
    // A longer text is one to be read from the left.
    let long = "Remove the retaining ring from the motor shaft using small pliers and do not worry about damaging it";
    let made = self::made(&format!("![a](wide.png)\n*{long}. {long}.*\n"), "80mm", "plain");
    assert!(boxed(&made, "line", "Remove").x.0 < 10);
}

#[test]
fn what_is_raised_or_lowered_as_a_whole_is_small_print() {
    let made = made("<sup>Fits every rev.</sup>\n\nFits every rev.\n\nH<sub>2</sub>O\n", "80mm", "plain");
    let lines: Vec<PlacedBox> = made.layout.boxes().into_iter().filter(|boxed| boxed.kind == "line").collect();
    assert!(lines[0].width < lines[1].width && lines[0].height < lines[1].height, "{lines:?}");
    assert_eq!(lines[2].height, lines[1].height);
}

#[test]
fn short_values_of_a_record_stand_side_by_side_and_missing_ones_are_not_named() {
    let head = "| Part | Amount | Availability in Massachusetts | Seller | Cost in Europe | Recommendation | Environmentally |\n|---|---|---|---|---|---|---|\n";
    let made = made(
        &format!("{head}| Servo | 7 | good | Harbour | | yes | no |\n| Clamp | 2 | bad | Harbour | €8 | yes | no |\n"),
        "80mm",
        "plain",
    );
    let lines = texts(&made, "line");
    assert_eq!(lines[0], "Part: Servo");
    assert!(lines[1].starts_with("Amount: 7") && lines[1].contains("Availability in Massachusetts: good"), "{lines:?}");
    assert_eq!(lines.iter().filter(|line| line.contains("Cost in Europe")).count(), 1, "{lines:?}");
    let widest = made.layout.boxes().into_iter().filter(|boxed| boxed.kind == "line").map(|line| (line.x + line.width).0).max();
    assert!(widest <= Some(572));
    // Nothing stands in it anywhere: it is to be filled in.
    let form = self::made(&format!("{head}| Servo | 7 | good | Harbour | | yes | no |\n"), "80mm", "plain");
    assert!(texts(&form, "line").iter().any(|line| line.contains("Cost in Europe:")), "{:?}", texts(&form, "line"));
}

#[test]
fn one_empty_row_at_the_end_of_a_table_is_a_slip_and_two_are_a_form() {
    let rows = |text: &str| texts(&made(text, "80mm", "plain"), "row").len();
    assert_eq!(rows("| A | B |\n|---|---|\n| 1 | 2 |\n| | |\n"), 2);
    assert_eq!(rows("| A | B |\n|---|---|\n| 1 | 2 |\n| | |\n| | |\n"), 4);
    assert_eq!(rows("| A | B |\n|---|---|\n| | |\n"), 2);
}

/// Found in a real guide: cells that a row lacks are made up behind its end, and the next row was read as what stands in them.
#[test]
fn a_row_with_too_few_cells_does_not_take_those_of_the_next() {
    let made = made(
        "Part | Quantity | Remarks |\n| - | - | - |\n| Board ||\n| Case | 1 set | two halves |\n| Cap |||\n",
        "80mm",
        "plain",
    );
    let rows: Vec<String> = texts(&made, "row").iter().map(|row| row.trim_end().to_string()).collect();
    assert_eq!(rows, ["Part Quantity Remarks", "Board", "Case 1 set two halves", "Cap"].map(str::to_string));
    assert_eq!(made.remarks().filter(|remark| remark.rule == "extra-cell").count(), 0);
}

#[test]
fn a_title_is_set_smaller_before_a_word_of_it_is_divided() {
    let made = made("# Wicked Device / OpenEnergyMonitor Programmer\n", "80mm", "plain");
    assert!(!texts(&made, "line").iter().any(|line| line.ends_with('-')), "{:?}", texts(&made, "line"));
}
