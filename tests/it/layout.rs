//! The strip as it looks: a small manual for every row of FORMAT.md's table and every fenced block, looked at and kept as PNG; and
//! what holds for every manual, tried on random ones.

use proptest::prelude::*;
use stripling::bitmap::Bitmap;
use stripling::layout::PlacedBox;
use stripling::lengths::{Dots, Mm};
use stripling::prepress::{Made, Prepress};

use crate::golden;
use crate::manuals::{self, Written};

/// A lamp in outlines, wider than high.
const LAMP: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 120 70"><g fill="none" stroke="black" stroke-width="2"><path d="M40 8h40l14 28H26z"/><path d="M60 36v22M40 62h40a8 6 0 0 0-40 0z"/><circle cx="60" cy="41" r="5"/></g></svg>"#;

/// A switch, small enough to stand in a line.
const SWITCH: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 12"><rect x="1" y="1" width="18" height="10" rx="5" fill="none" stroke="black" stroke-width="2"/><circle cx="14" cy="6" r="3"/></svg>"#;

fn made(text: &str, printer: &str, style: &str) -> Made {
    let written = Written::new(text).with("lamp.svg", LAMP).with("switch.svg", SWITCH);
    let press = manuals::press_in_style(&written.manual, printer, style);
    press.strip(None, 1).unwrap_or_else(|error| panic!("{error}"))
}

#[track_caller]
fn look(name: &str, printer: &str, text: &str) {
    golden::compare(&format!("layout/{name}"), &made(text, printer, "plain").strip.bitmap);
}

#[track_caller]
fn look_on_both(name: &str, text: &str) {
    let [wide, narrow] = ["80mm", "58mm"].map(|printer| made(text, printer, "plain").strip.bitmap);
    golden::compare_all([(format!("layout/{name}-80").as_str(), &wide), (format!("layout/{name}-58").as_str(), &narrow)]);
}

#[test]
fn title_block() {
    let text = "+++\ntitle = \"Glow\"\nsubtitle = \"A lamp for one table\"\n+++\n# Glow\n\n![A lamp](lamp.svg)\n\nGlow lights one table.\n";
    look_on_both("title", text);
    golden::compare("layout/title-comic", &made(text, "80mm", "comic").strip.bitmap);
}

#[test]
fn headings() {
    let text = "## Before you begin\n\nText under a section.\n\n### Unpack the lamp and look for damage on all sides\n\nText under a sub-section.\n\n## Light\n\n### Bright\n\nMore text.\n";
    look_on_both("headings", text);
    golden::compare("layout/headings-comic", &made(text, "80mm", "comic").strip.bitmap);
}

#[test]
fn comic() {
    let panel = |of: &str, balloons: &str| format!("[[panel]]\n{of}\nalt = \"A lamp\"\n{balloons}\n");
    let balloon = |text: &str, kind: &str, at: &str, tail: &str| {
        format!("[[panel.balloon]]\ntext = \"{text}\"\nkind = \"{kind}\"\nat = {at}\n{tail}\n")
    };
    let lamp = "picture = \"lamp.svg\"";
    let text = [
        "```comic\ncolumns = 2\n".to_string(),
        panel(&format!("caption = \"EVENING.\"\n{lamp}"), &balloon("Is anybody there?", "speech", "[20, 30]", "tail = [48, 60]")),
        panel(lamp, &balloon("Dark\u{2026}", "thought", "[80, 40]", "tail = [55, 62]")),
        panel("ground = \"rays\"\nspan = 2", &balloon("LIGHT!", "shout", "[50, 40]", "tail = [50, 95]")),
        panel(lamp, &balloon("Not so loud.", "whisper", "[50, 80]", "tail = [52, 60]")),
        panel(lamp, &balloon("CLICK", "sound", "[80, 20]", "")),
        "```\n".to_string(),
    ];
    look_on_both("comic", &text.concat());
}

/// Accents, descenders and another writing in the signal word: nothing touches the lines at its edge.
#[test]
fn signal_words_that_reach_high_and_low() {
    for (language, words) in [("pl", ["OSTRZEŻENIE", "NOTYFIKACJA"]), ("ar", ["تحذير", "إشعار"])] {
        let header = format!("+++\ntitle = \"A\"\nlanguage = \"{language}\"\n+++\n");
        let messages = words.map(|word| format!("> **{word}** **Lampa.** Nie dotykaj.\n\n"));
        look(&format!("signal-words-{language}"), "80mm", &(header + &messages.concat()));
    }
}

#[test]
fn paragraphs() {
    look_on_both(
        "paragraphs",
        "Put the lamp on a table that stands firm. *Slanted*, **heavy**, ***both*** and ~~struck~~ words stand in one line.\n\nA second paragraph is long enough to be broken over a few lines and now and then to be hyphenated, characteristically.\\\nAfter a break a new line begins.\n",
    );
}

