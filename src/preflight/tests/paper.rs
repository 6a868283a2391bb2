//! Type, pictures, codes, black, rolls and folds: what is measured on the strip.

use super::{Given, fire_all, silent_given, tried};
use crate::layout::{Layout, Panel, PlacedBox, Style};
use crate::lengths::Mm;
use crate::preflight::Stock;
use crate::strip::Strip;

type Edits = &'static [(&'static str, &'static str)];

/// What the layout remarks on.
const FIRES: &[(&str, Edits)] = &[
    ("missing-glyph", &[("What the eye says", "What \u{e123} says")]),
    (
        "broken-word",
        &[("What the eye says", "Xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx says")],
    ),
    ("picture-unusable", &[("What the eye says", "![Heron asleep](asleep.png)\n\nWhat the eye says")]),
    ("model-unusable", &[("What the eye says", "```figure\nmodel = \"lid.stl\"\nalt = \"Lid\"\n```\n\nWhat the eye says")]),
    ("unknown-sign", &[("![hot liquid](sign:hot-liquid) Hot tea", "![hot liquid](sign:hot-soup) Hot tea")]),
    ("unknown-signal", &[("What the eye says", "![The eye blinks](light:red-blonk-2)\n\nWhat the eye says")]),
    (
        "callout-off-picture",
        &[(
            "## Radio",
            "```figure\npicture = \"sign:pinch\"\nalt = \"Pinch\"\ncallouts = [{ at = [120, 40], label = \"Nothing\" }]\n```\n\n## Radio",
        )],
    ),
    (
        "share-for-percent",
        &[(
            "## Radio",
            "```figure\npicture = \"sign:pinch\"\nalt = \"Pinch\"\ncallouts = [{ at = [0.87, 0.60], label = \"Jaw\" }]\n```\n\n## Radio",
        )],
    ),
    (
        "balloon-off-panel",
        &[(
            "## Radio",
            "```comic\n[[panel]]\ncaption = \"MORNING.\"\n[[panel.balloon]]\ntext = \"Tea?\"\nat = [140, 20]\n```\n\n## Radio",
        )],
    ),
    ("face-unused", &[("[product]", "[faces]\nsans = \"own.ttf\"\n\n[product]")]),
    ("heading-smaller", &[("## Radio", "## WWWWWWWWWWWWWWWWWWWW\n\n## Radio")]),
    (
        "balloon-empty",
        &[(
            "## Radio",
            "```comic\n[[panel]]\ncaption = \"MORNING.\"\n[[panel.balloon]]\ntext = \" \"\nat = [40, 20]\n```\n\n## Radio",
        )],
    ),
    (
        "balloon-moved",
        &[(
            "## Radio",
            "```comic\n[[panel]]\npicture = \"sign:pinch\"\n[[panel.balloon]]\ntext = \"Ow! That was my finger, and it was the last whole one that I had.\"\nat = [50, 60]\n```\n\n## Radio",
        )],
    ),
    (
        "balloon-over-drawing",
        &[(
            "## Radio",
            "```comic\n[[panel]]\npicture = \"sign:pinch\"\n[[panel.balloon]]\ntext = \"Ow! That was my finger, the last whole one.\"\nat = [10, 10]\ntail = [50, 78]\n```\n\n## Radio",
        )],
    ),
    (
        "balloons-crowded",
        &[
            ("fold         = \"100 mm\"\n", ""),
            (
                "## Radio",
                "```comic\n[[panel]]\ncaption = \"MORNING.\"\n[[panel.balloon]]\ntext = \"Words that are wide and many, number 0\"\nat = [50, 95]\ntail = [10, 98]\n[[panel.balloon]]\ntext = \"Words that are wide and many, number 1\"\nat = [50, 95]\ntail = [33, 2]\n[[panel.balloon]]\ntext = \"Words that are wide and many, number 2\"\nat = [50, 95]\ntail = [56, 98]\n[[panel.balloon]]\ntext = \"Words that are wide and many, number 3\"\nat = [50, 95]\ntail = [79, 2]\n[[panel.balloon]]\ntext = \"Words that are wide and many, number 4\"\nat = [50, 95]\ntail = [22, 98]\n[[panel.balloon]]\ntext = \"Words that are wide and many, number 5\"\nat = [50, 95]\ntail = [45, 2]\n[[panel.balloon]]\ntext = \"Words that are wide and many, number 6\"\nat = [50, 95]\ntail = [68, 98]\n[[panel.balloon]]\ntext = \"Words that are wide and many, number 7\"\nat = [50, 95]\ntail = [11, 2]\n```\n\n## Radio",
            ),
        ],
    ),
    (
        "balloons-out-of-order",
        &[(
            "## Radio",
            "```comic\ncolumns = 1\n[[panel]]\ncaption = \"MORNING.\"\n[[panel.balloon]]\ntext = \"Tea?\"\nat = [30, 80]\n[[panel.balloon]]\ntext = \"Yes!\"\nat = [60, 10]\n```\n\n## Radio",
        )],
    ),
    (
        "code-unusable",
        &[("```qr\nhttps://example.com/heron\n```", "```barcode\nkind = \"ean13\"\ndata = \"4006381333932\"\n```")],
    ),
    ("misplaced-fold", &[("2. Hang the bag on the beak.", "2. Hang the bag on the beak.\n\n   ```fold\n   ```\n")]),
    (
        "panel-too-small",
        &[
            ("fold         = \"100 mm\"", "fold         = \"40 mm\""),
            (
                "separate collection](sign:no-bin)",
                "separate collection](sign:no-bin)\n\n```comic\ncolumns = 1\n[[panel]]\ncaption = \"MORNING.\"\n[[panel.balloon]]\ntext = \"Tea?\"\nat = [50, 20]\n[[panel.balloon]]\ntext = \"Yes, and a very long one it has to be, with milk and with sugar and with a spoon, Yes, and a very long one it has to be, with milk and with sugar and with a spoon, Yes, and a very long one it has to be, with milk and with sugar and with a spoon, Yes, and a very long one it has to be, with milk and with sugar and with a spoon, Yes, and a very long one it has to be, with milk and with sugar and with a spoon, Yes, and a very long one it has to be, with milk and with sugar and with a spoon\"\nat = [50, 80]\n```",
            ),
        ],
    ),
    ("write-in-low", &[("## Radio", "```write-in\nheight = \"7.9 mm\"\nlabel = \"Tested by\"\n```\n\n## Radio")]),
    ("stack-over-box", &[("size = [105, 85, 10]", "size = [70, 60, 40]")]),
    ("stack-over-box", &[("fold         = \"100 mm\"\n", ""), ("size = [105, 85, 10]", "size = [70, 60, 40]")]),
    (
        "code-module-small",
        &[("```qr\nhttps://example.com/heron\n```", "```barcode\nkind = \"code128\"\ndata = \"HERON/2026/0042\"\n```")],
    ),
];

