//! Figures: the numbers of callouts, pictures whose dots are kept, drawings without a size.

use stripling::layout::PlacedBox;
use stripling::lengths::Dots;
use stripling::prepress::Made;

use crate::manuals::{self, Written};

const PLATE: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 120 80"><rect x="2" y="2" width="116" height="76" fill="none" stroke="black" stroke-width="2"/></svg>"#;

fn made(text: &str, printer: &str, files: &[(&str, Vec<u8>)]) -> Made {
    let mut written = Written::new(text).with("plate.svg", PLATE);
    for (name, bytes) in files {
        written = written.with(name, bytes);
    }
    manuals::drafted(&manuals::press_in_style(&written.manual, printer, "plain"))
}

fn boxes(made: &Made, kind: &str) -> Vec<PlacedBox> {
    made.layout.boxes().into_iter().filter(|placed| placed.kind == kind).collect()
}

fn plate(callouts: &[(i32, i32)], more: &str) -> String {
    let callouts: Vec<String> =
        callouts.iter().enumerate().map(|(n, (x, y))| format!("  {{ at = [{x}, {y}], label = \"Part {n}\" }},\n")).collect();
    format!("```figure\npicture = \"plate.svg\"\nalt = \"A plate\"\n{more}callouts = [\n{}]\n```\n", callouts.concat())
}

/// The line of the manual that each number names, in the order of the numbers.
fn numbered(made: &Made) -> Vec<u32> {
    let mut found: Vec<(u32, u32)> =
        boxes(made, "callout").iter().map(|placed| (placed.text.parse().expect("a number"), placed.span.start)).collect();
    found.sort_unstable();
    assert!(found.iter().enumerate().all(|(n, (number, _))| *number == n as u32 + 1), "{found:?}");
    found.into_iter().map(|(_, at)| at).collect()
}

#[test]
fn callouts_on_a_line_are_numbered_along_it_and_alike_on_every_paper() {
    let row = [(10, 50), (23, 52), (36, 50), (49, 48), (62, 50), (75, 51), (88, 50)];
    let text = plate(&row, "");
    let wide = numbered(&made(&text, "80mm", &[]));
    assert!(wide.is_sorted(), "from left to right, as written: {wide:?}");
    for printer in ["58mm", "80mm-180", "112mm"] {
        assert_eq!(numbered(&made(&text, printer, &[])), wide, "{printer}");
    }
    assert_eq!(numbered(&made(&plate(&row, "width = \"40 mm\"\n"), "80mm", &[])).len(), 7);
}

#[test]
fn callouts_run_clockwise_or_as_they_are_written() {
    let corners = [(90, 90), (10, 10), (90, 10), (10, 90)];
    let order = |more: &str| {
        let at = numbered(&made(&plate(&corners, more), "80mm", &[]));
        let mut sorted = at.clone();
        sorted.sort_unstable();
        at.iter().map(|start| sorted.iter().position(|other| other == start).unwrap()).collect::<Vec<_>>()
    };
    assert_eq!(order(""), [1, 2, 0, 3]);
    assert_eq!(order("numbers = \"written\"\n"), [0, 1, 2, 3]);
}

#[test]
fn a_callout_beside_the_picture_is_reported_once() {
    let made = made(&plate(&[(50, 50), (120, 40)], ""), "80mm", &[]);
    assert_eq!(made.remarks().filter(|remark| remark.rule == "callout-off-picture").count(), 1);
}

fn board(width: u32, height: u32) -> Vec<u8> {
    let picture = image::GrayImage::from_fn(width, height, |x, y| image::Luma([if (x + y) % 2 == 0 { 0 } else { 255 }]));
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Png).expect("a PNG");
    bytes.into_inner()
}

#[test]
fn own_dots_are_kept_enlarged_by_whole_dots_and_never_cut_off() {
    let figure =
        |name: &str, more: &str| format!("```figure\npicture = \"{name}\"\nalt = \"A board\"\nscreen = \"none\"\n{more}```\n");
    let files = [("small.png", board(100, 40)), ("large.png", board(900, 90))];
    let shown = |text: &str| {
        let made = made(text, "80mm", &files);
        let size = boxes(&made, "picture").iter().map(|placed| (placed.width, placed.height)).collect::<Vec<_>>();
        (size[0], made.remarks().filter(|remark| remark.rule == "own-dots-too-wide").count())
    };
    assert_eq!(shown(&figure("small.png", "")), ((Dots(100), Dots(40)), 0));
    // 30 mm are 240 dots: twice is 200.
    assert_eq!(shown(&figure("small.png", "width = \"30 mm\"\n")), ((Dots(200), Dots(80)), 0));
    let ((width, height), said) = shown(&figure("large.png", ""));
    assert!(width.0 <= 576 && (height.0 - width.0 / 10).abs() <= 1, "{width:?} {height:?}");
    assert_eq!(said, 1);
}

#[test]
fn a_drawing_without_a_size_is_shown_with_the_whole_of_its_strokes() {
    let frame = r#"<svg xmlns="http://www.w3.org/2000/svg"><rect x="20" y="20" width="60" height="60" fill="none" stroke="black" stroke-width="20"/></svg>"#;
    let made = made("![A frame](frame.svg)\n", "58mm", &[("frame.svg", frame.as_bytes().to_vec())]);
    let picture = &boxes(&made, "picture")[0];
    assert_eq!(picture.width, picture.height);
    // Painted is 10 … 90: each stroke takes a quarter of what is shown, on all four sides.
    let (x, y, side) = (picture.x.0, picture.y.0, picture.width.0);
    let black = |across: i32, down: i32| made.strip.bitmap.get(x + side * across / 100, y + side * down / 100);
    for (across, down) in [(2, 50), (23, 50), (98, 50), (77, 50), (50, 2), (50, 23), (50, 98), (50, 77)] {
        assert!(black(across, down), "at {across} %, {down} %");
    }
    assert!(!black(50, 50) && !black(27, 50) && !black(73, 50) && !black(50, 27) && !black(50, 73));
}
