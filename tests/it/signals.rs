//! Lights, keys and displays on the strip: read back from the dots, measured, and looked at.

use stripling::bitmap::Bitmap;
use stripling::layout::PlacedBox;
use stripling::prepress::Made;

use crate::golden;
use crate::manuals::{self, Written};

fn made(text: &str, printer: &str) -> Made {
    manuals::drafted(&manuals::press_in_style(&Written::new(text).manual, printer, "plain"))
}

fn boxes(made: &Made, kind: &str) -> Vec<PlacedBox> {
    made.layout.boxes().into_iter().filter(|placed| placed.kind == kind).collect()
}

fn part(made: &Made, placed: &PlacedBox) -> Bitmap {
    made.strip.bitmap.part(placed.x.0, placed.y.0, placed.width.count(), placed.height.count())
}

/// Lengths of black and where they begin, along a row.
fn runs(bitmap: &Bitmap, y: i32) -> Vec<(i32, i32)> {
    let mut runs: Vec<(i32, i32)> = Vec::new();
    for x in (0..bitmap.width() as i32).filter(|&x| bitmap.get(x, y)) {
        match runs.last_mut() {
            Some((from, long)) if *from + *long == x => *long += 1,
            _ => runs.push((x, 1)),
        }
    }
    runs
}

// --- seven segments ---------------------------------------------------------------------------------------------------

/// Letters and their segments, bit 0 = a to bit 6 = g. Digits: common practice (CHECKS.md). Letters: WikiChip, "Representing letters on a
/// seven-segment display", revision of 10 November 2015, column gfedcba, looked up; O as 0, the signs: common practice.
const TABLE: [(char, u8); 37] = [
    ('0', 0x3F),
    ('1', 0x06),
    ('2', 0x5B),
    ('3', 0x4F),
    ('4', 0x66),
    ('5', 0x6D),
    ('6', 0x7D),
    ('7', 0x07),
    ('8', 0x7F),
    ('9', 0x6F),
    ('A', 0x77),
    ('b', 0x7C),
    ('C', 0x39),
    ('c', 0x58),
    ('d', 0x5E),
    ('E', 0x79),
    ('F', 0x71),
    ('G', 0x3D),
    ('H', 0x76),
    ('h', 0x74),
    ('I', 0x30),
    ('J', 0x1E),
    ('L', 0x38),
    ('n', 0x54),
    ('o', 0x5C),
    ('P', 0x73),
    ('q', 0x67),
    ('r', 0x50),
    ('t', 0x78),
    ('U', 0x3E),
    ('u', 0x1C),
    ('y', 0x6E),
    ('-', 0x40),
    ('_', 0x08),
    ('=', 0x48),
    ('°', 0x63),
    (' ', 0x00),
];

/// What a reader sees: places are parted by columns of white; in each the seven strokes are looked at where they must lie, and are lit when
/// they are more than one dot thick. Knows nothing of how they are drawn.
fn decoded(dots: &Bitmap) -> String {
    let (width, height) = (dots.width() as i32, dots.height() as i32);
    let reach = |from: i32, wide: i32| {
        let rows: Vec<i32> = (0..height).filter(|&y| (from..from + wide).any(|x| dots.get(x, y))).collect();
        rows.first().zip(rows.last()).map_or(0, |(top, bottom)| bottom + 1 - top)
    };
    let mut places: Vec<(i32, i32)> = Vec::new();
    for x in (0..width).filter(|&x| reach(x, 1) > 0) {
        match places.last_mut() {
            Some((from, wide)) if *from + *wide == x => *wide += 1,
            _ => places.push((x, 1)),
        }
    }
    // The thin strokes of one place touch each other nowhere; points and colons are lower than half.
    let tall = |(from, wide): (i32, i32)| reach(from, wide) * 2 > height;
    let mut whole: Vec<(i32, i32)> = Vec::new();
    for place in places {
        match whole.last_mut() {
            Some(before) if place.0 - before.0 - before.1 <= 2 && tall(place) && tall(*before) => {
                before.1 = place.0 + place.1 - before.0
            }
            _ => whole.push(place),
        }
    }
    let places = whole;
    let mut text = String::new();
    for (left, wide) in places {
        if !tall((left, wide)) {
            text.push(if reach(left, wide) > wide { ':' } else { '.' });
            continue;
        }
        // How thick the black is that a line from one place to another meets.
        let across = |x: i32, from: i32, to: i32| (from..to).filter(|&y| dots.get(x, y)).count() > 1;
        let along = |y: i32, from: i32, to: i32| (from..to).filter(|&x| dots.get(x, y)).count() > 1;
        let (middle, right) = (left + wide / 2, left + wide);
        let lit = [
            across(middle, 0, height / 4),
            along(height * 3 / 10, middle + 1, right),
            along(height * 7 / 10, middle + 1, right),
            across(middle, height * 3 / 4, height),
            along(height * 7 / 10, left, middle),
            along(height * 3 / 10, left, middle),
            across(middle, height * 2 / 5, height * 3 / 5 + 1),
        ];
        let lit = lit.iter().enumerate().map(|(n, lit)| u8::from(*lit) << n).sum::<u8>();
        text.push(TABLE.iter().find(|(_, known)| *known == lit).map_or('?', |(letter, _)| *letter));
    }
    text
}

