//! The machine without a ledger and without a printer: what is said to each mistake, and that nothing is marked by it.

use stripling::packing::{Bench, Came, Codes, Do, Input, Roll, Tone, UnitCodes};
use stripling::send::State;
use stripling::send::ledger::{Boxed, Claim, Pace, Standing};

fn codes(units: usize, of: fn(&str) -> String) -> Codes {
    let unit = |number: usize| {
        let key = format!("HRN-{number:04}");
        UnitCodes::of(&key, [of(&key)])
    };
    Codes::new((1..=units).map(unit).collect(), "")
}

fn bench(units: usize, printers: usize) -> Bench {
    let names = (1..=printers).map(|number| format!("printer {number}")).collect();
    Bench::new(codes(units, |key| format!("S-{key}")), names, Roll { strip: 432_000, roll: 80_000_000 }, "HRN-QS C", "anna")
}

/// Lines come a second apart.
fn line(bench: &mut Bench, at: &mut u64, text: &str) -> Vec<Do> {
    *at += 1000;
    bench.take(Input::Line { text: text.to_owned(), at: *at })
}

fn yours() -> Claim {
    // What it holds is the driver's.
    let mut ledger = stripling::send::Ledger::in_memory().expect("memory");
    let making = stripling::send::Making::default();
    let facts = stripling::send::Facts::alike("heron.md", "80mm", making, ["HRN-0001".to_owned()]);
    let begun = ledger.begin_packing(&facts, false, stripling::send::Intent::Continue).expect("a run");
    ledger.claim(begun.run.expect("entered"), "HRN-0001", 0).expect("a claim")
}

/// A unit is scanned, printed, and in hand.
fn printed(bench: &mut Bench, at: &mut u64, unit: usize) {
    assert_eq!(line(bench, at, &format!("HRN-{:04}", unit + 1)), [Do::Claim(unit)]);
    let doing = bench.take(Input::Claimed { unit, claim: yours() });
    assert!(matches!(doing[..], [Do::Say, Do::Send { unit: sent, printer: 0 }] if sent == unit), "{doing:?}");
    bench.take(Input::Came { unit, printer: 0, came: Came::Printed });
    assert_eq!(bench.screen().say.headline, "SCAN STRIP");
}

fn said(bench: &Bench) -> (Tone, String) {
    let say = bench.screen().say;
    (say.tone, say.headline)
}

fn wrong(bench: &Bench, headline: &str) {
    assert_eq!(said(bench), (Tone::Wrong, headline.to_owned()), "{:?}", bench.screen().say);
}

#[test]
fn a_unit_its_strip_and_its_box() {
    let (mut bench, mut at) = (bench(3, 1), 0);
    printed(&mut bench, &mut at, 0);
    assert_eq!(bench.screen().open, ["HRN-0001"]);
    assert_eq!(line(&mut bench, &mut at, "S-HRN-0001"), [Do::Box(0)]);
    assert_eq!(bench.take(Input::Boxed { unit: 0, boxed: Boxed::Entered }), [Do::Say]);
    assert_eq!(said(&bench), (Tone::Good, "IN THE BOX".to_owned()));
    let screen = bench.screen();
    assert_eq!((screen.counts.boxed, screen.counts.open, screen.next.as_deref()), (1, 0, Some("HRN-0002")));
    assert!(!bench.is_done());
}