/// Runs every case; the names of the rules that fired.
pub fn all() -> Vec<&'static str> {
    let mut fired = fire_all(FIRES);
    fired.extend(measured());
    fired
}

/// A picture of one grey, as PNG of eight bits a pixel.
fn grey(side: u32, level: impl Fn(u32, u32) -> u8) -> Vec<u8> {
    let picture = image::GrayImage::from_fn(side, side, |x, y| image::Luma([level(x, y)]));
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    bytes.into_inner()
}

/// A photograph in the sound manual.
const SHOWN: (&str, &str) =
    ("## Radio", "```figure\npicture = \"tail.png\"\nalt = \"The tail\"\nscreen = \"photo\"\n```\n\n## Radio");

/// Cases that need another printer, style or picture; the names of the rules that fired, and in the end that all did.
fn measured() -> Vec<&'static str> {
    let sound = Given::default().stock;
    let style = |text: &str| Given { style: Style::read(&format!("[line]\nthin = 0.25\n{text}")).unwrap(), ..Given::default() };
    let stock = |stock: Stock| Given { stock, ..Given::default() };
    let with = |name: &'static str, bytes: Vec<u8>| {
        let bytes: &'static [u8] = bytes.leak();
        Given { files: vec![(name, bytes)], stock: Stock { duty: 100, ..sound }, ..Given::default() }
    };
    let spoilt = |spoil: fn(&mut Layout, &mut Strip)| Given { spoil: Some(spoil), ..Given::default() };

    let code = ("## Radio", "```\nHERON 1.0 READY\n```\n\n## Radio");
    // 400 pixels in as many dots.
    let pixels = ("alt = \"The tail\"", "alt = \"The tail\"\nwidth = \"50 mm\"");
    let wide = ("alt = \"The tail\"", "alt = \"The tail\"\nwidth = \"60 mm\"");
    let drawing = ("## Radio", "![The tail](tail.svg)\n\n## Radio");
    let modelled = ("## Radio", "```figure\nmodel = \"lid.stl\"\nalt = \"The lid\"\n```\n\n## Radio");
    let listed =
        ("## Radio", "```figure\nmodel = \"lid.stl\"\nalt = \"The lid\"\nview = \"above\"\nparts = true\n```\n\n## Radio");
    // A small body inside a large one.
    let nested = format!("{}{}", tetrahedron("outer", 0, 90), tetrahedron("inner", 5, 5));
    let silent = ("## Radio", "![](tail.svg)\n\n## Radio");
    let crowd: Vec<String> =
        (0..40).map(|n| format!("{{ at = [{}, {}], label = \"Part {n}\" }}", 48 + n % 5, 48 + n / 5)).collect();
    let crowd =
        format!("```figure\npicture = \"sign:pinch\"\nalt = \"Pinch\"\ncallouts = [{}]\n```\n\n## Radio", crowd.join(", "));
    let crowd = ("## Radio", crowd.as_str());
    let unfolded = ("fold         = \"100 mm\"\n", "");
    let small = grey(100, |x, y| ((x * 5 + y * 7) % 256) as u8);
    let night = grey(400, |x, y| if x < 200 { 40 + ((x * 7 + y * 3) % 6) as u8 } else { 255 });
    // Light tones that no threshold keeps, and one dark corner.
    let snow = grey(400, |x, y| {
        if x < 60 && y < 60 { 60 } else { (205.0 + 45.0 * (f64::from(x) / 30.0).sin() * (f64::from(y) / 40.0).sin()) as u8 }
    });
    let large = grey(700, |x, y| ((x / 7 + y / 7) % 2 * 255) as u8);
    let threshold = ("screen = \"photo\"", "screen = \"ink\"");
    let own_dots = ("screen = \"photo\"", "screen = \"none\"");
    let outside = br#"<svg xmlns="http://www.w3.org/2000/svg" width="80" height="80"><rect x="8" y="8" width="60" height="60"/>
        <image href="feather.png" width="9" height="9"/></svg>"#;

    let blank =
        br#"<svg xmlns="http://www.w3.org/2000/svg" width="80" height="80"><rect width="60" height="60" fill="white"/></svg>"#;
    let alone = ("alt = \"The tail\"", "alt = \"The tail\"\nbackground = \"white\"");

    type Case<'a> = (&'static str, Vec<(&'a str, &'a str)>, Given<'a>, &'a str);
    let cases: Vec<Case> = vec![
        ("line-thin", vec![], Given { style: Style::read("[line]\nthin = 0.1\n").unwrap(), ..Given::default() }, "1 dot thick"),
        ("type-small", vec![code], style("[type]\ncode = 5\nminimum = 5\n"), "type of 5 pt"),
        ("reverse-type-small", vec![], style("[type]\nsignal = 7\n"), "white type of 7 pt"),
        ("black-over-duty", vec![], stock(Stock { duty: 12, ..sound }), "20 mm of paper are"),
        ("strip-over-roll", vec![], stock(Stock { roll: Some(Mm::new(200.0)), ..sound }), "a roll holds 200 mm"),
        ("picture-enlarged", vec![SHOWN, wide], with("tail.png", small), "480 %"),
        ("picture-clogged", vec![SHOWN, pixels], with("tail.png", night), "50 %"),
        ("picture-washed-out", vec![SHOWN, pixels, threshold], with("tail.png", snow), "bare paper"),
        ("own-dots-too-wide", vec![SHOWN, own_dots], with("tail.png", large), "is 700 dots wide"),
        ("picture-colours", vec![drawing], with("tail.svg", outside.to_vec()), "another file"),
        ("model-mended", vec![modelled], with("lid.stl", LEAF.as_bytes().to_vec()), "one side only"),
        ("part-hidden", vec![listed], with("lid.stl", nested.into_bytes()), "Inner"),
        ("picture-blank", vec![drawing], with("tail.svg", blank.to_vec()), "nothing of the picture"),
        (
            "background-kept",
            vec![SHOWN, alone],
            with("tail.png", grey(200, |x, y| ((x * 5 + y * 7) % 256) as u8)),
            "which is kept",
        ),
        ("missing-alt", vec![silent], with("tail.svg", PLAIN.to_vec()), "tail.svg"),
        ("callouts-crowded", vec![crowd, unfolded], Given::default(), "40 callouts"),
        ("code-quiet-zone", vec![], spoilt(beside_the_code), "quiet zone of this QR symbol"),
        ("folded-through", vec![], spoilt(through_the_code), "a fold goes through this qr"),
    ];
    let mut wrong = Vec::new();
    for (rule, edits, given, message) in &cases {
        match tried(rule, edits, given) {
            Ok(finding) if finding.message.contains(message) => {}
            Ok(finding) => wrong.push(format!("{rule}: {}", finding.message)),
            Err(told) => wrong.push(told),
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    cases.iter().map(|(rule, ..)| *rule).collect()
}

/// A solid body of four triangles, its right-angled corner at (`from`, `from`, `from`), its three edges there `side` mm long.
fn tetrahedron(name: &str, from: i32, side: i32) -> String {
    let corner = |n: usize| {
        let at = |axis: usize| from + if n == axis + 1 { side } else { 0 };
        format!("vertex {} {} {}", at(0), at(1), at(2))
    };
    let facet = |corners: [usize; 3]| {
        let corners = corners.map(corner).join("\n");
        format!("facet normal 0 0 0\nouter loop\n{corners}\nendloop\nendfacet\n")
    };
    let facets = [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]].map(facet).concat();
    format!("solid {name}\n{facets}endsolid {name}\n")
}

