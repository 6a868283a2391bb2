//! A style file and a printer's file, parted by a byte 0: whatever is taken sets, paints, encodes and decodes a small manual.
#![no_main]

use std::sync::OnceLock;

use libfuzzer_sys::{Corpus, fuzz_target};
use stripling::layout::{self, Context, GalleyCache, Style};
use stripling::lengths::Resolution;
use stripling::manual::{self, Document, Folder};
use stripling::pictures::PictureSet;
use stripling::printer::{self, Profile};
use stripling::strip;
use stripling::type_setting::{FONT_FILES, Faces};

/// One of everything that a style has a say in.
const MANUAL: &str = "+++\ntitle = \"Heron\"\nsubtitle = \"a lamp\"\ndocument = \"HB-1\"\nfold = \"60 mm\"\n+++\n\n# Heron\n\n## In the box\n\n\
    - [ ] One bird\n- Transport\n\n> **WARNING** ![](sign:hot-surface) Hot. Wait.\n\n1. Press.\n   Twice.\n2. See [there](https://example.com).[^1]\n\n\
    [^1]: Once.\n\n```figure\npicture = \"dot.svg\"\nalt = \"A dot\"\ncallouts = [\n  { at = [50, 50], label = \"Dot\" },\n]\n```\n\n\
    ```comic\ncolumns = 2\n[[panel]]\npicture = \"dot.svg\"\nalt = \"A dot\"\ncaption = \"Look\"\n[[panel]]\ncaption = \"Away\"\n```\n\n\
    | Light | It says |\n|---|---:|\n| on | ready |\n\n```qr\nhttps://example.com\n```\n\n`code` *and* **more**\n\n---\n\nTerm\n: Meaning\n";
const DOT: &[u8] = br##"<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20"><circle cx="20" cy="10" r="9"/></svg>"##;

fn house() -> &'static (Document, PictureSet) {
    static HOUSE: OnceLock<(Document, PictureSet)> = OnceLock::new();
    HOUSE.get_or_init(|| {
        let source = manual::read_text("a.md", MANUAL).expect("well formed");
        (manual::parse(&source).expect("well formed"), PictureSet::open(Folder::of_files([("dot.svg", DOT)]), FONT_FILES))
    })
}

fuzz_target!(|bytes: &[u8]| -> Corpus {
    let Ok(text) = std::str::from_utf8(bytes) else { return Corpus::Reject };
    let (style, printer) = text.split_once('\0').unwrap_or((text, ""));
    let style = Style::read(style).map_err(|error| {
        assert!(!error.message.is_empty() && error.offset.is_none_or(|offset| offset <= style.len()), "{error:?}");
    });
    let profile = Profile::read_toml(printer, "own.toml").map_err(|error| {
        let lines = printer.matches('\n').count() as u32 + 1;
        let place = error.place().expect("what is wrong in a file is somewhere");
        assert!(
            (1..=lines).contains(&place.line) && error.offset().is_some_and(|offset| offset <= printer.len()),
            "{error} at {place}"
        );
    });
    let (document, pictures) = house();
    let style = style.unwrap_or_else(|()| Style::named("plain").expect("built in"));
    let profile = profile.map_or_else(|()| Profile::named("80mm").expect("built in"), |(profile, _)| profile);
    // Opening the faces takes longer than all the rest.
    static EIGHT: OnceLock<Faces> = OnceLock::new();
    let own;
    let faces = if profile.resolution == Resolution::EIGHT {
        EIGHT.get_or_init(|| Faces::new(Resolution::EIGHT))
    } else {
        own = Faces::new(profile.resolution);
        &own
    };
    let bench = Context {
        faces,
        pictures,
        style: &style,
        paper: profile.paper(),
        language: document.header.tongue,
        own_words: &document.header.own_words,
        panel_room: None,
        shrink: 100,
    };
    let strip = printer::as_told(strip::paint(&layout::lay_out(document, &bench, &GalleyCache::new()), faces), &profile);
    assert_eq!(strip.bitmap.width(), profile.dots);
    let seen = printer::decode(&printer::encode(&strip, &profile), &profile);
    // The user's own commands may be anything at all.
    assert!(!profile.settings.is_empty() || seen.errors.is_empty(), "{:?}", seen.errors);
    assert!(!profile.settings.is_empty() || seen.bitmap == strip.bitmap, "the paper is not the proof");
    Corpus::Keep
});