#[test]
fn readings_of_seven_segments_are_read_back_from_the_dots() {
    let all: String = TABLE.iter().map(|(letter, _)| *letter).collect();
    let readings =
        ["E 04", "-12.5", "88:88", "Err", "bAtt", "Lo", "20.5°C", "0123456789", "Pro 2", "F-11", all.get(..20).expect("ASCII")];
    let seen = |text: &str| text.replace('S', "5").replace('O', "0");
    let mut looked = 0;
    for printer in ["80mm", "58mm", "80mm-180"] {
        for reading in readings {
            // In a line, and alone.
            let made = made(
                &format!("# T\n\nIt shows ![reading](<display:{reading}>) now.\n\n![reading](<display:{reading}>)\n"),
                printer,
            );
            assert_eq!(made.remarks().filter(|remark| remark.rule == "unknown-signal").count(), 0, "{reading}");
            let shown: Vec<PlacedBox> = boxes(&made, "reading").into_iter().filter(|placed| placed.text == reading).collect();
            assert_eq!(shown.len(), 2, "{reading}");
            for placed in shown {
                looked += 1;
                assert_eq!(
                    decoded(&part(&made, &placed)),
                    seen(reading),
                    "{reading} on {printer}, {} dots high",
                    placed.height.0
                );
            }
        }
    }
    assert_eq!(looked, 66);
}

#[test]
fn every_letter_that_segments_have_is_the_common_one() {
    for (letter, lit) in TABLE {
        assert_eq!(stripling::pictures::signals::segments::of(letter), Some(lit), "{letter}");
    }
    for none in ['K', 'M', 'V', 'W', 'X', 'Z', 'k', 'm', 'v', 'w', 'x', 'z', 'é', 'م'] {
        assert_eq!(stripling::pictures::signals::segments::of(none), None, "{none}");
    }
}

// --- time lines -------------------------------------------------------------------------------------------------------

/// What can be measured on a time line with a ruler: when flashes begin and how long they are, in seconds by its own scale, and its length.
struct Measured {
    flashes: Vec<(f64, f64)>,
    length: f64,
    /// The number at its last tick.
    seconds: f64,
}

fn measured(made: &Made, placed: &PlacedBox) -> Measured {
    let dots = part(made, placed);
    // The axis is the longest black line of the lower half; its ticks hang from it.
    let (axis, (left, long)) = (dots.height() as i32 / 3..dots.height() as i32)
        .flat_map(|y| runs(&dots, y).into_iter().map(move |run| (y, run)))
        .max_by_key(|(y, (_, long))| (*long, *y))
        .expect("an axis");
    let foot = (axis..dots.height() as i32)
        .take_while(|&y| runs(&dots, y).iter().any(|(_, run)| *run * 2 > long))
        .last()
        .expect("the axis");
    // At the end of a large one stands an arrow.
    let end = left + long - if dots.height() > 40 { 8 } else { 0 };
    let ticks: Vec<i32> =
        runs(&dots, foot + 2).into_iter().filter(|(x, run)| *x >= left && *x < end && *run < 8).map(|(x, _)| x).collect();
    let waves: Vec<(i32, i32)> = runs(&dots, axis - 7).into_iter().filter(|(x, _)| *x >= left && *x < left + long).collect();
    assert!(ticks.len() >= 2, "ticks {ticks:?} under {waves:?}");
    // The first and, in a line, the last tick stand inside the axis, the others about their seconds.
    let second = if ticks.len() > 2 && dots.height() > 40 { f64::from(ticks[2] - ticks[1]) } else { f64::from(ticks[1] - left) };
    let flashes = waves.iter().map(|(x, run)| (f64::from(x - left) / second, f64::from(*run) / second)).collect();
    Measured { flashes, length: f64::from(long) / second, seconds: (ticks.len() - 1) as f64 }
}

