//! How long the demo manual takes, cold and warm, and what a thousand boxes take: `cargo bench --bench strips`. Measured, never
//! asserted. `tests/benches/general.py` does the cold proof the way of general-purpose tools, to be read beside.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use stripling::layout::{self, Context, GalleyCache, Style};
use stripling::manual::{self, Document, Folder};
use stripling::pictures::PictureSet;
use stripling::printer::{self, Profile, profile};
use stripling::strip::{Strip, paint, png};
use stripling::type_setting::{FONT_FILES, Faces};

const HERON: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/manuals/heron");

/// The program, told to do something and to say nothing.
fn stripling(arguments: &[&str]) {
    let program = env!("CARGO_BIN_EXE_stripling");
    let status = Command::new(program).args(arguments).arg("--quiet").stdout(Stdio::null()).status().expect("the program starts");
    assert!(status.success(), "{arguments:?}");
}

/// What a manual is set with again and again, as the desk does.
struct Warm {
    faces: Faces,
    pictures: PictureSet,
    store: GalleyCache,
    style: Style,
    profile: Profile,
}

impl Warm {
    fn new() -> Warm {
        let profile = Profile::named(profile::DEFAULT).expect("the default printer");
        let folder = Folder::open(Path::new(HERON)).expect("the demo manual");
        Warm {
            faces: Faces::new(profile.resolution),
            pictures: PictureSet::open(folder, FONT_FILES),
            store: GalleyCache::new(),
            style: Style::named("plain").expect("a built-in style"),
            profile,
        }
    }

    fn strip(&self, document: &Document) -> Strip {
        let (faces, pictures, style) = (&self.faces, &self.pictures, &self.style);
        let paper = self.profile.paper();
        let bench = Context {
            faces,
            pictures,
            style,
            paper,
            language: document.header.tongue,
            own_words: &document.header.own_words,
            panel_room: None,
            shrink: 100,
        };
        paint(&layout::lay_out(document, &bench, &self.store), faces)
    }

    fn proof(&self, text: &str) -> Vec<u8> {
        let strip = self.strip(&document(text));
        png::write(&strip.bitmap, strip.resolution)
    }
}

/// The demo manual with this text in its main file, for no box in particular.
fn document(text: &str) -> Document {
    let included = ["warranty.en.md", "warranty.de.md"].map(|name| (name, std::fs::read(format!("{HERON}/{name}")).expect(name)));
    let files = included.iter().map(|(name, bytes)| (*name, bytes.as_slice())).chain([("heron.md", text.as_bytes())]);
    let run = manual::Run { date: "2026-11-25".into(), number: 1 };
    let source = manual::read(&Folder::of_files(files), "heron.md", None, &run).expect("a manual");
    manual::parse(&source).expect("a document")
}

/// A table of a thousand boxes, made from the demo's own rows.
fn thousand_units(folder: &Path) -> PathBuf {
    let rows = std::fs::read_to_string(format!("{HERON}/units.csv")).expect("the demo's units");
    let (head, first) = rows.split_once('\n').expect("a head and rows");
    let serial = first.split(',').next().expect("a serial number");
    let row = first.lines().next().expect("a row").strip_prefix(serial).expect("the serial stands first").to_string();
    let rows: String = (0..1000).map(|n| format!("HRN-T-{n:05}{row}\n")).collect();
    let path = folder.join("thousand.csv");
    std::fs::write(&path, format!("{head}\n{rows}")).expect("written");
    path
}

fn strips(criterion: &mut Criterion) {
    let manual = format!("{HERON}/heron.md");
    let out = tempfile::tempdir().expect("a folder");
    let at = |name: &str| out.path().join(name).display().to_string();
    criterion.bench_function("cold proof, whole command", |bencher| {
        bencher.iter(|| stripling(&["proof", &manual, "-o", &at("heron.png")]));
    });

    let warm = Warm::new();
    let text = std::fs::read_to_string(&manual).expect("the demo manual");
    let other = text.replacen("slipper", "shoe", 1);
    assert_ne!(text, other, "a word that can be changed");
    assert_ne!(warm.proof(&text), warm.proof(&other), "a change that can be seen");
    criterion.bench_function("warm proof after one changed word", |bencher| {
        let mut turn = 0;
        // Each time another word stands there, so that its block is never found set.
        bencher.iter(|| {
            turn += 1;
            warm.proof(&text.replacen("slipper", &format!("slipper{turn}"), 1))
        });
    });

    let strip = warm.strip(&document(&text));
    let mut group = criterion.benchmark_group("encode, of dots that are one bit each");
    group.throughput(Throughput::Bytes(strip.bitmap.data().len() as u64));
    group.bench_function("rows", |bencher| bencher.iter(|| printer::encode(&strip, &warm.profile)));
    group.finish();

    let units = thousand_units(out.path()).display().to_string();
    let mut group = criterion.benchmark_group("encode, whole command");
    group.sample_size(10).throughput(Throughput::Elements(1000));
    group.bench_function("1,000 units", |bencher| {
        bencher.iter(|| stripling(&["encode", &manual, "--units", &units, "-o", &at("run.bin")]));
    });
    group.finish();
}

criterion_group!(benches, strips);
criterion_main!(benches);
