//! How long a look at a manual of 10,000 lines takes, laid out already. Measured, never asserted.

use criterion::{Criterion, criterion_group, criterion_main};

use stripling::layout::{Context, GalleyCache, Style, lay_out};
use stripling::lengths::{Dots, Mm, Paper, Resolution};
use stripling::manual::{self, Folder};
use stripling::pictures::PictureSet;
use stripling::preflight::{self, Evidence, Stock};
use stripling::strip::paint;
use stripling::type_setting::Faces;

/// A section of twelve lines; the words differ from one to the next.
fn section(n: usize) -> String {
    format!(
        "## Reed {n}\n\nHeron {n} is a small bird that dips a tea bag. See [the copy](https://example.com/{n}).\n\n\
         > **WARNING** Hot tea scalds. Keep reed {n} out of the reach of children.\n\n\
         1. Press `KEY {n}`. The eye turns green.\n2. Wait  until it bows.\n3. Hold `RE-SET` for {n} seconds.\n\n\
         The light's \"colour\" is number {n}.\n\n"
    )
}

fn preflight(criterion: &mut Criterion) {
    let header = "+++\ntitle = \"Heron\"\nlanguage = \"en\"\nfold = \"100 mm\"\n[product]\nhazards = [\"hot-liquid\", \"pinch\"]\n+++\n\n# Heron\n\n";
    let text = header.to_string() + &(0..10_000 / 12 + 1).map(section).collect::<String>();
    assert!(text.lines().count() >= 10_000);
    let source = manual::read_text("long.md", &text).expect("a manual");
    let document = manual::parse(&source).expect("a document");
    let faces = Faces::new(Resolution::EIGHT);
    let pictures = PictureSet::open(Folder::of_files([]), &[]);
    let style = Style::named("plain").expect("a style");
    let paper = Paper { width: Dots(576), resolution: Resolution::EIGHT, dot_gain: 120.into() };
    let bench = Context {
        faces: &faces,
        pictures: &pictures,
        style: &style,
        paper,
        language: document.header.tongue,
        own_words: &document.header.own_words,
        panel_room: None,
        shrink: 100,
    };
    let layout = lay_out(&document, &bench, &GalleyCache::new());
    let strip = paint(&layout, &faces);
    let boxes = layout.boxes();
    let stock = Stock {
        width: Mm::new(79.5),
        thickness: Mm::new(0.06),
        roll: Some(Mm::new(81_900.0)),
        stretch: Mm::new(20.0),
        duty: 40,
        phenol_free: None,
    };
    let evidence = Evidence {
        document: &document,
        source: &source,
        layout: &layout,
        boxes: &boxes,
        paper,
        strip: &strip,
        pictures: &[],
        folder: &[],
        stock,
        unit: None,
        beside: None,
    };
    criterion.bench_function("preflight of 10,000 lines", |bencher| bencher.iter(|| preflight::check(evidence)));
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10);
    targets = preflight
}
criterion_main!(benches);
