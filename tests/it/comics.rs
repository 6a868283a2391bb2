//! Comics: balloons off each other, their tails and what is drawn; panels in rows; what a letterer writes.

use proptest::prelude::*;
use stripling::layout::PlacedBox;
use stripling::lengths::Dots;
use stripling::prepress::Made;

use crate::golden;
use crate::manuals::{self, Written};

const CUP: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100"><g fill="none" stroke="black" stroke-width="3"><path d="M30 55h40v25a10 10 0 0 1-10 10H40a10 10 0 0 1-10-10z"/><path d="M70 62h8a7 7 0 0 1 0 14h-8M0 90h100"/></g></svg>"#;
const TOWER: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 200"><circle cx="10" cy="10" r="8"/><rect x="4" y="30" width="12" height="160" fill="none" stroke="black" stroke-width="2"/></svg>"#;
const NIGHT: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100"><path d="M0 0h100v100H0z"/><circle cx="70" cy="70" r="12" fill="white"/></svg>"#;

fn made(text: &str, printer: &str) -> Made {
    let written = Written::new(text).with("cup.svg", CUP).with("tower.svg", TOWER).with("night.svg", NIGHT);
    manuals::drafted(&manuals::press_in_style(&written.manual, printer, "plain"))
}

fn boxes(made: &Made, kind: &str) -> Vec<PlacedBox> {
    made.layout.boxes().into_iter().filter(|placed| placed.kind == kind).collect()
}

fn panel(picture: &str, more: &str) -> String {
    format!("[[panel]]\npicture = \"{picture}\"\nalt = \"Shown\"\n{more}")
}

fn balloon(text: &str, kind: &str, at: [i32; 2], tail: [i32; 2]) -> String {
    format!("[[panel.balloon]]\ntext = \"{text}\"\nkind = \"{kind}\"\nat = {at:?}\ntail = {tail:?}\n")
}

fn comic(columns: u8, panels: &[String]) -> String {
    format!("```comic\ncolumns = {columns}\n{}```\n", panels.concat())
}

#[test]
fn balloons_of_every_kind_short_and_long() {
    let kinds = ["speech", "thought", "shout", "whisper"];
    let mut panels = Vec::new();
    for (n, kind) in kinds.iter().enumerate() {
        panels.push(panel("cup.svg", &balloon("Me too.", kind, [30, 20], [50, 55 + n as i32])));
        let long = "Wait until the tea is dark and the bird has counted to a hundred and twenty, then lift the bag.";
        panels.push(panel("cup.svg", &balloon(long, kind, [50, 20], [50, 55])));
    }
    let text = comic(2, &panels);
    golden::compare("layout/balloons-80", &made(&text, "80mm").strip.bitmap);
    golden::compare("layout/balloons-58", &made(&text, "58mm").strip.bitmap);
}

#[test]
fn what_a_letterer_writes() {
    let panels = [
        panel(
            "night.svg",
            "[[panel.balloon]]\ntext = \"It is **dark**\\nin here.\"\nat = [40, 20]\ntail = [65, 62]\nreverse = true\n",
        ),
        panel("cup.svg", &balloon("Press `DIP`.\\nNow!", "speech", [30, 15], [50, 55])),
        panel("cup.svg", &balloon("Hot! ![hot](sign:hot-liquid)", "shout", [50, 15], [50, 55])),
        "[[panel]]\nground = \"rays\"\n[[panel.balloon]]\ntext = \"CLICK\"\nkind = \"sound\"\nat = [30, 40]\n".to_string(),
        "[[panel]]\nground = \"dots\"\nspan = 2\n[[panel.balloon]]\ntext = \"SPLASH\"\nkind = \"sound\"\nsize = 400\nrise = -12\noutline = true\nat = [50, 50]\n".to_string(),
    ];
    golden::compare("layout/letterer", &made(&comic(2, &panels), "80mm").strip.bitmap);
}

