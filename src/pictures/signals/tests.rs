//! Addresses, good and bad; what holds for every drawing.

use super::*;
use crate::language::Language;

struct Even(i32);

impl Lettering for Even {
    fn width(&self, text: &str, _: Hand) -> Dots {
        Dots(text.chars().count() as i32 * self.0 * 3 / 4)
    }

    fn cap(&self, _: Hand) -> Dots {
        Dots(self.0)
    }
}

fn drawn(address: &str, form: Form, cap: i32) -> Scene {
    let letters = Even(cap);
    let setting = Setting { lettering: &letters, form, line: Dots(2), room: Dots(560), wording: Language::English.wording() };
    read(address).unwrap_or_else(|error| panic!("{error}")).scene(&setting)
}

/// Every pattern, gesture and kind of display that the handbook names.
const ALL: [&str; 36] = [
    "light:red",
    "light:red-off",
    "light:red-on",
    "light:red-slow",
    "light:red-fast",
    "light:red-1hz",
    "light:red-blink-1",
    "light:red-blink-2",
    "light:red-blink-3",
    "light:red-blink-4",
    "light:red-blink-9",
    "light:red-pulse",
    "light:red-code-SLL",
    "light:red-code-LLS",
    "light:yellow",
    "light:amber",
    "light:green",
    "light:blue",
    "light:white",
    "light:red/green",
    "light:red/green-slow",
    "key:MODE",
    "key:MODE-press",
    "key:MODE-twice",
    "key:MODE-hold-3s",
    "key:MODE-hold",
    "key:MODE-while",
    "key:MODE-with:TEA",
    "key:MODE-with:TEA-hold-3s",
    "key:MODE-left",
    "key:MODE-right",
    "key:MODE-up",
    "key:MODE-down",
    "display:E 04",
    "display:Tea ready|Press DIP",
    "display:Größe",
];

#[test]
fn every_drawing_is_whole_at_every_size_and_no_two_are_alike() {
    for form in [Form::Icon, Form::Large] {
        for cap in (6..60).step_by(3) {
            let scenes: Vec<Scene> = ALL.iter().map(|address| drawn(address, form, cap)).collect();
            for (n, scene) in scenes.iter().enumerate() {
                assert!(scene.is_whole(), "{} at {cap}, {form:?}: {scene:?}", ALL[n]);
                for (m, other) in scenes[..n].iter().enumerate() {
                    assert!(scene.shapes != other.shapes, "{} is drawn as {}", ALL[n], ALL[m]);
                }
            }
        }
    }
}

#[test]
fn a_long_pattern_is_shortened_to_its_room_and_its_flashes_stay_apart() {
    let letters = Even(14);
    for room in [0, 120, 200, 368] {
        let setting = Setting {
            lettering: &letters,
            form: Form::Icon,
            line: Dots(2),
            room: Dots(room),
            wording: Language::English.wording(),
        };
        let scene = read("light:red-blink-9").expect("a light").scene(&setting);
        assert!(scene.width <= room.max(260), "{room}: {}", scene.width);
        let waves: Vec<(i32, i32)> = scene
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Round { x, width, height, radius: 0, .. } if *height == 14 => Some((*x, *width)),
                _ => None,
            })
            .collect();
        assert_eq!(waves.len(), 9, "{room}");
        assert!(waves.iter().all(|(_, width)| *width >= 3) && waves.windows(2).all(|two| two[1].0 - two[0].0 >= 6), "{waves:?}");
    }
}

/// IEC 60073: slow 0.4 to 0.8 Hz, normal 1.4 to 2.8 Hz (CHECKS.md, "Signals").
#[test]
fn rates_are_those_of_the_standard() {
    assert!((400..=800).contains(&Pattern::Slow.rate().expect("it flashes")));
    assert!((1400..=2800).contains(&Pattern::Fast.rate().expect("it flashes")));
    assert_eq!(Pattern::On.rate(), None);
    let group = Pattern::Blink(3).timeline();
    for two in group.flashes.windows(2) {
        assert!((1400..=2800).contains(&(1_000_000 / (two[1].from - two[0].from))));
    }
    // The pause is longer than what parts two flashes: else nobody could count.
    let last = group.flashes.last().expect("a flash");
    assert!(group.period - last.from - last.long >= 2 * (group.flashes[1].from - group.flashes[0].long));
}