#[test]
fn every_mistake_is_said_at_once_and_marks_nothing() {
    let (mut bench, mut at) = (bench(3, 1), 0);
    assert_eq!(line(&mut bench, &mut at, "S-HRN-0001"), [Do::Say]);
    wrong(&bench, "UNIT FIRST");
    printed(&mut bench, &mut at, 0);
    for (text, headline) in [
        ("S-HRN-0002", "WRONG STRIP"),
        ("HRN-0009", "UNKNOWN CODE"),
        ("hrn-0001", "UNKNOWN CODE"),
        ("HRN-OO01", "UNKNOWN CODE"),
        ("HRN-0001HRN-0002", "TWO CODES"),
        ("XHRN-0001", "UNKNOWN CODE"),
        ("/again", "WHICH ONE"),
        ("/dance", "UNKNOWN WORD"),
    ] {
        assert_eq!(line(&mut bench, &mut at, text), [Do::Say], "{text}");
        wrong(&bench, headline);
        assert_eq!(bench.screen().in_hand.as_deref(), Some("HRN-0001"), "{text}");
        assert_eq!(bench.screen().counts.boxed, 0);
    }
    // What the ledger knows better.
    let answers = [
        (Claim::Boxed { by: "kim".into(), at: "2026-11-26T14:03:00.000Z".into() }, "DONE ALREADY"),
        (Claim::Elsewhere { bench: "kim".into() }, "NOT HERE"),
        (Claim::NotThere, "UNKNOWN UNIT"),
    ];
    for (claim, headline) in answers {
        assert_eq!(line(&mut bench, &mut at, "HRN-0002"), [Do::Claim(1)]);
        assert_eq!(bench.take(Input::Claimed { unit: 1, claim }), [Do::Say]);
        wrong(&bench, headline);
    }
    assert_eq!(bench.screen().in_hand.as_deref(), Some("HRN-0001"), "what is in hand stays there");
}

#[test]
fn a_doubled_scan_is_one_scan_and_an_empty_line_is_none() {
    let mut bench = bench(2, 1);
    assert_eq!(bench.take(Input::Line { text: "HRN-0001".into(), at: 1000 }), [Do::Claim(0)]);
    assert_eq!(bench.take(Input::Line { text: "HRN-0001\r".into(), at: 1300 }), []);
    assert_eq!(bench.take(Input::Line { text: "HRN-0001".into(), at: 2100 }), [Do::Claim(0)]);
    assert_eq!(bench.take(Input::Line { text: "  ".into(), at: 2200 }), []);
    assert_eq!(bench.take(Input::Line { text: "HRN-0002HRN-0002".into(), at: 9000 }), [Do::Claim(1)]);
}

#[test]
fn a_printer_without_paper_hands_over_and_one_under_way_is_looked_at() {
    let (mut bench, mut at) = (bench(4, 2), 0);
    for unit in [0, 1, 2] {
        line(&mut bench, &mut at, &format!("HRN-{:04}", unit + 1));
        bench.take(Input::Claimed { unit, claim: yours() });
    }
    // Two print, the third waits. The first printer has no paper: no byte went.
    let why = "paper end: put in a new roll".to_owned();
    bench.take(Input::NotReady { unit: 0, printer: 0, kind: "paper end", why: why.clone() });
    wrong(&bench, "NO PAPER");
    assert_eq!(bench.screen().waiting, ["HRN-0001", "HRN-0003"]);
    let doing = bench.take(Input::Came { unit: 1, printer: 1, came: Came::Printed });
    assert!(doing.contains(&Do::Send { unit: 0, printer: 1 }), "{doing:?}");
    // Now the other breaks in the middle: certainly not whole, so it waits again, with the rest.
    bench.take(Input::Came {
        unit: 0,
        printer: 1,
        came: Came::Missing { kind: "cover open", why: "cover open: close it".into() },
    });
    wrong(&bench, "COVER OPEN");
    assert_eq!(bench.screen().waiting, ["HRN-0001", "HRN-0003"]);
    // All are stopped: nothing new is begun.
    line(&mut bench, &mut at, "HRN-0004");
    let doing = bench.take(Input::Claimed { unit: 3, claim: yours() });
    assert_eq!(doing, [Do::Release(3), Do::Say]);
    wrong(&bench, "NO PAPER");
    // A new roll: the strips that waited go on by themselves.
    assert!(bench.take(Input::Well { printer: 0 }).contains(&Do::Send { unit: 0, printer: 0 }));
    let unknown = Came::Unknown { why: "the cable".into(), trouble: true };
    assert!(!bench.take(Input::Came { unit: 0, printer: 0, came: unknown }).iter().any(|one| matches!(one, Do::Send { .. })));
    assert_eq!(said(&bench), (Tone::Ask, "LOOK FIRST".to_owned()));
    assert_eq!(bench.screen().look, ["HRN-0001"]);
}