#[test]
fn a_short_line_is_not_broken_and_stays_where_it_was_put() {
    let made = made(&comic(1, &[panel("cup.svg", &balloon("Me too.", "speech", [30, 20], [45, 55]))]), "80mm");
    let placed = &boxes(&made, "balloon")[0];
    let inside = |line: &PlacedBox| line.y >= placed.y && line.y + line.height <= placed.y + placed.height;
    assert_eq!(boxes(&made, "line").iter().filter(|line| inside(line)).count(), 1);
    let (x, y) = (placed.x.0 + placed.width.0 / 2, placed.y.0 + placed.height.0 / 2);
    let stage = &boxes(&made, "picture")[0];
    assert!(
        (x - stage.x.0 - stage.width.0 * 30 / 100).abs() < 12 && (y - stage.y.0 - stage.height.0 / 5).abs() < 12,
        "{placed:?}"
    );
}

#[test]
fn an_empty_balloon_is_left_out_and_said_where_its_text_stands() {
    let text = "\n".to_string() + &comic(1, &[panel("cup.svg", &balloon(" ", "speech", [30, 20], [45, 55]))]);
    let made = made(&text, "80mm");
    assert!(boxes(&made, "balloon").is_empty());
    let said: Vec<_> = made.remarks().filter(|remark| remark.rule == "balloon-empty").collect();
    assert_eq!(said.len(), 1);
    assert_eq!(&text[said[0].span.start as usize..said[0].span.end as usize], "\" \"");
}

#[test]
fn a_tall_picture_keeps_its_proportions() {
    let made = made(&comic(2, &[panel("tower.svg", ""), panel("cup.svg", "")]), "80mm");
    for (picture, ratio) in boxes(&made, "picture").iter().zip([10.0, 1.0]) {
        let found = f64::from(picture.height.0) / f64::from(picture.width.0);
        assert!((found / ratio - 1.0).abs() < 0.03, "{found} {picture:?}");
    }
}

#[test]
fn a_panel_alone_fills_its_row_and_height_and_fit_make_rows_low() {
    let four = ["cup.svg"; 3].map(|picture| panel(picture, ""));
    let wide = made(&comic(2, &four), "80mm");
    let panels = boxes(&wide, "panel");
    assert_eq!(panels.len(), 3);
    assert!(panels[2].width > panels[0].width * 19 / 10, "{panels:?}");
    // Two rows on a panel of 80 mm.
    let low = ["cup.svg"; 4].map(|picture| panel(picture, "height = \"35 mm\"\nfit = \"cover\"\n"));
    let text = "+++\ntitle = \"\"\nfold = \"80 mm\"\n+++\n".replace("title = \"\"\n", "") + &comic(2, &low);
    let folded = made(&text, "80mm");
    let rows: Vec<(usize, Dots)> = boxes(&folded, "panel").iter().map(|panel| (panel.panel, panel.height)).collect();
    assert_eq!(rows, [(0, Dots(280)); 4]);
}

#[test]
fn the_gutter_stands_where_both_pictures_of_a_row_are_as_high() {
    const WIDE: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 400 300"><path d="M0 0h400v300H0z"/></svg>"#;
    const HIGH: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 300 400"><path d="M0 0h300v400H0z"/></svg>"#;
    let made = |panels: &[String], printer: &str| {
        let written = Written::new(comic(2, panels)).with("wide.svg", WIDE).with("high.svg", HIGH).with("cup.svg", CUP);
        manuals::drafted(&manuals::press_in_style(&written.manual, printer, "plain"))
    };
    for printer in ["80mm", "58mm"] {
        for pair in [["wide.svg", "high.svg"], ["high.svg", "wide.svg"], ["cup.svg", "wide.svg"]] {
            let row = made(&pair.map(|picture| panel(picture, "")), printer);
            let (panels, pictures) = (boxes(&row, "panel"), boxes(&row, "picture"));
            for (panel, picture) in panels.iter().zip(&pictures) {
                assert!((panel.height - picture.height).0 <= 12, "{pair:?}: {panel:?} {picture:?}");
                assert!(panel.width - picture.width < Dots(12), "{pair:?}: {panel:?} {picture:?}");
            }
            let alone = &boxes(&made(&[panel("cup.svg", "")], printer), "panel")[0];
            assert!((panels[1].x + panels[1].width - alone.x - alone.width).0.abs() <= 1, "{panels:?} {alone:?}");
        }
        // What is to be as high as said, or cropped, stands in columns; so does what is nearly alike.
        for more in ["height = \"30 mm\"\n", "fit = \"cover\"\n"] {
            let row = boxes(&made(&["wide.svg", "high.svg"].map(|picture| panel(picture, more)), printer), "panel");
            assert_eq!(row[0].width, row[1].width);
        }
    }
    // What is drawn alike is shown alike, with a caption and without.
    let row = boxes(&made(&[panel("cup.svg", "caption = \"EVENING.\"\n"), panel("cup.svg", "")], "80mm"), "picture");
    assert_eq!(row[0].width, row[1].width);
    // Words beside each other have room.
    let speaking = balloon("Is it ready?", "speech", [50, 12], [50, 60]);
    let row = boxes(&made(&[panel("wide.svg", ""), panel("high.svg", &speaking)], "80mm"), "panel");
    assert!(row[1].width * 100 > (row[0].width + row[1].width) * 37, "{row:?}");
}