fn refused(address: &str) -> (String, String) {
    let error = read(address).expect_err(address);
    (error.to_string(), error.hint().unwrap_or_default())
}

#[test]
fn a_slip_is_answered_with_the_nearest() {
    for (address, hint) in [
        ("light:rde", "did you mean `red`?"),
        ("light:gren-slow", "did you mean `green`?"),
        ("light:red-slwo", "did you mean `slow`?"),
        ("light:red-blonk-2", "did you mean `blink-3`?"),
        ("key:MODE-hodl", "did you mean `hold`? If it is on the key: `key:MODE-hodl-press`"),
        ("key:MODE-twise", "did you mean `twice`? If it is on the key: `key:MODE-twise-press`"),
        ("display:E 04?row=2", "did you mean `rows`? A question mark that is shown is written before `?rows=1`"),
    ] {
        assert_eq!(refused(address).1, hint, "{address}");
    }
    assert!(refused("light:ultraviolet").1.starts_with("known colours: red, yellow, amber"));
    assert!(refused("light:red-morse").1.starts_with("known patterns: off, on, slow"));
}

#[test]
fn what_nobody_sees_presses_or_reads_is_refused_in_words() {
    for (address, reason) in [
        ("key:MODE-hold-999999s", "nobody holds a key for 999999s"),
        ("key:MODE-hold-0s", "nobody holds a key for 0s"),
        ("key:MODE-hold-soons", "`hold-soons` says no time"),
        ("key:-press", "it names no key"),
        ("key:", "it names no key"),
        ("key:A-with:", "it names no key"),
        ("key:A-with:B-left", "two keys are not turned or slid"),
        ("key:press the large round one twice", "a label of 31 letters stands on no key"),
        ("light:", "it names no colour"),
        ("light:red/green/blue", "3 lamps at once are more than two"),
        ("light:red-blink-0", "`blink-0` is no number of flashes that a reader counts"),
        ("light:red-blink-400", "`blink-400` is no number of flashes that a reader counts"),
        ("light:red-code-SOS", "`code-SOS` is no code of short and long flashes"),
        ("light:red-50hz", "`50hz` cannot be told by eye"),
        ("display:", "it shows nothing"),
        ("display: | ", "it shows nothing"),
        ("display:a|b|c|d|e", "a display of 5 rows"),
        ("display:a?rows=9", "a display has no 9 rows"),
        ("display:a\u{7}b", "it holds a control character (U+0007)"),
    ] {
        let (words, hint) = refused(address);
        assert!(words.ends_with(reason), "{address}: {words}");
        assert!(!hint.is_empty(), "{address}");
    }
    let long = format!("display:{}", "A".repeat(400));
    let (words, _) = refused(&long);
    assert!(words.ends_with("no display shows 400 letters in a row") && words.len() < 160, "{words}");
}

#[test]
fn what_follows_a_hyphen_and_is_no_gesture_is_on_the_key() {
    for (address, label) in
        [("key:ON-OFF", "ON-OFF"), ("key:VOL-", "VOL-"), ("key:power-on", "power-on"), ("key:up", "up"), ("key:-", "-")]
    {
        let Ok(Signal::Key(key)) = read(address) else { panic!("{address}") };
        assert_eq!((key.label.as_str(), key.gesture), (label, None), "{address}");
    }
    let Ok(Signal::Key(key)) = read("key:pop-up-press") else { panic!() };
    assert_eq!((key.label.as_str(), key.gesture), ("pop-up", Some(Gesture::Press)));
}

