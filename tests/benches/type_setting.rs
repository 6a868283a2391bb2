//! How long type takes: one paragraph warm, a manual of 700 words from nothing, one changed word, a long word.

use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;

use stripling::language::Language;
use stripling::lengths::{Dots, Pt, Resolution};
use stripling::manual::source::Span;
use stripling::type_setting::{Content, Faces, Measure, Piece, Type};

const SENTENCES: [&str; 8] = [
    "Lift the beak until it clicks, then hang the bag on the little hook below it.",
    "Turn the dial to the kind of tea you like and press Start for two seconds.",
    "Heron dips the bag, waits, and lifts it out when the time is up.",
    "Never reach under the beak while it moves; hot water may drip for half a minute.",
    "Charge the battery with the cable supplied until the ring turns from amber to green.",
    "Wipe the quill with a soft, damp cloth; never put it in the dishwasher.",
    "If the ring blinks five times, the hook is jammed: switch off, free the hook, and try again.",
    "The warranty covers manufacturing faults for twenty-four months from the day of purchase.",
];

fn set(faces: &Faces, text: &str, bold: bool) -> usize {
    let look = Type { bold, size: Pt::new(9.0), ..Type::default() };
    let pieces =
        [Piece { content: Content::Text { text, look, strike: false, rise: Dots(0), verbatim: false }, span: Span::default() }];
    let measure = Measure {
        width: Dots(560),
        balanced: false,
        tabular: false,
        justified: false,
        hyphenate: true,
        language: Language::English,
    };
    faces.set_paragraph(black_box(&pieces), &measure).lines.len()
}

fn benches(criterion: &mut Criterion) {
    let paragraph = SENTENCES[..4].join(" ");
    let faces = Faces::new(Resolution::EIGHT);
    criterion.bench_function("paragraph of 60 words, warm", |bencher| bencher.iter(|| set(&faces, &paragraph, false)));
    let manual: Vec<String> =
        (0..24).map(|number| format!("{} {}", SENTENCES[number % 8], SENTENCES[(number * 3 + 1) % 8])).collect();
    criterion.bench_function("manual of 700 words, from nothing", |bencher| {
        bencher.iter(|| {
            let faces = Faces::new(Resolution::EIGHT);
            manual.iter().enumerate().map(|(number, text)| set(&faces, text, number % 6 == 0)).sum::<usize>()
        })
    });
    criterion.bench_function("manual of 700 words, warm", |bencher| {
        bencher.iter(|| manual.iter().map(|text| set(&faces, text, false)).sum::<usize>())
    });
    let mut number = 0;
    criterion.bench_function("paragraph with one new word", |bencher| {
        bencher.iter(|| {
            number += 1;
            set(&faces, &format!("{paragraph} A{number}b"), false)
        })
    });
    let word = "abcdefghij".repeat(2000);
    criterion.bench_function("word of 20,000 letters", |bencher| bencher.iter(|| set(&faces, &word, false)));
    let book = format!("{paragraph} ").repeat(1667);
    criterion.bench_function("paragraph of 100,000 words", |bencher| bencher.iter(|| set(&faces, &book, false)));
}

criterion_group! {
    name = all;
    config = Criterion::default().sample_size(10);
    targets = benches
}
criterion_main!(all);