#[test]
fn procedure() {
    look_on_both(
        "procedure",
        "1. Put the lamp on a table.\n2. Push the plug into the socket. It goes in one way only, so do not use force.\n\n   ![The lamp](lamp.svg)\n\n3. Press `ON`.\n   1. Wait for one second.\n   2. Let go.\n\n   The lamp is lit.\n\n10. Enjoy.\n",
    );
}

#[test]
fn bullets_and_boxes_to_tick() {
    look_on_both(
        "bullets",
        "- A lamp\n- A cable of two metres, with a plug for your country at its end\n  - red\n  - blue\n\nIn the box:\n\n- [ ] 1 lamp\n- [x] 1 cable that is already in the lamp when it leaves our workshop\n- [ ] This guide\n",
    );
}

#[test]
fn safety_messages() {
    look_on_both(
        "safety",
        "> **DANGER** ![electricity](sign:electricity) **Mains voltage kills.** Pull the plug before you open the lamp.\n\n> **WARNING** **A falling lamp injures.** Put it on a firm table, where no child can pull at its cable. Keep it there for as long as it is lit, and for ten minutes more.\n\n> **CAUTION** ![hot surface](sign:hot-surface) Hot.\n\n> **NOTICE** Water ruins the lamp. Wipe it dry.\n",
    );
}

#[test]
fn aside() {
    look_on_both("aside", "Text before.\n\n> The first lamp was made in a shed.\n>\n> - It leaked.\n\nText after.\n");
}

#[test]
fn figures() {
    look_on_both(
        "figure",
        "![A lamp](lamp.svg \"The lamp, seen from the front\")\n\nText with ![switch](switch.svg) a switch in it.\n\n![read manual](sign:read-manual)\n\n```figure\npicture = \"lamp.svg\"\nalt = \"Part of a lamp\"\nwidth = \"20 mm\"\ncrop = [25, 0, 50, 60]\n```\n",
    );
}

#[test]
fn callouts() {
    look_on_both(
        "callouts",
        "```figure\npicture = \"lamp.svg\"\nalt = \"A lamp\"\ncaption = \"Know your lamp\"\ncallouts = [\n  { at = [50, 30], label = \"Shade\" },\n  { at = [50, 58], label = \"Bulb\" },\n  { at = [50, 75], label = \"Stem\" },\n  { at = [60, 88], label = \"Foot\" },\n]\n```\n",
    );
}

#[test]
fn keycaps() {
    look_on_both(
        "keycaps",
        "Press `ON`, then <kbd>Shift</kbd> + <kbd>A</kbd>. The display shows `12:00`.\n\nA long one: `MENU > LIGHT > COLOUR TEMPERATURE > WARM` is set smaller, and one that fits no line, `light --colour-temperature=warm --level=forty --fade=slowly`, is no key but code.\n\nHold `STANDBYTASTE` for 3 seconds, then `MODUS WECHSELN 3 S`.\n",
    );
}

/// What careful readers tripped over: a number and its unit, two notes side by side, short columns, numbers under each other, a note
/// with nothing in it, headings of two lines with accents, a term beside a table.
#[test]
fn small_things() {
    look_on_both(
        "small-things",
        "+++\nlanguage = \"de\"\n+++\n## Vergnügliche Geräte möglichst gründlich Überprüfen Äußerst\n\nDie Taste wird für etwa 3 Sekunden gehalten, der Fuß um 10 mm gehoben.[^a] Siehe [Seite](https://example.com/a)[^b] und mehr.\n\n[^a]: Gemessen.\n[^b]:\n\n| Nr. | Wert | Preis |\n|---|--:|--:|\n| A | 1.11 | 9 |\n| B | 77.40 | 110 |\n| C | 4.07 | 71 |\n\n| | Wert |\n|---|---|\n| Teilenummer | 12345678901234567890 |\n\n1. Erst\n   1. eins\n   2. zwei\n   10. zehn\n\nTon\n: | Mal | Heißt |\n  |---|---|\n  | 1 | an |\n",
    );
}

