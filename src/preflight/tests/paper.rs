//! Type, pictures, codes, black, rolls and folds: what is measured on the strip.

use super::{fire_all, fires, fires_given, silent_given, Given};
use crate::layout::{Layout, Panel, PlacedBox, Style};
use crate::strip::Strip;
use crate::preflight::Stock;
use crate::units::Mm;

type Edits = &'static [(&'static str, &'static str)];

/// What the layout remarks on.
const FIRES: &[(&str, Edits)] = &[
    ("missing-glyph", &[("What the eye says", "What \u{e123} says")]),
    ("broken-word", &[("What the eye says", "Xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx says")]),
    ("picture-unusable", &[("What the eye says", "![Heron asleep](asleep.png)\n\nWhat the eye says")]),
    ("unknown-sign", &[("![hot liquid](sign:hot-liquid) Hot tea", "![hot liquid](sign:hot-soup) Hot tea")]),
    ("callout-off-picture", &[("## Radio", "```figure\npicture = \"sign:pinch\"\nalt = \"Pinch\"\ncallouts = [{ at = [120, 40], label = \"Nothing\" }]\n```\n\n## Radio")]),
    ("balloon-off-panel", &[("## Radio", "```comic\n[[panel]]\ncaption = \"MORNING.\"\n[[panel.balloon]]\ntext = \"Tea?\"\nat = [140, 20]\n```\n\n## Radio")]),
    (
        "balloons-out-of-order",
        &[(
            "## Radio",
            "```comic\ncolumns = 1\n[[panel]]\ncaption = \"MORNING.\"\n[[panel.balloon]]\ntext = \"Tea?\"\nat = [30, 80]\n[[panel.balloon]]\ntext = \"Yes!\"\nat = [60, 10]\n```\n\n## Radio",
        )],
    ),
    ("code-unusable", &[("```qr\nhttps://example.com/heron\n```", "```barcode\nkind = \"ean13\"\ndata = \"4006381333932\"\n```")]),
    ("misplaced-fold", &[("2. Hang the bag on the beak.", "2. Hang the bag on the beak.\n\n   ```fold\n   ```\n")]),
    ("panel-too-small", &[("fold         = \"100 mm\"", "fold         = \"40 mm\""), ("separate collection](sign:no-bin)", "separate collection](sign:no-bin)\n\n```comic\ncolumns = 1\n[[panel]]\ncaption = \"MORNING.\"\n[[panel.balloon]]\ntext = \"Tea?\"\nat = [50, 20]\n[[panel.balloon]]\ntext = \"Yes, and a very long one it has to be, with milk and with sugar and with a spoon\"\nat = [50, 80]\n```")]),
    ("stack-over-box", &[("size = [105, 85, 10]", "size = [70, 60, 40]")]),
    ("stack-over-box", &[("fold         = \"100 mm\"\n", "")]),
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
const SHOWN: (&str, &str) = ("## Radio", "```figure\npicture = \"tail.png\"\nalt = \"The tail\"\nscreen = \"photo\"\n```\n\n## Radio");

/// Cases that need another printer, style or picture.
fn measured() -> Vec<&'static str> {
    let style = |text: &str| Given { style: Style::read(text).unwrap(), ..Given::default() };
    let thin = "[line]\nthin = 0.25\n";
    fires_given("line-thin", &[], &style("[line]\nthin = 0.1\n"));
    fires_given("type-small", &[], &style(&format!("{thin}[type]\nbody = 5\nminimum = 5\nsmall = 6.5\n")));
    fires_given("reverse-small", &[], &style(&format!("{thin}[type]\nsignal = 7\n")));
    let stock = |stock: Stock| Given { stock, ..Given::default() };
    let sound = Given::default().stock;
    let finding = fires_given("black-over-duty", &[], &stock(Stock { duty: 12, ..sound }));
    assert!(finding.y.is_some() && finding.message.contains("20 mm of paper are"), "{finding:?}");
    fires_given("strip-over-roll", &[], &stock(Stock { roll: Some(Mm::new(200.0)), ..sound }));

    let small = grey(100, |x, y| ((x * 5 + y * 7) % 256) as u8);
    let wide = ("alt = \"The tail\"", "alt = \"The tail\"\nwidth = \"60 mm\"");
    let finding = fires_given("picture-enlarged", &[SHOWN, wide], &Given { files: vec![("tail.png", &small)], ..Given::default() });
    assert!(finding.message.contains("480 %"), "{}", finding.message);
    let night = grey(400, |x, _| if x < 200 { 26 } else { 128 });
    fires_given("picture-clogged", &[SHOWN], &Given { files: vec![("tail.png", &night)], stock: Stock { duty: 100, ..sound }, ..Given::default() });
    let snow = grey(400, |x, _| if x < 200 { 247 } else { 128 });
    fires_given("picture-washed-out", &[SHOWN], &Given { files: vec![("tail.png", &snow)], ..Given::default() });
    let drawing = br#"<svg xmlns="http://www.w3.org/2000/svg" width="80" height="80"><rect x="8" y="8" width="60" height="60"/>
        <image href="feather.png" width="9" height="9"/></svg>"#;
    let shown = ("## Radio", "![The tail](tail.svg)\n\n## Radio");
    fires_given("picture-colours", &[shown], &Given { files: vec![("tail.svg", drawing)], stock: Stock { duty: 100, ..sound }, ..Given::default() });
    fires_given("missing-alt", &[("## Radio", "![](tail.svg)\n\n## Radio")], &Given { files: vec![("tail.svg", PLAIN)], ..Given::default() });

    let crowd: Vec<String> = (0..40).map(|n| format!("{{ at = [{}, {}], label = \"Part {n}\" }}", 48 + n % 5, 48 + n / 5)).collect();
    let crowd = format!("```figure\npicture = \"sign:pinch\"\nalt = \"Pinch\"\ncallouts = [{}]\n```\n\n## Radio", crowd.join(", "));
    fires("callouts-crowded", &[("## Radio", &crowd)]);

    let finding = fires_given("code-quiet-zone", &[], &Given { spoil: Some(beside_the_code), ..Given::default() });
    assert_eq!(finding.level, crate::manual::source::Level::Error);
    let finding = fires_given("folded-through", &[], &Given { spoil: Some(through_the_code), ..Given::default() });
    assert_eq!(finding.message, "a fold goes through this qr");
    vec![
        "missing-alt", "callouts-crowded", "code-quiet-zone", "folded-through", "picture-colours", "line-thin", "type-small", "reverse-small", "black-over-duty", "strip-over-roll", "picture-enlarged", "picture-clogged", "picture-washed-out",
    ]
}

const PLAIN: &[u8] = br#"<svg xmlns="http://www.w3.org/2000/svg" width="80" height="80"><rect x="8" y="8" width="60" height="60"/></svg>"#;

fn code(layout: &Layout) -> PlacedBox {
    layout.boxes().into_iter().filter(|placed| placed.kind == "qr").min_by_key(|placed| placed.width).unwrap()
}

/// A speck one module left of the code's finder.
fn beside_the_code(layout: &mut Layout, strip: &mut Strip) {
    let code = code(layout);
    strip.bitmap.set(code.x.0 + 8, code.y.0 + code.height.0 / 2, true);
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
fn a_good_photograph_is_silent() {
    let photograph = grey(560, |x, y| (20 + (x * 200 / 560) + (y * 30 / 560)) as u8);
    silent_given(&[SHOWN], &Given { files: vec![("tail.png", &photograph)], stock: Stock { duty: 100, ..Given::default().stock }, ..Given::default() });
}