/// IEC 60073 (CHECKS.md): slow flashing 0.4 to 0.8 Hz, normal 1.4 to 2.8 Hz.
#[test]
fn time_lines_measured_on_the_dots_agree_with_the_rates() {
    for printer in ["80mm", "58mm", "80mm-180"] {
        let lamps = ["slow", "fast", "1hz", "blink-3", "blink-4", "code-SLL", "on", "off"];
        let lines: String = lamps
            .iter()
            .map(|pattern| format!("Wait for ![it](light:red-{pattern}) here.\n\n![it](light:red-{pattern})\n\n"))
            .collect();
        let made = made(&format!("# T\n\n{lines}"), printer);
        let lights = boxes(&made, "picture");
        assert_eq!(lights.len(), lamps.len() * 2);
        for (placed, pattern) in lights.iter().zip(lamps.iter().flat_map(|pattern| [pattern, pattern])) {
            let Measured { flashes, length, seconds } = measured(&made, placed);
            let starts: Vec<f64> = flashes.windows(2).map(|two| two[1].0 - two[0].0).collect();
            let near = |value: f64, wanted: f64| (value - wanted).abs() < 0.09;
            match *pattern {
                "slow" => {
                    assert_eq!(flashes.len(), 1, "{flashes:?} of {length}, {placed:?}");
                    assert!((0.4..=0.8).contains(&(1.0 / seconds)), "one period lasts {seconds} s");
                    assert!(near(flashes[0].1, 1.0), "{flashes:?}");
                }
                "fast" => {
                    assert_eq!(flashes.len(), 4);
                    assert!(starts.iter().all(|apart| (1.4..=2.8).contains(&(1.0 / apart))), "{starts:?}");
                    assert!(flashes.iter().all(|(_, long)| near(*long, 0.25)), "{flashes:?}");
                }
                "1hz" => assert!(flashes.len() == 2 && near(starts[0], 1.0), "{flashes:?}"),
                "blink-3" | "blink-4" => {
                    assert_eq!(flashes.len(), if *pattern == "blink-3" { 3 } else { 4 });
                    assert!(starts.iter().all(|apart| (1.4..=2.8).contains(&(1.0 / apart))), "{starts:?}");
                    let (last, long) = flashes[flashes.len() - 1];
                    assert!(length - last - long > 1.0, "the pause is told from the dark between two flashes");
                }
                "code-SLL" => {
                    let longs: Vec<f64> = flashes.iter().map(|(_, long)| *long).collect();
                    assert!(
                        longs.len() == 3 && near(longs[0], 0.25) && near(longs[1], 0.75) && near(longs[2], 0.75),
                        "{longs:?}"
                    );
                }
                "on" => assert!(flashes.len() == 1 && near(flashes[0].1, 2.0), "{flashes:?}"),
                _ => assert!(flashes.is_empty(), "{flashes:?}"),
            }
        }
    }
}

// --- as anything on the strip -----------------------------------------------------------------------------------------

#[test]
fn a_key_drawn_by_its_address_is_the_key_of_code() {
    for printer in ["80mm", "58mm", "80mm-180"] {
        let made = made("# T\n\nPress `MODE` now.\n\nPress ![MODE](key:MODE) now.\n", printer);
        let keys = [boxes(&made, "key"), boxes(&made, "picture")].concat();
        assert_eq!(keys.len(), 2);
        assert_eq!(part(&made, &keys[0]), part(&made, &keys[1]), "{printer}");
        assert_eq!((keys[0].x, keys[0].width), (keys[1].x, keys[1].width));
    }
}

/// In the map stand the writer's words and all that is printed in the drawing.
#[test]
fn the_map_says_what_is_printed() {
    let text = "+++\nlanguage = \"de\"\n+++\n# T\n\nWarten, bis ![Die rote Leuchte blinkt langsam](light:red-slow) kommt, dann ![MODE 3 s halten](key:MODE-hold-3s).\n\n\
                ![Fehler 4](display:E 04)\n\n![Tee fertig](display:Tee|fertig)\n\n![](light:green/blue-pulse)\n";
    let made = made(text, "80mm");
    let map = manuals::map(&made);
    let said: Vec<&str> = map.boxes.iter().map(|placed| placed.text.as_str()).collect();
    for wanted in [
        "Die rote Leuchte blinkt langsam",
        "rot",
        "2 s",
        "MODE 3 s halten",
        "MODE",
        "3 s",
        "Fehler 4",
        "E 04",
        "Tee",
        "fertig",
        "grün + blau",
    ] {
        assert!(said.contains(&wanted), "{wanted:?} is not in {said:?}");
    }
    assert!(said.contains(&"green and blue lights at once, swells and fades"), "what has no words gets the program's");
    for placed in map.boxes.iter().filter(|placed| matches!(placed.kind, "picture" | "reading")) {
        let source = &made.source.locate(0).file;
        assert!(placed.line >= 4, "{} in {source}", placed.line);
    }
}