/// Every choice of shape that a style has and that is not the usual one.
#[test]
fn other_shapes() {
    let written = Written::new(
        "+++\nfold = \"110 mm\"\nsubtitle = \"Each shape another\"\n[product]\nmaker = \"Reedbed Works\"\n+++\n# Shapes\n\n![A lamp](lamp.svg)\n\n### A sub-section\n\n- One\n- Two\n\n> A word aside, long enough for a second line of words in the frame.\n\n***\n\n![A lamp](lamp.svg \"Above the lamp\")\n\n![hot](sign:hot-surface) ![pinch](sign:pinch) ![hot](sign:hot-liquid)\n\n107. Step\n108. Step\n\n```barcode\nkind = \"ean13\"\ndata = \"2012345678903\"\n```\n",
    )
    .with("lamp.svg", LAMP);
    let mut press = manuals::press_in_style(&written.manual, "80mm", "plain");
    press.style = stripling::layout::Style::read(
        "[title]\nalign = \"centre\"\n[subsection]\nlook = \"rule\"\n[list]\nbullet = \"dash\"\n[aside]\nlook = \"frame\"\n[rule]\nlook = \"ornament\"\n[figure]\ncaption = \"above\"\nalign = \"left\"\n[step]\nbadge = \"burst\"\n[fold]\nnumber = true\n",
    )
    .expect("a style");
    golden::compare("layout/shapes", &manuals::drafted(&press).strip.bitmap);
    press.style = stripling::layout::Style::read(
        "[cover]\nfill = true\n[aside]\nlook = \"band\"\n[rule]\nlook = \"dots\"\n[subsection]\nlook = \"reverse\"\n",
    )
    .expect("a style");
    golden::compare("layout/shapes-other", &manuals::drafted(&press).strip.bitmap);
}

/// Widths of all text marks of the first chunk, in dots.
fn first_widths(text: &str, style: &str) -> Vec<i32> {
    let written = Written::new(text);
    let mut press = manuals::press_in_style(&written.manual, "80mm", "plain");
    press.style = stripling::layout::Style::read(style).expect("a style");
    let made = press.strip(None, 1).unwrap_or_else(|error| panic!("{error}"));
    let placed = &made.layout.placed[0];
    let widths = placed.galley.chunks[placed.chunk].marks.iter().filter_map(|mark| match mark {
        stripling::layout::Mark::Text { line, .. } => Some(line.width.0),
        _ => None,
    });
    widths.collect()
}

#[test]
fn the_number_of_a_step_grows_with_its_badge() {
    let of = |style: &str| first_widths("1. Go.\n", style).into_iter().min().expect("a number");
    assert!(of("[step]\nsize = 10\n") > of("[step]\nsize = 5.25\n"));
}

#[test]
fn emphasis_in_lettering_is_seen() {
    let style = "[type]\nfamily = \"lettering\"\n";
    let plain = first_widths("stress\n", style);
    for stressed in ["**stress**\n", "*stress*\n"] {
        assert_ne!(first_widths(stressed, style), plain, "{stressed}");
    }
}