#[test]
fn an_unknown_strip_is_boxed_by_a_scan_or_printed_again_by_a_word() {
    let (mut bench, mut at) = (bench(2, 1), 0);
    line(&mut bench, &mut at, "HRN-0001");
    bench.take(Input::Claimed { unit: 0, claim: Claim::Unknown { note: "the cable".into() } });
    assert_eq!(said(&bench), (Tone::Ask, "LOOK FIRST".to_owned()));
    assert_eq!(line(&mut bench, &mut at, "S-HRN-0001"), [Do::Box(0)]);
    bench.take(Input::Boxed { unit: 0, boxed: Boxed::Entered });
    line(&mut bench, &mut at, "HRN-0002");
    bench.take(Input::Claimed { unit: 1, claim: Claim::Unknown { note: "the cable".into() } });
    assert_eq!(line(&mut bench, &mut at, "/again"), [Do::Again(1)]);
    bench.take(Input::Settled { unit: 1, done: Err("who may not settle".into()) });
    wrong(&bench, "NOT ALLOWED");
    at += 2000;
    assert_eq!(line(&mut bench, &mut at, "/AGAIN"), [Do::Again(1)]);
    assert_eq!(bench.take(Input::Settled { unit: 1, done: Ok(()) }), [Do::Claim(1)]);
}

#[test]
fn without_a_ledger_nothing_begins_and_every_scan_is_answered() {
    let (mut bench, mut at) = (bench(3, 1), 0);
    line(&mut bench, &mut at, "HRN-0001");
    bench.take(Input::Away { why: "no answer".into(), scanned: true });
    wrong(&bench, "NO LEDGER");
    let before = bench.screen().said;
    assert_eq!(line(&mut bench, &mut at, "HRN-0002"), [Do::Say], "not even asked for");
    assert_eq!((bench.screen().said, bench.screen().ledger.is_some()), (before + 1, true));
    assert_eq!(bench.take(Input::Back), [Do::Say]);
    assert_eq!(line(&mut bench, &mut at, "HRN-0001"), [Do::Claim(0)]);
}

#[test]
fn where_strip_and_product_carry_one_code_the_second_scan_confirms_and_another_unit_does_not() {
    let mut at = 0;
    let mut bench = Bench::new(codes(2, |key| key.to_owned()), vec!["one".into()], Roll::default(), "", "");
    printed(&mut bench, &mut at, 0);
    assert_eq!(line(&mut bench, &mut at, "HRN-0002"), [Do::Claim(1)]);
    bench.take(Input::Claimed { unit: 1, claim: Claim::Printed { by: String::new() } });
    wrong(&bench, "NOT THE SAME");
    assert_eq!(line(&mut bench, &mut at, "HRN-0002"), [Do::Box(1)], "now it is in hand");
}

#[test]
fn the_pace_the_end_and_the_rolls_are_told() {
    let mut bench = bench(40, 1);
    let standing = |number: usize| Standing {
        unit: format!("HRN-{number:04}"),
        number: number as u32,
        state: if number <= 10 { State::Printed } else { State::Queued },
        note: String::new(),
        boxed: (number <= 9).then(|| "2026-11-26T14:03:00.000Z".to_owned()),
        elsewhere: (number == 11).then(|| "kim".to_owned()),
    };
    // Nine boxed, eight of them in the 900 s since the first: 32 an hour; 31 are left: 58.1 min, told as 59.
    let pace = Pace { boxed_in_hour: 9, seconds: 900, benches: 2 };
    bench.take(Input::Standing { all: (1..=40).map(standing).collect(), pace });
    let screen = bench.screen();
    assert_eq!((screen.per_hour, screen.minutes_left, screen.benches), (Some(32), Some(59), 2));
    // 30 strips of 0.432 m on rolls of 80 m: 0.162 of one, told as two tenths.
    assert_eq!(screen.rolls_left, Some(2));
    assert_eq!((screen.counts.boxed, screen.counts.open), (9, 1));
    assert_eq!(screen.next.as_deref(), Some("HRN-0012"), "the eleventh is in another's hand");
}