#[test]
fn a_signal_that_cannot_be_drawn_is_a_frame_and_nothing_is_lost() {
    let long = "A".repeat(400);
    for (address, hint) in [
        ("light:rde-slow".to_string(), "did you mean `red`?"),
        ("light:red-fsat".to_string(), "did you mean `fast`?"),
        ("key:MODE-hold-999999s".to_string(), "0.1 to 600 seconds"),
        (format!("display:{long}"), "at most 40"),
    ] {
        for text in [
            format!("# T\n\n![it]({address})\n"),
            format!("# T\n\nSee ![it]({address}) here.\n"),
            format!("# T\n\n![it]({address})\n: What it is\n"),
        ] {
            let made = made(&text, "58mm");
            let found: Vec<_> = made.remarks().filter(|remark| remark.rule == "unknown-signal").collect();
            assert_eq!(found.len(), 1, "{text}");
            assert!(found[0].hint.as_deref().unwrap_or_default().contains(hint), "{:?}", found[0]);
            assert!(made.strip.bitmap.black() > 2000, "a frame is drawn: {text}");
            assert!(
                made.strip.bitmap.height() < 400,
                "and is no larger than a signal: {} rows of {text}",
                made.strip.bitmap.height()
            );
        }
    }
}

#[test]
fn what_runs_from_right_to_left_stands_as_it_is_read() {
    for text in [
        "+++\nlanguage = \"ar\"\n+++\n# مرحبا\n\nاضغط ![وضع](key:وضع-hold-3s) ثم ![أحمر](light:red-slow) ثم ![جاهز](display:جاهز)\n\n![أحمر](light:red/green-blink-2)\n\n![اضغط](key:وضع-twice)\n",
        "+++\nlanguage = \"he\"\n+++\n# שלום\n\nלחצו ![מצב](key:מצב) עד ![E 04](display:E 04)\n",
    ] {
        let made = made(text, "80mm");
        assert_eq!(made.remarks().filter(|remark| matches!(remark.rule, "unknown-signal" | "missing-glyph")).count(), 0);
        for placed in made.layout.boxes().iter().filter(|placed| placed.kind == "picture" && placed.width.0 > 0) {
            let inside = part(&made, placed);
            assert!(placed.x.0 >= 0 && placed.x.0 + placed.width.0 <= 576 && inside.black() > 40, "{placed:?}");
        }
    }
}

/// Every pattern, gesture and kind of display, in lines, as terms and as figures.
fn sheet() -> String {
    let lights = [
        "red",
        "red-off",
        "yellow-on",
        "amber-slow",
        "green-fast",
        "blue-1hz",
        "white-blink-1",
        "red-blink-2",
        "red-blink-4",
        "green-pulse",
        "red-code-SLL",
        "red/green",
        "red/green-blink-3",
    ];
    let keys = [
        "MODE",
        "MODE-press",
        "MODE-twice",
        "MODE-hold-3s",
        "MODE-hold",
        "MODE-while",
        "A-with:B",
        "A-with:B-hold-3s",
        "TEA-left",
        "TEA-right",
        "VOL-up",
        "VOL-down",
    ];
    let displays = ["E 04", "-12.5", "88:88", "Err", "Tea ready", "Größe", "Tea ready|Press DIP"];
    let mut text = String::from("# Signals\n");
    for (scheme, all) in [("light", &lights[..]), ("key", &keys[..]), ("display", &displays[..])] {
        let icons: Vec<String> = all.iter().map(|what| format!("![it](<{scheme}:{what}>)")).collect();
        text.push_str(&format!("\n## In a line\n\nWhen {} is seen, wait.\n\n## As terms\n\n", icons.join(" or ")));
        all.iter().for_each(|what| text.push_str(&format!("![it](<{scheme}:{what}>)\n: It means what stands here.\n\n")));
    }
    text.push_str("## Alone\n\n![it](light:green-blink-3)\n\n![it](key:MODE-hold-3s)\n\n![it](<display:E 04>)\n\n![it](<display:Tea ready|Press DIP>)\n");
    text
}

#[test]
fn a_sheet_of_all_of_them() {
    for (printer, name) in [("58mm", "layout/signals-58"), ("80mm", "layout/signals-80")] {
        let made = made(&sheet(), printer);
        assert_eq!(made.remarks().filter(|remark| remark.rule == "unknown-signal").map(|remark| &remark.message).next(), None);
        golden::compare(name, &made.strip.bitmap);
    }
}