fn keys() -> impl Strategy<Value = String> {
    prop_oneof![
        "[A-Z]{1,24}",
        "[A-Z]{2,9}( [A-Z0-9]{1,8}){1,4}",
        "--[a-z]{1,6}(-[a-z]{2,6}){0,4}=[a-z0-9]{1,6}",
        "[\u{3042}-\u{304a}]{1,8}",
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_key_is_ever_split(
        key in keys(),
        words in "[a-z]{1,9}( [a-z]{1,9}){0,6}",
        place in 0..5usize,
        printer in prop::sample::select(vec!["58mm", "80mm", "112mm", "80mm-180"]),
    ) {
        let text = match place {
            0 => format!("{words} `{key}` {words}\n"),
            1 => format!("1. {words} `{key}` {words}\n   - {words}\n     - `{key}`\n"),
            2 => format!("> **WARNING** {words} `{key}` {words}\n"),
            3 => format!("| {words} | Key |\n|---|---|\n| {words} | `{key}` |\n"),
            _ => format!("`{key}`\n: {words} `{key}`\n"),
        };
        let made = made(&text, printer, "plain");
        let boxes = made.layout.boxes();
        let caps: Vec<&PlacedBox> = boxes.iter().filter(|placed| placed.kind == "key").collect();
        let width = made.layout.width;
        for cap in &caps {
            prop_assert_eq!(&cap.text, &key, "a part of a key is no key");
            prop_assert!(cap.x.0 >= 0 && cap.x + cap.width <= width, "{:?} is cut at {} dots", cap, width.0);
        }
        // What is no key any more is code, letter for letter on its lines.
        let wanted = text.matches(&format!("`{key}`")).count();
        if caps.len() < wanted {
            prop_assert!(key.chars().count() > 9, "{} would fit as a key", key);
            let lines: String = boxes.iter().filter(|placed| placed.kind == "line").map(|placed| placed.text.replace(' ', "")).collect();
            prop_assert!(lines.contains(&key.replace(' ', "")), "{:?} is not in {:?}", key, lines);
        }
    }
}

#[test]
fn code_stays_on_the_paper_and_clear_of_its_mark() {
    let rows = ["漢字".repeat(40), "\t".repeat(3) + &"x".repeat(90), "☃é👍".repeat(30), "a\tbc\t漢\td".repeat(12)];
    for printer in ["58mm", "80mm"] {
        let made = made(&format!("```\n{}\n```\n", rows.join("\n")), printer, "plain");
        let side = made.layout.placed[0].x;
        let column = made.layout.width - side * 2;
        for placed in &made.layout.placed {
            let chunk = &placed.galley.chunks[placed.chunk];
            let texts: Vec<(Dots, Dots)> = chunk
                .marks
                .iter()
                .filter_map(|mark| match mark {
                    stripling::layout::Mark::Text { x, line, .. } => Some((*x, line.width)),
                    _ => None,
                })
                .collect();
            let ends = texts.iter().map(|(x, width)| *x + *width).max().expect("a line");
            prop_assert_fits(ends, column);
            if let [(mark, _), (x, width)] = texts.as_slice() {
                assert!(*x + *width <= *mark, "a line runs over the mark at its end: {} > {}", (*x + *width).0, mark.0);
            }
        }
    }
}

#[track_caller]
fn prop_assert_fits(end: Dots, column: Dots) {
    assert!(end <= column, "{} dots stand out of a column of {}", end.0, column.0);
}

#[test]
fn signal_words_and_pictures_stay_in_their_room() {
    let wide = r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 900 10"><path d="M0 5h900" stroke="black" stroke-width="6"/></svg>"#;
    let text = "- a\n  - b\n    - c\n      - d\n        > **WARNING** **Hot.** See ![bar](wide.svg) it.\n\n        Look ![bar](wide.svg) here.\n";
    let written = Written::new(text).with("wide.svg", wide);
    let made = manuals::press_in_style(&written.manual, "58mm", "plain").strip(None, 1).unwrap_or_else(|error| panic!("{error}"));
    let width = made.layout.width;
    let boxes = made.layout.boxes();
    assert!(boxes.iter().any(|placed| placed.kind == "signal-word"));
    for placed in boxes.iter().filter(|placed| matches!(placed.kind, "signal-word" | "picture" | "key")) {
        assert!(placed.x + placed.width <= width, "{placed:?} stands out of {} dots", width.0);
    }
}

#[test]
fn a_rule_is_not_drawn_beside_one_that_the_style_draws() {
    let rules = |text: &str, style: &str| {
        made(text, "80mm", style).layout.boxes().iter().filter(|placed| placed.kind == "rule").count() / 2
    };
    assert_eq!(rules("Reed.\n\n---\n\nPond.\n", "plain"), 1, "else this test shows nothing");
    assert_eq!(rules("# Heron\n\n---\n\nReed.\n\n---\n\n## Setup\n\nPond.\n", "plain"), 0);
    assert_eq!(rules("Reed.\n\n---\n\n***\n\n### Small\n\nPond.\n", "plain"), 1, "two in a row are one; a sub-section has none");
}

#[test]
fn notes_keep_their_numbers_and_stand_apart() {
    let text = "One[^a][^b] and [this](https://example.com/x).\n\n[^a]:\n[^b]: See [this](https://example.com/x).\n";
    let made = made(text, "80mm", "plain");
    let boxes = made.layout.boxes();
    let first = boxes.iter().find(|placed| placed.kind == "line").expect("a line");
    assert_eq!(first.text, "One and this.");
    let calls: Vec<&str> = boxes.iter().filter(|placed| placed.kind == "note-call").map(|placed| placed.text.as_str()).collect();
    assert_eq!(calls, ["1", ",2", "3", "3"], "the second footnote calls the third again");
    let notes = boxes.iter().find(|placed| placed.kind == "notes").expect("notes");
    assert_eq!(notes.text.matches("https://example.com/x").count(), 1, "{}", notes.text);
    // Marks of figures at the left edge: an empty note has its own too.
    let galley = &made.layout.placed.iter().find(|placed| placed.galley.kind == "notes").expect("notes").galley;
    let numbers = galley.chunks.iter().flat_map(|chunk| &chunk.marks).filter(
        |mark| matches!(mark, stripling::layout::Mark::Text { x, line, .. } if x.0 < 8 && line.text.parse::<u32>().is_ok()),
    );
    assert_eq!(numbers.count(), 3);
}

#[test]
fn a_cell_too_many_is_set_and_said() {
    let made = made("| Light | Meaning |\n|---|---|\n| red | too hot | call us at once |\n| green | well |\n", "80mm", "plain");
    assert!(made.layout.boxes().iter().any(|placed| placed.text.contains("call us at once")));
    assert_eq!(made.remarks().filter(|remark| remark.rule == "extra-cell").count(), 1);
}

#[test]
fn code() {
    look_on_both(
        "code",
        "```\nlight --colour warm --level 40 --fade 2000 --until sunrise\n  indented by two\nabcdefghijklmnopqrstuvwxyzabcdefghijklmnopqrstuvwxyzabcdefghijklmnopqrstuvwxyz\n```\n",
    );
}

#[test]
fn tables() {
    look_on_both(
        "table",
        "| Level | Time | Use |\n|:-:|--:|---|\n| 1 | 90 min | reading in bed |\n| 2 | 10 min | looking for the other slipper |\n",
    );
    look_on_both(
        "records",
        "| Signal | Meaning | Remedy | Afterwards |\n|---|---|---|---|\n| One long tone | Overtemperature | Disconnect the power supply | Reconnect when cold |\n| Three short tones | Undervoltage | Recharge the accumulator | Recalibrate |\n",
    );
}

#[test]
fn definitions() {
    look_on_both(
        "definitions",
        "Steady\n: The lamp is lit.\n\nBlinks\n: The battery is nearly empty. Charge the lamp before the evening.\n: Or it is too hot.\n",
    );
    look_on_both("definitions-long", "The light blinks twice and goes out\n: The battery is empty.\n\n`RESET`\n: Starts anew.\n");
}

#[test]
fn links_and_footnotes() {
    look_on_both(
        "notes",
        "More is [on our page](https://example.com/glow/questions-and-answers?page=1), and it is bright.[^bright]\n\n[^bright]: Measured at one metre in a dark room with clean walls.\n\n## Next\n\nA bare <https://example.com/glow>.\n",
    );
}

#[test]
fn rules_and_html() {
    look_on_both("rule", "Above.\n\n---\n\nBelow, with <b>bold</b> words.\n");
}

#[test]
fn codes() {
    look_on_both(
        "codes",
        "```qr\nhttps://example.com/glow\n```\n\n```barcode\nkind = \"code128\"\ndata = \"GLW-00042\"\n```\n\n```barcode\nkind = \"ean13\"\ndata = \"4006381333931\"\n```\n",
    );
}

#[test]
fn boxes_to_write_in() {
    look_on_both(
        "write-in",
        "Before it left our workshop:\n\n```write-in\nheight = \"12 mm\"\nlabel = \"Tested by, date\"\n```\n\n1. Let the shop stamp this strip.\n\n   ```write-in\n   label = \"Stamp of the shop; without it the two years of warranty begin on the day that the lamp left us\"\n   ```\n\n2. Keep it.\n",
    );
}

#[test]
fn a_box_to_write_in_is_as_high_as_asked_on_every_printer_and_empty() {
    // 12 mm are 96 dots at 8 dots/mm, 85 (12 x 7.087 = 85.04) at 180 dpi.
    for (printer, height) in [("80mm", 96), ("58mm", 96), ("80mm-180", 85)] {
        let made = made("```write-in\nheight = \"12 mm\"\nlabel = \"Tested by\"\n```\n", printer, "plain");
        let boxes = made.layout.boxes();
        let frame = boxes.iter().filter(|placed| placed.kind == "write-in").min_by_key(|placed| placed.height).expect("a box");
        assert_eq!(frame.height, Dots(height), "{printer}");
        let label = boxes.iter().find(|placed| placed.kind == "line" && placed.text == "Tested by").expect("its label");
        assert!(label.y >= frame.y + frame.height, "{printer}: the label stands in the box");
        let (wide, high) = (frame.width.count(), frame.height.count());
        let border = made.strip.bitmap.part(frame.x.0, frame.y.0, wide, high).black();
        assert_eq!(border, u64::from(4 * (wide + high) - 16), "{printer}: two dots of line on every side, and nothing inside");
    }
}

#[test]
fn deep_lists_and_quotes_stay_readable_in_48_mm() {
    let lists: String = (0..6).map(|n| format!("{}- level {} of a list that goes on and on\n", "  ".repeat(n), n + 1)).collect();
    look("deep-lists", "58mm", &lists);
    let steps: String = (0..6).map(|n| format!("{}1. level {} of steps in steps that go on\n", "   ".repeat(n), n + 1)).collect();
    look("deep-steps", "58mm", &steps);
    let quotes: String =
        (1..=6).map(|n| format!("{} level {n} of a quote that goes on\n{}\n", ">".repeat(n), ">".repeat(n))).collect();
    look("deep-quotes", "58mm", &quotes);
    for text in [lists, steps, quotes] {
        let made = made(&text, "58mm", "plain");
        let lines = made.layout.boxes().into_iter().filter(|placed| placed.kind == "line");
        let least = lines.map(|placed| 384 - placed.x.0).min().expect("lines");
        // 20 mm, about 16 letters: enough to read on.
        assert!(least >= 160, "only {least} dots are left");
    }
}

#[test]
fn long_words_are_broken_and_never_clipped() {
    look(
        "long-words",
        "58mm",
        "## Donaudampfschifffahrtselektrizitäten\n\nA Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft and 0123456789012345678901234567890123456789 end.\n\n- https://example.com/a/very/long/address/that/nobody/types\n",
    );
}

/// A manual with everything that must not be folded through.
const FOLDED: &str = "+++\ntitle = \"Folded\"\ndocument = \"FLD-1\"\nrevision = \"A\"\nissued = 2026-11-20\nfold = \"60 mm\"\ndurable_copy = \"https://example.com/folded\"\n[product]\nmaker = \"Reedbed Works\"\n+++\n# Folded\n\n![A lamp](lamp.svg \"The lamp\")\n\n## Steps\n\n1. Put the lamp on a table that stands firm and is dry.\n2. Push the plug in.\n\n   ![A lamp](lamp.svg)\n\n3. Press `ON` and wait.\n4. Read.\n\n## Safety\n\n> **WARNING** ![hot surface](sign:hot-surface) **The shade burns.** Let it cool before you touch it.\n\n## Lights\n\n| Light | Meaning |\n|---|---|\n| steady | the lamp is lit and all is well |\n| blinks | the battery is nearly empty |\n| dark | the battery is empty |\n\n```comic\ncolumns = 2\n[[panel]]\npicture = \"lamp.svg\"\nalt = \"A lamp\"\ncaption = \"EVENING.\"\n[[panel]]\npicture = \"lamp.svg\"\nalt = \"A lamp\"\ncaption = \"NIGHT.\"\n```\n";

#[test]
fn folds() {
    look("fold", "80mm", &FOLDED.replace("60 mm", "90 mm"));
    look(
        "fold-and-cut",
        "58mm",
        "+++\nfold = \"25 mm\"\n+++\nOne panel.\n\n```fold\n```\n\nAnother.\n\n```cut\n```\n\nAnother strip.\n",
    );
}

#[test]
fn no_fold_goes_through_what_belongs_together() {
    for (printer, pitch) in
        [("80mm", 60), ("80mm", 75), ("80mm", 100), ("58mm", 70), ("58mm", 90), ("112mm", 80), ("80mm-180", 85)]
    {
        let made = made(&FOLDED.replace("60 mm", &format!("{pitch} mm")), printer, "plain");
        let what = format!("{printer} folded every {pitch} mm");
        let panels = &made.layout.panels;
        assert!(panels.len() > 2, "{what}");
        let height = panels[0].bottom - panels[0].top;
        assert!(panels.iter().all(|panel| panel.bottom - panel.top == height), "{what}: panels differ in height");
        assert_eq!(height, made.layout.resolution.dots(Mm::new(f64::from(pitch))), "{what}");
        let too_small = made.remarks().filter(|remark| remark.rule == "panel-too-small").count();
        assert_eq!(too_small, 0, "{what}");
        let boxes = made.layout.boxes();
        for kind in ["picture", "step", "panel", "safety", "row", "line", "figure"] {
            for placed in boxes.iter().filter(|placed| placed.kind == kind) {
                assert!(stands_in_one(&made, placed), "{what}: a fold goes through {placed:?}");
            }
        }
        heading_stays_with_what_follows(&made).unwrap_or_else(|trouble| panic!("{what}: {trouble}"));
        let imprint = boxes.iter().find(|placed| placed.kind == "imprint").expect("an imprint");
        assert_eq!(imprint.panel, panels.len() - 1, "{what}: the imprint is on the last panel");
        let foot = panels[imprint.panel].bottom - imprint.y - imprint.height;
        assert!(foot.0 >= 0 && foot.0 < 40, "{what}: the imprint stands {foot:?} above the foot");
        for word in ["FLD-1", "2026-11-20", "Reedbed Works", "https://example.com/folded"] {
            assert!(imprint.text.contains(word), "{what}: {word} is not in {:?}", imprint.text);
        }
    }
}

fn stands_in_one(made: &Made, placed: &PlacedBox) -> bool {
    made.layout.panels.iter().any(|panel| placed.y >= panel.top && placed.y + placed.height <= panel.bottom)
}

fn panel_of(made: &Made, y: Dots) -> usize {
    made.layout.panels.partition_point(|panel| panel.bottom <= y)
}

/// A heading and the first piece of what follows stand on one panel, if a panel can hold them both.
fn heading_stays_with_what_follows(made: &Made) -> Result<(), String> {
    let placed = &made.layout.placed;
    // Between the margins at its top and its foot (2 and 3 mm in the plain style).
    let room =
        made.layout.panels.first().map_or(Dots(0), |panel| panel.bottom - panel.top) - made.layout.resolution.dots(Mm::new(5.0));
    for (n, one) in placed.iter().enumerate().filter(|(_, one)| matches!(one.galley.kind, "title" | "heading" | "sub-heading")) {
        let chunk = |n: usize| &placed[n].galley.chunks[placed[n].chunk];
        let Some(next) = placed.get(n + 1) else { continue };
        if panel_of(made, one.y) == panel_of(made, next.y) {
            continue;
        }
        let first = (0..n).rev().take_while(|&n| chunk(n).keep).last().unwrap_or(n);
        let last = (n + 1..placed.len()).find(|&n| !chunk(n).keep).unwrap_or(placed.len() - 1);
        let spaces = |n: usize| chunk(n).height + placed[n].galley.above.max(placed[n].galley.below).max(chunk(n).glue);
        let together: Dots = (first..=last).map(spaces).sum();
        if together < room {
            return Err(format!("the heading {:?} stands alone at the foot of a panel", one.galley.text));
        }
    }
    Ok(())
}

/// A block of a random manual.
fn block() -> impl Strategy<Value = String> {
    let word = prop::sample::select(vec![
        "lamp",
        "a",
        "switch",
        "of",
        "characteristically",
        "light",
        "Press",
        "`ON`",
        "**bold**",
        "Donaudampfschifffahrt",
        "42",
        "*so*",
        "[link](https://example.com/x)",
        "![s](switch.svg)",
    ]);
    let words = move |most: usize| prop::collection::vec(word.clone(), 1..most).prop_map(|words| words.join(" "));
    prop_oneof![
        4 => words(60),
        2 => words(6).prop_map(|text| format!("## {text}")),
        1 => words(8).prop_map(|text| format!("### {text}")),
        2 => prop::collection::vec(words(25), 1..6).prop_map(|steps| steps.iter().map(|step| format!("1. {step}\n")).collect()),
        1 => (words(12), words(12)).prop_map(|(one, two)| format!("1. {one}\n\n   ![A lamp](lamp.svg)\n\n2. {two}\n   - {one}\n")),
        2 => prop::collection::vec(words(20), 1..6).prop_map(|items| items.iter().map(|item| format!("- {item}\n")).collect()),
        1 => words(30).prop_map(|text| format!("> **WARNING** ![hot](sign:hot-surface) {text}")),
        1 => words(30).prop_map(|text| format!("> **NOTICE** {text}")),
        1 => words(30).prop_map(|text| format!("> {text}")),
        1 => Just("![A lamp](lamp.svg \"The lamp\")".to_string()),
        1 => prop::collection::vec([words(8), words(8), words(4)], 1..8).prop_map(|rows| {
            rows.iter().fold("| A | B | C |\n|---|---|---|\n".to_string(), |table, [a, b, c]| table + &format!("| {a} | {b} | {c} |\n"))
        }),
        1 => prop::collection::vec([words(4), words(14)], 1..4).prop_map(|all| all.iter().map(|[term, meaning]| format!("{term}\n: {meaning}\n\n")).collect()),
        1 => words(20).prop_map(|text| format!("```\n{text}\n```")),
        1 => Just("```qr\nhttps://example.com/x\n```".to_string()),
        1 => (3..90u32, words(12)).prop_map(|(height, text)| format!("```write-in\nheight = \"{height} mm\"\nlabel = '{text}'\n```")),
        1 => Just("```figure\npicture = \"lamp.svg\"\nalt = \"A lamp\"\ncallouts = [{ at = [50, 30], label = \"Shade\" }, { at = [60, 88], label = \"Foot\" }]\n```".to_string()),
        1 => Just("```comic\n[[panel]]\npicture = \"lamp.svg\"\nalt = \"A lamp\"\ncaption = \"NOW.\"\n```".to_string()),
        1 => Just("---".to_string()),
    ]
}

struct Shop {
    written: Written,
}

impl Shop {
    fn press(&self, text: &str, printer: &str) -> Prepress {
        std::fs::write(&self.written.manual, text).expect("written");
        manuals::press(&self.written.manual, Some(printer), None)
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whatever_stands_in_a_manual_nothing_is_folded_lost_or_overprinted(
        blocks in prop::collection::vec(block(), 1..12),
        pitch in prop::option::weighted(0.8, 45..160u32),
        printer in prop::sample::select(vec!["58mm", "58mm-wide", "80mm", "80mm-180"]),
    ) {
        let fold = pitch.map_or(String::new(), |pitch| format!("fold = \"{pitch} mm\"\n"));
        let text = format!("+++\ntitle = \"Random\"\ndocument = \"R-1\"\n{fold}+++\n{}\n", blocks.join("\n\n"));
        let shop = Shop { written: Written::new("").with("lamp.svg", LAMP).with("switch.svg", SWITCH) };
        let made = manuals::drafted(&shop.press(&text, printer));
        let (width, height) = (made.layout.width, made.layout.height);
        prop_assert_eq!(height.count(), made.strip.bitmap.height());
        let folded: Vec<_> = made.layout.remarks.iter().filter(|remark| remark.rule == "panel-too-small").collect();
        for placed in &made.layout.placed {
            let bottom = placed.y + placed.galley.chunks[placed.chunk].height;
            let whole = made.layout.panels.iter().any(|panel| placed.y >= panel.top && bottom <= panel.bottom);
            let boxes = &placed.galley.chunks[placed.chunk].boxes;
            let said = folded.iter().any(|remark| {
                boxes.iter().map(|boxed| boxed.span.from_base(placed.base)).any(|span| remark.span.start <= span.start && span.end <= remark.span.end)
            });
            prop_assert!(whole || said, "a fold goes through {:?}\n{}", placed.galley.text, text);
        }
        let boxes = made.layout.boxes();
        for placed in &boxes {
            let inside = placed.x.0 >= 0 && placed.x + placed.width <= width && placed.y.0 >= 0 && placed.y + placed.height <= height;
            prop_assert!(inside, "{placed:?} is not on the strip\n{text}");
        }
        if folded.is_empty() && pitch.is_some() {
            prop_assert_eq!(heading_stays_with_what_follows(&made), Ok(()));
        }
        if let Some(first) = made.layout.panels.first().filter(|_| pitch.is_some()) {
            prop_assert!(made.layout.panels.iter().all(|panel| panel.bottom - panel.top == first.bottom - first.top));
        }
        let mut lines: Vec<_> = boxes.iter().filter(|placed| placed.kind == "line").collect();
        lines.sort_by_key(|placed| placed.y);
        for (n, one) in lines.iter().enumerate() {
            for other in lines[n + 1..].iter().take_while(|other| other.y < one.y + one.height) {
                let apart = one.x + one.width <= other.x || other.x + other.width <= one.x;
                prop_assert!(apart, "{one:?} is printed over {other:?}\n{text}");
            }
        }
        prop_assert!(ink_stays_between_the_edges(&made.strip.bitmap));
    }
}

/// Nothing is painted over the edge of the strip: the bits past its width are white.
fn ink_stays_between_the_edges(bitmap: &Bitmap) -> bool {
    let spare = bitmap.stride() as u32 * 8 - bitmap.width();
    (0..bitmap.height()).all(|y| bitmap.row(y).last().is_none_or(|last| last & ((1u16 << spare) - 1) as u8 == 0))
}

/// Whether a picture stands in a part of the strip, in black or cut out of black.
fn stands_in(strip: &Bitmap, picture: &Bitmap, from: (i32, i32), to: (i32, i32)) -> bool {
    let (wide, high) = (picture.width() as i32, picture.height() as i32);
    let same = |left: i32, top: i32, black: bool| {
        (0..high).all(|y| (0..wide).all(|x| (strip.get(left + x, top + y) == picture.get(x, y)) == black))
    };
    let spots = (from.1..=to.1 - high).flat_map(|top| (from.0..=to.0 - wide).map(move |left| (left, top)));
    spots.into_iter().any(|(left, top)| same(left, top, true) || same(left, top, false))
}

/// ANSI Z535.6 (known): the alert symbol stands before DANGER, WARNING and CAUTION, and never with NOTICE, which is about damage
/// (NOTICE is not in ISO 3864-2 at all: looked up). Whatever the style, the language and the spelling of the word.
#[test]
fn the_alert_symbol_never_stands_with_notice() {
    for (style, language, notice) in [("plain", "en", "NOTICE"), ("comic", "de", "HINWEIS"), ("compact", "ar", "NOTICE")] {
        let grades = ["DANGER", "WARNING", "CAUTION", notice];
        let said = grades.map(|word| format!("> **{word}** Words.\n\n")).concat();
        let made = made(&format!("+++\nlanguage = \"{language}\"\n+++\n\n{said}"), "80mm", style);
        let boxes = made.layout.boxes();
        let words: Vec<&PlacedBox> = boxes.iter().filter(|placed| placed.kind == "signal-word").collect();
        assert_eq!(words.len(), 4, "{style} {language}");
        for (word, grade) in words.iter().zip(grades) {
            let (top, bottom) = (word.y.0, (word.y + word.height).0);
            let symbols = (10..=word.height.0).filter_map(|height| stripling::pictures::signs::alert(Dots(height)));
            let shown = symbols
                .into_iter()
                .any(|symbol| stands_in(&made.strip.bitmap, &symbol, (0, top), (made.strip.bitmap.width() as i32, bottom)));
            assert_eq!(shown, grade != notice, "{style} {language}: the alert symbol and {grade}");
        }
    }
}