#[test]
fn a_balloon_keeps_its_place_on_the_picture_when_its_neighbour_makes_the_row_higher() {
    let long = "Wait until the tea is dark and the bird has counted to a hundred and twenty, then lift the bag out of the mug and wait again.";
    let short = || panel("cup.svg", &balloon("Yes.", "speech", [30, 20], [45, 55]));
    let alone = made(&comic(2, &[short(), short()]), "80mm");
    let beside = made(&comic(2, &[short(), panel("cup.svg", &balloon(long, "speech", [50, 20], [50, 55]))]), "80mm");
    let place = |made: &Made| {
        let (balloon, picture) = (&boxes(made, "balloon")[0], &boxes(made, "picture")[0]);
        (balloon.x - picture.x, balloon.y - picture.y)
    };
    assert!(boxes(&beside, "panel")[0].height > boxes(&alone, "panel")[0].height + Dots(40));
    assert_eq!(place(&alone), place(&beside));
}

const SAID: [&str; 6] = [
    "Me too.",
    "Where is my slipper?",
    "TEA!",
    "Wait until the tea is dark, then lift the bag.",
    "Das Wolkenkuckucksheim",
    "Die Überprüfung der Geburtstagsüberraschung beginnt gleich morgen früh.",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 16, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn balloons_hold_their_lines_and_keep_apart(
        many in prop::collection::vec((0..6usize, 0..4usize, 5..95i32, 5..60i32, 30..75i32), 1..4),
        columns in 1..3u8,
        narrow in any::<bool>(),
    ) {
        let kinds = ["speech", "thought", "shout", "whisper"];
        let balloons: String =
            many.iter().map(|&(said, kind, x, y, tail)| balloon(SAID[said], kinds[kind], [x, y], [tail, 55])).collect();
        let text = "+++\nlanguage = \"de\"\n+++\n".to_string() + &comic(columns, &[panel("cup.svg", &balloons), panel("cup.svg", "")]);
        let made = made(&text, if narrow { "58mm" } else { "80mm" });
        let (placed, lines) = (boxes(&made, "balloon"), boxes(&made, "line"));
        prop_assert_eq!(placed.len(), many.len());
        // The line of a balloon is three dots thick; its box is around that.
        let holds = |balloon: &PlacedBox, line: &PlacedBox| {
            let (left, right) = (line.x - balloon.x, balloon.x + balloon.width - line.x - line.width);
            let (above, below) = (line.y - balloon.y, balloon.y + balloon.height - line.y - line.height);
            [left, right, above, below].iter().all(|&room| room >= Dots(3))
        };
        for line in &lines {
            prop_assert_eq!(placed.iter().filter(|balloon| holds(balloon, line)).count(), 1, "{:?}", line);
        }
        for (n, one) in placed.iter().enumerate() {
            for other in &placed[n + 1..] {
                let apart = |a: Dots, wide: Dots, b: Dots, high: Dots| b - a - wide >= Dots(4) || a - b - high >= Dots(4);
                prop_assert!(
                    apart(one.x, one.width, other.x, other.width) || apart(one.y, one.height, other.y, other.height),
                    "{:?} {:?}", one, other
                );
            }
        }
        // German has points in all of these.
        prop_assert!(!made.remarks().any(|remark| remark.rule == "broken-word"));
    }
}