#[test]
fn a_display_shows_what_it_can() {
    for (text, kind) in [
        ("E 04", DisplayKind::Segments),
        ("-12.5", DisplayKind::Segments),
        ("88:88", DisplayKind::Segments),
        ("Err", DisplayKind::Segments),
        ("HEAT", DisplayKind::Segments),
        ("20°C", DisplayKind::Segments),
        ("WAIT", DisplayKind::Matrix),
        ("Tea ready", DisplayKind::Matrix),
        ("100%", DisplayKind::Matrix),
        ("Größe", DisplayKind::Type),
        ("مرحبا", DisplayKind::Type),
        ("お茶", DisplayKind::Type),
    ] {
        let Ok(Signal::Display(display)) = read(&format!("display:{text}")) else { panic!("{text}") };
        assert_eq!(display_kind(&display), kind, "{text}");
    }
}

#[test]
fn rows_are_parted_where_the_writer_says_or_at_words() {
    let rows = |address: &str| match read(address) {
        Ok(Signal::Display(display)) => display.rows,
        other => panic!("{address}: {other:?}"),
    };
    assert_eq!(rows("display:Tea ready|Press DIP"), ["Tea ready", "Press DIP"]);
    assert_eq!(rows("display:Tea ready Press DIP?rows=2"), ["Tea ready", "Press DIP"]);
    assert_eq!(rows("display:READY?"), ["READY?"]);
    assert_eq!(rows("display:one two three four five?rows=3"), ["one two", "three", "four five"]);
    assert_eq!(rows("display:word?rows=3"), ["word"]);
}

#[test]
fn outlines_are_an_svg_that_says_what_it_is() {
    let faces = super::super::vector::Faces::new(&[]);
    for address in ALL {
        let svg = svg(address, Language::German.wording()).unwrap_or_else(|error| panic!("{address}: {error}"));
        assert!(svg.contains("<title>"), "{svg}");
        super::super::vector::read(svg.as_bytes(), address, &faces).unwrap_or_else(|error| panic!("{address}: {error}"));
    }
    assert!(svg("light:red-slow", Language::German.wording()).is_ok_and(|svg| svg.contains(">rot<")));
    assert!(svg("key:<&\">", Language::English.wording()).is_ok_and(|svg| svg.contains("&lt;&amp;&quot;&gt;")));
    assert_eq!(svg("light:pink", Language::English.wording()).ok(), None);
}

proptest::proptest! {
    /// Any text behind a scheme, and parts of addresses put together at random: refused in words with a hint, or drawn whole, twice the same.
    #[test]
    fn any_address_is_drawn_whole_or_refused_in_words(
        scheme in 0..3usize,
        parts in proptest::collection::vec(proptest::sample::select(vec![
            "red", "green", "amber", "/", "-", "off", "slow", "fast", "blink-", "code-", "SL", "pulse", "hz", "3", "0.5", "s", "MODE", "hold",
            "while", "with:", "twice", "left", "up", "E 04", ".", ":", "|", "?rows=", "2", "Tea", "é", "م", "\u{202e}", "漢", "💡",
        ]), 0..7),
        more in ".{0,12}",
        cap in 6..48i32,
        room in 0..700i32,
    ) {
        let address = format!("{}{}{more}", ["light:", "key:", "display:"][scheme], parts.concat());
        match read(&address) {
            Ok(signal) => {
                let letters = Even(cap);
                for form in [Form::Icon, Form::Large] {
                    let setting = Setting { lettering: &letters, form, line: Dots(2), room: Dots(room), wording: Language::Polish.wording() };
                    let scene = signal.scene(&setting);
                    assert!(scene.is_whole(), "{address:?} at {cap} in {room}: {scene:?}");
                    assert_eq!(scene, signal.scene(&setting));
                }
                assert!(!signal.words().is_empty() && svg(&address, Language::Hebrew.wording()).is_ok());
            }
            Err(error) => {
                let (words, hint) = (error.to_string(), error.hint().unwrap_or_default());
                assert!(!words.contains('\n') && !hint.is_empty() && !hint.contains('\n') && words.chars().count() < 400, "{words}: {hint}");
            }
        }
    }
}