/// A triangle that is no solid body.
const LEAF: &str =
    "solid leaf\nfacet normal 0 0 1\nouter loop\nvertex 0 0 5\nvertex 90 0 5\nvertex 0 90 5\nendloop\nendfacet\nendsolid leaf\n";

const PLAIN: &[u8] =
    br#"<svg xmlns="http://www.w3.org/2000/svg" width="80" height="80"><rect x="8" y="8" width="60" height="60"/></svg>"#;

fn code(layout: &Layout) -> PlacedBox {
    layout.boxes().into_iter().filter(|placed| placed.kind == "qr").min_by_key(|placed| placed.width).unwrap()
}

/// A speck in the white left of the code, which is as wide as it is high and stands in the middle of its column.
fn beside_the_code(layout: &mut Layout, strip: &mut Strip) {
    let code = code(layout);
    let left = code.x + (code.width - code.height) / 2;
    strip.bitmap.set(left.0 + 10, code.y.0 + code.height.0 / 2, true);
}

/// The last fold moved into the middle of the code.
fn through_the_code(layout: &mut Layout, _: &mut Strip) {
    let code = code(layout);
    let last = layout.panels.len() - 1;
    let fold = code.y + code.height / 2;
    let before = layout.panels.iter().position(|panel| panel.top < fold && fold <= panel.bottom).unwrap();
    let bottom = std::mem::replace(&mut layout.panels[before].bottom, fold);
    if before < last {
        layout.panels[before + 1].top = fold;
    } else {
        layout.panels.push(Panel { top: fold, bottom });
    }
}

#[test]
fn a_ribbon_can_be_folded_by_hand_as_long_as_its_paper_is_no_wider_than_the_box() {
    silent_given(&[("fold         = \"100 mm\"\n", ""), ("size = [105, 85, 10]", "size = [85, 60, 40]")], &Given::default());
}

#[test]
fn a_box_to_write_in_of_eight_millimetres_is_silent() {
    silent_given(&[("## Radio", "```write-in\nheight = \"8 mm\"\nlabel = \"Tested by\"\n```\n\n## Radio")], &Given::default());
}

#[test]
fn a_good_photograph_is_silent() {
    let photograph = grey(560, |x, y| (20 + (x * 200 / 560) + (y * 30 / 560)) as u8);
    silent_given(
        &[SHOWN],
        &Given {
            files: vec![("tail.png", &photograph)],
            stock: Stock { duty: 100, ..Given::default().stock },
            ..Given::default()
        },
    );
}
